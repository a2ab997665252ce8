"""The fit check in plain text: complete, adding up, and no wider than the page."""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_samples import (
    COST,
    FITS,
    NO_PITCH,
    PIN_CLEARS,
    REMEMBERED,
    SYSTEM,
    WIDE,
    drawer_line,
    line_answer,
    whole_answer,
)

from service.core.consignment import TrayLot
from service.core.fit.answer import Cost, CostItem, FitAnswer, Needed
from service.core.fit.check import check
from service.core.fit.findings import Comparison, Verdict
from service.paper.fit_table import fit_table
from service.paper.text_table import PAGE_COLUMNS
from service.paper.wording import field_words

LINES = (drawer_line(), drawer_line(422.3), drawer_line(height=None))
HEADING = {
    "consignment": "Coastal moths",
    "sender": "A. Sender",
    "system": "North Museum",
    "revision": "3",
    "checked_on": date(2026, 11, 25),
    "lines": LINES,
}


def answered(*lines, cost: Cost = COST, needed: Needed | None = None) -> FitAnswer:
    return FitAnswer(lines, (), needed or Needed(), cost)


def joined(page: str) -> str:
    """The page without its line breaks, to look for sentences that were wrapped."""
    return " ".join(page.split())


def amounts_shown(page: str) -> list[Decimal]:
    cost = page[page.index("Cost\n") : page.index("\n  total")]
    last = [row.split()[-1] for row in cost.splitlines()[3:]]
    return [Decimal(cell.replace(",", "")) for cell in last if cell != "unknown"]


def test_the_heading_names_the_offer_the_system_its_revision_and_the_day():
    page = fit_table(whole_answer(), **HEADING)
    for fact in ("Coastal moths", "A. Sender", "North Museum, revision 3", "2026-11-25"):
        assert fact in page


def test_each_line_has_its_verdict_in_words_and_the_deciding_reason():
    page = joined(fit_table(whole_answer(), **HEADING))
    for words in ("as it is", "by the tray", "hold (else"):
        assert words in page
    assert "The drawer is 422.3 mm wide and the opening" in page
    assert "(3.2 mm too much)" in page


def test_a_margin_that_the_reason_names_is_not_said_twice():
    told = replace(WIDE, reason="The drawer is 3.2 mm too wide.")
    assert "too wide. (" not in joined(fit_table(answered(line_answer(Verdict.RE_HOUSE, told))))


def test_a_finding_shows_value_limit_and_margin_on_one_row():
    page = fit_table(whole_answer(), **HEADING)
    assert re.search(r"fail +outer width in the opening +422\.3 +419\.1 +-3\.2\n", page)
    assert "What helps: Plane 1.6 mm off each side" in page


def test_decimal_points_stand_under_each_other():
    lengths = [Comparison(f"side {mm}", *(round(mm * 1e6),) * 3) for mm in (9, 12.5, 482.65, 1000)]
    page = fit_table(answered(line_answer(Verdict.RE_HOUSE, replace(WIDE, comparisons=tuple(lengths)))))
    rows = [row for row in page.splitlines() if " side " in row]
    # Where a whole number ends is where a point would stand.
    points = {re.search(r"side \S+ +\d+()", row).start(1) for row in rows}
    assert len(rows) == 4
    assert len(points) == 1


def test_the_total_is_the_sum_of_the_amounts_that_are_known():
    page = fit_table(whole_answer(), **HEADING)
    assert sum(amounts_shown(page)) == Decimal("357.06")
    assert "at least 357.06" in page
    assert "Amount EUR" in page
    assert re.search(r"work +6\.25 +person-hour +unknown +unknown", page)


def test_a_complete_cost_is_no_at_least():
    items = COST.items[:3]
    page = fit_table(
        answered(line_answer(Verdict.AS_IT_IS, FITS), cost=Cost(items, None, Decimal("357.06"), True, "EUR"))
    )
    assert "at least" not in page
    assert "357.06" in page


@given(st.lists(st.decimals(0, 10_000_000, places=3), min_size=1, max_size=6))
def test_shown_amounts_add_up_or_the_page_says_why_they_do_not(amounts):
    items = tuple(CostItem("work", amount, "h", Decimal(1), amount) for amount in amounts)
    page = fit_table(answered(line_answer(Verdict.AS_IT_IS, FITS), cost=Cost(items, None, sum(amounts), True, "EUR")))
    total = Decimal(re.search(r"total +(\S+)", page)[1].replace(",", ""))
    assert (sum(amounts_shown(page)) == total) != ("rounded to a hundredth" in page)
    assert max(map(len, page.splitlines())) <= PAGE_COLUMNS


