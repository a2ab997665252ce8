"""From a record to a lot: what it is, how many, who holds it and who owns it.

Whatever a lot does not say in the same words is kept as it was told.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from service.core.consignment import Container
from service.core.lots import Disposition, Lot
from service.core.transfers.lines import PRIMARY_TYPES, Condition, Counted, Line, Preparation, TypeStatus
from service.formats.darwin_core.extensions import loan_of, permit_of
from service.formats.darwin_core.occurrence import OF_OUR_OWN, differing
from service.formats.darwin_core.reading import Archive, Record, Values
from service.formats.darwin_core.report import Report
from service.formats.darwin_core.said import Said, word
from service.formats.darwin_core.terms import LOAN, PERMIT

#: More individuals than this in one record is a slip of the keyboard.
_MOST_COUNTED = 1_000_000_000
_GROUPS = ("order", "superfamily", "family")
_NAME = re.compile(r"[A-Z][a-z-]+", re.ASCII)
#: Words that say of a quantity that it counts what a line counts.
_COUNTED = {
    "individual": Counted.SPECIMEN, "individuals": Counted.SPECIMEN,
    "specimen": Counted.SPECIMEN, "specimens": Counted.SPECIMEN,
    "unit tray": Counted.UNIT_TRAY, "unit trays": Counted.UNIT_TRAY,
    "drawer": Counted.DRAWER, "drawers": Counted.DRAWER,
    "storage box": Counted.STORAGE_BOX, "storage boxes": Counted.STORAGE_BOX,
}  # fmt: skip
#: How labels and databases call preparations, by the word that is in them.
_PREPARATIONS = (
    ("slide", Preparation.SLIDE), ("point", Preparation.POINTED), ("card", Preparation.CARDED),
    ("spread", Preparation.SPREAD), ("paper", Preparation.PAPERED), ("envelope", Preparation.PAPERED),
    ("pin", Preparation.PINNED), ("fluid", Preparation.IN_FLUID), ("ethanol", Preparation.IN_FLUID),
    ("etoh", Preparation.IN_FLUID), ("alcohol", Preparation.IN_FLUID), ("other", Preparation.OTHER),
)  # fmt: skip
_NO_TYPE = frozenset({"notatype", "not a type", "not_a_type", "none"})


def lots(archive: Archive) -> Iterator[Lot]:
    """The lots of an archive, one a record, in its order. What is odd about one is in the archive's report.

    A record that counts no individuals at all, the note that something was not there, is no lot and is reported.
    """
    file = archive.descriptor.core.files[0]
    for position, record in enumerate(archive.records(), start=1):
        lot = lot_of(record, str(position), archive.report, file)
        if lot is not None:
            yield lot


def lot_of(record: Record, key: str, report: Report, file: str) -> Lot | None:
    """One record as a lot whose line is called ``key``, unless the record says so itself; None if it counts none."""
    said = Said(record.values)

    def odd(kind: str, detail: str) -> None:
        report.odd(kind, file, detail, record.number)

    counted, count = _count(said, odd)
    if count == 0:
        odd("counts-none", "The record counts no individuals, so there is nothing to move.")
        return None
    _check_pairs(record.values, odd)
    name = said.take("occurrenceID") or record.id or ""
    lot = Lot(
        _line(said, key, counted, count, odd),
        name,
        said.take("institutionCode"),
        said.take("institutionID"),
        said.take("ownerInstitutionCode"),
        said.take("collectionCode"),
        _disposition(said, odd),
        loan_of(record.extensions.get(LOAN, []), odd),
        tuple(permit_of(row, odd) for row in record.extensions.get(PERMIT, [])),
        row_id=record.id if record.id and record.id != name else "",
    )
    told, unsaid = differing(lot, record.values)
    return replace(lot, told=told, unsaid=unsaid)


def _line(said: Said, key: str, counted: Counted, count: int, odd: Any) -> Line:
    own = _own_properties(said)
    catalogue = said.take("catalogNumber")
    others = _listed(said.take("otherCatalogNumbers")) if count > 1 and catalogue else []
    numbers = tuple(dict.fromkeys([catalogue, *others] if catalogue else []))
    if len(numbers) > count:
        numbers = numbers[:1]
    return Line(
        key=str(own.get("line", key)),
        count=count,
        taxon=said.take("scientificName", "vernacularName"),
        counted=counted,
        groups=_groups(said, odd),
        preparation=_preparation(said),
        type_status=_type_status(said, odd),
        storage=word(Container, own.get("storage")),
        storage_count=own.get("storageCount"),
        condition=Condition(own["condition"]) if own.get("condition") in list(Condition) else None,
        remarks=said.take("materialEntityRemarks") or "",
        catalogue_numbers=numbers,
        identifiers=tuple(_listed(said.take("materialEntityID"))),
        tray=own.get("tray"),
        held=own.get("held"),
    )


def _count(said: Said, odd: Any) -> tuple[Counted, int]:
    """What is counted and how many. A record that does not say stands for one specimen at least, and is noted."""
    if (stated := said.values.get("individualCount", "").strip()) and (count := _whole(stated)) is not None:
        return Counted.SPECIMEN, count
    for quantity in ("objectQuantity", "organismQuantity"):
        count = _whole(said.values.get(quantity, ""))
        counted = _COUNTED.get(said.values.get(f"{quantity}Type", "").strip().lower())
        if counted and count is not None:
            return counted, count
    odd("count-not-stated", "The record does not say how many there are; it was counted as one.")
    return Counted.SPECIMEN, 1


def _whole(written: str) -> int | None:
    text = written.strip()
    if not re.fullmatch(r"[0-9]{1,10}(\.0+)?", text, re.ASCII):
        return None
    count = int(text.split(".")[0])
    return count if count <= _MOST_COUNTED else None


def _check_pairs(values: Values, odd: Any) -> None:
    """Terms that Darwin Core wants together (issue of 2026-05-26)."""
    for one, other in (
        ("organismQuantity", "organismQuantityType"),
        ("objectQuantity", "objectQuantityType"),
        ("typeOfType", "typifiedName"),
    ):
        if (one in values) != (other in values):
            odd("half-a-pair", f"{one} and {other} belong together, and only one of them is there.")


def _groups(said: Said, odd: Any) -> tuple[str, ...]:
    """The groups that a record names, from the widest on."""
    found = []
    for rank in _GROUPS:
        name = said.values.get(rank, "").strip()
        if _NAME.fullmatch(name):
            found.append(name)
        elif name:
            odd("not-a-name", f"“{name[:60]}” is no name of a group ({rank}); is the row shifted?")
    higher = _listed(said.values.get("higherClassification"))
    if higher and found in ([], higher):
        return tuple(higher)
    return tuple(found)


def _preparation(said: Said) -> Preparation | None:
    """The preparation, if all that are listed mean the same one."""
    listed = [part.lower() for part in _listed(said.values.get("preparations"))]
    meant = {next((kind for word, kind in _PREPARATIONS if word in part), None) for part in listed}
    if len(meant) != 1 or None in meant:
        return None
    (one,) = meant
    return one


def _type_status(said: Said, odd: Any) -> TypeStatus | None:
    """The type status by the first word of each that is listed: “Holotype of …”. A name-bearing one goes first."""
    written = said.values.get("typeStatus", "")
    found = [status for part in _listed(written) if (status := _one_type_status(part))]
    if not found:
        if written.strip():
            odd("type-status-unknown", f"“{written[:60]}” is no type status that is known here.")
        return None
    return next((status for status in found if status in PRIMARY_TYPES), found[0])


def _one_type_status(written: str) -> TypeStatus | None:
    if written.lower() in _NO_TYPE:
        return TypeStatus.NOT_A_TYPE
    first = re.split(r"[\s:;,(]", written.lower(), maxsplit=1)[0]
    return word(TypeStatus, first)


def _disposition(said: Said, odd: Any) -> Disposition | None:
    written = said.values.get("disposition", "").strip()
    known = word(Disposition, written.lower())
    if known is None and written:
        odd("disposition-unknown", f"“{written[:60]}” is no disposition that is known here; it was kept as told.")
    return known


def _own_properties(said: Said) -> dict[str, Any]:
    """What a record written by this service says beyond Darwin Core; nothing of anybody else's properties."""
    try:
        told = json.loads(said.values.get("dynamicProperties", ""))
    except (ValueError, RecursionError):
        return {}
    if not isinstance(told, dict) or not told or not set(told) <= set(OF_OUR_OWN):
        return {}
    if not all(_is_of_its_kind(name, value) for name, value in told.items()):
        return {}
    return told


def _is_of_its_kind(name: str, value: Any) -> bool:
    if name in {"line", "storage", "tray"}:
        return isinstance(value, str)
    return isinstance(value, int) and not isinstance(value, bool) and 0 < value <= _MOST_COUNTED


def _listed(written: str | None) -> list[str]:
    return [part for part in (part.strip() for part in (written or "").split("|")) if part]
