"""Where the rows of extensions wait for their core record, on disk: an archive may be larger than memory."""

import json
import sqlite3
from collections.abc import Iterator

_TABLES = """
CREATE TABLE waiting (key TEXT NOT NULL, kind INTEGER NOT NULL, number INTEGER NOT NULL, said TEXT NOT NULL);
CREATE INDEX waiting_by_key ON waiting (key, kind, number);
CREATE TABLE seen (key TEXT PRIMARY KEY) WITHOUT ROWID;
"""


class Shelf:
    """A file that the system removes by itself. ``kind`` is the position of the extension in the descriptor."""

    def __init__(self) -> None:
        # An empty name is a private file on disk that is gone when the connection is.
        self._kept = sqlite3.connect("", isolation_level=None)
        self._kept.executescript("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;" + _TABLES + "BEGIN")

    def put(self, kind: int, key: str, number: int, said: dict[str, str]) -> None:
        self._kept.execute("INSERT INTO waiting VALUES (?, ?, ?, ?)", (key, kind, number, json.dumps(said)))

    def is_new(self, key: str) -> bool:
        """Whether no core record had this identifier before."""
        return self._kept.execute("INSERT OR IGNORE INTO seen VALUES (?)", (key,)).rowcount == 1

    def of(self, key: str) -> Iterator[tuple[int, dict[str, str]]]:
        """The extension rows of a core record, by extension and in the order of their file."""
        found = self._kept.execute("SELECT kind, said FROM waiting WHERE key = ? ORDER BY kind, number", (key,))
        return ((kind, json.loads(said)) for kind, said in found)

    def orphans(self) -> Iterator[tuple[int, int]]:
        """The extension and row number of each row whose core record never came."""
        yield from self._kept.execute(
            "SELECT kind, number FROM waiting WHERE key NOT IN (SELECT key FROM seen) ORDER BY kind, number"
        )

    def close(self) -> None:
        self._kept.close()
