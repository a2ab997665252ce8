"""The parts that several papers have in common."""

from collections.abc import Iterable, Sequence

from service.core.care.cautions import handling_cautions
from service.core.papers.content import Align, Column, Field, Fields, Row, Table, Words
from service.core.papers.file import TransferFile
from service.core.transfers.lines import Line
from service.core.transfers.parties import Party, Person, Side

NOT_STATED = "not stated"
LINE_COLUMNS = (
    Column("Line", 9),
    Column("Taxon", 30, italic=True),
    Column("Preparation", 12),
    Column("Type", 12),
    Column("Catalogue numbers", 20),
    Column("Count", 8, Align.RIGHT, summed=True),
)


def line_cells(line: Line) -> tuple[str, ...]:
    """What the columns above say of a line; what nobody stated is left empty, since a list says so at its head."""
    of_type = "" if line.type_status is None else line.type_status.replace("_", " ")
    return (
        line.key,
        line.taxon or line.remarks,
        "" if line.preparation is None else line.preparation.replace("_", " "),
        of_type,
        ", ".join(line.catalogue_numbers),
        str(line.count),
    )


def table_of(title: str, lines: Iterable[Line]) -> Table:
    """The lines, with a sum on each page and in all."""
    return Table(title, LINE_COLUMNS, tuple(Row(f"line {line.key}", line_cells(line)) for line in lines))


def party_words(party: Party) -> str:
    country = f", {party.country}" if party.country else ""
    return f"{party.name}{country}"


def person_words(person: Person | None) -> str:
    if person is None:
        return NOT_STATED
    return ", ".join(part for part in (person.name, person.position, person.institution) if part)


def parties(file: TransferFile) -> Fields:
    """Who sends to whom, and who answers for it."""
    transfer = file.transfer
    sides = [Field(transfer.called(side).capitalize(), party_words(transfer.party(side))) for side in Side]
    user = [Field("Works with it", person_words(transfer.user))] if transfer.user else []
    answers = Field("Answers for it", person_words(transfer.answerable))
    return Fields("Who", (*sides, answers, *user, Field("Purpose", transfer.purpose)))


def in_all(lines: Sequence[Line]) -> str:
    """Everything together: “120 specimens, 4 unit trays, on 7 lines”."""
    return f"{counted_words(lines)}, on {_so_many(len(lines), 'line')}"


def counted_words(lines: Iterable[Line]) -> str:
    """How many of each thing that is counted: “120 specimens, 4 unit trays”."""
    sums: dict[str, int] = {}
    for line in lines:
        sums[line.counted.value] = sums.get(line.counted.value, 0) + line.count
    return ", ".join(_so_many(count, what.replace("_", " ")) for what, count in sums.items()) or "nothing"


def _so_many(count: int, thing: str) -> str:
    plural = thing + ("es" if thing.endswith("box") else "s")
    return f"{count} {thing if count == 1 else plural}"


def cautions(file: TransferFile) -> Words | None:
    """What people who open the box or handle the material have to mind; None when nothing was ever used on it."""
    said = handling_cautions(line.treatments_used for line in file.transfer.lines)
    return Words("Handle with care", tuple(caution.sentence for caution in said), framed=True) if said else None
