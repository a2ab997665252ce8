"""Things to pack, with little to type: sizes in millimetres."""

from dataclasses import replace

from hypothesis import strategies as st

from service.core.consignment import Container
from service.core.parcels.pieces import Holds, Piece
from service.core.parcels.stock import Carrier, Room, StockBox

MM = 1_000_000


def room(width: float, depth: float, height: float) -> Room:
    return Room(round(width * MM), round(depth * MM), round(height * MM))


def box(key: str, *size: float, **given: object) -> Piece:
    """One storage box of pinned specimens."""
    return replace(Piece(key, Container.STORAGE_BOX, 1, outer=room(*size), holds=Holds.PINNED), **given)  # type: ignore[arg-type]


def tray(key: str, *size: float, **given: object) -> Piece:
    return box(key, *size, container=Container.UNIT_TRAY, **given)


def stock_box(code: str, *inner: float, wall: float = 7, **given: object) -> StockBox:
    inside = room(*inner)
    return replace(StockBox(code, code, inside, inside.grown(round(wall * MM))), **given)  # type: ignore[arg-type]


#: A divisor as couriers print it; from memory, and in the service always the institution's own setting.
COURIER = Carrier("courier", "Courier", divisor_cm3_per_kg=5_000, step_g=500, most_mass_g=20_000)

_lengths = st.integers(20, 460)
_boxes = st.builds(
    lambda key, width, depth, height, mass, holds, container: box(
        key, width, depth, height, mass_g=mass, holds=holds, container=container
    ),
    st.uuids().map(str), _lengths, _lengths, st.integers(15, 200), st.none() | st.integers(50, 9_000),
    st.sampled_from(Holds), st.sampled_from(Container),
)  # fmt: skip
pieces = st.lists(_boxes, min_size=1, max_size=25)
cartons = st.lists(
    st.builds(
        lambda code, width, depth, height, count: stock_box(f"c{code}", width, depth, height, count=count),
        st.uuids().map(str), st.integers(90, 900), st.integers(90, 900), st.integers(90, 700),
        st.none() | st.integers(1, 3),
    ),
    max_size=4,
)  # fmt: skip
paddings = st.none() | st.integers(50 * MM, 90 * MM)
carriers = st.none() | st.builds(
    Carrier, st.just("k"), st.just("Carrier"), st.none() | st.integers(3_000, 7_000), st.none() | st.just(500),
    st.none() | st.integers(5_000, 31_500), st.none() | st.integers(600 * MM, 1_500 * MM),
    st.none() | st.integers(1_500 * MM, 3_000 * MM),
)  # fmt: skip
