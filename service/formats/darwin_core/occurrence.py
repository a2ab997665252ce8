"""A lot as a record of the core: the terms that this service has fields for, and what it says under each."""

import json
from collections.abc import Callable, Iterator, Mapping
from itertools import count
from typing import Any

from service.core.lots import Lot
from service.core.transfers.lines import Counted, TypeStatus
from service.formats.darwin_core.members import as_text
from service.formats.darwin_core.shelf import Shelf

#: What a lot is when nothing else is told.
PRESERVED_SPECIMEN = "PreservedSpecimen"
#: The parts of a line that Darwin Core has no term for, as ``dynamicProperties`` of what this service writes.
OF_OUR_OWN = ("line", "storage", "storageCount", "condition", "tray", "held")
Cell = Callable[[Lot], Any]

_SEPARATOR = " | "
_AS_JSON = json.JSONEncoder(ensure_ascii=False).encode


def _quantity(lot: Lot) -> int | None:
    return None if lot.line.counted is Counted.SPECIMEN else lot.line.count


def _type_status(lot: Lot) -> str | None:
    status = lot.line.type_status
    return "notatype" if status is TypeStatus.NOT_A_TYPE else status


def _plainly(word: str | None) -> str | None:
    return word and word.replace("_", " ")


def _own_properties(lot: Lot) -> str:
    line = lot.line
    values = (line.key, line.storage, line.storage_count, line.condition, line.tray, line.held)
    told = {name: value for name, value in zip(OF_OUR_OWN, values, strict=True) if value is not None}
    return _AS_JSON(told)


#: The terms of the core, each with what a lot says of it.
CORE: Mapping[str, Cell] = {
    "occurrenceID": lambda lot: lot.record,
    "basisOfRecord": lambda _: PRESERVED_SPECIMEN,
    "institutionCode": lambda lot: lot.institution,
    "institutionID": lambda lot: lot.institution_identifier,
    "ownerInstitutionCode": lambda lot: lot.owner,
    "collectionCode": lambda lot: lot.collection,
    "catalogNumber": lambda lot: next(iter(lot.line.catalogue_numbers), None),
    "otherCatalogNumbers": lambda lot: _SEPARATOR.join(lot.line.catalogue_numbers[1:]),
    "scientificName": lambda lot: lot.line.taxon,
    "higherClassification": lambda lot: _SEPARATOR.join(lot.line.groups),
    "individualCount": lambda lot: lot.line.count if lot.line.counted is Counted.SPECIMEN else None,
    "objectQuantity": _quantity,
    "objectQuantityType": lambda lot: _quantity(lot) and _plainly(lot.line.counted),
    "preparations": lambda lot: _plainly(lot.line.preparation),
    "typeStatus": _type_status,
    "disposition": lambda lot: lot.disposition,
    "materialEntityID": lambda lot: _SEPARATOR.join(lot.line.identifiers),
    "materialEntityRemarks": lambda lot: lot.line.remarks,
    "dynamicProperties": _own_properties,
}


def cells(lot: Lot, columns: Mapping[str, Cell]) -> Iterator[str]:
    """What stands of a lot in some columns: what another database told, in its own words; nothing where it said
    nothing; and otherwise what the lot says.
    """
    told = dict(lot.told)
    for term, cell in columns.items():
        yield "" if term in lot.unsaid else told.get(term) or as_text(cell(lot))


def differing(lot: Lot, values: Mapping[str, str]) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """For ``told`` and ``unsaid``: the values of a record that a lot made of it does not say in the same words, and
    the terms under which the lot says something and the record nothing.
    """
    said = {term: as_text(cell(lot)) for term, cell in CORE.items()}
    told = tuple(sorted((term, value) for term, value in values.items() if said.get(term) != value))
    return told, tuple(term for term, value in said.items() if value and term not in values)


def key_of(called: str, number: int, shelf: Shelf) -> str:
    """What a lot is called within what is written: as it is called elsewhere, if that is a name and no lot before
    it has it. ``number`` is that of the lot.
    """
    if called and shelf.is_new(called):
        return called
    own = f"lot-{number}"
    return own if shelf.is_new(own) else next(key for n in count(2) if shelf.is_new(key := f"{own}-{n}"))
