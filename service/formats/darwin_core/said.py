"""What a record says, ticked off as it is understood."""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeVar

from service.formats.darwin_core.reading import Values

Word = TypeVar("Word", bound=StrEnum)


@dataclass(slots=True)
class Said:
    """The values of a record, and which of them have been understood."""

    values: Values
    used: set[str] = field(default_factory=set)

    def take(self, *terms: str) -> str | None:
        """The first of some terms that says something."""
        for term in terms:
            if value := self.values.get(term, "").strip():
                self.used.add(term)
                return value
        return None

    def rest(self) -> tuple[tuple[str, str], ...]:
        """What has not been understood, in the order of the terms."""
        return tuple(sorted((term, value) for term, value in self.values.items() if term not in self.used))


def word(words: type[Word], written: str | None) -> Word | None:
    """A word of a vocabulary, in large or small letters; None when it is not there."""
    return next((word for word in words if written and word.value.lower() == written.lower()), None)
