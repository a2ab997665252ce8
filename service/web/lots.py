"""The lots of a consignment as other databases write them: Darwin Core archives in, sheets in and out, JSON."""

from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import closing
from typing import Any, BinaryIO
from uuid import UUID

from service.core.care.cautions import handling_cautions
from service.core.lots import Disposition, Lot, OnLoan
from service.core.transfers.lines import Counted
from service.formats import lots_csv
from service.formats.darwin_core.lots import lots as lots_in
from service.formats.darwin_core.reading import open_archive
from service.formats.darwin_core.report import BadArchive, Report
from service.store import consignments
from service.store import lots as store
from service.store.paging import Page
from service.web.consignments import BadCellSchema
from service.web.kit import negotiation, paging
from service.web.kit.conditions import check_version
from service.web.kit.fields import Choice, Date, Flag, Int, List, Nested, Text
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.problems import Fault, invalid
from service.web.kit.schema import Strict
from service.web.schemas.parts import Handling
from service.web.schemas.transfers import PermitSchema, TransferLineSchema
from service.web.sheets import headings_of, loaded, rows_of
from service.web.transaction import transaction

lots = Blueprint(
    "lots",
    __name__,
    url_prefix="/v1",
    description="The lots that a consignment is made of, as another database tells of them, and those of a transfer "
    "as another database is told of them. Who holds a lot and who owns it are two facts.",
)
ONE = "/consignments/<uuid:consignment_id>/lots"
MOST_LOTS = 1_000_000
_LONG = 100_000


class OnLoanSchema(Strict):
    """The loan under which a lot is away."""

    makes = OnLoan
    identifier = Text(max_length=_LONG, metadata={"description": "the lender's name for the loan"})
    sent_on = Date(metadata={"description": "the day on which it was sent"})
    destination = Text(max_length=_LONG, metadata={"description": "where it was sent"})
    received_from = Text(max_length=_LONG, metadata={"description": "who sent it here, of a loan that came in"})
    conditions = Text(max_length=_LONG, metadata={"description": "on what conditions it is lent"})
    blocked = Flag(metadata={"description": "whether it may not be lent; left out: unknown"})
    blocked_until = Date(metadata={"description": "the day until which it may not be lent"})


class ToldSchema(Strict):
    """What else the other database said, in its own words."""

    term = Text(
        max_length=_LONG, required=True, metadata={"description": "the term, by its address where it has one"}
    )
    value = Text(
        max_length=1_000_000, min_length=0, required=True, metadata={"description": "what stands under it, untouched"}
    )


class LotFields(Strict):
    line = Nested(TransferLineSchema, required=True, metadata={"description": "what it is, and how many"})
    record = Text(max_length=_LONG, min_length=0, metadata={"description": "its identifier in the other database"})
    institution = Text(max_length=_LONG, metadata={"description": "code of the institution that holds it"})
    institution_identifier = Text(max_length=_LONG, metadata={"description": "identifier of that institution"})
    owner = Text(max_length=_LONG, metadata={"description": "code of the institution that it belongs to"})
    collection = Text(max_length=_LONG, metadata={"description": "code of the collection that it belongs to"})
    disposition = Choice(Disposition)


class NewLotSchema(LotFields):
    """A lot in a sheet."""

    makes = Lot


class LotSchema(LotFields):
    """A lot of a consignment."""

    position = Int(min=1, required=True)
    loan = Nested(OnLoanSchema, metadata={"description": "left out: it is on none"})
    permits = List(Nested(PermitSchema), required=True, metadata={"description": "permits that came with it"})
    told = List(
        Nested(ToldSchema), required=True, metadata={"description": "what else the other database said of it"}
    )
    unsaid = List(
        Text(max_length=_LONG),
        metadata={
            "description": "terms under which the other database said nothing, though the lot does; go out empty",
            "example": ["individualCount"],
        },
    )
    row_id = Text(
        max_length=_LONG, metadata={"description": "what it was called in its archive, if otherwise than `record`"}
    )


class FilledSchema(Strict):
    """How many records say something under a term."""

    term = Text(max_length=_LONG, required=True, metadata={"description": "the term's name"})
    records = Int(min=0, required=True, metadata={"description": "records that say something under it"})


class TableReadSchema(Strict):
    """One table of an archive; `filled` counts for each term the records that say something."""

    file = Text(max_length=_LONG, required=True, metadata={"description": "its name in the archive"})
    row_type = Text(
        max_length=_LONG, required=True, metadata={"description": "address of the class of things that its rows are"}
    )
    encoding = Text(
        max_length=100, required=True, metadata={"description": "the characters' encoding that it was read in"}
    )
    records = Int(min=0, required=True, metadata={"description": "rows read"})
    filled = List(
        Nested(FilledSchema),
        max_items=10_000,
        required=True,
        metadata={"description": "how many records say something, term by term"},
    )


class OddSchema(Strict):
    """One kind of thing that is not as it should be; `detail` speaks about the first."""

    kind = Text(max_length=100, required=True, metadata={"description": "what kind of thing, for programs"})
    file = Text(max_length=_LONG, required=True, metadata={"description": "in which file of the archive"})
    detail = Text(
        max_length=_LONG, required=True, metadata={"description": "what is odd about the first, in a sentence"}
    )
    count = Int(min=1, required=True, metadata={"description": "how often it was met"})
    rows = List(Int(min=0), max_items=10, required=True, metadata={"description": "the first of them"})


class TypeCountSchema(Strict):
    """How many lots have a type status."""

    type_status = Text(
        max_length=100, required=True, metadata={"description": "the status, as the service writes it"}
    )
    lots = Int(min=0, required=True, metadata={"description": "how many have it"})


