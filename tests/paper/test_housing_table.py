"""A housing plan in plain text: its proof in words, its figures those of the plan, no wider than the page."""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from paper_samples import COST
from plan_samples import LONG, MM, ROGUE, beetles, hundreds, may_turn, named, one_size, planned, tiny, two_types

from service.core.housing.plan import HousingPlan, HousingRequest
from service.paper.cabinet_positions import CabinetKind, in_cabinets
from service.paper.housing_table import housing_table
from service.paper.plan_words import proof_words
from service.paper.text_table import PAGE_COLUMNS

CASES = [beetles(), one_size(), tiny(), may_turn(), two_types(), named(LONG)]


def page_for(request: HousingRequest, plan: HousingPlan | None = None, **more) -> str:
    return housing_table(request, plan or planned(request), **more)


def joined(page: str) -> str:
    return " ".join(page.split())


def of_fourteen(**facts) -> HousingPlan:
    """Fourteen drawers alike, with this much proved."""
    plan = planned(one_size())
    layout = replace(plan.layouts[0], drawers=14)
    return replace(plan, **({"layouts": (layout,), "cost": 14, "unit_cost": 1, "at_least_in_columns": None} | facts))


def test_a_plan_that_meets_its_bound_is_called_proved():
    assert proof_words(of_fourteen(at_least=14)) == "proved: no layout needs fewer than 14"


def test_a_plan_above_its_bound_says_by_how_much_at_most():
    assert proof_words(of_fourteen(at_least=12)) == "at most 2 drawers above the fewest"
    assert proof_words(of_fourteen(at_least=13)) == "at most 1 drawer above the fewest"
    assert proof_words(of_fourteen(at_least=13, parts_groups=True)) == (
        "at most 1 drawer above the fewest, which is worked out as if trays that stay together could part"
    )
    assert "could part" not in proof_words(of_fourteen(at_least=14, parts_groups=True))


def test_a_proof_among_layouts_in_columns_says_so_and_claims_no_more():
    words = proof_words(of_fourteen(at_least=13, at_least_in_columns=14))
    assert words.startswith("at most 1 drawer above the fewest; proved among layouts in columns")
    assert "proved" not in proof_words(of_fourteen(at_least=13, at_least_in_columns=13))


def test_where_drawers_differ_in_cost_the_proof_speaks_of_cost():
    facts = {"unit_cost": None, "cost": 20}
    assert proof_words(of_fourteen(at_least=20, **facts)) == "proved: no layout costs less than 20"
    assert proof_words(of_fourteen(at_least=17, **facts)) == "at most 3 above the least cost"


def test_where_a_drawer_costs_more_than_one_the_gap_is_still_in_drawers():
    assert proof_words(of_fourteen(at_least=24, cost=28, unit_cost=2)) == "at most 2 drawers above the fewest"


def test_the_bound_stands_beside_a_plan_that_does_not_meet_it():
    assert "(no plan has fewer than 12 drawers)" in joined(page_for(one_size(), of_fourteen(at_least=12)))
    assert "no plan has fewer" not in page_for(one_size(), of_fourteen(at_least=14))


@pytest.mark.parametrize("request_", CASES)
def test_drawers_and_trays_add_up_to_the_plan(request_):
    page, plan = page_for(request_), planned(request_)
    assert re.search(rf"Drawers: +{plan.drawer_count}\n", page)
    asked = sum(tray.count for tray in request_.trays)
    assert f"{asked:,} of {asked:,}" in page
    layouts = page.partition("\nLayouts\n")[2].partition("\n\n")[0]
    alike = [int(found[1]) for found in re.finditer(r"^ +\d+  [\d-]+ +(\d+)  ", layouts, re.MULTILINE)]
    assert sum(alike) == plan.drawer_count


@pytest.mark.parametrize("request_", CASES)
def test_no_line_is_wider_than_the_page(request_):
    plan = planned(request_)
    kinds = [CabinetKind(LONG, tuple((drawer.code, 1) for drawer in request_.drawers), 7)]
    page = page_for(request_, cabinets=in_cabinets(plan, kinds), cost=COST, consignment=LONG, system=LONG)
    assert max(map(len, page.splitlines())) <= PAGE_COLUMNS


