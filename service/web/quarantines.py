"""Quarantines: what came in, what was done to it, and when it may be placed."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from service.actions import quarantines as actions
from service.actions.quarantines import Listed, View
from service.core.care.quarantine import Inspection, Quarantine
from service.formats.cells import Unreadable
from service.formats.readings_csv import read_readings, write_readings
from service.formats.sheet_rows import BadSheet
from service.paper.quarantine_table import quarantine_page
from service.paper.temperature_drawing import draw_log
from service.store import quarantines as store
from service.store.paging import Age, Page
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.fields import Code, Date, List, Nested, Text
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.problems import Fault, invalid
from service.web.kit.schema import Parameters, Strict
from service.web.schemas.quarantine import (
    InspectionSchema,
    NewQuarantineSchema,
    NewReleaseSchema,
    QuarantineChangeSchema,
    QuarantineSchema,
    QuarantineSummarySchema,
)
from service.web.transaction import transaction

quarantines = Blueprint(
    "quarantines",
    __name__,
    url_prefix="/v1/quarantines",
    description="Quarantine by core temperature and time: uploaded logs decide when it is over, and nothing is "
    "placed or lent on before. The service records and warns; local rules and licensed practice come first.",
)
ONE = "/<uuid:quarantine_id>"


class LogQuery(Parameters):
    """How to call a log, and which clock it was written by."""

    code = Code(required=True, metadata={"description": "names the log within its quarantine", "example": "probe-1"})
    utc_offset = Text(
        max_length=6,
        pattern=r"^[+-]([01][0-9]|2[0-3]):[0-5][0-9]$",
        like="an offset such as +01:00",
        load_default="+00:00",
        metadata={"description": "of times that state none", "example": "+00:00"},
    )


class DueQuery(Parameters):
    """Until which day."""

    until = Date(metadata={"description": "the last day that counts; left out: today", "example": "2026-12-24"})


class DueInspectionsSchema(Strict):
    """What is to be looked at, the most urgent first."""

    items = List(Nested(QuarantineSummarySchema), max_items=100_000, required=True)


def now() -> datetime:
    return datetime.now(UTC)


@quarantines.operation(
    "GET", "", scope="read", query=paging.PageQuery, returns=paging.page_of(QuarantineSummarySchema)
)
def list_quarantines(query: dict[str, Any]) -> Reply:
    """List your quarantines, the newest first, each as it stands.

    Those that are over as well. How each stands is worked out from its log, by your own rules of today.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        found = store.page(session, current_actor().own_institution(), page.position(Age), page.size)
        shown = tuple(map(summary, actions.listed(session, found.items, now())))
    return page.answer(Page(shown, found.next))


@quarantines.operation(
    "POST", "", scope="write", body=NewQuarantineSchema, returns=QuarantineSchema, creates=True,
    errors=["code-taken"], headers={"ETag": "ETag"},
)  # fmt: skip
def create_quarantine(body: dict[str, Any]) -> Reply:
    """Write a quarantine down: what came in, how it is packed, and how it will be treated.

    From now on the material is placed in no drawer and lent to nobody before it is over. Its code is your own, and no
    other quarantine of yours may have it.
    """
    code = body.pop("code")
    with transaction() as session:
        return _reply(actions.make(session, current_actor(), code, Quarantine(**body), now()))


@quarantines.operation("GET", "/due-inspections", scope="read", query=DueQuery, returns=DueInspectionsSchema)
def list_due_inspections(query: dict[str, Any]) -> Reply:
    """List what has been through quarantine and is to be looked at again.

    Those whose day has come until the day asked for, the most urgent first. An inspection that is written down sets
    the next day by your rules.
    """
    until: date = query.get("until") or now().date()
    with transaction() as session:
        found = actions.to_inspect(session, current_actor().own_institution(), until, now())
    return Reply({"items": [summary(one) for one in found]})


@quarantines.operation(
    "GET", ONE, scope="read", returns=QuarantineSchema, media=[negotiation.TEXT], headers={"ETag": "ETag"}
)
def get_quarantine(quarantine_id: UUID) -> Reply:
    """Read a quarantine as it stands, as JSON or as a plain page.

    Both sides of a transfer read the quarantines of what belongs to it. How it stands may change with the hours, so
    the ETag is that of its text, for a change; it makes no answer stale.
    """
    with transaction() as session:
        return _reply(actions.view(session, quarantine_id, now()))


@quarantines.operation(
    "PUT", ONE, scope="write", body=QuarantineChangeSchema, returns=QuarantineSchema, conditional=True,
    errors=["forbidden"],
)  # fmt: skip
def change_quarantine(quarantine_id: UUID, body: Quarantine) -> Reply:
    """Write its text anew: when the door was shut, when it was taken out, how it is packed.

    What was logged, seen or released stays beside it.
    """
    with transaction() as session:
        return _reply(actions.change(session, current_actor(), quarantine_id, expected_version(), body, now()))


