"""What a plan says beside where things go: what to do, what is unknown, what must not be in the box."""

import pytest
from parcel_cases import COURIER, MM, box, room, stock_box, tray

from service.core.consignment import Container
from service.core.errors import Invalid
from service.core.handbook import figure
from service.core.materials import Treatment
from service.core.measure.dimension import Dimension, Grade, Size
from service.core.parcels.from_lines import pieces_of
from service.core.parcels.pieces import Fluid, Holds, Piece, check_pieces
from service.core.parcels.plan import plan_parcels
from service.core.parcels.stock import Carrier, PackingBench
from service.core.standards import StorageSystem, TraySeries, TrayStandard
from service.core.transfers.lines import Counted, Line, Preparation
from service.core.transfers.notices import Notice, Weight


def codes(pieces: list[Piece], bench: PackingBench | None = None, carrier: Carrier | None = COURIER) -> list[str]:
    return [notice.code for notice in plan_parcels(pieces, bench or PackingBench(), carrier).notices]


def test_unit_trays_travel_in_a_lidded_inner_box_under_a_card() -> None:
    """No open tray is posted; a card held down by four corner pins holds the heads (Schauff 1997, p. 50-51; Ross)."""
    trays = [tray("t", 100, 110, 45, count=4)]
    plan = plan_parcels(trays, PackingBench(inner_boxes=(stock_box("half", 210, 230, 60, wall=4),)), COURIER)
    (inner,) = plan.inner_boxes
    assert (inner.code, len(inner.trays)) == ("half", 4)
    assert (inner.card_width_nm, inner.card_depth_nm) == (210 * MM, 230 * MM)
    assert [placed.inner_box for placed in plan.parcels[0].placed] == [1]
    told = " ".join(plan.instructions)
    assert "4 pins" in told.lower() or "Set 4 pins" in told
    assert "at least 6 mm thick" in told
    assert "card 210 × 230 mm" in told


def test_a_tray_higher_than_every_inner_box_gets_one_made_for_it() -> None:
    plan = plan_parcels([tray("t", 100, 110, 70)], PackingBench(inner_boxes=(stock_box("low", 300, 300, 60),)), None)
    assert plan.inner_boxes[0].code is None
    assert plan.inner_boxes[0].inner.height_nm > 70 * MM


def test_heavy_bodies_are_braced_and_who_said_nothing_is_told_to_look() -> None:
    told = plan_parcels([box("a", 200, 200, 60, heavy_bodied=True)], PackingBench(), None).instructions
    assert any("Brace heavy and long bodies" in step for step in told)
    unsaid = plan_parcels([box("a", 200, 200, 60)], PackingBench(), None).instructions
    assert any("look, and brace" in step for step in unsaid)
    light = plan_parcels([box("a", 200, 200, 60, heavy_bodied=False)], PackingBench(), None).instructions
    assert not any("race" in step for step in light)


def test_several_boxes_in_one_carton_are_bound_together() -> None:
    plan = plan_parcels([box("a", 200, 200, 60), box("b", 200, 200, 60)], PackingBench(), COURIER)
    assert len(plan.parcels) == 1
    assert plan.parcels[0].is_bound
    assert any("bind its contents together" in step for step in plan.instructions)


def test_the_smallest_carton_of_the_stock_that_takes_all_is_used_and_then_no_more_than_there_are() -> None:
    stock = (stock_box("large", 600, 600, 600), stock_box("small", 310, 310, 170, count=1))
    one = plan_parcels([box("a", 200, 200, 60)], PackingBench(cartons=stock), None)
    assert [parcel.code for parcel in one.parcels] == ["small"]
    two = plan_parcels([box("a", 200, 200, 60, count=3)], PackingBench(cartons=stock), None)
    assert [parcel.code for parcel in two.parcels] == ["large"]
    slides = [box("a", 200, 200, 60), box("s", 200, 200, 60, holds=Holds.SLIDES)]
    both = plan_parcels(slides, PackingBench(cartons=stock), None)
    assert [parcel.code for parcel in both.parcels] == ["small", "large"]


def test_no_parcel_is_heavier_than_the_carrier_takes() -> None:
    plan = plan_parcels([box("a", 200, 200, 60, count=5, mass_g=9_000)], PackingBench(), COURIER)
    assert [len(parcel.placed) for parcel in plan.parcels] == [2, 2, 1]
    assert plan.at_least == 3


def test_a_mass_that_nobody_stated_is_unknown_and_what_is_charged_is_at_least_that_much() -> None:
    plan = plan_parcels([box("a", 200, 200, 60)], PackingBench(), COURIER)
    assert plan.parcels[0].mass_unknown == ("the carton", "the padding", "a")
    assert plan.parcels[0].chargeable_g == plan.parcels[0].chargeable_g
    assert "mass-unknown" in [notice.code for notice in plan.notices]


def test_padding_and_carton_weigh_too() -> None:
    carton = stock_box("c", 300, 300, 160, mass_g=400)
    plan = plan_parcels(
        [box("a", 200, 200, 60, mass_g=1_000)], PackingBench(cartons=(carton,), padding_g_per_l=20), COURIER
    )
    litres = (300 * 300 * 160 - 200 * 200 * 60) / 1e6
    assert plan.parcels[0].known_mass_g == 1_000 + 400 + litres * 20
    assert plan.parcels[0].mass_unknown == ()


