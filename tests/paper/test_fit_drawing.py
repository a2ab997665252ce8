"""The drawing is to scale, stays inside its lines, invents nothing, and can be read."""

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paper_samples import (
    FITS,
    FOAM,
    NO_PITCH,
    PIN_CLEARS,
    REMEMBERED,
    SYSTEM,
    WIDE,
    dim,
    drawer_line,
    line_answer,
    rows_of,
    size,
    tray_fit,
)
from reading_svg import TAG, lines, parse, rects, sheet, texts

from service.core.consignment import Container, Line, Pins, TrayLot
from service.core.fit.check import check
from service.core.fit.findings import Verdict
from service.core.housing.tiling import tile
from service.core.measure.dimension import Dimension, Size
from service.core.standards import BoxShelf, Cabinet, DrawerStandard, StorageSystem, Support
from service.paper.drawn_trays import in_order, play_nm
from service.paper.fit_drawing import fit_drawing

SHELLS = replace(SYSTEM, drawers=(DrawerStandard("D1", "Deep drawer", inner=size(508, 762, 41.275)),))
LONG = "Käfer — Жуки — 甲虫 " + "Donaudampfschifffahrtsgesellschaft" * 12


def fitting():
    return drawer_line(), line_answer(Verdict.AS_IT_IS, FITS), SYSTEM


def too_wide():
    trays = (TrayLot(40, size(95, 110, 43), dim(2), FOAM, 900),)
    fit = tray_fit(4, 4, 95, 110, 13, 0.5, base=dim(2), bottom=FOAM)
    return (
        drawer_line(422.3, trays=trays),
        line_answer(Verdict.BY_THE_TRAY, WIDE, PIN_CLEARS, tray_fits=(fit,)),
        SYSTEM,
    )


def high(removable: bool | None = True):
    system = replace(SYSTEM, cabinets=(replace(SYSTEM.cabinets[0], runners_removable=removable),))
    pins = Pins(dim(52), dim(5))
    return drawer_line(417, 481, 110, pins=pins), line_answer(Verdict.AS_IT_IS, FITS), system


def turned():
    return drawer_line(470, 410, 76.2), line_answer(Verdict.AS_IT_IS, FITS, turned=True), SYSTEM


def two_hundred_trays():
    line = Line(Container.UNIT_TRAY, 200, "Small trays", outer=size(50.8, 38.1, 19.05))
    fit = tray_fit(10, 20, 50.8, 38.1, 150, count=200)
    return line, line_answer(Verdict.BY_THE_TRAY, NO_PITCH, container=Container.UNIT_TRAY, tray_fits=(fit,)), SHELLS


def four_trays():
    fit = tray_fit(2, 2, 195, 225, 3, 1, count=9)
    line = drawer_line(400, 450, 60, trays=(fit.trays,))
    return line, line_answer(Verdict.BY_THE_TRAY, WIDE, tray_fits=(fit,)), SYSTEM


def long_names():
    cabinet = replace(SYSTEM.cabinets[0], name=LONG)
    line = drawer_line(description=f"<script>alert(1)</script> & {LONG}\x00\x1b[2J")
    reason = replace(WIDE, reason=f"{LONG} {LONG} {LONG}")
    return line, line_answer(Verdict.BY_THE_TRAY, reason), replace(SYSTEM, cabinets=(cabinet,))


def half_measured():
    return Line(Container.DRAWER, 7, outer=size(420)), line_answer(Verdict.HOLD, NO_PITCH), SYSTEM


def unmeasured():
    bare = StorageSystem(cabinets=(Cabinet("C9", "Old cabinet", 1),))
    return Line(Container.DRAWER, 7), line_answer(Verdict.HOLD, NO_PITCH, otherwise=Verdict.RE_HOUSE), bare


def box():
    line = Line(Container.STORAGE_BOX, 9, outer=size(390, 260, 60), inner=size(380, 250, 52), trays=())
    system = StorageSystem(box_shelves=(BoxShelf("B", "Shelves", size(900, 400, 180)),))
    return line, line_answer(Verdict.AS_IT_IS, FITS, container=Container.STORAGE_BOX, cabinet=None), system


