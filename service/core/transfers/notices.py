"""Something that a person should know before going on. A notice warns; it judges nothing and stops nothing."""

from dataclasses import dataclass
from enum import StrEnum


class Weight(StrEnum):
    """How much a notice weighs."""

    CAUTION = "caution"
    """Something to mind; nothing stands in the way."""
    UNKNOWN = "unknown"
    """A fact is missing, and the sentence says which."""
    AGAINST_TERMS = "against_terms"
    """A party's own rules say otherwise; only that party may go over them, by name and with a reason."""
    REFUSED = "refused"
    """The rules leave nobody the choice; the step that would do it is refused."""


@dataclass(frozen=True, slots=True)
class Notice:
    """``code`` is a stable word for programs; ``lines`` are the keys of the lines meant, none meaning all."""

    code: str
    weight: Weight
    sentence: str
    lines: tuple[str, ...] = ()
    source: str | None = None
