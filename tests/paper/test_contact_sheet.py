"""The contact sheet shows every layout once and to one scale, and says where every tray went."""

import re

import pytest
from plan_samples import LONG, ROGUE, beetles, hundreds, may_turn, named, one_size, planned, tiny, two_types
from reading_svg import TAG, parse, rects, sheet, texts

from service.core.housing.plan import HousingPlan, HousingRequest
from service.paper.contact_sheet import contact_sheets
from service.paper.numbered_drawers import numbered

CASES = [beetles(), one_size(), tiny(), may_turn(), two_types(), named(LONG)]


def drawn(request: HousingRequest, plan: HousingPlan | None = None) -> tuple[str, ...]:
    return contact_sheets(request, plan or planned(request), title="Beetles of the coast")


def words(sheets: tuple[str, ...]) -> str:
    return " ".join(text.text for svg in sheets for text in texts(svg))


def pictures(sheets: tuple[str, ...]) -> dict[str, list]:
    """The trays drawn for each layout, by the name of its view."""
    found = {}
    for svg in sheets:
        for inside in rects(svg, "drawer-inside"):
            found[inside.view] = [tray for tray in rects(svg, "tray") if tray.view == inside.view]
    return found


@pytest.mark.parametrize("request_", CASES)
def test_every_layout_is_shown_once_with_all_its_trays(request_):
    shown = pictures(drawn(request_))
    assert {view: len(trays) for view, trays in shown.items()} == {
        f"contact-layout-{each.number}": len(each.layout.placed) for each in numbered(planned(request_))
    }


@pytest.mark.parametrize("request_", CASES)
def test_all_drawers_are_to_one_scale(request_):
    drawers = {drawer.code: drawer for drawer in request_.drawers}
    layouts = {f"contact-layout-{each.number}": each.layout for each in numbered(planned(request_))}
    scales = set()
    for svg in drawn(request_):
        for inside in rects(svg, "drawer-inside"):
            drawer = drawers[layouts[inside.view].drawer]
            scales.add(round((inside.right - inside.left) / drawer.inner_width_nm * 1e6, 6))
            scales.add(round((inside.bottom - inside.top) / drawer.inner_depth_nm * 1e6, 6))
    assert scales == {1.0}


@pytest.mark.parametrize("request_", CASES)
def test_nothing_is_written_over_anything_else_or_off_the_sheet(request_):
    for svg in drawn(request_):
        page, written = sheet(svg), texts(svg)
        assert [text.text for text in written if not page.holds(text)] == []
        assert [(a.text, b.text) for i, a in enumerate(written) for b in written[i + 1 :] if a.overlaps(b)] == []
        assert all(page.holds(wall) for wall in rects(svg, "wall"))


def test_drawers_alike_stand_under_one_picture_with_their_numbers_and_how_many():
    text = words(drawn(one_size()))
    assert "1–3 × 3, type D1 16 trays, 94 % filled" in text


def test_the_share_filled_is_that_of_the_trays_in_the_drawer():
    # One tray of 105 x 98 in a drawer of 430 x 405: 5.9 %, and what is begun is not called done.
    assert "1 tray, 5 % filled" in words(drawn(beetles()))


def test_each_type_is_named_where_there_are_several():
    text = words(drawn(two_types()))
    assert "type D1" in text
    assert "type Deep" in text


def test_the_head_says_how_many_drawers_and_how_well_that_is_proved():
    plan = planned(beetles())
    assert f"{plan.drawer_count} drawers; proved: no layout needs fewer than {plan.drawer_count}." in words(
        drawn(beetles())
    )


def test_the_last_sheet_says_of_every_tray_how_many_and_in_which_drawers():
    listed = words(drawn(beetles())[-1:])
    for said in ("Carabus granulatus", "Cicindela", "Жуки-усачи", "5 in 1–2", "2 in 1"):
        assert said in listed


def test_hundreds_of_drawers_fill_several_sheets_and_none_is_left_out():
    request, plan = hundreds(400)
    sheets = drawn(request, plan)
    assert len(pictures(sheets)) == 400
    assert 10 < len(sheets) < 40
    heads = [text.text for svg in sheets for text in texts(svg) if text.text.startswith("sheet ")]
    assert heads == [f"sheet {at} of {len(sheets)}" for at in range(1, len(sheets) + 1)]
    for number in (1, 200, 400):
        assert re.search(rf"Species {number - 1}\b", words(sheets))


def test_each_sheet_is_marked_with_names_of_its_own():
    request, plan = hundreds(120)
    names = [node.get("id") for svg in drawn(request, plan) for node in parse(svg).iter() if node.get("id")]
    assert len(names) == len(set(names))


def test_what_people_wrote_is_shown_and_never_obeyed():
    sheets = contact_sheets(named(ROGUE), planned(named(ROGUE)), title=ROGUE)
    assert not any("<script>" in svg or "\x1b" in svg for svg in sheets)
    assert "<script>alert(1)</script> &" in words(sheets)


def test_the_sheets_have_the_shape_of_a4():
    for svg in drawn(beetles()):
        page = sheet(svg)
        assert (page.right - page.left) / (page.bottom - page.top) == pytest.approx(297 / 210, abs=0.001)


def test_hatches_are_defined_on_the_sheet_that_uses_them():
    for svg in drawn(beetles()):
        defined = {node.get("id") for node in parse(svg).iter(f"{TAG}pattern")}
        used = set(re.findall(r"url\(#([^)]+)\)", svg))
        assert used <= defined