def test_what_is_not_known_is_called_unknown():
    page = fit_table(answered(line_answer(Verdict.HOLD, NO_PITCH), needed=Needed(None, 2, None)))
    assert "unknown, at least 2" in page
    assert re.search(r"new unit trays +unknown", page)
    assert re.search(r"outer height against the +unknown +82\.55 +unknown", page)


def test_a_missing_fact_is_asked_for_in_words():
    lines = (drawer_line(height=None),)
    page = fit_table(check(lines, SYSTEM), lines=lines)
    assert "line 1, drawer: Moths of the coast: outer height" in joined(page)
    assert "lines[0]" not in page.partition("To ask")[2]


@pytest.mark.parametrize(
    ("field", "asked"),
    [
        ("lines[3].trays", "whether there are unit trays inside, of which sizes, and how many"),
        ("lines[3].treatments_used", "treatments used against pests, or that there were none"),
        ("lines[3].pins.depth", "how deep the pins go into the bottom"),
        ("lines[3].trays[0].outer.height", "tray size 1, outer height"),
    ],
)
def test_a_fact_is_asked_for_so_that_the_sender_knows_what_to_look_for(field, asked):
    assert field_words(field) == asked


def test_what_the_receiver_has_to_measure_is_kept_apart_from_what_to_ask():
    asked = line_answer(
        Verdict.HOLD, NO_PITCH, missing=("lines[0].trays[1].base", "system.cabinets[C1].runner_ledge")
    )
    page = fit_table(answered(asked))
    assert "line 1, drawer: tray size 2, base" in page.partition("To ask the sender")[2]
    assert "cabinet C1, runner ledge" in page.partition("To measure and publish yourselves")[2]


def test_a_line_on_hold_is_explained_by_the_fact_it_waits_for():
    hold = line_answer(Verdict.HOLD, WIDE, NO_PITCH, missing=NO_PITCH.missing)
    assert NO_PITCH.reason.split()[0] in fit_table(answered(hold)).split("Why")[1].split("Altogether")[0]


def test_the_answer_comes_before_its_reasons():
    page = fit_table(whole_answer(), **HEADING)
    titles = (
        "Verdict ",
        "Altogether",
        "What housing takes",
        "Cost",
        "To ask the sender",
        "Cautions",
        "Line 2 -",
        "Sources",
    )
    places = [page.index(title) for title in titles]
    assert places == sorted(places)


def test_what_is_to_be_said_of_several_items_is_said_once():
    open_line = "Not known, and not counted, for line 4."
    drawers, trays, bottom, work = COST.items
    items = (replace(drawers, note=open_line), replace(trays, note=open_line), bottom, work)
    page = joined(fit_table(answered(cost=replace(COST, items=items))))
    assert page.count(open_line) == 1
    assert f"drawers, unit trays: {open_line}" in page
    assert f"pinning bottom: {bottom.note}" in page


def test_a_note_that_all_items_share_names_none_of_them():
    items = tuple(replace(item, note="Not counted for line 4.") for item in COST.items)
    assert "every item: Not counted for line 4." in fit_table(answered(cost=replace(COST, items=items)))


def test_the_lines_that_nobody_can_reckon_yet_are_named_under_what_housing_takes():
    known, unknown = (line_answer(Verdict.AS_IT_IS, FITS, needed=need) for need in (Needed(), Needed(drawers=None)))
    page = fit_table(answered(known, replace(unknown, line=2), known, replace(unknown, line=4)))
    assert "Not all of it is known for lines 2 and 4," in page.partition("What housing takes")[2].partition("Cost")[0]
    assert "Not all of it" not in fit_table(answered(known))


def test_figures_from_memory_are_marked_and_explained():
    remembered = replace(WIDE, comparisons=(replace(WIDE.comparisons[0], value=REMEMBERED),))
    page = fit_table(answered(line_answer(Verdict.HOLD, remembered)))
    assert "422.3*" in page
    assert page.endswith("* from memory: check the figure before relying on it.\n")
    assert "from memory" not in fit_table(answered(line_answer(Verdict.RE_HOUSE, WIDE)))


