"""Transfers to test with: two invented museums, a loan between them, and facts with little to type."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from service.core.transfers.facts import Fact, Step
from service.core.transfers.ledger import Account, Move
from service.core.transfers.lines import Line, TypeStatus
from service.core.transfers.parties import Party, Person, Side
from service.core.transfers.steps import RULES, add_fact
from service.core.transfers.transfer import Ending, Transfer, TransferKind, agreement_digest

LENDING = Party("north", "North Museum", country="NO")
BORROWING = Party("south", "South Museum", country="SE")
TODAY = date(2030, 1, 1)


def line(key: str = "1", count: int = 20, **given: object) -> Line:
    return replace(Line(key, count, "Carabus hortensis", type_status=TypeStatus.NOT_A_TYPE), **given)  # type: ignore[arg-type]


def loan(*lines: Line, **given: object) -> Transfer:
    made = Transfer(
        key="T1",
        kind=TransferKind.LOAN,
        ending=Ending.COMES_BACK,
        lender=LENDING,
        borrower=BORROWING,
        answerable=Person("B. Curator"),
        user=Person("S. Student"),
        purpose="revision of the genus",
        lines=lines or (line(),),
    )
    return replace(made, **given)  # type: ignore[arg-type]


def gift(*lines: Line, **given: object) -> Transfer:
    return loan(*lines, kind=TransferKind.GIFT, ending=Ending.STAYS, **given)


def fact(step: Step, on: str = "2026-03-15", side: Side | None = None, **given: object) -> Fact:
    """A fact by the side that the table names, or the one given."""
    by = side or min(RULES[step].by, key=list(Side).index)
    return replace(Fact(step, by, "A. Person", date.fromisoformat(on)), **given)  # type: ignore[arg-type]


def moving(step: Step, count: int, on: str = "2026-03-15", key: str = "1", path: int = 0, **given: object) -> Fact:
    """A step that moves ``count`` of one line along the row's first path, or another."""
    source, target = RULES[step].paths[path]
    return fact(step, on, moves=(Move(key, source, target, count),), **given)


def path_of(step: Step, source: Account, target: Account) -> int:
    return RULES[step].paths.index((source, target))


def take(transfer: Transfer, facts: Sequence[Fact], *steps: Fact) -> tuple[Fact, ...]:
    taken = tuple(facts)
    for step in steps:
        taken = add_fact(transfer, taken, step, TODAY)
    return taken


def agreed(transfer: Transfer, on: str = "2026-03-01") -> tuple[Fact, ...]:
    text = agreement_digest(transfer)
    return take(
        transfer,
        (),
        fact(Step.WRITTEN, on, agreement=text),
        fact(Step.SIGNED, on, Side.LENDER, agreement=text),
        fact(Step.SIGNED, on, Side.BORROWER, agreement=text),
    )


def everything(step: Step, transfer: Transfer, on: str, **given: object) -> Fact:
    source, target = RULES[step].paths[0]
    return fact(step, on, moves=tuple(Move(part.key, source, target, part.count) for part in transfer.lines), **given)


def dispatched(transfer: Transfer, on: str = "2026-03-15") -> tuple[Fact, ...]:
    packed = everything(Step.PACKED, transfer, on)
    return take(transfer, agreed(transfer), packed, everything(Step.DISPATCHED, transfer, on))


def in_use(transfer: Transfer, sent: str = "2026-03-15", arrived: str = "2026-04-02") -> tuple[Fact, ...]:
    received = everything(Step.RECEIVED, transfer, arrived)
    return take(transfer, dispatched(transfer, sent), received, fact(Step.ACKNOWLEDGED, arrived))
