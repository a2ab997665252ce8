"""Bounds that count a drawer's trays whole prove what bounds of parts cannot."""

import pytest
from certificate_checker import at_least as at_least_by_scales
from housing_cases import Trays, request_for
from whole_tray_checker import at_least

from service.core.housing.effort import QUICK
from service.core.housing.placement_check import faults
from service.core.housing.planning import plan_housing


@pytest.mark.parametrize(
    ("trays", "fewest"),
    [
        ([(157, 130, 53), (113, 135, 79), (206, 237, 78), (240, 149, 53)], 54),
        ([(241, 238, 42), (201, 113, 76), (142, 154, 87), (186, 239, 33)], 50),
        ([(221, 259, 25), (138, 123, 37), (149, 111, 82), (141, 247, 73)], 42),
        ([(123, 117, 23), (132, 165, 39), (128, 150, 70), (150, 247, 60)], 35),
        ([(122, 255, 81), (223, 125, 75), (212, 221, 69), (195, 154, 84)], 73),
    ],
)
def test_odd_sizes_are_proved_in_whole_trays_where_scales_alone_fall_short(trays: Trays, fewest: int) -> None:
    request = request_for((430, 405), trays)
    plan = plan_housing(request, QUICK)
    assert (plan.drawer_count, plan.at_least) == (fewest, fewest)
    assert plan.rests_on_search
    assert faults(request, plan) == []
    assert at_least_by_scales(plan.certificate, request) == plan.certificate.at_least < fewest
    assert plan.whole_tray_certificate is not None
    assert at_least(plan.whole_tray_certificate, request) == fewest


def test_a_free_layout_can_beat_every_column_layout() -> None:
    plan = plan_housing(
        request_for((430, 405), [(221, 259, 25), (138, 123, 37), (149, 111, 82), (141, 247, 73)]), QUICK
    )
    assert plan.at_least_in_columns is not None
    assert plan.drawer_count < plan.at_least_in_columns
