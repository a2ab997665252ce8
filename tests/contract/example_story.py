"""The examples of the contract, told as one story that is really sent.

Each step sends the request that stands in `openapi/examples/<operationId>.json` and keeps the answer. Identifiers and
moments differ from run to run; in the examples they are replaced by steady ones, the same one for the same thing.
"""

import io
import json
import re
import time
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from flask import Flask
from flask.testing import FlaskClient
from members import Member, enter, key_of
from sqlalchemy import Engine
from werkzeug.test import TestResponse

from service.jobs.delivering import Postman, visit
from service.outside.addresses import read_networks
from service.outside.calling import Caller
from service.web.webhooks import call_by

EXAMPLES = Path(__file__).parents[2] / "openapi" / "examples"
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|\+00:00)")
_DIGEST = re.compile(r"\b[0-9a-f]{64}\b")
_CHECK_CODE = re.compile(r"\b(?:[0-9A-HJKMNP-TV-Z]{4}-){4}[0-9A-HJKMNP-TV-Z]\b")
_DAY = re.compile(r"(?<=(?:Checked|Planned) on:     )\d{4}-\d\d-\d\d")
_ENGINE = re.compile(r'(?<="engine":")[^"]+')
_SECRET = re.compile(r"whsec_[A-Za-z0-9+/=]+")
_TOOK = re.compile(r'"took_ms":\d+')
#: The secret that the Standard Webhooks specification shows.
STEADY_SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"  # noqa: S105
_PLACE_READ_TO = re.compile(r'(?<="updated_since":")[^"]+')
STEADY_MOMENT = "2026-11-25T09:30:00Z"
#: Where a feed goes on depends on how much of the story came before.
STEADY_CURSOR = "WzEsIjZiZjk5N2UwMWM1YWY0YmEiLCIxMyJd"
NAMED = {
    "institution": "019ab000-0000-7000-8000-0000000000a1",
    "system": "019ab000-0000-7000-8000-0000000000b1",
    "consignment": "019ab000-0000-7000-8000-0000000000c1",
    "check": "019ab000-0000-7000-8000-0000000000d1",
    "other": "019ab000-0000-7000-8000-0000000000a2",
    "transfer": "019ab000-0000-7000-8000-0000000000e1",
    "permit": "019ab000-0000-7000-8000-0000000000e2",
    "exchange": "019ab000-0000-7000-8000-0000000000e3",
    "agreement": "a" * 64,
    "plan": "019ab000-0000-7000-8000-0000000000f1",
    "operation": "019ab000-0000-7000-8000-0000000000f2",
    "room": "019ab000-0000-7000-8000-0000000001a1",
    "cabinet": "019ab000-0000-7000-8000-0000000001b1",
    "drawer": "019ab000-0000-7000-8000-0000000001c1",
    "tray": "019ab000-0000-7000-8000-0000000001d1",
    "arrangement": "019ab000-0000-7000-8000-0000000001e1",
    "webhook": "019ab000-0000-7000-8000-0000000000f4",
    "quarantine": "019ab000-0000-7000-8000-0000000001f6",
    "event": "019ab000-0000-4000-8000-0000000000f3",
    "parcel_plan": "019ab000-0000-7000-8000-0000000000e4",
    "paper": "019ab000-0000-7000-8000-0000000000e5",
    "check_code": "7K2M-90QX-4T8W-AVBN-C",
}


