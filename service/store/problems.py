"""From the name of a broken constraint to a sentence about it.

Constraints decide, and this table explains. A constraint that no request can break, whatever it holds, is in
:data:`UNREACHABLE`; a test holds both lists against the database.
"""

from collections.abc import Callable, Mapping
from typing import Final

import psycopg
from sqlalchemy.engine import ExceptionContext

from service.core.errors import Busy, Conflict, Invalid, NotFound, TraybridgeError

_CODE = "A code is 1 to 64 letters, digits, dots, hyphens and underscores, and begins with a letter or a digit."
_NAME = "A name is 1 to 200 characters, not all of them blank."
_LONG = "This may be at most 10,000 characters long."
_KEPT = "A published revision never changes and is never removed, because fit checks rest on it; publish a new one."

_MEANWHILE = "Somebody else has just written to this transfer; read it again."


def _step(sentence: str) -> Conflict:
    return Conflict("step_refused", sentence)


def _in_use(what: str) -> Conflict:
    return Conflict("in_use", f"Something stands in this {what} still; take it out first.")


def _below() -> Conflict:
    return Conflict("below_zero", "More would leave an account than it held on that day or on a day since.")


PROBLEMS: Final[Mapping[str, Callable[[], TraybridgeError]]] = {
    "institution_code_unique": lambda: Conflict("code_taken", "Another institution already has this code."),
    "institution_code_in_any_case": lambda: Conflict(
        "code_taken", "Another institution already has this code; capitals make no other code of it."
    ),
    "institution_code_form": lambda: Invalid("code", _CODE),
    "institution_name_form": lambda: Invalid("name", _NAME),
    "institution_country_code_form": lambda: Invalid(
        "country_code", "A country is written as its two capital letters (ISO 3166-1), such as DE."
    ),
    "api_key_institution": lambda: NotFound("institution"),
    "api_key_name_form": lambda: Invalid("name", _NAME),
    "api_key_scopes_known": lambda: Invalid("scopes", "A key has one or more of the scopes read, write and admin."),
    "storage_system_institution": lambda: NotFound("institution"),
    "storage_system_code_unique": lambda: Conflict("code_taken", "You already have a storage system with this code."),
    "storage_system_code_form": lambda: Invalid("code", _CODE),
    "storage_system_name_form": lambda: Invalid("name", _NAME),
    "storage_system_description_form": lambda: Invalid("description", _LONG),
    "storage_system_visibility_known": lambda: Invalid(
        "visibility", "A storage system is visible to everybody, to members or to its owner."
    ),
    "storage_system_revision_system": lambda: NotFound("storage system"),
    "storage_system_revision_based_on": lambda: Conflict(
        "revision_in_use", "Another revision of this storage system was made from this one."
    ),
    "storage_system_revision_pkey": lambda: Conflict(
        "revision_exists", "Somebody else has just begun this revision; read the storage system again."
    ),
    "storage_system_revision_one_draft": lambda: Conflict(
        "draft_exists", "This storage system already has a draft; change that one, or discard it first."
    ),
    "storage_system_revision_one_published": lambda: Conflict(
        "published_meanwhile", "Somebody else has just published a revision of this storage system; read it again."
    ),
    "storage_system_revision_note_form": lambda: Invalid("note", _LONG),
    "storage_system_revision_kept": lambda: Conflict("revision_is_published", _KEPT),
    "consignment_institution": lambda: NotFound("institution"),
    "consignment_code_unique": lambda: Conflict("code_taken", "You already have a consignment with this code."),
    "consignment_code_form": lambda: Invalid("code", _CODE),
    "consignment_kind_known": lambda: Invalid("kind", "A consignment is a gift, a loan or an exchange."),
    "consignment_sender_form": lambda: Invalid(
        "sender", "A sender is either an institution of this service or a name."
    ),
    "consignment_offered_to_form": lambda: Invalid(
        "offered_to", "A consignment is offered to at most 200 institutions."
    ),
    "consignment_note_form": lambda: Invalid("note", _LONG),
    "consignment_line_consignment": lambda: NotFound("consignment"),
    "consignment_line_pkey": lambda: Conflict(
        "lines_changed_meanwhile", "Somebody else has just changed the lines of this consignment; read it again."
    ),
    "consignment_line_count_form": lambda: Invalid("count", "A line stands for at least one container."),
    "consignment_line_specimens_form": lambda: Invalid("specimens", "There cannot be fewer than no specimens."),
    "consignment_lot_consignment": lambda: NotFound("consignment"),
    "consignment_lot_pkey": lambda: Conflict(
        "lines_changed_meanwhile", "Somebody else has just changed the lots of this consignment; read it again."
    ),
    "external_identifier_giver": lambda: NotFound("institution"),
    "external_identifier_names_one": lambda: Conflict(
        "identifier_taken", "You already call another thing of this kind by this identifier."
    ),
    "external_identifier_of_one_institution": lambda: Conflict(
        "identifier_taken", "Another institution already goes by this identifier."
    ),
    "external_identifier_pkey": lambda: Invalid("identifiers", "Give each identifier once."),
    "transfer_maker": lambda: NotFound("institution"),
    "transfer_lender": lambda: NotFound("institution"),
    "transfer_borrower": lambda: NotFound("institution"),
    "transfer_code_unique": lambda: Conflict("code_taken", "You already have a transfer with this code."),
    "transfer_code_form": lambda: Invalid("code", _CODE),
    "transfer_parties_form": lambda: Invalid(
        "borrower", "A transfer goes from one side to another, and you are one."
    ),
    "transfer_kind_and_ending_known": lambda: Invalid("ending", "A transfer of this kind cannot end so."),
    "transfer_exchange_form": lambda: Invalid("exchange_id", "Only the ways of an exchange name their exchange."),
    "transfer_line_transfer": lambda: NotFound("transfer"),
    "transfer_line_pkey": lambda: Invalid("lines", "Each line has a key of its own."),
    "transfer_line_key_form": lambda: Invalid("lines", _CODE),
    "transfer_line_count_form": lambda: Invalid("lines", "A line counts at least 1."),
    "transfer_text_stands": lambda: _step("It is packed or sent, and the text agreed on stands."),
    "transfer_fact_transfer": lambda: NotFound("transfer"),
    "transfer_fact_pkey": lambda: _step(_MEANWHILE),
    "transfer_fact_no_fork": lambda: _step(_MEANWHILE),
    "transfer_fact_follows_the_last": lambda: _step(_MEANWHILE),
    "transfer_fact_while_open": lambda: _step("It is over: closed or withdrawn. Nothing more can be written to it."),
    "transfer_fact_own_hand": lambda: _step("Each institution writes for itself."),
    "transfer_fact_step_of_side": lambda: _step("This step is for the other side to write."),
    "transfer_fact_person_named": lambda: _step("Every step needs the name of the person who does it."),
    "transfer_fact_reason_told": lambda: _step("This step needs the reason."),
    "transfer_fact_until_told": lambda: _step("This step needs the day it is to run to."),
    "transfer_fact_until_later": lambda: _step("The day it is to run to is before the day of the step."),
    "transfer_fact_agreement_told": lambda: _step("This step needs the digest of the text."),
    "transfer_fact_third_party_told": lambda: _step("This step needs to say who it goes on to."),
    "transfer_fact_text_stands": lambda: _step("It is packed or sent, and the text agreed on stands."),
    "transfer_fact_signs_the_text": lambda: _step("The text has changed since you read it; read it again."),
    "transfer_fact_after_signatures": lambda: _step("Nothing moves before both sides have signed the text."),
    "transfer_fact_adds_up": lambda: _step("It does not add up yet."),
    "transfer_fact_after_reconciling": lambda: _step("It has not been reconciled since the last movement."),
    "transfer_fact_moves_its_ways": lambda: _step("This step makes no such move."),
    "transfer_fact_moves_its_lines": lambda: _step("The transfer has no such line."),
    "transfer_fact_as_agreed": lambda: _step("More would be packed than was agreed on."),
    "transfer_fact_returns_types": lambda: _step("Such types go back to the lender."),
    "transfer_fact_bears_every_day": lambda: _below(),
    "custody_balance_never_below_zero": lambda: _below(),
    "transfer_permit_transfer": lambda: NotFound("transfer"),
    "loan_rules_institution": lambda: NotFound("institution"),
    "quarantine_rules_institution": lambda: NotFound("institution"),
    "quarantine_institution": lambda: NotFound("institution"),
    "quarantine_code_unique": lambda: Conflict("code_taken", "You already have a quarantine with this code."),
    "quarantine_code_form": lambda: Invalid("code", _CODE),
    "quarantine_kept": lambda: Conflict("quarantine_is_kept", "What was written down of a quarantine is kept."),
    "quarantine_log_pkey": lambda: Conflict("code_taken", "This quarantine already has a log of this name."),
    "quarantine_log_quarantine": lambda: NotFound("quarantine"),
    "quarantine_log_code_form": lambda: Invalid("code", _CODE),
    "quarantine_entry_quarantine": lambda: NotFound("quarantine"),
    "fit_check_institution": lambda: NotFound("institution"),
    "fit_check_kept": lambda: Conflict("fit_check_is_kept", "A fit check never changes; ask again for a new one."),
    "packing_bench_institution": lambda: NotFound("institution"),
    "parcel_plan_transfer": lambda: NotFound("transfer"),
    "paper_transfer": lambda: NotFound("transfer"),
    "paper_parcel_plan": lambda: NotFound("plan of parcels"),
    "paper_printed_by_form": lambda: Invalid("by", "Name the person who prints it."),
    "housing_plan_institution": lambda: NotFound("institution"),
    "housing_plan_kept": lambda: Conflict(
        "housing_plan_is_kept", "A housing plan never changes; ask again for a new one."
    ),
    "operation_institution": lambda: NotFound("institution"),
    "webhook_institution": lambda: NotFound("institution"),
    "operation_over": lambda: Conflict("operation_is_over", "This operation is over; nothing about it changes now."),
    "room_institution": lambda: NotFound("institution"),
    "room_code_unique": lambda: Conflict("code_taken", "You already have a room with this code."),
    "room_code_form": lambda: Invalid("code", _CODE),
    "room_name_form": lambda: Invalid("name", _NAME),
    "cabinet_room": lambda: _in_use("room"),
    "cabinet_code_unique": lambda: Conflict("code_taken", "You already have a cabinet with this code."),
    "cabinet_code_form": lambda: Invalid("code", _CODE),
    "cabinet_name_form": lambda: Invalid("name", _NAME),
    "cabinet_positions_form": lambda: Invalid(
        "positions_per_column", "A cabinet has 1 to 20 columns of 1 to 500 positions."
    ),
    "cabinet_takes_form": lambda: Invalid("takes", "A cabinet takes at most 50 styles of drawer."),
    "cabinet_lengths_form": lambda: Invalid("pitch", "A length is more than nothing and at most 100 m."),
    "drawer_institution": lambda: NotFound("institution"),
    "drawer_position_exists": lambda: _in_use("cabinet or position"),
    "drawer_code_unique": lambda: Conflict("code_taken", "You already have a drawer with this code."),
    "drawer_alone_in_position": lambda: Conflict("place_taken", "Another drawer is in this position."),
    "drawer_code_form": lambda: Invalid("code", _CODE),
    "drawer_label_form": lambda: Invalid("label", "A label is at most 300 characters long."),
    "drawer_style_form": lambda: Invalid("style", _CODE),
    "drawer_size_form": lambda: Invalid("inner_width", "A drawer has an inside, of at most 100 m."),
    "drawer_clear_height_form": lambda: Invalid("clear_height", "A height is more than nothing and at most 100 m."),
    "drawer_reserve_form": lambda: Invalid("reserve_percent", "A growth reserve is 0 to 90 per cent."),
    "drawer_position_form": lambda: Invalid("position", "A cabinet and a position are given together."),
    "drawer_in_column": lambda: Conflict(
        "place_taken", "The drawer takes up more positions than there are in that column from there on."
    ),
    "drawer_holds_its_trays": lambda: Conflict(
        "outside_drawer", "The trays would be larger than the inside of the drawer."
    ),
    "tray_institution": lambda: NotFound("institution"),
    "tray_drawer": lambda: _in_use("drawer"),
    "tray_code_unique": lambda: Conflict("code_taken", "You already have a tray with this code."),
    "tray_code_form": lambda: Invalid("code", _CODE),
    "tray_words_form": lambda: Invalid("label", "A taxon has at most 200 characters, and a label at most 300."),
    "tray_specimens_form": lambda: Invalid("specimens", "There cannot be fewer than no specimens."),
    "tray_curation_level_form": lambda: Invalid("curation_level", "Curation levels run from 1 to 8."),
    "tray_size_form": lambda: Invalid("width", "A tray has a width and a depth, of at most 100 m."),
    "tray_place_form": lambda: Invalid("drawer", "A tray has a drawer and a place in it, or neither."),
    "tray_alone_in_place": lambda: Conflict("place_taken", "Another tray stands there."),
    "tray_move_institution": lambda: NotFound("institution"),
    "tray_move_person_named": lambda: Invalid("by", "Name the person, in at most 200 characters."),
    "arrangement_rules_institution": lambda: NotFound("institution"),
    "taxon_sequence_institution": lambda: NotFound("institution"),
    "taxon_sequence_once": lambda: Invalid("species", "Each taxon has one place in the sequence."),
    "taxon_sequence_names_form": lambda: Invalid(
        "family", "A row names a family, a genus or a species, each in at most 100 characters."
    ),
    "arrangement_plan_institution": lambda: NotFound("institution"),
    "arrangement_plan_choice_form": lambda: Invalid("alternative", "The plan has fewer alternatives."),
    "arrangement_step_plan": lambda: NotFound("arrangement plan"),
    "arrangement_step_person_named": lambda: Invalid("by", "Name the person, in at most 200 characters."),
    "arrangement_kept": lambda: Conflict("plan_is_kept", "What was planned and what was carried stays as it was."),
}

