"""What a consignment or a list becomes when a storage system is asked: sizes, heights, play, reserve, prices."""

from decimal import Decimal

import pytest
from builders import (
    a_drawer_standard,
    a_line,
    a_system,
    a_tray_lot,
    a_tray_series,
    a_tray_standard,
    remembered,
    size,
    some_pins,
)

from service.core.errors import Conflict, Invalid
from service.core.housing.asking import ask
from service.core.housing.choosing_trays import TaxonCount
from service.core.housing.money import cost_of_plan
from service.core.housing.planning import plan_housing
from service.core.housing.wishes import AllowedDrawer, Contents, OwnDrawer, TrayOffer, WantedTrays, Wishes

MM = 1_000_000
#: 500 mm drawers that go nowhere in a cabinet for 482.6 mm: their trays move over.
TOO_WIDE = a_line(outer=size(500, 400, 60), trays=(a_tray_lot(count=1440, outer=size(110, 60, 40)),))


def test_the_trays_of_a_line_that_goes_by_the_tray_are_asked_for_with_play_reserve_and_label() -> None:
    asked = ask(Contents(lines=(TOO_WIDE,)), Wishes(), a_system())
    (tray,) = asked.request.trays
    assert (tray.code, tray.width_nm, tray.depth_nm, tray.count) == ("1-1", 110 * MM, 60 * MM, 1440)
    assert not tray.may_turn
    assert (asked.request.play_nm, asked.request.reserve_percent) == (MM // 2, Decimal(20))
    assert asked.at_most_by_check == 76


def test_the_height_that_a_tray_takes_is_that_of_its_pins_with_air_above_them() -> None:
    """Base 2, bottom 6, pins of 38 that go in by 6: heads at 40 mm, and 3 mm of air. The rim is 40 mm."""
    (tray,) = ask(Contents(lines=(TOO_WIDE,)), Wishes(), a_system()).request.trays
    assert tray.height_nm == 43 * MM


def test_a_drawer_in_which_heads_have_little_air_is_not_refused_where_the_fit_check_only_cautions() -> None:
    """Under a lid at 42 mm the heads have 2 mm of air and not 3, but they do not touch."""
    low = a_system(drawers=(a_drawer_standard(inner=size(450, 388, 42)),))
    asked = ask(Contents(lines=(TOO_WIDE,)), Wishes(), low)
    assert plan_housing(asked.request).drawer_count == 72


def test_lines_that_go_another_way_are_left_out_and_said_to_be() -> None:
    as_it_is = a_line()
    on_hold = a_line(outer=size(500, 400, None), trays=None)
    asked = ask(Contents(lines=(as_it_is, TOO_WIDE, on_hold)), Wishes(), a_system())
    assert [(each.line, each.reason.split(";")[0]) for each in asked.left_out] == [
        (1, "The containers go straight in."),
        (3, "A fact is missing"),
    ]
    assert [tray.code for tray in asked.request.trays] == ["2-1"]


def test_a_consignment_of_which_nothing_goes_by_the_tray_is_told_what_becomes_of_it() -> None:
    with pytest.raises(Conflict, match="line 1: as it is") as refused:
        ask(Contents(lines=(a_line(),)), Wishes(), a_system())
    assert refused.value.kind == "nothing_by_the_tray"


def test_a_reserve_that_nobody_stated_is_asked_for_and_never_taken_for_none() -> None:
    silent = a_system(growth_reserve_percent=None)
    with pytest.raises(Invalid, match="kept free for growth") as refused:
        ask(Contents(trays=(WantedTrays("half", 3),)), Wishes(), silent)
    assert refused.value.field == "growth_reserve_percent"
    asked = ask(Contents(trays=(WantedTrays("half", 3),)), Wishes(growth_reserve_percent=Decimal(0)), silent)
    assert asked.request.reserve_percent == 0


def test_a_play_that_nobody_stated_is_said_to_be_missing() -> None:
    own = (OwnDrawer("d", 450 * MM, 388 * MM),)
    trays = (WantedTrays("t", 3, 110 * MM, 60 * MM),)
    asked = ask(Contents(trays=trays), Wishes(growth_reserve_percent=Decimal(0)), None, own)
    assert asked.request.play_nm == 0
    assert any("may not lift out" in note for note in asked.notes)


def test_a_tray_of_the_systems_own_needs_no_sizes() -> None:
    (tray,) = ask(Contents(trays=(WantedTrays("half", 3),)), Wishes(), a_system()).request.trays
    assert (tray.width_nm, tray.depth_nm, tray.height_nm) == (99_500_000, 96_500_000, 41 * MM)
    (higher,) = ask(
        Contents(trays=(WantedTrays("half", 3),)), Wishes(pins=some_pins(48, 6)), a_system()
    ).request.trays
    assert higher.height_nm == (2 + 6 - 6 + 48 + 3) * MM


def test_a_tray_that_nobody_knows_the_size_of_is_asked_about_by_its_place() -> None:
    trays = (WantedTrays("half", 3), WantedTrays("odd", 1, width_nm=50 * MM))
    with pytest.raises(Invalid) as refused:
        ask(Contents(trays=trays), Wishes(), a_system())
    assert refused.value.field == "trays.1.code"


def test_a_drawer_whose_inner_size_is_not_known_is_left_out_and_said_to_be() -> None:
    unknown = a_drawer_standard(code="old", name="Old drawer", inner=size())
    asked = ask(Contents(trays=(WantedTrays("half", 3),)), Wishes(), a_system(drawers=(a_drawer_standard(), unknown)))
    assert [drawer.code for drawer in asked.request.drawers] == ["house"]
    assert any("Old drawer" in note for note in asked.notes)
    with pytest.raises(Invalid) as refused:
        ask(Contents(trays=(WantedTrays("half", 3),)), Wishes((AllowedDrawer("old"),)), a_system(drawers=(unknown,)))
    assert refused.value.field == "allowed_drawers.0.code"


def test_prices_are_all_stated_or_taken_from_the_systems_rates() -> None:
    """A small drawer at 20.00 holds 4 half trays, the house drawer at the usual 68.00 holds 12: three small ones hold
    as many for 60.00."""
    small = a_drawer_standard(code="small", name="Small drawer", inner=size(225, 250, 61))
    system = a_system(drawers=(a_drawer_standard(), small))
    wishes = Wishes((AllowedDrawer("house"), AllowedDrawer("small", Decimal("20.00"))))
    asked = ask(Contents(trays=(WantedTrays("half", 12),)), wishes, system)
    assert [drawer.cost for drawer in asked.request.drawers] == [6800, 2000]
    plan = plan_housing(asked.request)
    assert (plan.cost, [(used.drawer, used.count) for used in plan.used]) == (6000, [("small", 3)])
    cost = cost_of_plan(asked, plan)
    drawers = next(item for item in cost.items if item.what == "drawers small")
    assert (drawers.quantity, drawers.rate, drawers.amount) == (3, 20, Decimal("60.00"))
    assert cost.total == sum(item.amount for item in cost.items if item.amount is not None)
    free = a_system(drawers=(a_drawer_standard(), small), rates=a_system().rates.__class__())
    with pytest.raises(Invalid, match="every type needs one"):
        ask(Contents(trays=(WantedTrays("half", 12),)), wishes, free)


def test_taxa_get_new_trays_whose_bottoms_are_to_be_bought() -> None:
    series = a_tray_series(trays=(a_tray_standard(),))
    contents = Contents(taxa=(TaxonCount("Noctua pronuba", 65),), offers=(TrayOffer("half", 30),))
    asked = ask(contents, Wishes(), a_system(tray_series=(series,)))
    (tray,) = asked.request.trays
    assert (tray.count, tray.label) == (3, "Noctua pronuba")
    items = {item.what: item.quantity for item in cost_of_plan(asked, plan_housing(asked.request)).items}
    assert items["unit trays"] == 3
    # Three bottoms of 96 × 93 mm, the inside of a tray that is 99.5 × 96.5 mm outside.
    assert items["bottom sheet"] == Decimal("0.026784")
    assert not any("bottom sheet" in note for note in asked.notes)
    twice = Contents(taxa=(TaxonCount("a", 1), TaxonCount("a", 2)), offers=(TrayOffer("half", 30),))
    with pytest.raises(Invalid, match="stands twice"):
        ask(twice, Wishes(), a_system())


def test_bottoms_of_trays_whose_inside_nobody_published_are_reckoned_by_the_outline_and_said_to_be() -> None:
    bare = a_tray_series(trays=(a_tray_standard(inner=size()),))
    own = TrayOffer("half", 30, width_nm=110 * MM, depth_nm=60 * MM)
    for system, offer, sheet_mm2 in (
        (a_system(tray_series=(bare,)), TrayOffer("half", 30), Decimal("99.5") * Decimal("96.5")),
        (a_system(), own, Decimal(110 * 60)),
    ):
        asked = ask(Contents(taxa=(TaxonCount("Noctua pronuba", 30),), offers=(offer,)), Wishes(), system)
        assert plan_housing(asked.request).bottom_sheet_m2 == sheet_mm2 / 1_000_000
        assert any("The inner size of “half” is not known" in note for note in asked.notes)


def test_trays_for_taxa_are_chosen_with_the_play_that_the_plan_leaves_them() -> None:
    # By hand, as in the choice of trays itself: with half a millimetre of play two halves and a quarter take as much
    # width as one half and three quarters, and are fewer; bare they take half a millimetre more.
    offers = (TrayOffer("h", 30, 99_500_000, 97 * MM), TrayOffer("q", 12, 49_500_000, 97 * MM))
    contents = Contents(taxa=(TaxonCount("Noctua pronuba", 65),), offers=offers)
    trays = {
        play_nm: {tray.code[-1]: tray.count for tray in ask(contents, wishes, a_system()).request.trays}
        for play_nm, wishes in ((0, Wishes(play_nm=0)), (MM // 2, Wishes()))
    }
    assert trays == {0: {"h": 1, "q": 3}, MM // 2: {"h": 2, "q": 1}}


def test_nothing_to_house_is_said_to_be_nothing() -> None:
    with pytest.raises(Invalid, match="not one tray"):
        ask(Contents(taxa=(TaxonCount("a", 0),), offers=(TrayOffer("half", 30),)), Wishes(), a_system())


def test_lengths_from_memory_are_not_relied_on() -> None:
    recalled = a_drawer_standard(inner=size(450, 388, remembered(61)))
    asked = ask(Contents(trays=(WantedTrays("half", 3),)), Wishes(), a_system(drawers=(recalled,)))
    assert asked.request.drawers[0].clear_height_nm is None
