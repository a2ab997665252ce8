"""Does a drawer that fits today still fit in the receiver's dampest month?

Wood follows the air: a drawer from a dry house grows in a damp store until it has come to rest there, which takes
weeks. Its width and depth run along the grain and hardly move; its height is the width of a board and does.
"""

from dataclasses import dataclass

from service.core.fit.case import Case
from service.core.fit.comparing import Side, capital
from service.core.fit.drawer_in_cabinet import positions_each
from service.core.fit.findings import Comparison, Finding, Outcome
from service.core.fit.make_up import FRAMED_DRAWER, MakeUp, make_up_of, wall_thickness_nm
from service.core.fit.seasons import Left, Season, air, left_in, middle_of, seasons
from service.core.fit.slot import Slot, outer_side, plane_off
from service.core.handbook.timber import materials_called, sender_room, sources_of
from service.core.measure.dimension import Grade
from service.core.measure.growth import Growth, Part, growth
from service.core.measure.lengths import written_mm
from service.core.measure.moisture import Air, humidity_for
from service.core.measure.movement import LINEAR_GREATEST, LINEAR_LEAST, Direction, Material
from service.core.measure.year import named_months
from service.core.standards import Axis, Cabinet, SetPoint

RULE = "climate"
METHOD = "Wood Handbook (USDA Forest Products Laboratory), equations 4-5, 13-2 and 13-3"

