"""What an arrangement plan may be asked for, and what it answers."""

from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from service.core.arrangement import plan as core
from service.core.arrangement.inventory import CurationLevel, DrawerStyle, SystematicSequence, Taxon, Tray
from service.core.arrangement.plan import Aim, ArrangementWishes, Errand
from service.core.arrangement.questions import QUESTIONS, Asked
from service.web.kit.fields import Choice, Code, Flag, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.measures import Length
from service.web.kit.schema import Strict
from service.web.schemas.inventory import LONGEST_NAME, MOST_PLACES, TrayFields, length, person
from service.web.schemas.parts import Handling, Quantity

MOST_TRAYS = 20_000
MOST_TAXA = 20_000
MOST_STEPS = 1_000_000
LONGEST_SENTENCE = 2_000


def _taxon(**kwargs: Any) -> Text:
    return Text(max_length=LONGEST_NAME, **kwargs)


def _tray(**said: Any) -> Tray:
    level = said.pop("curation_level")
    code, taxon, width, depth = (said.pop(name) for name in ("code", "taxon", "width_nm", "depth_nm"))
    return Tray(code, taxon, width, depth, level=None if level is None else CurationLevel(level), **said)


class ArrivingTraySchema(TrayFields):
    """A tray that is to find a place."""

    makes = _tray


class TakeInSchema(Strict):
    """Trays that arrive: a list of new ones, some of yours that have no place yet, or those of a housing plan."""

    trays = List(
        Nested(ArrivingTraySchema),
        max_items=MOST_TRAYS,
        load_default=(),
        metadata={"description": "new ones, which your inventory does not know yet"},
    )
    unplaced = List(
        Code(), max_items=MOST_TRAYS, load_default=(), unique=True,
        metadata={"description": "codes of trays that you have written down and that have no place yet"},
    )  # fmt: skip
    housing_plan_id = Uuid(
        metadata={"description": "all trays of this plan; the label of each is taken for its taxon"}
    )
    code_prefix = Code(
        max_length=40,
        metadata={"description": "of the codes that its trays get; left out: H and a number"},
    )

    @validates_schema(skip_on_field_errors=True)
    def check_that_something_arrives(self, data: dict[str, Any], **_: Any) -> None:
        """Nothing needs no plan."""
        if not (data["trays"] or data["unplaced"] or "housing_plan_id" in data):
            raise ValidationError("Name trays, or trays without a place, or a housing plan.")
        if "code_prefix" in data and "housing_plan_id" not in data:
            raise ValidationError({"code_prefix": ["This belongs to housing_plan_id."]})


class NewTaxonSchema(Strict):
    """A taxon that enters the sequence."""

    makes = core.NewTaxon
    name = _taxon(required=True, metadata={"description": "as your trays will bear it"})
    after = _taxon(load_default=None, metadata={"description": "the taxon that it follows; left out: before all"})
    family = Text(
        max_length=100, min_length=0, load_default="", metadata={"description": "its family; empty: not given"}
    )
    genus = Text(
        max_length=100, min_length=0, load_default="", metadata={"description": "its genus; empty: not given"}
    )


class InsertTaxaSchema(Strict):
    """Taxa that enter the sequence, with their trays if there are any yet."""

    makes = core.InsertTaxa
    taxa = List(
        Nested(NewTaxonSchema),
        min_items=1,
        max_items=1_000,
        required=True,
        metadata={"description": "in the order in which they enter"},
    )
    trays = List(
        Nested(ArrivingTraySchema),
        max_items=MOST_TRAYS,
        load_default=(),
        metadata={"description": "new ones for these taxa"},
    )


class MergeTaxaSchema(Strict):
    """Taxa that become one: their trays bear its name and follow its own."""

    makes = core.MergeTaxa
    taxa = List(
        _taxon(),
        min_items=1,
        max_items=1_000,
        required=True,
        metadata={"description": "the taxa that give up their names"},
    )
    into = _taxon(required=True, metadata={"description": "the taxon that they become"})


class SplitPartSchema(Strict):
    """A taxon that comes out of another."""

    makes = core.SplitPart
    taxon = Nested(NewTaxonSchema, required=True, metadata={"description": "the taxon that comes out"})
    trays = List(Code(), max_items=MOST_TRAYS, load_default=(), metadata={"description": "whole trays that are its"})
    new_trays = List(
        Nested(ArrivingTraySchema),
        max_items=MOST_TRAYS,
        load_default=(),
        metadata={"description": "trays that it gets"},
    )
    specimens_picked_out = Int(
        min=0, max=10_000_000, load_default=0, metadata={"description": "one by one, into the new trays"}
    )