class Names:
    """Which real identifier stands behind which one of the examples."""

    def __init__(self) -> None:
        self.steady: dict[str, str] = {}

    def to_example(self, text: str, *, digests_too: bool = False) -> str:
        """Digests of what names its own identifier differ from run to run as those do."""
        if digests_too:
            text = _DIGEST.sub(lambda found: self._steady_digest(found[0]), text)
        text = _CHECK_CODE.sub(NAMED["check_code"], text)
        text = _MOMENT.sub(STEADY_MOMENT, text)
        text = _ENGINE.sub("0.1.0", text)
        text = _DAY.sub(STEADY_MOMENT[:10], text)
        text = _SECRET.sub(STEADY_SECRET, text)
        text = _TOOK.sub('"took_ms":12', text)
        text = _PLACE_READ_TO.sub("WzEsIjAiLCI3NDIiLCJjb25zaWdubWVudCJd", text)
        return _UUID.sub(lambda found: self._steady(found[0]), text)

    def to_real(self, text: str) -> str:
        real = {steady: real for real, steady in self.steady.items()}
        text = _DIGEST.sub(lambda found: real.get(found[0], found[0]), text)
        return _UUID.sub(lambda found: real.get(found[0], found[0]), text)

    def _steady(self, real: str) -> str:
        return self.steady.setdefault(real, f"019ab000-0000-7000-8000-{len(self.steady) + 1:012d}")

    def _steady_digest(self, real: str) -> str:
        return self.steady.setdefault(real, f"{len(self.steady) + 1:064x}")

    def name(self, real: str, steady: str) -> None:
        """Give the first thing of its kind the identifier that the example requests name it by."""
        if steady not in self.steady.values():
            self.steady[real] = steady


@dataclass(frozen=True)
class Step:
    """One call of the story. ``read_first`` is read for the ETag that the call sends. ``says`` stands in place of the
    example's request, ``as_other`` sends the call as the other institution.
    """

    operation: str
    method: str
    path: str
    media: str = "application/json"
    read_first: str | None = None
    accept: str = "application/json"
    anonymous: bool = False
    as_other: bool = False
    says: Mapping[str, Any] | None = None


TRANSFER = "/v1/transfers/{transfer}"
LOAN = "/v1/transfers/{loan}"
BENCH = "/v1/packing-benches/{institution}"
PATCH, ZIP = "application/merge-patch+json", "application/zip"


def in_part(thing: str, address: str) -> Step:
    """The change of a part of something."""
    return Step(f"patch_{thing}", "PATCH", address, media=PATCH, read_first=address)


