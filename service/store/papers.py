"""Papers as they were printed: what stood on them, and the code by which each is known. They never change."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, insert, select
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.core.papers.check_code import check_code
from service.core.papers.content import Content, PageSize, PaperKind
from service.store import codec
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import paper as table
from service.store.transfers import Kept


@dataclass(frozen=True, slots=True)
class Printing:
    """How a paper is printed. ``address`` is that of the service, as it stands on the paper."""

    kind: PaperKind
    size: PageSize
    by: str
    on: date
    address: str
    parcel_plan_id: UUID | None = None


@dataclass(frozen=True, slots=True)
class KeptPaper:
    """A printed paper. ``revision`` is the number of the transfer's last fact when it was printed."""

    id: UUID
    transfer_id: UUID
    made_by: UUID
    printing: Printing
    check_code: str
    revision: int
    title: str
    created_at: datetime


_HEAD = [
    *(column for column in table.c if column.name != "content"), table.c.content["title"].astext.label("title"),
]  # fmt: skip
_OF_TRANSFER = select(*_HEAD).where(table.c.transfer_id == bindparam("the_transfer"))
_BY_ID = _OF_TRANSFER.where(table.c.id == bindparam("the_paper"))
_CONTENT = select(table.c.content).where(
    table.c.transfer_id == bindparam("the_transfer"), table.c.id == bindparam("the_paper")
)
_BY_CODE = select(*_HEAD).where(table.c.check_code == bindparam("the_code"))
_LIST = newest_first(_OF_TRANSFER, table.c.created_at, table.c.id)
_MAKE = insert(table).returning(*_HEAD)


def make(session: Session, transfer: Kept, made_by: UUID, printing: Printing, content: Content) -> KeptPaper:
    """Keep what is printed. The code is that of the content and of the paper's own id, so no two have the same."""
    own_id = new_id()
    values = {
        "transfer_id": transfer.id,
        "id": own_id,
        "lender_id": transfer.lender_id,
        "borrower_id": transfer.borrower_id,
        "made_by": made_by,
        "kind": printing.kind.value,
        "check_code": check_code(own_id.bytes + codec.canonical(content)),
        "revision": transfer.head.seq,
        "page_size": printing.size.value,
        "printed_by": printing.by,
        "printed_on": printing.on,
        "address": printing.address,
        "parcel_plan_id": printing.parcel_plan_id,
        "content": codec.to_json(content),
    }
    return _kept(session.execute(_MAKE, values).one())


def by_id(session: Session, transfer_id: UUID, paper_id: UUID) -> KeptPaper:
    """:raises NotFound: when the transfer has no such paper that the asker may see."""
    row = session.execute(_BY_ID, {"the_transfer": transfer_id, "the_paper": paper_id}).one_or_none()
    if row is None:
        raise NotFound("paper", paper_id)
    return _kept(row)


def by_code(session: Session, code: str) -> KeptPaper:
    """The paper that carries a code, as :func:`service.core.papers.check_code.as_printed` writes it.

    :raises NotFound: when there is none that the asker may see.
    """
    row = session.execute(_BY_CODE, {"the_code": code}).one_or_none()
    if row is None:
        raise NotFound("paper with the check code", code)
    return _kept(row)


def content_of(session: Session, paper: KeptPaper) -> Content:
    """What stood on a paper when it was printed."""
    stored = session.scalars(_CONTENT, {"the_transfer": paper.transfer_id, "the_paper": paper.id}).one()
    return codec.from_json(Content, stored)


def page(session: Session, transfer_id: UUID, after: Age | None, limit: int) -> Page[KeptPaper, Age]:
    """The papers of a transfer, the newest first, without what stands on them."""
    return page_by_age(session, _LIST, after, limit, _kept, the_transfer=transfer_id)


def _kept(row: Row[Any]) -> KeptPaper:
    printing = Printing(
        PaperKind(row.kind), PageSize(row.page_size), row.printed_by, row.printed_on, row.address, row.parcel_plan_id
    )
    return KeptPaper(
        row.id, row.transfer_id, row.made_by, printing, row.check_code, row.revision, row.title, row.created_at
    )