class SplitTaxonSchema(Strict):
    """A taxon that becomes several."""

    makes = core.SplitTaxon
    taxon = _taxon(required=True, metadata={"description": "the taxon that is split"})
    parts = List(
        Nested(SplitPartSchema),
        min_items=1,
        max_items=1_000,
        required=True,
        metadata={"description": "the taxa that come out of it"},
    )


def _sequence(taxa: tuple[Taxon, ...]) -> core.ReorderTaxa:
    return core.ReorderTaxa(SystematicSequence(taxa))


class SequenceTaxonSchema(Strict):
    """A taxon in its place of a sequence."""

    makes = Taxon
    name = _taxon(required=True, metadata={"description": "as your trays bear it"})
    family = Text(
        max_length=100, min_length=0, load_default="", metadata={"description": "its family; empty: not given"}
    )
    genus = Text(
        max_length=100, min_length=0, load_default="", metadata={"description": "its genus; empty: not given"}
    )


class ReorderTaxaSchema(Strict):
    """A sequence in which the collection is read from now on."""

    makes = _sequence
    taxa = List(
        Nested(SequenceTaxonSchema),
        min_items=1,
        max_items=MOST_TAXA,
        required=True,
        metadata={"description": "all taxa, in the order in which they are read"},
    )


class EmptyCabinetsSchema(Strict):
    """Cabinets in which nothing is left standing."""

    makes = core.EmptyCabinets
    cabinets = List(
        Code(),
        min_items=1,
        max_items=1_000,
        unique=True,
        required=True,
        metadata={"description": "codes of the cabinets"},
    )


class RestoreReserveSchema(Strict):
    """Every drawer has its growth reserve again."""

    makes = core.RestoreReserve
    reserve_percent = Quantity(
        min=0,
        max=90,
        load_default=None,
        metadata={"description": "left out: as your rules have it"},
    )


class SizeOfDrawerSchema(Strict):
    """A size of drawer."""

    makes = DrawerStyle
    code = Code(required=True, metadata={"description": "of the drawer in your storage system"})
    inner_width_nm = length("inner_width", "inside, side to side", required=True)
    inner_depth_nm = length("inner_depth", "inside, front to back", required=True)
    clear_height_nm = Length(
        data_key="clear_height_mm",
        load_default=None,
        metadata={"description": "from what trays stand on to the lid; left out: unknown"},
    )
    positions = Int(min=1, max=50, load_default=1, metadata={"description": "that it takes up in a cabinet"})


class ChangeDrawerStyleSchema(Strict):
    """What stands in drawers of one style goes into drawers of another."""

    makes = core.ChangeDrawerStyle
    leave = Code(required=True, metadata={"description": "code of the style to be left"})
    style = Nested(SizeOfDrawerSchema, required=True, metadata={"description": "the style that they go over to"})


_ONE_OF: Final = tuple(QUESTIONS)


def _asked(**said: Any) -> dict[str, Any]:
    wishes = ArrangementWishes(
        said.pop("new_drawers", None), said.pop("new_drawers_at_most", None), said.pop("bench_places", 0)
    )
    ((word, question),) = said.items()
    if word == "take_in":
        return {"take_in": question, "wishes": wishes}
    return {"asked": Asked(question, wishes)}


class ArrangementQuestionSchema(Strict):
    """One thing to be done, and what may be used for it."""

    makes = _asked
    take_in = Nested(TakeInSchema, metadata={"description": "take trays in"})
    insert_taxa = Nested(InsertTaxaSchema, metadata={"description": "let taxa enter the sequence"})
    merge_taxa = Nested(MergeTaxaSchema, metadata={"description": "let taxa become one"})
    split_taxon = Nested(SplitTaxonSchema, metadata={"description": "let one taxon become several"})
    reorder_taxa = Nested(ReorderTaxaSchema, metadata={"description": "read the collection in another sequence"})
    empty_cabinets = Nested(EmptyCabinetsSchema, metadata={"description": "leave nothing standing in some cabinets"})
    restore_reserve = Nested(
        RestoreReserveSchema, metadata={"description": "give every drawer its growth reserve again"}
    )
    change_drawer_style = Nested(
        ChangeDrawerStyleSchema, metadata={"description": "go over to another style of drawer"}
    )
    new_drawers = Nested(
        SizeOfDrawerSchema, metadata={"description": "drawers that may be had in addition; left out: none"}
    )
    new_drawers_at_most = Int(
        min=0, max=100_000, metadata={"description": "how many may be had in addition; left out: as many as needed"}
    )
    bench_places = Int(
        min=0, max=1_000, metadata={"description": "trays that may wait on a bench; left out: as your rules have it"}
    )

    @validates_schema(skip_on_field_errors=True)
    def check_that_it_is_one_question(self, data: dict[str, Any], **_: Any) -> None:
        """One plan does one thing."""
        if len(data.keys() & set(_ONE_OF)) != 1:
            raise ValidationError(f"Give one of {', '.join(_ONE_OF)}.")
        if "new_drawers_at_most" in data and "new_drawers" not in data:
            raise ValidationError({"new_drawers_at_most": ["This belongs to new_drawers."]})


