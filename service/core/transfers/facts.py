"""The dated facts of a transfer. They are only ever added; every state is read off them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from service.core.transfers.ledger import Move, Movement
from service.core.transfers.lines import Condition
from service.core.transfers.parties import Side


class Step(StrEnum):
    """What can happen.

    Who may do it, and when, is the table in ``steps.py``.
    """

    WRITTEN = "written"
    SIGNED = "signed"
    WITHDRAWN = "withdrawn"
    PACKED = "packed"
    UNPACKED = "unpacked"
    DISPATCHED = "dispatched"
    RECEIVED = "received"
    ACKNOWLEDGED = "acknowledged"
    DIFFERENCE_REPORTED = "difference_reported"
    DIFFERENCE_SETTLED = "difference_settled"
    EXTENSION_ASKED = "extension_asked"
    EXTENSION_GRANTED = "extension_granted"
    EXTENSION_REFUSED = "extension_refused"
    RECALLED = "recalled"
    RETAINED = "retained"
    PASSED_ON = "passed_on"
    CONSUMED = "consumed"
    LOST = "lost"
    FOUND = "found"
    SENT_BACK = "sent_back"
    RECEIVED_BACK = "received_back"
    OWNERSHIP_CHANGED = "ownership_changed"
    RECONCILED = "reconciled"
    CLOSED = "closed"

    @property
    def words(self) -> str:
        return self.value.replace("_", " ")


@dataclass(frozen=True, slots=True)
class Seen:
    """The condition of a line at a hand-over, as the person who took it or gave it saw it."""

    line: str
    condition: Condition | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Recount:
    """A line whose count is not what the list says."""

    line: str
    listed: int
    counted: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class Override:
    """Somebody goes over the lender's own rules: who, why, and which of them (the codes of the notices)."""

    by: str
    reason: str
    codes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that happened, on one day, by one person of one side.

    ``written_by`` is the side that wrote it down, where that is not the side that did it: an institution writes for a
    private person who has no key. ``agreement`` is the digest of the text that was written or signed. ``lines`` are
    the lines meant, none meaning all. ``until`` is the day asked for, granted or recalled to.
    """

    step: Step
    side: Side
    by: str
    on: date
    moves: tuple[Move, ...] = ()
    seen: tuple[Seen, ...] = ()
    recounts: tuple[Recount, ...] = ()
    lines: tuple[str, ...] = ()
    until: date | None = None
    reason: str = ""
    third_party: str | None = None
    agreement: str | None = None
    written_by: Side | None = None
    override: Override | None = None

    @property
    def lines_named(self) -> frozenset[str]:
        """Every line that the fact speaks of."""
        spoken: tuple[Move | Seen | Recount, ...] = (*self.moves, *self.seen, *self.recounts)
        return frozenset(self.lines).union(part.line for part in spoken)

    def means(self, line: str) -> bool:
        return not self.lines or line in self.lines


def movements(facts: Iterable[Fact]) -> tuple[Movement, ...]:
    """The facts that moved something, as the ledger takes them."""
    return tuple(Movement(fact.on, fact.moves) for fact in facts if fact.moves)
