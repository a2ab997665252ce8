"""A plan that is stopped: sound at any moment, and the very same where nobody stops it before its end."""

from certificate_checker import at_least
from housing_cases import request_for
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.housing.effort import QUICK, Watch
from service.core.housing.placement_check import faults
from service.core.housing.plan import HousingPlan
from service.core.housing.planning import plan_housing

#: Columns need 81 drawers and other layouts 75, so that more than one part of the search has something to do.
REQUEST = request_for((430, 405), [(219, 158, 120), (101, 187, 131), (132, 96, 140), (171, 233, 66)])


class Impatient:
    """Says stop when it is asked for the ``patience``-th time."""

    def __init__(self, patience: int) -> None:
        self.asked, self.patience = 0, patience

    def __call__(self) -> bool:
        self.asked += 1
        return self.asked >= self.patience


def stopped_at(patience: int) -> tuple[HousingPlan, Impatient]:
    stop = Impatient(patience)
    return plan_housing(REQUEST, QUICK, Watch(should_stop=stop)), stop


UNHURRIED, WATCHED = stopped_at(10**9)


def test_whoever_would_stop_it_after_its_end_changes_nothing() -> None:
    plan, _ = stopped_at(WATCHED.asked + 1)
    assert plan == UNHURRIED == plan_housing(REQUEST, QUICK)
    assert not plan.stopped_early


@settings(max_examples=25, deadline=None)
@given(st.integers(1, WATCHED.asked))
def test_a_plan_stopped_at_any_moment_is_sound_and_says_that_it_was(patience: int) -> None:
    plan, _ = stopped_at(patience)
    assert faults(REQUEST, plan) == []
    assert at_least(plan.certificate, REQUEST) == plan.certificate.at_least
    assert plan.at_least <= UNHURRIED.cost <= plan.cost
    assert plan.stopped_early or plan.is_proved
