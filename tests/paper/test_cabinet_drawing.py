"""Where each drawer of a plan goes, and the cabinet's face that shows it."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan_samples import LONG, MM, ROGUE, beetles, hundreds, named, one_size, planned, two_types
from reading_svg import parse, rects, sheet, texts

from service.core.housing.plan import HousingPlan, Layout
from service.paper.cabinet_drawing import cabinet_drawings
from service.paper.cabinet_positions import CabinetKind, CabinetPlan, in_cabinets

STEEL = CabinetKind("Steel cabinet", (("D1", 1),), 25, opening_width_nm=460 * MM, pitch_nm=82 * MM)
BOTH = CabinetKind("Gallery", (("D1", 1), ("Deep", 2)), 12, columns=2, opening_width_nm=460 * MM, pitch_nm=70 * MM)


def plan_of(*types: str) -> HousingPlan:
    """A plan with one drawer of each of these types, in this order."""
    return replace(planned(one_size()), layouts=tuple(Layout(each, 1, ()) for each in types))


def words(sheets: tuple[str, ...]) -> str:
    return " ".join(text.text for svg in sheets for text in texts(svg))


def where(cabinets: CabinetPlan) -> list[tuple[int, int, int, int]]:
    """Cabinet, drawer, first and last position."""
    return [(each.number, d.drawer, d.first, d.last) for each in cabinets.cabinets for d in each.drawers]


def test_drawers_go_in_from_the_top_in_order():
    assert where(in_cabinets(plan_of("D1", "D1", "D1"), [STEEL])) == [(1, 1, 1, 1), (1, 2, 2, 2), (1, 3, 3, 3)]


def test_a_high_drawer_takes_two_positions():
    assert where(in_cabinets(plan_of("D1", "Deep", "D1"), [BOTH])) == [(1, 1, 1, 1), (1, 2, 2, 3), (1, 3, 4, 4)]


def test_a_high_drawer_never_straddles_two_columns():
    three = replace(BOTH, positions_per_column=3)
    assert where(in_cabinets(plan_of("Deep", "Deep", "Deep"), [three])) == [(1, 1, 1, 2), (1, 2, 4, 5), (2, 3, 1, 2)]


def test_positions_in_use_are_passed_over():
    taken = replace(STEEL, taken=frozenset({(1, 1), (1, 3)}))
    assert where(in_cabinets(plan_of("D1", "D1"), [taken])) == [(1, 1, 2, 2), (1, 2, 4, 4)]


def test_drawers_beyond_the_last_cabinet_are_named_and_not_hidden():
    two = replace(STEEL, positions_per_column=2, count=1)
    cabinets = in_cabinets(plan_of("D1", "D1", "D1", "D1"), [two])
    assert cabinets.without_position == (3, 4)
    assert "No position for 2 drawers: 3–4." in words(cabinet_drawings(plan_of(*["D1"] * 4), cabinets))


def test_a_type_that_no_cabinet_takes_has_no_position():
    assert in_cabinets(plan_of("Other"), [STEEL, BOTH]).without_position == (1,)


def test_a_drawer_higher_than_a_column_has_no_position():
    low = replace(BOTH, positions_per_column=1)
    assert in_cabinets(plan_of("Deep"), [low]).without_position == (1,)


@given(
    types=st.lists(st.sampled_from(["D1", "Deep", "Other"]), max_size=40),
    column=st.integers(1, 7),
    columns=st.integers(1, 3),
    count=st.one_of(st.none(), st.integers(1, 3)),
    taken=st.frozensets(st.tuples(st.integers(1, 3), st.integers(1, 12)), max_size=8),
)
def test_every_drawer_has_one_position_or_is_named_and_no_position_has_two(types, column, columns, count, taken):
    kind = replace(BOTH, positions_per_column=column, columns=columns, count=count, taken=taken)
    cabinets = in_cabinets(plan_of(*types), [kind])
    placed = [drawer for _, drawer, _, _ in where(cabinets)]
    assert sorted([*placed, *cabinets.without_position]) == list(range(1, len(types) + 1))
    for cabinet in cabinets.cabinets:
        used = Counter(at for each in cabinet.drawers for at in range(each.first, each.last + 1))
        in_use = {at for at in cabinet.taken if at <= kind.positions}
        assert all(times == 1 for times in used.values())
        assert not used.keys() & cabinet.taken
        assert sorted([*used, *in_use, *cabinet.free]) == list(range(1, kind.positions + 1))
        assert all((each.first - 1) // column == (each.last - 1) // column for each in cabinet.drawers)
        assert count is None or cabinet.number <= count


def test_as_many_cabinets_are_filled_as_the_plan_says():
    plan = planned(two_types())
    for used in plan.used:
        layouts = tuple(layout for layout in plan.layouts if layout.drawer == used.drawer)
        alone = replace(plan, layouts=layouts)
        kind = CabinetKind("C", ((used.drawer, 1),), 25 if used.drawer == "D1" else 12)
        assert len(in_cabinets(alone, [kind]).cabinets) == used.cabinets


def test_every_drawer_is_drawn_once_and_the_rest_is_free():
    plan = planned(beetles())
    taken = replace(STEEL, taken=frozenset({(1, 2)}))
    (svg,) = cabinet_drawings(plan, in_cabinets(plan, [taken]))
    assert len(rects(svg, "drawer")) == plan.drawer_count == 2
    assert len(rects(svg, "in-use")) == 1
    assert len(rects(svg, "free")) == 22
    assert "22 free: 4–25" in words((svg,))
    assert "Drawer 1 · layout 1" in words((svg,)) or "1 · layout 1" in words((svg,))


def test_a_cabinet_whose_sizes_are_known_is_to_scale():
    plan = planned(two_types())
    (svg,) = cabinet_drawings(plan, in_cabinets(plan, [BOTH]))
    for opening in rects(svg, "opening"):
        assert opening.right - opening.left == pytest.approx(460)
        assert opening.bottom - opening.top == pytest.approx(12 * 70)
    highs = sorted({round(each.own[3]) for each in rects(svg, "drawer")})
    assert highs[1] - highs[0] == pytest.approx(70, abs=1)
    assert "not to scale: " not in words((svg,))


@pytest.mark.parametrize("missing", ["opening_width_nm", "pitch_nm"])
def test_a_cabinet_of_unknown_size_is_said_not_to_be_to_scale(missing):
    plan = planned(beetles())
    (svg,) = cabinet_drawings(plan, in_cabinets(plan, [replace(STEEL, **{missing: None})]))
    assert "not to scale" in words((svg,)).replace("thickness not to scale", "")
    assert rects(svg, "scale-bar") == []


KINDS = [
    [STEEL],
    [BOTH],
    [replace(STEEL, opening_width_nm=None)],
    [replace(STEEL, name=LONG, columns=3, positions_per_column=9, count=2), replace(STEEL, pitch_nm=40 * MM)],
    [replace(STEEL, positions_per_column=90, pitch_nm=30 * MM)],
    [replace(STEEL, positions_per_column=2)],
    [replace(STEEL, columns=12, opening_width_nm=900 * MM)],
]


@pytest.mark.parametrize("kinds", KINDS)
def test_nothing_is_written_over_anything_else_or_off_the_sheet(kinds):
    _, plan = hundreds(110)
    sheets = cabinet_drawings(plan, in_cabinets(plan, kinds), title="Beetles of the coast")
    for svg in sheets:
        page, written = sheet(svg), texts(svg)
        assert [text.text for text in written if not page.holds(text)] == []
        assert [(a.text, b.text) for i, a in enumerate(written) for b in written[i + 1 :] if a.overlaps(b)] == []
        assert all(page.holds(wall) for wall in rects(svg, "wall"))
    assert sum(len(rects(svg, "drawer")) for svg in sheets) == 110


def test_names_on_several_sheets_are_their_own():
    _, plan = hundreds(300)
    sheets = cabinet_drawings(plan, in_cabinets(plan, [STEEL]))
    names = [node.get("id") for svg in sheets for node in parse(svg).iter() if node.get("id")]
    assert len(sheets) > 1
    assert len(names) == len(set(names))


def test_what_people_wrote_is_shown_and_never_obeyed():
    plan = planned(beetles())
    sheets = cabinet_drawings(plan, in_cabinets(plan, [replace(STEEL, name=ROGUE)]), title=ROGUE)
    assert not any("<script>" in svg or "\x1b" in svg for svg in sheets)
    assert "<script>alert(1)</script> &" in words(sheets)


def test_a_plan_without_any_position_still_gives_a_sheet():
    plan = planned(beetles())
    (svg,) = cabinet_drawings(plan, in_cabinets(plan, []))
    assert "No position for 2 drawers: 1–2." in words((svg,))


@pytest.mark.parametrize("kinds", KINDS)
def test_numbers_and_words_stand_clear_of_the_walls(kinds):
    _, plan = hundreds(110)
    for svg in cabinet_drawings(plan, in_cabinets(plan, kinds)):
        openings, walls = rects(svg, "opening"), rects(svg, "wall")
        outside = [text for text in texts(svg) if not any(opening.holds(text) for opening in openings)]
        assert [text.text for text in outside if any(text.overlaps(wall) for wall in walls)] == []


def test_with_the_request_a_list_says_what_is_in_each_drawer():
    plan = planned(beetles())
    sheets = cabinet_drawings(plan, in_cabinets(plan, [STEEL]), request=beetles())
    listed = words(sheets[-1:])
    assert "What is in each drawer" in listed
    for layout in plan.layouts:
        for code, count in layout.counts.items():
            label = next(tray.label for tray in beetles().trays if tray.code == code)
            assert f"{count}× {label}" in listed


def test_drawers_alike_are_one_row_of_the_list():
    plan = planned(one_size())
    listed = words(cabinet_drawings(plan, in_cabinets(plan, [STEEL]), request=one_size())[-1:])
    assert "Steel cabinet, no. 1 1–3 1–3 D1 1 16× Carabus" in listed


def test_the_list_is_legible_whatever_the_names():
    request = named(LONG)
    plan = planned(request)
    kinds = [CabinetKind(LONG, ((request.drawers[0].code, 1),), 9)]
    for svg in cabinet_drawings(plan, in_cabinets(plan, kinds), request=request, title=LONG):
        page, written = sheet(svg), texts(svg)
        assert [text.text for text in written if not page.holds(text)] == []
        assert [(a.text, b.text) for i, a in enumerate(written) for b in written[i + 1 :] if a.overlaps(b)] == []
