"""What a housing plan may be asked for."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from service.core.consignment import Pins
from service.core.housing import wishes
from service.core.housing.choosing_trays import TaxonCount
from service.core.housing.how_hard import HowHard
from service.core.housing.wishes import Contents, PlanQuestion, Wishes
from service.web.kit.fields import Amount, Choice, Code, Flag, Int, List, Nested, Text, Uuid
from service.web.kit.measures import Length
from service.web.kit.paths import LARGEST_NUMBER
from service.web.kit.schema import Strict
from service.web.schemas.consignment import PinsSchema
from service.web.schemas.parts import Quantity

#: Trays in one plan. Beyond it a plan is several plans: each drawer has to be drawn and carried.
MOST_TRAYS = 100_000
MOST_SIZES = 5_000
#: What the choice of trays for taxa is worked out over, specimen by specimen.
MOST_IN_A_TRAY = 300
MOST_CHOICES = 12
MOST_DRAWER_TYPES = 20
LONGEST_LABEL = 100


def _label(**metadata: str) -> Text:
    return Text(max_length=LONGEST_LABEL, min_length=0, metadata=metadata)


def _length(name: str, description: str, *, required: bool = False) -> Length:
    return Length(data_key=f"{name}_mm", required=required, metadata={"description": description})


class WantedTraysSchema(Strict):
    """Like trays. For one of the storage system's own trays its code is enough."""

    makes = wishes.WantedTrays
    code = Text(
        max_length=LONGEST_LABEL,
        required=True,
        metadata={"description": "of one of the storage system's trays, or a name of your own for this size"},
    )
    count = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "how many of them are to be housed"})
    width_nm = _length("width", "outer, side to side with the label at the front")
    depth_nm = _length("depth", "outer, front to back")
    height_nm = _length("height", "clear height that the tray takes with its pins; left out: unknown")
    label = _label(description="what stands on the tray; its code when left out")
    may_turn = Flag(metadata={"description": "whether its label may face the side; as its series says when left out"})
    together = _label(description="trays with the same word here stand in one drawer")


class TaxonCountSchema(Strict):
    """One taxon and its specimens, to be housed in trays of its own."""

    makes = TaxonCount
    taxon = Text(max_length=LONGEST_LABEL, required=True)
    specimens = Int(min=0, max=10_000_000, required=True, metadata={"description": "to be housed"})


class TrayOfferSchema(Strict):
    """A size of tray to choose from, and your own density: how many specimens you pin into one."""

    makes = wishes.TrayOffer
    code = Text(
        max_length=60,
        required=True,
        metadata={"description": "of one of the storage system's trays, or a name of your own for this size"},
    )
    holds = Int(
        min=1,
        max=MOST_IN_A_TRAY,
        required=True,
        metadata={"description": "specimens that you pin into one such tray"},
    )
    width_nm = _length("width", "outer; as the storage system has it under this code when left out")
    depth_nm = _length("depth", "outer; likewise")
    height_nm = _length("height", "clear height that the tray takes with its pins")
    may_turn = Flag(metadata={"description": "whether its label may face the side; as its series says when left out"})


class AllowedDrawerSchema(Strict):
    """One of the storage system's drawers that may be used."""

    makes = wishes.AllowedDrawer
    code = Code(required=True)
    cost = Amount(metadata={"description": "of one more; where given, the least cost is looked for"})
    at_most = Int(min=0, max=MOST_TRAYS, metadata={"description": "how many there are; left out: as many as needed"})


class OwnDrawerSchema(Strict):
    """A type of drawer in your own words."""

    makes = wishes.OwnDrawer
    code = Text(max_length=64, required=True)
    width_nm = _length("width", "inner", required=True)
    depth_nm = _length("depth", "inner", required=True)
    height_nm = _length("height", "from what trays stand on to the lid; left out: unknown")
    cost = Amount(metadata={"description": "of one more; where given, the least cost is looked for"})
    at_most = Int(min=0, max=MOST_TRAYS, metadata={"description": "how many there are; left out: as many as needed"})
    per_cabinet = Int(
        min=1,
        max=1_000,
        metadata={"description": "positions that one cabinet has for it; left out: cabinets are not counted"},
    )


