"""Pages about material on which something was used say so: walking list, calendar of freezer loads, housing plan."""

from datetime import date

from plan_samples import beetles, planned
from test_arrangement_papers import printed

from service.core.care.cautions import handling_cautions
from service.core.care.freezer_calendar import CalendarQuestion, Waiting, calendar
from service.core.materials import Treatment
from service.paper.housing_table import housing_table
from service.paper.quarantine_table import calendar_page

OLD = handling_cautions([(Treatment.ARSENIC,), None])


def joined(page: str) -> str:
    return " ".join(page.split())


def test_a_walking_list_names_what_was_used_on_the_trays_and_of_which_nobody_said() -> None:
    page = printed(handling=OLD)
    assert "Arsenic was used on it." in page
    assert "Nobody stated what was used against pests on 1 of 2 lots." in page
    assert "poisonous until tested" in printed()


def test_a_housing_plan_to_print_says_what_was_used_on_what_it_houses() -> None:
    request = beetles()
    page = joined(housing_table(request, planned(request), handling=OLD))
    assert "Arsenic was used on it." in page
    assert "as poisonous until tested" in page


def test_the_freezers_calendar_names_beside_each_load_what_is_in_it() -> None:
    first = date(2026, 12, 1)
    lots = (Waiting("old", 20, first, used=((Treatment.ARSENIC,),)), Waiting("clean", 20, first, used=((),)))
    found = calendar(CalendarQuestion(lots, first, 60, 20, 5))
    used = {lot.code: lot.used for lot in lots}
    minded = [handling_cautions(each for share in load.shares for each in used[share.code]) for load in found.loads]
    page = calendar_page(found, OLD, minded)
    (old,) = [row for row in page.splitlines() if "old (20)" in row]
    (clean,) = [row for row in page.splitlines() if "clean (20)" in row]
    assert "arsenic" in old
    assert "arsenic" not in clean
    assert "Arsenic was used on it." in joined(page)
