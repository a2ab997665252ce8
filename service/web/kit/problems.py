"""Everything that can be refused, in one table, and how a refusal is told: RFC 9457 problem details, always.

``type`` is ``/problems/<slug>`` and never changes; ``detail`` is a sentence about this occurrence; ``instance`` is
the id of the request, which is in the log as well; ``errors`` names every fault at once: by JSON ``pointer`` in a
body, by ``parameter`` in a query, by ``header`` in a header.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any, Literal

import flask
import orjson
from flask import Flask, Response
from marshmallow import fields as plain
from werkzeug.exceptions import HTTPException, InternalServerError, MethodNotAllowed

from service.core.errors import (
    Busy,
    Conflict,
    Faults,
    Invalid,
    NotAllowed,
    NotFound,
    StaleVersion,
    TooManyAtOnce,
    TraybridgeError,
)
from service.web.kit.schema import Strict

MEDIA_TYPE = "application/problem+json"
_SOME_REQUEST = "0190f3a06b1e7c559a443f2f6d1f0c11"
_SOME_FACT = {
    "seq": 4, "step": "signed", "side": "borrower", "by": "Dr Ines Halloran", "on": "2026-11-06",
    "recorded_at": "2026-11-06T09:30:00Z",
}  # fmt: skip
#: A body with more faults than this is told of the first ones; the rest would bury them.
MOST_FAULTS = 100


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of problem. ``meaning`` is its paragraph in the documentation.

    ``says`` is what an example of it says and ``shows`` what else it carries, where its meaning alone is not enough.
    """

    slug: str
    status: int
    title: str
    meaning: str
    says: str = ""
    shows: Mapping[str, object] = field(default_factory=dict)

    def example(self) -> dict[str, object]:
        """A problem of this kind, for the contract."""
        known = {"type": f"/problems/{self.slug}", "title": self.title, "status": self.status}
        return {**known, "detail": self.says or self.meaning, "instance": _SOME_REQUEST, **self.shows}


