"""The tables, as the statements need them.

The migrations make them, and add what cannot be said here: row-level security, triggers and grants. Every
constraint has a name that says what it asks for; problems.py turns the name into a sentence. A key begins with the
institution it belongs to, so that the tables can one day be spread over several servers by institution; for the same
reason no foreign key crosses from one institution to another.
"""

from service.store.tables.acceptances import acceptance
from service.store.tables.collections import (
    api_key,
    consignment,
    consignment_line,
    fit_check,
    institution,
    storage_system,
    storage_system_revision,
)
from service.store.tables.housing import housing_plan, operation
from service.store.tables.parts import metadata
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

__all__ = [
    "acceptance",
    "api_key",
    "consignment",
    "consignment_line",
    "custody_balance",
    "custody_movement",
    "custody_posting",
    "fit_check",
    "housing_plan",
    "institution",
    "kept_answer",
    "line_standing",
    "loan_rules",
    "metadata",
    "operation",
    "storage_system",
    "storage_system_revision",
    "transfer",
    "transfer_fact",
    "transfer_line",
    "transfer_permit",
    "transfer_standing",
]
