"""The laws of the ledger as the database keeps them: tried with plain SQL, past every line of Python."""

import json
import re
from datetime import date
from typing import Any

import pytest
from members import enter
from sqlalchemy import Engine, create_engine, text
from sqlalchemy.exc import DBAPIError
from transfer_clerks import DAY, NOW, Clerks, a_lot, two_museums

from service.actions.transfers import MoveNamed
from service.core.errors import TraybridgeError
from service.core.transfers.chain import Link, link, root
from service.core.transfers.facts import Fact, Step
from service.core.transfers.ledger import Account, Move
from service.core.transfers.lines import PRIMARY_TYPES, TypeStatus
from service.core.transfers.parties import Side
from service.core.transfers.steps import RULES
from service.store import ledger, transfers
from service.store.problems import PROBLEMS
from service.store.session import open_session
from service.store.urls import database_url

APPEND = text("INSERT INTO transfer_fact (transfer_id, body) VALUES (:id, :body)")


@pytest.fixture
def clerks(engine: Engine) -> Clerks:
    return two_museums(engine)


def as_written(clerks: Clerks, fact: Fact, *, side: Side | None = None, **changes: Any) -> None:
    """Append a fact as the pure module would write it, without asking the pure module whether it may be taken."""
    writer = side or fact.side
    with open_session(clerks.engine, clerks.actor(writer).institution_id) as session:
        last = ledger.lock(session, clerks.transfer_id)  # type: ignore[arg-type]
        before = Link(last.seq, b"", last.digest) if last.seq else None
        body = json.loads(link(str(clerks.transfer_id), before, fact, NOW).body) | changes
        session.execute(APPEND, {"id": clerks.transfer_id, "body": json.dumps(body)})
        session.commit()


def fact(step: Step, side: Side = Side.LENDER, *moves: Move, **said: Any) -> Fact:
    return Fact(step, side, said.pop("by", "A. Forger"), said.pop("on", DAY), moves, **said)


def refused(clerks: Clerks, attempt: Fact, law: str, **how: Any) -> None:
    """The attempt is refused by the database, in the words that stand for this law."""
    with pytest.raises(TraybridgeError) as caught:
        as_written(clerks, attempt, **how)
    assert caught.value.message == PROBLEMS[law]().message


OUT = Move("1", Account.PACKED, Account.TRANSIT_OUT, 20)
PACK = Move("1", Account.COLLECTION, Account.PACKED, 20)


def test_nothing_is_packed_before_both_have_signed(clerks: Clerks) -> None:
    clerks.write()
    clerks.add(Step.SIGNED, agreement=clerks.view().kept.standing.agreement)
    refused(clerks, fact(Step.PACKED, Side.LENDER, PACK), "transfer_fact_after_signatures")


def test_a_changed_line_takes_both_signatures_back_even_without_a_word(clerks: Clerks) -> None:
    clerks.write()
    clerks.agree()
    with open_session(clerks.engine, clerks.north.id) as session:
        session.execute(text("DELETE FROM transfer_line"))
        session.commit()
    assert clerks.view().kept.standing.signed == frozenset()
    refused(clerks, fact(Step.PACKED, Side.LENDER, PACK), "transfer_fact_after_signatures")


def test_the_text_stands_while_anything_is_packed(clerks: Clerks) -> None:
    clerks.write()
    clerks.agree()
    clerks.add(Step.PACKED, everything=True)
    for statement in (
        "DELETE FROM transfer_line",
        "INSERT INTO transfer_line (transfer_id, key, position, taxon, count, content)"
        " SELECT id, '2', 2, '', 1, '{}' FROM transfer",
        "UPDATE transfer SET content = '{}'",
    ):
        with open_session(clerks.engine, clerks.north.id) as session, pytest.raises(TraybridgeError, match="packed"):
            session.execute(text(statement))


def test_no_more_is_packed_than_was_agreed_on(clerks: Clerks) -> None:
    clerks.write()
    clerks.agree()
    too_many = Move("1", Account.COLLECTION, Account.PACKED, 21)
    refused(clerks, fact(Step.PACKED, Side.LENDER, too_many), "transfer_fact_as_agreed")


def test_a_fact_follows_the_last_one_and_no_other(clerks: Clerks) -> None:
    clerks.write()
    signed = fact(Step.SIGNED, agreement=clerks.view().kept.standing.agreement)
    refused(clerks, signed, "transfer_fact_follows_the_last", seq=3)
    refused(clerks, signed, "transfer_fact_follows_the_last", previous=root(str(clerks.transfer_id)))
    refused(clerks, signed, "transfer_fact_follows_the_last", transfer=str(clerks.north.id))


