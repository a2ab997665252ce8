"""Padding, volume and liquid against figures that stand outside this project."""

import pytest
from parcel_cases import COURIER, MM, box, room, stock_box

from service.core.errors import Invalid
from service.core.parcels.limits import chargeable_g, volumetric_g
from service.core.parcels.liquids import within_provision
from service.core.parcels.plan import plan_parcels
from service.core.parcels.stock import Carrier, PackingBench

SPECIMEN_BOX = box("a", 230, 330, 65)


def test_a_box_wants_five_centimetres_more_on_each_side() -> None:
    """23 × 33 × 6.5 cm wants 33 × 43 × 16.5 cm: Schauff (ed.) 1997, p. 50, at least 5 cm on all sides."""
    made = plan_parcels([SPECIMEN_BOX], PackingBench(), None).parcels[0]
    assert made.inner == room(330, 430, 165)
    assert made.padding.least_nm == 50 * MM


def test_that_carton_has_the_volume_and_is_charged_as_a_courier_prints_it() -> None:
    """33 × 43 × 16.5 cm are 23,413.5 cm³, and by a divisor of 5,000 they are charged as 4.68 kg."""
    outer = room(330, 430, 165)
    assert outer.volume_nm3 == 23_413_500_000 * 10**15
    assert volumetric_g(outer, COURIER) == 4_683
    assert chargeable_g(1_200, 4_683, COURIER) == 5_000
    assert chargeable_g(7_100, 4_683, COURIER) == 7_500
    assert chargeable_g(1_200, 4_683, Carrier("k", "k", 5_000)) == 4_683


@pytest.mark.parametrize(("inside", "is_used"), [((330, 430, 165), True), ((329.8, 430, 165), False)])
def test_a_carton_of_the_stock_with_four_point_nine_centimetres_is_not_used(
    inside: tuple[float, float, float], is_used: bool
) -> None:
    plan = plan_parcels([SPECIMEN_BOX], PackingBench(cartons=(stock_box("c", *inside),)), None)
    assert (plan.parcels[0].code == "c") is is_used


def test_two_inches_pass_the_rule_of_five_centimetres_and_less_cannot_be_set() -> None:
    """2 in is 5.08 cm (Ross, How to Collect and Preserve Insects)."""
    assert PackingBench(padding_nm=50_800_000).padding == 50_800_000
    with pytest.raises(Invalid, match=r"At least 50 mm .*Schauff.*p\. 50"):
        PackingBench(padding_nm=49_000_000)


@pytest.mark.parametrize(
    ("each", "total", "fits"),
    [(30, 1_000, True), (31, 31, False), (30, 34 * 30, False), (30, 33 * 30, True)],
)
def test_liquid_is_held_to_thirty_millilitres_and_a_litre(each: float, total: float, fits: bool) -> None:
    """Special provision A180, from memory: 30 mL and 1,000 mL fit, 31 mL does not; 34 × 30 is too much, 33 × 30 not.

    A shipping firm's article on the provision prints the same two figures.
    """
    assert within_provision(each, total) is fits
