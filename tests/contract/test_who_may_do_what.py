"""One institution reads and changes nothing that is another's: tried with every operation that there is.

The operations come from the application itself, so that a new one cannot be forgotten.
"""

import json
import re
from typing import Any
from uuid import uuid4

import pytest
from example_story import EXCHANGED, LONG_WORK, NAMED, ZIP, Teller, an_archive, example
from flask import Flask
from flask.testing import FlaskClient
from members import enter, key_of
from problem_assertions import assert_problem
from sqlalchemy import Engine

from service.app import build, document
from service.web.kit.operation import Operation

CONTRACT = document()
OPERATIONS = {operation.name: operation for operation in CONTRACT.operations}
#: Each operation's path with its parameters in curly brackets, as the contract writes it.
PATHS = {
    described["operationId"]: path
    for path, methods in CONTRACT.document()["paths"].items()
    for described in methods.values()
    if isinstance(described, dict)
}
WITH_KEY = [operation for operation in OPERATIONS.values() if operation.scope != "public"]
#: Operations on one thing, with what the thing is found by.
ON_ONE_THING = [operation for operation in OPERATIONS.values() if "<uuid:" in operation.path]
#: The directory is for everybody to read.
OPEN_TO_ALL = {
    "get_institution",
    "get_institution_identifiers",
    "get_loan_rules",
    "get_listed_taxa",
    "get_quarantine_rules",
    "get_packing_bench",
}
#: What everybody may see and only its owner may change, so that a stranger is told so.
SEEN_BY_ALL = {
    "change_institution",
    "change_institution_identifiers",
    "change_loan_rules",
    "change_packing_bench",
    "change_quarantine_rules",
    "patch_institution",
    "patch_loan_rules",
}
#: What an operation has to be asked with.
ASKED_WITH = {
    "list_desk": "?list=overdue",
    "add_log": "?code=probe-1",
    "upload_transfer_lines": "?by=Somebody",
    "upload_inventory": "?by=Somebody",
    "get_transfer_fit": "?borrower_system_id={system}",
}