SIGNED_BY_OTHER = {
    "step": "signed", "by": "Dr Ines Halloran", "on": "2026-11-06", "agreement": NAMED["agreement"],
}  # fmt: skip
EXCHANGED = {
    "code": "X-2026-003", "kind": "exchange", "lender": {"institution_id": NAMED["institution"]},
    "borrower": {"institution_id": NAMED["other"]}, "answerable": {"name": "Dr Ines Halloran"},
    "purpose": "Duplicates for duplicates", "by": "Marta Quillfeather", "on": "2026-11-10",
    "lines": [{"key": "1", "count": 25, "taxon": "Cicindela campestris", "type_status": "not_a_type"}],
}  # fmt: skip
OF_TRANSFERS = (
    Step("change_loan_rules", "PUT", "/v1/loan-rules/{institution}", read_first="/v1/loan-rules/{institution}"),
    in_part("loan_rules", "/v1/loan-rules/{institution}"),
    Step("get_loan_rules", "GET", "/v1/loan-rules/{institution}", anonymous=True),
    Step("get_listed_taxa", "GET", "/v1/loan-rules/{institution}/listed-taxa", anonymous=True),
    Step("create_transfer", "POST", "/v1/transfers"),
    Step("change_transfer", "PUT", TRANSFER, read_first=TRANSFER),
    in_part("transfer", TRANSFER),
    Step(
        "upload_transfer_lines", "PUT", TRANSFER + "/lines?by=Marta%20Quillfeather&on=2026-11-04",
        media="text/csv", read_first=TRANSFER,
    ),
    Step("change_transfer_identifiers", "PUT", TRANSFER + "/identifiers", read_first=TRANSFER + "/identifiers"),
    Step("get_transfer_identifiers", "GET", TRANSFER + "/identifiers"),
    Step("get_transfer", "GET", TRANSFER),
    Step("create_permit", "POST", TRANSFER + "/permits"),
    Step(
        "change_permit", "PUT", TRANSFER + "/permits/{permit}",
        read_first=TRANSFER + "/permits/{permit}",
    ),
    in_part("permit", TRANSFER + "/permits/{permit}"),
    Step("get_permit", "GET", TRANSFER + "/permits/{permit}"),
    Step("list_permits", "GET", TRANSFER + "/permits"),
    Step("get_notices", "GET", TRANSFER + "/notices?as_of=2026-12-07"),
    Step("get_transfer_fit", "GET", TRANSFER + "/fit?borrower_system_id={system}"),
    Step("add_fact", "POST", TRANSFER + "/facts"),
    Step("add_fact", "POST", TRANSFER + "/facts", as_other=True, says=SIGNED_BY_OTHER),
    *(
        Step(
            "add_fact", "POST", TRANSFER + "/facts",
            says={"step": step, "by": "Marta Quillfeather", "on": "2026-11-09", "everything": True},
        )
        for step in ("packed", "dispatched")
    ),
    Step("get_transfer_archive", "GET", TRANSFER + "/archive", accept=ZIP),
    Step("get_transfer_data_package", "GET", TRANSFER + "/data-package", accept=ZIP),
    Step("list_facts", "GET", TRANSFER + "/facts"),
    Step("list_transfers", "GET", "/v1/transfers"),
    Step("list_transfer_lines", "GET", TRANSFER + "/lines?as_of=2026-11-25"),
    Step("list_transfer_lines", "GET", TRANSFER + "/lines?as_of=2026-11-25", accept="text/csv"),
    Step("list_lots_held", "GET", "/v1/custody/lots"),
    Step("list_lots_held", "GET", "/v1/custody/lots", accept="text/csv"),
    Step("list_taxa_held", "GET", "/v1/custody/taxa?on=2026-11-09"),
    Step("list_institutions_holding", "GET", "/v1/custody/institutions"),
    Step("list_desk", "GET", "/v1/desk?list=due_soon&as_of=2027-01-20"),
    Step("list_desk", "GET", "/v1/desk?list=due_soon&as_of=2027-01-20", accept="text/csv"),
    Step("create_transfer", "POST", "/v1/transfers", says=EXCHANGED),
    Step("get_exchange", "GET", "/v1/exchanges/{exchange}"),
)  # fmt: skip
OF_EVENTS = (
    Step("list_events", "GET", "/v1/events?type=transfer.dispatched&type=quarantine.released"),
    Step("get_event", "GET", "/v1/events/{event}"),
)
#: What moves something, and therefore wants a key of its own.
MOVING = ("add_fact", "move_trays")
WEBHOOK = "/v1/webhooks/{webhook}"
OF_WEBHOOKS = (
    Step("create_webhook", "POST", "/v1/webhooks"),
    Step("list_webhooks", "GET", "/v1/webhooks"),
    Step("change_webhook", "PUT", WEBHOOK, read_first=WEBHOOK),
    Step("get_webhook", "GET", WEBHOOK),
    Step("get_webhook_standing", "GET", WEBHOOK + "/standing"),
    Step("test_webhook", "POST", WEBHOOK + "/tests"),
    Step("list_webhook_attempts", "GET", WEBHOOK + "/attempts"),
    Step("replay_webhook", "POST", WEBHOOK + "/replays"),
    Step("rotate_webhook_secret", "POST", WEBHOOK + "/secret-rotation", read_first=WEBHOOK),
    Step("delete_webhook", "DELETE", WEBHOOK, read_first=WEBHOOK),
)
#: What is packed and printed is the loan, and not what was exchanged after it.
OF_PAPERS = (
    Step("get_transfer_line", "GET", LOAN + "/lines/1?as_of=2026-11-25"),
    Step("change_packing_bench", "PUT", BENCH, read_first=BENCH),
    Step("get_packing_bench", "GET", BENCH),
    Step("create_parcel_plan", "POST", LOAN + "/parcel-plans"),
    Step("get_parcel_plan", "GET", LOAN + "/parcel-plans/{parcel_plan}"),
    Step("list_parcel_plans", "GET", LOAN + "/parcel-plans"),
    Step("create_paper", "POST", LOAN + "/papers"),
    Step("get_paper", "GET", LOAN + "/papers/{paper}"),
    Step("get_paper", "GET", LOAN + "/papers/{paper}", accept="application/pdf"),
    Step("list_papers", "GET", LOAN + "/papers"),
    Step("verify_paper", "GET", "/v1/papers/{check_code}"),
)
SYSTEM, CONSIGNMENT, CHECK = "{system}", "{consignment}", "{check}"
#: More than a request may think about: a worker's.
LONG_WORK = {
    "storage_system_id": NAMED["system"],
    "trays": [{"code": "half", "count": 40}, {"code": "quarter", "count": 90}],
    "effort": "thorough",
}
QUARANTINE = "/v1/quarantines/{quarantine}"
OF_QUARANTINE = (
    Step("change_quarantine_rules", "PUT", "/v1/quarantine-rules/{institution}",
         read_first="/v1/quarantine-rules/{institution}"),
    Step("get_quarantine_rules", "GET", "/v1/quarantine-rules/{institution}", anonymous=True),
    Step("ask_cooling_times", "POST", "/v1/cooling-times"),
    Step("plan_freezer_loads", "POST", "/v1/freezer-calendars"),
    Step("plan_freezer_loads", "POST", "/v1/freezer-calendars", accept="text/plain"),
    Step("create_quarantine", "POST", "/v1/quarantines"),
    Step("add_log", "POST", QUARANTINE + "/logs?code=probe-1", media="text/csv"),
    Step("change_quarantine", "PUT", QUARANTINE, read_first=QUARANTINE),
    Step("add_inspection", "POST", QUARANTINE + "/inspections"),
    Step("get_quarantine", "GET", QUARANTINE),
    Step("get_quarantine", "GET", QUARANTINE, accept="text/plain"),
    Step("get_quarantine_readings", "GET", QUARANTINE + "/readings", accept="text/csv"),
    Step("get_quarantine_drawing", "GET", QUARANTINE + "/drawing", accept="image/svg+xml"),
    Step("list_due_inspections", "GET", "/v1/quarantines/due-inspections?until=2027-06-01"),
    Step("list_quarantines", "GET", "/v1/quarantines"),
    Step("release_quarantine", "POST", QUARANTINE + "/releases"),
)  # fmt: skip
OF_HOUSING = (
    Step("create_housing_plan", "POST", "/v1/housing-plans"),
    Step("get_housing_plan", "GET", "/v1/housing-plans/{plan}"),
    Step("get_housing_plan", "GET", "/v1/housing-plans/{plan}", accept="text/plain"),
    Step("get_housing_plan_inputs", "GET", "/v1/housing-plans/{plan}/inputs"),
    Step("get_housing_plan_certificate", "GET", "/v1/housing-plans/{plan}/certificate"),
    Step("list_housing_plan_drawers", "GET", "/v1/housing-plans/{plan}/drawers"),
    Step("get_housing_plan_drawer", "GET", "/v1/housing-plans/{plan}/drawers/1"),
    Step(
        "get_housing_plan_drawer_drawing", "GET", "/v1/housing-plans/{plan}/drawers/1/drawing", accept="image/svg+xml"
    ),
    Step(
        "get_housing_plan_contact_sheet", "GET", "/v1/housing-plans/{plan}/contact-sheets/1", accept="image/svg+xml"
    ),
    Step(
        "get_housing_plan_cabinet_sheet", "GET", "/v1/housing-plans/{plan}/cabinet-sheets/1", accept="image/svg+xml"
    ),
    Step("list_housing_plans", "GET", "/v1/housing-plans"),
    Step("create_housing_plan", "POST", "/v1/housing-plans", says=LONG_WORK),
    Step("get_operation", "GET", "/v1/operations/{operation}"),
    Step("list_operations", "GET", "/v1/operations"),
    Step("cancel_operation", "POST", "/v1/operations/{operation}/cancellation"),
)
_KEPT = {
    "room": "/v1/rooms/{room}", "cabinet": "/v1/cabinets/{cabinet}", "drawer": "/v1/drawers/{drawer}",
    "tray": "/v1/trays/{tray}",
}  # fmt: skip
ARRANGEMENT = "/v1/arrangement-plans/{arrangement}"
OF_INVENTORY = (
    Step("change_arrangement_rules", "PUT", "/v1/arrangement-rules", read_first="/v1/arrangement-rules"),
    Step("get_arrangement_rules", "GET", "/v1/arrangement-rules"),
    Step("upload_inventory", "PUT", "/v1/inventory?by=Marta%20Quillfeather", media="text/csv"),
    Step("take_inventory_in", "POST", "/v1/inventory"),
    Step("move_trays", "POST", "/v1/tray-moves"),
    Step("list_tray_moves", "GET", "/v1/tray-moves?tray=T-0007"),
    Step("upload_taxon_sequence", "PUT", "/v1/taxon-sequence", media="text/csv"),
    Step("list_taxon_sequence", "GET", "/v1/taxon-sequence"),
    Step("list_taxon_sequence", "GET", "/v1/taxon-sequence", accept="text/csv"),
    Step("get_inventory", "GET", "/v1/inventory", accept="text/csv"),
    Step("list_collection_health", "GET", "/v1/collection-health?by=drawer"),
    Step("create_arrangement_plan", "POST", "/v1/arrangement-plans"),
    Step("create_arrangement_plan", "POST", "/v1/arrangement-plans?later=true"),
    Step("get_arrangement_plan", "GET", ARRANGEMENT),
    Step("choose_alternative", "PUT", ARRANGEMENT + "/choice", read_first=ARRANGEMENT),
    Step("get_walking_list", "GET", ARRANGEMENT + "/walking-list"),
    Step("get_walking_list", "GET", ARRANGEMENT + "/walking-list", accept="text/csv"),
    Step("get_walking_list", "GET", ARRANGEMENT + "/walking-list", accept="text/html"),
    Step("get_arrangement_drawer_drawing", "GET", ARRANGEMENT + "/drawers/1/drawing", accept="image/svg+xml"),
    Step("get_arrangement_cabinet_drawing", "GET", ARRANGEMENT + "/cabinets/A1/drawing", accept="image/svg+xml"),
    Step("list_arrangement_drawers", "GET", ARRANGEMENT + "/drawers"),
    Step("renew_arrangement_plan", "POST", ARRANGEMENT + "/renewal?later=true"),
    Step("renew_arrangement_plan", "POST", ARRANGEMENT + "/renewal"),
    Step("carry_out_steps", "PUT", ARRANGEMENT + "/progress"),
    Step("list_arrangement_plans", "GET", "/v1/arrangement-plans"),
)  # fmt: skip
OF_FURNITURE = (
    *(Step(f"create_{kind}", "POST", address.rsplit("/", 1)[0]) for kind, address in _KEPT.items()),
    *(Step(f"change_{kind}", "PUT", address, read_first=address) for kind, address in _KEPT.items()),
    *(Step(f"get_{kind}", "GET", address) for kind, address in _KEPT.items()),
    Step("get_cabinet_drawing", "GET", "/v1/cabinets/{cabinet}/drawing", accept="image/svg+xml"),
    *(Step(f"list_{kind}s", "GET", address.rsplit("/", 1)[0]) for kind, address in _KEPT.items()),
    *(Step(f"delete_{kind}", "DELETE", address, read_first=address) for kind, address in reversed(_KEPT.items())),
)
STORY = (
    Step("is_alive", "GET", "/health/alive", anonymous=True),
    Step("is_ready", "GET", "/health/ready", anonymous=True),
    Step("list_drawer_styles", "GET", "/v1/handbook/drawer-styles", anonymous=True),
    Step("get_drawer_style", "GET", "/v1/handbook/drawer-styles/cornell", anonymous=True),
    Step("list_bottoms_and_treatments", "GET", "/v1/handbook/bottoms-and-treatments", anonymous=True),
    Step("list_chemicals", "GET", "/v1/handbook/chemicals", anonymous=True),
    Step("list_figures", "GET", "/v1/handbook/figures", anonymous=True),
    Step("list_sources", "GET", "/v1/handbook/sources", anonymous=True),
    Step("list_institutions", "GET", "/v1/institutions?page_size=1", anonymous=True),
    Step("get_institution", "GET", "/v1/institutions/{institution}", anonymous=True),
    Step("change_institution", "PUT", "/v1/institutions/{institution}", read_first="/v1/institutions/{institution}"),
    Step(
        "change_institution_identifiers",
        "PUT",
        "/v1/institutions/{institution}/identifiers",
        read_first="/v1/institutions/{institution}/identifiers",
    ),
    in_part("institution", "/v1/institutions/{institution}"),
    Step("get_institution_identifiers", "GET", "/v1/institutions/{institution}/identifiers", anonymous=True),
    Step("look_up_identifiers", "GET", "/v1/external-identifiers?scheme=ror&value=015hz7p22", anonymous=True),
    Step("create_storage_system", "POST", "/v1/storage-systems"),
    Step(
        "change_storage_system_identifiers",
        "PUT",
        "/v1/storage-systems/{system}/identifiers",
        read_first="/v1/storage-systems/{system}/identifiers",
    ),
    Step("get_storage_system_identifiers", "GET", "/v1/storage-systems/{system}/identifiers"),
    Step("get_storage_system", "GET", "/v1/storage-systems/{system}"),
    Step("change_storage_system", "PUT", "/v1/storage-systems/{system}", read_first="/v1/storage-systems/{system}"),
    in_part("storage_system", "/v1/storage-systems/{system}"),
    Step("create_revision", "POST", "/v1/storage-systems/{system}/revisions"),
    in_part("revision", "/v1/storage-systems/{system}/revisions/1"),
    Step("get_revision_sheet", "GET", "/v1/storage-systems/{system}/revisions/1/sheets/cabinets", accept="text/csv"),
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
    Step(
        "find_drawer_takers", "GET", "/v1/drawer-takers?width=19 1/4 in&depth=16 1/2 in&height=3 in", anonymous=True
    ),
    Step(
        "find_drawer_homes",
        "GET",
        "/v1/drawer-homes?width=19 in&depth=16 1/2 in&height=3 in&count=60",
        anonymous=True,
    ),
    Step("create_consignment", "POST", "/v1/consignments"),
    Step(
        "change_consignment_identifiers",
        "PUT",
        "/v1/consignments/{consignment}/identifiers",
        read_first="/v1/consignments/{consignment}/identifiers",
    ),
    Step("get_consignment_identifiers", "GET", "/v1/consignments/{consignment}/identifiers"),
    Step("get_consignment", "GET", "/v1/consignments/{consignment}"),
    Step("write_batch", "POST", "/v1/batches"),
    Step("list_changes", "GET", "/v1/changes?kind=consignment&page_size=10"),
    Step("list_consignments", "GET", "/v1/consignments"),
    Step("change_consignment", "PUT", "/v1/consignments/{consignment}", read_first="/v1/consignments/{consignment}"),
    in_part("consignment", "/v1/consignments/{consignment}"),
    Step("get_lines_sheet", "GET", "/v1/consignments/{consignment}/lines", accept="text/csv"),
    Step(
        "upload_lots_sheet",
        "PUT",
        "/v1/consignments/{consignment}/lots/sheet",
        media="text/csv",
        read_first="/v1/consignments/{consignment}",
    ),
    Step(
        "upload_lots",
        "PUT",
        "/v1/consignments/{consignment}/lots",
        media=ZIP,
        read_first="/v1/consignments/{consignment}",
    ),
    Step("list_lots", "GET", "/v1/consignments/{consignment}/lots"),
    Step("list_lots", "GET", "/v1/consignments/{consignment}/lots", accept="text/csv"),
    Step("get_lots_archive", "GET", "/v1/consignments/{consignment}/lots/archive", accept=ZIP),
    Step("get_lots_data_package", "GET", "/v1/consignments/{consignment}/lots/data-package", accept=ZIP),
    Step("create_fit_check", "POST", "/v1/fit-checks"),
    Step("get_fit_check", "GET", "/v1/fit-checks/{check}"),
    Step("get_fit_check", "GET", "/v1/fit-checks/{check}", accept="text/plain"),
    Step("get_fit_check_inputs", "GET", "/v1/fit-checks/{check}/inputs"),
    Step("get_fit_check_drawing", "GET", "/v1/fit-checks/{check}/lines/1/drawing", accept="image/svg+xml"),
    *OF_TRANSFERS,
    *OF_HOUSING,
    *OF_INVENTORY,
    *OF_FURNITURE,
    *OF_QUARANTINE,
    *OF_EVENTS,
    *OF_WEBHOOKS,
    *OF_PAPERS,
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
        "upload_revision_sheet",
        "PUT",
        "/v1/storage-systems/{system}/revisions/2/sheets/drawers",
        media="text/csv",
        read_first="/v1/storage-systems/{system}/revisions/2",
    ),
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


