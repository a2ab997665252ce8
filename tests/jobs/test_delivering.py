"""Calls to webhooks: real receivers on this machine, a real database, and a clock that the test sets.

What receivers get is checked by the reference library of Standard Webhooks.
"""

import http.server
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from members import enter
from outside_servers import Other, other, plain
from sqlalchemy import Engine, text
from standardwebhooks import Webhook as Reference
from standardwebhooks import WebhookVerificationError

from service.actions import webhooks as actions
from service.actions.webhooks import Again
from service.core.actor import Actor
from service.core.consignment import ConsignmentKind
from service.core.deliveries import FAILING_FOR_DAYS, Disabled, Outcome
from service.core.errors import Conflict
from service.core.events import EventType
from service.core.webhooks import Wish
from service.jobs.delivering import Postman, visit
from service.jobs.dispatching import dispatch
from service.outside.addresses import read_networks
from service.outside.calling import Caller
from service.store import consignments, deliveries, events, webhooks
from service.store.consignments import Cover, Sender
from service.store.deliveries import Attempt
from service.store.session import app_engine, open_session
from service.store.webhooks import Webhook

HOME = read_networks("127.0.0.1/32")
GIFT = Cover(ConsignmentKind.GIFT, Sender(name="Orla Fennimore"))


@dataclass
class Office:
    """An institution, what it does, and the worker that calls for it."""

    engine: Engine
    owner: UUID
    caller: Caller = field(default_factory=lambda: Caller(HOME, seconds=5))
    later: timedelta = timedelta()
    written: int = 0

    @property
    def actor(self) -> Actor:
        return Actor(self.owner, "north")

    def now(self) -> datetime:
        return datetime.now(UTC) + self.later

    def subscribe(self, url: str, *types: EventType) -> Webhook:
        with open_session(self.engine, self.owner) as session:
            made = actions.subscribe(session, self.actor, Wish(url, types=types))
            session.commit()
        return made

    def happens(self, count: int = 1) -> None:
        for _ in range(count):
            self.written += 1
            with open_session(self.engine, self.owner) as session:
                consignments.make(session, self.owner, f"C-{self.written}", GIFT)
                session.commit()

    def call(self, *hooks: Webhook) -> None:
        """What workers do when there is news: here at once, and at the time that the test has set."""
        with open_session(self.engine, self.owner) as session:
            events.catch_up(session, self.owner)
            session.commit()
        postman = Postman(self.engine, self.caller, self.now, lambda: 0)
        for hook in hooks:
            visit(postman, self.owner, hook.id, lambda: False)

    def do(self, work, *args, **more):
        with open_session(self.engine, self.owner) as session:
            result = work(session, self.actor, *args, **more)
            session.commit()
        return result

    def log(self, hook: Webhook) -> list[Attempt]:
        """The oldest first."""
        with open_session(self.engine, self.owner) as session:
            return list(reversed(deliveries.page(session, hook, None, 100).items))

    def current(self, hook: Webhook) -> Webhook:
        with open_session(self.engine, self.owner) as session:
            return webhooks.by_id(session, self.owner, hook.id)

    def outcomes(self, hook: Webhook) -> list[Outcome]:
        return [attempt.outcome for attempt in self.log(hook)]


@pytest.fixture
def office(engine: Engine) -> Office:
    return Office(engine, enter(engine, "north", "North Museum").id)


def at(receiver: Other, path: str = "/hook") -> str:
    return f"http://127.0.0.1:{receiver.port}{path}"


@dataclass
class Moody:
    """A receiver that answers as it is told at the moment."""

    status: int = 204
    headers: dict[str, str] = field(default_factory=dict)

    def __call__(self, handler: http.server.BaseHTTPRequestHandler) -> None:
        plain(self.status, b"", **self.headers)(handler)


@pytest.fixture
def mood() -> Moody:
    return Moody()


@pytest.fixture
def receiver(mood: Moody) -> Iterator[Other]:
    with other(mood) as there:
        yield there


def ids(receiver: Other) -> list[str]:
    return [headers["webhook-id"] for _, headers, _ in receiver.calls]


def test_the_reference_library_verifies_what_arrives_and_it_is_what_the_feed_says(
    office: Office, receiver: Other
) -> None:
    hook = office.subscribe(at(receiver))
    office.happens()
    office.call(hook)
    ((path, headers, body),) = receiver.calls
    assert Reference(hook.secret).verify(body, headers) == json.loads(body)
    with pytest.raises(WebhookVerificationError):
        Reference(hook.secret).verify(body.replace(b"consignment", b"condiment"), headers)
    said = json.loads(body)
    assert (path, said["type"], said["id"]) == ("/hook", "consignment.written", headers["webhook-id"])
    assert headers["content-type"] == "application/json"
    (attempt,) = office.log(hook)
    assert (str(attempt.event_id), attempt.status, attempt.number) == (said["id"], 204, 1)