class World:
    """Ambleford with something of each kind, all of it private, and Kesselbrook, which looks for a way in."""

    def __init__(self, app: Flask, engine: Engine) -> None:
        self.app, self.engine = app, engine
        self.teller = Teller(app, engine)
        self.intruder = enter(engine, "intruder", "Institution that looks for a way in")
        self._make("create_storage_system", "system", visibility="owner")
        self._make("create_consignment", "consignment")
        self._send("create_revision")
        self._publish()
        self._make("create_fit_check", "check")
        self._make("create_housing_plan", "plan")
        begun = self.teller.client.post("/v1/housing-plans", json=self._long_work())
        self.teller.places["operation"] = begun.get_json()["id"]
        self._make("create_transfer", "transfer", code="L-1")
        self._make("create_permit", "permit")
        self._write_bench()
        self._make("create_parcel_plan", "parcel_plan")
        printed = self._make("create_paper", "paper")
        self.teller.places["check_code"] = printed.get_json()["check_code"]
        for kind in ("room", "cabinet", "drawer", "tray"):
            self._make(f"create_{kind}", kind)
        for upload, address in (
            ("upload_inventory", "/v1/inventory?by=M"),
            ("upload_taxon_sequence", "/v1/taxon-sequence"),
        ):
            self._upload(upload, address)
        self.teller.client.put("/v1/arrangement-rules", json={"reserve_percent": 0}, headers={"If-Match": '"0"'})
        self._make("create_arrangement_plan", "arrangement")
        self._make("create_webhook", "webhook")
        self._make("create_quarantine", "quarantine")
        transfer = self.teller.places["transfer"]
        exchanged = self._send("create_transfer", **EXCHANGED)
        self.teller.remember_transfer(exchanged.get_json())
        self.teller.places["transfer"] = transfer
        self._send("create_revision")
        told = self.teller.client.get("/v1/events").get_json()["items"]
        self.teller.places["event"] = told[0]["id"]

    def _make(self, operation: str, kind: str, **changes: Any) -> Any:
        made = self._send(operation, **changes)
        self.teller.places[kind] = made.headers["Location"].rsplit("/", 1)[1]
        self.teller.names.name(self.teller.places[kind], NAMED.get(kind, ""))
        return made

    def _write_bench(self) -> None:
        bench = f"/v1/packing-benches/{self.teller.member.id}"
        written = self.teller.client.put(
            bench, json=example("change_packing_bench")["request"], headers={"If-Match": '"0"'}
        )
        assert written.status_code == 200, written.text

    def _send(self, operation: str, **changes: Any) -> Any:
        body = json.loads(self.teller.names.to_real(json.dumps(example(operation)["request"] | changes)))
        response = self.teller.client.post(self.address(OPERATIONS[operation]), json=body)
        assert response.status_code == 201, response.text
        return response

    def _upload(self, operation: str, address: str) -> None:
        sent = self.teller.client.put(address, data=example(operation)["request"].encode(), content_type="text/csv")
        assert sent.status_code == 200, sent.text

    def _long_work(self) -> Any:
        return json.loads(self.teller.names.to_real(json.dumps(LONG_WORK)))

    def _publish(self) -> None:
        revision = f"/v1/storage-systems/{self.teller.places['system']}/revisions/1"
        tag = {"If-Match": self.teller.client.get(revision).headers["ETag"]}
        assert self.teller.client.post(f"{revision}/publication", headers=tag).status_code == 200

    def address(self, operation: Operation) -> str:
        """The address of what is Ambleford's."""
        return PATHS[operation.name].format(
            institution_id=self.teller.member.id,
            system_id=self.teller.places.get("system"),
            consignment_id=self.teller.places.get("consignment"),
            fit_check_id=self.teller.places.get("check"),
            transfer_id=self.teller.places.get("transfer"),
            parcel_plan_id=self.teller.places.get("parcel_plan"),
            paper_id=self.teller.places.get("paper"),
            check_code=self.teller.places.get("check_code", "0000"),
            permit_id=self.teller.places.get("permit"),
            exchange_id=self.teller.places.get("exchange"),
            quarantine_id=self.teller.places.get("quarantine"),
            plan_id=self.teller.places.get("plan"),
            operation_id=self.teller.places.get("operation"),
            webhook_id=self.teller.places.get("webhook"),
            event_id=self.teller.places.get("event"),
            room_id=self.teller.places.get("room"),
            cabinet_id=self.teller.places.get("cabinet"),
            drawer_id=self.teller.places.get("drawer"),
            arrangement_id=self.teller.places.get("arrangement"),
            tray_id=self.teller.places.get("tray"),
            number=2,
            line=1,
            style="cornell",
            cabinet="X1",
            sheet="drawers",
        )

    def call(self, client: FlaskClient, operation: Operation) -> Any:
        """The call as it would succeed, if the caller were allowed."""
        headers = {"If-Match": '"1"'} if operation.needs_version else {}
        if operation.idempotent == "required":
            headers["Idempotency-Key"] = str(uuid4())
        request = example(operation.name).get("request") if operation.body or operation.upload else None
        body: dict[str, Any] = {}
        if request is not None:
            text = request if isinstance(request, str) else json.dumps(request)
            body = {
                "data": an_archive() if operation.upload == ZIP else self.teller.names.to_real(text).encode(),
                "content_type": operation.upload or operation.takes,
            }
        return client.open(
            self.address(operation) + ASKED_WITH.get(operation.name, "").format(**self.teller.places),
            method=operation.method,
            headers=headers,
            **body,
        )


SYSTEM = NAMED["system"]


def some_address(operation: Operation) -> str:
    """An address of the right form, with nothing behind it."""
    path = PATHS[operation.name]
    for parameter in re.findall(r"\{(\w+)\}", path):
        path = path.replace(f"{{{parameter}}}", SYSTEM if parameter.endswith("_id") else "1")
    return path


