"""Loans, gifts and exchanges as two museums live them, over HTTP."""

import hashlib
import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import count
from typing import Any
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient
from members import Member, enter
from problem_assertions import assert_problem, faults
from sqlalchemy import Engine
from werkzeug.test import TestResponse

from service.app import build
from service.store import kept_answers
from service.store.session import open_session

DAY = "2026-03-02"
_numbers = count(1)


@dataclass
class Loan:
    """One transfer between two museums, seen from both sides."""

    app: Flask
    north: Member
    south: Member
    address: str = ""
    shown: dict[str, Any] = field(default_factory=dict)

    def client(self, side: str) -> FlaskClient:
        return (self.north if side == "lender" else self.south).client(self.app)

    def write(self, *lines: dict[str, Any], **changes: Any) -> "Loan":
        said: dict[str, Any] = {
            "code": f"L-{next(_numbers)}", "kind": "loan", "lender": {"institution_id": str(self.north.id)},
            "borrower": {"institution_id": str(self.south.id)}, "answerable": {"name": "B. Curator"},
            "purpose": "revision", "by": "A. Clerk", "on": DAY, "lines": list(lines or (a_lot(),)),
        }  # fmt: skip
        writer = "borrower" if (changes.get("lender") or {}).get("name") else "lender"
        made = self.client(writer).post("/v1/transfers", json=said | changes)
        assert made.status_code == 201, made.text
        self.address, self.shown = made.headers["Location"], made.get_json()
        return self

    def add(self, side: str, step: str, on: str = DAY, key: str | None = None, **said: Any) -> TestResponse:
        body = {"step": step, "by": "A. Clerk", "on": on} | said
        headers = {"Idempotency-Key": key or uuid4().hex}
        return self.client(side).post(f"{self.address}/facts", json=body, headers=headers)

    def done(self, side: str, step: str, on: str = DAY, **said: Any) -> dict[str, Any]:
        answer = self.add(side, step, on, **said)
        assert answer.status_code == 201, answer.text
        return dict(answer.get_json())

    def agree(self) -> "Loan":
        for side in ("lender", "borrower"):
            self.done(side, "signed", agreement=self.read()["agreement"])
        return self

    def in_use(self) -> "Loan":
        self.agree()
        self.done("lender", "packed", everything=True)
        self.done("lender", "dispatched", everything=True)
        self.done("borrower", "received", everything=True)
        self.done("borrower", "acknowledged")
        return self

    def read(self, side: str = "lender") -> dict[str, Any]:
        return dict(self.client(side).get(self.address).get_json())

    def lines(self, query: str = "") -> list[dict[str, Any]]:
        return list(self.client("lender").get(f"{self.address}/lines{query}").get_json()["items"])


def a_lot(key: str = "1", number: int = 20, **given: Any) -> dict[str, Any]:
    return {"key": key, "count": number, "taxon": "Carabus hortensis", "type_status": "not_a_type"} | given


@pytest.fixture
def loan(shared_engine: Engine) -> Iterator[Loan]:
    mark = uuid4().hex[:10]
    north, south = enter(shared_engine, f"n-{mark}", "North", "NO"), enter(shared_engine, f"s-{mark}", "South", "SE")
    return Loan(build(shared_engine), north, south)


def test_a_loan_is_agreed_sent_used_returned_in_parts_and_closed(loan: Loan) -> None:
    loan.write().in_use()
    assert loan.read()["state"] == "in_use"
    loan.done("borrower", "sent_back", moves=[{"line": "1", "count": 12}])
    assert loan.done("lender", "received_back", everything=True)["state"] == "returned_in_part"
    loan.done("borrower", "sent_back", everything=True)
    loan.done("lender", "received_back", everything=True)
    loan.done("lender", "reconciled")
    closed = loan.done("lender", "closed")
    assert (closed["state"], closed["open_steps"]) == ("closed", [])
    assert closed["totals"]["lent"] == closed["totals"]["returned"] == 20


def test_a_refused_step_says_which_fact_is_missing(loan: Loan) -> None:
    loan.write()
    loan.done("lender", "signed", agreement=loan.shown["agreement"])
    body = assert_problem(loan.add("lender", "packed", everything=True), 409, "step-refused")
    assert (body["step"], body["missing"]) == ("packed", "both-signed")
    assert "missing: the borrower." in body["detail"]


