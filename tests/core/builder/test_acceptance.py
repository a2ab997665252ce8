"""The boxes of accepted sizes say what the fit check says."""

from builders import (
    a_bottom,
    a_cabinet,
    a_drawer_standard,
    a_system,
    a_tray_series,
    a_tray_standard,
    mm,
    remembered,
    size,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.builder.acceptance import acceptances
from service.core.consignment import Container, Line, TrayLot
from service.core.fit.case import Case
from service.core.fit.check import RULES
from service.core.fit.findings import Outcome, Verdict
from service.core.fit.routes import status_of
from service.core.measure.dimension import Dimension, Size
from service.core.standards import Doorway, StorageSystem, Support

MM = 1_000_000


def nm(*lengths):
    return Size(*map(Dimension, lengths))


def holding(system, verdict, sizes):
    """Whose boxes hold a size. That there is never more than one is part of what is tested."""
    found = [one for one in acceptances(system) if one.verdict is verdict and one.box.holds(sizes)]
    assert len(found) <= 1
    return found[0] if found else None


def goes_in(system, sizes, code=None, way=None):
    """What the rules on a drawer in a cabinet say of one empty drawer."""
    case = Case(0, Line(Container.DRAWER, 1, outer=nm(*sizes)), system)
    return any(
        status_of(tuple(f for rule in RULES.in_a_cabinet for f in rule(case, cabinet, turned)))
        in {Outcome.PASS, Outcome.CAUTION}
        for cabinet in system.cabinets
        for turned in (False, True)
        if code in (None, cabinet.code) and way in (None, turned)
    )


def trays_go_in(system, sizes, code=None):
    """What the rules on trays in a drawer say, the pins and the foam left aside."""
    case = Case(0, Line(Container.DRAWER, 1, trays=(TrayLot(1, nm(*sizes)),)), system)
    tray_in_drawer, *_ = RULES.in_a_drawer
    return any(
        status_of(tray_in_drawer(case, 0, drawer)) in {Outcome.PASS, Outcome.CAUTION}
        for drawer in system.drawers
        if code in (None, drawer.code)
    )


lengths = st.sampled_from([390, 400, 410, 412, 420, 450, 452, 460])
heights = st.sampled_from([60, 70, 80])


def perhaps(strategy):
    return st.none() | strategy


@st.composite
def dimensions(draw, values):
    value = draw(values)
    kind = draw(st.sampled_from(["plain", "plain", "tolerance", "readings", "memory"]))
    if kind == "memory":
        return remembered(value)
    if kind == "tolerance":
        return Dimension(value * MM, tolerance_nm=MM)
    return Dimension.measured((value * MM, (value + 1) * MM)) if kind == "readings" else mm(value)


@st.composite
def cabinets(draw, code):
    doorway = draw(perhaps(st.sampled_from(list(Doorway))))
    narrower = doorway is Doorway.NARROWER
    return a_cabinet(
        code=code,
        opening=Size(
            draw(perhaps(dimensions(lengths))),
            draw(perhaps(dimensions(lengths))),
            draw(perhaps(dimensions(st.sampled_from([50, 150, 200])))),
        ),
        pitch=draw(perhaps(dimensions(heights))),
        positions_per_column=draw(perhaps(st.sampled_from([1, 2, 24]))),
        support=draw(perhaps(st.sampled_from(list(Support)))),
        runner_ledge=draw(perhaps(dimensions(st.sampled_from([0, 5, 12])))),
        runners_removable=draw(perhaps(st.booleans())),
        doorway=doorway,
        door_width=draw(perhaps(dimensions(lengths))) if narrower else None,
        door_height=draw(perhaps(dimensions(heights))) if narrower else None,
        made_for=draw(st.sampled_from([None, "house"])),
        free_positions=draw(perhaps(st.integers(0, 3))),
    )


@st.composite
def systems(draw):
    house = a_drawer_standard(outer=Size(draw(perhaps(dimensions(lengths))), mm(400), mm(70)))
    return a_system(
        cabinets=tuple(draw(cabinets(code)) for code in ("a", "b")[: draw(st.integers(0, 2))]), drawers=(house,)
    )


#: Sizes at, and a nanometre beside, everything that the systems above are made of.
def beside(*values_mm):
    """These lengths, and a nanometre less and more."""
    return st.builds(lambda value, off: value * MM + off, st.sampled_from(values_mm), st.integers(-1, 1))


edges = beside(*range(385, 466))
tops = beside(50, *range(58, 82), 119, 139, 140, 160, 200)


@settings(max_examples=600, deadline=None)
@given(systems(), edges, edges, tops)
def test_a_drawer_is_taken_exactly_where_the_rules_of_the_fit_check_say_so(system, width, depth, height):
    sizes = (width, depth, height)
    found = holding(system, Verdict.AS_IT_IS, sizes)
    assert (found is not None) == goes_in(system, sizes)
    if found:
        assert goes_in(system, sizes, found.into, found.turned)


@st.composite
def drawers(draw, code):
    lined = draw(st.booleans())
    return a_drawer_standard(
        code=code,
        inner=Size(
            draw(perhaps(dimensions(lengths))), draw(perhaps(dimensions(lengths))), draw(perhaps(dimensions(heights)))
        ),
        lining=a_bottom(thickness=draw(perhaps(dimensions(st.just(6))))) if lined else None,
    )


tray_sides = beside(1, 4, 5, 49, 100, 390, 400, 412, 450)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(drawers("x"), max_size=1).map(tuple),
    perhaps(st.sampled_from([0, 500_000])),
    st.booleans(),
    st.tuples(tray_sides, tray_sides, tops),
)
def test_trays_are_taken_where_the_fit_check_lays_them(drawer, play_nm, may_turn, tray):
    series = a_tray_series(play_nm=play_nm, may_turn=may_turn)
    system = a_system(drawers=drawer, tray_series=(series,))
    found = holding(system, Verdict.BY_THE_TRAY, tray)
    if found:
        assert trays_go_in(system, tray, found.into)
    elif min(tray[:2]) > 10 * MM:
        assert not trays_go_in(system, tray)


def test_of_several_series_the_one_that_asks_for_most_play_is_believed():
    loose = a_tray_series(code="loose", play_nm=2 * MM, trays=(a_tray_standard(outer=size(60, 60, 40)),))
    system = a_system(tray_series=(a_tray_series(), loose))
    assert holding(system, Verdict.BY_THE_TRAY, (448 * MM, 386 * MM, 40 * MM))
    assert not holding(system, Verdict.BY_THE_TRAY, (449 * MM, 386 * MM, 40 * MM))


def test_of_two_cabinets_the_one_with_more_free_positions_is_named():
    few, many = a_cabinet(code="few", free_positions=2), a_cabinet(code="many", free_positions=90)
    found = holding(a_system(cabinets=(few, many)), Verdict.AS_IT_IS, (482_600_000, 419_100_000, 76_200_000))
    assert (found.into, found.free_positions, found.pitch_nm) == ("many", 90, 82_550_000)


def test_a_system_that_says_nothing_takes_nothing():
    assert acceptances(StorageSystem()) == ()
