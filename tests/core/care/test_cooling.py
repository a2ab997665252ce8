"""Lag by conduction, against textbooks and measurements, and the dew point, against a printed table."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.care.conduction import Slab, Stuff, first_root, hours_to, middle
from service.core.care.dew_point import dew_point_c, opens_from_c, saturation_hpa
from service.core.care.load import Contents, Load, Packed, lag, warm_up
from service.core.care.regimes import Freezer, QuarantineRules
from service.core.measure.dimension import Dimension, Size
from service.core.measure.lengths import NM_PER_MM
from service.core.standards import SetPoint

RULES = QuarantineRules()
PLAIN = QuarantineRules(lag_factor=1)
CM = 10 * NM_PER_MM


def size(width_cm: int, depth_cm: int, height_cm: int) -> Size:
    return Size(*(Dimension(each * CM) for each in (width_cm, depth_cm, height_cm)))


@pytest.mark.parametrize(
    ("biot", "root", "factor"),
    [(0.01, 0.0998, 1.0017), (0.1, 0.3111, 1.0161), (1, 0.8603, 1.1191), (10, 1.4289, 1.2620), (100, 1.5552, 1.2731)],
)
def test_the_first_root_is_that_of_the_textbooks(biot: float, root: float, factor: float) -> None:
    """Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1 (plane wall)."""
    assert first_root(biot) == pytest.approx((root, factor), abs=6e-5)


def test_the_steel_wall_of_the_textbook() -> None:
    """Incropera & DeWitt, example 5.4: a wall of 40 mm from -20 °C against oil of 60 °C, after 480 s; the book has
    42.9 °C with the first term rounded."""
    steel = Stuff(63.9, 63.9 / 18.8e-6)
    assert 60 - 80 * middle((Slab(0.04, 500),), steel, 480) == pytest.approx(42.9, abs=0.2)


#: Wood Handbook (2010), table 20-4: minutes for the middle of hardwood to go from 60 to 133 °F in air of 157 °F, by
#: inches.
MEASURED_MIN = [(1, 6, 13.2), (1.5, 6, 27.6), (2, 6, 48.6), (3, 3, 57.2), (4, 4, 108.8), (6, 6, 252.0)]
SHARE = (157 - 133) / (157 - 60)


def heating_min(thick_in: float, wide_in: float, diffusivity: float) -> float:
    slabs = tuple(Slab(side * 0.0254 / 2, 1e7) for side in (thick_in, wide_in))
    hours = hours_to(SHARE, slabs, Stuff(diffusivity * 1e6, 1e6))
    assert hours is not None
    return hours * 60


@pytest.mark.parametrize(("thick", "wide", "measured"), MEASURED_MIN)
def test_measured_heating_of_timber_is_met_within_an_eighth(thick: float, wide: float, measured: float) -> None:
    """With the diffusivity that the six measurements have on the mean, 1.47e-7 m²/s."""
    assert heating_min(thick, wide, 1.47e-7) == pytest.approx(measured, rel=1 / 8)


@pytest.mark.parametrize(("thick", "wide", "measured"), MEASURED_MIN)
def test_with_the_factor_no_measurement_took_longer(thick: float, wide: float, measured: float) -> None:
    """The figures of our own wood, times the factor, lie above the measured mean."""
    assert heating_min(thick, wide, 0.12 / 688.5e3) * RULES.lag_factor > measured


def test_a_stack_of_drawers_lags_about_as_long_as_practice_allows_for() -> None:
    """Royal British Columbia Museum (Leps-L, October 1999): 48 hours in all, so that every point has 24 hours at
    -20 °C: a day for the lag."""
    full = lag(Load(Packed.DRAWERS, 12), 20, -25, -20, RULES)
    assert full.predicted
    assert full.hours == pytest.approx(24, abs=2)


def test_padding_doubles_the_lag_or_more() -> None:
    """Fisher, Santos & Smith 2005 (University of New Hampshire): half an inch of polystyrene doubled the time of a
    box to 0 °C."""
    parcel = Load(Packed.PADDED_PARCEL, outer=size(50, 50, 30), padding_nm=5 * CM)
    bare = Load(Packed.DRAWERS, 1, outer=size(40, 40, 20))
    padded, unpadded = (lag(load, 20, -30, 0, PLAIN).hours for load in (parcel, bare))
    assert padded is not None
    assert unpadded is not None
    assert padded > 2 * unpadded


def test_heavy_contents_lag_longer_than_insect_boxes() -> None:
    outer, padding = size(50, 50, 30), 5 * CM
    hours = [
        lag(Load(Packed.PADDED_PARCEL, outer=outer, padding_nm=padding, contents=contents), 20, -30, -25, RULES).hours
        for contents in (Contents.INSECT_BOXES, Contents.SOLID_WOOD)
    ]
    assert None not in hours
    assert (hours[0] or 0) < (hours[1] or 0)


def test_what_nobody_described_lags_as_long_as_the_longest_that_was_measured() -> None:
    found = lag(None, 20, -30, -25, RULES)
    assert (found.hours, found.predicted) == (36, False)
    assert lag(None, 20, -26, -25, RULES).hours is None


def test_a_parcel_without_its_size_or_all_padding_counts_as_not_described() -> None:
    assert not lag(Load(Packed.PADDED_PARCEL), 20, -30, -25, RULES).predicted
    thick = Load(Packed.PADDED_PARCEL, outer=size(20, 20, 10), padding_nm=5 * CM)
    assert not lag(thick, 20, -30, -25, RULES).predicted


def test_a_core_never_gets_colder_than_the_air() -> None:
    assert lag(Load(Packed.DRAWERS), 20, -20, -20, RULES).hours is None
    assert lag(Load(Packed.DRAWERS), 20, -18, -20, RULES).hours is None


loads = st.builds(
    Load, st.sampled_from([Packed.DRAWERS, Packed.BAGGED_CRATE, Packed.BAGGED_DRAWER]), st.integers(1, 20)
)


@given(loads, st.integers(-50, -26), st.integers(1, 20))
def test_colder_air_is_never_slower(load: Load, air: int, colder: int) -> None:
    slow, quick = (lag(load, 20, each, -25, RULES).hours for each in (air, air - colder))
    assert slow is not None
    assert quick is not None
    assert quick <= slow


@given(st.integers(1, 20), st.sampled_from([Packed.DRAWERS, Packed.BAGGED_CRATE]))
def test_one_drawer_more_is_never_quicker_and_a_bag_never_helps(drawers: int, packed: Packed) -> None:
    fewer, more, bagged = (
        lag(load, 20, -30, -25, RULES).hours or 0
        for load in (Load(packed, drawers), Load(packed, drawers + 1), Load(Packed.BAGGED_CRATE, drawers))
    )
    assert fewer <= more
    assert fewer <= bagged + 1e-6


def test_a_fan_helps() -> None:
    windy = QuarantineRules(freezer=Freezer(40, -30, has_fan=True))
    still = lag(Load(Packed.DRAWERS, 6), 20, -30, -25, RULES).hours or 0
    assert (lag(Load(Packed.DRAWERS, 6), 20, -30, -25, windy).hours or 0) < still


#: A printed table of dew points in whole degrees ("Climate/humidity table": absolute humidity and dew point by air
#: temperature and relative humidity). Its cell for 10 °C and 60 % does not fit its own neighbours and is left out.
PRINTED_DEW_POINTS = [
    (10, 80, 6), (15, 50, 4), (15, 70, 9), (20, 30, 1), (20, 40, 5), (20, 50, 9), (20, 60, 12),
    (20, 70, 14), (25, 40, 10), (25, 50, 13), (25, 60, 16), (30, 50, 18), (30, 70, 24),
]  # fmt: skip


@pytest.mark.parametrize(("air", "humidity", "printed"), PRINTED_DEW_POINTS)
def test_dew_points_are_those_of_a_printed_table(air: float, humidity: float, printed: float) -> None:
    """The table drops or rounds the decimals, so it may be a degree below."""
    assert dew_point_c(SetPoint(air, humidity)) == pytest.approx(printed + 0.4, abs=0.9)


def test_the_pressure_of_water_vapour_is_that_of_the_steam_tables() -> None:
    """IAPWS R7-97 (2012), table 35: 3,536.58941 Pa at 300 K. Magnus' formula is good to a third of a per cent."""
    assert saturation_hpa(300 - 273.15) == pytest.approx(35.3658941, rel=0.0035)


def test_a_bag_is_opened_above_the_dew_point_and_never_above_the_room() -> None:
    assert opens_from_c(SetPoint(20, 50), 3) == pytest.approx(12.3, abs=0.1)
    assert opens_from_c(SetPoint(20, 95), 3) == 20
    assert opens_from_c(SetPoint(20, 0), 3) is None


def test_a_full_crate_takes_most_of_a_day_to_warm_up() -> None:
    """Common practice is to leave it shut for 24 hours (Colonial Williamsburg 2024: a day after -32 °C)."""
    hours = warm_up(Load(Packed.BAGGED_CRATE, 8), -30, RULES, 12.3).hours
    assert hours is not None
    assert 12 < hours < 36
