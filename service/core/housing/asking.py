"""From a consignment, a list of trays or a list of taxa, and a storage system, to the question of a housing plan."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from service.core.errors import Invalid
from service.core.housing.asked_drawers import drawers_asked, inner_sides
from service.core.housing.asked_trays import trays_asked
from service.core.housing.plan import DrawerType, HousingRequest
from service.core.housing.wishes import (
    Asked,
    Contents,
    OwnDrawer,
    Wishes,
)
from service.core.standards import StorageSystem

_NOTHING = StorageSystem()


def ask(contents: Contents, wishes: Wishes, system: StorageSystem | None, own: Sequence[OwnDrawer] = ()) -> Asked:
    """The question: drawers of the ``system``, or the asker's ``own``.

    :raises Invalid: naming what has to be stated first, or makes no sense.
    :raises Conflict: when no line of the consignment goes by the tray.
    """
    drawers, money = drawers_asked(wishes, system, own)
    trays = trays_asked(contents, wishes, system or _NOTHING, drawers)
    if not any(size.count for size in trays.sizes):
        raise Invalid("trays", "There is not one tray to be housed.")
    play_nm = wishes.play_nm if wishes.play_nm is not None else trays.play_nm
    request = HousingRequest(trays.sizes, drawers, _reserve(wishes, system), play_nm or 0)
    return Asked(
        request,
        notes=(*_notes(play_nm, system, drawers), *trays.notes),
        left_out=trays.left_out,
        at_most_by_check=trays.at_most_by_check,
        money=money,
        new_trays=trays.new,
        specimens=trays.specimens,
        rates=(system or _NOTHING).rates,
        cabinets=(system or _NOTHING).cabinets,
        treatments_used=tuple(line.treatments_used for line in contents.lines) or (None,),
    )


def _reserve(wishes: Wishes, system: StorageSystem | None) -> Decimal:
    if wishes.growth_reserve_percent is not None:
        return wishes.growth_reserve_percent
    if system is not None and system.growth_reserve_percent is not None:
        return system.growth_reserve_percent
    raise Invalid(
        "growth_reserve_percent",
        "Nobody has stated how much of each drawer is kept free for growth; state it, be it 0.",
    )


def _notes(play_nm: int | None, system: StorageSystem | None, drawers: Sequence[DrawerType]) -> Iterator[str]:
    if play_nm is None:
        yield "Nobody has stated a play, so trays stand edge to edge; they may not lift out."
    if system is None:
        return
    used = {drawer.code for drawer in drawers}
    for drawer in system.drawers:
        if drawer.code not in used and not inner_sides(drawer):
            yield f"“{drawer.name}” was left out: its inner size is not published, or only from memory."
