"""The order in which trays are to stand: where new ones and those that change their taxon go among the others."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from service.core.arrangement.inventory import SystematicSequence, Taxon, Tray, plain_name
from service.core.arrangement.plan import CannotBeArranged, NewTaxon


def sorted_by(sequence: SystematicSequence, standing: Sequence[Tray]) -> tuple[list[Tray], list[str]]:
    """All trays in the sequence, and the taxa that it has not: their trays stay behind the tray they stand behind."""
    rank, keyed, unknown = -1, [], dict[str, None]()
    for tray in standing:
        found = sequence.rank(tray.taxon)
        if found is None:
            unknown[tray.taxon] = None
        else:
            rank = found
        keyed.append((rank, tray))
    return [tray for _, tray in sorted(keyed, key=lambda each: each[0])], list(unknown)


def set_in(sequence: SystematicSequence, standing: Sequence[Tray], arriving: Sequence[Tray]) -> list[Tray]:
    """The standing trays as they stand, each arriving one behind the last of its taxon, or else behind the last of
    those before it in the sequence.

    :raises CannotBeArranged: naming taxa of which nobody knows where they go.
    """
    last_of = {plain_name(tray.taxon): at for at, tray in enumerate(standing)}
    ranks, ends = _last_by_rank(sequence, standing)
    behind: dict[int, list[tuple[int, Tray]]] = defaultdict(list)
    strangers = dict[str, None]()
    for tray in arriving:
        at, rank = last_of.get(plain_name(tray.taxon)), sequence.rank(tray.taxon)
        if at is None and rank is None:
            strangers[tray.taxon] = None
            continue
        if at is None and rank is not None:
            before = bisect_right(ranks, rank)
            at = ends[before - 1] if before else -1
        behind[-1 if at is None else at].append((-1 if rank is None else rank, tray))
    if strangers:
        raise CannotBeArranged(f"The sequence has no place for {_listed(strangers)}; say after which taxon.")
    return list(_woven(standing, behind))


def _woven(standing: Sequence[Tray], behind: Mapping[int, list[tuple[int, Tray]]]) -> Iterable[Tray]:
    for at in range(-1, len(standing)):
        if at >= 0:
            yield standing[at]
        yield from (tray for _, tray in sorted(behind.get(at, ()), key=lambda each: each[0]))


def _last_by_rank(sequence: SystematicSequence, standing: Sequence[Tray]) -> tuple[list[int], list[int]]:
    """The ranks that stand, in order, and for each where the last tray of it stands."""
    last: dict[int, int] = {}
    for at, tray in enumerate(standing):
        if (rank := sequence.rank(tray.taxon)) is not None:
            last[rank] = at
    ranks = sorted(last)
    return ranks, [last[rank] for rank in ranks]


def with_taxa(sequence: SystematicSequence, taxa: Sequence[NewTaxon]) -> SystematicSequence:
    """The sequence with new taxa, each right behind the one that it names.

    :raises CannotBeArranged: when the sequence has a name already, or has not the one to go behind.
    """
    found = list(sequence.taxa)
    for taxon in taxa:
        names = [plain_name(each.name) for each in found]
        if plain_name(taxon.name) in names:
            raise CannotBeArranged(f"The sequence has {taxon.name} already.")
        at = 0
        if taxon.after is not None:
            if plain_name(taxon.after) not in names:
                raise CannotBeArranged(f"The sequence has no {taxon.after} for {taxon.name} to go behind.")
            at = names.index(plain_name(taxon.after)) + 1
        found.insert(at, Taxon(taxon.name, taxon.family, taxon.genus))
    return SystematicSequence(tuple(found))


def completed(sequence: SystematicSequence, known: SystematicSequence) -> SystematicSequence:
    """The sequence with families and genera that were left out and are known from another one."""
    before = {plain_name(taxon.name): taxon for taxon in known.taxa}

    def whole(taxon: Taxon) -> Taxon:
        other = before.get(plain_name(taxon.name), taxon)
        return replace(taxon, family=taxon.family or other.family, genus=taxon.genus or other.genus)

    return SystematicSequence(tuple(map(whole, sequence.taxa)))


def without_taxa(sequence: SystematicSequence, names: Sequence[str]) -> SystematicSequence:
    gone = {plain_name(name) for name in names}
    return SystematicSequence(tuple(taxon for taxon in sequence.taxa if plain_name(taxon.name) not in gone))


def alphabetical(names: Iterable[str]) -> SystematicSequence:
    """The sequence of an institution that keeps its taxa by the alphabet and says so."""
    plain = {plain_name(name): name for name in names}
    return SystematicSequence(tuple(Taxon(plain[name]) for name in sorted(plain)))


def renamed(trays: Sequence[Tray], taxon: str) -> list[Tray]:
    return [replace(tray, taxon=taxon) for tray in trays]


def _listed(names: Iterable[str], most: int = 5) -> str:
    listed = list(names)
    more = f" and {len(listed) - most} more" if len(listed) > most else ""
    return ", ".join(f"“{name}”" for name in listed[:most]) + more