def test_advice_is_told_apart_from_what_decides():
    page = fit_table(answered(line_answer(Verdict.BY_THE_TRAY, WIDE, PIN_CLEARS)))
    assert page.index(WIDE.reason[:20]) < page.index("Advice, which changes no verdict") < page.index("Heads stand")


def test_a_clean_line_is_not_spelled_out():
    assert "Line 1 -" not in fit_table(answered(line_answer(Verdict.AS_IT_IS, FITS)))


def test_each_source_is_named_once_and_cited_by_number():
    page = fit_table(whole_answer(), **HEADING)
    assert page.count("House standard, revision 3") == 1
    assert page.count("[1]") == 3


def test_a_caution_for_all_is_not_repeated_for_each_line():
    handling = replace(PIN_CLEARS, reason="Wear gloves.")
    answer = replace(answered(line_answer(Verdict.BY_THE_TRAY, WIDE, handling)), cautions=("Wear gloves.",))
    assert fit_table(answer).count("Wear gloves.") == 1


def test_the_longest_names_and_largest_figures_keep_within_the_page():
    long = "Donaudampfschifffahrtsgesellschaftskapitän" * 10
    line = line_answer(
        Verdict.HOLD,
        replace(
            WIDE, reason=long, remedy=long, source=long, subject=long, comparisons=(Comparison(long, *(10**14,) * 3),)
        ),
        count=10**9,
        otherwise=Verdict.BY_THE_TRAY,
        missing=(long,),
    )
    items = (CostItem(long, Decimal(10**10), long, Decimal(10**10), Decimal(10**12), long),)
    cost = Cost(items, Decimal(10**9), Decimal(10**12), False, "EUR")
    answer = FitAnswer((line,), (), Needed(drawers=10**12), cost, (long,))
    page = fit_table(
        answer, consignment=long, sender=long, system=long, revision=long, lines=(drawer_line(description=long),)
    )
    assert max(map(len, page.splitlines())) <= PAGE_COLUMNS


def test_nothing_that_people_wrote_reaches_the_terminal_as_a_command():
    page = fit_table(
        whole_answer(), consignment="\x1b[2J\x07 moths\r\n", lines=(drawer_line(description="\x1b]0;x\x07"),)
    )
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f\x9b]", page)


def test_our_own_words_are_plain_ascii_but_for_the_multiplication_sign():
    page = fit_table(check(LINES, SYSTEM), **HEADING)
    assert set(page) - {"×"} <= set(map(chr, range(128)))
    assert max(map(len, page.splitlines())) <= PAGE_COLUMNS


def test_a_real_check_and_its_table_tell_the_same_margin():
    lines = (drawer_line(422.3),)
    page = joined(fit_table(check(lines, SYSTEM), lines=lines))
    assert "re-house" in page
    assert re.search(r"width 422\.3 419\.1 -3\.2", page)


def test_a_consignment_without_lines_says_so():
    assert "The consignment has no lines." in fit_table(
        FitAnswer((), (), Needed(), Cost((), None, Decimal(0), True, None))
    )


def test_the_same_answer_gives_the_same_page():
    assert fit_table(whole_answer(), **HEADING) == fit_table(whole_answer(), **HEADING)


def test_what_nobody_has_stated_is_said_once_though_it_holds_for_either_way_in():
    unseen = replace(drawer_line(), trays=(TrayLot(40),), treatments_used=None)
    page = fit_table(check((unseen,), SYSTEM), **HEADING | {"lines": (unseen,)})
    sentences = re.findall(r"unknown bottom and treatment: [^.]*\.", joined(page))
    assert sentences
    assert len(sentences) == len(set(sentences))


def test_a_line_that_is_like_another_keeps_its_verdict_and_refers_to_the_other_for_the_reasons():
    wide = drawer_line(600)
    lines = (wide, replace(wide, description="Coleoptera"))
    page = fit_table(check(lines, SYSTEM), **HEADING | {"lines": lines})
    first, second = page[page.index("Line 1 - ") :].split("Line 2 - ")
    assert "fail" in first
    assert "the same as line 1, and for the same reasons" in joined(second)
    assert "fail" not in second
    verdicts = page[: page.index("Altogether")]
    assert "Coleoptera" in verdicts