def test_what_happened_before_somebody_asked_is_not_sent_and_what_was_not_asked_for_neither(
    office: Office, receiver: Other
) -> None:
    office.happens()
    everything = office.subscribe(at(receiver, "/all"))
    offers = office.subscribe(at(receiver, "/offers"), EventType.CONSIGNMENT_OFFERED)
    office.happens(3)
    office.call(everything, offers)
    assert [path for path, _, _ in receiver.calls] == ["/all"] * 3
    assert office.do(actions.standing, offers.id).behind == 0, "it was looked at, and passed over"


def test_more_than_one_round_goes_out_in_the_order_of_the_feed(office: Office, receiver: Other) -> None:
    hook = office.subscribe(at(receiver))
    office.happens(45)
    office.call(hook)
    with open_session(office.engine, office.owner) as session:
        assert ids(receiver) == [str(event.id) for event in events.after(session, office.owner, 0, 100)]


def test_what_fails_is_sent_again_later_under_the_same_id_and_newly_signed(
    office: Office, receiver: Other, mood: Moody
) -> None:
    hook = office.subscribe(at(receiver))
    mood.status = 500
    office.happens()
    office.call(hook)
    office.call(hook)
    assert len(receiver.calls) == 1, "not before its time"
    office.later = timedelta(seconds=6)
    mood.status = 204
    office.call(hook)
    assert ids(receiver)[0] == ids(receiver)[1]
    first, second = (headers["webhook-timestamp"] for _, headers, _ in receiver.calls)
    assert int(second) >= int(first) + 5
    assert [(each.number, each.outcome) for each in office.log(hook)] == [
        (1, Outcome.FAILED),
        (2, Outcome.DELIVERED),
    ]
    assert office.do(actions.standing, hook.id).set_aside == 0


def test_a_receiver_that_is_down_gets_one_call_now_and_then_and_everything_when_it_is_back(
    office: Office, receiver: Other, mood: Moody
) -> None:
    hook = office.subscribe(at(receiver))
    mood.status = 503
    office.happens(30)
    for hours in range(8):
        office.later = timedelta(hours=hours)
        office.call(hook)
    assert len(receiver.calls) == 8
    standing = office.do(actions.standing, hook.id)
    assert (standing.failures, standing.behind + standing.set_aside) == (8, 30)
    mood.status = 204
    office.later = timedelta(days=2)
    office.call(hook)
    assert len(set(ids(receiver))) == 30
    assert office.outcomes(hook).count(Outcome.DELIVERED) == 30
    standing = office.do(actions.standing, hook.id)
    assert (standing.failures, standing.behind, standing.set_aside) == (0, 0, 0)


def test_one_message_that_a_receiver_cannot_digest_keeps_the_others_from_nothing(office: Office) -> None:
    seen: list[str] = []

    def picky(handler: http.server.BaseHTTPRequestHandler) -> None:
        message = handler.headers["webhook-id"]
        seen.append(message)
        plain(500 if message == seen[0] else 204)(handler)

    with other(picky) as receiver:
        hook = office.subscribe(at(receiver))
        office.happens(5)
        for minutes in range(3):
            office.later = timedelta(minutes=minutes)
            office.call(hook)
    assert len(set(seen)) == 5
    assert office.outcomes(hook).count(Outcome.DELIVERED) == 4


def test_a_message_is_given_up_after_ten_attempts_in_three_days_and_can_be_sent_again_by_hand(
    office: Office, receiver: Other, mood: Moody
) -> None:
    hook = office.subscribe(at(receiver))
    mood.status = 500
    office.happens()
    for hours in range(0, 100, 1):
        office.later = timedelta(hours=hours)
        office.call(hook)
    log = office.log(hook)
    assert [each.number for each in log] == list(range(1, 11))
    assert log[-1].outcome is Outcome.GIVEN_UP
    assert timedelta(hours=75) < log[-1].created_at - log[0].created_at < timedelta(hours=90)
    mood.status = 204
    assert office.do(actions.send_again, hook.id, Again(event_id=log[0].event_id), office.now()) == 1
    office.call(hook)
    assert office.log(hook)[-1].outcome is Outcome.DELIVERED
    assert len(set(ids(receiver))) == 1


