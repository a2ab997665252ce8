"""The inventory as a whole, by JSON and as a spreadsheet; and how well it is kept."""

from decimal import Decimal
from typing import Any

from service.actions.inventory import sheet
from service.actions.inventory.sheet import Receipt
from service.formats.inventory_csv import INVENTORY
from service.store.inventory import export, health
from service.store.inventory.health import Counted, CountedBy
from service.store.paging import Page
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.fields import Choice, Text
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.schema import Parameters
from service.web.schemas.inventory import (
    CollectionHealthSchema,
    InventoryReceiptSchema,
    InventoryRowSchema,
    InventoryRowsSchema,
)
from service.web.sheets import headings_of, loaded, rows_of, told_by_cell
from service.web.transaction import transaction

inventory = Blueprint(
    "inventory",
    __name__,
    url_prefix="/v1/inventory",
    description="Everything that stands anywhere, in one table: rooms, cabinets, drawers and trays.",
)
collection_health = Blueprint(
    "collection-health",
    __name__,
    url_prefix="/v1/collection-health",
    description="How well drawers, cabinets, rooms and the whole collection are kept, by the levels of their trays.",
)
HEALTH_PAGE = paging.page_of(CollectionHealthSchema)
REFUSALS = ("place-taken", "outside-drawer", "in-use", "in-quarantine")


class SheetQuery(Parameters):
    """Who takes the sheet in."""

    by = Text(
        max_length=200,
        required=True,
        metadata={"description": "the person who takes it in", "example": "Marta Quillfeather"},
    )


class HealthQuery(paging.PageQuery):
    """What to count by."""

    by = Choice(
        CountedBy,
        load_default=CountedBy.COLLECTION,
        metadata={
            "description": "drawer counts trays; cabinet, room and collection count drawers",
            "example": "drawer",
        },
    )


@inventory.operation("GET", "", scope="read", media=[negotiation.CSV])
def get_inventory() -> Reply:
    """Read the whole inventory as a spreadsheet (CSV), in the order in which one walks through it.

    An upload takes the same headings. A cell that a spreadsheet would take for a formula is written with an
    apostrophe before it.
    """
    with transaction() as session:
        return Reply(INVENTORY.write(export.rows(session, current_actor().own_institution())).text)


@inventory.operation(
    "PUT", "", scope="write", query=SheetQuery, upload=negotiation.CSV, upload_holds=headings_of(INVENTORY),
    returns=InventoryReceiptSchema,
    errors=list(REFUSALS),
)  # fmt: skip
def upload_inventory(query: dict[str, Any], upload: bytes) -> Reply:
    """Take an inventory in from a spreadsheet (CSV): what is new is made, what is known is changed.

    The headings are those of the answer to a read, in any order; none is required. One row a tray, with its drawer,
    cabinet and room; or a row for one of these with nothing in it. UTF-8, with commas, semicolons or tabs. Nothing is
    removed, an empty cell leaves things as they are, and the same sheet twice changes nothing. A bad cell is named
    by row and heading, and then nothing is stored at all.
    """
    rows = rows_of(INVENTORY.read, upload)
    things = loaded(rows, InventoryRowSchema())
    with transaction() as session:
        receipt: Receipt = told_by_cell(rows, lambda: sheet.take_in(session, current_actor(), query["by"], things))
    return Reply(receipt)


@inventory.operation(
    "POST", "", scope="write", body=InventoryRowsSchema, returns=InventoryReceiptSchema, errors=list(REFUSALS)
)
def take_inventory_in(body: dict[str, Any]) -> Reply:
    """Take rows of an inventory in, as a spreadsheet has them: all of them or none.

    What is new is made, what is known is changed where a row says so, and nothing is removed. Refused as a whole
    where two rows contradict each other, a place is taken, or something does not go in; the answer to a good one
    counts what changed.
    """
    with transaction() as session:
        return Reply(sheet.take_in(session, current_actor(), body["by"], body["rows"]))


@collection_health.operation(
    "GET", "", scope="read", query=HealthQuery, returns=paging.page_of(CollectionHealthSchema)
)
def list_collection_health(query: dict[str, Any]) -> Reply:
    """Ask how well the collection is kept: as a whole, or room by room, cabinet by cabinet, drawer by drawer.

    The health index is the share of units at the levels 3 and 6 to 8 of McGinley's scale. In a drawer the units are
    its trays; above it they are drawers, each at the level of the worst tray in it. Where nobody has judged some, the
    index is unknown and lies between two ends.
    """
    page = paging.page(query, (str,))
    with transaction() as session:
        found = health.page(session, current_actor().own_institution(), query["by"], page.at(0), page.size)
    return page.answer(Page(tuple(map(_answer, found.items)), found.next))


def _answer(counted: Counted) -> dict[str, Any]:
    kept = counted.health
    return {
        **{name: getattr(counted, name) for name in ("code", "trays", "specimens", "not_counted")},
        "levels": [{"level": int(level), "units": count} for level, count in sorted(kept.by_level.items())],
        "units": kept.units,
        "units_of_unknown_level": kept.unknown,
        "health_index": _rounded(kept.index),
        "health_index_at_least": _rounded(kept.index_at_least),
        "health_index_at_most": _rounded(kept.index_at_most),
    }


def _rounded(index: Decimal | None) -> Decimal | None:
    return None if index is None else round(index, 5)
