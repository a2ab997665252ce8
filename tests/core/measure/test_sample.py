"""Tolerance factors against three published tables, and the prediction of the next piece against a textbook.

ISO 16269-6:2014, annex F, and Meeker, Hahn & Escobar 2017 (Statistical Intervals, tables J.5) hold the exact
two-sided factors; Montgomery & Runger 2018 (Applied Statistics and Probability for Engineers, table XII) the
one-sided. All three were read in a public copy of the tables.
"""

from math import ceil, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.measure.lengths import NM_PER_INCH, NM_PER_MM
from service.core.measure.sample import Sample, TooFewReadings, finest_mark_nm, one_sided_factor, two_sided_factor

#: (share, confidence): {pieces: factor}. The standard rounds its last decimal up.
ISO_16269_6 = {
    (0.90, 0.90): {2: 15.5124, 8: 2.7542, 16: 2.2537, 35: 1.9906, 100: 1.8232, 300: 1.7401, 1000: 1.6947},
    (0.95, 0.90): {3: 6.8233, 9: 3.1323, 15: 2.7196, 30: 2.4166, 90: 2.1862, 150: 2.1276, 400: 2.0569},
    (0.99, 0.90): {4: 6.3722, 8: 4.2707, 17: 3.4741, 28: 3.2023, 100: 2.8548, 300: 2.7249, 1000: 2.6538},
    (0.90, 0.95): {2: 31.0923, 8: 3.1561, 16: 2.4486, 35: 2.0943, 150: 1.8260, 500: 1.7374, 1000: 1.7088},
    (0.95, 0.95): {5: 5.0769, 10: 3.3935, 26: 2.6188, 90: 2.2519, 200: 2.1430, 1000: 2.0362},
    (0.99, 0.95): {3: 12.6472, 9: 4.6329, 17: 3.7606, 35: 3.2762, 100: 2.9356, 500: 2.7208},
    (0.90, 0.99): {4: 9.4162, 10: 3.6167, 22: 2.5979, 80: 2.0282, 200: 1.8657, 1000: 1.7359},
    (0.95, 0.99): {2: 182.7201, 9: 4.5810, 17: 3.3641, 40: 2.6836, 150: 2.2712, 500: 2.1175},
    (0.99, 0.99): {3: 28.5857, 7: 7.1908, 15: 4.6212, 28: 3.8042, 70: 3.2284, 200: 2.9215, 1000: 2.7184},
}
#: Columns: share 0.90, 0.95, 0.99; confidence 0.95.
MEEKER_J_5B = {
    2: (31.092, 36.519, 46.944),
    3: (8.306, 9.789, 12.647),
    4: (5.368, 6.341, 8.221),
    5: (4.291, 5.077, 6.598),
    6: (3.733, 4.422, 5.758),
    8: (3.156, 3.746, 4.889),
    10: (2.856, 3.393, 4.437),
    12: (2.670, 3.175, 4.156),
    15: (2.492, 2.965, 3.885),
    20: (2.319, 2.760, 3.621),
    30: (2.145, 2.555, 3.355),
    50: (1.999, 2.382, 3.129),
    120: (1.851, 2.206, 2.899),
    480: (1.739, 2.073, 2.724),
}
#: Columns: confidence 0.90, 0.95, 0.99 and in each share 0.90, 0.95, 0.99.
MONTGOMERY_XII = {
    2: (10.253, 13.090, 18.500, 20.581, 26.260, 37.094, 103.029, 131.426, 185.617),
    3: (4.258, 5.311, 7.340, 6.155, 7.656, 10.553, 13.995, 17.370, 23.896),
    5: (2.742, 3.400, 4.666, 3.407, 4.203, 5.741, 5.362, 6.578, 8.939),
    8: (2.219, 2.754, 3.783, 2.582, 3.187, 4.354, 3.497, 4.285, 5.812),
    10: (2.066, 2.568, 3.532, 2.355, 2.911, 3.981, 3.048, 3.738, 5.074),
    15: (1.867, 2.329, 3.212, 2.068, 2.566, 3.520, 2.521, 3.102, 4.222),
    30: (1.657, 2.080, 2.884, 1.777, 2.220, 3.064, 2.030, 2.515, 3.447),
    50: (1.559, 1.965, 2.735, 1.646, 2.065, 2.862, 1.821, 2.269, 3.125),
    100: (1.470, 1.861, 2.601, 1.527, 1.927, 2.684, 1.639, 2.056, 2.850),
}
SHARES = (0.90, 0.95, 0.99)

readings = st.lists(st.integers(400 * NM_PER_MM, 500 * NM_PER_MM), min_size=2, max_size=12).map(tuple)


@pytest.mark.parametrize(
    ("share", "confidence", "count", "printed"),
    [(*key, count, factor) for key, column in ISO_16269_6.items() for count, factor in column.items()],
)
def test_two_sided_factors_are_those_of_the_iso_standard(share, confidence, count, printed):
    assert ceil(two_sided_factor(count, share, confidence) * 1e4) / 1e4 == pytest.approx(printed, abs=1e-9)


