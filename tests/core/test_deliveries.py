"""What follows from an attempt: the published schedule, a receiver's rest, and when to stop."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.deliveries import (
    FAILING_FOR_DAYS,
    JITTER,
    LONGEST_REST,
    LONGEST_RETRY_AFTER,
    MOST_ATTEMPTS,
    PAUSES,
    Answered,
    Disabled,
    Health,
    Outcome,
    judge,
)

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
WELL = Health()
GOOD, BROKEN, SILENT = Answered(204, None, 80), Answered(500, None, 80), Answered(None, "No answer.", 20_000)


def test_a_message_is_tried_on_the_schedule_of_the_specification() -> None:
    """Standard Webhooks, “Deliverability and reliability”: the last attempt comes 75 h 35 min 5 s after the first."""
    at, health, number = NOW, WELL, 1
    while (verdict := judge(BROKEN, number, health, at, 0)).next_at is not None:
        at, health, number = verdict.next_at, verdict.health, number + 1
    assert (number, at - NOW) == (10, timedelta(hours=75, minutes=35, seconds=5))
    assert verdict.outcome is Outcome.GIVEN_UP


def test_nothing_is_tried_again_that_arrived_and_all_failures_are_forgotten() -> None:
    verdict = judge(GOOD, 7, Health(9, NOW - timedelta(days=9), NOW), NOW, 0.5)
    assert (verdict.outcome, verdict.next_at, verdict.health, verdict.disable) == (
        Outcome.DELIVERED,
        None,
        WELL,
        None,
    )


@pytest.mark.parametrize("status", [199, 301, 307, 400, 404, 429, 500, 503])
def test_whatever_is_not_2xx_is_a_failure_and_a_redirect_too(status: int) -> None:
    assert judge(Answered(status, None, 1), 1, WELL, NOW, 0).outcome is Outcome.FAILED


def test_410_ends_it_at_once() -> None:
    assert judge(Answered(410, None, 1), 1, WELL, NOW, 0).disable is Disabled.GONE


def test_days_without_a_good_answer_end_it_and_one_bad_answer_after_a_quiet_week_does_not() -> None:
    since = NOW - timedelta(days=FAILING_FOR_DAYS)
    assert judge(SILENT, 3, Health(MOST_ATTEMPTS, since), NOW, 0).disable is Disabled.FAILING
    assert judge(SILENT, 3, Health(MOST_ATTEMPTS, since + timedelta(hours=1)), NOW, 0).disable is None
    assert judge(SILENT, 1, Health(1, since - timedelta(days=2)), NOW, 0).disable is None


def test_who_asks_for_patience_gets_it_within_reason() -> None:
    asked = judge(Answered(429, None, 1, timedelta(hours=3)), 1, WELL, NOW, 0)
    assert asked.health.resting_until == asked.next_at == NOW + timedelta(hours=3)
    for_ever = judge(Answered(503, None, 1, timedelta(days=365)), 1, WELL, NOW, 0)
    assert for_ever.health.resting_until == NOW + LONGEST_RETRY_AFTER
    in_the_past = judge(Answered(503, None, 1, timedelta(days=-1)), 1, WELL, NOW, 0)
    assert in_the_past.health.resting_until == NOW + PAUSES[0]


def test_who_takes_long_is_known_to_be_slow_even_when_the_answer_is_good() -> None:
    assert judge(Answered(200, None, 2_001), 1, WELL, NOW, 0).health.is_slow
    assert not judge(Answered(200, None, 2_000), 1, Health(is_slow=True), NOW, 0).health.is_slow


@given(st.integers(1, MOST_ATTEMPTS), st.integers(0, 1_000), st.floats(0, 1))
def test_a_failing_receiver_rests_and_its_message_waits_at_least_as_long(
    number: int, failures: int, chance: float
) -> None:
    verdict = judge(SILENT, number, Health(failures, NOW), NOW, chance)
    rest = verdict.health.resting_until
    assert rest is not None
    assert NOW + PAUSES[0] <= rest <= NOW + LONGEST_REST
    assert (verdict.next_at is None) == (number == MOST_ATTEMPTS)
    if verdict.next_at is not None:
        own = PAUSES[number - 1]
        assert max(NOW + own, rest) <= verdict.next_at <= max(NOW + own * (1 + JITTER), rest)
