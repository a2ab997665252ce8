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
from collections.abc import Iterable, Mapping
from contextlib import closing
from typing import Any, BinaryIO

from service.core.lots import Lot
from service.core.transfers.lines import Counted
from service.formats.darwin_core.about import About, eml
from service.formats.darwin_core.members import Table, add, member
from service.formats.darwin_core.occurrence import CORE, Cell, cells, key_of
from service.formats.darwin_core.shelf import Shelf
from service.formats.darwin_core.terms import whole

PROFILE = "http://rs.tdwg.org/dwc-dp/1.0/dwc-dp-profile.json"
_KEY = "materialEntityID"
_SHARED = (
    "institutionCode", "institutionID", "ownerInstitutionCode", "collectionCode", "catalogNumber",
    "otherCatalogNumbers", "scientificName", "preparations", "typeStatus", "disposition", "materialEntityRemarks",
)  # fmt: skip


def _counted(lot: Lot) -> str:
    counted = lot.line.counted
    return "individuals" if counted is Counted.SPECIMEN else counted.replace("_", " ")


def _is_stated(lot: Lot) -> bool:
    """Whether somebody counted, or one was only taken for granted."""
    told = dict(lot.told)
    counted = "individualCount" not in lot.unsaid and "individualCount" not in told
    return counted or not told.keys().isdisjoint({"objectQuantity", "organismQuantity"})


_MATERIAL: Mapping[str, Cell] = {
    **{term: CORE[term] for term in _SHARED},
    "objectQuantity": lambda lot: lot.line.count if _is_stated(lot) else None,
    "objectQuantityType": lambda lot: _counted(lot) if _is_stated(lot) else None,
}


def write_data_package(target: BinaryIO, lots: Iterable[Lot], about: About, identifier: str) -> int:
    """Write a package as a zip file, and say how many lots are in it. ``identifier`` names the data set."""
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
        for count, lot in enumerate(lots, start=1):
            table.write([key_of(lot.record, count, shelf), *cells(lot, _MATERIAL)])
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
