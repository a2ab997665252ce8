"""Months between two set points, and months in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.measure.moisture import Air
from service.core.measure.year import named_months, swing

DRY, DAMP = Air(19, 38), Air(21, 56)
months = st.integers(1, 12)


def test_the_year_touches_both_set_points_in_their_months():
    year = swing(DRY, 2, DAMP, 8)
    assert len(year) == 12
    assert (year[1], year[7]) == (DRY, DAMP)


def test_halfway_between_it_is_halfway():
    assert swing(DRY, 2, DAMP, 8)[4].relative_humidity_percent == pytest.approx(47)
    assert swing(DRY, 2, DAMP, 8)[10].relative_humidity_percent == pytest.approx(47)


@given(months, months)
def test_no_month_is_drier_than_the_driest_or_damper_than_the_dampest(driest, dampest):
    if driest == dampest:
        return
    humidities = [air.relative_humidity_percent for air in swing(DRY, driest, DAMP, dampest)]
    assert min(humidities) == humidities[driest - 1] == 38
    assert max(humidities) == humidities[dampest - 1] == 56
    rising = [humidities[(driest - 1 + step) % 12] for step in range((dampest - driest) % 12 + 1)]
    assert rising == sorted(rising)


@pytest.mark.parametrize(("driest", "dampest"), [(3, 3), (0, 8), (2, 13)])
def test_a_year_with_one_turning_point_is_no_year(driest, dampest):
    with pytest.raises(ValueError, match="Two different months"):
        swing(DRY, driest, DAMP, dampest)


@pytest.mark.parametrize(
    ("found", "words"),
    [
        ((), "no month"),
        ((8,), "August"),
        ((7, 8), "July and August"),
        ((6, 7, 8, 9), "June to September"),
        ((12, 1, 2), "December to February"),
        ((1, 3), "January, March"),
        ((11, 12, 1, 4), "April, November to January"),
        (tuple(range(1, 13)), "every month"),
    ],
)
def test_months_in_words(found, words):
    assert named_months(found) == words
