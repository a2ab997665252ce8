"""Long lists, page by page. Each page begins after the last row of the one before, so no page is slow or shifts.

The cursor is opaque: the position of that row, bound to the operation and its filters, so that it cannot be carried
over to another question.
"""

import base64
import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol, TypeVar
from urllib.parse import urlencode
from uuid import UUID

import flask
import marshmallow
import orjson
from marshmallow import fields

from service.web.kit.fields import LARGEST_INT, Int, List, Nested, Text
from service.web.kit.operation import Reply
from service.web.kit.problems import Fault, invalid
from service.web.kit.schema import Parameters, Strict

USUAL_PAGE, LARGEST_PAGE = 50, 200
_CURSOR_VERSION = 1
_LONGEST_CURSOR = 1_000

ReadKey = Callable[[str], Any]
"""Reads one part of a position back from text: ``str``, ``int``, ``UUID``, ``datetime.fromisoformat``."""
P = TypeVar("P")


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError("not a moment")
    return moment


#: The order of lists that show the newest first.
BY_AGE: tuple[ReadKey, ReadKey] = (_moment, UUID)


class PageQuery(Parameters):
    """The two parameters of every list; the filters of one list are added to a subclass."""

    page_size = Int(
        min=1, max=LARGEST_PAGE, load_default=USUAL_PAGE, metadata={"description": "most items of a page"}
    )
    cursor = Text(
        max_length=_LONGEST_CURSOR,
        metadata={"description": "next_cursor of the page before", "example": "WzEsIjAxZDQzN2Y3ZmQwZjQ3ZjYiXQ"},
    )


def page_of(item: type[marshmallow.Schema], **beside: fields.Field[Any]) -> type[Strict]:
    """The schema of a page of these; ``beside`` is said of the page as a whole."""
    name = item.__name__.removesuffix("Schema")
    members: dict[str, Any] = {
        "__doc__": f"One page of a list; next_cursor is null on the last. Items: {name}.",
        "items": List(Nested(item), max_items=LARGEST_PAGE, required=True),
        "next_cursor": fields.String(allow_none=True, required=True),
        **beside,
    }
    return type(f"{name}Page", (Strict,), members)


class Found(Protocol):
    """The rows of a page, and the position of the last one when more follow."""

    @property
    def items(self) -> Sequence[Any]: ...

    @property
    def next(self) -> Any: ...


@dataclass(frozen=True, slots=True)
class Page:
    """The page that was asked for: at most ``size`` rows after the position ``after``."""

    size: int
    after: tuple[Any, ...] | None
    asked: str

    def at(self, place: int) -> Any:
        """One value of the position; ``None`` on the first page."""
        return None if self.after is None else self.after[place]

    def position(self, make: Callable[..., P]) -> P | None:
        """The position as the store writes it; ``None`` on the first page."""
        return None if self.after is None else make(*self.after)

    def answer(self, found: Found, **beside: Any) -> Reply:
        """The page's body, with what is said of it as a whole, and its Link header."""
        following = found.next if found.next is None or isinstance(found.next, tuple) else (found.next,)
        cursor = None if following is None else encode(self.asked, following)
        links = [link("first", None), *([] if cursor is None else [link("next", cursor)])]
        return Reply({"items": found.items, "next_cursor": cursor, **beside}, headers={"Link": ", ".join(links)})


def page(query: Mapping[str, Any], order: Sequence[ReadKey]) -> Page:
    """The page that a query asks for; ``order`` says how to read back each value that the rows are ordered by.

    :raises Refusal: 422 when the cursor is none of ours, or belongs to another question.
    """
    filters = {name: value for name, value in query.items() if name not in ("cursor", "page_size")}
    asked = fingerprint(filters)
    cursor = query.get("cursor")
    return Page(query["page_size"], None if cursor is None else decode(cursor, asked, order), asked)


def fingerprint(filters: Mapping[str, Any]) -> str:
    """What tells one question from another: the operation and its filters."""
    question = orjson.dumps([flask.request.endpoint, filters], default=str, option=orjson.OPT_SORT_KEYS)
    return hashlib.sha256(question).hexdigest()[:16]


def encode(asked: str, position: tuple[Any, ...]) -> str:
    """The cursor that stands for a position in the answer to one question."""
    body = orjson.dumps([_CURSOR_VERSION, asked, *map(str, position)])
    return base64.urlsafe_b64encode(body).decode().rstrip("=")


def decode(cursor: str, asked: str, order: Sequence[ReadKey], parameter: str = "cursor") -> tuple[Any, ...]:
    """The position that a cursor stands for; ``parameter`` is what it came as.

    :raises Refusal: 422 when it is none of ours, or belongs to another question.
    """
    try:
        body = orjson.loads(base64.b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True))
        version, asked_then, *position = body
        read = tuple(_read(kind, text) for kind, text in zip(order, position, strict=True))
    except (ValueError, TypeError) as error:
        raise _refused(parameter, "This is no cursor; leave it out to begin with the first page.") from error
    if (version, asked_then) != (_CURSOR_VERSION, asked):
        raise _refused(parameter, "This cursor belongs to a list with other filters; leave it out to begin again.")
    return read


def _read(kind: ReadKey, text: object) -> Any:
    if not isinstance(text, str) or "\x00" in text:
        raise ValueError("not a position")
    value = kind(text)
    if isinstance(value, int) and abs(value) > LARGEST_INT:
        raise ValueError("not a position")
    return value


def _refused(parameter: str, detail: str) -> Exception:
    return invalid([Fault(parameter, detail, "parameter")])


def link(relation: str, cursor: str | None) -> str:
    """One entry of a Link header: the same question, at another place."""
    kept = [(name, text) for name, text in flask.request.args.items(multi=True) if name != "cursor"]
    query = urlencode([*kept, *([] if cursor is None else [("cursor", cursor)])])
    return f'<{flask.request.path}{"?" if query else ""}{query}>; rel="{relation}"'