def test_all_that_never_arrived_since_a_moment_is_sent_again_and_what_did_only_on_request(
    office: Office, receiver: Other, mood: Moody
) -> None:
    hook = office.subscribe(at(receiver))
    office.happens(3)
    office.call(hook)
    mood.status = 500
    office.happens()
    office.call(hook)
    mood.status = 204
    assert office.do(actions.send_again, hook.id, Again(since=hook.created_at), office.now()) == 1
    office.call(hook)
    everything = Again(since=hook.created_at, delivered_too=True)
    assert office.do(actions.send_again, hook.id, everything, office.now()) == 4
    office.call(hook)
    assert len(receiver.calls) == 3 + 1 + 1 + 4
    assert len(set(ids(receiver))) == 4


def test_410_disables_a_webhook_and_says_so_in_the_feed(office: Office, receiver: Other, mood: Moody) -> None:
    hook = office.subscribe(at(receiver))
    mood.status = 410
    office.happens(3)
    office.call(hook)
    office.call(hook)
    assert len(receiver.calls) == 1
    assert (office.current(hook).enabled, office.current(hook).disabled_because) == (False, Disabled.GONE)
    with open_session(office.engine, office.owner) as session:
        events.catch_up(session, office.owner)
        assert events.after(session, office.owner, 0, 10)[-1].type is EventType.WEBHOOK_DISABLED
    with pytest.raises(Conflict, match="enable it first"):
        office.do(actions.test, hook.id, office.now())


def test_one_that_is_enabled_again_goes_on_where_it_stopped(office: Office, receiver: Other, mood: Moody) -> None:
    hook = office.subscribe(at(receiver))
    mood.status = 410
    office.happens(2)
    office.call(hook)
    mood.status = 204
    disabled = office.current(hook)
    enabled = office.do(actions.change, hook.id, disabled.version, Wish(hook.url))
    assert enabled.disabled_because is None
    office.later = timedelta(minutes=1)
    office.call(hook)
    assert len(set(ids(receiver))) == 3, "both that happened, and that it was disabled"


def test_days_of_failing_disable_a_webhook(office: Office, receiver: Other, mood: Moody) -> None:
    hook = office.subscribe(at(receiver))
    mood.status = 500
    office.happens(12)
    for half_days in range(2 * FAILING_FOR_DAYS + 2):
        office.later = timedelta(hours=12 * half_days)
        office.call(hook)
    assert office.current(hook).disabled_because is Disabled.FAILING


def test_who_says_how_long_to_wait_is_left_alone_for_so_long(office: Office, receiver: Other, mood: Moody) -> None:
    hook = office.subscribe(at(receiver))
    mood.status, mood.headers = 429, {"Retry_After": "7200"}
    office.happens(2)
    office.call(hook)
    mood.status, mood.headers = 204, {}
    for minutes, called in ((60, 1), (119, 1), (121, 3)):
        office.later = timedelta(minutes=minutes)
        office.call(hook)
        assert len(receiver.calls) == called


def test_during_a_rotation_both_secrets_verify_and_afterwards_only_the_new_one(
    office: Office, receiver: Other
) -> None:
    hook = office.subscribe(at(receiver))
    new = office.do(actions.rotate, hook.id, hook.version, 24, office.now())
    assert new.secret != hook.secret
    assert new.secret not in repr(new)
    office.happens()
    office.call(hook)
    office.later = timedelta(hours=25)
    office.happens()
    office.call(hook)
    (_, during, body), (_, afterwards, _) = receiver.calls
    for secret in (hook.secret, new.secret):
        assert Reference(secret).verify(body, during)
    assert len(during["webhook-signature"].split(" ")) == 2
    assert len(afterwards["webhook-signature"].split(" ")) == 1


def test_a_test_goes_to_one_webhook_alone(office: Office, receiver: Other) -> None:
    one, another = office.subscribe(at(receiver, "/one")), office.subscribe(at(receiver, "/another"))
    event = office.do(actions.test, one.id, office.now())
    office.call(one, another)
    ((path, headers, body),) = receiver.calls
    assert (path, headers["webhook-id"]) == ("/one", str(event.id))
    assert Reference(one.secret).verify(body, headers)["type"] == "webhook.tested"


def test_what_was_removed_while_it_was_called_leaves_nothing_behind(office: Office) -> None:
    hooks: list[Webhook] = []

    def removing(handler: http.server.BaseHTTPRequestHandler) -> None:
        office.do(actions.remove, hooks[0].id, hooks[0].version)
        plain(500)(handler)

    with other(removing) as receiver:
        hooks.append(office.subscribe(at(receiver)))
        office.happens(2)
        office.call(*hooks)
    assert len(receiver.calls) == 1
    with open_session(office.engine, office.owner) as session:
        assert session.scalar(text("SELECT count(*) FROM webhook_attempt")) == 0


# --- where calls never go --------------------------------------------------------------------------------------


