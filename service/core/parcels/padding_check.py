"""An independent look at a finished plan: it knows nothing of how parcels were filled, only what must be true."""

from collections import Counter
from collections.abc import Iterable, Iterator

from service.core.parcels.answer import Parcel, ParcelPlan, Placed
from service.core.parcels.pieces import Piece
from service.core.parcels.stock import Room


def faults(plan: ParcelPlan, pieces: Iterable[Piece], least_padding_nm: int) -> list[str]:
    """What is wrong with a plan, in sentences; nothing when each thing is there once, free, upright and padded."""
    by_key = {piece.key: piece for piece in pieces}
    found = list(_wrong_counts(plan, by_key))
    for box in plan.inner_boxes:
        found += (f"inner box {box.number}: {fault}" for fault in _outside_or_over(box.inner, box.trays))
    for parcel in plan.parcels:
        sizes = {box.number: box.outer for box in plan.inner_boxes}
        found += (f"parcel {parcel.number}: {fault}" for fault in _in_parcel(parcel, by_key, sizes, least_padding_nm))
    return found


def _wrong_counts(plan: ParcelPlan, by_key: dict[str, Piece]) -> Iterator[str]:
    everything = [p for box in plan.inner_boxes for p in box.trays] + [p for c in plan.parcels for p in c.placed]
    things = Counter((placed.piece, placed.number) for placed in everything if placed.piece)
    boxes = Counter(placed.inner_box for parcel in plan.parcels for placed in parcel.placed if placed.inner_box)
    for (key, number), times in things.items():
        if times != 1:
            yield f"{key} {number} is packed {times} times"
    left_out = {each.piece for each in plan.left_out}
    for key, piece in by_key.items():
        packed = sum(1 for name, _ in things if name == key)
        if packed != (0 if key in left_out else piece.count):
            yield f"{packed} of {piece.count} {key} are packed"
    for box in plan.inner_boxes:
        if boxes[box.number] != 1:
            yield f"inner box {box.number} lies in {boxes[box.number]} parcels"


def _in_parcel(parcel: Parcel, by_key: dict[str, Piece], boxes: dict[int, Room], least_nm: int) -> Iterator[str]:
    yield from _outside_or_over(parcel.inner, parcel.placed)
    for placed in parcel.placed:
        asked = boxes[placed.inner_box] if placed.inner_box else by_key[str(placed.piece)].outer
        if asked not in (placed.size, Room(placed.size.depth_nm, placed.size.width_nm, placed.size.height_nm)):
            yield "something has another size here, or lies on its side"
        for name, gap in _gaps(parcel.inner, placed).items():
            if gap < least_nm:
                yield f"{gap / 1e6:g} mm of padding {name}"
    yield from _hanging_over(parcel.placed, parcel.padding.below_nm)
    least = {name: min(_gaps(parcel.inner, placed)[name] for placed in parcel.placed) for name in _FACES}
    if tuple(least.values()) != tuple(getattr(parcel.padding, f"{name}_nm") for name in _FACES):
        yield "the padding is not what it is said to be"


_FACES = ("left", "right", "front", "back", "below", "above")


def _gaps(room: Room, placed: Placed) -> dict[str, int]:
    """From one thing to each face of the carton."""
    return {
        "left": placed.x_nm,
        "right": room.width_nm - placed.x_nm - placed.size.width_nm,
        "front": placed.y_nm,
        "back": room.depth_nm - placed.y_nm - placed.size.depth_nm,
        "below": placed.z_nm,
        "above": room.height_nm - placed.z_nm - placed.size.height_nm,
    }


def _outside_or_over(room: Room, things: tuple[Placed, ...]) -> Iterator[str]:
    if any(gap < 0 for placed in things for gap in _gaps(room, placed).values()):
        yield "something does not lie inside"
    ordered = sorted(things, key=lambda placed: placed.x_nm)
    for at, one in enumerate(ordered):
        for other in ordered[at + 1 :]:
            if other.x_nm >= one.x_nm + one.size.width_nm:
                break
            if _meet(one.y_nm, one.size.depth_nm, other.y_nm, other.size.depth_nm) and _meet(
                one.z_nm, one.size.height_nm, other.z_nm, other.size.height_nm
            ):
                yield "two things take the same place"


def _meet(start: int, length: int, other_start: int, other_length: int) -> bool:
    return start < other_start + other_length and other_start < start + length


def _hanging_over(things: tuple[Placed, ...], floor_nm: int) -> Iterator[str]:
    """Each thing stands on the padding below, or wholly on one other thing."""
    for placed in things:
        if placed.z_nm != floor_nm and not any(_carries(below, placed) for below in things):
            yield "something hangs over"


def _carries(below: Placed, above: Placed) -> bool:
    return (
        below.z_nm + below.size.height_nm == above.z_nm
        and below.x_nm <= above.x_nm
        and below.y_nm <= above.y_nm
        and below.x_nm + below.size.width_nm >= above.x_nm + above.size.width_nm
        and below.y_nm + below.size.depth_nm >= above.y_nm + above.size.depth_nm
    )