CASES = {
    case.__name__: case
    for case in (
        fitting, too_wide, high, turned, two_hundred_trays, four_trays, long_names, half_measured, unmeasured, box
    )
}  # fmt: skip


def drawn(case) -> str:
    return fit_drawing(*case(), system_name="North Museum, revision 3")


@pytest.fixture(params=CASES.values(), ids=CASES.keys())
def svg(request) -> str:
    return drawn(request.param)


def words(svg: str) -> str:
    return " ".join(text.text for text in texts(svg))


def test_a_drawing_is_well_formed_and_says_what_it_shows(svg):
    root = parse(svg)
    assert root.tag == f"{TAG}svg"
    assert root.find(f"{TAG}title").text
    assert root.find(f"{TAG}desc").text
    assert root.get("width").endswith("px")


def test_no_text_stands_on_another_or_runs_off_the_sheet(svg):
    page, written = sheet(svg), texts(svg)
    assert [text.text for text in written if not page.holds(text)] == []
    pairs = [(a.text, b.text) for i, a in enumerate(written) for b in written[i + 1 :] if a.overlaps(b)]
    assert pairs == []


def test_a_drawing_runs_nothing_and_fetches_nothing(svg):
    allowed = {"svg", "title", "desc", "g", "rect", "line", "circle", "polygon", "text", "pattern"}
    root = parse(svg)
    assert {node.tag.removeprefix(TAG) for node in root.iter()} <= allowed
    names = {name for node in root.iter() for name in node.attrib}
    assert not {name for name in names if name.startswith("on") or "href" in name}
    assert set(re.findall(r"url\(([^)]*)\)", svg)) <= {f"#{node.get('id')}" for node in root.iter() if node.get("id")}


def test_no_two_things_in_a_drawing_share_a_name(svg):
    names = re.findall(r' id="([^"]*)"', svg)
    assert len(names) == len(set(names))


def test_one_unit_of_the_sheet_is_one_millimetre_of_the_drawer():
    svg = drawn(fitting)
    front, plan = rects(svg, "drawer", "front-1")[0], rects(svg, "drawer", "plan-1")[0]
    assert front.own[2:] == (418.0, 76.2)
    assert plan.own[2:] == (418.0, 481.0)
    assert front.right - front.left == pytest.approx(418.0)
    assert plan.bottom - plan.top == pytest.approx(481.0)
    bar = [half for half in rects(svg, "scale-bar") if half.view.endswith("sheet")]
    assert sum(half.right - half.left for half in bar) == pytest.approx(100.0)


def test_runners_and_walls_stand_where_the_cabinet_has_them():
    svg = drawn(fitting)
    runners = [line for line in lines(svg, "runner") if line[1] == line[3]]
    assert {(x1, x2) for x1, _, x2, _ in runners} >= {(0.0, 9.5), (409.6, 419.1)}
    left, right = rects(svg, "wall", "front-1")
    assert right.left - left.right == pytest.approx(419.1)


def test_a_drawer_too_wide_by_3_2_mm_shows_3_2_mm_of_hatching():
    svg = drawn(too_wide)
    for view, height in (("front-1", 76.2), ("plan-1", 481.0)):
        (overlap,) = rects(svg, "overlap", view)
        assert overlap.own[0] == 419.1
        assert overlap.own[2:] == (pytest.approx(3.2), height)
    assert words(svg).count("3.2 mm too much") >= 3


def test_a_drawer_that_fits_shows_no_overlap():
    assert rects(drawn(fitting), "overlap") == []


def test_the_corner_is_enlarged_and_says_how_often():
    svg = drawn(too_wide)
    (overlap,) = rects(svg, "overlap", "corner-1")
    assert overlap.own[2] == pytest.approx(3.2)
    enlarged = int(re.search(r"corner, (\d+) × enlarged", words(svg))[1])
    assert overlap.right - overlap.left == pytest.approx(3.2 * enlarged)


