"""A small service written with the kit: one shelf of storage boxes, kept in memory."""

import json
from dataclasses import dataclass, field, replace
from enum import StrEnum
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

import flask
from flask import Flask

from service.core.actor import Actor
from service.core.errors import Busy, Conflict, NotAllowed, NotFound
from service.core.measure.dimension import Dimension
from service.store.paging import Page as Found
from service.web.health import health
from service.web.kit import conditions, negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.fields import Amount, Choice, Code, Date, Flag, Instant, Int, List, Nested, Number, Text, Uuid
from service.web.kit.install import Contract, Hooks, install
from service.web.kit.measures import DimensionField, Length
from service.web.kit.openapi import Api
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.schema import Strict

_SAID = {"description": "what it means"}
SPACE = UUID("6d0c4b4e-9d0b-4f7e-8f0a-0d9f6c5b7a11")
KEYS = {
    "key-all": Actor(SPACE, "NHMX", frozenset({"read", "write"}), uuid5(SPACE, "all")),
    "key-read": Actor(SPACE, "NHMX", frozenset({"read"}), uuid5(SPACE, "read")),
}


class Closing(StrEnum):
    """How a box shuts."""

    FLANGED = "flanged"
    PLAIN = "plain"


@dataclass(frozen=True)
class Box:
    code: str
    width: Dimension
    closing: Closing = Closing.PLAIN
    play_nm: int | None = None
    label: str | None = None
    id: UUID = SPACE
    version: int = 1


class TraySchema(Strict):
    """A tray in a box."""

    count = Int(min=1, max=500, required=True, metadata=_SAID)
    height = DimensionField(metadata=_SAID)


class BoxContent(Strict):
    """What can be said of a box."""

    code = Code(required=True)
    width = DimensionField(required=True, metadata={"description": "side to side"})
    closing = Choice(Closing, load_default=Closing.PLAIN)
    play_nm = Length(data_key="play_mm", metadata=_SAID)
    label = Text(max_length=80)


class BoxSchema(BoxContent):
    """A storage box."""

    id = Uuid(required=True, dump_only=True)
    version = Int(min=1, required=True, dump_only=True)


class Boxes(paging.PageQuery):
    closing = List(Choice(Closing), max_items=2)
    empty = Flag()


class Everything(Strict):
    """One field of each kind."""

    text = Text(max_length=5, metadata=_SAID)
    code = Code()
    whole = Int(min=-3, max=9, metadata=_SAID)
    number = Number(min=-1, max=1, metadata=_SAID)
    amount = Amount(whole_digits=3, decimals=2, metadata=_SAID)
    flag = Flag(metadata=_SAID)
    closing = Choice(Closing)
    day = Date(metadata=_SAID)
    moment = Instant(metadata=_SAID)
    id = Uuid()
    words = List(Text(max_length=3), max_items=3, min_items=1, unique=True, metadata=_SAID)
    length = Length(metadata=_SAID)
    dimension = DimensionField(metadata=_SAID)
    trays = List(Nested(TraySchema), max_items=2, metadata=_SAID)


@dataclass
class Shelf:
    boxes: dict[UUID, Box] = field(default_factory=dict)
    why_not_ready: str | None = None

    def box(self, box_id: UUID) -> Box:
        if box_id not in self.boxes:
            raise NotFound("box", box_id)
        return self.boxes[box_id]


def shelf() -> Shelf:
    kept = flask.current_app.extensions["shelf"]
    assert isinstance(kept, Shelf)
    return kept


boxes = Blueprint("boxes", __name__, url_prefix="/v1/boxes", description="Storage boxes on the shelf.")


@boxes.operation("GET", "", scope="read", query=Boxes, returns=paging.page_of(BoxSchema))
def list_boxes(query: dict[str, Any]) -> Reply:
    """List the boxes.

    In the order of their codes.
    """
    page = paging.page(query, (str, UUID))
    wanted = query.get("closing", tuple(Closing))
    rows = sorted((box.code, box.id, box) for box in shelf().boxes.values() if box.closing in wanted)
    after = [row for row in rows if page.after is None or row[:2] > page.after]
    shown = [box for *_, box in after[: page.size]]
    return page.answer(Found(shown, (shown[-1].code, shown[-1].id) if len(after) > page.size else None))


