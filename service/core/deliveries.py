"""What follows from an attempt to deliver a message: when to try again, when to leave the receiver alone, when to
give up.

A message has its own schedule, and a receiver its own rest: one that does not answer is tried with one message now
and then, however many wait for it, and as soon as it answers they all go out.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

#: The pauses before the second to the tenth attempt: the example schedule of the Standard Webhooks specification,
#: whose last attempt comes 75 h 35 min 5 s after the first.
PAUSES: Final = (
    timedelta(seconds=5),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=5),
    timedelta(hours=10),
    timedelta(hours=14),
    timedelta(hours=20),
    timedelta(hours=24),
)
MOST_ATTEMPTS: Final = len(PAUSES) + 1
#: A receiver that fails is left alone for as long as its message, but never longer than this.
LONGEST_REST: Final = timedelta(minutes=30)
#: Longer than this nobody may ask us to stay away.
LONGEST_RETRY_AFTER: Final = timedelta(hours=24)
#: A receiver that has answered nothing well for so long, and as often as a message is tried, is not called any more.
#: It is longer than all attempts at one message take.
FAILING_FOR_DAYS: Final = 5
#: By how much of itself a pause is lengthened at most, by chance, so that not all come back in the same second.
JITTER: Final = 0.1
#: Whoever takes longer than this to answer is served beside others like it.
SLOW_MS: Final = 2_000

GONE: Final = 410


class Outcome(StrEnum):
    """How an attempt ended. ``failed`` is tried again; ``given_up`` is not, unless somebody asks for it."""

    DELIVERED = "delivered"
    FAILED = "failed"
    GIVEN_UP = "given_up"


class Disabled(StrEnum):
    """Why the service itself stopped calling a receiver."""

    GONE = "gone"
    """It answered 410."""
    FAILING = "failing"
    """It has answered nothing well for days."""


@dataclass(frozen=True, slots=True)
class Answered:
    """What came of one attempt: a status, or the sentence that says why there is none."""

    status: int | None
    problem: str | None
    took_ms: int
    retry_after: timedelta | None = None

    @property
    def is_good(self) -> bool:
        return self.status is not None and 200 <= self.status < 300


@dataclass(frozen=True, slots=True)
class Health:
    """How a receiver has been doing: its failures since it last answered well, the first of them, and its rest."""

    failures: int = 0
    failing_since: datetime | None = None
    resting_until: datetime | None = None
    is_slow: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """What follows. ``next_at`` is when this message is due again; ``None`` when it is done with."""

    outcome: Outcome
    next_at: datetime | None
    health: Health
    disable: Disabled | None = None


def judge(answered: Answered, number: int, before: Health, now: datetime, chance: float) -> Verdict:
    """What follows from the ``number``-th attempt at a message (the first is 1). ``chance`` lies in 0 to 1."""
    slow = answered.took_ms > SLOW_MS
    if answered.is_good:
        return Verdict(Outcome.DELIVERED, None, Health(is_slow=slow))
    failures, since = before.failures + 1, before.failing_since or now
    rest = min(_pause(failures, chance), LONGEST_REST)
    if answered.retry_after is not None:
        rest = max(rest, min(answered.retry_after, LONGEST_RETRY_AFTER))
    health = Health(failures, since, now + rest, is_slow=True)
    disable = _disable(answered, health, now)
    if number >= MOST_ATTEMPTS:
        return Verdict(Outcome.GIVEN_UP, None, health, disable)
    return Verdict(Outcome.FAILED, now + max(_pause(number, chance), rest), health, disable)


def _pause(number: int, chance: float) -> timedelta:
    return PAUSES[min(number, len(PAUSES)) - 1] * (1 + JITTER * chance)


def _disable(answered: Answered, health: Health, now: datetime) -> Disabled | None:
    if answered.status == GONE:
        return Disabled.GONE
    failing_for = now - (health.failing_since or now)
    is_lost = failing_for >= timedelta(days=FAILING_FOR_DAYS) and health.failures >= MOST_ATTEMPTS
    return Disabled.FAILING if is_lost else None