def test_a_high_drawer_reaches_past_the_runner_that_is_taken_out():
    svg = drawn(high)
    assert "2 positions 165.1 mm" in words(svg)
    assert [line[1] for line in lines(svg, "runner-out")] == [-82.55, -82.55]
    assert "taken out" in words(svg)


def test_a_runner_that_stays_in_the_way_of_a_high_drawer_is_hatched():
    svg = fit_drawing(*high(removable=False))
    assert [overlap.own[2] for overlap in rects(svg, "overlap", "front-1")] == [9.5, pytest.approx(7.4)]
    assert "27.45 mm too much" in words(svg)
    assert "positions" not in words(svg)


def test_whether_the_runner_comes_out_is_unknown_where_nobody_said():
    assert "Whether runners can be taken out: unknown." in words(fit_drawing(*high(removable=None)))


def test_a_drawer_that_goes_in_turned_is_drawn_both_ways_round():
    svg = drawn(turned)
    assert rects(svg, "drawer", "plan-1")[0].own[2:] == (470.0, 410.0)
    assert rects(svg, "drawer", "turned-1")[0].own[2:] == (410.0, 470.0)
    assert rects(svg, "drawer", "front-1")[0].own[2] == 410.0


def test_a_measured_drawer_is_drawn_at_its_largest_in_the_narrowest_opening():
    opening = Dimension.measured((419_000_000, 420_000_000))
    cabinet = replace(SYSTEM.cabinets[0], opening=Size(opening, dim(482.6)))
    line = drawer_line()
    width = Dimension.measured((417_000_000, 418_500_000))
    line = replace(line, outer=replace(line.outer, width=width))
    svg = fit_drawing(line, line_answer(Verdict.AS_IT_IS, FITS), replace(SYSTEM, cabinets=(cabinet,)))
    assert rects(svg, "drawer", "front-1")[0].own[2] == 418.5
    assert "opening 419 mm" in words(svg)
    # The other way about for being carried: 420 - 417 = 3 mm of play on a ledge of 9.5 mm.
    assert "at worst carried on 6.5 mm" in words(svg)


def test_an_opening_that_was_never_measured_is_the_drawer_it_was_made_for_and_says_so():
    cabinet = replace(SYSTEM.cabinets[0], opening=Size(), made_for="D1")
    svg = fit_drawing(*fitting()[:2], replace(SYSTEM, cabinets=(cabinet,)))
    assert "never measured" in words(svg)
    assert "opening 419.1 mm" in words(svg)


def test_a_shelf_is_drawn_as_a_shelf_and_has_no_runners():
    cabinet = replace(SYSTEM.cabinets[0], support=Support.SHELF)
    svg = fit_drawing(*fitting()[:2], replace(SYSTEM, cabinets=(cabinet,)))
    assert lines(svg, "runner") == []
    assert (0.0, 419.1) in {(x1, x2) for x1, _, x2, _ in lines(svg, "shelf")}


def test_200_trays_lie_in_a_drawer_of_508_by_762_as_published():
    # Abbott 1954, American Seashells, p. 65: trays of 1 1/2 x 2 in, drawer 20 x 30 in inside; 10 x 20 = 200.
    svg = drawn(two_hundred_trays)
    (inside,) = rects(svg, "drawer-inside")
    trays = rects(svg, "tray")
    assert inside.own[2:] == (508.0, 762.0)
    assert len(trays) == 200
    assert sum(tray.own[2] * tray.own[3] for tray in trays) == pytest.approx(508 * 762)
    assert len(rects(svg, "reserve")) == 50


@pytest.mark.parametrize("case", [too_wide, two_hundred_trays, four_trays])
def test_no_tray_leaves_its_drawer_and_none_lies_on_another(case):
    svg = drawn(case)
    (inside,) = rects(svg, "drawer-inside")
    trays = rects(svg, "tray")
    assert trays
    assert all(inside.holds(tray) for tray in trays)
    corners = {(round(tray.own[0], 3), round(tray.own[1], 3)) for tray in trays}
    assert len(corners) == len(trays)


