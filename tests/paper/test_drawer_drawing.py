"""One drawer of a plan on paper: to scale, complete, legible, and true to the plan."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_samples import (
    HOUSE,
    LONG,
    MM,
    ROGUE,
    beetles,
    may_turn,
    named,
    one_size,
    planned,
    tiny,
    trays,
    two_types,
)
from reading_svg import TAG, parse, rects, sheet, texts

from service.core.housing.effort import QUICK
from service.core.housing.plan import DrawerType, HousingRequest
from service.core.housing.planning import plan_housing
from service.paper.drawer_drawing import drawer_drawing
from service.paper.numbered_drawers import numbered
from service.paper.room_left import gap_for_another

CASES = [beetles(), beetles(reserve=0), one_size(), tiny(), may_turn(), two_types(), named(LONG)]


def drawn(request: HousingRequest, layout: int = 1, **more) -> str:
    return drawer_drawing(request, planned(request), layout, **more)


def all_drawn(request: HousingRequest):
    for shown in numbered(planned(request)):
        yield shown.layout, drawn(request, shown.number)


def words(svg: str) -> str:
    return " ".join(text.text for text in texts(svg))


@pytest.mark.parametrize("request_", CASES)
def test_every_tray_stands_in_its_place_to_the_thousandth_of_a_millimetre(request_):
    for layout, svg in all_drawn(request_):
        shown = sorted(tray.own for tray in rects(svg, "tray"))
        places = (placed.place for placed in layout.placed)
        asked = sorted((p.x_nm / MM, -(p.y_nm + p.depth_nm) / MM, p.width_nm / MM, p.depth_nm / MM) for p in places)
        assert shown == [pytest.approx(place, abs=0.001) for place in asked]


@pytest.mark.parametrize("request_", CASES)
def test_trays_lie_inside_and_out_of_the_reserve(request_):
    for layout, svg in all_drawn(request_):
        (inside,) = rects(svg, "drawer-inside")
        reserve = rects(svg, "reserve")
        assert len(reserve) == (layout.reserve is not None)
        for tray in rects(svg, "tray"):
            assert inside.holds(tray)
            assert not any(tray.overlaps(strip) for strip in reserve)


def test_a_millimetre_is_a_millimetre_of_the_sheet():
    (inside,) = rects(drawn(beetles()), "drawer-inside")
    (bar, other_half) = rects(drawn(beetles()), "scale-bar")
    assert (inside.right - inside.left, inside.bottom - inside.top) == pytest.approx((430, 405))
    assert other_half.right - bar.left == pytest.approx(100)


def test_the_reserve_is_hatched_and_has_its_share_of_the_drawer():
    svg = drawn(beetles(reserve=10))
    (strip,) = rects(svg, "reserve")
    assert strip.own[2] * strip.own[3] == pytest.approx(430 * 405 / 10)
    (hatched,) = [node for node in parse(svg).iter(f"{TAG}rect") if node.get("class") == "reserve"]
    assert hatched.get("fill").startswith("url(#")
    assert "reserve 40.5 mm" in words(svg)
    assert "kept free to grow" in words(svg)


def test_without_a_reserve_none_is_drawn_or_explained():
    assert "kept free to grow" not in words(drawn(beetles(reserve=0)))


def test_what_is_left_over_is_dimensioned():
    # The second drawer has one tray of 105 x 98 at the front left: 430 - 105, and 405 - 40.5 - 98.
    svg = drawn(beetles(), 2)
    assert "left over 325 mm" in words(svg)
    assert "left over 266.5 mm" in words(svg)


def test_the_largest_tray_that_still_goes_in_is_named():
    # Beside the tray and its play of 1 mm, less the new tray's own play: 430 - 106 - 1, and 405 - 40.5 - 1.
    svg = drawn(beetles(), 2)
    assert "One more tray of up to 323 × 363.5 mm would go in, and the reserve stays free." in words(svg)


def test_a_full_drawer_offers_no_room():
    assert "would go in" not in words(drawn(one_size()))


def test_a_gap_is_no_room_for_trays_that_the_lid_would_not_close_over():
    high = trays("A", 105, 98, 1, height_nm=60 * MM)
    plan = planned(one_size(1))
    assert gap_for_another(HousingRequest((high,), (HOUSE,)), plan.layouts[0], HOUSE) is None


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(30, 220), st.integers(30, 220)), min_size=1, max_size=5), st.integers(0, 20))
def test_no_free_place_is_larger_than_the_one_named(sizes, reserve):
    asked = tuple(trays(f"T{at}", *size, 1) for at, size in enumerate(sizes))
    request = HousingRequest((*asked, trays("small", 10, 10, 0)), (HOUSE,), Decimal(reserve))
    layout = planned(request).layouts[0]
    taken = [
        (p.x_nm, p.y_nm, p.x_nm + p.width_nm, p.y_nm + p.depth_nm) for p in (each.place for each in layout.placed)
    ]
    if (strip := layout.reserve) is not None:
        taken.append((strip.x_nm, strip.y_nm, strip.x_nm + strip.width_nm, strip.y_nm + strip.depth_nm))
    gap = gap_for_another(request, layout, HOUSE)
    lefts, fronts = {0} | {box[2] for box in taken}, {0} | {box[3] for box in taken}
    rights = {HOUSE.inner_width_nm} | {box[0] for box in taken}
    backs = {HOUSE.inner_depth_nm} | {box[1] for box in taken}
    free = [
        (right - left) * (back - front)
        for left in lefts for right in rights for front in fronts for back in backs
        if right - left >= 10 * MM and back - front >= 10 * MM
        and not any(left < b[2] and b[0] < right and front < b[3] and b[1] < back for b in taken)
    ]  # fmt: skip
    assert (gap.width_nm * gap.depth_nm if gap else None) == max(free, default=None)


def test_turned_trays_have_their_writing_turned_with_them():
    svg = drawn(may_turn())
    turned = sum(placed.place.turned for placed in planned(may_turn()).layouts[0].placed)
    upright = [node for node in parse(svg).iter(f"{TAG}text") if "rotate" in node.get("transform", "")]
    assert turned > 0
    assert len([node for node in upright if node.text == "Dytiscus"]) == turned
    assert f"{turned} of 4 trays stand turned" in words(svg)


def test_the_list_counts_the_trays_of_this_drawer():
    svg = drawn(one_size())
    key = [text.text for text in texts(svg) if "key" in text.view]
    assert key[-1] == "16"
    assert "16 trays" in words(svg)
    assert "Drawers 1–3" in words(svg)
    assert "3 drawers alike" in words(svg)


def test_two_hundred_trays_are_all_there_and_all_numbered():
    svg = drawn(tiny())
    assert len(rects(svg, "tray")) == 200
    inside = [text for text in texts(svg) if "drawer-1" in text.view]
    assert len([text for text in inside if text.text == "1"]) == 200


@pytest.mark.parametrize("request_", CASES)
def test_what_is_written_in_a_tray_stays_in_it(request_):
    for _, svg in all_drawn(request_):
        (inside,) = rects(svg, "drawer-inside")
        shown = rects(svg, "tray")
        written = [
            text for text in texts(svg) if inside.holds(text) and text.text != "free" and "mm" not in text.text
        ]
        assert [text.text for text in written if not any(tray.holds(text, 0.5) for tray in shown)] == []


@pytest.mark.parametrize("request_", CASES)
def test_nothing_is_written_over_anything_else_or_off_the_sheet(request_):
    for _, svg in all_drawn(request_):
        is_legible(svg)


def is_legible(svg: str) -> None:
    page, written = sheet(svg), texts(svg)
    assert [text.text for text in written if not page.holds(text)] == []
    assert [(a.text, b.text) for i, a in enumerate(written) for b in written[i + 1 :] if a.overlaps(b)] == []


side = st.integers(40, 900)


@settings(max_examples=60, deadline=None)
@given(inner=st.tuples(side, side), parts=st.tuples(st.integers(1, 9), st.integers(1, 9)), reserve=st.integers(0, 30))
def test_drawers_of_any_shape_are_legible(inner, parts, reserve):
    drawer = DrawerType("D", inner[0] * MM, inner[1] * MM)
    sizes = (trays("A", inner[0] * 0.6 / parts[0], inner[1] * 0.6 / parts[1], 3, label="Carabus granulatus"),)
    request = HousingRequest(sizes, (drawer,), Decimal(reserve))
    plan = plan_housing(request, QUICK)
    is_legible(drawer_drawing(request, plan, 1, title="Beetles of the coast"))


def test_heights_that_nobody_stated_are_a_caution_on_the_sheet():
    assert "Nobody has stated the height of this type of drawer and of tray 1" in words(drawn(tiny()))
    assert "Nobody has stated" not in words(drawn(one_size()))


def test_what_people_wrote_is_shown_and_never_obeyed():
    svg = drawn(named(ROGUE), title=ROGUE)
    assert "<script>" not in svg
    assert "\x1b" not in svg
    assert "<script>alert(1)</script> &" in words(svg)


def test_a_layout_that_the_plan_has_not_is_refused_in_words():
    with pytest.raises(LookupError, match="The plan has 1 layouts; there is no layout 2"):
        drawn(one_size(), 2)


def test_the_same_plan_gives_the_same_drawing():
    assert drawn(beetles()) == drawn(beetles())
