"""Verifying the custody ledger at a terminal."""

from collections.abc import Iterator
from uuid import UUID

import click
from sqlalchemy import Engine

from service.actions.ledger_check import check_transfer
from service.commands.databases import app_database
from service.core.errors import NotFound
from service.core.transfers.chain import Break, Head
from service.store import institutions, transfers
from service.store.institutions import Institution
from service.store.session import ANONYMOUS, open_session

_AT_ONCE = 200
_HEAD = "SEQ:DIGEST"


@click.group()
def ledger() -> None:
    """The custody ledger: who holds what, in chains that cannot be changed unseen."""


@ledger.command()
@click.option("--institution", "code", help="Only the transfers that this institution wrote down.")
@click.option("--transfer", "only", type=click.UUID, help="Only this transfer.")
@click.option(
    "--head", metavar=_HEAD, help="With --transfer: a head that the other side kept; it must still be there."
)
def verify(code: str | None, only: UUID | None, head: str | None) -> None:
    """Verify the whole ledger: every chain, posting, balance and standing.

    Names the first link that does not hold, and ends with an exit code of 1.
    """
    kept = _head(head)
    if kept and not only:
        raise click.UsageError("--head belongs to one transfer; give --transfer as well.")
    checked = facts = 0
    with app_database() as engine:
        for owner, transfer_id, count in _each(engine, code, only):
            broken = _check(engine, owner, transfer_id, kept)
            if broken is not None:
                where = f"transfer {transfer_id} of {owner.code}, link {broken.seq}"
                raise click.ClickException(f"First broken: {where}. {broken.sentence}")
            checked, facts = checked + 1, facts + count
    click.echo(f"All holds: {checked} transfers, {facts} links.")


def _head(written: str | None) -> Head | None:
    if written is None:
        return None
    seq, _, digest = written.partition(":")
    if not seq.isdigit() or len(digest) != len(f"{0:064x}"):
        raise click.UsageError(f"Write --head as {_HEAD}, such as 12:9f86d0….")
    return Head(int(seq), digest)


def _check(engine: Engine, owner: Institution, transfer_id: UUID, head: Head | None) -> Break | None:
    with open_session(engine, owner.id) as session:
        return check_transfer(session, transfer_id, head)


def _each(engine: Engine, code: str | None, only: UUID | None) -> Iterator[tuple[Institution, UUID, int]]:
    """The transfers to check, each with an institution that may read it: the one that wrote it down."""
    found = False
    for owner in each_institution(engine, code):
        with open_session(engine, owner.id) as session:
            written = transfers.written_by(session, owner.id)
        for transfer_id, count in written:
            if only in {None, transfer_id}:
                found = True
                yield owner, transfer_id, count
    if only and not found:
        raise NotFound("transfer", only)


def each_institution(engine: Engine, code: str | None = None) -> list[Institution]:
    """Every institution of the service, or the one with this code."""
    with open_session(engine, ANONYMOUS) as session:
        if code is not None:
            return [institutions.by_code(session, code)]
        every: list[Institution] = []
        after = None
        while True:
            page = institutions.page(session, after, _AT_ONCE)
            every += page.items
            if page.next is None:
                return every
            after = page.next
