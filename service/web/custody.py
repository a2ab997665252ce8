"""Custody: who holds what, today or on any past day, by lot, by taxon and by institution."""

from typing import Any
from uuid import UUID

from service.core.transfers.parties import Side
from service.formats.sheets import written
from service.store import custody as store
from service.store.custody import Asked, HeldLot, Lot
from service.store.paging import Page
from service.web import transfer_answers as answers
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.fields import Choice, Date, Text, Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.transfers import HeldInstitutionSchema, HeldLotSchema, HeldTaxonSchema
from service.web.transaction import transaction

custody = Blueprint(
    "custody",
    __name__,
    url_prefix="/v1/custody",
    description="Who holds what, today or at the end of any past day.",
)
_ON = {"description": "the end of which day; left out: now"}


class CustodyQuery(paging.PageQuery):
    """Whose things, and on which day."""

    side = Choice(
        Side, load_default=Side.LENDER, metadata={"description": "lender: of yours; borrower: of what is others'"}
    )
    on = Date(metadata=_ON)


class LotsQuery(CustodyQuery):
    """Whose things, on which day, and which of them."""

    taxon = Text(
        max_length=500,
        metadata={"description": "only those of this name, letter by letter", "example": "Cicindela campestris"},
    )
    institution_id = Uuid(metadata={"description": "only what was transferred with this institution"})


def _asked(query: dict[str, Any]) -> Asked:
    me = current_actor().own_institution()
    return Asked(me, query["side"], query.get("on"), query.get("taxon"), query.get("institution_id"))


@custody.operation(
    "GET", "/lots", scope="read", query=LotsQuery, returns=paging.page_of(HeldLotSchema), media=[negotiation.CSV]
)
def list_lots_held(query: dict[str, Any]) -> Reply:
    """List who holds what, by lot, in the order of taxa. As CSV one page at a time, like the JSON.

    Of your own things, or with `side` of what you have from others; today, or as it was on a day
    that is past.
    """
    page = paging.page(query, (str, UUID, str, str))
    with transaction() as session:
        found = store.lots(session, _asked(query), page.position(Lot), page.size)
    shown = [_lot(one) for one in found.items]
    if negotiation.wanted() == negotiation.CSV:
        rows = [[row[heading] for heading in _HEADINGS] for row in shown]
        return Reply(written(_HEADINGS, rows), headers=page.answer(found).headers)
    return page.answer(Page(tuple(shown), found.next))


@custody.operation("GET", "/taxa", scope="read", query=CustodyQuery, returns=paging.page_of(HeldTaxonSchema))
def list_taxa_held(query: dict[str, Any]) -> Reply:
    """List who holds what, summed up by taxon.

    Of your own things, or with `side` of what you have from others. What has no name stands together.
    """
    page = paging.page(query, (str,))
    with transaction() as session:
        found = store.taxa(session, _asked(query), page.at(0), page.size)
    shown = tuple({"taxon": one.of, "counts": answers.counts(one.counts)} for one in found.items)
    return page.answer(Page(shown, found.next))


@custody.operation(
    "GET", "/institutions", scope="read", query=CustodyQuery, returns=paging.page_of(HeldInstitutionSchema)
)
def list_institutions_holding(query: dict[str, Any]) -> Reply:
    """List who holds what, summed up by the institution on the other side.

    Of your own things, or with `side` of what you have from others. Private persons stand together.
    """
    page = paging.page(query, (UUID,))
    with transaction() as session:
        found = store.institutions(session, _asked(query), page.at(0), page.size)
    shown = tuple({"institution_id": one.of, "counts": answers.counts(one.counts)} for one in found.items)
    return page.answer(Page(shown, found.next))


_HEADINGS = ("transfer_id", "transfer_code", "line", "taxon", "place", "count", "holder_id")


def _lot(one: HeldLot) -> dict[str, Any]:
    return {
        "transfer_id": one.transfer_id,
        "transfer_code": one.code,
        "line": one.line,
        "taxon": one.taxon,
        "place": one.account,
        "count": one.count,
        "holder_id": one.holder_id,
    }
