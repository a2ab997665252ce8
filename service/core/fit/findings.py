"""What a rule answers, and what follows from the answers."""

from dataclasses import dataclass
from enum import StrEnum

from service.core.measure.dimension import Dimension, Grade


class Outcome(StrEnum):
    """One rule's answer. Missing data is ``unknown``, never ``pass``."""

    PASS = "pass"  # noqa: S105 - an answer, not a password
    CAUTION = "caution"
    UNKNOWN = "unknown"
    """A fact is missing, and `missing` names it."""
    FAIL = "fail"


#: From best to worst. Unknown beats pass; a plain no beats a missing fact, since no answer to it could help.
SEVERITY = {Outcome.PASS: 0, Outcome.CAUTION: 1, Outcome.UNKNOWN: 2, Outcome.FAIL: 3}


def worst(outcomes: "list[Outcome]") -> Outcome:
    """The answer that decides among several; of none at all, nothing is known."""
    return max(outcomes, key=SEVERITY.__getitem__, default=Outcome.UNKNOWN)


class Verdict(StrEnum):
    """What becomes of one line."""

    AS_IT_IS = "as_it_is"
    """The containers go straight in."""
    BY_THE_TRAY = "by_the_tray"
    """The unit trays move over; their drawers do not."""
    RE_HOUSE = "re_house"
    """New trays, specimens handled one by one."""
    HOLD = "hold"
    """A fact is missing, and which."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """One length held against one limit. ``margin_nm`` is what is left over; below zero it is missing.

    ``value`` and ``limit`` are the dimensions behind the figures, where there are any, so that an answer can say
    how each was known.
    """

    what: str
    value_nm: int | None
    limit_nm: int | None
    margin_nm: int | None
    value: Dimension | None = None
    limit: Dimension | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule's answer for one line, with its figures.

    ``subject`` names what of the receiver's was tried (a cabinet, a drawer standard, a treatment). ``missing``
    names facts to ask for, in the words of the request. ``deciding`` is false for advice that changes no verdict.
    ``route`` is the verdict that the rule speaks about; without one it holds whichever way the line goes.
    """

    rule: str
    outcome: Outcome
    reason: str
    source: str
    subject: str | None = None
    comparisons: tuple[Comparison, ...] = ()
    remedy: str | None = None
    missing: tuple[str, ...] = ()
    deciding: bool = True
    grade: Grade = Grade.PUBLISHED
    route: Verdict | None = None

    @property
    def margin_nm(self) -> int | None:
        """The tightest of the margins compared."""
        return min((c.margin_nm for c in self.comparisons if c.margin_nm is not None), default=None)

    @property
    def rests_on_memory(self) -> bool:
        """Whether any figure behind this answer is from memory."""
        return self.grade is Grade.FROM_MEMORY or any(
            dimension is not None and dimension.is_from_memory
            for comparison in self.comparisons
            for dimension in (comparison.value, comparison.limit)
        )
