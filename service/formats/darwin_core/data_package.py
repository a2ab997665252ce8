"""Writing lots as a Darwin Core Data Package, as far as that standard is settled.

Settled is the guide (TDWG, issued 2026-05-26): ``datapackage.json`` with its profile, named tables, the schema of
each table within it, UTF-8. The tables themselves are still at version 0.1 while the profile's address says 1.0. So
this writes the one table that fits a lot, ``material``, with columns that are terms of Darwin Core. It leaves out
what is not settled: the collecting event that version 0.1 demands and a lot does not know, agents, usage policies.
Loans and permits have no table there; the archive of ``writing.py`` carries them. Packages are not read.
"""

import io
import json
import zipfile
from collections.abc import Callable, Iterable, Mapping
from contextlib import closing
from typing import Any, BinaryIO

from service.core.lots import Lot
from service.core.transfers.lines import Counted
from service.formats.darwin_core.about import About, eml
from service.formats.darwin_core.members import Table, add, member
from service.formats.darwin_core.shelf import Shelf
from service.formats.darwin_core.terms import whole
from service.formats.darwin_core.writing import CORE

PROFILE = "http://rs.tdwg.org/dwc-dp/1.0/dwc-dp-profile.json"
_KEY = "materialEntityID"
_SHARED = (
    "institutionCode", "institutionID", "ownerInstitutionCode", "collectionCode", "catalogNumber",
    "otherCatalogNumbers", "scientificName", "preparations", "typeStatus", "disposition", "materialEntityRemarks",
)  # fmt: skip


def _counted(lot: Lot) -> str:
    counted = lot.line.counted
    return "individuals" if counted is Counted.SPECIMEN else counted.replace("_", " ")


_MATERIAL: Mapping[str, Callable[[Lot], Any]] = {
    **{term: CORE[term] for term in _SHARED},
    "objectQuantity": lambda lot: lot.line.count,
    "objectQuantityType": _counted,
}


def write_data_package(target: BinaryIO, lots: Iterable[Lot], about: About, identifier: str) -> int:
    """Write a package as a zip file, and say how many lots are in it. ``identifier`` names the data set.

    :raises ValueError: when two lots have the same ``record``.
    """
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as packed:
        with member(packed, "material.csv", about.made_on) as stream:
            count = _write_material(Table(stream, "\r\n"), lots)
        add(packed, "eml.xml", about.made_on, io.BytesIO(eml(about).encode()))
        descriptor = json.dumps(_descriptor(about, identifier), ensure_ascii=False, indent=2)
        add(packed, "datapackage.json", about.made_on, io.BytesIO(descriptor.encode()))
    return count


def _write_material(table: Table, lots: Iterable[Lot]) -> int:
    table.write([_KEY, *_MATERIAL])
    count = 0
    with closing(Shelf()) as shelf:
        for lot in lots:
            count += 1
            key = lot.record or f"lot-{count}"
            if not shelf.is_new(key):
                raise ValueError(f"Two lots are called {key}; a package holds each once.")
            told = dict(lot.told)
            table.write([key, *(told.get(term) or cell(lot) for term, cell in _MATERIAL.items())])
    table.finish()
    return count


def _descriptor(about: About, identifier: str) -> dict[str, Any]:
    return {
        "profile": PROFILE,
        "id": identifier,
        "title": about.title,
        "created": f"{about.made_on.isoformat()}T00:00:00Z",
        "resources": [
            {
                "name": "material",
                "path": "material.csv",
                "profile": "tabular-data-resource",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "schema": {"fields": [_field(term) for term in (_KEY, *_MATERIAL)], "primaryKey": [_KEY]},
            }
        ],
    }


def _field(term: str) -> dict[str, Any]:
    return {"name": term, "type": "string", "format": "default", "dcterms:isVersionOf": whole(term)}
