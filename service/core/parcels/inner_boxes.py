"""Unit trays into lidded inner boxes, one layer on the floor: specimens are not posted in an open tray."""

from collections.abc import Sequence

from service.core.handbook.figures import figure
from service.core.parcels.filling import Shelf, Thing, Trial, fill_boxes
from service.core.parcels.floor import Laid, lay
from service.core.parcels.stock import Room, StockBox

#: How many widths are tried for the floor of a box to make.
_WIDTHS = 12


def box_trays(trays: Sequence[Room], shelf: Shelf) -> list[tuple[Trial[Laid], tuple[int, ...]]]:
    """Inner boxes for these trays, each with the places in ``trays`` of those that lie in it."""
    things = [Thing(tray) for tray in trays]
    return fill_boxes(things, shelf, _fit, _make, lambda laid: laid.which)


def _fit(box: StockBox, things: Sequence[Thing]) -> Trial[Laid] | None:
    low = [at for at, thing in enumerate(things) if thing.size.height_nm <= box.inner.height_nm]
    laid = _lay(box.inner.width_nm, box.inner.depth_nm, things, low)
    return Trial(box, False, tuple(laid), _share(laid, box.inner)) if laid else None


def _lay(width: int, depth: int, things: Sequence[Thing], places: Sequence[int]) -> list[Laid]:
    flats = [(things[at].size.width_nm, things[at].size.depth_nm) for at in places]
    return [
        Laid(places[each.which], each.x, each.y, each.width, each.depth)
        for each in lay(width, depth, flats)
    ]  # fmt: skip


def _share(laid: Sequence[Laid], inner: Room) -> float:
    return sum(each.width * each.depth for each in laid) / (inner.width_nm * inner.depth_nm)


def _make(things: Sequence[Thing]) -> Trial[Laid]:
    """The smallest box for the most of them on a floor that one person carries level; of one alone, its own size."""
    most = figure("parcel.made_inner_side_most").nm
    places = range(len(things))
    trials = [
        _trimmed(things, laid) for width in _widths(things, most) if (laid := _lay(width, most, things, places))
    ]
    alone = things[0].size
    first = Laid(0, 0, 0, alone.width_nm, alone.depth_nm)
    return max(
        trials, key=lambda trial: (len(trial.puts), -trial.box.outer.volume_nm3), default=_trimmed(things, [first])
    )


def _widths(things: Sequence[Thing], most: int) -> list[int]:
    """Widths worth trying: some of the widest trays side by side, as far as a box may be wide."""
    sums, total = {most}, 0
    for side in sorted((max(t.size.width_nm, t.size.depth_nm) for t in things), reverse=True)[:_WIDTHS]:
        total += side
        sums.add(min(total, most))
    return sorted(sums)


def _trimmed(things: Sequence[Thing], laid: Sequence[Laid]) -> Trial[Laid]:
    """A box to make around what lies there: as wide, deep and high as it has to be."""
    wall, lid = figure("parcel.made_inner_wall").nm, figure("parcel.made_inner_lid").nm
    inner = Room(
        max(each.x + each.width for each in laid),
        max(each.y + each.depth for each in laid),
        max(things[each.which].size.height_nm for each in laid) + lid,
    )
    return Trial(StockBox("", "to make", inner, inner.grown(wall)), True, tuple(laid), _share(laid, inner))