#: The width and height of a wooden case are fixed by boards along their grain; its depth moves across them.
_CASE_GRAIN = {Axis.WIDTH: Direction.ALONG, Axis.DEPTH: Direction.ACROSS, Axis.HEIGHT: Direction.ALONG}
_STILL = Growth(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Setting:
    """What the rule is told besides the line and the cabinet. Absent is unknown.

    ``sender`` is the room in which the drawers have come to rest; ``monthly`` the receiver's twelve months, January
    first, where they are published; ``cabinet_of`` what the cabinet is made of, which else does not move.
    """

    sender: SetPoint | None = None
    monthly: tuple[SetPoint, ...] = ()
    make_up: MakeUp = FRAMED_DRAWER
    cabinet_of: str | None = None

    @classmethod
    def of(cls, case: Case, cabinet: Cabinet) -> "Setting":
        """What the line and the system state."""
        monthly = case.system.climate.monthly or ()
        return cls(case.line.sender_climate, monthly, make_up_of(case.line), cabinet.material)


@dataclass(frozen=True, slots=True)
class OverTheYear:
    """One dimension that has room today, and what each season leaves of it."""

    axis: Axis
    thing: Side
    room: Side
    year: tuple[Left, ...]

    @property
    def is_known(self) -> bool:
        return all(left.margin_nm is not None for left in self.year)

    @property
    def binding(self) -> tuple[Left, ...]:
        return tuple(left for left in self.year if left.margin_nm is not None and left.margin_nm < 0)

    @property
    def never_fits(self) -> bool:
        """It binds in every season, even if it moves as little as it may."""
        return all(left.margin_at_best_nm is not None and left.margin_at_best_nm < 0 for left in self.year)

    @property
    def tightest(self) -> Left:
        """The season that leaves least, of those that are known."""
        return min(self.year, key=lambda left: (left.margin_nm is None, left.margin_nm or 0))

    def comparisons(self, *, all_year: bool) -> tuple[Comparison, ...]:
        return tuple(
            Comparison(
                f"{self.axis.value} {left.season.called}",
                left.size_nm,
                left.room_nm,
                left.margin_nm,
                self.thing.dimension,
                self.room.dimension,
            )
            for left in (self.year if all_year else (self.tightest,))
        )


def climate_rule(case: Case, cabinet: Cabinet, turned: bool, setting: Setting | None = None) -> tuple[Finding, ...]:
    """Each dimension of a drawer in one kind of cabinet, over the receiver's year.

    Without the sender's room the drawers are taken to come from the driest air that the linear equation holds for,
    which is the worst for them: what fits even so passes, and all else is unknown. Nothing is said of a dimension
    that is missing or does not fit today: the rules on the drawer in its cabinet speak of it.
    """
    setting, slot = setting or Setting.of(case, cabinet), Slot.of(cabinet, case.system)
    materials, year = materials_called(case.line.wood or ""), seasons(case.system.climate, setting.monthly)
    if not materials or not year:
        return (_not_told(case, slot, bool(materials), bool(year)),)
    dimensions = tuple(
        OverTheYear(axis, thing, room, _over(case, setting, axis, thing, room, materials, year))
        for axis, thing, room in _with_room_today(case, slot, turned)
    )
    return (_finding(case, slot, setting, materials, dimensions),) if dimensions else ()


def _not_told(case: Case, slot: Slot, wood_known: bool, year_known: bool) -> Finding:
    wood = f"what “{case.line.wood}” is" if case.line.wood else "what the drawers are made of"
    unknown = [*([] if wood_known else [wood]), *([] if year_known else ["how damp the receiver's room becomes"])]
    missing = (
        *(() if wood_known else (case.asks("wood"),)),
        *(() if year_known else ("system.climate.dampest",)),
    )
    reason = f"Whether the drawers still fit in the dampest month cannot be told without {' and '.join(unknown)}."
    return Finding(RULE, Outcome.UNKNOWN, reason, f"{METHOD}.", slot.subject, missing=missing, deciding=False)


def _with_room_today(case: Case, slot: Slot, turned: bool) -> tuple[tuple[Axis, Side, Side], ...]:
    rooms = (slot.depth_side(), slot.width_side()) if turned else (slot.width_side(), slot.depth_side())
    sides = zip(Axis, (*rooms, slot.height_side()), strict=True)
    things = (
        (axis, outer_side(case.line, axis.value, case.asks(f"outer.{axis.value}")), room) for axis, room in sides
    )
    return tuple((axis, thing, room) for axis, thing, room in things if _fits_today(axis, thing, room))


def _fits_today(axis: Axis, thing: Side, room: Side) -> bool:
    if thing.dimension is None or room.dimension is None:
        return False
    return thing.dimension.largest_nm <= _room_nm(axis, thing, room)


def _room_nm(axis: Axis, thing: Side, room: Side) -> int:
    """The least room today; a high drawer has that of all the positions that it takes up."""
    if thing.dimension is None or room.dimension is None:
        raise ValueError("both lengths must be known")
    least_nm = room.dimension.smallest_nm
    if axis is Axis.HEIGHT and least_nm > 0:
        return least_nm * positions_each(thing.dimension.largest_nm, least_nm)
    return least_nm


def _over(
    case: Case,
    setting: Setting,
    axis: Axis,
    thing: Side,
    room: Side,
    materials: tuple[Material, ...],
    year: tuple[Season, ...],
) -> tuple[Left, ...]:
    if thing.dimension is None:
        raise ValueError("the length must be known")
    size_nm, room_nm = thing.dimension.largest_nm, _room_nm(axis, thing, room)
    before = air(setting.sender) or _driest_sender()
    parts = setting.make_up.parts(axis, size_nm, wall_thickness_nm(case.line, setting.make_up))
    opening, usual = (Part(room_nm, _CASE_GRAIN[axis]),), middle_of(year)
    return tuple(
        left_in(
            season,
            size_nm,
            room_nm,
            growth(parts, materials, before, season.air),
            _cabinet_growth(opening, setting.cabinet_of, usual, season.air),
        )
        for season in year
    )


def _driest_sender() -> Air:
    """The driest room that the linear equation holds for."""
    temperature_c = float(sender_room().value)
    return Air(temperature_c, humidity_for(LINEAR_LEAST, temperature_c))


def _cabinet_growth(opening: tuple[Part, ...], cabinet_of: str | None, before: Air, after: Air) -> Growth | None:
    return _STILL if cabinet_of is None else growth(opening, materials_called(cabinet_of), before, after)


def _finding(
    case: Case, slot: Slot, setting: Setting, materials: tuple[Material, ...], dimensions: tuple[OverTheYear, ...]
) -> Finding:
    tight = min(dimensions, key=lambda one: (one.tightest.margin_nm is None, one.tightest.margin_nm or 0))
    outcome, missing = _outcome(case, setting, dimensions)
    remarks = (
        *(_binds(one, air(setting.sender) is not None) for one in dimensions if one.binding),
        None if any(one.binding for one in dimensions) else _fits(tight),
        None if all(one.is_known for one in dimensions) else _beyond(dimensions),
        None if air(setting.sender) else _any_sender(),
        _widened(dimensions),
        f"Reckoned as {', '.join(material.name for material in materials)}.",
        "Figures from memory are among these, so nothing is decided by them." if _remembered(dimensions) else None,
    )
    return Finding(
        RULE,
        outcome,
        " ".join(remark for remark in remarks if remark),
        f"{METHOD}; {sources_of(materials)}.",
        slot.subject,
        tuple(row for one in dimensions for row in one.comparisons(all_year=one is tight)),
        _remedy(case, dimensions) if outcome in {Outcome.CAUTION, Outcome.FAIL} else None,
        missing,
        # What rests on memory is told, and decides nothing.
        deciding=outcome is not Outcome.UNKNOWN and not _remembered(dimensions),
        grade=Grade.FROM_MEMORY if _remembered(dimensions) else Grade.PUBLISHED,
    )


def _outcome(case: Case, setting: Setting, dimensions: tuple[OverTheYear, ...]) -> tuple[Outcome, tuple[str, ...]]:
    """The answer, and what to ask for where there is none."""
    sides = [side for one in dimensions for side in (one.thing, one.room)]
    remembered = tuple(side.field for side in sides if side.dimension and side.dimension.is_from_memory)
    if remembered:
        return Outcome.UNKNOWN, tuple(dict.fromkeys(remembered))
    if any(one.binding for one in dimensions):
        if air(setting.sender) is None:
            return Outcome.UNKNOWN, (case.asks("sender_climate"),)
        return (Outcome.FAIL if any(one.never_fits for one in dimensions) else Outcome.CAUTION), ()
    if not all(one.is_known for one in dimensions):
        return Outcome.UNKNOWN, ()
    return Outcome.PASS, ()


def _binds(one: OverTheYear, sender_known: bool) -> str:
    worst, months = one.tightest, [left.season.month for left in one.binding]
    known_months = tuple(month for month in months if month is not None)
    when = f"in {named_months(known_months)}" if len(known_months) == len(months) else worst.season.called
    if len(one.year) > 1 and len(one.binding) == len(one.year):
        when = "in every month"
    verb = "binds" if sender_known else "might bind"
    missing = f"{written_mm(-(worst.margin_nm or 0))} too much {worst.season.called}"
    return f"The {one.axis.value} fits today and {verb} {when}: it may grow to {_size(worst)}, {missing}."


def _size(left: Left) -> str:
    return written_mm(left.size_nm or 0)


def _fits(one: OverTheYear) -> str | None:
    worst = one.tightest
    if worst.margin_nm is None:
        return None
    return (
        f"Tightest is the {one.axis.value} {worst.season.called}: it may grow to {_size(worst)} and keeps "
        f"{written_mm(worst.margin_nm)} to spare."
    )


def _beyond(dimensions: tuple[OverTheYear, ...]) -> str:
    called = dict.fromkeys(left.season.called for one in dimensions for left in one.year if left.margin_nm is None)
    return f"How they move {', '.join(called)} is beyond what anybody has published."


def _any_sender() -> str:
    return (
        "The sender's room was not stated; this takes the drawers to come from the driest air that the equation "
        f"holds for ({_driest_sender().relative_humidity_percent:.0f} %)."
    )


def _widened(dimensions: tuple[OverTheYear, ...]) -> str | None:
    if not any(left.widened for one in dimensions for left in one.year):
        return None
    return (
        f"Part of the way lies outside the {LINEAR_LEAST:.0f} to {LINEAR_GREATEST:.0f} % of moisture that the "
        "equation is made for, so those figures are widened."
    )


def _remedy(case: Case, dimensions: tuple[OverTheYear, ...]) -> str:
    mends = [
        plane_off(case.line, one.axis.value, -one.tightest.margin_nm)
        for one in dimensions
        if one.tightest.margin_nm is not None and one.tightest.margin_nm < 0
    ]
    return f"{capital('; '.join(mends))}; or keep the room drier in those months."


def _remembered(dimensions: tuple[OverTheYear, ...]) -> bool:
    """Whether any figure of the movement is from memory."""
    return any(left.rests_on_memory for one in dimensions for left in one.year)
