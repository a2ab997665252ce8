"""A donor's spreadsheet, as spreadsheets really are."""

import pytest

from service.formats.consignment_csv import BadSheet, read_sheet

SHEET = """container,count,outer_width_mm,outer_depth_mm,tray_count,tray_width_mm,treatments_used,lining_glued_firmly
drawer,60,18 in,457.2,600,45.5,"naphthalene, Dichlorvos",yes
,,,,120,91,,
storage box,4,330.2,,0,,none,
"""


def requests(text: str) -> list[dict]:
    return [row.request for row in read_sheet(text.encode())]


def test_a_row_becomes_the_request_that_the_json_interface_takes():
    drawers, boxes = requests(SHEET)
    assert drawers == {
        "container": "drawer",
        "count": 60,
        "outer": {"width": "18 in", "depth": 457.2},
        "treatments_used": ["naphthalene", "dichlorvos"],
        "lining": {"glued_firmly": True},
        "trays": [{"count": 600, "outer": {"width": 45.5}}, {"count": 120, "outer": {"width": 91.0}}],
    }
    assert boxes["container"] == "storage_box"


def test_no_trays_and_nobody_said_are_two_different_things():
    _, boxes = requests(SHEET)
    assert boxes["trays"] == []
    assert "trays" not in requests("container,count\ndrawer,1\n")[0]
    assert boxes["treatments_used"] == []


@pytest.mark.parametrize(
    "dialect", [lambda s: "\ufeff" + s, lambda s: s.replace("\n", "\r\n"), lambda s: s + "\n,,,\n"]
)
def test_spreadsheet_dialects_read_the_same(dialect):
    assert requests(dialect(SHEET)) == requests(SHEET)


def test_semicolons_and_decimal_commas_read_the_same():
    assert requests("container;count;outer_width_mm\ndrawer;2;419,1\n") == [
        {"container": "drawer", "count": 2, "outer": {"width": 419.1}}
    ]


def test_a_cell_that_cannot_be_read_is_named_with_row_and_heading():
    (row,) = read_sheet(b"container,count,lining_glued_firmly\ndrawer,sixty,perhaps\n")
    assert [(fault.row, fault.column) for fault in row.faults] == [(2, "count"), (2, "lining_glued_firmly")]
    assert "whole number" in row.faults[0].detail


def test_a_fault_in_the_request_leads_back_to_its_cell():
    drawers, boxes = read_sheet(SHEET.encode())
    assert drawers.cell(("outer", "width")) == (2, "outer_width_mm")
    assert drawers.cell(("trays", 1, "outer", "width")) == (3, "tray_width_mm")
    assert drawers.cell(("trays", 1, "outer", "depth")) == (3, "tray_depth_mm")
    assert boxes.cell(("count",)) == (4, "count")
    assert boxes.cell(()) == (4, None)


@pytest.mark.parametrize(
    ("sheet", "detail"),
    [
        (b"", "empty"),
        (b"container,count,colour\ndrawer,1,red\n", "no column “colour”"),
        (b"container,count,count\ndrawer,1,1\n", "stands twice"),
        (b"count\n1\n", "“container” is missing"),
        ("container,count,wood\ndrawer,1,Esche\xfc\n".encode("latin-1"), "UTF-8"),
        (b"PK\x03\x04\0\0", "null bytes"),
        (b"container,count\n" + b"drawer,1\n" * 5_001, "5,000 rows"),
    ],
)
def test_a_sheet_that_cannot_be_read_says_what_would_be_right(sheet, detail):
    with pytest.raises(BadSheet, match=detail):
        read_sheet(sheet)


def test_cells_beyond_the_headings_are_not_dropped_in_silence():
    (row,) = read_sheet(b"container,count\ndrawer,1,surplus\n")
    assert "more cells" in row.faults[0].detail


def test_the_room_that_drawers_come_from_and_the_class_of_their_maker_have_columns():
    (request,) = requests(
        "container,count,outer_width_mm,outer_depth_mm,tolerance_class,sawing,sender_temperature_c,"
        'sender_humidity_percent\ndrawer,1,18 in,400,M,flat,20,"42,5"\n'
    )
    assert request["outer"] == {
        "width": {"value": "18 in", "tolerance_class": "m"},
        "depth": {"value": 400.0, "tolerance_class": "m"},
    }
    assert request["sender_climate"] == {"temperature_c": 20.0, "relative_humidity_percent": 42.5}
    assert request["sawing"] == "flat"


def test_a_fault_inside_a_cell_that_became_an_object_leads_back_to_it():
    (row,) = read_sheet(b"container,count,outer_width_mm,tolerance_class\ndrawer,1,18 lb,f\n")
    assert row.cell(("outer", "width", "value")) == (2, "outer_width_mm")
    (row,) = read_sheet(b"container,count,tolerance_class,sender_temperature_c\ndrawer,1,x,warm\n")
    assert [fault.column for fault in row.faults] == ["tolerance_class", "sender_temperature_c"]
