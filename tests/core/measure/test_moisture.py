"""Equilibrium moisture against Wood Handbook table 4-2 (FPL-GTR-190, 2010, and FPL-GTR-282, 2021)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.handbook.timber import moisture_table
from service.core.measure.dimension import Grade
from service.core.measure.moisture import Air, NoSuchAir, equilibrium_moisture_percent, humidity_for

#: Table 4-2 as it stands in the handbook of the service: cells that were read in print, and some from memory.
CELLS = [(*place, cell) for place, (cell, _) in moisture_table().items()]

airs = st.builds(Air, st.floats(-1, 50), st.floats(5, 95))


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) * 5 / 9


def test_nearly_all_of_the_table_was_read_in_print():
    grades = [grade for _, grade in moisture_table().values()]
    assert len(grades) == 209
    assert grades.count(Grade.PUBLISHED) == 193


@pytest.mark.parametrize(("fahrenheit", "humidity", "printed"), CELLS)
def test_the_equation_reproduces_each_cell_of_the_handbooks_table(fahrenheit, humidity, printed):
    assert equilibrium_moisture_percent(Air(celsius(fahrenheit), humidity)) == pytest.approx(printed, abs=0.06)


@pytest.mark.parametrize(
    ("temperature", "humidity", "quoted"),
    [
        (21.1, 5, 1.3),
        (21.1, 30, 6.2),
        (21.1, 50, 9.2),
        (21.1, 75, 14.4),
        (21.1, 85, 17.9),
        (21.1, 95, 23.9),
        (-1.1, 75, 14.9),
        (-1.1, 95, 24.3),
        (37.8, 50, 8.7),
        (37.8, 90, 19.5),
    ],
)
def test_it_gives_the_values_that_the_2021_handbook_quotes(temperature, humidity, quoted):
    assert equilibrium_moisture_percent(Air(temperature, humidity)) == pytest.approx(quoted, abs=0.06)


@pytest.mark.parametrize(
    ("temperature", "humidity", "worked_out"),
    [
        (20, 30, 6.188),
        (20, 45, 8.485),
        (20, 50, 9.271),
        (20, 65, 11.996),
        (24, 60, 10.868),
        (16, 40, 7.796),
        (22, 45, 8.437),
        (5, 85, 18.47),
        (26.4, 78, 15.073),
    ],
)
def test_it_agrees_with_a_second_reckoning_of_the_same_equation(temperature, humidity, worked_out):
    # Worked out apart from this code, from the same printed constants: guards the digits, not the physics.
    assert equilibrium_moisture_percent(Air(temperature, humidity)) == pytest.approx(worked_out, abs=5e-4)


def test_it_is_not_the_equation_with_the_misprints_that_go_about():
    # A circulating list has 11.7 % at 60 °F and 65 %, and 15.5 % at 70 °F and 80 %; the handbook has 12.1 and 16.0.
    assert equilibrium_moisture_percent(Air(celsius(60), 65)) == pytest.approx(12.1, abs=0.06)
    assert equilibrium_moisture_percent(Air(celsius(70), 80)) == pytest.approx(16.0, abs=0.06)


def test_five_per_cent_of_humidity_are_about_one_per_cent_of_moisture():
    # The cabinet makers' rule of thumb (Woodworking Network, FDMC magazine), for rooms between 30 and 70 %.
    swing = equilibrium_moisture_percent(Air(20, 70)) - equilibrium_moisture_percent(Air(20, 30))
    assert 40 / swing == pytest.approx(5, abs=1)


@given(st.floats(-1, 50), st.floats(5, 94))
def test_damper_air_never_makes_wood_drier(temperature, humidity):
    drier, damper = Air(temperature, humidity), Air(temperature, humidity + 1)
    assert equilibrium_moisture_percent(damper) > equilibrium_moisture_percent(drier)


@given(airs)
def test_the_humidity_for_a_moisture_leads_back_to_it(air):
    moisture = equilibrium_moisture_percent(air)
    assert humidity_for(moisture, air.temperature_c) == pytest.approx(air.relative_humidity_percent, abs=1e-6)


def test_the_linear_range_of_the_handbook_is_a_room_of_29_to_73_per_cent():
    assert humidity_for(6, 20) == pytest.approx(28.81, abs=0.01)
    assert humidity_for(14, 20) == pytest.approx(73.39, abs=0.01)


@pytest.mark.parametrize(("temperature", "humidity"), [(20, -1), (20, 101), (-40, 50), (200, 50)])
def test_air_that_no_room_has_is_refused(temperature, humidity):
    with pytest.raises(NoSuchAir):
        Air(temperature, humidity)


def test_a_moisture_that_no_air_gives_is_refused():
    with pytest.raises(NoSuchAir, match="40"):
        humidity_for(40, 20)


@pytest.mark.parametrize(("humidity", "tabulated"), [(4, False), (5, True), (95, True), (96, False)])
def test_air_beyond_the_table_says_so(humidity, tabulated):
    assert Air(20, humidity).is_tabulated is tabulated