def an_archive() -> bytes:
    """A Darwin Core archive of two lots, without a descriptor."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr(
            "occurrences.csv",
            "occurrenceID,institutionCode,catalogNumber,scientificName,family,individualCount,typeStatus\n"
            "urn:catalog:AMB:1902.17,AMB,1902.17,Carabus hortensis,Carabidae,1,holotype\n"
            "urn:catalog:AMB:1902.18,AMB,1902.18,Carabus hortensis,Carabidae,12,paratype\n",
        )
    return packed.getvalue()


class Teller:
    """Sends the steps one after the other, as the Ambleford Museum."""

    def __init__(self, app: Flask, engine: Engine) -> None:
        self.names, self.engine = Names(), engine
        # Examples name hosts that nobody has; this is an address in the open network, and nobody calls there.
        call_by(app, Caller(resolver=lambda *_: ["193.0.6.139"]))
        self.member: Member = enter(engine, "ambleford", "Ambleford Museum", "GB")
        self.other: Member = enter(engine, "kesselbrook", "Kesselbrook University Insect Collection", "US")
        self.client: FlaskClient = self.member.client(app)
        self.other_client: FlaskClient = self.other.client(app)
        self.stranger = app.test_client()
        self.places = {"institution": str(self.member.id)}
        self.names.name(str(self.member.id), NAMED["institution"])
        self.names.name(str(self.other.id), NAMED["other"])

    def tell(self) -> Iterator[Told]:
        for step in STORY:
            response = self._send(step)
            self._remember(step, response)
            yield Told(step, response, self._answer(step, response))

    def _send(self, step: Step) -> TestResponse:
        headers = {"Accept": step.accept}
        if step.read_first:
            headers["If-Match"] = self.client.get(step.read_first.format(**self.places)).headers["ETag"]
        if step.operation in MOVING:
            headers["Idempotency-Key"] = f'"{uuid4()}"'
        if step.operation == "list_webhook_attempts":
            self._call_the_webhook()
        client = self.stranger if step.anonymous else self.other_client if step.as_other else self.client
        address = step.path.format(**self.places)
        response = client.open(address, method=step.method, headers=headers, **self._body(step))
        give_up = time.monotonic() + 60
        while step.operation == "list_changes" and not response.get_json()["items"] and time.monotonic() < give_up:
            # A change shows when every earlier transaction on the server is over, other databases' among them.
            response = client.open(address, method=step.method, headers=headers)
        return response

    def _call_the_webhook(self) -> None:
        """As a worker does. Nobody answers there, and the log says so."""
        postman = Postman(self.engine, Caller(read_networks("127.0.0.0/8"), resolver=lambda *_: ["127.0.0.1"]))
        visit(postman, self.member.id, UUID(self.places["webhook"]), lambda: False)

    def _body(self, step: Step) -> dict[str, Any]:
        request = step.says or example(step.operation).get("request")
        if step.method not in ("POST", "PUT", "PATCH") or request is None:
            return {}
        if step.media == ZIP:
            return {"data": an_archive(), "content_type": ZIP}
        text = request if isinstance(request, str) else json.dumps(request, ensure_ascii=False)
        if step.operation == "create_storage_system" and "system" in self.places:
            text = text.replace("main-hall", "annexe")
        return {"data": self.names.to_real(text).encode(), "content_type": step.media}

    def _remember(self, step: Step, response: TestResponse) -> None:
        made = {
            "create_storage_system": "system", "create_consignment": "consignment", "create_fit_check": "check",
            "create_transfer": "transfer", "create_permit": "permit", "create_housing_plan": "plan",
            "create_parcel_plan": "parcel_plan", "create_paper": "paper",
            "create_room": "room", "create_cabinet": "cabinet", "create_drawer": "drawer", "create_tray": "tray",
            "create_arrangement_plan": "arrangement", "renew_arrangement_plan": "arrangement",
            "create_webhook": "webhook",
            "create_quarantine": "quarantine",
        }.get(step.operation)  # fmt: skip
        if made and response.status_code == 201:
            self.places[made] = response.headers["Location"].rsplit("/", 1)[1]
            self.names.name(self.places[made], NAMED[made])
        if step.operation == "create_transfer":
            self.places.setdefault("loan", self.places["transfer"])
        if step.operation == "create_paper":
            self.places["check_code"] = response.get_json()["check_code"]
        if response.status_code == 202 and "state" in response.get_json():
            self.places["operation"] = response.get_json()["id"]
            self.names.name(self.places["operation"], NAMED["operation"])
        if step.operation == "list_events":
            self.places["event"] = response.get_json()["items"][0]["id"]
            self.names.name(self.places["event"], NAMED["event"])
        if response.status_code < 300 and step.operation in ("create_transfer", "upload_transfer_lines"):
            self.remember_transfer(response.get_json())

    def remember_transfer(self, shown: Mapping[str, Any]) -> None:
        """What the steps that follow name of a transfer: its exchange, and the digest that both sides sign."""
        if "exchange_id" in shown:
            self.places["exchange"] = shown["exchange_id"]
            self.names.name(self.places["exchange"], NAMED["exchange"])
        else:
            self.names.steady = {real: name for real, name in self.names.steady.items() if name != NAMED["agreement"]}
            self.names.steady[shown["agreement"]] = NAMED["agreement"]

    def _answer(self, step: Step, response: TestResponse) -> Any:
        if response.mimetype == "application/pdf":
            return None
        of_transfers = step in OF_TRANSFERS
        if response.mimetype == ZIP:
            return "PK…"
        text = self.names.to_example(response.get_data(as_text=True), digests_too=of_transfers)
        if step.operation == "list_events":
            text = text.replace(response.get_json()["next_cursor"], STEADY_CURSOR)
        return json.loads(text) if response.mimetype == "application/json" else text


def key_for(engine: Engine, member: Member, *scopes: str) -> str:
    return key_of(engine, member.id, scopes)