@pytest.fixture(scope="module")
def shared_app(shared_engine: Engine) -> Flask:
    """The application before a database that is for everybody's tests."""
    return build(shared_engine)


@pytest.fixture
def world(engine: Engine) -> World:
    return World(build(engine), engine)


def test_nothing_that_is_anothers_is_found_by_any_operation(world: World) -> None:
    intruder = world.intruder.client(world.app)
    for operation in ON_ONE_THING:
        if operation.name in OPEN_TO_ALL:
            continue
        response = world.call(intruder, operation)
        expected = 403 if operation.name in SEEN_BY_ALL else 404
        assert response.status_code == expected, (operation.name, response.status_code, response.text)


def test_nothing_that_is_anothers_is_listed_by_any_operation(world: World) -> None:
    intruder = world.intruder.client(world.app)
    lists = [o for o in OPERATIONS.values() if o.query and "cursor" in o.query.fields and "<" not in o.path]
    assert len(lists) >= 4
    for operation in lists:
        items = world.call(intruder, operation).get_json()["items"]
        if operation.name != "list_institutions":
            assert items == [], operation.name


def test_an_intruder_cannot_check_against_what_it_may_not_see(world: World) -> None:
    response = world.call(world.intruder.client(world.app), OPERATIONS["create_fit_check"])
    assert_problem(response, 404, "not-found")


def test_after_every_attempt_everything_is_as_it_was(world: World) -> None:
    owner, intruder = world.teller.client, world.intruder.client(world.app)
    reads = [o for o in ON_ONE_THING if o.is_read and o.returns is not None]
    before = {o.name: world.call(owner, o).get_data() for o in reads}
    for operation in ON_ONE_THING:
        world.call(intruder, operation)
    assert {o.name: world.call(owner, o).get_data() for o in reads} == before


@pytest.mark.parametrize("operation", WITH_KEY, ids=lambda operation: operation.name)
def test_an_operation_that_needs_a_key_says_so(shared_app: Flask, operation: Operation) -> None:
    path = some_address(operation)
    refused = shared_app.test_client().open(path, method=operation.method)
    assert_problem(refused, 401, "unauthenticated")
    assert refused.headers["WWW-Authenticate"].startswith("Bearer")
    unknown = shared_app.test_client().open(path, method=operation.method, headers={"Authorization": "Bearer tb_x_y"})
    assert_problem(unknown, 401, "unauthenticated")


@pytest.mark.parametrize("operation", WITH_KEY, ids=lambda operation: operation.name)
def test_a_key_without_the_scope_opens_nothing(
    shared_app: Flask, shared_engine: Engine, operation: Operation
) -> None:
    member = enter(shared_engine, f"scope-{operation.name}", "Institution with too small a key")
    others = tuple(scope for scope in ("read", "write", "admin") if scope != operation.scope)
    headers = {"Authorization": f"Bearer {key_of(shared_engine, member.id, others)}"}
    client = shared_app.test_client()
    response = client.open(some_address(operation), method=operation.method, headers=headers)
    assert_problem(response, 403, "scope-missing")


def test_members_see_what_is_for_members_and_strangers_do_not(engine: Engine) -> None:
    app = build(engine)
    teller = Teller(app, engine)
    world = World.__new__(World)
    world.app, world.engine, world.teller = app, engine, teller
    world._make("create_storage_system", "system", visibility="members")
    world._send("create_revision")
    address = f"/v1/storage-systems/{teller.places['system']}"
    neighbour = enter(engine, "neighbour", "Neighbour").client(app)
    assert neighbour.get(address).status_code == 404, "nothing is published yet"
    world._publish()
    assert neighbour.get(f"{address}/published-revision").status_code == 200
    assert app.test_client().get(f"{address}/published-revision").status_code == 404
    assert app.test_client().get("/v1/storage-systems").get_json()["items"] == []