#: Constraints on what only the service writes: breaking one is our own fault, and an error of the server.
UNREACHABLE: Final = frozenset(
    {
        "acceptance_pkey",
        "acceptance_revision",
        "acceptance_piece_form",
        "acceptance_verdict_known",
        "acceptance_box_form",
        "acceptance_pitch_form",
        "acceptance_packed_form",
        "acceptance_is_open",
        "institution_pkey",
        "api_key_pkey",
        "api_key_secret_unique",
        "api_key_secret_form",
        "storage_system_pkey",
        "storage_system_revision_number_form",
        "storage_system_revision_state_known",
        "storage_system_revision_content_form",
        "storage_system_revision_sha256_form",
        "storage_system_revision_moments_follow_state",
        "consignment_pkey",
        "consignment_line_position_form",
        "consignment_line_content_form",
        "consignment_lot_position_form",
        "consignment_lot_content_form",
        "consignment_lot_count_form",
        "external_identifier_kind_known",
        "external_identifier_scheme_form",
        "external_identifier_value_form",
        "external_identifier_of_oneself",
        "thing_change_pkey",
        "thing_change_kind_known",
        "transfer_pkey",
        "transfer_content_form",
        "transfer_line_position_form",
        "transfer_line_content_form",
        "transfer_line_in_order",
        "transfer_fact_digest_of_body",
        "custody_movement_pkey",
        "custody_movement_fact",
        "custody_posting_pkey",
        "custody_posting_fact",
        "custody_posting_account_known",
        "custody_posting_changes_something",
        "custody_posting_balanced",
        "custody_balance_pkey",
        "custody_balance_transfer",
        "custody_balance_account_known",
        "transfer_standing_pkey",
        "transfer_standing_transfer",
        "line_standing_pkey",
        "line_standing_transfer",
        "custody_follows_from_facts",
        "custody_ledger_kept",
        "transfer_permit_pkey",
        "transfer_permit_recorder",
        "transfer_permit_content_form",
        "loan_rules_pkey",
        "packing_bench_pkey",
        "packing_bench_content_form",
        "parcel_plan_pkey",
        "parcel_plan_maker",
        "parcel_plan_revision_form",
        "parcel_plan_asked_form",
        "parcel_plan_plan_form",
        "paper_pkey",
        "paper_maker",
        "paper_kind_known",
        "paper_check_code_form",
        "paper_revision_form",
        "paper_page_size_known",
        "paper_content_form",
        "loan_rules_content_form",
        "kept_answer_pkey",
        "kept_answer_institution",
        "kept_answer_fingerprint_form",
        "kept_answer_headers_form",
        "quarantine_rules_pkey",
        "quarantine_rules_content_form",
        "quarantine_pkey",
        "quarantine_content_form",
        "quarantine_log_span_form",
        "quarantine_log_readings_form",
        "quarantine_entry_pkey",
        "quarantine_entry_kind_known",
        "quarantine_entry_content_form",
        "fit_check_pkey",
        "fit_check_revision_number_form",
        "fit_check_inputs_form",
        "fit_check_answer_form",
        "housing_plan_pkey",
        "housing_plan_revision_form",
        "housing_plan_counts_form",
        "housing_plan_proof_known",
        "housing_plan_asked_form",
        "housing_plan_plan_form",
        "webhook_pkey",
        "webhook_url_form",
        "webhook_description_form",
        "webhook_disabled_form",
        "webhook_secret_form",
        "webhook_progress_pkey",
        "webhook_progress_webhook",
        "webhook_progress_counts_form",
        "webhook_retry_pkey",
        "webhook_retry_webhook",
        "webhook_retry_event",
        "webhook_retry_attempts_form",
        "webhook_attempt_pkey",
        "webhook_attempt_webhook",
        "webhook_attempt_outcome_known",
        "webhook_attempt_told",
        "event_pkey",
        "event_kept",
        "event_in_order",
        "event_type_form",
        "event_position_form",
        "operation_pkey",
        "operation_kind_known",
        "operation_state_known",
        "operation_work_form",
        "operation_ends_one_way",
        "operation_counts_form",
        "room_pkey",
        "cabinet_pkey",
        "cabinet_position_pkey",
        "cabinet_position_cabinet",
        "cabinet_position_number_form",
        "drawer_pkey",
        "tray_pkey",
        "tray_move_pkey",
        "tray_move_step_form",
        "arrangement_rules_pkey",
        "arrangement_rules_content_form",
        "taxon_sequence_pkey",
        "taxon_sequence_position_form",
        "arrangement_plan_pkey",
        "arrangement_plan_replaced_by",
        "arrangement_plan_question_form",
        "arrangement_plan_content_form",
        "arrangement_plan_done_form",
        "arrangement_step_pkey",
        "arrangement_step_number_form",
    }
)