def test_an_address_that_was_allowed_and_is_no_longer_is_not_called(office: Office, receiver: Other) -> None:
    hook = office.subscribe(at(receiver))
    office.caller = Caller()
    office.happens()
    office.call(hook)
    assert receiver.calls == []
    (attempt,) = office.log(hook)
    assert attempt.problem is not None
    assert "private or special network" in attempt.problem


def test_a_redirect_is_a_failure_and_leads_nowhere(office: Office) -> None:
    with other(plain(204), "127.0.0.2") as inside:
        target = f"http://127.0.0.2:{inside.port}/latest/meta-data/"
        with other(plain(307, Location=target)) as receiver:
            hook = office.subscribe(at(receiver))
            office.happens()
            office.call(hook)
    assert (len(receiver.calls), inside.calls) == (1, [])
    assert [(each.status, each.outcome) for each in office.log(hook)] == [(307, Outcome.FAILED)]


@pytest.mark.parametrize("second", ["127.0.0.2", "10.0.0.1", "169.254.169.254", "::1", "::ffff:10.0.0.1"])
def test_a_name_that_means_another_server_by_the_next_call_is_not_followed_there(
    office: Office, receiver: Other, second: str
) -> None:
    """It was good when it was registered and when it was first called, and then its owner points it home."""
    answers = ["127.0.0.1"]
    office.caller = Caller(HOME, seconds=5, resolver=lambda *_: list(answers))
    hook = office.subscribe(f"http://hook.example:{receiver.port}/")
    office.happens()
    office.call(hook)
    answers[:] = [second]
    with other(plain(204), "127.0.0.2", receiver.port) as inside:
        office.happens()
        office.call(hook)
    assert (len(receiver.calls), inside.calls) == (1, [])
    assert office.outcomes(hook) == [Outcome.DELIVERED, Outcome.FAILED]


def test_one_bad_address_beside_a_good_one_is_enough(office: Office, receiver: Other) -> None:
    office.caller = Caller(HOME, resolver=lambda *_: ["127.0.0.1", "169.254.169.254"])
    hook = office.subscribe(f"http://hook.example:{receiver.port}/")
    office.happens()
    office.call(hook)
    assert receiver.calls == []


# --- how workers hear of it ------------------------------------------------------------------------------------

JOBS = text("SELECT queue_name, queueing_lock FROM procrastinate_jobs WHERE task_name = 'visit_webhook' ORDER BY id")


def jobs(office: Office) -> list[tuple[str, str]]:
    with open_session(office.engine, office.owner) as session:
        return [(row.queue_name, row.queueing_lock) for row in session.execute(JOBS)]


def test_however_much_happens_a_webhook_waits_in_the_queue_once(office: Office) -> None:
    hook = office.subscribe("https://hook.example/")
    office.happens(5)
    dispatch(office.engine)
    office.happens(5)
    dispatch(office.engine)
    assert jobs(office) == [("visits", f"visit/{hook.id}")]


def test_nobody_waits_where_nothing_happened_or_it_was_taken_back(office: Office) -> None:
    office.subscribe("https://hook.example/")
    dispatch(office.engine)
    with open_session(office.engine, office.owner) as session:
        consignments.make(session, office.owner, "C", GIFT)
        session.rollback()
    dispatch(office.engine)
    assert jobs(office) == []


def test_one_that_failed_waits_beside_its_like_and_not_before_its_rest_is_over(office: Office) -> None:
    office.caller = Caller(HOME, seconds=1)
    hook = office.subscribe("http://127.0.0.1:1/")
    office.happens()
    office.call(hook)
    office.happens()
    dispatch(office.engine)
    assert jobs(office) == []
    with open_session(office.engine, office.owner) as session:
        due = session.scalars(text("SELECT due_at FROM news ORDER BY due_at")).all()
        rest = deliveries.progress(session, hook).health.resting_until
        assert rest in due, "somebody comes back when it may be called again"
        session.execute(text("UPDATE news SET due_at = now()"))
        session.execute(text("UPDATE webhook_progress SET resting_until = now()"))
        session.commit()
    dispatch(office.engine)
    assert jobs(office) == [("slow_visits", f"visit/{hook.id}")]


def test_news_that_cannot_be_looked_after_come_back_and_keep_nobody_waiting(office: Office, database: str) -> None:
    office.subscribe("https://hook.example/")
    office.happens()
    impatient = app_engine(database, lock_timeout_ms=50)
    with open_session(office.engine, office.owner) as busy:
        events.lock(busy, office.owner)
        dispatch(impatient)
    assert jobs(office) == []
    impatient.dispose()
    with open_session(office.engine, office.owner) as session:
        assert session.execute(text("UPDATE news SET due_at = now()")).rowcount == 1
        session.commit()
    dispatch(office.engine)
    assert len(jobs(office)) == 1