@settings(max_examples=25, deadline=None)
@given(st.integers(60, 250), st.integers(60, 250), st.integers(0, 4), st.booleans())
def test_whatever_the_tiling_every_tray_is_drawn_inside_the_drawer(width, depth, play, may_turn):
    nm = 1_000_000
    tiling = tile(450 * nm, 388 * nm, width * nm, depth * nm, play * nm, may_turn)
    fit = replace(tray_fit(1, 1, width, depth, tiling.count), tiling=tiling)
    system = replace(SYSTEM, drawers=(DrawerStandard("D1", "Drawer", inner=size(450, 388, 61)),))
    svg = fit_drawing(drawer_line(), line_answer(Verdict.BY_THE_TRAY, WIDE, tray_fits=(fit,)), system)
    (inside,) = rects(svg, "drawer-inside")
    trays = rects(svg, "tray")
    assert len(trays) == tiling.count
    assert all(inside.holds(tray) for tray in trays)


def test_the_last_places_are_the_ones_kept_free_to_grow():
    svg = drawn(four_trays)
    (reserve,) = rects(svg, "reserve")
    last = in_order(rows_of(2, 2, 195, 225, 1))[-1]
    assert reserve.own[0] == last.x_nm / 1_000_000
    assert "4 to a drawer; 3 used, 1 kept free to grow" in words(svg)


def test_the_play_is_the_gap_between_neighbours():
    assert play_nm(rows_of(3, 2, 50, 40, 0.5)) == 500_000
    assert play_nm(rows_of(10, 20, 50.8, 38.1)) == 0
    assert play_nm(rows_of(1, 1, 50, 40)) is None


def test_what_the_trays_leave_over_is_dimensioned():
    svg = drawn(four_trays)
    # 393.7 - (2 x 195 + 1) = 2.7 mm beside, 457.2 - (2 x 225 + 1) = 6.2 mm behind.
    assert "left over 2.7 mm" in words(svg)
    assert "left over 6.2 mm" in words(svg)


def test_the_section_stacks_base_bottom_and_pin_as_the_rule_reckons():
    # Definition: head = base + bottom - depth + pin = 2 + 6 - 6 + 38 = 40 mm above what the tray stands on,
    # which is the 7.94 mm cork lining of this drawer; 50.8 - 47.94 = 2.86 mm of air.
    svg = drawn(too_wide)
    ((_, point, _, head),) = lines(svg, "pin")
    assert point == pytest.approx(-(7.938 + 2), abs=0.001)
    assert head == pytest.approx(-(7.938 + 40), abs=0.001)
    assert {line[1] for line in lines(svg, "lid")} == {-50.8}
    assert "2.86 mm to spare" in words(svg)


def test_a_pin_too_long_shows_the_piece_that_passes_the_lid():
    svg = drawn(high)
    (overlap,) = rects(svg, "overlap", "pin-1-1")
    # 7.9375 - 5 + 52 = 54.9375 against 50.8.
    assert overlap.own[3] == pytest.approx(54.9375 - 50.8, abs=0.001)
    assert "4.14 mm too much" in words(svg)


def test_the_section_agrees_with_the_rule_on_the_same_line():
    line, _, _ = too_wide()
    (answer,) = check((line,), SYSTEM).lines
    (rule,) = [f for f in answer.findings if f.rule == "pin_under_lid" and f.route is Verdict.BY_THE_TRAY]
    assert rule.margin_nm == 2_862_500
    assert "2.86 mm to spare" in words(fit_drawing(line, answer, SYSTEM))


def test_an_unknown_length_is_written_and_not_drawn():
    svg = drawn(half_measured)
    assert rects(svg, "drawer", "front-1") == []
    assert rects(svg, "drawer", "plan-1") == []
    assert "drawer height unknown" in words(svg)
    assert "drawer depth unknown" in words(svg)
    assert "pin length unknown" in words(svg)


