"""Which trays a taxon needs: those of least area that hold its specimens, each taxon in trays of its own."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from service.core.housing.plan import TraySize

#: area and number of trays, and the choice taken last
_Best = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class TaxonCount:
    taxon: str
    specimens: int


@dataclass(frozen=True, slots=True)
class TrayChoice:
    """A size of tray that may be used, and how many specimens the receiver pins into one.

    ``bottom_width_nm`` and ``bottom_depth_nm`` are those of its pinning bottom; ``None`` is unknown.
    """

    code: str
    width_nm: int
    depth_nm: int
    holds: int
    height_nm: int | None = None
    may_turn: bool = False
    bottom_width_nm: int | None = None
    bottom_depth_nm: int | None = None


@dataclass(frozen=True, slots=True)
class TaxonTrays:
    """The trays of one taxon, and for how many more specimens they have room."""

    taxon: str
    trays: tuple[tuple[TrayChoice, int], ...]
    places_free: int


def choose_trays(
    taxa: Sequence[TaxonCount], choices: Sequence[TrayChoice], play_nm: int = 0
) -> tuple[TaxonTrays, ...]:
    """For each taxon the trays of least total area that hold all its specimens; the fewest of those; in given order.

    A tray's area is what it takes in a drawer, so ``play_nm`` more on both sides than its own.

    :raises ValueError: when there is nothing to choose from, or a count or a size makes no sense.
    """
    _check(taxa, choices)
    areas = [(choice.width_nm + play_nm) * (choice.depth_nm + play_nm) for choice in choices]
    densest = _densest(choices, areas)
    table = _least_areas(choices, areas, _longest_table(taxa, choices, densest))
    return tuple(_trays_of(taxon, choices, table, densest) for taxon in taxa)


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
            bottom_width_nm=choice.bottom_width_nm,
            bottom_depth_nm=choice.bottom_depth_nm,
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


def _densest(choices: Sequence[TrayChoice], areas: Sequence[int]) -> int:
    """The number of the tray of least area for each specimen, and the larger of two such."""

    def by_specimen(number: int) -> tuple[Fraction, int, str]:
        choice = choices[number]
        return Fraction(areas[number], choice.holds), -choice.holds, choice.code

    return min(range(len(choices)), key=by_specimen)


def _longest_table(taxa: Sequence[TaxonCount], choices: Sequence[TrayChoice], densest: int) -> int:
    """Beyond this many specimens there is a best choice with the densest tray in it.

    Of as many other trays as the densest holds specimens, some together hold a multiple of that; densest trays in
    their stead hold as much and take no more area.
    """
    most = max((taxon.specimens for taxon in taxa), default=0)
    return min(most, choices[densest].holds * max(choice.holds for choice in choices))


def _least_areas(choices: Sequence[TrayChoice], areas: Sequence[int], most: int) -> list[_Best]:
    """For every number of specimens the least area, the fewest trays for that, and which choice comes last."""
    table: list[_Best] = [(0, 0, -1)]
    for specimens in range(1, most + 1):
        ways = []
        for number, choice in enumerate(choices):
            area, trays, _ = table[max(0, specimens - choice.holds)]
            ways.append((area + areas[number], trays + 1, number))
        table.append(min(ways))
    return table


def _trays_of(taxon: TaxonCount, choices: Sequence[TrayChoice], table: Sequence[_Best], densest: int) -> TaxonTrays:
    counts: Counter[int] = Counter()
    left = taxon.specimens
    if left >= len(table):
        counts[densest] = -(-(left - len(table) + 1) // choices[densest].holds)
        left -= counts[densest] * choices[densest].holds
    while left > 0:
        number = table[left][2]
        counts[number] += 1
        left -= choices[number].holds
    trays = tuple((choices[number], count) for number, count in sorted(counts.items()))
    return TaxonTrays(taxon.taxon, trays, sum(choice.holds * count for choice, count in trays) - taxon.specimens)