@quarantines.operation(
    "POST", ONE + "/logs", scope="write", query=LogQuery, upload=negotiation.CSV, returns=QuarantineSchema,
    creates=True, errors=["forbidden", "code-taken"], headers={"ETag": "ETag"},
)  # fmt: skip
def add_log(quarantine_id: UUID, query: dict[str, Any], upload: bytes) -> Reply:
    """Add a logger's readings (CSV): time, and core_c, air_c or oxygen_percent, at any interval.

    The hold begins when the core is where a regime wants it. A warm spell or a gap begins it anew, of two readings of
    one moment the worse one counts, and air alone counts with the lag of the load. A log is never changed; a further
    one adds to it. Nothing is stored unless every row is good.
    """
    readings = _readings(upload, query["utc_offset"])
    with transaction() as session:
        seen = actions.add_log(session, current_actor(), quarantine_id, query["code"], readings, now())
        return _reply(seen)


@quarantines.operation("GET", ONE + "/readings", scope="read", media=[negotiation.CSV])
def get_quarantine_readings(quarantine_id: UUID) -> Reply:
    """Read all readings that count, as a spreadsheet (CSV) in the form that an upload takes.

    Readings of all logs in the order of time; of one moment the worse one.
    """
    with transaction() as session:
        return Reply(write_readings(actions.view(session, quarantine_id, now()).readings))


@quarantines.operation("GET", ONE + "/drawing", scope="read", media=[negotiation.SVG])
def get_quarantine_drawing(quarantine_id: UUID) -> Reply:
    """Draw the log over time, with the span that was held.

    The readings that count, by the hour, with what the regime asks for and how it stands in words.
    """
    with transaction() as session:
        seen = actions.view(session, quarantine_id, now())
    return Reply(draw_log(seen.kept.code, seen.kept.quarantine, seen.rules, seen.readings, seen.standing))


@quarantines.operation(
    "POST", ONE + "/inspections", scope="write", body=InspectionSchema, returns=QuarantineSchema, creates=True,
    errors=["forbidden"], headers={"ETag": "ETag"},
)  # fmt: skip
def add_inspection(quarantine_id: UUID, body: Inspection) -> Reply:
    """Write down that somebody looked, and what was seen. Live pests begin the quarantine anew.

    What was written down stays for good. The answer is the quarantine as it stands with it.
    """
    with transaction() as session:
        return _reply(actions.add_inspection(session, current_actor(), quarantine_id, body, now()))


@quarantines.operation(
    "POST", ONE + "/releases", scope="write", body=NewReleaseSchema, returns=QuarantineSchema, creates=True,
    errors=["forbidden"], headers={"ETag": "ETag"},
)  # fmt: skip
def release_quarantine(quarantine_id: UUID, body: dict[str, Any]) -> Reply:
    """Let the material go before its quarantine is over.

    It takes a person and a reason, and both stay visible for good. The quarantine itself goes on.
    """
    with transaction() as session:
        return _reply(actions.release(session, current_actor(), quarantine_id, body["by"], body["reason"], now()))


def summary(view: View | Listed) -> dict[str, Any]:
    """A quarantine as a list shows it."""
    kept, stands = view.kept, view.standing
    text = {name: getattr(kept.quarantine, name) for name in Quarantine.__dataclass_fields__}
    about = ("id", "code", "institution_id", "version", "created_at", "updated_at")
    standing = ("state", "is_free", "over_at", "missing", "released", "inspect_on", "held", "live_seen_on")
    return text | {name: getattr(kept, name) for name in about} | {name: getattr(stands, name) for name in standing}


def _reply(view: View) -> Reply:
    kept, known = view.kept, view.known
    shown: object
    if negotiation.wanted() == negotiation.TEXT:
        logs = [(log.code, log.reading_count, log.first_at, log.last_at) for log in view.logs]
        shown = quarantine_page(
            kept.code, kept.quarantine, view.standing, view.forecast, logs, known.inspections, known.releases,
            view.cautions,
        )  # fmt: skip
    else:
        shown = summary(view) | {
            "forecast": view.forecast,
            "logs": view.logs,
            "inspections": known.inspections,
            "releases": known.releases,
            "handling": view.cautions,
        }
    return Reply(shown, version=kept.version, location=f"/v1/quarantines/{kept.id}")


def _readings(upload: bytes, utc_offset: str) -> Any:
    try:
        return read_readings(upload, utc_offset)
    except BadSheet as error:
        raise invalid(
            Fault(f"row {cell.row}" + (f", column {cell.column}" if cell.column else ""), cell.detail, "cell")
            for cell in error.faults
        ) from error
    except Unreadable as error:
        raise invalid([Fault("utc_offset", str(error), "parameter")]) from error