def test_where_nothing_is_known_nothing_is_invented():
    svg = drawn(unmeasured)
    for role in ("drawer", "wall", "tray", "overlap", "opening", "base"):
        assert rects(svg, role) == []
    assert lines(svg, "pin") == []
    for text in ("opening width unknown", "drawer width unknown", "pitch unknown", "clear height unknown"):
        assert text in words(svg)


def test_a_figure_from_memory_is_marked_and_explained():
    line = replace(drawer_line(), outer=Size(REMEMBERED, dim(481), dim(76)))
    svg = fit_drawing(line, line_answer(Verdict.HOLD, NO_PITCH), SYSTEM)
    assert "drawer 422.3 mm*" in words(svg)
    assert "* from memory" in words(svg)
    assert "from memory" not in words(drawn(fitting))


def test_what_people_wrote_is_shown_and_never_obeyed():
    svg = drawn(long_names)
    assert "<script>" not in svg
    assert "<script>alert(1)</script> &" in words(svg)
    assert "Жуки" in words(svg)
    assert "\x1b" not in svg


def test_the_title_strip_names_line_verdict_and_reason():
    text = words(drawn(too_wide))
    for part in ("Line 1: 24 × drawer", "by the tray", "422.3 mm wide", "North Museum, revision 3"):
        assert part in text


def test_very_large_things_take_a_larger_sheet_and_keep_their_scale():
    line = drawer_line(4000, 3000, 800)
    svg = fit_drawing(line, line_answer(Verdict.RE_HOUSE, WIDE), SYSTEM)
    drawer = rects(svg, "drawer", "plan-1")[0]
    assert drawer.right - drawer.left == pytest.approx(4000)
    assert sheet(svg).holds(drawer)


def test_the_same_answer_gives_the_same_drawing():
    assert drawn(too_wide) == drawn(too_wide)


def test_trays_of_a_box_or_drawer_share_one_section_when_they_are_alike():
    line, answer, system = too_wide()
    alike = replace(line, trays=(*line.trays, *line.trays))
    assert len(lines(fit_drawing(alike, answer, system), "pin")) == 1
    thicker = replace(line.trays[0], base=dim(4))
    assert len(lines(fit_drawing(replace(line, trays=(*line.trays, thicker)), answer, system), "pin")) == 2


sides = st.one_of(st.none(), st.integers(20, 900).map(float))
small = st.one_of(st.none(), st.floats(0.5, 40).map(lambda mm: round(mm, 1)))


@settings(max_examples=80, deadline=None)
@given(
    outer=st.tuples(sides, sides, sides), opening=st.tuples(sides, sides), pitch=sides, ledge=small, heights=st.data()
)
def test_whatever_the_sizes_nothing_is_written_over_anything_else(outer, opening, pitch, ledge, heights):
    known = [None if mm is None else dim(mm) for mm in (pitch, ledge)]
    cabinet = replace(SYSTEM.cabinets[0], opening=size(*opening), pitch=known[0], runner_ledge=known[1])
    base, bottom, depth, length, rim, lining = (heights.draw(small) for _ in range(6))
    pins = Pins(None if length is None else dim(length), None if depth is None else dim(depth))
    foam = replace(FOAM, thickness=None if bottom is None else dim(bottom))
    lot = TrayLot(40, size(90, 60, rim), None if base is None else dim(base), foam)
    standard = replace(SYSTEM.drawers[0], lining=replace(FOAM, thickness=None if lining is None else dim(lining)))
    line = replace(drawer_line(trays=(lot,), pins=pins), outer=size(*outer))
    answer = line_answer(Verdict.BY_THE_TRAY, WIDE, turned=heights.draw(st.booleans()))
    svg = fit_drawing(line, answer, replace(SYSTEM, cabinets=(cabinet,), drawers=(standard,)))
    page, written = sheet(svg), texts(svg)
    assert [text.text for text in written if not page.holds(text)] == []
    assert [(a.text, b.text) for i, a in enumerate(written) for b in written[i + 1 :] if a.overlaps(b)] == []