def _question(**said: Any) -> PlanQuestion:
    contents = Contents(
        trays=said.pop("trays", ()),
        taxa=said.pop("taxa", ()),
        offers=said.pop("tray_choices", ()),
        taxa_together=said.pop("taxa_together", False),
    )
    for_all = Wishes(
        drawers=said.pop("allowed_drawers", ()),
        growth_reserve_percent=said.pop("growth_reserve_percent", None),
        play_nm=said.pop("play_nm", None),
        pins=said.pop("pins", Pins()),
    )
    return PlanQuestion(
        contents,
        for_all,
        own_drawers=said.pop("drawers", ()),
        how_hard=said.pop("effort", HowHard.USUAL),
        **said,
    )


class PlanQuestionSchema(Strict):
    """What to house (a consignment, or trays, or taxa) and in what (a storage system, or drawers of your own)."""

    makes = _question
    consignment_id = Uuid(metadata={"description": "its lines that go by the tray"})
    trays = List(
        Nested(WantedTraysSchema), min_items=1, max_items=MOST_SIZES, metadata={"description": "the trays to house"}
    )
    taxa = List(
        Nested(TaxonCountSchema),
        min_items=1,
        max_items=MOST_SIZES,
        metadata={"description": "the taxa to house, each in trays of its own"},
    )
    tray_choices = List(
        Nested(TrayOfferSchema),
        min_items=1,
        max_items=MOST_CHOICES,
        metadata={"description": "with taxa: the sizes of tray to choose from"},
    )
    taxa_together = Flag(metadata={"description": "all trays of a taxon in one drawer"})
    storage_system_id = Uuid(metadata={"description": "what to house it in; left out: drawers of your own"})
    revision = Int(min=1, max=LARGEST_NUMBER, metadata={"description": "number; left out: the one that holds today"})
    allowed_drawers = List(
        Nested(AllowedDrawerSchema), min_items=1, max_items=MOST_DRAWER_TYPES,
        metadata={"description": "of the storage system; left out: all whose inner size is published"},
    )  # fmt: skip
    drawers = List(
        Nested(OwnDrawerSchema),
        min_items=1,
        max_items=MOST_DRAWER_TYPES,
        metadata={"description": "drawers of your own, in place of a storage system"},
    )
    growth_reserve_percent = Quantity(
        min=0, max=90, metadata={"description": "of each drawer; as the storage system has it when left out"}
    )
    play_nm = _length("play", "room beside each tray; as the tray series has it when left out")
    pins = Nested(PinsSchema, metadata={"description": "of the specimens in trays or of the taxa"})
    effort = Choice(HowHard, metadata={"description": "how hard to look; usual when left out"})

    @validates_schema(skip_on_field_errors=True)
    def check_that_it_is_one_question(self, data: dict[str, Any], **_: Any) -> None:
        """One thing is housed, in one thing."""
        if len(data.keys() & {"consignment_id", "trays", "taxa"}) != 1:
            raise ValidationError("Give one of consignment_id, trays and taxa.")
        if len(data.keys() & {"storage_system_id", "drawers"}) != 1:
            raise ValidationError("Give either storage_system_id or drawers of your own.")
        faults = {
            **_only_with(data, "tray_choices", "taxa"),
            **_only_with(data, "taxa_together", "taxa"),
            **_only_with(data, "revision", "storage_system_id"),
            **_only_with(data, "allowed_drawers", "storage_system_id"),
        }
        if "taxa" in data and "tray_choices" not in data:
            faults["tray_choices"] = ["Say which sizes of tray there are, and how many specimens go into one."]
        if "consignment_id" in data and "drawers" in data:
            faults["drawers"] = ["A consignment is held against a storage system; name one."]
        if sum(tray.count for tray in data.get("trays", ())) > MOST_TRAYS:
            faults["trays"] = [f"A plan houses at most {MOST_TRAYS:,} trays."]
        if faults:
            raise ValidationError(faults)


def _only_with(data: dict[str, Any], field: str, other: str) -> dict[str, list[str]]:
    return {field: [f"This belongs to {other}."]} if field in data and other not in data else {}
