"""A consignment as a spreadsheet: one row a line, the header below, any of the usual spreadsheet dialects.

What goes out comes in again. A sheet cannot say all that the JSON interface can, such as the readings behind a
length; ``write_sheet`` names what it left out.
"""

from collections.abc import Iterable
from dataclasses import fields, replace
from typing import Any

from service.core.consignment import Line
from service.core.identifiers import Identifier
from service.core.measure.dimension import Size, ToleranceClass
from service.formats.cells import (
    Unreadable,
    read_flag,
    read_length,
    read_list,
    read_number,
    read_text,
    read_whole,
    read_word,
    read_words,
    write_list,
    write_words,
)
from service.formats.sheet import MOST_ROWS, Sheet, Written
from service.formats.sheet_rows import BadCell, BadSheet, Column, Request, Row

__all__ = [
    "COLUMNS",
    "CONSIGNMENT",
    "MOST_ROWS",
    "BadCell",
    "BadSheet",
    "Row",
    "read_sheet",
    "write_sheet",
]


def _tolerance_class(cell: str) -> str:
    if cell.lower() not in list(ToleranceClass):
        raise Unreadable(f"“{cell}” is no general class of ISO 2768-1; write {' or '.join(ToleranceClass)}.")
    return cell.lower()


def _shared_class(line: Line) -> ToleranceClass | None:
    """The class that the maker works to, if it is one for all outer sizes that are known."""
    stated = {length.tolerance_class for length in _known(line.outer).values()}
    return stated.pop() if len(stated) == 1 else None


def _known(size: Size) -> dict[str, Any]:
    return {each.name: length for each in fields(size) if (length := getattr(size, each.name)) is not None}


def _without_shared_class(line: Line) -> Line:
    if _shared_class(line) is None:
        return line
    plain = {axis: replace(length, tolerance_class=None) for axis, length in _known(line.outer).items()}
    return replace(line, outer=Size(**plain))


def _state_class(request: Request) -> None:
    """One class for a row: the maker works to it on every outer size."""
    stated = request.pop("tolerance_class", None)
    outer = request.get("outer", {})
    if stated is not None:
        outer |= {axis: {"value": length, "tolerance_class": stated} for axis, length in outer.items()}


def _identifiers(cell: str) -> list[Request]:
    """Each as its scheme, a colon and its value. In no scheme's name stands a colon; a value may hold some."""
    if cell.lower() == "none":
        return []
    parted = [each.partition(":") for each in read_list(cell)]
    for scheme, colon, value in parted:
        if not (colon and scheme.strip() and value.strip()):
            raise Unreadable(f"“{scheme}” is no identifier; write scheme and value, such as our-lots:1902.17.")
    return [{"scheme": scheme.strip().lower(), "value": value.strip()} for scheme, _, value in parted]


def _write_identifiers(identifiers: Iterable[Identifier] | None) -> str:
    return "" if identifiers is None else write_list(f"{one.scheme}:{one.value}" for one in identifiers) or "none"


_SIZE = "millimetres, or a measure with its unit (16 1/2 in, 41.9 cm)"
COLUMNS = (
    Column(
        "container",
        ("container",),
        read_word,
        "drawer, unit_tray or storage_box; empty adds a tray size to the line above",
    ),
    Column("count", ("count",), read_whole, "how many like containers"),
    Column("description", ("description",), read_text, "anything that helps to find them"),
    Column("outer_width_mm", ("outer", "width"), read_length, f"outside, side to side: {_SIZE}"),
    Column("outer_depth_mm", ("outer", "depth"), read_length, "outside, front to back"),
    Column("outer_height_mm", ("outer", "height"), read_length, "outside, lid included"),
    Column(
        "tolerance_class",
        ("tolerance_class",),
        _tolerance_class,
        "of the outside: f, m, c or v (ISO 2768-1)",
        of=_shared_class,
    ),
    Column("inner_width_mm", ("inner", "width"), read_length, "inside, side to side"),
    Column("inner_depth_mm", ("inner", "depth"), read_length, "inside, front to back"),
    Column("inner_height_mm", ("inner", "height"), read_length, "inside, bare floor to the underside of the lid"),
    Column("base_mm", ("base",), read_length, "thickness of a unit tray's board"),
    Column("lining", ("lining", "material"), read_word, "pinning bottom: polyethylene_foam, cork, ..."),
    Column("lining_thickness_mm", ("lining", "thickness"), read_length, "its thickness"),
    Column("lining_glued_firmly", ("lining", "glued_firmly"), read_flag, "yes or no"),
    Column(
        "tray_count",
        ("trays", "count"),
        read_whole,
        "unit trays of this size in the whole line; 0 says there are none",
    ),
    Column("tray_width_mm", ("trays", "outer", "width"), read_length, "a tray outside, side to side"),
    Column("tray_depth_mm", ("trays", "outer", "depth"), read_length, "a tray outside, front to back"),
    Column("tray_height_mm", ("trays", "outer", "height"), read_length, "a tray outside, base to rim"),
    Column("tray_base_mm", ("trays", "base"), read_length, "thickness of its board"),
    Column("tray_bottom", ("trays", "bottom", "material"), read_word, "its pinning bottom"),
    Column("tray_bottom_thickness_mm", ("trays", "bottom", "thickness"), read_length, "its thickness"),
    Column("tray_bottom_glued_firmly", ("trays", "bottom", "glued_firmly"), read_flag, "yes or no"),
    Column("tray_specimens", ("trays", "specimens"), read_whole, "specimens in the trays of this size"),
    Column("pin_length_mm", ("pins", "length"), read_length, "the longest pin"),
    Column("pin_depth_mm", ("pins", "depth"), read_length, "how far pins go into the bottom"),
    Column("pin_metal", ("pins", "metal"), read_word, "stainless_steel, black_steel, brass, ..."),
    Column("wood", ("wood",), read_text, "what the containers are made of"),
    Column("sawing", ("sawing",), read_word, "how the boards were cut: flat or quarter"),
    Column("sender_temperature_c", ("sender_climate", "temperature_c"), read_number, "room they come from, in °C"),
    Column(
        "sender_humidity_percent",
        ("sender_climate", "relative_humidity_percent"),
        read_number,
        "relative humidity of that room",
    ),
    Column(
        "treatments_used",
        ("treatments_used",),
        read_words,
        "separated by commas; none when none were used",
        write_words,
    ),
    Column("closure", ("closure",), read_word, "flanged_lid, plain_lid, card_box or open"),
    Column("pest_signs", ("pest_signs",), read_word, "none_seen, old_damage or live"),
    Column("specimens", ("specimens",), read_whole, "specimens in the whole line"),
    Column("taxa", ("taxa",), read_text, "what they are"),
    Column("condition", ("condition",), read_text, "as seen"),
    Column(
        "identifiers",
        ("identifiers",),
        _identifiers,
        "what your own database calls the line, each as scheme:value, separated by semicolons; none when it has none",
        _write_identifiers,
    ),
)

CONSIGNMENT = Sheet(
    "consignment",
    COLUMNS,
    required=("container", "count"),
    begins="container",
    parts="trays",
    says_none=("tray_count", "0"),
    settle=_state_class,
    apart=_without_shared_class,
)


def read_sheet(data: bytes) -> list[Row]:
    """The lines of a sheet as requests.

    :raises BadSheet: when there is no row to speak of: not UTF-8, unknown headings, too long.
    """
    return CONSIGNMENT.read(data)


def write_sheet(lines: Iterable[Line]) -> Written:
    """The lines as a sheet, and what of them it does not say."""
    return CONSIGNMENT.write(lines)
