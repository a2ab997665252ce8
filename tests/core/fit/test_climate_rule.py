"""Does a drawer that fits today still fit in the dampest month?"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.consignment import Container, Line
from service.core.fit.case import Case
from service.core.fit.climate import Setting, climate_rule
from service.core.fit.findings import Outcome
from service.core.fit.make_up import FRAMED_DRAWER, MakeUp, make_up_of, wall_thickness_nm
from service.core.fit.seasons import middle_of, seasons
from service.core.measure.dimension import Dimension, Grade, KnownAs, Size
from service.core.measure.growth import Part
from service.core.measure.lengths import NM_PER_MM
from service.core.measure.moisture import Air
from service.core.measure.movement import Direction, Sawing
from service.core.standards import Axis, Cabinet, RoomClimate, SetPoint, StorageSystem

DRY_HOUSE = SetPoint(20, 45)
STORE = RoomClimate(SetPoint(20, 45, 2), SetPoint(24, 60, 8))
FLAT_SAWN = MakeUp(sawing=Sawing.FLAT)


def mm(value):
    return Dimension(round(value * NM_PER_MM))


def asked(
    height=76.2,
    pitch=76.6,
    *,
    wood="yellow-poplar",
    climate=STORE,
    width=457.2,
    opening=460.0,
    turned=False,
    **setting,
):
    outer = Size(
        mm(width), mm(420), height if isinstance(height, Dimension) else None if height is None else mm(height)
    )
    line = Line(Container.DRAWER, 12, outer=outer, wood=wood)
    cabinet = Cabinet("steel", "Steel cabinet", 1, opening=Size(mm(opening), mm(425)), pitch=mm(pitch))
    told = Setting(**{"sender": DRY_HOUSE, "make_up": FLAT_SAWN, **setting})
    return climate_rule(Case(0, line, StorageSystem((cabinet,), climate=climate)), cabinet, turned, told)


def answer(*args, **kwargs):
    (finding,) = asked(*args, **kwargs)
    return finding


def by_what(finding):
    return {comparison.what: comparison for comparison in finding.comparisons}


def test_a_drawer_that_fits_today_and_binds_in_august_is_a_caution_with_a_date():
    finding = answer(pitch=76.6)
    assert finding.outcome is Outcome.CAUTION
    assert "height fits today and binds in July to September" in finding.reason
    # The worked example: 0.525 mm of growth where 0.4 mm are left.
    assert by_what(finding)["height in August"].margin_nm == pytest.approx(-125_000, abs=1_000)
    assert finding.remedy is not None
    assert "Plane" in finding.remedy


def test_sizes_and_margins_stand_month_by_month():
    heights = [c for what, c in by_what(answer()).items() if what.startswith("height")]
    assert len(heights) == 12
    assert heights[1].value_nm == 76_200_000
    assert heights[7].value_nm == max(one.value_nm for one in heights)
    assert all(one.margin_nm == one.limit_nm - one.value_nm for one in heights)


def test_the_same_drawer_with_a_millimetre_more_passes():
    finding = answer(pitch=77.6)
    assert (finding.outcome, finding.deciding) == (Outcome.PASS, True)
    assert "Tightest is the height in August" in finding.reason


def test_a_drawer_that_binds_the_whole_year_fails():
    damp = RoomClimate(SetPoint(20, 60, 2), SetPoint(20, 70, 8))
    finding = answer(pitch=76.4, climate=damp)
    assert finding.outcome is Outcome.FAIL
    assert "binds in every month" in finding.reason


def test_between_equal_rooms_nothing_moves():
    finding = answer(pitch=76.2, climate=RoomClimate(SetPoint(20, 45, 2), SetPoint(20, 45, 8)))
    assert finding.outcome is Outcome.PASS
    assert finding.margin_nm == 0


def test_from_a_damp_room_to_a_dry_one_it_only_gets_looser():
    finding = answer(
        pitch=76.2, sender=SetPoint(24, 60), climate=RoomClimate(SetPoint(20, 40, 2), SetPoint(20, 45, 8))
    )
    assert finding.outcome is Outcome.PASS
    assert finding.margin_nm > 0


def test_the_width_runs_along_the_grain_and_hardly_moves():
    widths = [c for what, c in by_what(answer()).items() if what.startswith("width")]
    (width,) = widths
    # 0.034 to 0.069 mm along the front, 0.096 to 0.175 mm for the two sides of 12.7 mm.
    assert width.value_nm - 457_200_000 == pytest.approx(244_000, abs=2_000)


def test_a_drawer_of_plywood_is_told_and_not_decided_since_its_thickness_is_from_memory():
    finding = answer(wood="spruce plywood", pitch=76.5)
    assert (finding.outcome, finding.deciding, finding.rests_on_memory) == (Outcome.PASS, False, True)
    assert "Plywood" in finding.reason


def test_an_unknown_wood_is_unknown_and_named():
    finding = answer(wood="obeche")
    assert (finding.outcome, finding.missing) == (Outcome.UNKNOWN, ("lines[0].wood",))
    assert "obeche" in finding.reason


def test_without_a_climate_of_the_receiver_nothing_is_known():
    finding = answer(wood=None, climate=RoomClimate())
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("lines[0].wood", "system.climate.dampest")
    assert not finding.deciding


def test_without_the_senders_room_what_fits_from_the_driest_air_passes_all_the_same():
    finding = answer(pitch=78, sender=None)
    assert finding.outcome is Outcome.PASS
    assert "The sender's room was not stated" in finding.reason


def test_without_the_senders_room_what_might_bind_is_unknown():
    finding = answer(pitch=77, sender=None)
    assert (finding.outcome, finding.missing) == (Outcome.UNKNOWN, ("lines[0].sender_climate",))
    assert "might bind" in finding.reason
    assert answer(pitch=77).outcome is Outcome.PASS


def test_a_damp_cellar_outside_the_equation_is_widened_and_says_so():
    finding = answer(pitch=80, climate=RoomClimate(SetPoint(20, 45, 2), SetPoint(14, 85, 8)))
    assert finding.outcome is Outcome.PASS
    assert "widened" in finding.reason


@pytest.mark.parametrize("cellar", [SetPoint(14, 97, 8), SetPoint(14, 100, 8)])
def test_beyond_what_was_published_there_is_no_figure(cellar):
    finding = answer(pitch=90, climate=RoomClimate(SetPoint(20, 45, 2), cellar))
    assert (finding.outcome, finding.deciding) == (Outcome.UNKNOWN, False)
    assert "in August" in finding.reason
    assert by_what(finding)["width in August"].margin_nm is None
    assert by_what(finding)["width in February"].margin_nm is not None


def test_a_store_below_freezing_is_unknown_and_does_not_break_the_check():
    finding = answer(climate=RoomClimate(SetPoint(-10, 40, 2), SetPoint(-20, 60, 8)))
    assert (finding.outcome, finding.missing) == (Outcome.UNKNOWN, ("system.climate.dampest",))


def test_a_dimension_that_does_not_fit_today_is_left_to_the_other_rules():
    finding = answer(height=76.2, pitch=77.6, opening=450)
    assert not [what for what in by_what(finding) if what.startswith("width")]
    assert asked(height=None, opening=450, turned=False, width=470)[0].comparisons


def test_a_size_from_memory_decides_nothing():
    remembered = Dimension(round(76.2 * NM_PER_MM), KnownAs.HANDBOOK, grade=Grade.FROM_MEMORY)
    finding = answer(height=remembered)
    assert (finding.outcome, finding.deciding) == (Outcome.UNKNOWN, False)
    assert "lines[0].outer.height" in finding.missing


def test_a_high_drawer_has_the_room_of_all_its_positions():
    finding = answer(height=110, pitch=60)
    assert by_what(finding)["height in August"].limit_nm == 120_000_000


def test_a_wooden_case_moves_with_the_room_and_a_steel_one_hardly():
    wooden, steel, still = (answer(cabinet_of=material) for material in ("oak", "steel", None))
    limits = [by_what(one)["height in August"].limit_nm for one in (still, steel, wooden)]
    assert limits[0] == 76_600_000
    assert 0 < limits[1] - limits[0] < 4_000
    assert limits[2] > limits[0]


def test_quarter_sawn_sides_move_less_than_flat_sawn_ones():
    flat, quarter = (answer(pitch=77.6, make_up=MakeUp(sawing=sawing)).margin_nm for sawing in Sawing)
    assert quarter > flat


def test_a_year_from_twelve_monthly_values_goes_before_the_two_set_points():
    monthly = tuple(SetPoint(20, 40 + month) for month in range(12))
    year = seasons(STORE, monthly)
    assert [season.air.relative_humidity_percent for season in year] == list(range(40, 52))
    assert middle_of(year) == Air(20, 45.5)
    assert len(seasons(STORE, monthly[:11])) == 12
    assert seasons(STORE, monthly[:11])[7].air == Air(24, 60)


def test_two_set_points_without_months_are_the_two_ends_of_a_year():
    year = seasons(RoomClimate(SetPoint(20, 40), SetPoint(20, 60)))
    assert [season.called for season in year] == ["at the driest", "at the dampest"]
    assert [season.called for season in seasons(RoomClimate(None, SetPoint(20, 60)))] == ["at the dampest"]
    assert seasons(RoomClimate(SetPoint(20, 40), None)) == ()
    finding = answer(pitch=76.6, climate=RoomClimate(SetPoint(20, 45), SetPoint(24, 60)))
    assert "binds at the dampest" in finding.reason


def test_what_makes_up_a_dimension_follows_from_the_boards():
    width = FRAMED_DRAWER.parts(Axis.WIDTH, 457_200_000, 12_700_000)
    assert width == (Part(431_800_000, Direction.ALONG), Part(25_400_000, Direction.THICKNESS))
    assert FRAMED_DRAWER.parts(Axis.HEIGHT, 76_200_000, 12_700_000) == (Part(76_200_000, Direction.ACROSS),)


def test_the_wall_is_what_outer_and_inner_width_leave_or_what_is_usual():
    both = Line(Container.DRAWER, 1, outer=Size(mm(500)), inner=Size(mm(478)))
    assert wall_thickness_nm(both, FRAMED_DRAWER) == 11_000_000
    assert wall_thickness_nm(Line(Container.DRAWER, 1), FRAMED_DRAWER) == 12_700_000
    assert wall_thickness_nm(both, MakeUp(wall_nm=9_000_000)) == 9_000_000


def test_everything_the_rule_is_told_comes_from_the_line_and_the_system():
    monthly = tuple(SetPoint(20, 40 + month) for month in range(12))
    line = Line(Container.DRAWER, 1, sender_climate=DRY_HOUSE, along_grain=(Axis.HEIGHT,), sawing=Sawing.QUARTER)
    cabinet = Cabinet("oak", "Oak cabinet", 1, material="oak")
    case = Case(0, line, StorageSystem((cabinet,), climate=RoomClimate(monthly=monthly)))
    made = MakeUp((Axis.HEIGHT,), sawing=Sawing.QUARTER)
    assert Setting.of(case, cabinet) == Setting(DRY_HOUSE, monthly, made, "oak")
    assert make_up_of(Line(Container.DRAWER, 1)) == FRAMED_DRAWER


@given(st.floats(30, 70), st.floats(30, 70), st.floats(30, 70))
def test_a_drier_sender_never_leaves_more_room(first, second, dampest):
    drier, damper = sorted((first, second))
    climate = RoomClimate(SetPoint(20, 30, 2), SetPoint(20, dampest, 8))
    from_drier, from_damper = (
        answer(pitch=80, opening=470, climate=climate, sender=SetPoint(20, humidity)) for humidity in (drier, damper)
    )
    assert from_drier.margin_nm <= from_damper.margin_nm