def test_each_institution_writes_for_itself(clerks: Clerks) -> None:
    clerks.write()
    agreement = clerks.view().kept.standing.agreement
    borrowers = fact(Step.SIGNED, Side.BORROWER, agreement=agreement)
    refused(clerks, borrowers, "transfer_fact_own_hand", side=Side.LENDER)
    posing = fact(Step.SIGNED, Side.BORROWER, agreement=agreement, written_by=Side.LENDER)
    refused(clerks, posing, "transfer_fact_own_hand", side=Side.LENDER)


@pytest.mark.parametrize(
    ("attempt", "law"),
    [
        (fact(Step.RECEIVED, Side.LENDER, Move("1", Account.TRANSIT_OUT, Account.BORROWER, 1)),
         "transfer_fact_step_of_side"),
        (fact(Step.LOST, Side.LENDER, Move("1", Account.TRANSIT_OUT, Account.LOST, 1)), "transfer_fact_reason_told"),
        (fact(Step.LOST, Side.LENDER, Move("1", Account.TRANSIT_OUT, Account.LOST, 1), reason="gone", by=" "),
         "transfer_fact_person_named"),
        (fact(Step.RECALLED), "transfer_fact_until_told"),
        (fact(Step.RECALLED, until=date(2026, 2, 28)), "transfer_fact_until_later"),
        (fact(Step.WRITTEN, agreement="a" * 64), "transfer_fact_text_stands"),
        (fact(Step.SIGNED, agreement="a" * 64), "transfer_fact_signs_the_text"),
        (fact(Step.RECEIVED_BACK, Side.LENDER, Move("1", Account.TRANSIT_OUT, Account.RETURNED, 1)),
         "transfer_fact_moves_its_ways"),
        (fact(Step.LOST, Side.LENDER, Move("9", Account.TRANSIT_OUT, Account.LOST, 1), reason="gone"),
         "transfer_fact_moves_its_lines"),
        (fact(Step.LOST, Side.LENDER, Move("1", Account.TRANSIT_OUT, Account.LOST, 21), reason="gone"),
         "custody_balance_never_below_zero"),
        (fact(Step.LOST, Side.LENDER, Move("1", Account.TRANSIT_OUT, Account.LOST, 1), reason="gone",
              on=date(2026, 2, 1)),
         "transfer_fact_bears_every_day"),
        (fact(Step.RECONCILED), "transfer_fact_adds_up"),
        (fact(Step.CLOSED), "transfer_fact_after_reconciling"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_a_loan_on_its_way_refuses(clerks: Clerks, attempt: Fact, law: str) -> None:
    clerks.dispatched()
    refused(clerks, attempt, law)


def test_a_passed_on_lot_says_to_whom(clerks: Clerks) -> None:
    clerks.in_use()
    passed = fact(Step.PASSED_ON, Side.LENDER, Move("1", Account.BORROWER, Account.PASSED_ON, 1))
    refused(clerks, passed, "transfer_fact_third_party_told")


@pytest.mark.parametrize("status", [*sorted(PRIMARY_TYPES)])
def test_no_primary_type_is_kept(clerks: Clerks, status: TypeStatus) -> None:
    clerks.in_use(a_lot(type_status=status))
    kept = fact(Step.RETAINED, Side.LENDER, Move("1", Account.BORROWER, Account.RETAINED, 1))
    refused(clerks, kept, "transfer_fact_returns_types")


def test_nothing_is_written_behind_a_closed_file(clerks: Clerks) -> None:
    clerks.in_use()
    clerks.add(Step.SENT_BACK, Side.BORROWER, everything=True)
    clerks.add(Step.RECEIVED_BACK, everything=True)
    clerks.add(Step.RECONCILED)
    clerks.add(Step.CLOSED)
    found = fact(Step.SENT_BACK, Side.BORROWER, Move("1", Account.BORROWER, Account.TRANSIT_BACK, 1))
    refused(clerks, found, "transfer_fact_while_open")


def test_a_file_is_not_closed_when_something_moved_after_the_reckoning(clerks: Clerks) -> None:
    clerks.in_use()
    clerks.add(Step.LOST, Side.BORROWER, moves=(moved("1", 20, Account.BORROWER),), reason="flood")
    clerks.add(Step.RECONCILED)
    clerks.add(Step.FOUND, moves=(moved("1", 1, target=Account.RETURNED),))
    refused(clerks, fact(Step.CLOSED), "transfer_fact_after_reconciling")


def moved(line: str, count: int, source: Account | None = None, target: Account | None = None) -> MoveNamed:
    return MoveNamed(line, count, source, target)


BY_HAND = (
    "INSERT INTO custody_posting SELECT transfer_id, 99, line, account, 5, on_day, lender_id, borrower_id FROM"
    " custody_posting LIMIT 1",
    "UPDATE custody_balance SET quantity = quantity + 1",
    "INSERT INTO custody_balance SELECT transfer_id, 'x', account, 5, taxon, lender_id, borrower_id FROM"
    " custody_balance LIMIT 1",
    "INSERT INTO custody_movement SELECT transfer_id, 99, account, 5, on_day, lender_id, borrower_id FROM"
    " custody_movement LIMIT 1",
    "UPDATE transfer_standing SET lender_signed = true",
    "UPDATE transfer_standing SET head = 'x'",
    "UPDATE line_standing SET outstanding = 0",
    "UPDATE line_standing SET differs = false",
)
NEVER = (
    "UPDATE transfer_fact SET body = ''",
    "DELETE FROM transfer_fact",
    "TRUNCATE transfer_fact CASCADE",
    "UPDATE custody_posting SET change = change + 1",
    "DELETE FROM custody_posting",
    "TRUNCATE custody_posting",
    "UPDATE custody_movement SET change = 0",
    "DELETE FROM custody_balance",
    "DELETE FROM transfer_standing",
    "DELETE FROM transfer",
)


@pytest.mark.parametrize("statement", [*BY_HAND, *NEVER])
def test_the_application_writes_nothing_of_the_ledger_by_hand(clerks: Clerks, statement: str) -> None:
    clerks.dispatched()
    with open_session(clerks.engine, clerks.north.id) as session, pytest.raises(DBAPIError) as caught:
        session.execute(text(statement))
    assert re.search("follows from the facts|is kept|permission denied", str(caught.value.orig))


@pytest.mark.parametrize("statement", NEVER[:6])
def test_nor_does_the_owner_of_the_tables(clerks: Clerks, database: str, statement: str) -> None:
    clerks.dispatched()
    owner = create_engine(database_url(database))
    with owner.connect() as connection, pytest.raises(DBAPIError, match="is kept"):
        connection.execute(text(statement))
    owner.dispose()


def test_a_fact_gives_its_text_and_nothing_beside_it(clerks: Clerks) -> None:
    clerks.write()
    with (
        open_session(clerks.engine, clerks.north.id) as session,
        pytest.raises(DBAPIError, match="permission denied"),
    ):
        session.execute(
            text("INSERT INTO transfer_fact (transfer_id, body, digest) SELECT id, '{}', '' FROM transfer")
        )


def test_a_stranger_sees_nothing_of_it(clerks: Clerks) -> None:
    clerks.in_use()
    stranger = enter(clerks.engine, "west", "West Museum")
    with open_session(clerks.engine, stranger.id) as session:
        for table in ("transfer", "transfer_line", "transfer_fact", "custody_posting", "custody_balance",
                      "transfer_standing", "line_standing"):  # fmt: skip
            assert session.scalar(text(f"SELECT count(*) FROM {table}")) == 0  # noqa: S608
        with pytest.raises(TraybridgeError):
            transfers.by_id(session, clerks.transfer_id)  # type: ignore[arg-type]


def literals(engine: Engine, constraint: str) -> set[str]:
    with engine.connect() as connection:
        body = connection.scalar(
            text("SELECT pg_get_constraintdef(oid) FROM pg_constraint WHERE conname = :name"), {"name": constraint}
        )
    return set(re.findall(r"'([a-z_:]+)'", str(body))) - {":"}


def test_the_table_of_steps_says_the_same_in_the_database_as_in_the_pure_module(engine: Engine) -> None:
    may = {f"{rule.step.value}:{side.value}" for rule in RULES.values() for side in rule.by}
    assert literals(engine, "transfer_fact_step_of_side") == may
    for told, constraint in (
        ("reason", "transfer_fact_reason_told"),
        ("until", "transfer_fact_until_told"),
        ("agreement", "transfer_fact_agreement_told"),
        ("third_party", "transfer_fact_third_party_told"),
    ):
        assert literals(engine, constraint) == {rule.step.value for rule in RULES.values() if told in rule.tells}


def test_the_ways_of_the_steps_and_the_primary_types_are_the_same_in_both(engine: Engine) -> None:
    ways = {
        f"{rule.step.value}:{source.value}:{target.value}" for rule in RULES.values() for source, target in rule.paths
    }
    with engine.connect() as connection:
        assert set(connection.scalar(text("SELECT transfer_paths()")) or ()) == ways
        assert set(connection.scalar(text("SELECT transfer_primary_types()")) or ()) == set(PRIMARY_TYPES)
        named = "019ab000-0000-7000-8000-0000000000e1"
        assert connection.scalar(text("SELECT custody_chain_root(:id)"), {"id": named}) == root(named)