KINDS: Mapping[str, Kind] = {
    kind.slug: kind
    for kind in (
        Kind("not-json", 400, "Not JSON", "The body is not JSON in UTF-8, or is nested too deeply."),
        Kind("bad-request", 400, "Bad request", "The request does not follow HTTP."),
        Kind(
            "idempotency-key-missing",
            400,
            "Idempotency-Key is missing",
            "What moves something names a key of its own, so that a retry moves nothing twice.",
        ),
        Kind(
            "unauthenticated",
            401,
            "No valid key",
            "The operation needs a key and none was sent, or the key that was sent is unknown, withdrawn or run out.",
        ),
        Kind("scope-missing", 403, "The key lacks a scope", "The key is good, but does not allow this operation."),
        Kind("forbidden", 403, "Not allowed", "This institution may not do this to that thing."),
        Kind(
            "not-found",
            404,
            "Not found",
            "There is nothing at this address, or nothing that this institution may know of.",
        ),
        Kind("method-not-allowed", 405, "Method not allowed", "The address exists; Allow lists what it understands."),
        Kind("not-acceptable", 406, "Not available in that form", "None of the media types in Accept is on offer."),
        Kind("conflict", 409, "Conflict", "The state of the thing does not permit this now."),
        Kind("code-taken", 409, "The code is taken", "Another thing of the same kind already has this code."),
        Kind(
            "identifier-taken",
            409,
            "The identifier is taken",
            "Another thing of the same kind already goes by this identifier.",
        ),
        Kind("draft-exists", 409, "There is a draft already", "A storage system has at most one draft at a time."),
        Kind("revision-exists", 409, "The revision exists", "Somebody else began this revision at the same moment."),
        Kind(
            "revision-is-published",
            409,
            "The revision is published",
            "A published revision never changes and is never removed, because fit checks rest on it.",
        ),
        Kind("already-published", 409, "Published already", "This revision is the one that holds already."),
        Kind("nothing-published", 409, "Nothing is published yet", "The storage system has drafts at most."),
        Kind("no-lines", 409, "There are no lines", "A consignment without lines cannot be checked."),
        Kind("revision-in-use", 409, "The revision is in use", "Another revision was made from this one."),
        Kind(
            "published-meanwhile",
            409,
            "Published meanwhile",
            "Somebody else published a revision of the same storage system at the same moment.",
        ),
        Kind(
            "lines-changed-meanwhile",
            409,
            "The lines changed meanwhile",
            "Somebody else changed the lines of the same consignment at the same moment.",
        ),
        Kind(
            "step-refused",
            409,
            "The step cannot be taken",
            "A fact is missing: `missing` names it, and `last_fact` says what was written last, by whom and when.",
            shows={"step": "dispatched", "missing": "packed", "last_fact": _SOME_FACT},
        ),
        Kind(
            "below-zero",
            409,
            "There are not that many",
            "More would be moved than was there on that day or on a day since; `last_fact` says who moved it last.",
            shows={"step": "return_sent", "line": "1", "last_fact": _SOME_FACT},
        ),
        Kind(
            "override-needed",
            409,
            "The lender's rules speak against it",
            "Somebody may go over the rules named in `codes`, by name and with a reason.",
            shows={"codes": ["no_post"]},
        ),
        Kind(
            "quarantine-is-kept",
            409,
            "It is kept",
            "A quarantine and what was written down of it are never removed or changed.",
        ),
        Kind(
            "in-quarantine",
            409,
            "It is in quarantine",
            "Nothing is placed or lent on before its quarantine is over. `quarantines` names those that are not; a"
            " named person may release one with a reason, which stays visible.",
        ),
        Kind("unbalanced", 409, "It does not balance", "The counts of a movement do not sum to zero."),
        Kind("more-than-lent", 409, "More than was lent", "More is accounted for than was lent."),
        Kind(
            "still-running",
            409,
            "Still being answered",
            "The first request under this Idempotency-Key is still at work; ask again in a moment.",
        ),
        Kind(
            "nothing-by-the-tray",
            409,
            "Nothing goes by the tray",
            "No line of the consignment goes by the tray, so there are no trays to plan for.",
        ),
        Kind(
            "cannot-be-housed",
            409,
            "No plan exists",
            "Some tray fits no drawer that may be used, or there are too few of them.",
        ),
        Kind("paper-too-early", 409, "Too early for this paper", "What the paper is about has not happened yet."),
        Kind("paper-not-wanted", 409, "No such paper is wanted", "The transfer has no use for a paper of this kind."),
        Kind("paper-too-long", 409, "The paper would be too long", "It would have more labels than one paper has."),
        Kind("too-many-things", 409, "Too many things", "A plan packs so many things and no more; ask in parts."),
        Kind("housing-plan-is-kept", 409, "A housing plan is kept", "A plan never changes; ask again for a new one."),
        Kind(
            "operation-is-over", 409, "The operation is over", "It has come to its end, and there is nothing to stop."
        ),
        Kind(
            "in-use", 409, "Something stands in it", "What something stands in is neither removed nor made smaller."
        ),
        Kind("place-taken", 409, "The place is taken", "Another tray stands there, or another drawer is there."),
        Kind("outside-drawer", 409, "It does not go in", "The trays would be larger than the inside of the drawer."),
        Kind(
            "tray-elsewhere",
            409,
            "The tray stands elsewhere",
            "Somebody has moved it since; read where it stands, and decide again.",
        ),
        Kind(
            "rules-missing",
            409,
            "Something is not settled yet",
            "An arrangement needs the growth reserve, be it 0; settle it in the arrangement rules.",
        ),
        Kind(
            "no-sequence",
            409,
            "There is no sequence",
            "Upload the order in which you keep your taxa, or settle that they follow the alphabet.",
        ),
        Kind("cannot-be-arranged", 409, "No arrangement exists", "Nothing that is allowed does what was asked."),
        Kind(
            "cannot-be-walked",
            409,
            "There is no room to move in",
            "The trays cannot be carried one by one with the free places that there are; allow some on a bench.",
        ),
        Kind("plan-is-kept", 409, "A plan is kept", "What was planned and what was carried stays as it was."),
        Kind(
            "plan-overtaken",
            409,
            "The plan is overtaken",
            "Something stands elsewhere than the plan takes for granted. Renew it: it is asked again from where all "
            "stands now.",
        ),
        Kind("plan-is-over", 409, "The plan is over", "It has been carried out or replaced by another."),
        Kind("plan-has-begun", 409, "The plan has begun", "Another way can be chosen before the first step only."),
        Kind("webhook-is-disabled", 409, "The webhook is disabled", "Nothing is sent to it before it is enabled."),
        Kind("too-many-webhooks", 409, "Too many webhooks", "An institution has at most 20; remove one first."),
        Kind("fit-check-is-kept", 409, "A fit check is kept", "A fit check never changes; ask again for a new one."),
        Kind(
            "stale-version",
            412,
            "Changed since it was read",
            "If-Match names an older version. Read the thing again, decide again, and send the new ETag.",
        ),
        Kind("too-large", 413, "Too large", "The body is larger than the service reads."),
        Kind("unsupported-media-type", 415, "Unsupported media type", "The body is not in a form that is read here."),
        Kind(
            "invalid",
            422,
            "Values not accepted",
            "The request is well formed and some of its values are not accepted; `errors` names every one of them.",
            says="One value is not accepted.",
            shows={"errors": [{"pointer": "/lines/0/count", "detail": "0 is outside 1 to 100000."}]},
        ),
        Kind(
            "key-used-otherwise",
            422,
            "The key was used otherwise",
            "This Idempotency-Key belongs to a request that said something else; a new request takes a new key.",
        ),
        Kind(
            "condition-missing",
            428,
            "If-Match is missing",
            "A change must say which version it was decided on: send the ETag that was last read as If-Match.",
        ),
        Kind(
            "took-too-long",
            422,
            "It took too long",
            "An operation ran for as long as one may; ask for a part of it, or for fewer sizes at once.",
        ),
        Kind(
            "too-much-memory",
            422,
            "It needs too much memory",
            "An operation needed more memory than one may have; ask for a part of it.",
        ),
        Kind("workers-lost", 500, "Workers were lost", "An operation was taken up several times and never finished."),
        Kind("too-many-requests", 429, "Too many requests", "Wait for as many seconds as Retry-After says."),
        Kind(
            "internal-error", 500, "Something went wrong here", "A fault of the service; the log has the request id."
        ),
        Kind(
            "busy", 503, "Busy", "Others held what was needed for too long. The same request may well succeed soon."
        ),
        Kind(
            "not-ready", 503, "Not ready", "The service cannot answer yet or just now; Retry-After says when to ask."
        ),
    )
}