def test_a_changed_line_takes_the_signatures_back(loan: Loan) -> None:
    loan.write().agree()
    tag = loan.client("borrower").get(loan.address).headers["ETag"]
    text = {
        "answerable": {"name": "B. Curator"},
        "purpose": "revision",
        "by": "B. Curator",
        "on": DAY,
        "lines": [a_lot(number=25)],
    }
    changed = loan.client("borrower").put(loan.address, json=text, headers={"If-Match": tag})
    assert changed.get_json()["signed_by"] == []
    stale = loan.client("lender").put(loan.address, json=text, headers={"If-Match": tag})
    assert_problem(stale, 412, "stale-version")
    old = loan.add("lender", "signed", agreement=loan.shown["agreement"])
    assert assert_problem(old, 409, "step-refused")["missing"] == "agreement"


def test_two_clerks_dispatch_the_same_line_and_one_is_told_who_was_first(loan: Loan) -> None:
    loan.write().agree()
    loan.done("lender", "packed", everything=True)
    answers: list[TestResponse] = []
    ready = threading.Barrier(2)

    def dispatch(clerk: str) -> None:
        ready.wait()
        answers.append(loan.add("lender", "dispatched", by=clerk, moves=[{"line": "1", "count": 20}]))

    clerks = [threading.Thread(target=dispatch, args=(name,)) for name in ("Ada", "Ben")]
    for clerk in clerks:
        clerk.start()
    for clerk in clerks:
        clerk.join()
    won, lost = sorted(answers, key=lambda answer: answer.status_code)
    assert won.status_code == 201
    body = lost.get_json(force=True)
    assert lost.status_code == 409
    first = body["last_fact"]
    assert first["step"] == "dispatched"
    assert {first["by"]} < {"Ada", "Ben"}
    assert f"by {first['by']} for the lender" in body["detail"]
    assert first["recorded_at"].endswith("Z")
    assert loan.read()["totals"]["outstanding"] == 20


def test_the_same_key_and_body_are_answered_as_the_first_time_and_move_nothing_twice(loan: Loan) -> None:
    loan.write().agree()
    key, moves = uuid4().hex, [{"line": "1", "count": 5}]
    first = loan.add("lender", "packed", key=key, moves=moves)
    again = loan.add("lender", "packed", key=f'"{key}"', moves=moves)
    assert again.get_data() == first.get_data()
    assert (again.status_code, again.headers["Location"]) == (201, first.headers["Location"])
    assert again.headers["Idempotency-Replayed"] == "true"
    assert loan.read()["totals"]["packed"] == 5


def test_the_same_key_with_another_body_is_refused(loan: Loan) -> None:
    loan.write().agree()
    key = uuid4().hex
    loan.add("lender", "packed", key=key, moves=[{"line": "1", "count": 5}])
    other = loan.add("lender", "packed", key=key, moves=[{"line": "1", "count": 6}])
    assert_problem(other, 422, "key-used-otherwise")


def test_a_key_belongs_to_the_institution_that_used_it(loan: Loan) -> None:
    loan.write()
    key = uuid4().hex
    assert loan.add("lender", "signed", key=key, agreement=loan.shown["agreement"]).status_code == 201
    assert loan.add("borrower", "signed", key=key, agreement=loan.shown["agreement"]).status_code == 201


def test_a_refusal_is_not_kept_and_the_same_request_may_succeed_later(loan: Loan) -> None:
    loan.write()
    key = uuid4().hex
    assert loan.add("lender", "packed", key=key, everything=True).status_code == 409
    loan.agree()
    assert loan.add("lender", "packed", key=key, everything=True).status_code == 201


def test_a_step_without_a_key_is_refused_and_so_is_a_key_that_is_none(loan: Loan) -> None:
    loan.write()
    body = {"step": "signed", "by": "A. Clerk", "agreement": loan.shown["agreement"]}
    bare = loan.client("lender").post(f"{loan.address}/facts", json=body)
    assert_problem(bare, 400, "idempotency-key-missing")
    short = loan.client("lender").post(f"{loan.address}/facts", json=body, headers={"Idempotency-Key": "x"})
    assert "Idempotency-Key" in faults(assert_problem(short, 422, "invalid"))


