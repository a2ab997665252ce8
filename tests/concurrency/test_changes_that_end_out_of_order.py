"""Nothing that changes is ever missed by whoever asks what has changed since, in whatever order transactions end."""

import random
import threading
import time
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from members import Member, enter
from sqlalchemy import Engine, text
from sqlalchemy.orm import Session

from service.app import build
from service.core.consignment import ConsignmentKind
from service.store import changes_seen, consignments
from service.store.changes_seen import START, Change, Changes, Kind, Place
from service.store.consignments import Cover, Sender
from service.store.session import app_engine, open_session

COVER = Cover(ConsignmentKind.GIFT, Sender(name="Orla Fennimore"))
#: Longer than any other transaction on a busy server that the tests share.
SOON_S = 120


@pytest.fixture
def museum(engine: Engine) -> Member:
    return enter(engine, "ambleford", "Ambleford")


def since(engine: Engine, museum: Member, place: Place, limit: int = 200) -> Changes:
    with open_session(engine, museum.id) as session:
        return changes_seen.since(session, museum.id, [Kind.CONSIGNMENT], place, limit)


def wait_for(is_so: Callable[[], bool]) -> None:
    give_up = time.monotonic() + SOON_S
    while not is_so():
        assert time.monotonic() < give_up
        time.sleep(0.01)


def number_of(session: Session) -> int:
    return int(session.scalar(text("SELECT pg_current_xact_id()::text::bigint")) or 0)


def test_what_began_first_and_ends_last_is_still_seen(engine: Engine, museum: Member) -> None:
    with open_session(engine, museum.id) as early, open_session(engine, museum.id) as late:
        slow = consignments.make(early, museum.id, "slow", COVER)
        quick = consignments.make(late, museum.id, "quick", COVER)
        assert number_of(early) < number_of(late)
        late.commit()
        # The later one has ended. Shown now, it would carry the reader past the earlier one for ever.
        first = since(engine, museum, START)
        assert first.items == ()
        early.commit()
    wait_for(lambda: len(since(engine, museum, first.reached).items) == 2)
    assert [one.thing_id for one in since(engine, museum, first.reached).items] == [slow.id, quick.id]


def test_a_transaction_that_is_rolled_back_holds_nothing_up_for_good(engine: Engine, museum: Member) -> None:
    with open_session(engine, museum.id) as early, open_session(engine, museum.id) as late:
        consignments.make(early, museum.id, "slow", COVER)
        quick = consignments.make(late, museum.id, "quick", COVER)
        late.commit()
        early.rollback()
    wait_for(lambda: [one.thing_id for one in since(engine, museum, START).items] == [quick.id])


def test_a_reader_among_many_writers_sees_the_last_change_of_everything(database: str, museum: Member) -> None:
    engine = app_engine(database, pool_size=10, lock_timeout_ms=60_000)
    writers, each = 6, 12
    last: dict[str, int] = {}
    over = threading.Event()

    def write(number: int) -> None:
        chance = random.Random(number)  # noqa: S311 - the same story in every run
        for turn in range(each):
            with open_session(engine, museum.id) as session:
                made = consignments.make(session, museum.id, f"{number}-{turn}", COVER)
                # Some hold their transaction open while the others come and go.
                session.execute(text("SELECT pg_sleep(:s)"), {"s": chance.choice([0, 0, 0.02, 0.06])})
                consignments.change(session, made, 1, COVER)
                at = number_of(session)
                session.commit()
            last[str(made.id)] = at

    seen: list[Change] = []
    places: list[Place] = [START]

    def read() -> None:
        found = since(engine, museum, places[-1], limit=5)
        seen.extend(found.items)
        places.append(found.reached)

    def read_on() -> None:
        while not over.is_set():
            read()

    threads = [threading.Thread(target=write, args=(number,)) for number in range(writers)]
    reader = threading.Thread(target=read_on)
    for thread in (reader, *threads):
        thread.start()
    for thread in threads:
        thread.join()
    over.set()
    reader.join()
    wait_for(lambda: read() or len({one.thing_id for one in seen}) == writers * each)
    assert {str(one.thing_id) for one in seen} == set(last)
    assert places == sorted(places)
    assert len(seen) == len(last), "each was changed in one transaction, and is told once"
    engine.dispose()


def changed(client: FlaskClient, since: str | None = None) -> tuple[dict[str, bool], str]:
    query = {"kind": "consignment"} | ({"updated_since": since} if since else {})
    answer = client.get("/v1/changes", query_string=query).get_json()
    return {item["href"]: item["removed"] for item in answer["items"]}, answer["updated_since"]


def test_what_is_removed_or_no_longer_offered_is_told_to_all_who_saw_it(engine: Engine, museum: Member) -> None:
    app = build(engine)
    other = enter(engine, "kesselbrook", "Kesselbrook")
    owner, receiver, stranger = (
        museum.client(app), other.client(app), enter(engine, "lindal", "Port Lindal").client(app)
    )  # fmt: skip
    offer = {"kind": "gift", "sender": {"name": "Orla Fennimore"}}
    kept, gone = (
        owner.post("/v1/consignments", json=offer | {"code": code, "offered_to": [str(other.id)]}).headers["Location"]
        for code in "ab"
    )
    wait_for(lambda: changed(receiver)[0] == {kept: False, gone: False})
    _, place = changed(receiver)
    owner.put(kept, json=offer, headers={"If-Match": '"1"'})
    owner.delete(gone, headers={"If-Match": '"1"'})
    wait_for(lambda: changed(receiver, place)[0] == {kept: True, gone: True})
    wait_for(lambda: changed(owner)[0] == {kept: False, gone: True})
    assert changed(stranger)[0] == {}
