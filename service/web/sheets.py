"""Sheets (CSV) that are sent: every good row through its schema, and every bad cell by its row and heading."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import marshmallow
from marshmallow import ValidationError

from service.core.errors import Faults
from service.formats.sheet import BadCell, BadSheet, Row, Sheet
from service.web.kit.problems import Fault, Refusal, faults_in, invalid


def headings_of(*sheets: Sheet) -> str:
    """The header of a sheet, or of each of several, for the contract: what to write under which heading."""
    return "\n\n".join(map(_header, sheets))


def _header(sheet: Sheet) -> str:
    wanted = dict.fromkeys(sheet.required, " (required)")
    told = (f"- `{each.heading}`{wanted.get(each.heading, '')}: {each.explained}" for each in sheet.columns)
    return f"The headings of a sheet of {sheet.kind}, in any order:\n\n" + "\n".join(told)


def rows_of(read: Callable[[bytes], list[Row]], upload: bytes) -> list[Row]:
    """:raises Refusal: 422 when there is no row to speak of."""
    try:
        return read(upload)
    except BadSheet as error:
        raise invalid(map(as_fault, error.faults)) from error


def loaded(rows: Iterable[Row], schema: marshmallow.Schema) -> list[Any]:
    """What the rows say.

    :raises Refusal: 422, naming every bad cell.
    """
    things, faults = judged(rows, schema)
    if faults:
        raise invalid(map(as_fault, faults))
    return things


def judged(rows: Iterable[Row], schema: marshmallow.Schema) -> tuple[list[Any], list[BadCell]]:
    """What the good rows say, and every bad cell of the others; one that could not be read is told once."""
    things: list[Any] = []
    refused: list[BadCell] = []
    for row in rows:
        faults = list(row.faults)
        try:
            thing = schema.load(row.request)
        except ValidationError as error:
            unread = {(fault.row, fault.column) for fault in faults}
            told = (
                BadCell(*row.cell(_path(fault.at)), fault.detail) for fault in faults_in(error.messages, "pointer")
            )
            faults += [cell for cell in told if (cell.row, cell.column) not in unread]
        if faults:
            refused += faults
        else:
            things.append(thing)
    return things, refused


def told_by_cell(rows: Sequence[Row], act: Callable[[], Any]) -> Any:
    """Do something with what some rows say, and tell its faults (pointers ``/rows/0/column``) by their cells.

    :raises Refusal: 422, naming every bad cell.
    """
    try:
        return act()
    except Faults as error:
        raise _by_cell(rows, error) from error


def _by_cell(rows: Sequence[Row], error: Faults) -> Refusal:
    cells: list[BadCell] = []
    for fault in error.faults:
        number, *path = _path(fault.pointer.removeprefix("/rows"))
        row = rows[int(number)]
        cells.append(BadCell(*row.cell(tuple(path)), fault.detail))
    return invalid(map(as_fault, cells))


def _path(pointer: str) -> tuple[str | int, ...]:
    return tuple(int(step) if step.isdigit() else step for step in pointer.split("/")[1:])


def as_fault(cell: BadCell) -> Fault:
    """A bad cell as a problem tells it."""
    where = f"row {cell.row}" + (f", column {cell.column}" if cell.column else "")
    return Fault(where, cell.detail, "cell")
