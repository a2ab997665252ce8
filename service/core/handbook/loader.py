"""Reads the handbook's tables. Nothing else opens them.

A table is read once and kept. Each row has to say where it comes from: a published row cites a source that
exists, a row from memory cites none and says what it was recalled from, and a row of common practice may cite
what supports it.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, TypeVar

from service.core.handbook.entries import HandbookFault, NotInHandbook, Source, Standing
from service.core.measure.dimension import Grade

Row = Mapping[str, Any]
Entry = TypeVar("Entry")

_BACKING_FIELDS = frozenset({"sources", "grade", "note", "recalled_from"})


@dataclass(frozen=True, slots=True)
class Backing:
    """What stands behind a row: ``source`` in words, the keys ``cited``, the grade, and a note."""

    source: str
    cited: tuple[str, ...]
    grade: Grade
    note: str | None


@cache
def table(name: str) -> Row:
    """One table of the handbook as it stands in its file."""
    text = resources.files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise HandbookFault(f"{name}.toml cannot be read: {error}.") from error


@cache
def sources() -> Mapping[str, Source]:
    """The published sources, by their keys."""
    return {key: _source(key, row) for key, row in table("sources").items()}


def _source(key: str, row: Row) -> Source:
    where = f"sources.{key}"
    refuse_strangers(row, frozenset({"reference", "standing"}), where)
    return Source(key, required(row, "reference", where), Standing(required(row, "standing", where)))


def required(row: Row, field: str, where: str) -> str:
    """The text of a field that must be there."""
    value = row.get(field)
    if not isinstance(value, str) or not value.strip():
        raise HandbookFault(f"{where} has no {field}.")
    return value


def refuse_strangers(row: Row, known: frozenset[str], where: str) -> None:
    """A misspelt field would otherwise be a figure silently lost."""
    if strangers := sorted(row.keys() - known):
        raise HandbookFault(
            f"{where} has {', '.join(strangers)}, which nothing reads; known are {', '.join(sorted(known))}."
        )


def backing(row: Row, where: str, *own_fields: str) -> Backing:
    """Where a row comes from, checked; ``own_fields`` are what the row holds besides.

    :raises HandbookFault: when the row does not say, or says it in a way that its grade does not allow.
    """
    refuse_strangers(row, _BACKING_FIELDS | set(own_fields), where)
    citations, recalled_from = tuple(row.get("sources", ())), row.get("recalled_from")
    grade = _grade(row, where)
    if grade is Grade.PUBLISHED and not citations:
        raise HandbookFault(f"{where} is graded published and cites no source.")
    if (grade is Grade.FROM_MEMORY) != bool(recalled_from):
        raise HandbookFault(f"{where} is graded {grade.value}: a row from memory, and no other, says recalled_from.")
    if grade is Grade.FROM_MEMORY and citations:
        raise HandbookFault(f"{where} is graded from_memory and cites a source, which only a published row may.")
    references = "; ".join(_reference(citation, where) for citation in citations)
    return Backing(_in_words(grade, references, recalled_from), tuple(map(_key, citations)), grade, row.get("note"))


def _grade(row: Row, where: str) -> Grade:
    written = required(row, "grade", where)
    try:
        return Grade(written)
    except ValueError as error:
        raise HandbookFault(f"{where} is graded {written}; grades are {', '.join(Grade)}.") from error


def _key(citation: str) -> str:
    return citation.partition(", ")[0]


def _reference(citation: str, where: str) -> str:
    """``"schauff-1997, p. 29"`` as the full reference with its page."""
    key, comma, page = citation.partition(", ")
    try:
        return f"{source(key).reference}{comma}{page}"
    except NotInHandbook as error:
        raise HandbookFault(f"{where} cites {key}, which sources.toml has not.") from error


def source(key: str) -> Source:
    """One published source.

    :raises NotInHandbook: when no source has that key.
    """
    return found(sources(), key, "source")


def _in_words(grade: Grade, references: str, recalled_from: str | None) -> str:
    if grade is Grade.FROM_MEMORY:
        return f"From memory, not confirmed: {recalled_from}"
    if grade is Grade.COMMON_PRACTICE:
        return f"Common practice; see {references}" if references else "Common practice, no published source"
    return references


def found(entries: Mapping[str, Entry], key: str, what: str) -> Entry:
    """The entry of that key.

    :raises NotInHandbook: with the keys that there are.
    """
    if key not in entries:
        raise NotInHandbook(f"The handbook has no {what} “{key}”; it has {', '.join(sorted(entries))}.")
    return entries[key]
