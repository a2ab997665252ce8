"""The receiver's cabinets as a housing plan fills them."""

from collections.abc import Iterator

from service.core.fit.room_in_cabinets import capacity
from service.core.housing.plan import HousingPlan
from service.core.housing.wishes import Asked
from service.core.standards import Cabinet
from service.paper.cabinet_positions import CabinetKind, CabinetPlan, in_cabinets


def cabinets_for(asked: Asked, plan: HousingPlan) -> CabinetPlan:
    """Every drawer in the position that it takes in cabinets made for it, taken to be empty and as many as needed.

    Which positions are free is not known here, only how many: the numbers of the cabinets count those that are
    filled. A drawer for which no cabinet was published has no position.
    """
    used = {each.drawer for each in plan.used}
    return in_cabinets(plan, tuple(_kinds(asked, used)))


def _kinds(asked: Asked, used: set[str]) -> Iterator[CabinetKind]:
    for cabinet in asked.cabinets:
        each = _positions_per_column(cabinet)
        if cabinet.made_for in used and each:
            yield CabinetKind(
                name=cabinet.name,
                takes=((cabinet.made_for, 1),),
                positions_per_column=each,
                columns=cabinet.columns,
                opening_width_nm=cabinet.opening.width.smallest_nm if cabinet.opening.width else None,
                pitch_nm=cabinet.pitch.value_nm if cabinet.pitch else None,
            )


def _positions_per_column(cabinet: Cabinet) -> int | None:
    positions = capacity(cabinet)
    return positions // (cabinet.count * cabinet.columns) if positions and cabinet.count else None