class NewDrawerNeededSchema(Strict):
    """A drawer that has to be had."""

    code = Text(max_length=100, attribute="key", required=True, metadata={"description": "its name within this plan"})
    style = Nested(SizeOfDrawerSchema, required=True, metadata={"description": "what size it has"})
    cabinet = Code(metadata={"description": "left out: there is no free position where it belongs"})
    position = Int(
        min=1, max=10_000, metadata={"description": "in the cabinet, from the top of the left column down"}
    )
    behind = Text(
        max_length=100, metadata={"description": "the drawer that it follows in reading order; left out: it is first"}
    )


class TouchedSpecimensSchema(Strict):
    """Specimens, by how they are touched; counted as far as anybody has."""

    in_trays_that_stay = Int(
        min=0, required=True, metadata={"description": "in trays that keep their places, not touched"}
    )
    in_trays_that_move = Int(min=0, required=True, metadata={"description": "with their trays, and not touched"})
    picked_out_one_by_one = Int(min=0, required=True, metadata={"description": "handled one by one"})
    uncounted_trays = Int(min=0, required=True, metadata={"description": "trays whose specimens nobody has counted"})


class PersonHoursSchema(Strict):
    """Person-hours at your own rates."""

    hours = Quantity(min=0, max=10_000_000, metadata={"description": "left out: a rate is missing"})
    cost = Quantity(
        min=0, max=1_000_000_000, metadata={"description": "hours times what one costs; left out: a rate is missing"}
    )
    currency = Text(max_length=3)
    missing = List(Text(max_length=100), max_items=10, required=True, metadata={"description": "rates to be settled"})


class ArrangementAlternativeSchema(Strict):
    """One way to do it."""

    number = Int(min=1, max=100, required=True)
    aim = Choice(Aim, required=True)
    moved = Int(min=0, required=True, metadata={"description": "trays that change their drawer"})
    put_in = Int(min=0, required=True, metadata={"description": "trays that had none"})
    reset = Int(min=0, required=True, metadata={"description": "trays that are lifted within their drawer"})
    drawers_touched = Int(min=0, required=True, metadata={"description": "drawers whose contents change"})
    drawers_opened = Int(min=0, required=True, metadata={"description": "empty or new ones that are put to use"})
    drawers_emptied = Int(min=0, required=True, metadata={"description": "drawers that had trays and have none then"})
    new_drawers = List(
        Nested(NewDrawerNeededSchema),
        max_items=100_000,
        required=True,
        metadata={"description": "drawers that have to be had"},
    )
    positions_missing = Int(
        min=0, metadata={"description": "positions that new drawers would take for which there is no free one"}
    )
    drawer_worth = Int(
        min=0, required=True, metadata={"description": "what a drawer put to use was weighed with, in trays moved"}
    )
    at_least = Int(
        min=0, required=True, metadata={"description": "no plan has less of trays moved and drawers so weighed"}
    )
    is_proved = Flag(
        required=True,
        metadata={"description": "no plan moves fewer, with drawers filled line by line as they are drawn"},
    )
    gap = Int(min=0, required=True, metadata={"description": "at most so many above the fewest"})
    reserve_missing = List(
        Text(max_length=100), max_items=100_000, required=True,
        metadata={"description": "drawers among those that change that keep less than their reserve"},
    )  # fmt: skip
    specimens = Nested(
        TouchedSpecimensSchema, required=True, metadata={"description": "how many specimens are touched, and how"}
    )
    lifts = Int(min=0, required=True, metadata={"description": "steps of its walking list"})
    out_of_the_way = Int(min=0, required=True, metadata={"description": "steps that only make way for others"})
    bench_used = Int(min=0, required=True, metadata={"description": "trays that wait on the bench at once, at most"})
    drawers_handled = Int(min=0, required=True, metadata={"description": "how often a drawer is fetched"})
    hours = Nested(PersonHoursSchema, required=True, metadata={"description": "how long it takes by your own rates"})


class ArrangementSummarySchema(Strict):
    """Which plan this is, and how far it is."""

    id = Uuid(required=True)
    asked = Text(max_length=40, required=True, metadata={"description": "what it was asked to do"})
    chosen = Int(min=1, max=100, required=True, metadata={"description": "the alternative that is carried out"})
    step_count = Int(min=0, max=MOST_STEPS, required=True, metadata={"description": "steps of its walking list"})
    done_count = Int(min=0, max=MOST_STEPS, required=True, metadata={"description": "steps that are done"})
    replaced_by = Uuid(metadata={"description": "the plan that was made in its place"})
    carried_out_at = Instant(
        metadata={"description": "when all was done, at once where nothing had to be; left out: not yet"}
    )
    version = Int(min=1, required=True)
    engine = Text(max_length=40, required=True, metadata={"description": "version of the arithmetic"})
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


