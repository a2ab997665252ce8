"""What the housing costs, at the receiver's own rates. What is not known is left open, and said to be."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from decimal import ROUND_HALF_UP, Decimal

from service.core.fit.answer import Cost, CostItem, LineAnswer, Needed
from service.core.fit.needed import wanted_in_all
from service.core.handbook import figure
from service.core.standards import CostRates

SPECIMENS_PER_HOUR = "labour.specimens_moved_per_hour"
_HUNDREDTH = Decimal("0.01")
_MM2_PER_M2 = 1_000_000


@dataclass(frozen=True, slots=True)
class Total:
    """One need summed over the lines: as far as it is known, and the lines of which it is not."""

    known: int | None
    unknown_lines: tuple[int, ...]


def needed_in_all(lines: Sequence[LineAnswer]) -> Needed:
    """Each need summed over the lines of which it is known."""
    return Needed(
        **{each.name: wanted_in_all([getattr(line.needed, each.name) for line in lines]) for each in fields(Needed)}
    )


def cost_of(lines: Sequence[LineAnswer], rates: CostRates) -> Cost:
    """Material, positions and work, item by item; the amounts add up to the total to the cent."""
    items = (
        _item("drawers", _total(lines, "drawers"), "drawer", rates.drawer),
        _item("unit trays", _total(lines, "trays"), "tray", rates.tray),
        _item("bottom sheet", _total(lines, "bottom_sheet_mm2"), "m²", rates.bottom_sheet_per_m2, per=_MM2_PER_M2),
        _item("cabinet positions", _total(lines, "cabinet_positions"), "position", rates.cabinet_position),
    )
    work = (
        _work("placing containers", _total(lines, "drawers_placed"), rates.drawers_placed_per_h, rates.person_hour),
        _work("moving trays", _total(lines, "trays_moved"), rates.trays_moved_per_h, rates.person_hour),
        _moving_specimens(_total(lines, "specimens_moved"), rates),
    )
    amounts = [item.amount for item in (*items, *work) if item.amount is not None]
    hours = [item.quantity for item in work if item.quantity is not None]
    complete = len(amounts) == len(items) + len(work) and not any(_open_needs(line) for line in lines)
    return Cost(
        items=(*items, *work),
        person_hours=sum(hours, Decimal(0)) if hours else None,
        total=sum(amounts, Decimal("0.00")),
        complete=complete,
        currency=rates.currency,
    )


def _total(lines: Sequence[LineAnswer], need: str) -> Total:
    needs = [getattr(line.needed, need) for line in lines]
    unknown = tuple(line.line for line, wanted in zip(lines, needs, strict=True) if wanted is None)
    return Total(wanted_in_all(needs), unknown)


def _open_needs(line: LineAnswer) -> bool:
    return any(getattr(line.needed, each.name) is None for each in fields(Needed))


def _item(
    what: str,
    total: Total,
    unit: str,
    rate: Decimal | None,
    *,
    per: int = 1,
    note: str | None = None,
    quantity_of: Callable[[int], Decimal] | None = None,
) -> CostItem:
    """One row. Nothing costs nothing, whatever the rate; a need that is only partly known says so."""
    quantity = None
    if total.known is not None:
        quantity = quantity_of(total.known) if quantity_of else Decimal(total.known) / per
    amount = None
    if quantity is not None and (rate is not None or quantity == 0):
        amount = cents(quantity * (rate or 0))
    unrated = "No rate is published for it." if rate is None and quantity != 0 else None
    notes = [part for part in (note, unrated, _partly(total)) if part]
    return CostItem(what, quantity, unit, rate, amount, " ".join(notes) or None)


def _partly(total: Total) -> str | None:
    if not total.unknown_lines:
        return None
    return f"Not known, and not counted, for {lines_named(total.unknown_lines)}."


def lines_named(numbers: Sequence[int]) -> str:
    """Some lines of the consignment, as a sentence names them: ``line 4``, ``lines 1, 2 and 4``."""
    *others, last = map(str, numbers)
    return f"lines {', '.join(others)} and {last}" if others else f"line {last}"


def _work(what: str, total: Total, pace: Decimal | None, rate: Decimal | None, note: str | None = None) -> CostItem:
    """Hours of work, to the hundredth, at the pace of so many an hour."""
    if pace is None or pace <= 0:
        if total.known == 0:
            return _item(what, total, "person-hour", rate, note=note)
        return CostItem(what, None, "person-hour", rate, None, "No pace is published for it.")
    return _item(what, total, "person-hour", rate, note=note, quantity_of=lambda count: cents(Decimal(count) / pace))


def _moving_specimens(total: Total, rates: CostRates) -> CostItem:
    """The one kind of work of which anybody has published a pace."""
    own, published = rates.specimens_moved_per_h, figure(SPECIMENS_PER_HOUR)
    note = None
    if own is None and total.known != 0:
        note = f"At {published.value} specimens an hour, one job at one museum ({published.source})."
    return _work("moving specimens", total, published.value if own is None else own, rates.person_hour, note)


def cents(amount: Decimal) -> Decimal:
    """Rounded to the hundredth, halves up, as an invoice is."""
    return amount.quantize(_HUNDREDTH, ROUND_HALF_UP)