def test_while_the_first_request_is_at_work_a_second_under_its_key_is_told_so(
    loan: Loan, shared_engine: Engine
) -> None:
    loan.write()
    key = uuid4().hex
    with open_session(shared_engine, loan.north.id) as session:
        assert kept_answers.is_free(session, loan.north.id, "add_fact", key)
        assert_problem(loan.add("lender", "signed", key=key, agreement=loan.shown["agreement"]), 409, "still-running")
    assert loan.add("lender", "signed", key=key, agreement=loan.shown["agreement"]).status_code == 201


def test_every_post_takes_a_key(loan: Loan) -> None:
    headers = {"Idempotency-Key": uuid4().hex}
    said = {"code": "C-1", "kind": "gift", "sender": {"name": "Orla Fennimore"}}
    first = loan.client("lender").post("/v1/consignments", json=said, headers=headers)
    again = loan.client("lender").post("/v1/consignments", json=said, headers=headers)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.headers["Location"] == again.headers["Location"]
    assert first.headers["ETag"] == again.headers["ETag"]


RULES = {
    "terms": {
        "lengths": [
            {"applies_to": "ordinary", "length": "P2Y"},
            {"applies_to": "primary_type", "length": "P3M"},
        ],
        "no_post": [{"first": "12-01", "last": "12-31", "why": "holidays"}],
        "largest_share_lent": "1/2",
        "share_kept": "1/3",
        "recall_notice": "P30D",
        "third_parties": "forbidden",
    }
}


def publish(loan: Loan, rules: dict[str, Any] = RULES) -> None:
    address = f"/v1/loan-rules/{loan.north.id}"
    tag = loan.client("lender").get(address).headers["ETag"]
    assert loan.client("lender").put(address, json=rules, headers={"If-Match": tag}).status_code == 200


def test_types_and_others_of_one_loan_are_due_on_days_of_their_own(loan: Loan) -> None:
    """Michigan State University Arthropod Research Collection, loan policy: two years, types three months."""
    publish(loan)
    loan.write(a_lot("1", 20), a_lot("2", 1, type_status="holotype")).agree()
    loan.done("lender", "packed", on="2026-03-15", everything=True)
    loan.done("lender", "dispatched", on="2026-03-15", everything=True)
    assert [line["due_on"] for line in loan.lines()] == ["2028-03-15", "2026-06-15"]
    assert [line["overdue_by_days"] for line in loan.lines("?as_of=2026-06-25")] == [0, 10]
    desk = loan.client("borrower").get("/v1/desk?list=overdue&as_of=2026-06-25").get_json()["items"]
    assert [(row["line"], row["days"], row["your_side"]) for row in desk] == [("2", 10, "borrower")]


def test_what_is_posted_in_december_goes_over_the_lenders_rules_by_name_and_reason_only(loan: Loan) -> None:
    """Field Museum, Insects policies, April 2020: nothing shipped in December."""
    publish(loan)
    loan.write(on="2025-11-20")
    for side in ("lender", "borrower"):
        loan.done(side, "signed", on="2025-11-21", agreement=loan.shown["agreement"])
    loan.done("lender", "packed", on="2025-12-05", everything=True)
    refused = loan.add("lender", "dispatched", on="2025-12-05", everything=True)
    body = assert_problem(refused, 409, "override-needed")
    assert body["codes"] == ["no-post"]
    assert "Post by 2025-11-30 or from 2026-01-01." in body["detail"]
    override = {"by": "Director", "reason": "carried by hand", "codes": ["no-post"]}
    loan.done("lender", "dispatched", on="2025-12-05", everything=True, override=override)


def test_more_than_the_largest_share_of_a_taxon_is_packed_only_with_an_override(loan: Loan) -> None:
    """Ohio State University, Fish Division, loan policy: no more than one half of a species at a time; of 7, 3."""
    publish(loan)
    loan.write(a_lot("1", 4, held=7)).agree()
    body = assert_problem(loan.add("lender", "packed", everything=True), 409, "override-needed")
    assert body["codes"] == ["share-lent"]
    assert "Of 7 Carabus hortensis the lender lets 3 out" in body["detail"]
    override = {"by": "Director", "reason": "the last revision of the genus", "codes": ["share-lent"]}
    loan.done("lender", "packed", everything=True, override=override)
    facts = loan.client("borrower").get(f"{loan.address}/facts").get_json()["items"]
    assert facts[-1]["override"]["by"] == "Director"