class ArchiveReceiptSchema(Strict):
    """What was read of an archive, and what was odd about it. Nothing odd is put right in silence."""

    records = Int(min=0, required=True, metadata={"description": "rows of the core table that were read"})
    lots_stored = Int(min=0, required=True, metadata={"description": "lots that were stored"})
    specimens = Int(min=0, required=True, metadata={"description": "in these lots, as far as they are counted"})
    types = List(
        Nested(TypeCountSchema),
        max_items=20,
        required=True,
        metadata={"description": "lots that are types, by status"},
    )
    tables = List(
        Nested(TableReadSchema),
        max_items=1_000,
        required=True,
        metadata={"description": "what was read of each table"},
    )
    oddities = List(
        Nested(OddSchema), max_items=10_000, required=True, metadata={"description": "what was not as it should be"}
    )


class LotSheetReceiptSchema(Strict):
    """What became of a sheet of lots."""

    lots_stored = Int(min=0, required=True, metadata={"description": "rows that were stored"})
    refused = List(
        Nested(BadCellSchema),
        max_items=100_000,
        required=True,
        metadata={"description": "cells for which a row was not stored"},
    )


@lots.operation(
    "GET",
    ONE,
    scope="read",
    query=paging.PageQuery,
    returns=paging.page_of(LotSchema, handling=Handling(required=True)),
    media=[negotiation.CSV],
)
def list_lots(consignment_id: UUID, query: dict[str, Any]) -> Reply:
    """List the lots of a consignment, in the order in which they were sent.

    As CSV all at once, under the headings that an upload takes; a cell that a spreadsheet would take for a formula is
    written with an apostrophe before it.
    """
    page = paging.page(query, (int,))
    with transaction() as session:
        consignment = consignments.by_id(session, consignment_id)
        if negotiation.wanted() == negotiation.CSV:
            return Reply(lots_csv.write_lots(list(store.each(session, consignment))).text)
        found = store.page(session, consignment, page.at(0), page.size)
    shown = tuple(_shown(position, lot) for position, lot in found.items)
    minded = handling_cautions(lot.line.treatments_used for _, lot in found.items)
    return page.answer(Page(shown, found.next), handling=minded)


@lots.operation(
    "PUT", ONE, scope="write", upload=negotiation.ZIP, returns=ArchiveReceiptSchema, conditional=True,
    errors=["forbidden", "lines-changed-meanwhile"],
)  # fmt: skip
def upload_lots(consignment_id: UUID, upload: BinaryIO) -> Reply:
    """Replace the lots of a consignment by a Darwin Core archive.

    Any archive by the text guide: one record is one lot, with its loan and its permits. It is read as it comes,
    however large, and the answer says what was read and what was odd. Of an archive that cannot be read nothing is
    stored.
    """
    try:
        # Opened before anything is looked up or compared, as every body is judged before what it is to change.
        with closing(upload), open_archive(upload) as archive, transaction() as session:
            before = consignments.by_id(session, consignment_id)
            check_version("consignment", before.version)
            counted = _Counted()
            changed = consignments.touch(session, before, before.version)
            stored = store.replace(session, before, counted.each(lots_in(archive)))
    except BadArchive as error:
        raise invalid([Fault("", str(error))]) from error
    return Reply(counted.receipt(archive.report, stored), version=changed.version)


class _Counted:
    """Counts lots while they pass."""

    def __init__(self) -> None:
        self.types: Counter[str] = Counter()
        self.specimens = 0

    def each(self, passing: Iterable[Lot]) -> Iterator[Lot]:
        for lot in passing:
            if lot.line.type_status:
                self.types[lot.line.type_status.value] += 1
            if lot.line.counted is Counted.SPECIMEN:
                self.specimens += lot.line.count
            yield lot

    def receipt(self, report: Report, stored: int) -> dict[str, Any]:
        return {
            "records": report.records,
            "lots_stored": stored,
            "specimens": self.specimens,
            "types": [{"type_status": word, "lots": count} for word, count in sorted(self.types.items())],
            "tables": [
                {
                    "file": table.file,
                    "row_type": table.row_type,
                    "encoding": table.encoding,
                    "records": table.records,
                    "filled": [{"term": term, "records": count} for term, count in sorted(table.filled.items())],
                }
                for table in report.tables
            ],
            "oddities": list(report.oddities.values()),
        }


@lots.operation(
    "PUT", ONE + "/sheet", scope="write", upload=negotiation.CSV, upload_holds=headings_of(lots_csv.LOTS),
    returns=LotSheetReceiptSchema, conditional=True,
    errors=["forbidden", "lines-changed-meanwhile"],
)  # fmt: skip
def upload_lots_sheet(consignment_id: UUID, upload: bytes) -> Reply:
    """Replace the lots of a consignment by a spreadsheet (CSV).

    UTF-8, parted by commas, semicolons or tabs. A bad cell is named by row and heading, and nothing is stored unless
    all is good.
    """
    read = loaded(rows_of(lots_csv.read_lots, upload), _NEW_LOT)
    with transaction() as session:
        before = consignments.by_id(session, consignment_id)
        check_version("consignment", before.version)
        changed = consignments.touch(session, before, before.version)
        stored = store.replace(session, before, read)
    return Reply({"lots_stored": stored, "refused": []}, version=changed.version)


_NEW_LOT = NewLotSchema()


def _shown(position: int, lot: Lot) -> dict[str, Any]:
    said = {name: getattr(lot, name) for name in lot.__dataclass_fields__}
    told = [{"term": term, "value": value} for term, value in lot.told]
    return said | {"position": position, "told": told, "row_id": lot.row_id or None, "unsaid": lot.unsaid or None}
