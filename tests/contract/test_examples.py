"""Every example in the contract is one that was really sent and really answered."""

import json
import os

import pytest
from example_story import EXAMPLES, Teller, Told, example
from jsonschema import Draft202012Validator
from sqlalchemy import Engine

from service.app import build, document

#: `WRITE_EXAMPLES=1 make test ARGS=tests/contract/test_examples.py` writes the answers anew, to be read in the diff.
WRITING = os.environ.get("WRITE_EXAMPLES") == "1"

#: The headers that HTTP itself and the browser's shield bring, which no client has to know of.
_OF_HTTP = {
    "content-type", "content-length", "x-content-type-options", "referrer-policy", "content-security-policy",
}  # fmt: skip
LATER = "what is answered with 202"
_IN_FILE = {"application/json": "response", LATER: "later"}


@pytest.fixture
def told(engine: Engine) -> list[Told]:
    return list(Teller(build(engine), engine).tell())


def test_every_example_is_what_the_service_answers(told: list[Told]) -> None:
    shown: set[tuple[str, str]] = set()
    for step in told:
        assert step.response.status_code < 300, (step.step.operation, step.response.get_data(as_text=True))
        form = LATER if step.response.status_code == 202 else step.response.mimetype
        if not step.answer or (step.step.operation, form) in shown:
            continue
        shown.add((step.step.operation, form))
        if WRITING:
            _write(step, form)
        known = example(step.step.operation)
        name = _IN_FILE.get(form)
        expected = known.get(name) if name else known.get("media", {}).get(form)
        assert step.answer == expected, step.step.operation


def test_the_story_calls_every_operation(told: list[Told]) -> None:
    assert {operation.name for operation in document().operations} == {step.step.operation for step in told}


def test_every_answer_has_the_shape_that_the_contract_promises(told: list[Told]) -> None:
    contract = document().document()
    operations = {
        described["operationId"]: described
        for methods in contract["paths"].values()
        for method, described in methods.items()
        if method != "parameters"
    }
    for step in told:
        answers = operations[step.step.operation]["responses"]
        promised = answers[str(step.response.status_code)]
        if step.response.mimetype == "application/json" and step.response.data:
            schema = promised["content"]["application/json"]["schema"]
            Draft202012Validator({**schema, "components": contract["components"]}).validate(step.response.get_json())
        for name, reference in promised["headers"].items():
            header = contract["components"]["headers"][reference["$ref"].rpartition("/")[2]]
            assert name in step.response.headers or not header["required"], (step.step.operation, name)
        told_of = {name.lower() for name in promised["headers"]} | _OF_HTTP
        assert {name.lower() for name, _ in step.response.headers.items()} <= told_of, step.step.operation


def _write(step: Told, form: str) -> None:
    known = example(step.step.operation)
    if form in _IN_FILE:
        known[_IN_FILE[form]] = step.answer
    else:
        known.setdefault("media", {})[form] = step.answer
    ordered = {key: known[key] for key in ("request", "response", "later", "media") if key in known}
    text = json.dumps(ordered, indent=2, ensure_ascii=False)
    (EXAMPLES / f"{step.step.operation}.json").write_text(text + "\n", "utf-8")
