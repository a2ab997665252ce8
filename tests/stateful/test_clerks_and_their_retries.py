"""Random clerks of two museums over HTTP, with retries: the counts are those of a dictionary, whatever they try.

The model knows places and counts, which keys were answered, and nothing of postings, rules or chains. After every
round the service's own lists are held against it, and the whole ledger is verified.
"""

from collections.abc import Iterator
from contextlib import ExitStack
from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from flask import Flask
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from members import enter
from sqlalchemy import Engine
from werkzeug.test import TestResponse

from service.actions.ledger_check import check_transfer
from service.app import build
from service.core.transfers.desk import Listed, OnDesk, desk
from service.core.transfers.dues import dues
from service.core.transfers.parties import Side
from service.core.transfers.standing import standing
from service.core.transfers.steps import RULES
from service.store import desk as desk_store
from service.store import ledger, transfers
from service.store.session import open_session

TODAY = date(2026, 11, 25)
MOVING = sorted((step for step in RULES if RULES[step].paths), key=lambda step: step.value)
AWAY = ("transit_out", "borrower", "transit_back")
COUNTS = {"1": 12, "2": 5, "3": 1}
TERMS = {"lengths": [{"applies_to": "ordinary", "length": "P6M", "clock": "receipt"}], "share_kept": "1/1"}

OVERRIDE = {"by": "Director", "reason": "by letter", "codes": ["third-party", "share-kept"]}