_BY_STATUS = {
    400: "bad-request", 401: "unauthenticated", 403: "forbidden", 404: "not-found", 405: "method-not-allowed",
    406: "not-acceptable", 409: "conflict", 412: "stale-version", 413: "too-large", 415: "unsupported-media-type",
    422: "invalid", 428: "condition-missing", 429: "too-many-requests", 500: "internal-error", 503: "not-ready",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a request: where (``/lines/0/count``, ``page_size``, ``If-Match``) and what."""

    at: str
    detail: str
    place: Literal["pointer", "parameter", "header", "cell"] = "pointer"

    def as_json(self) -> dict[str, str]:
        return {self.place: self.at, "detail": self.detail}


@dataclass(eq=False)
class Refusal(Exception):
    """What a view or the kit raises instead of answering. Not frozen, because Python notes the traceback on it."""

    slug: str
    detail: str
    faults: tuple[Fault, ...] = ()
    headers: Mapping[str, str] = field(default_factory=dict)
    members: Mapping[str, object] = field(default_factory=dict)


class FaultSchema(Strict):
    """One thing wrong with a request, and where it stands."""

    pointer = plain.String(metadata={"description": "JSON pointer (RFC 6901) into the body"})
    parameter = plain.String(metadata={"description": "name of the query parameter"})
    header = plain.String(metadata={"description": "name of the header"})
    cell = plain.String(metadata={"description": "row and heading of a cell in a spreadsheet"})
    detail = plain.String(required=True, metadata={"description": "what is wrong, and what would be right"})


class LastFactSchema(Strict):
    """What was written last to a transfer."""

    seq = plain.Integer(required=True, metadata={"description": "its number in the transfer's chain"})
    step = plain.String(required=True, metadata={"description": "what happened"})
    side = plain.String(required=True, metadata={"description": "the side that did it"})
    by = plain.String(required=True, metadata={"description": "the person who did it"})
    on = plain.String(required=True, metadata={"format": "date"})
    recorded_at = plain.String(required=True, metadata={"format": "date-time"})


class ProblemSchema(Strict):
    """Problem details (RFC 9457). What stands behind ``errors`` comes with refused steps of a transfer."""

    type = plain.String(
        required=True,
        metadata={
            "format": "uri-reference",
            "description": "the kind of problem, by which programs go; the page at this address explains it",
        },
    )
    title = plain.String(required=True, metadata={"description": "the kind of problem in words"})
    status = plain.Integer(required=True, metadata={"description": "the HTTP status once more"})
    detail = plain.String(required=True, metadata={"description": "what was wrong here, and what would be right"})
    instance = plain.String(required=True, metadata={"description": "the id of the request, as in X-Request-Id"})
    errors = plain.List(
        plain.Nested(FaultSchema), metadata={"description": "each value that is not accepted, and where it stands"}
    )
    step = plain.String(metadata={"description": "the step that was refused"})
    missing = plain.String(metadata={"description": "the fact that is missing, as a word for programs"})
    line = plain.String(metadata={"description": "the line concerned"})
    codes = plain.List(plain.String(), metadata={"description": "the lender's rules that speak against it"})
    last_fact = plain.Nested(
        LastFactSchema, metadata={"description": "what was written last to the transfer, perhaps by somebody quicker"}
    )


def faults_in(messages: object, place: Literal["pointer", "parameter"], at: str = "") -> Iterator[Fault]:
    """The faults in marshmallow's tree of messages, each with where it stands."""
    if isinstance(messages, Mapping):
        for key, inner in messages.items():
            yield from faults_in(inner, place, at if key == "_schema" else _step(at, str(key), place))
    elif isinstance(messages, list | tuple):
        for message in messages:
            yield from faults_in(message, place, at)
    else:
        yield Fault(at, str(messages), place)


def _step(at: str, key: str, place: str) -> str:
    if place == "parameter":
        return at or key
    return f"{at}/{key.replace('~', '~0').replace('/', '~1')}"


def invalid(faults: Iterable[Fault]) -> Refusal:
    """The refusal that names all these faults."""
    every = tuple(faults)
    count = "One value is" if len(every) == 1 else f"{len(every)} values are"
    return Refusal("invalid", f"{count} not accepted.", every)


def problem(refusal: Refusal, *, status: int | None = None, title: str | None = None) -> Response:
    """The response that tells of a refusal."""
    kind = KINDS[refusal.slug]
    body = body_of(refusal, status=status, title=title)
    headers = {**refusal.headers}
    if kind.status == HTTPStatus.SERVICE_UNAVAILABLE:
        headers.setdefault("Retry-After", "5")
    return Response(orjson.dumps(body, option=orjson.OPT_UTC_Z), body["status"], headers, content_type=MEDIA_TYPE)


def body_of(refusal: Refusal, *, status: int | None = None, title: str | None = None) -> dict[str, Any]:
    """The members of a problem."""
    kind = KINDS[refusal.slug]
    body: dict[str, Any] = {
        "type": f"/problems/{kind.slug}",
        "title": title or kind.title,
        "status": status or kind.status,
        "detail": refusal.detail,
        "instance": flask.g.get("request_id", ""),
    }
    if refusal.faults:
        body["errors"] = [fault.as_json() for fault in refusal.faults[:MOST_FAULTS]]
    return body | dict(refusal.members)


def of_domain(error: TraybridgeError) -> Refusal:
    """What the actions raise, as HTTP tells it. This is the one place where the two meet."""
    match error:
        case NotFound():
            return Refusal("not-found", error.message)
        case NotAllowed():
            return Refusal("forbidden", error.message)
        case Invalid():
            return invalid([Fault("".join(f"/{step}" for step in error.field.split(".")), error.message)])
        case Faults():
            return invalid(Fault(fault.pointer, fault.detail) for fault in error.faults)
        case Conflict():
            return Refusal(error.kind.replace("_", "-"), error.message, members=error.members)
        case StaleVersion():
            return Refusal("stale-version", error.message)
        case Busy():
            return Refusal("busy", error.message)
        case TooManyAtOnce():
            return Refusal("too-many-requests", error.message, headers={"Retry-After": str(error.retry_after_s)})
    raise error


def _of_http(error: HTTPException) -> Response:
    """Flask's and Werkzeug's own refusals, with their headers (Allow, Retry-After) kept."""
    status = error.code or HTTPStatus.INTERNAL_SERVER_ERROR.value
    headers = {name: value for name, value in error.get_headers() if name not in ("Content-Type", "Content-Length")}
    slug = _BY_STATUS.get(status, "bad-request" if status < 500 else "internal-error")
    detail = KINDS[slug].meaning if isinstance(error, InternalServerError) else _sentence(error)
    is_known = KINDS[slug].status == status
    return problem(Refusal(slug, detail, headers=headers), status=status, title=None if is_known else error.name)


def _sentence(error: HTTPException) -> str:
    if error.code == HTTPStatus.NOT_FOUND:
        return f"There is nothing at {flask.request.path}.{_without_slash()}"
    if error.code == HTTPStatus.METHOD_NOT_ALLOWED:
        return f"{flask.request.path} does not understand {flask.request.method}; Allow lists what it understands."
    if error.code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
        return f"The body is larger than {flask.current_app.config['MAX_CONTENT_LENGTH']} bytes."
    return error.description or error.name


def _without_slash() -> str:
    """What helps where only the slash at the end is too much."""
    path = flask.request.path
    shorter = path.rstrip("/")
    if shorter == path or not shorter:
        return ""
    try:
        flask.current_app.create_url_adapter(flask.request).match(shorter, method=flask.request.method)  # type: ignore[union-attr]
    except MethodNotAllowed:
        pass
    except HTTPException:
        return ""
    return f" Leave off the slash at its end: {shorter}."


def install(app: Flask) -> None:
    """Tell every refusal in this app as a problem."""
    app.register_error_handler(Refusal, problem)
    app.register_error_handler(TraybridgeError, lambda error: problem(of_domain(error)))
    app.register_error_handler(HTTPException, _of_http)
