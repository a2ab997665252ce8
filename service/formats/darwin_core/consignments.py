"""From the lots of an archive to the lines of a consignment."""

from collections.abc import Iterable
from typing import Any

from service.core.consignment import Container
from service.core.lots import Lot
from service.core.transfers.lines import Counted

MOST_TAXA = 1_000


def consignment_requests(read: Iterable[Lot], container: Container) -> list[dict[str, Any]]:
    """One line of a consignment for each taxon, as the JSON interface takes them, in the order of the lots.

    An archive says nothing about containers, so whoever brings it says in what the specimens stand; each taxon is
    put down as one of these, which is to be corrected. Counts of trays, drawers and boxes are left out of the sum.
    """
    gathered: dict[tuple[tuple[str, ...], str], int] = {}
    for lot in read:
        if lot.line.counted is Counted.SPECIMEN:
            taxon = (lot.line.groups, lot.line.taxon or "")
            gathered[taxon] = gathered.get(taxon, 0) + lot.line.count
    return [_request(container, groups, taxon, count) for (groups, taxon), count in gathered.items()]


def _request(container: Container, groups: tuple[str, ...], taxon: str, count: int) -> dict[str, Any]:
    taxa = " ".join((*groups, taxon)).strip()[:MOST_TAXA]
    return {"container": container.value, "count": 1, "specimens": count} | ({"taxa": taxa} if taxa else {})
