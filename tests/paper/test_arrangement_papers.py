"""The drawings and the walking list of an arrangement: to scale, legible, and true to the plan."""

import re
from dataclasses import replace
from decimal import Decimal
from xml.etree import ElementTree as ET

import pytest
from reading_svg import Box, rects, sheet, texts

from service.core.arrangement.inventory import (
    Cabinet,
    Drawer,
    DrawerStyle,
    Inventory,
    MovingRates,
    ReadingOrder,
    Room,
    SystematicSequence,
    Taxon,
    Tray,
)
from service.core.arrangement.plan import ArrangementWishes, RestoreReserve, TakeIn
from service.core.arrangement.planning import plan_arrangement
from service.core.arrangement.walking import walk
from service.core.care.cautions import HandlingCaution
from service.paper.cabinet_fill_drawing import cabinet_fill_drawing
from service.paper.drawer_change_drawing import drawer_change_drawing
from service.paper.walking_page import walking_page

MM = 1_000_000
STYLE = DrawerStyle("house", 430 * MM, 405 * MM)
TAXA = ("Carabus auratus", "Carabus granulatus", "Cicindela hybrida", "Dytiscus marginalis")
ROGUE = "<script>alert(1)</script> & \x1b[31m"


def beetles(order: ReadingOrder = ReadingOrder.COLUMNS) -> Inventory:
    """A full drawer of each of four taxa, the last with three trays; a reserve of a tenth."""
    trays = [
        Tray(f"{at}-{place}", taxon, 106 * MM, 132 * MM, 10, label=f"{taxon} {place}", drawer=f"d{at}", place=place)
        for at, taxon in enumerate(TAXA)
        for place in range(1, 10 if at < 3 else 4)
    ]
    cabinets = (
        Cabinet("c", "Cabinet 1", "r", 6, takes=("house",), opening_width_nm=460 * MM, pitch_nm=70 * MM),
        Cabinet("e", "Cabinet 2", "r", 20, 2, takes=("house",)),
    )
    drawers = tuple(Drawer(f"d{at}", f"{at + 1}", STYLE, "c", at + 1) for at in range(4))
    sequence = SystematicSequence(tuple(Taxon(name) for name in TAXA))
    rates = MovingRates(Decimal(60), Decimal(30), Decimal(20), "EUR")
    rooms = (Room("r", "Beetle room"),)
    return Inventory(cabinets, drawers, tuple(trays), sequence, rooms, order, Decimal(10), MM, rates)


def arriving(label: str = "Carabus granulatus, gift") -> TakeIn:
    return TakeIn((Tray("new", TAXA[1], 106 * MM, 132 * MM, 7, label=label),))


def change(inventory: Inventory, drawer: str, question: TakeIn | None = None, title: str = "") -> str:
    plan = plan_arrangement(inventory, question or arriving())
    return drawer_change_drawing(inventory, plan, plan.alternatives[0], drawer, title=title)


def words(svg: str) -> str:
    return " ".join(text.text for text in texts(svg))


def is_legible(svg: str) -> None:
    page, written = sheet(svg), texts(svg)
    assert [text.text for text in written if not page.holds(text)] == []
    assert [(a.text, b.text) for i, a in enumerate(written) for b in written[i + 1 :] if a.overlaps(b)] == []


def apart(boxes: list[Box]) -> bool:
    return not any(a.overlaps(b) for at, a in enumerate(boxes) for b in boxes[:at])


@pytest.mark.parametrize("order", ReadingOrder)
def test_a_drawer_is_drawn_before_and_after_to_one_scale(order: ReadingOrder) -> None:
    inventory = beetles(order)
    plan = plan_arrangement(inventory, arriving())
    after = plan.alternatives[0].after[0]
    svg = drawer_change_drawing(inventory, plan, plan.alternatives[0], after.drawer)
    for view, count in (("before-1", len(inventory.trays_by_drawer[after.drawer])), ("after-1", len(after.trays))):
        (inside,), trays = rects(svg, "drawer-inside", view), rects(svg, "tray", view)
        assert inside.own[2:] == (430, 405)
        assert len(trays) == count
        assert all(inside.holds(tray) for tray in trays)
        assert apart(trays)
        assert {tray.own[2:] for tray in trays} & {(106, 132)}
    is_legible(svg)


def test_the_reserve_is_where_reading_ends() -> None:
    by_columns, by_rows = change(beetles(), "d2"), change(beetles(ReadingOrder.ROWS), "d3")
    assert [box.own for box in rects(by_columns, "reserve", "after-1")] == [(387, -405, 43, 405)]
    assert [box.own for box in rects(by_rows, "reserve", "after-1")] == [(0, -40.5, 430, 40.5)]


def test_the_sheet_says_what_comes_and_goes_and_from_where() -> None:
    said = words(change(beetles(), "d2", title="Beetles of Ambleford"))
    assert "Drawer 3 (Beetle room, Cabinet 1, position 3)" in said
    assert "Trays: 1 come, 1 go." in said
    assert "outside" in said
    assert "drawer 4, place 1" in said


def test_a_drawer_that_nothing_changes_in_has_no_drawing_of_it() -> None:
    with pytest.raises(LookupError, match="Nothing changes in drawer d0"):
        change(beetles(), "d0")


