"""Do the pins clear the lid? In storage they must not touch it; on a journey they nearly should.

The height of a pin's head above the floor is what the pin stands on, plus the pinning bottom, less how far the pin
goes into it, plus the pin. That is a definition and no published formula.
"""

from dataclasses import dataclass, replace

from service.core.consignment import Container
from service.core.fit.case import Case
from service.core.fit.comparing import Side, from_memory
from service.core.fit.findings import Comparison, Finding, Outcome
from service.core.fit.floors import height_above_lining, less
from service.core.handbook import figure, work_caution
from service.core.measure.dimension import Dimension, Grade
from service.core.measure.lengths import written_mm
from service.core.standards import DrawerStandard, StorageSystem

AIR_GAP = "lid.air_gap_least"


def head_above_floor_nm(tray_base_nm: int, bottom_nm: int, depth_nm: int, pin_length_nm: int) -> int:
    """How high a pin's head stands above the floor of its drawer. A pin driven through is taken to stop there."""
    return tray_base_nm + max(0, bottom_nm - depth_nm) + pin_length_nm


def lid_clearance_nm(inner_clear_height_nm: int, head_nm: int) -> int:
    """The air between the head and the underside of the lid; below zero the pin is too long by so much."""
    return inner_clear_height_nm - head_nm


def rim_clearance_nm(tray_height_nm: int, head_nm: int) -> int:
    """How far the head stays below the rim of its tray; below zero it stands out by so much."""
    return tray_height_nm - head_nm


@dataclass(frozen=True, slots=True)
class Footing:
    """What the pins of a line stand in: the ``base`` under the pinning bottom, the ``bottom``, and the room above."""

    where: str
    subject: str
    base: Side | None
    bottom: Side
    room: Side


@dataclass(frozen=True, slots=True)
class Clearance:
    """The least and the most that the air gap may come to; ``None`` where nothing bounds it."""

    least_nm: int | None
    most_nm: int | None


def pins_in_receivers_drawer(case: Case, lot: int, drawer: DrawerStandard) -> tuple[Finding, ...]:
    """One size of tray under the lid of one of the receiver's drawers."""
    subject = f"tray size {lot + 1} in drawer {drawer.code}"
    return (_storage(case, _in_tray(case, lot, f"“{drawer.name}”", subject, height_above_lining(drawer))),)


def pins_in_own_container(case: Case) -> tuple[Finding, ...]:
    """The pins under the lid that they come with, in trays or in the container's own lining."""
    line = case.line
    if line.trays is None:
        reason = "Nobody has stated whether the pins stand in unit trays or in the lining of the container itself."
        missing = (case.asks("trays"),)
        return (Finding("pin_under_lid", Outcome.UNKNOWN, reason, _source(case.system), missing=missing),)
    return tuple(_storage(case, footing) for footing in _own_footings(case))


def _own_footings(case: Case) -> tuple[Footing, ...]:
    line = case.line
    room = Side(line.inner.height, "the height under the lid of the container", case.asks("inner.height"))
    if not line.trays:
        thickness = line.lining.thickness if line.lining else None
        bottom = Side(thickness, "the thickness of the lining", case.asks("lining.thickness"))
        return (Footing("its own container", "its own lid", None, bottom, room),)
    if line.lining is not None:
        room = _above(room, Side(line.lining.thickness, "the thickness of the lining", case.asks("lining.thickness")))
    return tuple(
        _in_tray(case, lot, "its own container", f"tray size {lot + 1} under its own lid", room)
        for lot in range(len(line.trays))
    )


def _above(room: Side, lining: Side) -> Side:
    if room.dimension is None or lining.dimension is None:
        return lining if lining.dimension is None else room
    return replace(room, dimension=less(room.dimension, lining.dimension))


def _in_tray(case: Case, lot: int, where: str, subject: str, room: Side) -> Footing:
    trays, name = case.tray_lots[lot], case.tray_name(lot)
    thickness = trays.bottom.thickness if trays.bottom else None
    base = Side(trays.base, f"the base of the {name}", case.asks_tray(lot, "base"))
    bottom = Side(thickness, f"the pinning bottom of the {name}", case.asks_tray(lot, "bottom.thickness"))
    return Footing(where, subject, base, bottom, room)