@pytest.mark.parametrize(
    ("count", "share", "printed"),
    [(count, share, factor) for count, row in MEEKER_J_5B.items() for share, factor in zip(SHARES, row, strict=True)],
)
def test_two_sided_factors_are_those_of_meeker_hahn_and_escobar(count, share, printed):
    assert two_sided_factor(count, share, 0.95) == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.parametrize(
    ("count", "share", "confidence", "printed"),
    [
        (count, share, confidence, row[3 * group + column])
        for count, row in MONTGOMERY_XII.items()
        for group, confidence in enumerate((0.90, 0.95, 0.99))
        for column, share in enumerate(SHARES)
    ],
)
def test_one_sided_factors_are_those_of_montgomery_and_runger(count, share, confidence, printed):
    # Relative, because the table's own last digit for two pieces and 99 % confidence is not exact.
    assert one_sided_factor(count, share, confidence) == pytest.approx(printed, rel=3e-4, abs=5.1e-4)


def test_the_worked_example_of_the_nist_handbook():
    # NIST/SEMATECH e-Handbook 7.2.6.3: 43 wafers, 90 % of them, 99 % confidence. Its two-sided 2.217 and one-sided
    # 1.8752 are approximations (Howe 1969; Natrella 1963) and lie this close to the exact factors.
    assert two_sided_factor(43, 0.90, 0.99) == pytest.approx(2.217, abs=0.006)
    assert one_sided_factor(43, 0.90, 0.99) == pytest.approx(1.8752, abs=0.0015)


def test_a_published_example_with_the_exact_one_sided_factor():
    # Zaiontz, Real Statistics, tolerance interval example: 40 pieces, mean 10, deviation 0.2, 90 %, 99 % confidence.
    assert one_sided_factor(40, 0.90, 0.99) == pytest.approx(1.9017, abs=5e-5)
    sample = Sample(40, 10, 0.2)
    assert sample.at_least(0.90, 0.99) == pytest.approx(9.6197, abs=5e-5)
    covering = sample.covering(0.90, 0.99)
    assert (covering.least_nm, covering.greatest_nm) == pytest.approx((9.5496, 10.4504), abs=2e-4)


def test_ten_drawers_of_two_hundred_need_three_and_a_half_sigmas_and_not_two():
    ten = Sample(10, 482.6 * NM_PER_MM, 0.3 * NM_PER_MM)
    assert ten.covering(0.95, 0.95).greatest_nm == pytest.approx((482.6 + 3.393 * 0.3) * NM_PER_MM, rel=1e-6)
    assert ten.at_most(0.95, 0.95) == pytest.approx((482.6 + 2.911 * 0.3) * NM_PER_MM, rel=1e-6)


def test_mean_and_deviation_are_those_of_the_readings():
    sample = Sample.of((10 * NM_PER_MM, 12 * NM_PER_MM, 14 * NM_PER_MM))
    assert (sample.count, sample.mean_nm) == (3, 12 * NM_PER_MM)
    assert sample.deviation_nm == pytest.approx(2 * NM_PER_MM)


def test_one_reading_has_no_spread_to_speak_of():
    with pytest.raises(TooFewReadings, match="two readings"):
        Sample.of((482_600_000,))


@pytest.mark.parametrize(
    ("readings_nm", "mark_nm"),
    [
        ((480_000_000, 481_000_000), NM_PER_MM),
        ((480_500_000, 481_000_000), NM_PER_MM // 2),
        ((485_600_000, 486_100_000), NM_PER_MM // 10),
        ((19 * NM_PER_INCH, 19 * NM_PER_INCH + NM_PER_INCH // 16), NM_PER_INCH // 16),
        ((19 * NM_PER_INCH, 19 * NM_PER_INCH + NM_PER_INCH // 64), NM_PER_INCH // 64),
        ((480_000_001, 481_000_000), 0),
    ],
)
def test_the_marks_of_the_rule_show_in_the_readings(readings_nm, mark_nm):
    assert finest_mark_nm(readings_nm) == mark_nm


def test_readings_that_all_agree_leave_open_what_the_rule_could_not_show():
    agreeing = Sample.of((480 * NM_PER_MM,) * 5)
    assert agreeing.deviation_nm == pytest.approx(NM_PER_MM / sqrt(12))


@given(readings, st.integers(1, 20))
def test_the_order_of_readings_and_where_the_zero_lies_do_not_matter(readings_nm, shift_mm):
    sample = Sample.of(readings_nm)
    moved = Sample.of(tuple(nm + shift_mm * NM_PER_MM for nm in reversed(readings_nm)))
    assert moved.mean_nm - sample.mean_nm == pytest.approx(shift_mm * NM_PER_MM, abs=1)
    assert moved.deviation_nm == pytest.approx(sample.deviation_nm, rel=1e-6, abs=1)


@given(st.integers(2, 60), st.sampled_from(SHARES), st.sampled_from((0.90, 0.95, 0.99)))
def test_more_readings_never_ask_for_a_wider_allowance(count, share, confidence):
    assert two_sided_factor(count + 1, share, confidence) < two_sided_factor(count, share, confidence)
    assert one_sided_factor(count + 1, share, confidence) < one_sided_factor(count, share, confidence)
