"""The loans desk: the lists that a registrar opens in the morning, as JSON and as CSV."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from service.core.transfers.desk import DEFAULT_DAYS_AHEAD, Listed
from service.formats.sheets import written
from service.store import desk as store
from service.store.desk import DeskRow, Place
from service.store.paging import Page
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.fields import Choice, Date, Int
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.transfers import DeskEntrySchema
from service.web.transaction import transaction

desk = Blueprint(
    "desk",
    __name__,
    url_prefix="/v1/desk",
    description="What lies on the loans desk in the morning.",
)


class DeskQuery(paging.PageQuery):
    """Which list, and as of which day."""

    list = Choice(Listed, required=True, metadata={"description": "which of the lists of the desk"})
    as_of = Date(metadata={"description": "the day as of which to answer; left out: today"})
    days_ahead = Int(
        min=0, max=3_650, load_default=DEFAULT_DAYS_AHEAD, metadata={"description": "how soon is soon, in days"}
    )


@desk.operation(
    "GET", "", scope="read", query=DeskQuery, returns=paging.page_of(DeskEntrySchema), media=[negotiation.CSV]
)
def list_desk(query: dict[str, Any]) -> Reply:
    """List what is due soon, overdue, awaiting receipt or your signature, differing, or about to lose its permit.

    The most pressing first, from both sides. As CSV one page at a time, like the JSON.
    """
    page = paging.page(query, (date.fromisoformat, UUID, str))
    today = query.get("as_of") or datetime.now(UTC).date()
    me = current_actor().own_institution()
    with transaction() as session:
        found = store.page(session, query["list"], me, today, query["days_ahead"], page.position(Place), page.size)
    shown = [_entry(row, today) for row in found.items]
    if negotiation.wanted() == negotiation.CSV:
        rows = [[row[heading] for heading in _HEADINGS] for row in shown]
        return Reply(written(_HEADINGS, rows), headers=page.answer(found).headers)
    return page.answer(Page(tuple(shown), found.next))


_HEADINGS = (
    "transfer_code", "your_side", "other_name", "day", "days", "line", "taxon", "count", "about", "transfer_id",
    "other_institution_id",
)  # fmt: skip


def _entry(row: DeskRow, today: date) -> dict[str, Any]:
    return {
        "transfer_id": row.transfer_id,
        "transfer_code": row.code,
        "your_side": row.side,
        "other_institution_id": row.other_id,
        "other_name": row.other_name,
        "day": row.day,
        "days": None if row.day is None else abs((row.day - today).days),
        "line": row.line,
        "taxon": row.taxon,
        "count": row.count,
        "about": row.about,
    }
