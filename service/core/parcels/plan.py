"""A plan of parcels: what lies in which inner box, what stands in which carton, and what to know before posting."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.core.consignment import Container
from service.core.parcels.answer import Faces, InnerBox, NotPacked, Parcel, ParcelPlan, Placed
from service.core.parcels.bundle import Stood
from service.core.parcels.cartons import Rules, carton_things
from service.core.parcels.fewest import fewest_parcels
from service.core.parcels.filling import Shelf, Thing, Trial
from service.core.parcels.floor import Laid
from service.core.parcels.inner_boxes import box_trays
from service.core.parcels.limits import Limits, chargeable_g, limits_of, volumetric_g
from service.core.parcels.liquids import millilitres, most_in_a_parcel_ml
from service.core.parcels.notes import instructions, plan_notices
from service.core.parcels.padding_check import faults
from service.core.parcels.pieces import Holds, Piece
from service.core.parcels.stock import Carrier, PackingBench, Room, StockBox, least_padding_nm


class WronglyPacked(RuntimeError):
    """A plan did not stand the independent look; it is shown to nobody."""


@dataclass(frozen=True, slots=True)
class _Unit:
    """What goes into a carton as one: a piece by its number, or an inner box."""

    size: Room
    holds: Holds
    mass_g: int | None
    liquid_ml: float = 0.0
    piece: str | None = None
    number: int | None = None
    inner_box: int | None = None
    mass_unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Shelves:
    """What is left of the stock, over all kinds of contents."""

    inner_boxes: Shelf
    cartons: Shelf


def plan_parcels(
    pieces: Sequence[Piece], bench: PackingBench, carrier: Carrier | None, left_out: Sequence[NotPacked] = ()
) -> ParcelPlan:
    """Where everything goes, with at least the published padding on every side.

    Pieces whose size or content nobody stated are left out, each with what is missing. Things of different content
    never share a parcel.

    :raises WronglyPacked: when the independent look finds a fault.
    """
    known, missing = _sorted_out(pieces)
    boxes: list[InnerBox] = []
    parcels: list[Parcel] = []
    shelves = _Shelves(Shelf(bench.inner_boxes), Shelf(bench.cartons))
    at_least = 0
    limits = limits_of(carrier)
    for holds in Holds:
        own = [piece for piece in known if piece.holds is holds]
        units = [*_loose(own), *_boxed(own, shelves.inner_boxes, boxes)]
        parcels += _parcels(units, shelves.cartons, bench, carrier, limits, first=len(parcels) + 1)
        at_least += fewest_parcels([Thing(unit.size, unit.mass_g or 0) for unit in units], bench, limits)
    plan = ParcelPlan(
        parcels=tuple(parcels),
        inner_boxes=tuple(boxes),
        instructions=instructions(known, boxes, parcels, bench),
        notices=tuple(plan_notices(pieces, boxes, parcels, bench, carrier)),
        left_out=(*left_out, *missing),
        at_least=at_least,
        padding_nm=bench.padding,
        carrier=carrier.code if carrier else None,
    )
    if wrong := faults(plan, pieces, max(bench.padding, least_padding_nm())):
        raise WronglyPacked("; ".join(wrong[:5]))
    return plan


def _sorted_out(pieces: Sequence[Piece]) -> tuple[list[Piece], list[NotPacked]]:
    known, missing = [], []
    for piece in pieces:
        if piece.outer is None:
            missing.append(NotPacked(piece.key, "Nobody stated its outer size."))
        elif piece.holds is None:
            missing.append(NotPacked(piece.key, "Nobody stated what is in it, nor so what it may lie beside."))
        else:
            known.append(piece)
    return known, missing


def _loose(pieces: Sequence[Piece]) -> Iterator[_Unit]:
    """Drawers and boxes, which are closed and go into the carton as they are."""
    for piece in pieces:
        if piece.container is not Container.UNIT_TRAY and piece.outer and piece.holds:
            liquid = millilitres(piece.fluid) or 0.0
            for number in range(1, piece.count + 1):
                yield _Unit(piece.outer, piece.holds, piece.mass_g, liquid, piece.key, number)


def _boxed(pieces: Sequence[Piece], shelf: Shelf, boxes: list[InnerBox]) -> Iterator[_Unit]:
    """Unit trays in inner boxes; the boxes are added to ``boxes``."""
    trays = [
        (piece, number)
        for piece in pieces
        if piece.container is Container.UNIT_TRAY
        for number in range(1, piece.count + 1)
    ]
    sizes = [piece.outer for piece, _ in trays if piece.outer]
    for trial, places in box_trays(sizes, shelf):
        inside = [trays[at] for at in places]
        box = _inner_box(len(boxes) + 1, trial, inside)
        boxes.append(box)
        liquid = sum(millilitres(piece.fluid) or 0.0 for piece, _ in inside)
        mass = None if box.mass_unknown else box.known_mass_g
        yield _Unit(box.outer, box.holds, mass, liquid, inner_box=box.number, mass_unknown=box.mass_unknown)


def _inner_box(number: int, trial: Trial[Laid], inside: Sequence[tuple[Piece, int]]) -> InnerBox:
    placed = tuple(
        Placed(laid.x, laid.y, 0, Room(laid.width, laid.depth, _height(piece)), piece.key, at)
        for laid, (piece, at) in zip(trial.puts, inside, strict=True)
    )
    heavy = {piece.heavy_bodied for piece, _ in inside}
    return InnerBox(
        number=number,
        code=None if trial.made else trial.box.code,
        holds=inside[0][0].holds or Holds.PINNED,
        inner=trial.box.inner,
        outer=trial.box.outer,
        trays=placed,
        card_width_nm=trial.box.inner.width_nm,
        card_depth_nm=trial.box.inner.depth_nm,
        braced=True if True in heavy else None if None in heavy else False,
        known_mass_g=(trial.box.mass_g or 0) + sum(piece.mass_g or 0 for piece, _ in inside),
        mass_unknown=_unknown([(f"inner box {number}", trial.box.mass_g), *((p.key, p.mass_g) for p, _ in inside)]),
    )


def _height(piece: Piece) -> int:
    return piece.outer.height_nm if piece.outer else 0


def _unknown(masses: Sequence[tuple[str, int | None]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for name, mass in masses if mass is None))


def _parcels(
    units: Sequence[_Unit], shelf: Shelf, bench: PackingBench, carrier: Carrier | None, limits: Limits, first: int
) -> list[Parcel]:
    if not units:
        return []
    wet = any(unit.holds is Holds.FLUID for unit in units)
    rules = Rules(bench.padding, limits, bench.padding_g_per_l or 0, most_in_a_parcel_ml() if wet else None)
    things = [Thing(unit.size, unit.mass_g or 0, unit.liquid_ml) for unit in units]
    found = carton_things(things, shelf, rules)
    return [
        _parcel(first + at, trial, [units[place] for place in places], rules, bench, carrier)
        for at, (trial, places) in enumerate(found)
    ]


def _parcel(
    number: int,
    trial: Trial[Stood],
    units: Sequence[_Unit],
    rules: Rules,
    bench: PackingBench,
    carrier: Carrier | None,
) -> Parcel:
    placed = _centred(trial.box, trial.puts, units, rules.padding_nm)
    sizes = [Thing(unit.size) for unit in units]
    mass = rules.empty_g(trial.box, sizes) + sum(unit.mass_g or 0 for unit in units)
    own = [("the carton", trial.box.mass_g), ("the padding", bench.padding_g_per_l)]
    unknown = _unknown([*own, *((_name(unit), unit.mass_g) for unit in units)])
    volumetric = volumetric_g(trial.box.outer, carrier)
    return Parcel(
        number=number,
        code=None if trial.made else trial.box.code,
        holds=units[0].holds,
        inner=trial.box.inner,
        outer=trial.box.outer,
        placed=placed,
        padding=_faces(trial.box.inner, placed),
        known_mass_g=mass,
        mass_unknown=unknown,
        volumetric_g=volumetric,
        chargeable_g=chargeable_g(mass, volumetric, carrier),
    )


def _name(unit: _Unit) -> str:
    return unit.piece or f"inner box {unit.inner_box}"


def _centred(carton: StockBox, puts: Sequence[Stood], units: Sequence[_Unit], padding_nm: int) -> tuple[Placed, ...]:
    """The bundle in the middle of the carton, on its padding."""
    wide = max(put.x + put.size.width_nm for put in puts)
    deep = max(put.y + put.size.depth_nm for put in puts)
    left, front = (carton.inner.width_nm - wide) // 2, (carton.inner.depth_nm - deep) // 2
    return tuple(
        Placed(left + put.x, front + put.y, padding_nm + put.z, put.size, unit.piece, unit.number, unit.inner_box)
        for put, unit in zip(puts, units, strict=True)
    )


def _faces(inner: Room, placed: Sequence[Placed]) -> Faces:
    return Faces(
        left_nm=min(each.x_nm for each in placed),
        right_nm=min(inner.width_nm - each.x_nm - each.size.width_nm for each in placed),
        front_nm=min(each.y_nm for each in placed),
        back_nm=min(inner.depth_nm - each.y_nm - each.size.depth_nm for each in placed),
        below_nm=min(each.z_nm for each in placed),
        above_nm=min(inner.height_nm - each.z_nm - each.size.height_nm for each in placed),
    )