def clearance(footing: Footing, length: Dimension | None, depth: Dimension | None) -> Clearance:
    """The worst and the best that the known lengths allow, where some may be missing."""
    room = footing.room.dimension
    if room is None or length is None:
        return Clearance(None, None)
    base, bottom = footing.base.dimension if footing.base else Dimension(0), footing.bottom.dimension
    base_nm = base.largest_nm if base else 0
    depth_nm, bottom_nm = depth.smallest_nm if depth else 0, bottom.largest_nm if bottom else 0
    shallowest = head_above_floor_nm(base_nm, bottom_nm, depth_nm, length.largest_nm)
    # A pin of unknown depth goes all the way in at best, and a bottom of unknown thickness is used up by its pin.
    deepest = head_above_floor_nm(base_nm, bottom_nm, depth_nm if depth else bottom_nm, length.largest_nm)
    bounded = base is not None and bottom is not None
    return Clearance(
        lid_clearance_nm(room.smallest_nm, shallowest) if bounded else None,
        lid_clearance_nm(room.smallest_nm, deepest),
    )


def outcome_of_gap(air: Clearance, gap_nm: int) -> Outcome:
    """Touching fails, less than the usual gap is a caution; unknown where the missing lengths could go either way."""
    if air.most_nm is not None and air.most_nm <= 0:
        return Outcome.FAIL
    if air.least_nm is None or air.least_nm <= 0:
        return Outcome.UNKNOWN
    return Outcome.PASS if air.least_nm >= gap_nm else Outcome.CAUTION


def _storage(case: Case, footing: Footing) -> Finding:
    if case.line.specimens == 0:
        reason = "There are no specimens, so there are no pins to clear a lid."
        return Finding("pin_under_lid", Outcome.PASS, reason, _source(case.system), footing.subject)
    sides = _sides(case, footing)
    air, gap_nm = clearance(footing, case.line.pins.length, case.line.pins.depth), _gap_nm(case.system)
    outcome, remembered = outcome_of_gap(air, gap_nm), _from_memory(sides)
    if outcome is Outcome.UNKNOWN:
        reason, missing = _undecided(sides, air), _absent(sides)
    elif remembered:
        reason, missing = _if_right(remembered, air, gap_nm), remembered
        outcome = Outcome.UNKNOWN
    else:
        reason, missing = _decided(footing, air, gap_nm, sides), ()
    return Finding(
        "pin_under_lid",
        outcome,
        reason,
        _source(case.system),
        footing.subject,
        (_comparison(footing, air, remembered),),
        _mend(air, gap_nm) if outcome in (Outcome.FAIL, Outcome.CAUTION) else None,
        tuple(side.field for side in missing),
        grade=Grade.PUBLISHED if case.system.lid_air_gap_nm is not None else figure(AIR_GAP).grade,
    )


def _sides(case: Case, footing: Footing) -> tuple[Side, ...]:
    """Every length that the answer may rest on."""
    length = Side(case.line.pins.length, "the length of the longest pin", case.asks("pins.length"))
    depth = Side(case.line.pins.depth, "how deep the pins go in", case.asks("pins.depth"))
    base = (footing.base,) if footing.base else ()
    return (footing.room, *base, footing.bottom, depth, length)


def _absent(sides: tuple[Side, ...]) -> tuple[Side, ...]:
    return tuple(side for side in sides if side.dimension is None)


def _from_memory(sides: tuple[Side, ...]) -> tuple[Side, ...]:
    return tuple(side for side in sides if side.dimension and side.dimension.is_from_memory)


def _gap_nm(system: StorageSystem) -> int:
    return figure(AIR_GAP).nm if system.lid_air_gap_nm is None else system.lid_air_gap_nm


def _source(system: StorageSystem) -> str:
    return figure(AIR_GAP).source if system.lid_air_gap_nm is None else "The receiver's own air gap under the lid."


