"""From rows as people write them to an inventory, without any database: what stands where is what the rows say."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.core.arrangement.inventory import (
    Cabinet,
    CurationLevel,
    Drawer,
    DrawerStyle,
    Inventory,
    Room,
    SystematicSequence,
    Tray,
)
from service.core.arrangement.inventory_row import InventoryRow
from service.core.arrangement.order import alphabetical
from service.core.arrangement.rules import ArrangementRules
from service.core.arrangement.told_rows import Told, at, hear_all
from service.core.errors import Fault, Faults

Said = Mapping[str, Any]


def inventory_of(rows: Sequence[InventoryRow], rules: ArrangementRules, sequence: SystematicSequence) -> Inventory:
    """The inventory that some rows tell of; rooms and cabinets are read in the order in which they are told of.

    :raises Faults: naming every row and column where something is missing or contradictory (``/rows/0/column``).
    """
    told, faults = hear_all(rows)
    faults += _missing(told)
    if faults:
        raise Faults(tuple(faults))
    trays = tuple(_trays(told["tray"]))
    return Inventory(
        cabinets=tuple(_cabinet(code, said) for code, said in told["cabinet"].said.items()),
        drawers=tuple(_drawer(code, said) for code, said in told["drawer"].said.items()),
        trays=trays,
        sequence=alphabetical(tray.taxon for tray in trays if tray.taxon) if rules.alphabetical else sequence,
        rooms=tuple(Room(code, said.get("name", code)) for code, said in told["room"].said.items()),
        reading_order=rules.reading_order,
        reserve_percent=rules.reserve_percent or Inventory.reserve_percent,
        play_nm=rules.play_nm,
        rates=rules.rates,
    )


_NEEDED: Mapping[str, Sequence[str]] = {
    "cabinet": ("positions_per_column",),
    "drawer": ("style", "inner_width_nm", "inner_depth_nm"),
    "tray": ("width_nm", "depth_nm"),
}
_WITHIN: Mapping[str, str] = {"drawer": "cabinet", "tray": "drawer"}


def _missing(told: Mapping[str, Told]) -> Iterator[Fault]:
    for kind, needed in _NEEDED.items():
        for code, said in told[kind].said.items():
            row = told[kind].row[code]
            yield from (Fault(at(row, name), f"A {kind} needs this.") for name in needed if name not in said)
            within = _WITHIN.get(kind)
            if within and within in said and said[within] not in told[within].said:
                yield Fault(at(row, within), f"No row tells of a {within} {said[within]}.")


def _cabinet(code: str, said: Said) -> Cabinet:
    return Cabinet(
        code, said.get("name", code), said.get("room", ""), said["positions_per_column"], said.get("column_count", 1),
        said.get("takes", ()), said.get("opening_width_nm"), said.get("pitch_nm"),
    )  # fmt: skip


def _drawer(code: str, said: Said) -> Drawer:
    style = DrawerStyle(
        said["style"], said["inner_width_nm"], said["inner_depth_nm"], said.get("clear_height_nm"),
        said.get("positions", 1),
    )  # fmt: skip
    return Drawer(code, code, style, said.get("cabinet"), said.get("position"), said.get("reserve_percent"))


def _trays(told: Told) -> Iterator[Tray]:
    """Trays without a place follow those of their drawer, in the order of the rows."""
    last: dict[str, int] = {}
    for code, said in told.said.items():
        drawer, level = said.get("drawer"), said.get("curation_level")
        place = None
        if drawer is not None:
            place = said.get("place", last.get(drawer, 0) + 1)
            last[drawer] = max(last.get(drawer, 0), place)
        yield Tray(
            code, said.get("taxon", ""), said["width_nm"], said["depth_nm"], said.get("specimens"),
            None if level is None else CurationLevel(level), said.get("label", ""), said.get("height_nm"),
            drawer, place,
        )  # fmt: skip
