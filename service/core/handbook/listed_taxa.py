"""Insects that stand in the CITES Appendices, and letters that countries want with some insects.

The list is of one day and from memory in part; it says where to look, never what is allowed.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import Any

from service.core.handbook.entries import HandbookFault
from service.core.handbook.loader import Row, refuse_strangers, required, table
from service.core.measure.dimension import Grade

_APPENDICES = {"appendix_i": "I", "appendix_ii": "II", "appendix_iii": "III"}


@dataclass(frozen=True, slots=True)
class ListedTaxon:
    """A name that is listed, and with it everything below it."""

    name: str
    appendix: str


@dataclass(frozen=True, slots=True)
class Letter:
    """Papers that a country wants with some insects. ``groups`` are the higher names by which they are known."""

    country: str
    called: str
    groups: frozenset[str]
    sentence: str
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class ListedTaxa:
    """One list with its day. Names are compared as written: a synonym that nobody listed is not found."""

    taxa: tuple[ListedTaxon, ...]
    letters: tuple[Letter, ...]
    as_of: date
    source: str
    grade: Grade

    def find(self, name: str) -> ListedTaxon | None:
        """The listing that covers a name: the longest listed name that it begins with, word for word."""
        words = [word.casefold() for word in name.replace("(", " ").replace(")", " ").split()]
        covering = (taxon for taxon in self.taxa if words[: len(taxon.name.split())] == taxon.name.casefold().split())
        return max(covering, key=lambda taxon: len(taxon.name.split()), default=None)

    def with_changes(self, extra: Iterable[ListedTaxon] = (), removed: Iterable[str] = ()) -> "ListedTaxa":
        """The list as one institution keeps it: names struck first, then names added, an added one in place of its
        like."""
        added = {taxon.name: taxon for taxon in extra}
        struck = {name.casefold() for name in (*removed, *added)}
        kept = tuple(taxon for taxon in self.taxa if taxon.name.casefold() not in struck)
        return replace(self, taxa=(*kept, *added.values()))


@cache
def listed_taxa() -> ListedTaxa:
    """The starter list of the handbook.

    :raises HandbookFault: when the table does not say what it must.
    """
    rows = table("listed_taxa")
    refuse_strangers(rows, frozenset({"list", "letters", *_APPENDICES}), "listed_taxa")
    head = rows["list"]
    refuse_strangers(head, frozenset({"as_of", "grade", "source"}), "listed_taxa.list")
    if not isinstance(head.get("as_of"), date):
        raise HandbookFault("listed_taxa.list has no as_of: a list without its day is no list.")
    taxa = (ListedTaxon(name, roman) for key, roman in _APPENDICES.items() for name in _names(rows, key))
    letters = tuple(_letter(row, f"listed_taxa.letters.{number}") for number, row in enumerate(rows["letters"]))
    source, grade = required(head, "source", "listed_taxa.list"), required(head, "grade", "listed_taxa.list")
    return ListedTaxa(tuple(taxa), letters, head["as_of"], source, Grade(grade))


def _names(rows: Row, key: str) -> Any:
    refuse_strangers(rows[key], frozenset({"names"}), f"listed_taxa.{key}")
    return rows[key]["names"]


def _letter(row: Row, where: str) -> Letter:
    refuse_strangers(row, frozenset({"country", "called", "groups", "sentence", "grade", "source"}), where)
    return Letter(
        country=required(row, "country", where),
        called=required(row, "called", where),
        groups=frozenset(row["groups"]),
        sentence=required(row, "sentence", where),
        source=required(row, "source", where),
        grade=Grade(required(row, "grade", where)),
    )
