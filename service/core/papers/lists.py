"""The lists that travel with the specimens: what is in the box, what arrived, what comes back."""

from service.core.errors import Conflict
from service.core.papers.content import Align, Column, Content, Field, Fields, Row, Signatures, Table, Words, content
from service.core.papers.file import TransferFile
from service.core.papers.parts import (
    LINE_COLUMNS,
    cautions,
    in_all,
    line_cells,
    parties,
)
from service.core.transfers.facts import Step
from service.core.transfers.ledger import Account
from service.core.transfers.lines import Line
from service.core.transfers.parties import Side
from service.core.transfers.transfer import Ending

#: What stands at the head of a list, so that an empty cell is not read as a statement.
EMPTY_CELLS = "An empty cell was not stated."


def specimen_list(file: TransferFile) -> Content:
    """All lines in their order, with the sum of each page, carried on, and the total."""
    lines = file.transfer.lines
    with_due = file.transfer.ending is Ending.COMES_BACK
    columns = (*LINE_COLUMNS, *((Column("Due back", 12),) if with_due else ()))
    rows = tuple(Row(f"line {line.key}", _listed(file, line, with_due)) for line in lines)
    return content(
        "Specimen list",
        file.about,
        parties(file),
        _counts(file),
        cautions(file),
        Table("Lines", columns, rows),
    )


def _listed(file: TransferFile, line: Line, with_due: bool) -> tuple[str, ...]:
    due = file.dues.get(line.key)
    when = "" if due is None or due.on is None else due.on.isoformat()
    return (*line_cells(line), *((when,) if with_due else ()))


def _counts(file: TransferFile) -> Fields:
    lines = file.transfer.lines
    said = Field("In all", in_all(lines))
    return Fields("What", (said, Field("How to read it", EMPTY_CELLS)))


def receipt(file: TransferFile) -> Content:
    """The acknowledgement of receipt: what was sent, what the receiver has counted so far, and room to write.

    :raises Conflict: when nothing has been sent yet.
    """
    if file.standing.dispatched_on is None:
        raise Conflict("paper_too_early", "Nothing has been dispatched yet, so there is nothing to acknowledge.")
    columns = (*LINE_COLUMNS[:2], Column("Sent", 9, Align.RIGHT, summed=True),
               Column("Counted on arrival", 12, Align.RIGHT, summed=True), Column("Condition on arrival", 24),
               Column("By hand", 14))  # fmt: skip
    rows = tuple(_arrived(file, line) for line in file.transfer.lines if _sent(file, line))
    return content(
        "Acknowledgement of receipt",
        file.about,
        parties(file),
        Fields("Journey", (
            Field("Dispatched on", file.standing.dispatched_on.isoformat()),
            Field("Received on", _day(file.standing.received_on)),
            Field("Acknowledged in the service", "yes" if file.standing.acknowledged else "not yet"),
        )),
        cautions(file),
        Table("Lines", columns, rows),
        Words("What to do", (
            "Count each line against this list, note damage in the last column, sign, and send one copy back.",
            "Bag and quarantine before anything is placed; do not open a cold box before it has come to room warmth.",
        )),
        Signatures("Signatures", (f"Received by, for {file.transfer.borrower.name}. Name, date",)),
    )  # fmt: skip


def _sent(file: TransferFile, line: Line) -> int:
    moved = (move for fact in file.facts if fact.step is Step.DISPATCHED for move in fact.moves)
    return sum(move.count for move in moved if move.line == line.key)


def _arrived(file: TransferFile, line: Line) -> Row:
    counted = sum(
        move.count
        for fact in file.facts
        if fact.side is Side.BORROWER or fact.step is Step.DIFFERENCE_SETTLED
        for move in fact.moves
        if move.line == line.key and move.target is Account.BORROWER and move.source is Account.TRANSIT_OUT
    )
    arrived = (seen for fact in file.facts if fact.step is Step.RECEIVED for seen in fact.seen)
    seen = [each for each in arrived if each.line == line.key]
    return Row(f"line {line.key}", (
        line.key, line.taxon or line.remarks, str(_sent(file, line)), str(counted) if counted else "",
        "; ".join(_condition(each.condition, each.note) for each in seen), "",
    ))  # fmt: skip


def _condition(step: object, note: str) -> str:
    said = getattr(step, "name", "").lower().replace("_", " ")
    return ", ".join(part for part in (said, note) if part)


def return_note(file: TransferFile) -> Content:
    """The note that goes with what comes back: per line what was lent, what is away for good, and what comes now.

    :raises Conflict: for what is given, and while nothing has been received.
    """
    if file.transfer.ending is Ending.STAYS:
        raise Conflict("paper_too_early", "This is given, not lent; nothing comes back.")
    if file.standing.received_on is None:
        raise Conflict("paper_too_early", "Nothing has been received yet, so nothing can come back.")
    columns = (*LINE_COLUMNS[:2], *(
        Column(name, 9, Align.RIGHT, summed=True)
        for name in ("Lent", "Back before", "On its way", "Not yet sent", "Kept or gone")
    ), Column("By hand", 12))  # fmt: skip
    rows = tuple(_returning(file, line) for line in file.transfer.lines if file.tally(line).lent)
    return content(
        "Return note",
        file.about,
        parties(file),
        Fields("Journey", (Field("Last sent back on", _day(file.standing.last_sent_back_on)),)),
        cautions(file),
        Table("Lines", columns, rows),
        Words("What to do", (
            "Return in the original or a comparable container, by the same carrier or a better one; slides and vials"
            " travel apart from pinned specimens.",
            "Take off the borrower's own temporary labels first.",
        )),
        Signatures("Signatures", (
            f"Sent by, for {file.transfer.borrower.name}. Name, date",
            f"Counted back by, for {file.transfer.lender.name}. Name, date",
        )),
    )  # fmt: skip


def _returning(file: TransferFile, line: Line) -> Row:
    held, said = file.held.get(line.key, {}), file.tally(line)
    gone = said.retained + said.passed_on + said.consumed + said.lost
    counts = (
        said.lent, said.returned, held.get(Account.TRANSIT_BACK, 0),
        held.get(Account.BORROWER, 0) + held.get(Account.TRANSIT_OUT, 0), gone,
    )  # fmt: skip
    return Row(f"line {line.key}", (line.key, line.taxon or line.remarks, *map(str, counts), ""))


def _day(day: object) -> str:
    return "not yet" if day is None else str(day)
