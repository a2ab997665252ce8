"""What goes out as a spreadsheet comes in again, whatever programs it has been through."""

import csv
import io
import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_strategies import CABINET, DRAWER, LOT, SERIES, TEXT, TRANSFER_LINE, consignment_lines

from service.core.consignment import Container, Line
from service.core.identifiers import Identifier
from service.core.lots import Lot, OnLoan
from service.core.measure.dimension import Dimension, Size, ToleranceClass
from service.core.standards import Axis
from service.core.transfers.lines import Line as TransferLine
from service.formats.cabinets_csv import CABINETS
from service.formats.cells import harmless, meant
from service.formats.consignment_csv import CONSIGNMENT, read_sheet, write_sheet
from service.formats.drawers_csv import DRAWERS
from service.formats.lots_csv import LOTS, read_lots, write_lots
from service.formats.transfer_lines_csv import STANDING, TRANSFER_LINES, read_lines, write_lines
from service.formats.trays_csv import TRAYS
from service.web.schemas.consignment import LineSchema
from service.web.schemas.standards import CabinetSchema, DrawerStandardSchema, TraySeriesSchema

ALL = (CONSIGNMENT, CABINETS, DRAWERS, TRAYS, TRANSFER_LINES, LOTS)
quick = settings(max_examples=60, deadline=None)


def through_excel_in_german(text: str) -> bytes:
    """A byte-order mark, and semicolons between cells."""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=";").writerows(csv.reader(io.StringIO(text, newline="")))
    return out.getvalue().encode("utf-8-sig")


def as_it_is(text: str) -> bytes:
    return text.encode()


def as_unicode_text(text: str) -> bytes:
    """Tabs, in UTF-16."""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter="\t").writerows(csv.reader(io.StringIO(text, newline="")))
    return out.getvalue().encode("utf-16")


WAYS = st.sampled_from([as_it_is, through_excel_in_german, as_unicode_text])


def loaded(schema: Any, rows: list) -> list:
    assert not any(row.faults for row in rows)
    return [schema.load(row.request) for row in rows]


@quick
@given(st.lists(consignment_lines(), max_size=4), WAYS)
def test_a_consignment_comes_in_as_it_went_out(lines, way):
    written = write_sheet(lines)
    assert written.left_out == ()
    assert loaded(LineSchema(), read_sheet(way(written.text))) == lines


@quick
@given(st.lists(CABINET, max_size=3), WAYS)
def test_cabinets_come_in_as_they_went_out(cabinets, way):
    written = CABINETS.write(cabinets)
    assert written.left_out == ()
    assert loaded(CabinetSchema(), CABINETS.read(way(written.text))) == cabinets


@quick
@given(st.lists(DRAWER, max_size=3), WAYS)
def test_drawers_come_in_as_they_went_out(drawers, way):
    written = DRAWERS.write(drawers)
    assert written.left_out == ()
    assert loaded(DrawerStandardSchema(), DRAWERS.read(way(written.text))) == drawers


@quick
@given(st.lists(SERIES, max_size=3), WAYS)
def test_tray_series_come_in_as_they_went_out(series, way):
    written = TRAYS.write(series)
    assert written.left_out == ()
    assert loaded(TraySeriesSchema(), TRAYS.read(way(written.text))) == series


def _line_as_read(request: dict[str, Any]) -> TransferLine:
    lists = {name: tuple(request.get(name, ())) for name in ("groups", "catalogue_numbers", "identifiers")}
    return TransferLine(**request | lists)


@quick
@given(st.lists(TRANSFER_LINE, max_size=4), WAYS)
def test_transfer_lines_come_in_as_they_went_out(lines, way):
    text = write_lines(lines, STANDING, [range(9) for _ in lines])
    rows = read_lines(way(text))
    assert [_line_as_read(row.request) for row in rows] == lines


@quick
@given(st.lists(LOT, max_size=4), WAYS)
def test_lots_come_in_as_they_went_out(lots, way):
    written = write_lots(lots)
    assert written.left_out == ()
    requests = [row.request for row in read_lots(way(written.text))]
    assert [Lot(**request | {"line": _line_as_read(request["line"])}) for request in requests] == lots


@given(TEXT)
def test_no_cell_begins_as_a_formula_does_and_none_is_changed_for_good(text):
    # The characters are those of OWASP's page on CSV injection.
    assert harmless(text)[0] not in "=@\t\r"
    assert meant(harmless(text)) == text


@given(st.text(st.sampled_from("=+-@＝ab1 ';,\"\t\r\n"), max_size=12), st.sampled_from(",;\t"))
def test_a_program_that_parts_cells_otherwise_finds_no_formula_either(text, delimiter):
    sheet = io.StringIO(newline="")
    csv.writer(sheet).writerow(["drawer", harmless(text), harmless(text)])
    found = csv.reader(io.StringIO(sheet.getvalue(), newline=""), delimiter=delimiter)
    begun = {cell.lstrip(" ")[:1] for row in found for cell in row if not re.fullmatch("[+-][0-9]+(,.*)?", cell)}
    assert not begun & set("=+-@＝")
    assert meant(harmless(text.strip())) == text.strip()


@pytest.mark.parametrize("number", ["-5", "-5.25", "+3", "18,5"])
def test_a_number_stays_a_number(number):
    assert harmless(number) == number


def test_what_a_sheet_cannot_say_is_named_by_row_and_field():
    measured = Dimension.measured((450_000_000, 451_000_000))
    classes = Size(Dimension(1, tolerance_class=ToleranceClass.FINE), Dimension(2))
    lines = [
        replace(Line(Container.DRAWER, 1), inner=Size(width=measured), along_grain=(Axis.WIDTH,)),
        replace(Line(Container.DRAWER, 1), outer=classes),
        replace(Line(Container.DRAWER, 1), identifiers=(Identifier("our-lots", "a;b"),)),
    ]
    assert write_sheet(lines).left_out == (
        (2, "inner.width"), (2, "along_grain"), (3, "outer.width"), (4, "identifiers"),
    )  # fmt: skip
    lot = Lot(TransferLine("1", 1, "Aus", catalogue_numbers=("a;b",)), loan=OnLoan("L1"), told=(("sex", "female"),))
    assert [where for _, where in write_lots([lot]).left_out] == ["line.catalogue_numbers", "loan", "told"]


@pytest.mark.parametrize("sheet", ALL, ids=lambda sheet: sheet.kind)
def test_every_heading_is_there_once_and_explained(sheet):
    assert len(sheet.headings) == len(sheet.columns)
    assert all(column.explained for column in sheet.columns)
    assert set(sheet.required) <= set(sheet.headings)


def test_the_separator_may_be_named_in_a_line_of_its_own_and_rows_keep_their_numbers():
    (row,) = read_sheet(b"sep=;\r\ncontainer;count\r\ndrawer;many\r\n")
    assert [(fault.row, fault.column) for fault in row.faults] == [(3, "count")]


def test_a_file_for_spreadsheet_programs_begins_with_the_mark_of_utf_8():
    assert write_sheet([]).for_spreadsheets.startswith(b"\xef\xbb\xbfcontainer,count,")
