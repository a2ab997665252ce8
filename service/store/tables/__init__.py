"""The tables, as the statements need them.

The migrations make them, and add what cannot be said here: row-level security, triggers and grants. Every
constraint has a name that says what it asks for; problems.py turns the name into a sentence. A key begins with the
institution it belongs to, so that the tables can one day be spread over several servers by institution; for the same
reason no foreign key crosses from one institution to another.
"""

from service.store.tables.acceptances import acceptance
from service.store.tables.arrangement import (
    arrangement_plan,
    arrangement_rules,
    arrangement_step,
    taxon_sequence,
)
from service.store.tables.collections import (
    api_key,
    consignment,
    consignment_line,
    fit_check,
    institution,
    storage_system,
    storage_system_revision,
)
from service.store.tables.events import event, news
from service.store.tables.housing import housing_plan, operation
from service.store.tables.inventory import cabinet, cabinet_position, drawer, room, tray, tray_move
from service.store.tables.joining import consignment_lot, external_identifier, thing_change
from service.store.tables.papers import packing_bench, paper, parcel_plan
from service.store.tables.parts import metadata
from service.store.tables.quarantines import quarantine, quarantine_entry, quarantine_log, quarantine_rules
from service.store.tables.transfers import (
    custody_balance,
    custody_movement,
    custody_posting,
    kept_answer,
    line_standing,
    loan_rules,
    transfer,
    transfer_fact,
    transfer_line,
    transfer_permit,
    transfer_standing,
)
from service.store.tables.webhooks import webhook, webhook_attempt, webhook_progress, webhook_retry

__all__ = [
    "acceptance",
    "api_key",
    "arrangement_plan",
    "arrangement_rules",
    "arrangement_step",
    "cabinet",
    "cabinet_position",
    "consignment",
    "consignment_line",
    "consignment_lot",
    "custody_balance",
    "custody_movement",
    "custody_posting",
    "drawer",
    "event",
    "external_identifier",
    "fit_check",
    "housing_plan",
    "institution",
    "kept_answer",
    "line_standing",
    "loan_rules",
    "metadata",
    "news",
    "operation",
    "packing_bench",
    "paper",
    "parcel_plan",
    "quarantine",
    "quarantine_entry",
    "quarantine_log",
    "quarantine_rules",
    "room",
    "storage_system",
    "storage_system_revision",
    "taxon_sequence",
    "thing_change",
    "transfer",
    "transfer_fact",
    "transfer_line",
    "transfer_permit",
    "transfer_standing",
    "tray",
    "tray_move",
    "webhook",
    "webhook_attempt",
    "webhook_progress",
    "webhook_retry",
]
