"""The trays that a housing plan is asked for: a consignment's, by size and count, or for taxa."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from service.core.consignment import Line, Pins, TrayLot
from service.core.errors import Conflict, Invalid
from service.core.fit.answer import FitAnswer, LineAnswer
from service.core.fit.check import check
from service.core.fit.findings import Verdict
from service.core.fit.pin_under_lid import AIR_GAP, head_above_floor_nm
from service.core.fit.tray_in_drawer import series_for
from service.core.handbook import figure
from service.core.housing.choosing_trays import TrayChoice, as_tray_sizes, choose_trays
from service.core.housing.plan import DrawerType, TraySize
from service.core.housing.wishes import (
    Contents,
    LeftOut,
    TrayOffer,
    WantedTrays,
    Wishes,
)
from service.core.measure.dimension import Dimension
from service.core.standards import StorageSystem, TraySeries, TrayStandard

_LONGEST_LABEL = 60


@dataclass(frozen=True, slots=True)
class TraysAsked:
    """Trays to be housed, the play that they ask for, and what is to be said about them."""

    sizes: tuple[TraySize, ...]
    play_nm: int | None
    notes: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    at_most_by_check: int | None = None
    new: bool = False
    specimens: int = 0


def trays_asked(
    contents: Contents, wishes: Wishes, system: StorageSystem, drawers: Sequence[DrawerType]
) -> TraysAsked:
    """The trays, from whichever the contents are.

    :raises Conflict: when no line of the consignment goes by the tray.
    :raises Invalid: when the size of a tray is not known.
    """
    if contents.lines:
        return _of_lines(contents.lines, system, drawers)
    if contents.taxa:
        return _of_taxa(contents, wishes, system)
    sizes = tuple(_wanted(f"trays.{at}", wanted, wishes, system) for at, wanted in enumerate(contents.trays))
    return TraysAsked(sizes, _own_play(system), tuple(_about_heights(wishes)))


def _of_lines(lines: Sequence[Line], system: StorageSystem, drawers: Sequence[DrawerType]) -> TraysAsked:
    answer = check(tuple(lines), system)
    by_tray = [line for line in answer.lines if line.verdict is Verdict.BY_THE_TRAY]
    if not by_tray:
        verdicts = ", ".join(f"line {line.line}: {line.verdict.value.replace('_', ' ')}" for line in answer.lines)
        raise Conflict("nothing_by_the_tray", f"No line of this consignment goes by the tray ({verdicts}).")
    numbered = [(answered, lines[answered.line - 1]) for answered in by_tray]
    sizes = [size for answered, line in numbered for size in _of_line(answered.line, line, system, drawers)]
    plays = {series.play_nm for series in _series_of(numbered, system)}
    return TraysAsked(
        tuple(sizes),
        max((play for play in plays if play is not None), default=None),
        left_out=tuple(_left_out(answer)),
        at_most_by_check=_at_most_by_check(by_tray),
    )


def _series_of(numbered: Sequence[tuple[LineAnswer, Line]], system: StorageSystem) -> Iterator[TraySeries]:
    for _, line in numbered:
        for lot in line.trays_to_move() or ():
            if series := series_for(system, lot):
                yield series


def _of_line(number: int, line: Line, system: StorageSystem, drawers: Sequence[DrawerType]) -> Iterator[TraySize]:
    for at, lot in enumerate(line.trays_to_move() or (), start=1):
        width, depth = lot.outer.width, lot.outer.depth
        if width is None or depth is None:  # the verdict rests on both, so this cannot be
            continue
        series = series_for(system, lot)
        yield TraySize(
            code=f"{number}-{at}",
            width_nm=width.largest_nm,
            depth_nm=depth.largest_nm,
            count=lot.count,
            label=(line.taxa or line.description)[:_LONGEST_LABEL],
            height_nm=_height_of_lot(lot, line, system, drawers),
            may_turn=series is None or series.may_turn,
        )


def _height_of_lot(lot: TrayLot, line: Line, system: StorageSystem, drawers: Sequence[DrawerType]) -> int | None:
    """What the tray with its pins wants under the lid: the usual air above the heads, or, where no drawer has it,
    just so much that they do not touch, which the fit check answers with a caution."""
    rim = _largest(lot.outer.height)
    if line.specimens == 0:
        return rim
    thickness = lot.bottom.thickness if lot.bottom else None
    head = _head(lot.base, thickness, line.pins)
    if rim is None or head is None:
        return None
    comfortable = max(rim, head + _air_gap_nm(system))
    clear = [drawer.clear_height_nm for drawer in drawers]
    fits = any(height is None or height >= comfortable for height in clear)
    return comfortable if fits else max(rim, head + 1)


def _head(base: Dimension | None, bottom: Dimension | None, pins: Pins) -> int | None:
    """How high the heads stand at the highest; ``None`` where that is not known for sure."""
    needed = (base, bottom, pins.length)
    if any(length is None or length.is_from_memory for length in needed):
        return None
    base_nm, bottom_nm, pin_nm = (length.largest_nm for length in needed if length is not None)
    depth_nm = pins.depth.smallest_nm if pins.depth is not None and not pins.depth.is_from_memory else 0
    return head_above_floor_nm(base_nm, bottom_nm, depth_nm, pin_nm)


def _air_gap_nm(system: StorageSystem) -> int:
    return figure(AIR_GAP).nm if system.lid_air_gap_nm is None else system.lid_air_gap_nm


def _largest(length: Dimension | None) -> int | None:
    return None if length is None or length.is_from_memory else length.largest_nm


_WHY_LEFT_OUT = {
    Verdict.AS_IT_IS: "The containers go straight in.",
    Verdict.RE_HOUSE: "Specimens are handled one by one; ask for a plan by taxa and specimen counts.",
    Verdict.HOLD: "A fact is missing; the fit check names it.",
}


def _left_out(answer: FitAnswer) -> Iterator[LeftOut]:
    for line in answer.lines:
        if line.verdict in _WHY_LEFT_OUT:
            yield LeftOut(line.line, _WHY_LEFT_OUT[line.verdict])


def _at_most_by_check(by_tray: Sequence[LineAnswer]) -> int | None:
    drawers = [line.needed.drawers for line in by_tray]
    known = [count for count in drawers if count is not None]
    return sum(known) if len(known) == len(drawers) else None


def _wanted(field: str, wanted: WantedTrays, wishes: Wishes, system: StorageSystem) -> TraySize:
    offer = TrayOffer(wanted.code, 1, wanted.width_nm, wanted.depth_nm, wanted.height_nm, wanted.may_turn)
    sized = _sized(field, offer, wishes, system)
    return TraySize(
        code=wanted.code,
        width_nm=sized.width_nm,
        depth_nm=sized.depth_nm,
        count=wanted.count,
        label=wanted.label or wanted.code,
        height_nm=sized.height_nm,
        may_turn=sized.may_turn,
        together=wanted.together,
        bottom_width_nm=sized.bottom_width_nm,
        bottom_depth_nm=sized.bottom_depth_nm,
    )


def _of_taxa(contents: Contents, wishes: Wishes, system: StorageSystem) -> TraysAsked:
    choices = [_sized(f"tray_choices.{at}", offer, wishes, system) for at, offer in enumerate(contents.offers)]
    codes = [taxon.taxon for taxon in contents.taxa]
    if twice := [code for code in codes if codes.count(code) > 1]:
        raise Invalid("taxa", f"“{twice[0]}” stands twice in the list; write it once, with all its specimens.")
    own_play = _own_play(system)
    play_nm = wishes.play_nm if wishes.play_nm is not None else own_play
    chosen = choose_trays(contents.taxa, choices, play_nm or 0)
    specimens = sum(taxon.specimens for taxon in contents.taxa)
    return TraysAsked(
        as_tray_sizes(chosen, together=contents.taxa_together),
        own_play,
        (*_about_heights(wishes), *_about_bottoms(choices)),
        new=True,
        specimens=specimens,
    )


def _sized(field: str, offer: TrayOffer, wishes: Wishes, system: StorageSystem) -> TrayChoice:
    """A tray with its sizes: as stated, and else as the storage system has them under this code."""
    choice, may_turn = offer, offer.may_turn
    bottom: tuple[int | None, int | None] = (None, None)
    if standard := _standard(offer.code, system):
        series, tray = standard
        choice = _filled_in(choice, tray, wishes, system)
        may_turn = series.may_turn if may_turn is None else may_turn
        bottom = _bottom_of(offer, tray)
    if choice.width_nm is None or choice.depth_nm is None:
        raise Invalid(f"{field}.code", f"State the width and depth of “{offer.code}”: no published tray gives them.")
    return TrayChoice(
        choice.code, choice.width_nm, choice.depth_nm, choice.holds, choice.height_nm, bool(may_turn), *bottom
    )


def _bottom_of(offer: TrayOffer, tray: TrayStandard) -> tuple[int | None, int | None]:
    """Width and depth of the published tray's pinning bottom; unknown where the asker has a size of their own."""
    if offer.width_nm is not None or offer.depth_nm is not None:
        return None, None
    sides = (tray.inner.width, tray.inner.depth)
    width_nm, depth_nm = (_largest(side) for side in sides)
    return (width_nm, depth_nm) if width_nm and depth_nm else (None, None)


