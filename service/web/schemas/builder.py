"""The builder's questions as a query string, and their answers."""

from collections.abc import Iterable, Mapping
from typing import Any

from marshmallow import ValidationError, validates_schema

from service.actions.builder import MOST_HOMES, MOST_TAKERS, BuilderAnswer, BuilderQuestion
from service.core.builder.box import Sizes
from service.core.builder.changes import MOST_CHANGES, Change
from service.core.builder.cut import MOST_CUTS, Cut, changes_in_words, worth_in_words
from service.core.builder.takers import Taker
from service.core.fit.findings import Verdict
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import NM_PER_MM
from service.web.kit.fields import Choice, Code, Flag, Int, List, Nested, Text, Uuid
from service.web.kit.measures import Length, read_length
from service.web.kit.schema import Parameters, Strict
from service.web.schemas.consignment import MOST_CONTAINERS
from service.web.schemas.fit import LONGEST_SENTENCE, MOST, Millimetres

AXES = ("width", "depth", "height")


class Written(Length):
    """A length that remembers how it was written, since answers come in the asker's own unit."""

    def read(self, value: Any) -> Dimension:  # type: ignore[override]  # a length, and how it was written
        written = value if isinstance(value, str) else None
        return Dimension(read_length(value), as_written=written)


#: Ten metres: larger than any drawer, and a slip of a unit.
LARGEST_NM = 10_000 * NM_PER_MM


def _is_a_size(side: Dimension) -> bool:
    return 0 < side.value_nm <= LARGEST_NM


def _side(described: str, **kwargs: Any) -> Written:
    return Written(metadata={"description": described}, **kwargs)


def in_inches(lengths: Iterable[Dimension]) -> bool:
    """Whether somebody measured by an imperial rule."""
    metric = ("mm", "cm", "m")
    written = [length.as_written.strip().rstrip(".").lower() for length in lengths if length.as_written]
    return any(not text.endswith(metric) for text in written)


def sizes_in(query: Mapping[str, Any], prefix: str = "") -> Sizes:
    width, depth, height = (query[f"{prefix}{axis}"].value_nm for axis in AXES)
    return width, depth, height


class DrawerQuery(Parameters):
    """The outer size of a drawer."""

    width = _side("outside, side to side along the front", required=True)
    depth = _side("outside, front to back", required=True)
    height = _side("outside, lid included", required=True)

    @validates_schema(skip_on_field_errors=True)
    def check_that_sizes_are_sizes(self, data: dict[str, Any], **_: Any) -> None:
        odd = [name for name, side in data.items() if isinstance(side, Dimension) and not _is_a_size(side)]
        if odd:
            raise ValidationError(
                {name: ["Nothing of a drawer has this size; check it and its unit."] for name in odd}
            )


class BuilderQuery(DrawerQuery):
    """A drawer, and perhaps the unit trays in it."""

    tray_width = _side("of the unit trays in it, outside; give all three or none")
    tray_depth = _side("front to back")
    tray_height = _side("base to rim")
    cut = Choice(
        Cut,
        metadata={
            "description": "the finest mark that you saw to; left out: sixteenth_inch where a size was written in "
            "feet or inches, and else millimetre"
        },
    )
    reach = _side(
        f"how far to look for changes along each axis, up to {MOST_CUTS} cuts; left out: half an inch, and further "
        "where nothing so near gains anything"
    )

    @validates_schema(skip_on_field_errors=True)
    def check_that_a_tray_has_three_sides(self, data: dict[str, Any], **_: Any) -> None:
        given = [f"tray_{axis}" for axis in AXES if f"tray_{axis}" in data]
        if given and len(given) < len(AXES):
            missing = {f"tray_{axis}": ["Give all three sides of the trays, or none."] for axis in AXES}
            raise ValidationError({name: told for name, told in missing.items() if name not in given})


class HomesQuery(DrawerQuery):
    """Drawers that there are already."""

    count = Int(
        min=1, max=MOST_CONTAINERS, required=True, metadata={"description": "how many drawers of this size there are"}
    )