def test_keeping_more_than_a_third_needs_an_override_and_a_primary_type_is_never_kept(loan: Loan) -> None:
    """Wisconsin Insect Research Collection, loan policy: up to a third; of 10, 3."""
    publish(loan)
    loan.write(a_lot("1", 10), a_lot("2", 1, type_status="syntype")).in_use()
    loan.done("lender", "retained", moves=[{"line": "1", "count": 3}])
    fourth = loan.add("lender", "retained", moves=[{"line": "1", "count": 1}])
    assert assert_problem(fourth, 409, "override-needed")["codes"] == ["share-kept"]
    override = {"by": "Director", "reason": "no", "codes": ["must-return"]}
    kept = loan.add("lender", "retained", moves=[{"line": "2", "count": 1}], override=override)
    assert assert_problem(kept, 409, "step-refused")["missing"] == "must-return"


def test_a_donor_without_a_key_gives_and_the_museum_writes_for_her(loan: Loan) -> None:
    loan.write(kind="gift", lender={"name": "Orla Fennimore", "country": "GB"})
    for private in (True, False):
        loan.done("borrower", "signed", agreement=loan.read("borrower")["agreement"], for_private_party=private)
    loan.done("borrower", "packed", everything=True, for_private_party=True)
    loan.done("borrower", "dispatched", everything=True, for_private_party=True)
    loan.done("borrower", "received", everything=True)
    loan.done("borrower", "acknowledged")
    assert loan.done("borrower", "ownership_changed", everything=True)["state"] == "ownership_changed"
    assert loan.client("lender").get(loan.address).status_code == 404


def test_an_institution_does_not_write_for_another(loan: Loan) -> None:
    loan.write()
    posing = loan.add("lender", "signed", agreement=loan.shown["agreement"], for_private_party=True)
    assert_problem(posing, 403, "forbidden")


def test_an_exchange_stays_open_with_a_balance(loan: Loan) -> None:
    loan.write(a_lot("1", 25), kind="exchange").in_use()
    loan.done("borrower", "ownership_changed", everything=True)
    exchange = f"/v1/exchanges/{loan.shown['exchange_id']}"
    (balance,) = loan.client("borrower").get(exchange).get_json()["balance"]
    assert (balance["first_gave"], balance["second_gave"], balance["owing"], balance["owed"]) == (25, 0, "South", 25)
    back = Loan(loan.app, loan.south, loan.north)
    back.write(a_lot("1", 20), kind="exchange", exchange_id=loan.shown["exchange_id"]).in_use()
    back.done("borrower", "ownership_changed", everything=True)
    answer = loan.client("lender").get(exchange).get_json()
    assert len(answer["ways"]) == 2
    assert (answer["balance"][0]["owing"], answer["balance"][0]["owed"]) == ("South", 5)


def test_who_holds_what_on_any_past_day(loan: Loan) -> None:
    loan.write(a_lot("1", 20), a_lot("2", 3, taxon="Cicindela campestris")).agree()
    loan.done("lender", "packed", on="2026-03-10", everything=True)
    loan.done("lender", "dispatched", on="2026-03-12", everything=True)
    loan.done("borrower", "received", on="2026-04-01", everything=True)
    loan.done("borrower", "acknowledged", on="2026-04-01")
    loan.done("borrower", "sent_back", on="2026-05-01", moves=[{"line": "1", "count": 15}])

    def places(query: str) -> dict[str, Any]:
        found = loan.client("lender").get(f"/v1/custody/taxa?{query}").get_json()["items"]
        return {row["taxon"]: row["counts"] for row in found}

    assert places("on=2026-03-09") == {}
    assert places("on=2026-03-11") == {"Carabus hortensis": {"packed": 20}, "Cicindela campestris": {"packed": 3}}
    assert places("on=2026-03-31")["Cicindela campestris"] == {"transit_out": 3}
    assert places("")["Carabus hortensis"] == {"borrower": 5, "transit_back": 15}
    lots = loan.client("lender").get("/v1/custody/lots?on=2026-04-20&taxon=Carabus hortensis").get_json()["items"]
    assert [(row["line"], row["count"], row["holder_id"]) for row in lots] == [("1", 20, str(loan.south.id))]
    with_south = loan.client("lender").get("/v1/custody/institutions?on=2026-04-20").get_json()["items"]
    assert with_south == [{"institution_id": str(loan.south.id), "counts": {"borrower": 23}}]


