"""Which trays a taxon needs: those of least area that hold its specimens, each taxon in trays of its own."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from service.core.housing.plan import TraySize

#: area and number of trays, and the choice taken last
_Best = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class TaxonCount:
    taxon: str
    specimens: int


@dataclass(frozen=True, slots=True)
class TrayChoice:
    """A size of tray that may be used, and how many specimens the receiver pins into one."""

    code: str
    width_nm: int
    depth_nm: int
    holds: int
    height_nm: int | None = None
    may_turn: bool = False

    @property
    def area_nm2(self) -> int:
        return self.width_nm * self.depth_nm


@dataclass(frozen=True, slots=True)
class TaxonTrays:
    """The trays of one taxon, and for how many more specimens they have room."""

    taxon: str
    trays: tuple[tuple[TrayChoice, int], ...]
    places_free: int


def choose_trays(taxa: Sequence[TaxonCount], choices: Sequence[TrayChoice]) -> tuple[TaxonTrays, ...]:
    """For each taxon the trays of least total area that hold all its specimens; the fewest of those; in given order.

    :raises ValueError: when there is nothing to choose from, or a count or a size makes no sense.
    """
    _check(taxa, choices)
    table = _least_areas(choices, _longest_table(taxa, choices))
    return tuple(_trays_of(taxon, choices, table) for taxon in taxa)


def as_tray_sizes(chosen: Sequence[TaxonTrays], *, together: bool = False) -> tuple[TraySize, ...]:
    """Trays for a housing plan, labelled with their taxon; ``together`` keeps those of a taxon in one drawer."""
    return tuple(
        TraySize(
            code=f"{number:05d} {choice.code}",
            width_nm=choice.width_nm,
            depth_nm=choice.depth_nm,
            count=count,
            label=each.taxon,
            height_nm=choice.height_nm,
            may_turn=choice.may_turn,
            together=each.taxon if together else None,
        )
        for number, each in enumerate(chosen, start=1)
        for choice, count in each.trays
    )


def _check(taxa: Sequence[TaxonCount], choices: Sequence[TrayChoice]) -> None:
    if not choices:
        raise ValueError("no size of tray was given to choose from")
    for choice in choices:
        if min(choice.width_nm, choice.depth_nm, choice.holds) <= 0:
            raise ValueError(f"tray “{choice.code}” needs a width, a depth and a number of specimens above 0")
    for taxon in taxa:
        if taxon.specimens < 0:
            raise ValueError(f"“{taxon.taxon}” has {taxon.specimens} specimens; a count is 0 or more")


def _densest(choices: Sequence[TrayChoice]) -> TrayChoice:
    """The tray of least area for each specimen, and the larger of two such."""
    return min(choices, key=lambda each: (each.area_nm2 / each.holds, -each.holds, each.code))


def _longest_table(taxa: Sequence[TaxonCount], choices: Sequence[TrayChoice]) -> int:
    """Beyond this many specimens there is a best choice with the densest tray in it.

    Of as many other trays as the densest holds specimens, some together hold a multiple of that; densest trays in
    their stead hold as much and take no more area.
    """
    most = max((taxon.specimens for taxon in taxa), default=0)
    return min(most, _densest(choices).holds * max(choice.holds for choice in choices))


def _least_areas(choices: Sequence[TrayChoice], most: int) -> list[_Best]:
    """For every number of specimens the least area, the fewest trays for that, and which choice comes last."""
    table: list[_Best] = [(0, 0, -1)]
    for specimens in range(1, most + 1):
        ways = []
        for number, choice in enumerate(choices):
            area, trays, _ = table[max(0, specimens - choice.holds)]
            ways.append((area + choice.area_nm2, trays + 1, number))
        table.append(min(ways))
    return table


def _trays_of(taxon: TaxonCount, choices: Sequence[TrayChoice], table: Sequence[_Best]) -> TaxonTrays:
    counts: Counter[int] = Counter()
    left, densest = taxon.specimens, _densest(choices)
    if left >= len(table):
        bulk = -(-(left - len(table) + 1) // densest.holds)
        counts[choices.index(densest)] = bulk
        left -= bulk * densest.holds
    while left > 0:
        number = table[left][2]
        counts[number] += 1
        left -= choices[number].holds
    trays = tuple((choices[number], count) for number, count in sorted(counts.items()))
    return TaxonTrays(taxon.taxon, trays, sum(choice.holds * count for choice, count in trays) - taxon.specimens)
