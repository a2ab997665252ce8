"""The unit trays of a loan as containers that a fit check can hold against a storage system."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.core.consignment import Container, Pins
from service.core.consignment import Line as Containers
from service.core.materials import Treatment
from service.core.standards import StorageSystem, TraySeries, TrayStandard
from service.core.transfers.lines import Line
from service.core.transfers.transfer import Transfer

_MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class _Alike:
    """What containers share that a fit check can hold together."""

    storage: Container
    tray: str | None
    pins: Pins | None
    treatments_used: tuple[Treatment, ...] | None


def containers_of(transfer: Transfer, senders: StorageSystem) -> tuple[Containers, ...]:
    """What the lines travel in, like containers together: unit trays by their code in the sender's series.

    A tray that nobody named, or that the system does not have, is there without its sizes, so that every answer
    about it is *unknown*.
    """
    together: dict[_Alike, list[Line]] = defaultdict(list)
    for line in transfer.lines:
        if line.storage is not None:
            together[_Alike(line.storage, line.tray, line.pins, line.treatments_used)].append(line)
    return tuple(_containers(alike, lines, senders) for alike, lines in together.items())


def lines_without_storage(transfer: Transfer) -> tuple[str, ...]:
    """Lines of which nobody said what they travel in: no fit check covers them."""
    return tuple(line.key for line in transfer.lines if line.storage is None)


def _containers(alike: _Alike, lines: Sequence[Line], senders: StorageSystem) -> Containers:
    found = _tray(alike.tray, senders) if alike.storage is Container.UNIT_TRAY else None
    called = f"{found[0].name}: {found[1].name}" if found else alike.tray or alike.storage.replace("_", " ")
    bare = Containers(
        container=alike.storage,
        count=sum(line.storage_count or 1 for line in lines),
        description=f"{called}, of {_named(lines)}",
        pins=alike.pins or Pins(),
        treatments_used=alike.treatments_used,
    )
    if found is None:
        return bare
    _, tray = found
    return replace(bare, outer=tray.outer, inner=tray.inner, base=tray.base, lining=tray.bottom)


def _named(lines: Sequence[Line]) -> str:
    if len(lines) > _MOST_NAMED:
        return f"{len(lines):,} lines from line {lines[0].key} on"
    return f"line{'s' if len(lines) > 1 else ''} {', '.join(line.key for line in lines)}"


def _tray(code: str | None, system: StorageSystem) -> tuple[TraySeries, TrayStandard] | None:
    return next(((s, t) for s in system.tray_series for t in s.trays if t.code == code), None)