_LOCK_NOT_AVAILABLE, _DEADLOCK, _SERIALIZATION, _STATEMENT_TIMEOUT = "55P03", "40P01", "40001", "57014"
_BUSY = frozenset({_LOCK_NOT_AVAILABLE, _DEADLOCK, _SERIALIZATION, _STATEMENT_TIMEOUT})


_SHUTTING_DOWN = frozenset({"57P01", "57P02", "57P03"})


def _is_unreachable(error: BaseException | None) -> bool:
    """Whether a connection could not be made, or was cut while it was in use."""
    state = getattr(error, "sqlstate", None)
    return isinstance(error, psycopg.OperationalError) and (state is None or state in _SHUTTING_DOWN)


def say_it_plainly(context: ExceptionContext) -> None:
    """Raise the domain's error in place of the driver's, where there is one. Hangs on the application's engine."""
    error = context.original_exception
    if getattr(error, "sqlstate", None) in _BUSY:
        raise Busy("Others are at work on the same things; try again in a moment.") from error
    constraint = getattr(getattr(error, "diag", None), "constraint_name", None) or ""
    if not context.is_pre_ping and (context.is_disconnect or _is_unreachable(error)):
        raise Busy("The database cannot be reached just now; try again in a moment.") from error
    if problem := PROBLEMS.get(constraint):
        raise problem() from error