@boxes.operation(
    "POST",
    "",
    scope="write",
    body=BoxContent,
    returns=BoxSchema,
    creates=True,
    conditional=False,
    errors=["code-taken"],
)
def create_box(body: dict[str, Any]) -> Reply:
    """Put a box on the shelf.

    Each has a code of its own.
    """
    if any(box.code == body["code"] for box in shelf().boxes.values()):
        raise Conflict("code_taken", "There is already a box with this code.")
    box = Box(**body, id=uuid5(SPACE, body["code"]))
    shelf().boxes[box.id] = box
    return Reply(box, version=box.version, location=f"/v1/boxes/{box.id}")


@boxes.operation("GET", "/<uuid:box_id>", scope="read", returns=BoxSchema, media=[negotiation.TEXT], conditional=True)
def get_box(box_id: UUID) -> Reply:
    """Show one box.

    As text in one line.
    """
    box = shelf().box(box_id)
    in_words = f"{box.code}, version {box.version}\n"
    return Reply(in_words if negotiation.wanted() == negotiation.TEXT else box, version=box.version)


@boxes.operation("PUT", "/<uuid:box_id>", scope="write", body=BoxContent, returns=BoxSchema, conditional=True)
def replace_box(box_id: UUID, body: dict[str, Any]) -> Reply:
    """Describe a box anew.

    What is left out falls.
    """
    box = shelf().box(box_id)
    conditions.check_version("box", box.version)
    shelf().boxes[box_id] = replace(Box(**body), id=box_id, version=box.version + 1)
    return Reply(shelf().boxes[box_id], version=box.version + 1)


@boxes.operation("DELETE", "/<uuid:box_id>", scope="write", conditional=True)
def delete_box(box_id: UUID) -> None:
    """Take a box off the shelf.

    It does not come back.
    """
    conditions.check_version("box", shelf().box(box_id).version)
    del shelf().boxes[box_id]


@boxes.operation("GET", "/drawing", scope="public", media=[negotiation.SVG])
def draw_shelf() -> Reply:
    """Draw the shelf, for anybody.

    Without its boxes.
    """
    return Reply('<svg xmlns="http://www.w3.org/2000/svg"/>', headers={"X-Asked-By": str(current_actor().key_id)})


@boxes.operation("POST", "/accident", scope="write")
def have_accident() -> None:
    """Fail as no program should.

    Every time.
    """
    raise RuntimeError("the password is swordfish")


@boxes.operation("POST", "/everything", scope="write", body=Everything, returns=Everything)
def echo(body: dict[str, Any]) -> dict[str, Any]:
    """Say everything back.

    As it was understood.
    """
    return body


@boxes.operation("POST", "/refusals/<code:kind>", scope="write", errors=["forbidden", "busy"])
def refuse(kind: str) -> None:
    """Refuse in one of the ways of the house.

    The path says in which.
    """
    raise {"not-allowed": NotAllowed("You may not do this."), "busy": Busy("Try again in a moment.")}[kind]


EXAMPLES = {
    "list_boxes": {"response": {"items": [], "next_cursor": None}},
    "create_box": {
        "request": {"code": "box-1", "width": "16 1/2 in"},
        "response": {
            "code": "box-1", "width": {"value_mm": 419.1, "known_as": "nominal", "as_written": "16 1/2 in"},
            "closing": "plain", "id": str(SPACE), "version": 1,
        },
    },
    "echo": {"request": {"whole": 3}, "response": {"whole": 3}},
    "is_alive": {"response": {"status": "ok"}},
    "is_ready": {"response": {"status": "ok"}},
}  # fmt: skip
EXAMPLES["get_box"] = {"response": EXAMPLES["create_box"]["response"], "media": {"text/plain": "box-1, version 1\n"}}
EXAMPLES["replace_box"] = EXAMPLES["create_box"]


def write_examples(folder: Path) -> None:
    for name, example in EXAMPLES.items():
        (folder / f"{name}.json").write_text(json.dumps(example), "utf-8")


def create_shelf(examples: Path | None = None) -> tuple[Flask, Api]:
    app = Flask("shelf")
    app.extensions["shelf"] = kept = Shelf()
    hooks = Hooks(authenticate=KEYS.get, why_not_ready=lambda: kept.why_not_ready)
    contract = Contract("Shelf", "1.0.0", "One shelf of storage boxes.", examples)
    api = install(app, hooks, contract, largest_body_bytes=20_000)
    api.register_blueprint(boxes)
    api.register_blueprint(health)
    return app, api