class Post(RuleBasedStateMachine):
    """Everything that may happen to loans between two museums, in whatever order."""

    app: Flask
    engine: Engine

    def __init__(self) -> None:
        super().__init__()
        mark = uuid4().hex[:12]
        self.members = {
            "lender": enter(self.engine, f"north-{mark}", "North Museum", "NO"),
            "borrower": enter(self.engine, f"south-{mark}", "South Museum", "SE"),
        }
        self.clients = {side: member.client(self.app) for side, member in self.members.items()}
        self.place: dict[str, dict[str, int]] = {key: {} for key in COUNTS}
        self.sent: list[tuple[str, dict[str, Any], str, TestResponse]] = []
        self.closed = False
        self.day = date(2026, 1, 5)

    @initialize(stages=st.integers(0, 4))
    def a_loan_is_written_down_and_has_come_some_way(self, stages: int) -> None:
        ids = {side: {"institution_id": str(member.id)} for side, member in self.members.items()}
        lines = [
            {"key": key, "count": count, "taxon": f"Carabus no. {key}", "type_status": "not_a_type"}
            for key, count in COUNTS.items()
        ]
        said = {"code": "L-1", "kind": "loan", **ids, "answerable": {"name": "B. Curator"}, "purpose": "revision",
                "by": "A. Clerk", "on": self.day.isoformat(), "terms": TERMS, "lines": lines}  # fmt: skip
        made = self.clients["lender"].post("/v1/transfers", json=said)
        assert made.status_code == 201, made.text
        self.transfer = made.headers["Location"]
        self.agreement = made.get_json()["agreement"]
        for stage in (self.both_sign, self.all_is_packed, self.all_is_sent, self.all_is_received)[:stages]:
            stage()

    def send(self, side: str, key: str | None = None, **said: Any) -> TestResponse:
        body = {"by": "A. Clerk", "on": self.day.isoformat()} | said
        key = key or uuid4().hex
        answer = self.clients[side].post(f"{self.transfer}/facts", json=body, headers={"Idempotency-Key": key})
        assert answer.status_code in (201, 409, 422), answer.text
        if answer.status_code == 201:
            self.sent.append((side, body, key, answer))
        return answer

    def both_sign(self) -> None:
        for side in self.clients:
            self.send(side, step="signed", agreement=self.agreement)

    def all_is_packed(self) -> None:
        self.everything("packed", "lender", "collection", "packed")

    def all_is_sent(self) -> None:
        self.everything("dispatched", "lender", "packed", "transit_out")

    def all_is_received(self) -> None:
        self.everything("received", "borrower", "transit_out", "borrower")
        self.send("borrower", step="acknowledged")

    def everything(self, step: str, side: str, source: str, target: str) -> None:
        if self.send(side, step=step, everything=True).status_code != 201:
            return
        for key, place in self.place.items():
            count = COUNTS[key] + place.get(source, 0) if source == "collection" else place.get(source, 0)
            self.move(key, source, target, count)

    def move(self, key: str, source: str, target: str, count: int) -> None:
        place = self.place[key]
        place[source] = place.get(source, 0) - count
        place[target] = place.get(target, 0) + count

    @rule(days=st.integers(0, 60))
    def some_days_pass(self, days: int) -> None:
        self.day = min(TODAY, self.day + timedelta(days=days))

    @rule()
    def somebody_signs(self) -> None:
        self.both_sign()

    @rule(
        step=st.sampled_from(MOVING), path=st.integers(0, 7), key=st.sampled_from(sorted(COUNTS)),
        count=st.sampled_from([1, 1, 2, 5, 12, 13]), wrong_side=st.sampled_from([False, False, False, True]),
    )  # fmt: skip
    def somebody_moves(self, step: Any, path: int, key: str, count: int, wrong_side: bool) -> None:
        source, target = (account.value for account in RULES[step].paths[path % len(RULES[step].paths)])
        sides = sorted(side.value for side in RULES[step].by)
        side = {"lender": "borrower", "borrower": "lender"}[sides[0]] if wrong_side else sides[0]
        self.attempt(side, step.value, key, source, target, count)

    @precondition(lambda self: any(n > 0 for place in self.place.values() for n in place.values()))
    @rule(data=st.data())
    def something_that_is_somewhere_goes_elsewhere(self, data: st.DataObject) -> None:
        stock = sorted((key, where) for key, place in self.place.items() for where, n in place.items() if n > 0)
        key, where = data.draw(st.sampled_from(stock))
        ways = [(s, t.value) for s in MOVING for f, t in RULES[s].paths if f.value == where]
        if ways:
            step, target = data.draw(st.sampled_from(ways))
            count = data.draw(st.integers(1, self.place[key][where]))
            self.attempt(sorted(side.value for side in RULES[step].by)[0], step.value, key, where, target, count)

    def attempt(self, side: str, step: str, key: str, source: str, target: str, count: int) -> None:
        moves = [{"line": key, "count": count, "from": source, "to": target}]
        said = {"reason": "so it is", "third_party": "Third House", "override": OVERRIDE}
        held = self.place[key].get(source, 0)
        if self.send(side, step=step, moves=moves, **said).status_code == 201:
            assert not self.closed
            assert source == "collection" or held >= count
            self.move(key, source, target, count)

    @precondition(lambda self: self.sent)
    @rule(data=st.data())
    def an_answer_was_lost_and_the_request_is_sent_again(self, data: st.DataObject) -> None:
        side, body, key, first = data.draw(st.sampled_from(self.sent))
        again = self.clients[side].post(f"{self.transfer}/facts", json=body, headers={"Idempotency-Key": f'"{key}"'})
        assert again.status_code == first.status_code
        assert again.get_data() == first.get_data()
        assert again.headers["Idempotency-Replayed"] == "true"

    @precondition(lambda self: self.sent)
    @rule(data=st.data())
    def a_key_is_used_for_something_else(self, data: st.DataObject) -> None:
        side, body, key, _ = data.draw(st.sampled_from(self.sent))
        other = self.clients[side].post(
            f"{self.transfer}/facts", json=body | {"by": "Somebody Else"}, headers={"Idempotency-Key": key}
        )
        assert other.status_code == 422
        assert other.get_json(force=True)["type"] == "/problems/key-used-otherwise"

    @rule(key=st.sampled_from(sorted(COUNTS)), side=st.sampled_from(["lender", "borrower"]))
    def a_difference_is_reported(self, key: str, side: str) -> None:
        self.send(side, step="difference_reported", recounts=[{"line": key, "listed": 5, "counted": 4}])

    @rule()
    def an_extension_is_asked_and_granted(self) -> None:
        until = (self.day + timedelta(days=200)).isoformat()
        self.send("borrower", step="extension_asked", until=until)
        self.send("lender", step="extension_granted", until=until)

    @rule()
    def the_lender_recalls_it(self) -> None:
        self.send("lender", step="recalled", until=(self.day + timedelta(days=20)).isoformat())

    @rule()
    def the_lender_closes_the_file(self) -> None:
        self.send("lender", step="difference_settled", reason="counted again")
        self.send("lender", step="reconciled")
        if self.send("lender", step="closed").status_code == 201:
            assert self.away() == 0
            self.closed = True

    def away(self) -> int:
        return sum(place.get(where, 0) for place in self.place.values() for where in AWAY)

    @invariant()
    def the_service_counts_what_the_dictionary_counts(self) -> None:
        if not hasattr(self, "transfer"):
            return
        shown = self.clients["borrower"].get("/v1/custody/lots?side=borrower&page_size=200").get_json()["items"]
        counted = {(row["line"], row["place"]): row["count"] for row in shown}
        expected = {
            (key, where): n for key, place in self.place.items() for where, n in place.items()
            if n and where != "collection"
        }  # fmt: skip
        assert counted == expected

    def teardown(self) -> None:
        """Once for each story: every line adds up, the lists say what the pure module says, the ledger verifies."""
        if not hasattr(self, "transfer"):
            return
        own_id = UUID(self.transfer.rsplit("/", 1)[1])
        for row in self.clients["lender"].get(f"{self.transfer}/lines").get_json()["items"]:
            tally = row["tally"]
            assert tally["lent"] == sum(count for name, count in tally.items() if name != "lent")
            assert tally["outstanding"] == sum(self.place[row["key"]].get(where, 0) for where in AWAY)
        for side in Side:
            with open_session(self.engine, self.members[side.value].id) as session:
                kept, facts = transfers.whole(session, own_id), ledger.facts(session, own_id)
                here = OnDesk("L-1", side, standing(kept.transfer.ending, facts), dues(kept.transfer, facts))
                entries = [(one.listed, one.on, one.line) for one in desk([here], TODAY)]
                assert sorted(map(str, entries)) == sorted(map(str, _listed(session, self.members[side.value].id)))
                assert check_transfer(session, own_id) is None


def _listed(session: Any, me: UUID) -> Iterator[tuple[Listed, date | None, str | None]]:
    for listed in Listed:
        for row in desk_store.page(session, listed, me, TODAY, 30, None, 200).items:
            yield listed, row.day, row.line


@pytest.fixture
def running(shared_engine: Engine) -> Iterator[None]:
    with ExitStack():
        Post.engine, Post.app = shared_engine, build(shared_engine)
        yield


@pytest.mark.usefixtures("running")
def test_whatever_the_clerks_try_every_specimen_is_somewhere_exactly_once() -> None:
    run_state_machine_as_test(
        Post,
        settings=settings(
            max_examples=25, stateful_step_count=30, deadline=None, suppress_health_check=list(HealthCheck)
        ),
    )
