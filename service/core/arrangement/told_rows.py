"""What the rows of an inventory say of each thing, row by row, and where two of them contradict each other."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from service.core.arrangement.inventory_row import InventoryRow
from service.core.errors import Fault

#: Which columns of a row say something of which thing: the column that names it, and the names of the others there.
_ROOM: Final = {"room_name": "name"}
_CABINET: Final = {
    "room": "room", "cabinet_name": "name", "columns": "column_count", "positions_per_column": "positions_per_column",
    "takes": "takes", "opening_width_nm": "opening_width_nm", "pitch_nm": "pitch_nm",
}  # fmt: skip
_DRAWER: Final = {
    "cabinet": "cabinet", "position": "position", "positions": "positions", "drawer_label": "label", "style": "style",
    "inner_width_nm": "inner_width_nm", "inner_depth_nm": "inner_depth_nm", "clear_height_nm": "clear_height_nm",
    "reserve_percent": "reserve_percent",
}  # fmt: skip
_TRAY: Final = {
    "drawer": "drawer", "place": "place", "taxon": "taxon", "specimens": "specimens",
    "curation_level": "curation_level", "label": "label", "width_nm": "width_nm", "depth_nm": "depth_nm",
    "height_nm": "height_nm",
}  # fmt: skip
OF_THINGS: Final[Mapping[str, Mapping[str, str]]] = {
    "room": _ROOM, "cabinet": _CABINET, "drawer": _DRAWER, "tray": _TRAY,
}  # fmt: skip


@dataclass
class Told:
    """Things of one kind, by their codes: what is said of each, and the first row that names it."""

    kind: str
    said: dict[str, dict[str, Any]] = field(default_factory=dict)
    row: dict[str, int] = field(default_factory=dict)

    def hear(self, number: int, row: InventoryRow) -> Iterator[Fault]:
        """Take in one row; a fault where it contradicts an earlier one."""
        code = getattr(row, self.kind)
        if code is None:
            yield from self._nothing_to_say_it_of(number, row)
            return
        if self.kind == "tray" and code in self.said:
            yield Fault(at(number, "tray"), f"Tray {code} is in row {self.row[code] + 1} already.")
        here = self.said.setdefault(code, {})
        self.row.setdefault(code, number)
        for column, name in OF_THINGS[self.kind].items():
            value = getattr(row, column)
            if value is not None and here.setdefault(name, value) != value:
                yield Fault(
                    at(number, column), f"Row {self.row[code] + 1} says otherwise of the same {self.kind} {code}."
                )

    def _nothing_to_say_it_of(self, number: int, row: InventoryRow) -> Iterator[Fault]:
        own = [column for column in OF_THINGS[self.kind] if column not in OF_THINGS]
        for column in own:
            if getattr(row, column) is not None:
                yield Fault(at(number, column), f"The row names no {self.kind} that this could be said of.")


def at(number: int, column: str) -> str:
    """Where a column of a row stands in the request."""
    written = column.removesuffix("_nm") + "_mm" if column.endswith("_nm") else column
    return f"/rows/{number}/{written}"


def hear_all(rows: Sequence[InventoryRow]) -> tuple[dict[str, Told], list[Fault]]:
    """All that some rows say, by kind of thing, and every contradiction among them."""
    told = {kind: Told(kind) for kind in OF_THINGS}
    faults = [fault for number, row in enumerate(rows) for each in told.values() for fault in each.hear(number, row)]
    return told, faults
