"""What was read of an archive, and what was odd about it. Nothing odd is put right in silence."""

from collections import Counter
from dataclasses import dataclass, field

#: Rows named beside an oddity; the count tells of the others.
_NAMED_ROWS = 5


class BadArchive(ValueError):
    """The archive cannot be read at all, or asks for more than is taken; the message says what would be right."""


@dataclass(slots=True)
class Oddity:
    """One kind of thing that is not as it should be. ``rows`` are the first of them, counted from the first line of
    the file; ``detail`` speaks about the first.
    """

    kind: str
    file: str
    detail: str
    count: int = 0
    rows: list[int] = field(default_factory=list)


@dataclass(slots=True)
class TableReport:
    """``filled`` counts for each term the records that say something."""

    file: str
    row_type: str
    encoding: str
    records: int = 0
    filled: Counter[str] = field(default_factory=Counter)


@dataclass(slots=True)
class Report:
    """Complete only when all records have been taken."""

    tables: list[TableReport] = field(default_factory=list)
    oddities: dict[tuple[str, str], Oddity] = field(default_factory=dict)

    @property
    def records(self) -> int:
        """The records of the core."""
        return self.tables[0].records if self.tables else 0

    def odd(self, kind: str, file: str, detail: str, row: int | None = None) -> None:
        """Note something odd, together with others of its kind in that file."""
        found = self.oddities.setdefault((kind, file), Oddity(kind, file, detail))
        found.count += 1
        if row is not None and len(found.rows) < _NAMED_ROWS:
            found.rows.append(row)

    def kinds(self) -> dict[str, int]:
        """How often each kind was met, over all files."""
        counted: Counter[str] = Counter()
        for oddity in self.oddities.values():
            counted[oddity.kind] += oddity.count
        return dict(counted)
