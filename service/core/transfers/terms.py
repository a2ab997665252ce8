"""The lender's rules: how long, from which day, when nothing is posted, how much at once, what may be kept.

Published policies differ in every one of these, so each is the lender's own; ``None`` means that nobody stated it.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from service.core.errors import Invalid
from service.core.transfers.calendar import Duration, MonthEnd, YearlyWindow, add, first_day_outside
from service.core.transfers.lines import PRIMARY_TYPES, TypeStatus


class ClockStart(StrEnum):
    """The day from which a length runs."""

    DISPATCH = "dispatch"
    """The day on which it was sent."""
    RECEIPT = "receipt"
    """The day on which it arrived."""
    AGREEMENT = "agreement"
    """The day on which the second side signed."""


class MaterialClass(StrEnum):
    """The classes of material that policies give lengths for."""

    ORDINARY = "ordinary"
    """What is no type, and every type that has no length of its own."""
    PRIMARY_TYPE = "primary_type"
    """Name-bearing types: holotype, lectotype, neotype, syntype."""
    SECONDARY_TYPE = "secondary_type"
    """All other types."""


class ThirdParties(StrEnum):
    """Whether the borrower may hand things on to somebody else."""

    FORBIDDEN = "forbidden"
    WITH_APPROVAL = "with_approval"
    """The lender is asked each time."""
    ALLOWED = "allowed"


@dataclass(frozen=True, slots=True)
class LengthRule:
    applies_to: MaterialClass
    length: Duration
    clock: ClockStart = ClockStart.DISPATCH


@dataclass(frozen=True, slots=True)
class Terms:
    """One lender's rules. Shares are exact fractions of a count; what they give is rounded down, which is our choice:
    no policy that we read says how it rounds.

    ``must_return`` are kinds of type that no permission to keep covers; primary types are among them, listed or not.
    ``uniques_return``: of each line at least one specimen comes back.
    """

    lengths: tuple[LengthRule, ...] = ()
    month_end: MonthEnd = MonthEnd.LAST_DAY
    no_post: tuple[YearlyWindow, ...] = ()
    largest_share_lent: Fraction | None = None
    share_kept: Fraction | None = None
    share_kept_describing: Fraction | None = None
    must_return: frozenset[TypeStatus] = PRIMARY_TYPES
    uniques_return: bool | None = None
    third_parties: ThirdParties | None = None
    recall_notice: Duration | None = None

    def __post_init__(self) -> None:
        for name in ("largest_share_lent", "share_kept", "share_kept_describing"):
            share = getattr(self, name)
            if share is not None and not 0 <= share <= 1:
                raise Invalid(f"terms.{name}", f"{share} is no share; a share lies between 0 and 1.")
        if len({rule.applies_to for rule in self.lengths}) < len(self.lengths):
            raise Invalid("terms.lengths", "Two lengths are given for one class of material; give one.")

    def length_for(self, status: TypeStatus | None) -> LengthRule | None:
        """The rule for material of that type status; where nobody stated one, the rule for ordinary material."""
        by_class = {rule.applies_to: rule for rule in self.lengths}
        return by_class.get(class_of(status)) or by_class.get(MaterialClass.ORDINARY)


def class_of(status: TypeStatus | None) -> MaterialClass:
    if status is None or status in {TypeStatus.NOT_A_TYPE, TypeStatus.TOPOTYPE}:
        return MaterialClass.ORDINARY
    return MaterialClass.PRIMARY_TYPE if status.is_primary else MaterialClass.SECONDARY_TYPE


def due_date(rule: LengthRule, start: date, month_end: MonthEnd) -> date:
    return add(start, rule.length, month_end)


def recall_date(terms: Terms, on: date) -> date | None:
    """The first day that a recall of ``on`` may ask for; None where the lender states no notice."""
    return None if terms.recall_notice is None else add(on, terms.recall_notice, terms.month_end)


@dataclass(frozen=True, slots=True)
class PostingAdvice:
    """A day on which nothing is posted, the last day before and the first after on which something is."""

    day: date
    why: str
    last_before: date | None
    first_after: date | None


def posting_advice(terms: Terms, day: date) -> PostingAdvice | None:
    """Why nothing should be posted on that day by the lender's rules, or None."""
    window = next((window for window in terms.no_post if window.covers(day)), None)
    if window is None:
        return None
    before = first_day_outside(terms.no_post, day, backwards=True)
    return PostingAdvice(day, window.why, before, first_day_outside(terms.no_post, day))