def question_in(query: Mapping[str, Any]) -> BuilderQuestion:
    """The question behind a query that was loaded."""
    lengths = [length for length in query.values() if isinstance(length, Dimension)]
    cut = query.get("cut") or (Cut.SIXTEENTH_INCH if in_inches(lengths) else Cut.MILLIMETRE)
    reach = min(MOST_CUTS, max(1, query["reach"].value_nm // cut.nm)) if "reach" in query else None
    return BuilderQuestion(sizes_in(query), cut, sizes_in(query, "tray_") if "tray_width" in query else None, reach)


class SidesSchema(Strict):
    """Width, depth and height in millimetres."""

    width_mm = Millimetres(required=True)
    depth_mm = Millimetres(required=True)
    height_mm = Millimetres(required=True)


class ChangeSchema(Strict):
    """A change that can be cut, and what it is worth. The size given is exact and keeps the promise."""

    change = Nested(SidesSchema, required=True, metadata={"description": "below zero: smaller"})
    size = Nested(SidesSchema, required=True, metadata={"description": "the size after it"})
    in_words = Text(max_length=LONGEST_SENTENCE, required=True, metadata={"description": "in the asker's own unit"})
    worth = Text(
        max_length=LONGEST_SENTENCE, required=True, metadata={"description": "what it gains and loses, in a sentence"}
    )
    taken_by = Int(min=0, max=MOST, required=True, metadata={"description": "systems that take the size after it"})
    gained = Int(min=0, max=MOST, required=True, metadata={"description": "of them, did not take it before"})
    lost = Int(min=0, max=MOST, required=True, metadata={"description": "took it before, and do not after it"})


class TakerSchema(Strict):
    """A published storage system that takes this size."""

    institution_id = Uuid(required=True)
    institution_code = Code(required=True, metadata={"description": "its short name"})
    institution_name = Text(max_length=200, required=True, metadata={"description": "what people call it"})
    storage_system_id = Uuid(required=True)
    storage_system_code = Code(required=True, metadata={"description": "its short name"})
    storage_system_name = Text(max_length=200, required=True, metadata={"description": "what people call it"})
    revision_number = Int(
        min=1, max=1_000_000, required=True, metadata={"description": "the revision that holds today"}
    )
    verdict = Choice(Verdict, required=True)
    into = Code(required=True, metadata={"description": "code of the cabinet, or by the tray of the drawer"})
    turned = Flag(required=True, metadata={"description": "with the front to the side"})
    positions_each = Int(min=1, max=MOST, metadata={"description": "positions that one drawer takes up"})
    free_positions = Int(min=0, max=MOST, metadata={"description": "in all cabinets of this kind, as published"})
    room_for = Int(min=0, max=MOST, metadata={"description": "drawers that these positions hold"})


class TakersSchema(Strict):
    """How many systems take it, and the first of them: the closest fit first."""

    total = Int(min=0, max=MOST, required=True, metadata={"description": "systems that take it, in all"})
    first = List(
        Nested(TakerSchema),
        max_items=MOST_TAKERS,
        required=True,
        metadata={"description": "the first of them, the closest fit first"},
    )


class BuilderAnswerSchema(Strict):
    """Who takes the drawer, and what smallest change makes more of them take it."""

    systems_asked = Int(min=0, max=MOST, required=True, metadata={"description": "published to everybody"})
    cut = Choice(Cut, required=True)
    reach_mm = Millimetres(
        required=True, metadata={"description": "changes were searched up to here along each axis"}
    )
    as_it_is = Nested(TakersSchema, required=True, metadata={"description": "who takes the drawer as it is"})
    drawer_changes = List(
        Nested(ChangeSchema),
        max_items=MOST_CHANGES,
        required=True,
        metadata={"description": "the smallest changes of the drawer that make more systems take it"},
    )
    by_the_tray = Nested(
        TakersSchema, metadata={"description": "all that take the trays; first are those that do not take the drawer"}
    )
    tray_changes = List(
        Nested(ChangeSchema),
        max_items=MOST_CHANGES,
        metadata={"description": "the smallest changes of the trays that make more systems take them"},
    )
    tray_reach_mm = Millimetres(
        metadata={"description": "changes of the trays were searched up to here along each axis, in millimetres"}
    )
    notes = List(
        Text(max_length=LONGEST_SENTENCE), required=True, metadata={"description": "what the answer does not say"}
    )


class HomeSchema(Strict):
    """An institution that takes the drawers as they are."""

    institution_id = Uuid(required=True)
    institution_code = Code(required=True, metadata={"description": "its short name"})
    institution_name = Text(max_length=200, required=True, metadata={"description": "what people call it"})
    room_for = Int(
        min=0,
        max=MOST,
        metadata={"description": "drawers, in positions that are known to be free; left out: unknown"},
    )
    has_room_for_all = Flag(
        required=True, metadata={"description": "whether free positions are known for all of the drawers"}
    )
    systems = List(Nested(TakerSchema), required=True, metadata={"description": "its systems that take them"})


class HomesAnswerSchema(Strict):
    """Whom to offer the drawers to: who has room for all of them first, then by room; who says nothing, last."""

    institutions = Int(min=0, max=MOST, required=True, metadata={"description": "that take this size, in all"})
    first = List(
        Nested(HomeSchema),
        max_items=MOST_HOMES,
        required=True,
        metadata={"description": "the first of them: with room for all, then by room"},
    )
    notes = List(
        Text(max_length=LONGEST_SENTENCE), required=True, metadata={"description": "what the answer does not say"}
    )


NOTES = (
    "Asked are the storage systems that their institutions publish to everybody, as they hold today.",
    "Sizes are taken as exact: what strays in the making, and what moves with the air of a damp month, comes off the "
    "room that is left. Ask the fit check with measured drawers before many are made.",
    "That a drawer fits is no promise to take it: ask the institution.",
)


def builder_answer(answer: BuilderAnswer) -> dict[str, Any]:
    """An answer as its schema dumps it."""
    cut = answer.question.cut
    told: dict[str, Any] = {
        "systems_asked": answer.systems_asked,
        "cut": cut,
        "reach_mm": answer.reach * cut.nm,
        "as_it_is": {"total": answer.as_it_is.total, "first": list(map(taker, answer.as_it_is.takers))},
        "drawer_changes": [_change(change, cut) for change in answer.drawer_changes],
        "notes": list(NOTES),
    }
    if answer.by_the_tray is not None:
        told["by_the_tray"] = {
            "total": answer.by_the_tray.total,
            "first": list(map(taker, answer.by_the_tray.takers)),
        }
        told["tray_changes"] = [_change(change, cut) for change in answer.tray_changes or ()]
        told["tray_reach_mm"] = (answer.tray_reach or 0) * cut.nm
    return told


def _change(change: Change, cut: Cut) -> dict[str, Any]:
    return {
        "change": _sides(number * cut.nm for number in change.cuts),
        "size": _sides(change.size),
        "in_words": changes_in_words(change, cut),
        "worth": worth_in_words(change),
        "taken_by": change.taken_by,
        "gained": change.gained,
        "lost": change.lost,
    }


def _sides(lengths: Iterable[int]) -> dict[str, int]:
    return {f"{axis}_mm": nm for axis, nm in zip(AXES, lengths, strict=True)}


def taker(found: Taker) -> dict[str, Any]:
    return {
        "institution_id": found.institution_id,
        "institution_code": found.institution_code,
        "institution_name": found.institution_name,
        "storage_system_id": found.system_id,
        "storage_system_code": found.system_code,
        "storage_system_name": found.system_name,
        "revision_number": found.revision_number,
        "verdict": found.verdict,
        "into": found.into,
        "turned": found.turned,
        "positions_each": found.positions_each,
        "free_positions": found.free_positions,
        "room_for": found.room_for,
    }
