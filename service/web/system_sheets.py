"""Storage systems and consignments as spreadsheets (CSV): one sheet for each kind of thing, one header for each."""

from dataclasses import replace
from typing import Any
from uuid import UUID

import marshmallow

from service.actions import standards
from service.actions.standards import Draft
from service.core.errors import NotFound
from service.formats.cabinets_csv import CABINETS
from service.formats.consignment_csv import write_sheet
from service.formats.drawers_csv import DRAWERS
from service.formats.sheet import Sheet
from service.formats.trays_csv import TRAYS
from service.store import consignments
from service.store import systems as store
from service.web.kit import negotiation
from service.web.kit.conditions import expected_version
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.standards import CabinetSchema, DrawerStandardSchema, TraySeriesSchema
from service.web.sheets import headings_of, loaded, rows_of
from service.web.storage_systems import RevisionSchema, revision_reply
from service.web.transaction import transaction

sheets = Blueprint(
    "sheets",
    __name__,
    url_prefix="/v1",
    description="Cabinets, drawers and unit trays of a storage system, and the lines of a consignment, as "
    "spreadsheets. What goes out comes in again; readings behind a length are for the JSON interface alone.",
)
SHEET = "/storage-systems/<uuid:system_id>/revisions/<number:number>/sheets/<code:sheet>"

#: Each sheet with the part of the contents that it holds, and with what judges its rows.
_PARTS: dict[str, tuple[Sheet, str, marshmallow.Schema]] = {
    "cabinets": (CABINETS, "cabinets", CabinetSchema()),
    "drawers": (DRAWERS, "drawers", DrawerStandardSchema()),
    "unit-trays": (TRAYS, "tray_series", TraySeriesSchema()),
}


@sheets.operation("GET", SHEET, scope="public", media=[negotiation.CSV], conditional=True)
def get_revision_sheet(system_id: UUID, number: int, sheet: str) -> Reply:
    """Read a part of a revision as a spreadsheet: cabinets, drawers or unit-trays.

    A cell that a spreadsheet would take for a formula is written with an apostrophe before it.
    """
    form, part, _ = _part(sheet)
    with transaction() as session:
        revision = store.revision(session, store.by_id(session, system_id), number)
    return Reply(form.write(getattr(revision.content, part) or ()).text, version=revision.version)


@sheets.operation(
    "PUT", SHEET, scope="write", upload=negotiation.CSV, upload_holds=headings_of(CABINETS, DRAWERS, TRAYS),
    returns=RevisionSchema, conditional=True,
    errors=["forbidden", "revision-is-published"],
)  # fmt: skip
def upload_revision_sheet(system_id: UUID, number: int, sheet: str, upload: bytes) -> Reply:
    """Replace a part of a draft by a spreadsheet (CSV): cabinets, drawers or unit-trays.

    UTF-8, parted by commas, semicolons or tabs, under the headings that reading it shows. A bad cell is named by row
    and heading, and nothing is stored unless all is good.
    """
    form, part, schema = _part(sheet)
    things = tuple(loaded(rows_of(form.read, upload), schema))
    with transaction() as session:
        before = store.revision(session, store.by_id(session, system_id), number)
        changed: dict[str, Any] = {part: things}
        draft = Draft(replace(before.content, **changed), before.note, before.based_on)
        return revision_reply(standards.revise_draft(session, system_id, number, expected_version(), draft))


@sheets.operation(
    "GET", "/consignments/<uuid:consignment_id>/lines", scope="read", media=[negotiation.CSV], conditional=True
)
def get_lines_sheet(consignment_id: UUID) -> Reply:
    """Read the lines of a consignment as a spreadsheet, under the headings that an upload takes.

    One row a line, in their order. A cell that a spreadsheet would take for a formula is written with an apostrophe
    before it.
    """
    with transaction() as session:
        consignment = consignments.by_id(session, consignment_id)
        lines = consignments.lines(session, consignment)
    return Reply(write_sheet(lines).text, version=consignment.version)


def _part(sheet: str) -> tuple[Sheet, str, marshmallow.Schema]:
    if sheet not in _PARTS:
        raise NotFound("sheet", sheet)
    return _PARTS[sheet]
