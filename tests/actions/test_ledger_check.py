"""Somebody with every right over the database changes the books, and verifying names the first link that breaks."""

import os
import subprocess
import sys
from collections.abc import Iterator

import pytest
from sqlalchemy import Engine, create_engine, text
from transfer_clerks import Clerks, two_museums

from service.actions.ledger_check import check_transfer
from service.actions.transfers import MoveNamed
from service.core.transfers.chain import Break, Head
from service.core.transfers.facts import Step
from service.core.transfers.parties import Side
from service.store.session import open_session
from service.store.urls import database_url


@pytest.fixture
def clerks(engine: Engine) -> Clerks:
    books = two_museums(engine).in_use()
    books.add(Step.SENT_BACK, Side.BORROWER, moves=(MoveNamed("1", 15),))
    return books


@pytest.fixture
def forger(database: str) -> Iterator[Engine]:
    engine = create_engine(database_url(database))
    yield engine
    engine.dispose()


def forge(forger: Engine, statement: str, table: str) -> None:
    """Change a table past its triggers, as only its owner can."""
    with forger.begin() as connection:
        connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
        # The owner is bound by the walls as well, unless it is taken down.
        connection.execute(text(f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY"))
        connection.execute(text(statement))


def found(clerks: Clerks, head: Head | None = None) -> Break | None:
    assert clerks.transfer_id is not None
    with open_session(clerks.engine, clerks.south.id) as session:
        return check_transfer(session, clerks.transfer_id, head)


def test_books_that_nobody_touched_hold(clerks: Clerks) -> None:
    assert found(clerks) is None
    assert found(clerks, clerks.view().kept.head) is None


#: A name is changed in a text, and the hash beside it with it.
FORGED_TEXT = """
UPDATE transfer_fact
SET body = replace(body, 'A. Clerk', 'B. Clerk'),
    digest = encode(sha256(convert_to(replace(body, 'A. Clerk', 'B. Clerk'), 'UTF8')), 'hex')
WHERE seq = 5
"""


@pytest.mark.parametrize(
    ("statement", "table", "seq", "says"),
    [
        (FORGED_TEXT, "transfer_fact", 6,
         "does not follow the one before"),
        ("UPDATE custody_posting SET change = change * 2 WHERE seq = 6", "custody_posting", 6, "postings of link 6"),
        ("DELETE FROM custody_posting WHERE seq = 5", "custody_posting", 5, "postings of link 5"),
        ("UPDATE custody_movement SET change = change * 2 WHERE seq = 4", "custody_movement", 4, "sums kept of"),
        ("UPDATE custody_balance SET quantity = 6 WHERE account = 'borrower'", "custody_balance", 8, "balances"),
        ("UPDATE transfer_standing SET acknowledged = false", "transfer_standing", 8, "stands is not noted"),
        ("UPDATE transfer_line SET count = 21, content = content || '{\"count\": 21}'", "transfer_line", 8,
         "not the one whose digest"),
        ("DELETE FROM transfer_fact WHERE seq = 8", "transfer_fact", 8, "postings of a link 8"),
    ],
    ids=["text", "posting", "posting-gone", "sum", "balance", "standing", "line", "tail"],
)  # fmt: skip
def test_the_first_link_that_does_not_hold_is_named(
    clerks: Clerks, forger: Engine, statement: str, table: str, seq: int, says: str
) -> None:
    if statement.startswith("DELETE FROM transfer_fact"):
        for books in ("custody_posting", "custody_movement"):
            forge(forger, f"ALTER TABLE {books} DROP CONSTRAINT {books}_fact", books)
    forge(forger, statement, table)
    broken = found(clerks)
    assert broken is not None
    assert broken.seq == seq
    assert says in broken.sentence


def test_a_tail_cut_off_clean_is_seen_by_the_side_that_kept_the_head(clerks: Clerks, forger: Engine) -> None:
    head = clerks.view().kept.head
    for books in ("custody_posting", "custody_movement"):
        forge(forger, f"DELETE FROM {books} WHERE seq = 8", books)  # noqa: S608
    forge(forger, "DELETE FROM transfer_fact WHERE seq = 8", "transfer_fact")
    broken = found(clerks, head)
    assert broken is not None
    assert "the other side was given link 8" in broken.sentence


def verify(database: str, *options: str) -> "subprocess.CompletedProcess[str]":
    command = [sys.executable, "-m", "service.cli", "ledger", "verify", *options]
    environment = {**os.environ, "DATABASE_URL": database}
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)


def test_the_command_verifies_all_and_ends_with_one_when_something_is_broken(
    clerks: Clerks, database: str, forger: Engine
) -> None:
    head = clerks.view().kept.head
    kept = ("--transfer", str(clerks.transfer_id), "--head", f"{head.seq}:{head.digest}")
    assert verify(database).stdout == "All holds: 1 transfers, 8 links.\n"
    assert verify(database, *kept).returncode == 0
    forge(forger, "UPDATE custody_posting SET change = change * 2 WHERE seq = 6", "custody_posting")
    broken = verify(database)
    assert broken.returncode == 1
    assert f"First broken: transfer {clerks.transfer_id} of north, link 6." in broken.stderr
