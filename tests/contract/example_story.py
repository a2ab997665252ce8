"""The examples of the contract, told as one story that is really sent.

Each step sends the request that stands in `openapi/examples/<operationId>.json` and keeps the answer. Identifiers and
moments differ from run to run; in the examples they are replaced by steady ones, the same one for the same thing.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from members import Member, enter, key_of
from sqlalchemy import Engine
from werkzeug.test import TestResponse

EXAMPLES = Path(__file__).parents[2] / "openapi" / "examples"
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z")
_DAY = re.compile(r"(?<=Checked on:     )\d{4}-\d\d-\d\d")
STEADY_MOMENT = "2026-11-25T09:30:00Z"
NAMED = {
    "institution": "019ab000-0000-7000-8000-0000000000a1",
    "system": "019ab000-0000-7000-8000-0000000000b1",
    "consignment": "019ab000-0000-7000-8000-0000000000c1",
    "check": "019ab000-0000-7000-8000-0000000000d1",
}


class Names:
    """Which real identifier stands behind which one of the examples."""

    def __init__(self) -> None:
        self.steady: dict[str, str] = {}

    def to_example(self, text: str) -> str:
        text = _MOMENT.sub(STEADY_MOMENT, text)
        text = _DAY.sub(STEADY_MOMENT[:10], text)
        return _UUID.sub(lambda found: self._steady(found[0]), text)

    def to_real(self, text: str) -> str:
        real = {steady: real for real, steady in self.steady.items()}
        return _UUID.sub(lambda found: real.get(found[0], found[0]), text)

    def _steady(self, real: str) -> str:
        return self.steady.setdefault(real, f"019ab000-0000-7000-8000-{len(self.steady) + 1:012d}")

    def name(self, real: str, steady: str) -> None:
        """Give the first thing of its kind the identifier that the example requests name it by."""
        if steady not in self.steady.values():
            self.steady[real] = steady


@dataclass(frozen=True)
class Step:
    """One call of the story. ``needs_version`` sends the ETag that a read of ``read_first`` gives."""

    operation: str
    method: str
    path: str
    media: str = "application/json"
    read_first: str | None = None
    accept: str = "application/json"
    anonymous: bool = False


SYSTEM, CONSIGNMENT, CHECK = "{system}", "{consignment}", "{check}"
STORY = (
    Step("is_alive", "GET", "/health/alive", anonymous=True),
    Step("is_ready", "GET", "/health/ready", anonymous=True),
    Step("list_drawer_styles", "GET", "/v1/handbook/drawer-styles", anonymous=True),
    Step("get_drawer_style", "GET", "/v1/handbook/drawer-styles/cornell", anonymous=True),
    Step("list_bottoms_and_treatments", "GET", "/v1/handbook/bottoms-and-treatments", anonymous=True),
    Step("list_figures", "GET", "/v1/handbook/figures", anonymous=True),
    Step("list_sources", "GET", "/v1/handbook/sources", anonymous=True),
    Step("list_institutions", "GET", "/v1/institutions?page_size=1", anonymous=True),
    Step("get_institution", "GET", "/v1/institutions/{institution}", anonymous=True),
    Step("change_institution", "PUT", "/v1/institutions/{institution}", read_first="/v1/institutions/{institution}"),
    Step("create_storage_system", "POST", "/v1/storage-systems"),
    Step("get_storage_system", "GET", "/v1/storage-systems/{system}"),
    Step("change_storage_system", "PUT", "/v1/storage-systems/{system}", read_first="/v1/storage-systems/{system}"),
    Step("create_revision", "POST", "/v1/storage-systems/{system}/revisions"),
    Step("get_revision", "GET", "/v1/storage-systems/{system}/revisions/1"),
    Step(
        "change_revision",
        "PUT",
        "/v1/storage-systems/{system}/revisions/1",
        read_first="/v1/storage-systems/{system}/revisions/1",
    ),
    Step(
        "publish_revision",
        "POST",
        "/v1/storage-systems/{system}/revisions/1/publication",
        read_first="/v1/storage-systems/{system}/revisions/1",
    ),
    Step("get_published_revision", "GET", "/v1/storage-systems/{system}/published-revision", anonymous=True),
    Step("list_revisions", "GET", "/v1/storage-systems/{system}/revisions", anonymous=True),
    Step("list_storage_systems", "GET", "/v1/storage-systems", anonymous=True),
    Step("create_consignment", "POST", "/v1/consignments"),
    Step("get_consignment", "GET", "/v1/consignments/{consignment}"),
    Step("list_consignments", "GET", "/v1/consignments"),
    Step("change_consignment", "PUT", "/v1/consignments/{consignment}", read_first="/v1/consignments/{consignment}"),
    Step("create_fit_check", "POST", "/v1/fit-checks"),
    Step("get_fit_check", "GET", "/v1/fit-checks/{check}"),
    Step("get_fit_check", "GET", "/v1/fit-checks/{check}", accept="text/plain"),
    Step("get_fit_check_inputs", "GET", "/v1/fit-checks/{check}/inputs"),
    Step("get_fit_check_drawing", "GET", "/v1/fit-checks/{check}/lines/1/drawing", accept="image/svg+xml"),
    Step("list_fit_checks", "GET", "/v1/fit-checks"),
    Step(
        "upload_lines",
        "PUT",
        "/v1/consignments/{consignment}/lines",
        media="text/csv",
        read_first="/v1/consignments/{consignment}",
    ),
    Step(
        "delete_consignment", "DELETE", "/v1/consignments/{consignment}", read_first="/v1/consignments/{consignment}"
    ),
    Step("create_revision", "POST", "/v1/storage-systems/{system}/revisions"),
    Step(
        "delete_revision",
        "DELETE",
        "/v1/storage-systems/{system}/revisions/2",
        read_first="/v1/storage-systems/{system}/revisions/2",
    ),
    Step("create_storage_system", "POST", "/v1/storage-systems"),
    Step(
        "delete_storage_system", "DELETE", "/v1/storage-systems/{system}", read_first="/v1/storage-systems/{system}"
    ),
)


@dataclass(frozen=True)
class Told:
    """What one step of the story came to. ``answer`` is as the example has it."""

    step: Step
    response: TestResponse
    answer: Any


def example(operation: str) -> dict[str, Any]:
    file = EXAMPLES / f"{operation}.json"
    return dict(json.loads(file.read_text("utf-8"))) if file.exists() else {}


class Teller:
    """Sends the steps one after the other, as the Ambleford Museum."""

    def __init__(self, app: Flask, engine: Engine) -> None:
        self.names = Names()
        self.member: Member = enter(engine, "ambleford", "Ambleford Museum", "GB")
        enter(engine, "kesselbrook", "Kesselbrook University Insect Collection", "US")
        self.client: FlaskClient = self.member.client(app)
        self.stranger = app.test_client()
        self.places = {"institution": str(self.member.id)}
        self.names.name(str(self.member.id), NAMED["institution"])

    def tell(self) -> Iterator[Told]:
        for step in STORY:
            response = self._send(step)
            self._remember(step, response)
            yield Told(step, response, self._answer(response))

    def _send(self, step: Step) -> TestResponse:
        headers = {"Accept": step.accept}
        if step.read_first:
            headers["If-Match"] = self.client.get(step.read_first.format(**self.places)).headers["ETag"]
        client = self.stranger if step.anonymous else self.client
        address = step.path.format(**self.places)
        return client.open(address, method=step.method, headers=headers, **self._body(step))

    def _body(self, step: Step) -> dict[str, Any]:
        request = example(step.operation).get("request")
        if step.method not in ("POST", "PUT") or request is None:
            return {}
        text = request if isinstance(request, str) else json.dumps(request, ensure_ascii=False)
        if step.operation == "create_storage_system" and "system" in self.places:
            text = text.replace("main-hall", "annexe")
        return {"data": self.names.to_real(text).encode(), "content_type": step.media}

    def _remember(self, step: Step, response: TestResponse) -> None:
        made = {
            "create_storage_system": "system", "create_consignment": "consignment", "create_fit_check": "check",
        }.get(step.operation)  # fmt: skip
        if made and response.status_code == 201:
            self.places[made] = response.headers["Location"].rsplit("/", 1)[1]
            self.names.name(self.places[made], NAMED[made])

    def _answer(self, response: TestResponse) -> Any:
        text = self.names.to_example(response.get_data(as_text=True))
        return json.loads(text) if response.mimetype == "application/json" else text


def key_for(engine: Engine, member: Member, *scopes: str) -> str:
    return key_of(engine, member.id, scopes)