def test_trays_that_do_not_fit_by_their_sizes_are_said_and_not_drawn() -> None:
    inventory = beetles()
    more = (replace(inventory.trays[-1], key=f"x{at}", place=9 + at) for at in range(9))
    crowded = replace(inventory, trays=(*inventory.trays, *more))
    plan = plan_arrangement(crowded, RestoreReserve(), ArrangementWishes(new_drawers=STYLE))
    svg = drawer_change_drawing(crowded, plan, plan.alternatives[0], "d3")
    assert "12 trays; columns take up 100% of the inside, and 10% is reserve." in words(svg)
    assert "The trays stand in the reserve." in words(svg)
    wide = replace(crowded, trays=tuple(replace(tray, width_nm=200 * MM) for tray in crowded.trays))
    plan = plan_arrangement(wide, RestoreReserve(), ArrangementWishes(new_drawers=STYLE))
    svg = drawer_change_drawing(wide, plan, plan.alternatives[0], "d3")
    assert "do not fit as they are read" in words(svg)
    assert rects(svg, "tray", "before-1") == []
    is_legible(svg)


def test_a_cabinets_face_shows_how_far_each_drawer_is_filled() -> None:
    inventory = beetles()
    svg = cabinet_fill_drawing(inventory, "c", title="Beetles of Ambleford")
    drawers = rects(svg, "drawer")
    taken, reserve = rects(svg, "taken"), rects(svg, "reserve")
    assert (len(drawers), len(rects(svg, "free"))) == (4, 6)
    # Three columns of 107 mm in 430 mm; the last drawer has one.
    shares = [round(bar.own[2] / drawer.own[2], 3) for bar, drawer in zip(taken, drawers, strict=True)]
    assert shares == [round(321 / 430, 3)] * 3 + [round(107 / 430, 3)]
    assert [round(bar.own[2] / drawer.own[2], 3) for bar, drawer in zip(reserve, drawers, strict=True)] == [0.1] * 4
    (opening,) = rects(svg, "opening")
    assert opening.own[2:] == (460, 6 * 70)
    assert "4 drawers in 6 positions" in words(svg)
    is_legible(svg)


def test_a_cabinets_face_afterwards_marks_what_changes_and_shows_new_drawers() -> None:
    inventory = beetles()
    plan = plan_arrangement(inventory, arriving(), ArrangementWishes(new_drawers=STYLE))
    shifted = plan.alternatives[-1]
    svg = cabinet_fill_drawing(inventory, "c", plan, shifted)
    assert len(rects(svg, "changes")) == shifted.drawers_touched
    assert "as it will be" in words(svg)
    many = TakeIn(tuple(Tray(f"n{at}", TAXA[3], 106 * MM, 132 * MM, 1) for at in range(12)))
    grown = plan_arrangement(inventory, many, ArrangementWishes(new_drawers=STYLE))
    after = cabinet_fill_drawing(inventory, "c", grown, grown.alternatives[0])
    assert len(rects(after, "drawer")) == 4 + len(grown.alternatives[0].new_drawers)
    is_legible(after)


def test_a_cabinet_that_nobody_has_measured_says_that_it_is_not_to_scale() -> None:
    svg = cabinet_fill_drawing(beetles(), "e")
    assert "Not to scale" in words(svg)
    assert len(rects(svg, "free")) == 40
    is_legible(svg)
    with pytest.raises(LookupError, match="There is no cabinet x"):
        cabinet_fill_drawing(beetles(), "x")


def printed(
    done: int = 0,
    label: str = "Carabus granulatus, gift",
    rates: MovingRates | None = None,
    handling: tuple[HandlingCaution, ...] = (),
) -> str:
    inventory = beetles() if rates is None else replace(beetles(), rates=rates)
    plan = plan_arrangement(inventory, arriving(label))
    (way,) = plan.alternatives
    walked = walk(inventory, plan, way)
    return walking_page(inventory, plan, way, walked, title="Beetles of Ambleford", done=done, handling=handling)


def test_the_walking_list_has_a_box_for_every_tray_and_ticks_what_is_done() -> None:
    page = printed(done=1)
    assert page.count('class="box"') == 2
    assert page.count("✓") == 1
    assert "Trip 1: from drawer 3 (Beetle room, Cabinet 1, position 3) to drawer 4" in page
    assert "from what arrives to" in page
    assert "2 trays are lifted" in page


def test_the_walking_list_reckons_with_the_institutions_own_rates_or_says_that_it_cannot() -> None:
    """2 trays at 60 an hour and 2 drawers at 30 an hour are 0.1 h, at 20.00 an hour 2.00."""
    assert "About 0.1 person-hours at this institution's own rates, 2.00 EUR." in printed()
    unknown = printed(rates=MovingRates())
    assert "Hours unknown: nobody has stated trays_moved_per_h and drawers_handled_per_h." in unknown


def test_the_walking_list_carries_the_usual_cautions() -> None:
    assert "poisonous until tested" in printed()
    assert "Carry one drawer at a time" in printed()


def test_what_people_wrote_is_shown_and_never_obeyed() -> None:
    page, svg = printed(label=ROGUE), change(beetles(), "d2", arriving(ROGUE), title=ROGUE)
    for written in (page, svg):
        assert "<script>" not in written
        assert "\x1b" not in written
    assert "&lt;script&gt;" in page
    assert not re.search(r"(src|href)=", page)
    ET.fromstring(svg)  # noqa: S314 - drawn here a moment ago
