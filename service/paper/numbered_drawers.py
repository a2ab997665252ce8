"""The drawers of a housing plan by number: every paper of a plan counts them alike, from 1 in the plan's order."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.core.housing.plan import DrawerType, HousingPlan, HousingRequest, Layout, TraySize

#: Each size of tray with its number, by its code.
Numbers = dict[str, tuple[int, TraySize]]


@dataclass(frozen=True, slots=True)
class Numbered:
    """A layout, its own number, and the first of the drawers that have it."""

    number: int
    first: int
    layout: Layout

    @property
    def last(self) -> int:
        return self.first + self.layout.drawers - 1

    @property
    def drawers_words(self) -> str:
        """Which drawers have this layout: ``Drawer 3``, ``Drawers 4–15``."""
        return f"Drawer {self.first}" if self.first == self.last else f"Drawers {self.first}–{self.last}"


def numbered(plan: HousingPlan) -> Iterator[Numbered]:
    """Every layout of the plan with the numbers of its drawers."""
    first = 1
    for number, layout in enumerate(plan.layouts, start=1):
        yield Numbered(number, first, layout)
        first += layout.drawers


def layout_numbered(plan: HousingPlan, number: int) -> Numbered:
    """The layout with this number, from 1.

    :raises LookupError: when the plan has no such layout.
    """
    found = next((each for each in numbered(plan) if each.number == number), None)
    if found is None:
        raise LookupError(f"The plan has {len(plan.layouts)} layouts; there is no layout {number}.")
    return found


def drawer_of(request: HousingRequest, layout: Layout) -> DrawerType:
    return next(drawer for drawer in request.drawers if drawer.code == layout.drawer)


def sizes_by_code(request: HousingRequest) -> Numbers:
    """Each size of tray with its number, from 1 in the order asked for, by its code."""
    return {tray.code: (number, tray) for number, tray in enumerate(request.trays, start=1)}


def drawers_by_tray(plan: HousingPlan) -> dict[str, list[int]]:
    """For each size of tray that is housed the numbers of the drawers that it is in, in order."""
    found: dict[str, list[int]] = defaultdict(list)
    for shown in numbered(plan):
        for code in shown.layout.counts:
            found[code] += range(shown.first, shown.last + 1)
    return dict(found)


def share_filled(layout: Layout, drawer: DrawerType) -> float:
    """The trays' own area as a part of the drawer's inside, from 0 to 1."""
    trays = sum(each.place.width_nm * each.place.depth_nm for each in layout.placed)
    return trays / (drawer.inner_width_nm * drawer.inner_depth_nm)


def listed(numbers: Sequence[int]) -> str:
    """Whole numbers in order with runs drawn together: ``1–3, 7``."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(first) if first == last else f"{first}–{last}" for first, last in runs)
