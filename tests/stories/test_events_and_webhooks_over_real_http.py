"""A museum's database is told of a loan as it goes: over real HTTP, by real workers, to a receiver that has bad days.

The receiver verifies each message with the reference library of Standard Webhooks, as a stranger's program would.
"""

import json
import os
import signal
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import requests
from live_service import live_service
from live_worker import live_worker
from members import Member, enter
from outside_servers import Other, other, plain
from sqlalchemy import Engine
from standardwebhooks import Webhook as Reference

from service.actions.webhooks import MOST_WEBHOOKS

WITHIN_S = 60
#: Where this machine may be called in these tests; 127.0.0.2 and all others stay closed.
ALLOWED = "127.0.0.1/32"


class At:
    """One institution at its terminal."""

    def __init__(self, address: str, member: Member) -> None:
        self.address, self.member = address, member

    def call(self, method: str, path: str, expect: int, **more: Any) -> requests.Response:
        headers = self.member.headers | more.pop("headers", {})
        response = requests.request(method, self.address + path, headers=headers, timeout=30, **more)
        assert response.status_code == expect, response.text
        return response

    def get(self, path: str) -> Any:
        return self.call("GET", path, 200).json()

    def step(self, transfer: str, step: str, **said: Any) -> None:
        fact = {"step": step, "by": "Marta Quillfeather", **said}
        self.call(
            "POST", f"{transfer}/facts", 201, json=fact, headers={"Idempotency-Key": f"{step}-{time.time_ns()}"}
        )

    def feed(self) -> list[str]:
        types, cursor = [], {}
        while True:
            page = self.call("GET", "/v1/events", 200, params=cursor).json()
            types += [event["type"] for event in page["items"]]
            if not page["more"]:
                return types
            cursor = {"cursor": page["next_cursor"]}

    def hook(self, receiver: Other, *types: str) -> tuple[str, str]:
        """The address of a new webhook, and its secret."""
        wish = {"url": f"http://127.0.0.1:{receiver.port}/", "types": types}
        made = self.call("POST", "/v1/webhooks", 201, json=wish)
        return made.headers["Location"], made.json()["secret"]

    def attempts(self, hook: str) -> list[tuple[int, str]]:
        """The number and outcome of each, the oldest first."""
        return [(each["number"], each["outcome"]) for each in reversed(self.get(f"{hook}/attempts")["items"])]


def wait(until: Callable[[], bool], what: str) -> None:
    give_up = time.monotonic() + WITHIN_S
    while not until():
        assert time.monotonic() < give_up, f"After {WITHIN_S} s: {what}"
        time.sleep(0.05)


@pytest.fixture
def museums(database: str, engine: Engine, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[At, At]]:
    monkeypatch.setenv("TRAYBRIDGE_ALLOWED_NETWORKS", ALLOWED)
    ambleford, kesselbrook = (enter(engine, code, code.title()) for code in ("ambleford", "kesselbrook"))
    with live_service(database) as address:
        yield At(address, ambleford), At(address, kesselbrook)


def write_loan(lender: At, borrower: At, code: str = "L-1") -> str:
    """A loan that both have signed; where it is."""
    text = {
        "code": code, "kind": "loan", "lender": {"institution_id": str(lender.member.id)},
        "borrower": {"institution_id": str(borrower.member.id)}, "answerable": {"name": "Dr Ines Halloran"},
        "purpose": "Revision of the genus", "by": "Marta Quillfeather",
        "lines": [{"key": "1", "count": 20, "taxon": "Carabus hortensis", "type_status": "not_a_type"}],
    }  # fmt: skip
    made = lender.call("POST", "/v1/transfers", 201, json=text)
    address = made.headers["Location"]
    for side in (lender, borrower):
        side.step(address, "signed", agreement=made.json()["agreement"])
    return address