def _standard(code: str, system: StorageSystem) -> tuple[TraySeries, TrayStandard] | None:
    every = ((series, tray) for series in system.tray_series for tray in series.trays)
    return next((found for found in every if found[1].code == code), None)


def _filled_in(offer: TrayOffer, tray: TrayStandard, wishes: Wishes, system: StorageSystem) -> TrayOffer:
    height_nm = offer.height_nm
    if height_nm is None:
        rim = _largest(tray.outer.height)
        head = _head(tray.base, tray.bottom.thickness if tray.bottom else None, wishes.pins)
        height_nm = rim if rim is None or head is None else max(rim, head + _air_gap_nm(system))
    return replace(
        offer,
        width_nm=_largest(tray.outer.width) if offer.width_nm is None else offer.width_nm,
        depth_nm=_largest(tray.outer.depth) if offer.depth_nm is None else offer.depth_nm,
        height_nm=height_nm,
    )


def _own_play(system: StorageSystem) -> int | None:
    plays = [series.play_nm for series in system.tray_series if series.play_nm is not None]
    return max(plays, default=None)


def _about_heights(wishes: Wishes) -> Iterator[str]:
    if wishes.pins.length is None:
        yield "No pins were stated: only the height of the trays was held against the lid, and not that of the pins."


def _about_bottoms(choices: Sequence[TrayChoice]) -> Iterator[str]:
    unknown = ", ".join(f"“{choice.code}”" for choice in choices if choice.bottom_width_nm is None)
    if unknown:
        yield f"The inner size of {unknown} is not known: the bottom sheet is reckoned by the outline, a little much."