class ArrangementSchema(ArrangementSummarySchema):
    """An arrangement plan with its alternatives, from the fewest moves to the fewest drawers."""

    overtaken = Text(
        max_length=LONGEST_SENTENCE,
        metadata={"description": "what stands elsewhere than the plan takes for granted; left out: nothing does"},
    )
    outside = List(
        Nested(NewDrawerNeededSchema),
        max_items=100_000,
        metadata={"description": "new drawers that are in use and stand in no cabinet now, and where they belong"},
    )
    alternatives = List(
        Nested(ArrangementAlternativeSchema),
        max_items=100,
        required=True,
        metadata={"description": "the ways to do it"},
    )
    notes = List(
        Text(max_length=LONGEST_SENTENCE),
        max_items=100,
        required=True,
        metadata={"description": "what to know before relying on the plan"},
    )
    handling = Handling(required=True)


class WalkingStepSchema(Strict):
    """One tray is picked up and set down."""

    number = Int(
        min=1,
        max=MOST_STEPS,
        required=True,
        metadata={"description": "the how-manieth step of the list, counted from 1"},
    )
    trip = Int(min=1, max=MOST_STEPS, required=True, metadata={"description": "steps on one way belong together"})
    tray = Text(max_length=100, required=True, metadata={"description": "code of the tray"})
    taxon = Text(max_length=LONGEST_NAME, min_length=0, required=True)
    label = Text(max_length=300, min_length=0, required=True)
    from_drawer = Text(max_length=100, metadata={"description": "left out: from the bench, or from outside"})
    from_cabinet = Text(
        max_length=100, metadata={"description": "code of the cabinet of that drawer; left out: it is in none"}
    )
    from_position = Int(
        min=1, max=10_000, metadata={"description": "position of that drawer, from the top of the left column down"}
    )
    to_drawer = Text(max_length=100, metadata={"description": "left out: onto the bench"})
    to_cabinet = Text(
        max_length=100, metadata={"description": "code of the cabinet of that drawer; left out: it is in none"}
    )
    to_position = Int(
        min=1, max=10_000, metadata={"description": "position of that drawer, from the top of the left column down"}
    )
    place = Int(min=1, max=MOST_PLACES, metadata={"description": "which tray of its drawer it is then"})
    after = Text(max_length=100, metadata={"description": "the tray that it follows; left out: it is the first"})
    errand = Choice(Errand, required=True)
    done_by = Text(max_length=LONGEST_NAME, metadata={"description": "left out: not carried out yet"})
    done_at = Instant(metadata={"description": "when; left out: not carried out yet"})


class WalkingListSchema(Strict):
    """The steps of the alternative that is chosen, in an order in which every tray finds room at each moment."""

    steps = List(
        Nested(WalkingStepSchema),
        max_items=MOST_STEPS,
        required=True,
        metadata={"description": "in the order in which they are walked"},
    )
    handling = Handling(required=True)


class CarriedThroughSchema(Strict):
    """How far a plan has been carried out."""

    by = person()
    done_through = Int(
        min=0, max=MOST_STEPS, required=True, metadata={"description": "number of the last step that is done"}
    )


class AlternativeChoiceSchema(Strict):
    """Another way."""

    alternative = Int(
        min=1, max=100, required=True, metadata={"description": "number of the alternative to carry out"}
    )


class DrawerOfArrangementSchema(Strict):
    """A drawer that the plan changes, before and after."""

    number = Int(
        min=1, max=1_000_000, required=True, metadata={"description": "counts the drawers that change, from 1"}
    )
    drawer = Text(max_length=100, required=True, metadata={"description": "code of the drawer"})
    before = List(
        Text(max_length=100),
        max_items=MOST_PLACES,
        required=True,
        metadata={"description": "codes of its trays in reading order, as they stood when the plan was made"},
    )
    after = List(
        Text(max_length=100),
        max_items=MOST_PLACES,
        required=True,
        metadata={"description": "codes of its trays in reading order, once all is done"},
    )
    reserve_kept = Flag(metadata={"description": "left out: nobody can say, for what stands there does not fit"})


class DrawersOfArrangementSchema(Strict):
    """Every drawer that the chosen alternative changes."""

    drawers = List(
        Nested(DrawerOfArrangementSchema),
        max_items=1_000_000,
        required=True,
        metadata={"description": "each drawer whose contents change"},
    )
