"""Holds the tables to the trade's words: every one present, and no other."""

from enum import StrEnum
from typing import Any, TypeVar

from service.core.handbook.entries import HandbookFault, NotInHandbook
from service.core.handbook.loader import Row

Word = TypeVar("Word", bound=StrEnum)


def every(words: type[Word], rows: Row, where: str) -> dict[Word, Any]:
    """The rows by word.

    :raises HandbookFault: when a word has no row, or a row is no such word.
    """
    if missing := [word.value for word in words if word.value not in rows]:
        raise HandbookFault(f"{where} has nothing for {', '.join(missing)}.")
    if strangers := sorted(rows.keys() - set(words)):
        raise HandbookFault(f"{where} has {', '.join(strangers)}, which is no {words.__name__.lower()}.")
    return {word: rows[word.value] for word in words}


def word(words: type[Word], written: str) -> Word:
    """The word of the trade that was written.

    :raises NotInHandbook: with the words that there are.
    """
    try:
        return words(written)
    except ValueError as error:
        known = ", ".join(words)
        raise NotInHandbook(f"The handbook has no {words.__name__.lower()} “{written}”; it has {known}.") from error
