"""Columns of a sheet, the rows read by them, and the faults found on the way."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from service.formats.cells import write_cell

Request = dict[str, Any]
Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class BadCell:
    """One thing to mend. ``row`` is the number that the spreadsheet shows beside it; ``column`` its heading."""

    row: int
    column: str | None
    detail: str


class BadSheet(ValueError):
    """The sheet as a whole cannot be read; the faults say where and what would be right."""

    def __init__(self, *faults: BadCell) -> None:
        super().__init__("; ".join(fault.detail for fault in faults))
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Column:
    """A heading, the place in the request it fills, how its cells are read and written, and what to write there.

    ``attribute`` is the path in the thing itself, where that is not the path in the request; ``of`` finds a value
    that is no attribute.
    """

    heading: str
    path: tuple[str, ...]
    read: Callable[[str], Any]
    explained: str
    write: Callable[[Any], str] = write_cell
    attribute: tuple[str, ...] = ()
    of: Callable[[Any], Any] | None = None

    @property
    def place(self) -> tuple[str, ...]:
        """Where the value stands in the thing."""
        return self.attribute or self.path

    def holds(self, place: tuple[str, ...]) -> bool:
        """Whether this cell is, or is part of, or has within it what stands at a place of the request."""
        shorter = min(len(place), len(self.path))
        return self.path[:shorter] == place[:shorter]

    def value(self, thing: Any, above: int = 0) -> Any:
        """What a thing has for this column, if the thing itself stands ``above`` steps down the path."""
        if self.of is not None:
            return self.of(thing)
        for step in self.place[above:]:
            thing = None if thing is None else getattr(thing, step)
        return thing


@dataclass(slots=True)
class Row:
    """One thing as a request, with the way back to the cells it came from."""

    number: int
    columns: tuple[Column, ...]
    request: Request = field(default_factory=dict)
    faults: list[BadCell] = field(default_factory=list)
    numbers: dict[Path, int] = field(default_factory=dict)

    def cell(self, path: Path) -> tuple[int, str | None]:
        """The row number and heading behind a place in the request, even of a cell that was left empty."""
        place = tuple(step for step in path if isinstance(step, str))
        heading = next((column.heading for column in self.columns if column.holds(place)), None)
        inside = (self.numbers[path[:length]] for length in range(len(path), 0, -1) if path[:length] in self.numbers)
        return next(inside, self.number), heading if place else None
