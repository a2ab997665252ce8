"""What a record says, and the words of vocabularies in it."""

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from service.formats.darwin_core.reading import Values

Word = TypeVar("Word", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class Said:
    """The values of a record."""

    values: Values

    def take(self, *terms: str) -> str | None:
        """The first of some terms that says something."""
        return next((value for term in terms if (value := self.values.get(term, "").strip())), None)


def word(words: type[Word], written: str | None) -> Word | None:
    """A word of a vocabulary, in large or small letters; None when it is not there."""
    return next((word for word in words if written and word.value.lower() == written.lower()), None)
