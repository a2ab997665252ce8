"""Whatever is packed, however: padded on every face, free, upright, once, and apart from what it must not touch."""

from dataclasses import replace

from hypothesis import given, settings
from parcel_cases import MM, box, carriers, cartons, paddings, pieces, room, tray

from service.core.parcels.answer import Placed
from service.core.parcels.limits import limits_of
from service.core.parcels.padding_check import faults
from service.core.parcels.pieces import Holds, Piece
from service.core.parcels.plan import plan_parcels
from service.core.parcels.stock import Carrier, PackingBench, StockBox


@given(pieces, cartons, paddings, carriers)
@settings(deadline=None, max_examples=60)
def test_padding_is_never_under_fifty_millimetres(
    things: list[Piece], stock: list[StockBox], padding: int | None, carrier: Carrier | None
) -> None:
    """Each thing against each wall of its carton, by arithmetic of this test's own."""
    plan = plan_parcels(things, PackingBench(cartons=tuple(stock), padding_nm=padding), carrier)
    for parcel in plan.parcels:
        for thing in parcel.placed:
            ends = (thing.x_nm + thing.size.width_nm, thing.y_nm + thing.size.depth_nm,
                    thing.z_nm + thing.size.height_nm)  # fmt: skip
            walls = (parcel.inner.width_nm, parcel.inner.depth_nm, parcel.inner.height_nm)
            gaps = (thing.x_nm, thing.y_nm, thing.z_nm, *(w - e for w, e in zip(walls, ends, strict=True)))
            assert min(gaps) >= max(50 * MM, padding or 0)


@given(pieces, cartons, carriers)
@settings(deadline=None, max_examples=60)
def test_everything_is_packed_once_and_nothing_of_another_kind_lies_beside_it(
    things: list[Piece], stock: list[StockBox], carrier: Carrier | None
) -> None:
    plan = plan_parcels(things, PackingBench(cartons=tuple(stock)), carrier)
    inner = {each.number: each for each in plan.inner_boxes}
    by_key = {thing.key: thing for thing in things}
    packed = []
    for parcel in plan.parcels:
        for placed in parcel.placed:
            inside = [placed] if placed.piece else inner[placed.inner_box or 0].trays
            packed += [each.piece for each in inside]
            assert all(by_key[str(each.piece)].holds is parcel.holds for each in inside)
    assert sorted(map(str, packed)) == sorted(by_key)
    assert plan.at_least <= len(plan.parcels)


@given(pieces, cartons, carriers)
@settings(deadline=None, max_examples=40)
def test_what_breaks_a_limit_is_one_thing_alone_and_said(
    things: list[Piece], stock: list[StockBox], carrier: Carrier | None
) -> None:
    plan = plan_parcels(things, PackingBench(cartons=tuple(stock)), carrier)
    limits = limits_of(carrier)
    said = [notice.code for notice in plan.notices]
    heavy = [parcel for parcel in plan.parcels if parcel.known_mass_g > limits.mass_g]
    large = [parcel for parcel in plan.parcels if not limits.allow(parcel.outer)]
    assert all(len(parcel.placed) == 1 for parcel in (*heavy, *large))
    assert (said.count("too-heavy"), said.count("too-large")) == (len(heavy), len(large))


def test_the_independent_look_finds_what_a_wrong_plan_would_hide() -> None:
    things = [box("a", 230, 330, 65), box("b", 230, 330, 65), tray("t", 100, 100, 45)]
    plan = plan_parcels(things, PackingBench(), None)
    assert faults(plan, things, 50 * MM) == []
    parcel = plan.parcels[0]
    first, *others = parcel.placed

    def moved(**changes: int) -> list[str]:
        there = replace(parcel, placed=(replace(first, **changes), *others))
        return faults(replace(plan, parcels=(there, *plan.parcels[1:])), things, 50 * MM)

    assert any("mm of padding left" in fault for fault in moved(x_nm=first.x_nm - 1))
    assert any("does not lie inside" in fault for fault in moved(x_nm=-1))
    assert any("hangs over" in fault for fault in moved(z_nm=first.z_nm + 1))
    assert any("same place" in fault for fault in moved(z_nm=others[0].z_nm))
    assert faults(replace(plan, parcels=plan.parcels[1:]), things, 50 * MM)
    tipped = replace(parcel, placed=(replace(first, size=room(230, 65, 330)), *others))
    assert any("lies on its side" in f for f in faults(replace(plan, parcels=(tipped,)), things, 50 * MM))
    assert isinstance(first, Placed)


def test_slides_vials_and_pins_never_share_a_parcel() -> None:
    things = [box(holds, 100, 100, 50, holds=holds) for holds in Holds]
    plan = plan_parcels(things, PackingBench(), None)
    assert sorted(parcel.holds for parcel in plan.parcels) == sorted(Holds)
    assert "Slides, vials and pinned specimens travel in parcels of their own." in plan.instructions