def test_hundreds_of_drawers_keep_within_the_page():
    request, plan = hundreds(400)
    plan = replace(plan, heights_unknown=tuple(tray.code for tray in request.trays))
    page = page_for(request, plan, cabinets=in_cabinets(plan, [CabinetKind("Steel", (("D1", 1),), 25)]))
    assert max(map(len, page.splitlines())) <= PAGE_COLUMNS
    assert len(re.findall(r"Species \d+", page)) == 400


def test_each_type_of_drawer_has_its_count_cabinets_and_cost():
    page = page_for(two_types())
    for used in planned(two_types()).used:
        assert re.search(rf"{used.drawer} +{used.count} .* {used.cabinets} +{used.cost}\n", page)


def test_the_bottom_sheet_is_in_square_metres():
    # 48 bottoms of 100 x 90 mm.
    (tray,) = one_size().trays
    request = replace(one_size(), trays=(replace(tray, bottom_width_nm=100 * MM, bottom_depth_nm=90 * MM),))
    page = page_for(request)
    assert re.search(r"Bottom sheet: +0\.43 m2\n", page)
    assert "outside stands in" not in joined(page)


def test_the_outside_of_a_tray_gives_no_more_than_an_upper_bound_of_bottom_sheet():
    # 48 trays of 105 x 98 mm outside.
    page = page_for(one_size())
    assert re.search(r"Bottom sheet: +0\.49 m2, at most\n", page)
    assert "its outside stands in for it" in joined(page)


def test_positions_are_told_drawer_by_drawer():
    plan = planned(two_types())
    deep = next(used.count for used in plan.used if used.drawer == "Deep")
    kinds = [CabinetKind("Steel", (("D1", 1),), 25), CabinetKind("Deep", (("Deep", 2),), 24)]
    page = joined(page_for(two_types(), cabinets=in_cabinets(plan, kinds)))
    free = 25 + 24 - plan.drawer_count - deep
    assert f"{plan.drawer_count + deep} taken up, {free} stay free, in 2 cabinets" in page
    assert re.search(r"drawers \d+-\d+ in \d+-\d+ \(2 each\)", page)


def test_drawers_without_a_position_are_named():
    cabinets = in_cabinets(planned(one_size()), [CabinetKind("Steel", (("D1", 1),), 2, count=1)])
    assert "No position for 1 drawer: 3." in page_for(one_size(), cabinets=cabinets)


def test_the_cost_at_the_institutions_rates_is_shown_with_its_items():
    page = page_for(one_size(), cost=COST)
    assert "at least 357.06" in page
    assert "253.50" in page


def test_heights_that_nobody_stated_are_a_caution():
    assert "Nobody has stated the height of tray no. 1" in joined(page_for(tiny()))
    assert "Nobody has stated the clear height of S" in joined(page_for(tiny()))
    assert "Nobody has stated" not in page_for(one_size())


def test_a_plan_stopped_early_says_so():
    assert "stopped before its end" in page_for(one_size(), of_fourteen(at_least=12, stopped_early=True))


def test_the_heading_names_consignment_system_revision_and_day():
    page = page_for(one_size(), consignment="Coast", system="North", revision="3", planned_on=date(2026, 11, 25))
    for fact in ("Coast", "North, revision 3", "2026-11-25"):
        assert fact in page


def test_the_reserve_and_the_play_are_stated():
    page = page_for(replace(beetles(), reserve_percent=Decimal("7.5")))
    assert "7.5 % of each drawer" in page
    assert "1 mm added to each tray" in page


def test_nothing_that_people_wrote_reaches_the_terminal_as_a_command():
    page = page_for(named(ROGUE), consignment=ROGUE)
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f\x9b]", page)


def test_our_own_words_are_plain_ascii():
    assert set(page_for(two_types())) <= set(map(chr, range(128)))
