"""Long work, in the words that all rooms share: its kinds, its states, how far it is, and why it failed."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

#: The parts of making an arrangement plan.
ARRANGING: Final = ("reading", "planning")
#: The parts of making a housing plan in their order; the last ones take turns until the effort is spent.
STAGES: Final = ("rules", "bound", "columns", "closing", "choosing", "learning", "pricing")


class Kind(StrEnum):
    """What is worked out."""

    HOUSING_PLAN = "housing_plan"
    ARRANGEMENT_PLAN = "arrangement_plan"


class State(StrEnum):
    """How far the work is."""

    PENDING = "pending"
    """No worker has taken it up yet."""
    RUNNING = "running"
    """A worker is at it."""
    SUCCEEDED = "succeeded"
    """The result is there."""
    FAILED = "failed"
    """It came to nothing, and the problem says why."""
    CANCELLED = "cancelled"
    """Somebody ended it."""

    @property
    def is_final(self) -> bool:
        return self in (State.SUCCEEDED, State.FAILED, State.CANCELLED)


@dataclass(frozen=True, slots=True)
class Problem:
    """Why an operation failed: a stable word for programs, and a sentence."""

    kind: str
    detail: str


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the work has come. ``best`` and ``at_least`` are costs in the units of the work."""

    stage: str | None = None
    done_count: int = 0
    total_count: int | None = None
    best: int | None = None
    at_least: int | None = None