def test_a_borrowers_database_hears_of_a_loan_though_it_has_a_bad_day(database: str, museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    is_well = [True]
    with other(lambda handler: plain(204 if is_well[0] else 500)(handler)) as receiver, live_worker(database):
        hook, secret = kesselbrook.hook(receiver, "transfer.packed", "transfer.dispatched")
        loan = write_loan(ambleford, kesselbrook)
        # The other museum packs, and the borrower's own database hears of it, signed.
        ambleford.step(loan, "packed", everything=True)
        wait(lambda: len(receiver.calls) == 1, "the borrower was not told of the packing")
        _, headers, body = receiver.calls[0]
        said = Reference(secret).verify(body, headers)
        assert (said["type"], said["data"]["href"]) == ("transfer.packed", loan)
        assert said["data"]["made_by"] == str(ambleford.member.id)
        assert kesselbrook.get(said["data"]["href"])["id"] == said["data"]["subject_id"], "the link leads there"

        # The receiver fails, and is tried again five seconds later, under the same id.
        is_well[0] = False
        ambleford.step(loan, "dispatched", everything=True)
        wait(lambda: len(receiver.calls) == 2, "the borrower was not told of the dispatch")
        is_well[0] = True
        wait(lambda: len(receiver.calls) == 3, "what failed was not sent again")
        (_, failed, _), (_, retried, again) = receiver.calls[1:3]
        assert failed["webhook-id"] == retried["webhook-id"]
        assert Reference(secret).verify(again, retried)["type"] == "transfer.dispatched"
        wait(lambda: len(kesselbrook.attempts(hook)) == 3, "the log does not have all attempts")
        assert kesselbrook.attempts(hook) == [(1, "delivered"), (1, "failed"), (2, "delivered")]

        # The borrower's database was restored from a backup, and asks for it once more.
        event = {"event_id": retried["webhook-id"]}
        assert kesselbrook.call("POST", f"{hook}/replays", 202, json=event).json() == {"count": 1}
        wait(lambda: len(receiver.calls) == 4, "it was not replayed")
        assert json.loads(receiver.calls[3][2]) == json.loads(again)
        # And whoever has no receiver at all reads the same from the feed.
        assert ambleford.feed() == kesselbrook.feed()
        assert ambleford.feed()[-2:] == ["transfer.packed", "transfer.dispatched"]


def test_slow_receivers_keep_neither_the_quick_ones_nor_long_work_waiting(
    database: str, museums: tuple[At, At]
) -> None:
    """As many of them as one institution may have; each hangs until the others are through."""
    ambleford, kesselbrook = museums
    through = [False]

    def hanging(handler: Any) -> None:
        give_up = time.monotonic() + WITHIN_S
        while not through[0] and time.monotonic() < give_up:
            time.sleep(0.05)
        plain(204)(handler)

    plan = {
        "trays": [{"code": "t", "count": 40, "width_mm": 110, "depth_mm": 60}],
        "drawers": [{"code": "own", "width_mm": 450, "depth_mm": 388}],
        "growth_reserve_percent": 20,
        "effort": "thorough",
    }
    with other(hanging) as slow, other(plain(204)) as quick, live_worker(database):
        for _ in range(MOST_WEBHOOKS):
            kesselbrook.hook(slow, "transfer.packed")
        ambleford.hook(quick, "transfer.packed")
        loan = write_loan(ambleford, kesselbrook)
        ambleford.step(loan, "packed", everything=True)
        operation = ambleford.call("POST", "/v1/housing-plans", 202, json=plan).headers["Location"]
        wait(lambda: len(slow.calls) == MOST_WEBHOOKS, "the slow ones were not called")
        wait(lambda: len(quick.calls) == 1, "the quick one waits for the slow ones")
        wait(lambda: ambleford.get(operation)["state"] == "succeeded", "long work waits for the slow ones")
        through[0] = True


def test_what_a_killed_worker_was_at_is_sent_by_another(database: str, museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    killed: list[bool] = []

    def hanging_first(handler: Any) -> None:
        give_up = time.monotonic() + WITHIN_S
        while not killed and time.monotonic() < give_up:
            time.sleep(0.05)
        plain(204)(handler)

    with other(hanging_first) as receiver:
        hook, _ = ambleford.hook(receiver, "transfer.packed")
        loan = write_loan(ambleford, kesselbrook)
        with live_worker(database) as worker:
            ambleford.step(loan, "packed", everything=True)
            wait(lambda: len(receiver.calls) == 1, "nobody was called")
            os.kill(worker.pid, signal.SIGKILL)
            worker.wait()
        killed.append(True)
        assert ambleford.attempts(hook) == []
        with live_worker(database):
            wait(lambda: ambleford.attempts(hook) == [(1, "delivered")], "it was not sent by another")
    assert len({headers["webhook-id"] for _, headers, _ in receiver.calls}) == 1


def test_no_call_goes_to_a_network_that_the_operator_does_not_allow(
    database: str, museums: tuple[At, At], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither by registering it, nor by a redirect, nor when what was allowed no longer is."""
    ambleford, kesselbrook = museums
    with other(plain(204), "127.0.0.2") as inside:
        closed = f"http://127.0.0.2:{inside.port}/latest/meta-data/"
        for url in (closed, "https://169.254.169.254/latest/meta-data/", "https://10.0.0.1/", "https://[fd00::1]/"):
            refused = ambleford.call("POST", "/v1/webhooks", 422, json={"url": url}).json()
            assert refused["errors"][0]["pointer"] == "/url"
        with other(plain(302, Location=closed)) as receiver:
            hook, _ = ambleford.hook(receiver, "transfer.packed")
            loan = write_loan(ambleford, kesselbrook)
            ambleford.step(loan, "packed", everything=True)
            with live_worker(database):
                wait(lambda: len(ambleford.attempts(hook)) == 1, "nobody was called")
            (attempt,) = ambleford.get(f"{hook}/attempts")["items"]
            assert (attempt["status"], attempt["outcome"]) == (302, "failed")

            monkeypatch.delenv("TRAYBRIDGE_ALLOWED_NETWORKS")
            called = len(receiver.calls)
            ambleford.call("POST", f"{hook}/tests", 202)
            with live_worker(database):
                wait(lambda: len(ambleford.attempts(hook)) > 1, "the attempt was not written down")
            last = ambleford.get(f"{hook}/attempts")["items"][0]
            assert "private or special network" in last["problem"]
        assert (len(receiver.calls), inside.calls) == (called, [])