def test_lots_are_read_page_by_page_without_one_twice_or_none(loan: Loan) -> None:
    loan.write(*(a_lot(str(n), 1, taxon=f"Carabus no. {n % 7}") for n in range(25))).in_use()
    seen: list[tuple[str, str]] = []
    query = "page_size=4"
    while True:
        page = loan.client("borrower").get(f"/v1/custody/lots?side=borrower&{query}").get_json()
        seen += [(row["taxon"], row["line"]) for row in page["items"]]
        if page["next_cursor"] is None:
            break
        query = f"page_size=4&cursor={page['next_cursor']}"
    assert seen == sorted(seen)
    assert len(set(seen)) == len(seen) == 25


def test_lines_go_in_and_out_as_a_spreadsheet_and_no_cell_is_a_formula(loan: Loan) -> None:
    loan.write()
    tag = loan.client("lender").get(loan.address).headers["ETag"]
    sheet = "key;count;taxon;type status\n1;60;=cmd|'/C calc'!A0;not a type\nB;2;Carabus;holotype\n"
    where = f"{loan.address}/lines"
    stored = loan.client("lender").put(
        f"{where}?by=A. Clerk", data=sheet.encode(), content_type="text/csv", headers={"If-Match": tag}
    )
    assert stored.get_json()["line_count"] == 2
    written = loan.client("borrower").get(where, headers={"Accept": "text/csv"}).text
    assert "'=cmd" in written
    assert ",=cmd" not in written
    assert loan.lines()[0]["taxon"] == "=cmd|'/C calc'!A0"


def test_every_bad_cell_of_a_spreadsheet_is_named(loan: Loan) -> None:
    loan.write()
    tag = loan.client("lender").get(loan.address).headers["ETag"]
    sheet = "key,count,taxon,type_status\n1,some,Carabus,holotype\n2,3,Carabus,unknown\n"
    refused = loan.client("lender").put(
        f"{loan.address}/lines?by=A. Clerk", data=sheet.encode(), content_type="text/csv", headers={"If-Match": tag}
    )
    assert refused.status_code == 422
    named = {fault["cell"] for fault in refused.get_json(force=True)["errors"]}
    assert named == {"row 2, column count", "row 3, column type_status"}


def test_notices_warn_and_judge_nothing(loan: Loan) -> None:
    """CITES Appendices of 21 May 2023 (from memory, as the starter list says): Parnassius apollo, Appendix II."""
    loan.write(a_lot("1", 3, taxon="Parnassius apollo", groups=["Lepidoptera"]))
    permit = {"kind": "Export Permit", "status": "Permit available", "valid_until": "2026-04-01", "countries": ["NO"]}
    assert loan.client("lender").post(f"{loan.address}/permits", json=permit).status_code == 201
    notices = loan.client("borrower").get(f"{loan.address}/notices").get_json()["notices"]
    (listed,) = [one for one in notices if one["code"] == "listed-taxon"]
    assert "asks both sides for a registration code; missing: North and South" in listed["sentence"]
    assert listed["source"].startswith("From memory")
    assert not {"legal", "allowed"} & set(" ".join(one["sentence"] for one in notices).split())


def test_a_permit_is_changed_by_the_side_that_wrote_it(loan: Loan) -> None:
    loan.write()
    permit = {"kind": "Import Permit"}
    made = loan.client("lender").post(f"{loan.address}/permits", json=permit)
    tag = {"If-Match": made.headers["ETag"]}
    other = loan.client("borrower").put(made.headers["Location"], json=permit, headers=tag)
    assert_problem(other, 403, "forbidden")
    assert loan.client("lender").put(made.headers["Location"], json=permit, headers=tag).status_code == 200


def test_the_chain_of_facts_can_be_checked_with_any_sha256(loan: Loan) -> None:
    loan.write().in_use()
    facts = loan.client("borrower").get(f"{loan.address}/facts?page_size=3").get_json()
    facts["items"] += (
        loan.client("borrower")
        .get(f"{loan.address}/facts?page_size=3&cursor={facts['next_cursor']}")
        .get_json()["items"]
    )
    before = hashlib.sha256(
        json.dumps(["custody chain", 1, loan.shown["id"]], separators=(",", ":")).encode()
    ).hexdigest()
    for one in facts["items"]:
        assert hashlib.sha256(one["body"].encode()).hexdigest() == one["digest"]
        assert json.loads(one["body"])["previous"] == before
        before = one["digest"]
    assert len(facts["items"]) == 6
