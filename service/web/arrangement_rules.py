"""The order that an institution keeps: its sequence of taxa, its reading order, its reserve, its rates."""

from typing import Any

from service.core.arrangement.rules import ArrangementRules
from service.formats.inventory_csv import SEQUENCE
from service.store import arrangement_rules as store
from service.store import taxon_sequences
from service.store.inventory import standing
from service.store.taxon_sequences import SequenceRow
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.inventory import (
    NewSequenceRowSchema,
    RulesChangeSchema,
    RulesSchema,
    SequenceReceiptSchema,
    SequenceRowSchema,
)
from service.web.settled_answers import settled_reply
from service.web.sheets import headings_of, loaded, rows_of
from service.web.transaction import transaction

arrangement_rules = Blueprint(
    "arrangement-rules",
    __name__,
    url_prefix="/v1/arrangement-rules",
    description="What you have settled about the order that you keep.",
)
taxon_sequence = Blueprint(
    "taxon-sequence",
    __name__,
    url_prefix="/v1/taxon-sequence",
    description="The order in which you keep your taxa: families, genera and species in a sequence of your own.",
)
MOST_TOLD = 1_000


@arrangement_rules.operation("GET", "", scope="read", returns=RulesSchema, conditional=True)
def get_arrangement_rules() -> Reply:
    """Read what you have settled: reading order, growth reserve, play, rates. Before that, the usual rules hold.

    They hold for every plan that is asked for from now on. A plan needs a growth reserve that somebody has settled,
    be it 0.
    """
    with transaction() as session:
        return settled_reply(store.of(session, current_actor().own_institution()))


@arrangement_rules.operation("PUT", "", scope="write", body=RulesChangeSchema, returns=RulesSchema, conditional=True)
def change_arrangement_rules(body: ArrangementRules) -> Reply:
    """Settle how you keep order. Rules that were never settled have the ETag `"0"`.

    All that is settled is replaced. Plans that were made before stay as they are.
    """
    with transaction() as session:
        return settled_reply(store.settle(session, current_actor().own_institution(), expected_version(), body))


@taxon_sequence.operation(
    "GET",
    "",
    scope="read",
    query=paging.PageQuery,
    returns=paging.page_of(SequenceRowSchema),
    media=[negotiation.CSV],
)
def list_taxon_sequence(query: dict[str, Any]) -> Reply:
    """List your taxa in your sequence; as CSV all at once, as an upload takes them.

    It is the order in which trays follow one another through the cabinets. Where your rules say that the alphabet
    holds, it is not asked.
    """
    page, asker = paging.page(query, (int,)), current_actor().own_institution()
    with transaction() as session:
        if negotiation.wanted() == negotiation.CSV:
            return Reply(SEQUENCE.write(taxon_sequences.rows(session, asker)).text)
        return page.answer(taxon_sequences.page(session, asker, page.at(0), page.size))


@taxon_sequence.operation(
    "PUT", "", scope="write", upload=negotiation.CSV, upload_holds=headings_of(SEQUENCE),
    returns=SequenceReceiptSchema,
)  # fmt: skip
def upload_taxon_sequence(upload: bytes) -> Reply:
    """Replace your sequence by that of a spreadsheet (CSV): family, genus, species, one row a taxon.

    The order of the rows is the order that you keep. A row without a species is for what is known to the genus only,
    one without a genus for the family. A name without a row goes behind its genus ("Carabus sp."), or else behind its
    family ("Carabidae indet."). Nothing is sorted: the alphabet holds only where your rules say so.
    """
    rows = loaded(rows_of(SEQUENCE.read, upload), NewSequenceRowSchema())
    sequence = [SequenceRow(at, **row) for at, row in enumerate(rows, start=1)]
    asker = current_actor().own_institution()
    with transaction() as session:
        taxon_sequences.replace(session, asker, sequence)
        ranked = taxon_sequences.of(session, asker)
        taxa = {tray.taxon for tray in standing.whole(session, asker).trays}
    unknown = sorted(taxon for taxon in taxa if taxon and ranked.rank(taxon) is None)
    return Reply({"taxa": len(sequence), "not_in_sequence": unknown[:MOST_TOLD]})