def _comparison(footing: Footing, air: Clearance, remembered: tuple[Side, ...]) -> Comparison:
    """The head of the longest pin against the lid, at the worst that is known."""
    room, air_nm = footing.room.dimension, air.most_nm if air.least_nm is None else air.least_nm
    room_nm = room.smallest_nm if room else None
    head_nm = None if room_nm is None or air_nm is None else room_nm - air_nm
    behind = next((side.dimension for side in remembered), None)
    return Comparison("head of the pin against the lid", head_nm, room_nm, air_nm, behind, room)


def _decided(footing: Footing, air: Clearance, gap_nm: int, sides: tuple[Side, ...]) -> str:
    if air.most_nm is not None and air.most_nm <= 0:
        return f"The pins are {written_mm(-air.most_nm)} too long for the lid of {footing.where}."
    least_nm = air.least_nm or 0
    worst = " even if they are hardly pushed in" if _absent(sides) else ""
    text = f"The pins clear the lid of {footing.where} by {written_mm(least_nm)}{worst}"
    if least_nm < gap_nm:
        return f"{text}, less than the {written_mm(gap_nm)} that heads should have above them in storage."
    return f"{text}; {written_mm(gap_nm)} are wanted."


def _if_right(remembered: tuple[Side, ...], air: Clearance, gap_nm: int) -> str:
    air_nm = air.most_nm if air.least_nm is None else air.least_nm
    figures = [side.dimension for side in remembered]
    return from_memory("the air above the pins", (air_nm or 0) - gap_nm, *figures)


def _undecided(sides: tuple[Side, ...], air: Clearance) -> str:
    *names, last = (side.name for side in _absent(sides))
    absent = f"{', '.join(names)} and {last}" if names else last
    text = f"Whether the pins clear the lid cannot be told: nobody has stated {absent}."
    if air.most_nm is not None:
        text += f" At best they clear it by {written_mm(air.most_nm)}."
    if air.least_nm is not None and air.least_nm <= 0:
        text += f" At worst they are {written_mm(-air.least_nm)} too long."
    return text


def _mend(air: Clearance, gap_nm: int) -> str:
    air_nm = air.most_nm if air.least_nm is None else air.least_nm
    return (
        f"It takes {written_mm(gap_nm - (air_nm or 0))} more height under the lid: a higher drawer, or a lower "
        "bottom where the pins do not use all of it."
    )


def transit_rule(case: Case) -> tuple[Finding, ...]:
    """Advice for the journey, where heads should almost touch the lid. It decides nothing."""
    if case.line.specimens == 0:
        return ()
    if case.line.container is Container.UNIT_TRAY:
        caution = work_caution("no_open_trays_in_the_post")
        return (_advice(Outcome.CAUTION, caution.text, caution.source),)
    corners = figure("transit.card_corner_pins")
    card = f"lay a firm card on the heads, carried by {int(corners.value)} pins of their height in the corners"
    source = f"{figure('transit.lid_gap_least').source}; {corners.source}"
    gaps = [clearance(footing, case.line.pins.length, case.line.pins.depth) for footing in _own_footings(case)]
    known = [air.least_nm for air in gaps if air.least_nm is not None]
    if len(known) < len(gaps) or case.line.trays is None:
        reason = "How far the heads are from their own lid is not known; on a journey they should almost touch it."
        return (_advice(Outcome.UNKNOWN, reason, source, f"Unless they do, {card}."),)
    if min(known) <= 0:
        reason = f"At worst the pins press {written_mm(-min(known))} into their own lid: it must not weigh on them."
        return (_advice(Outcome.CAUTION, reason, source, "Send them in a higher container."),)
    reason = f"The heads are {written_mm(max(known))} from their own lid; on a journey they should almost touch it."
    return (_advice(Outcome.CAUTION, reason, source, f"Unless they do, {card}."),)


def _advice(outcome: Outcome, reason: str, source: str, remedy: str | None = None) -> Finding:
    return Finding("pins_in_transit", outcome, reason, source, remedy=remedy, deciding=False)