def test_without_a_size_or_a_content_a_piece_is_left_out_with_what_is_missing() -> None:
    plan = plan_parcels([box("a", 1, 1, 1, outer=None), box("b", 100, 100, 50, holds=None)], PackingBench(), None)
    assert plan.parcels == ()
    assert {each.piece for each in plan.left_out} == {"a", "b"}


def test_a_fumigant_is_taken_out_of_the_box_and_silence_about_it_is_no_clearance() -> None:
    """No loose fumigant in the shipped box (Schauff 1997, p. 51)."""
    with_it = box("a", 200, 200, 60, fumigants=(Treatment.NAPHTHALENE,))
    notices = plan_parcels([with_it], PackingBench(), None).notices
    told = next(notice for notice in notices if notice.code == "fumigant-in-box")
    assert "take the naphthalene out before it is packed" in told.sentence
    assert told.source is not None
    assert "p. 51" in told.source
    assert "fumigant-unknown" in codes([box("a", 200, 200, 60)])
    assert not {"fumigant-unknown", "fumigant-in-box"} & {*codes([box("a", 200, 200, 60, fumigants=())])}


def vials(count: int, each: float | None, holding: int = 1) -> Piece:
    fluid = Fluid(holding, each, "ethanol 75 %", "UN1170")
    return box("v", 100, 100, 60, count=count, holds=Holds.FLUID, fluid=fluid, fumigants=())


def test_liquid_is_compared_with_the_provision_and_nobody_is_told_that_it_may_travel() -> None:
    for piece, code in ((vials(1, 30, 33), "liquid-within"), (vials(1, 31), "liquid-beyond")):
        plan = plan_parcels([piece], PackingBench(checked_edition="the 67th edition"), COURIER)
        (told,) = [notice for notice in plan.notices if notice.code.startswith("liquid")]
        assert told.code == code
        assert "A180" in told.sentence
        assert "the 67th edition" in told.sentence
        assert "Ask the carrier" in told.sentence
        assert "legal" not in told.sentence
        assert (told.source or "").startswith("From memory")
    assert "liquid-unknown" in codes([vials(1, None)])


def test_vials_are_spread_over_parcels_so_that_none_has_more_than_a_litre() -> None:
    plan = plan_parcels([vials(4, 30, 10)], PackingBench(), COURIER)
    assert [len(parcel.placed) for parcel in plan.parcels] == [3, 1]
    assert all(notice.code == "liquid-unread" for notice in plan.notices if notice.code.startswith("liquid"))


def test_a_remembered_figure_warns_by_itself_but_never_clears_a_parcel_by_itself() -> None:
    (within,) = liquid(vials(1, 30, 33), PackingBench())
    assert (within.code, within.weight) == ("liquid-unread", Weight.UNKNOWN)
    assert "unknown until somebody has read it" in within.sentence
    (beyond,) = liquid(vials(1, 31), PackingBench())
    assert (beyond.code, beyond.weight) == ("liquid-beyond", Weight.CAUTION)
    assert figure("parcel.liquid_inner_most").grade is figure("parcel.liquid_total_most").grade is Grade.FROM_MEMORY


def liquid(piece: Piece, bench: PackingBench) -> list[Notice]:
    plan = plan_parcels([piece], bench, COURIER)
    return [notice for notice in plan.notices if notice.code.startswith("liquid")]


def test_limits_that_no_carrier_stated_are_said_to_be_unchecked() -> None:
    assert "carrier-unknown" in codes([box("a", 100, 100, 50)], carrier=None)
    assert "carrier-terms-unknown" in codes([box("a", 100, 100, 50)], carrier=Carrier("k", "Post"))


def test_lines_say_what_they_travel_in_by_the_senders_own_tray_series() -> None:
    trays = TrayStandard("half", "Half", Size(Dimension(105 * MM), Dimension(220 * MM), Dimension(48 * MM)))
    system = StorageSystem(tray_series=(TraySeries("s", "Series", (trays,)),))
    lines = (
        Line(
            "1",
            20,
            "Amara",
            preparation=Preparation.PINNED,
            storage=Container.UNIT_TRAY,
            storage_count=2,
            tray="half",
        ),
        Line("2", 20, "Amara", preparation=Preparation.SLIDE, storage=Container.STORAGE_BOX, storage_count=1),
        Line("3", 20, "Amara"),
        Line("4", 20, "Amara", storage=Container.DRAWER),
        Line("5", 3, counted=Counted.UNIT_TRAY, tray="half"),
    )
    pieces, missing = pieces_of(lines, system)
    assert [(piece.key, piece.count, piece.holds) for piece in pieces] == [
        ("1", 2, Holds.PINNED), ("2", 1, Holds.SLIDES), ("5", 3, Holds.DRY),
    ]  # fmt: skip
    assert pieces[0].outer == room(105, 220, 48)
    assert pieces[1].outer is None
    assert [each.piece for each in missing] == ["3", "4"]


def test_a_piece_is_named_once_and_only_lines_of_the_transfer_lie_in_it() -> None:
    with pytest.raises(Invalid, match="there twice"):
        check_pieces((box("a", 1, 1, 1), box("a", 1, 1, 1)), frozenset())
    with pytest.raises(Invalid, match="no line 9"):
        check_pieces((box("a", 1, 1, 1, lines=("9",)),), frozenset({"1"}))
