"""The unit trays of a loan as containers that a fit check can hold against a storage system."""

from collections import Counter

from service.core.consignment import Container
from service.core.consignment import Line as Containers
from service.core.standards import StorageSystem, TraySeries, TrayStandard
from service.core.transfers.transfer import Transfer


def containers_of(transfer: Transfer, senders: StorageSystem) -> tuple[Containers, ...]:
    """What the lines travel in, like containers together: unit trays by their code in the sender's series.

    A tray that nobody named, or that the system does not have, is there without its sizes, so that every answer
    about it is *unknown*.
    """
    counts: Counter[tuple[Container, str | None]] = Counter()
    for line in transfer.lines:
        if line.storage is not None:
            counts[line.storage, line.tray] += line.storage_count or 1
    return tuple(_containers(storage, code, count, senders) for (storage, code), count in counts.items())


def lines_without_storage(transfer: Transfer) -> tuple[str, ...]:
    """Lines of which nobody said what they travel in: no fit check covers them."""
    return tuple(line.key for line in transfer.lines if line.storage is None)


def _containers(storage: Container, code: str | None, count: int, senders: StorageSystem) -> Containers:
    found = _tray(code, senders) if storage is Container.UNIT_TRAY else None
    if found is None:
        return Containers(storage, count, description=code or "")
    series, tray = found
    called = f"{series.name}: {tray.name}"
    return Containers(storage, count, called, outer=tray.outer, inner=tray.inner, base=tray.base, lining=tray.bottom)


def _tray(code: str | None, system: StorageSystem) -> tuple[TraySeries, TrayStandard] | None:
    return next(((s, t) for s in system.tray_series for t in s.trays if t.code == code), None)
