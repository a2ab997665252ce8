"""Nobody asks all day on others' time."""

import pytest
from flask import Flask

from service.web.kit import rate
from service.web.kit.problems import Refusal
from service.web.kit.rate import MOST_ADDRESSES, Buckets


class Clock:
    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


def test_a_minutes_worth_may_be_asked_at_once_and_no_more(clock: Clock) -> None:
    buckets = Buckets(6, clock)
    assert [buckets.take("a") for _ in range(6)] == [0] * 6
    assert buckets.take("a") == pytest.approx(10)


def test_the_bucket_fills_as_time_goes_by(clock: Clock) -> None:
    buckets = Buckets(6, clock)
    for _ in range(6):
        buckets.take("a")
    clock.now_s = 9
    assert buckets.take("a") == pytest.approx(1)
    clock.now_s = 10.1
    assert buckets.take("a") == 0
    assert buckets.take("a") > 0
    clock.now_s = 100_000
    assert [buckets.take("a") for _ in range(7)].count(0) == 6, "and never beyond a minute's worth"


def test_one_address_does_not_use_up_anothers(clock: Clock) -> None:
    buckets = Buckets(1, clock)
    assert (buckets.take("a"), buckets.take("b")) == (0, 0)
    assert buckets.take("a") > 0


def test_the_addresses_remembered_are_limited_and_the_latest_stay(clock: Clock) -> None:
    buckets = Buckets(1, clock)
    for number in range(MOST_ADDRESSES + 5):
        buckets.take(str(number))
    assert buckets.take(str(MOST_ADDRESSES + 4)) > 0
    assert buckets.take("0") == 0


def test_a_refusal_says_when_to_come_back() -> None:
    app = Flask(__name__)
    rate.install(app, per_minute=1)
    with app.test_request_context(environ_base={"REMOTE_ADDR": "192.0.2.7"}):
        rate.ask_no_more_than_others()
        with pytest.raises(Refusal) as refused:
            rate.ask_no_more_than_others()
    assert refused.value.slug == "too-many-requests"
    assert refused.value.headers == {"Retry-After": "60"}
