"""The tables, as the statements need them.

The migrations make them, and add what cannot be said here: row-level security, triggers and grants. Every
constraint has a name that says what it asks for; problems.py turns the name into a sentence. A key begins with the
institution it belongs to, so that the tables can one day be spread over several servers by institution; for the same
reason no foreign key crosses from one institution to another.
"""

from service.store.tables.collections import (
    api_key,
    consignment,
    consignment_line,
    fit_check,
    institution,
    storage_system,
    storage_system_revision,
)
from service.store.tables.parts import metadata

__all__ = [
    "api_key",
    "consignment",
    "consignment_line",
    "fit_check",
    "institution",
    "metadata",
    "storage_system",
    "storage_system_revision",
]
