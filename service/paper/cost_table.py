"""What housing takes and what it costs, as the plain text of a fit check tells it."""

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import fields
from decimal import Decimal

from tabulate import tabulate

from service.core.fit.answer import Cost, CostItem, LineAnswer, Needed
from service.core.fit.cost import lines_named
from service.paper.text_table import cell, on_the_point, titled, wrapped
from service.paper.wording import UNKNOWN, printable

_CENT = Decimal("0.01")
_SQUARE_MM_PER_SQUARE_M = 1_000_000


def needed_table(needed: Needed, lines: Sequence[LineAnswer] = ()) -> str:
    """What housing takes in all, and the lines of which nobody can say yet what they take."""
    rows = [
        ["drawers to find", _drawers(needed)],
        ["new unit trays", _count(needed.trays)],
        ["unit trays to move over", _count(needed.trays_moved)],
        ["specimens to move one by one", _count(needed.specimens_moved)],
        ["containers that go straight in", _count(needed.drawers_placed)],
        ["cabinet positions taken", _count(needed.cabinet_positions)],
        ["new pinning bottom", _square_metres(needed.bottom_sheet_mm2)],
    ]
    table = "What housing takes\n" + textwrap.indent(tabulate(rows, tablefmt="plain", disable_numparse=True), "  ")
    return "\n".join([table, *(wrapped(f"  {note}", 2) for note in _left_out(lines))])


def _left_out(lines: Sequence[LineAnswer]) -> Iterator[str]:
    open_ones = [
        line.line for line in lines if any(getattr(line.needed, need.name) is None for need in fields(Needed))
    ]
    if open_ones:
        yield f"Not all of it is known for {lines_named(open_ones)}, and what is unknown is not in these figures."


def _drawers(needed: Needed) -> str:
    if needed.drawers is None:
        least = needed.drawers_at_least
        return UNKNOWN if least is None else f"{UNKNOWN}, at least {least:,}"
    if needed.drawers_at_least is not None and needed.drawers_at_least < needed.drawers:
        return f"{needed.drawers_at_least:,} to {needed.drawers:,}"
    return f"{needed.drawers:,}"


def _count(number: int | None) -> str:
    return UNKNOWN if number is None else f"{number:,}"


def _square_metres(mm2: int | None) -> str:
    return UNKNOWN if mm2 is None else f"{Decimal(mm2) / _SQUARE_MM_PER_SQUARE_M:,.2f} m2"


def cost_table(cost: Cost) -> str:
    """The cost item by item at the receiver's own rates, and what the total leaves out."""
    if not cost.items:
        return "Cost\n  nothing to pay for" if cost.complete else "Cost\n  unknown: no rates are published"
    rows = [_cost_row(item) for item in cost.items]
    for column in (1, 3, 4):
        for row, figure in zip(rows, on_the_point([row[column] for row in rows]), strict=True):
            row[column] = figure
    # The total lines up under the amounts and not on their decimal point, since "at least" goes before it.
    rows.append(["total", "", "", "", _total(cost)])
    headers = ["", "Quantity", "Unit", "Rate", f"Amount {printable(cost.currency or '')}".rstrip()]
    table = titled("Cost", rows, headers, ("left", "right", "left", "right", "right"))
    return "\n".join([table, *(wrapped(f"  {note}", 2) for note in _cost_notes(cost))])


def _cost_row(item: CostItem) -> list[str]:
    return [
        cell(printable(item.what), 28),
        _quantity(item.quantity),
        cell(printable(item.unit), 12),
        _money(item.rate),
        _money(item.amount),
    ]


def _quantity(quantity: Decimal | None) -> str:
    return UNKNOWN if quantity is None else f"{quantity:,.2f}".removesuffix(".00")


def _money(amount: Decimal | None) -> str:
    return UNKNOWN if amount is None else f"{amount:,.2f}"


def _total(cost: Cost) -> str:
    return _money(cost.total) if cost.complete else f"at least {_money(cost.total)}"


def _cost_notes(cost: Cost) -> Iterator[str]:
    yield from _item_notes(cost.items)
    hours = UNKNOWN if cost.person_hours is None else _quantity(cost.person_hours)
    yield f"Person-hours in all: {hours}."
    if not cost.complete:
        yield "The total leaves out every amount that is unknown."
    shown = sum((item.amount.quantize(_CENT) for item in cost.items if item.amount is not None), Decimal(0))
    if shown != cost.total.quantize(_CENT):
        yield "Each amount is rounded to a hundredth; the total is of the exact amounts."


def _item_notes(items: Sequence[CostItem]) -> Iterator[str]:
    """What is to be said of single items; what is to be said of several is said once."""
    for note in dict.fromkeys(item.note for item in items if item.note):
        noted = [printable(item.what) for item in items if item.note == note]
        whose = "every item" if len(noted) == len(items) > 1 else ", ".join(noted)
        yield f"{whose}: {printable(note)}"
