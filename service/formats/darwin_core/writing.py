"""Writing an archive: lots with who holds and who owns them, loans and permits as extensions, streamed.

Cells are written as they are, formulas too: an archive is data for programs, and a changed value would be wrong.
What another database told of a lot is written in its own words, where it says more than this service understood, and
what it did not say is not written. The first column names a row within the archive, for the extensions: it is no
term, need not be the lot's ``occurrenceID``, and is there where the lot has none.
"""

import io
import tempfile
import zipfile
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from typing import IO, Any, BinaryIO
from xml.sax.saxutils import quoteattr

from service.core.lots import Lot, OnLoan
from service.core.transfers.permits import Permit
from service.formats.darwin_core.about import About, eml
from service.formats.darwin_core.members import Table, add, member
from service.formats.darwin_core.occurrence import CORE, cells, key_of
from service.formats.darwin_core.shelf import Shelf
from service.formats.darwin_core.terms import GGBN, LOAN, OCCURRENCE, PERMIT, TEXT, whole

__all__ = ["About", "Counts", "terms_told", "write_archive"]

Cell = Callable[[Any], Any]


@dataclass(slots=True)
class Counts:
    """What was written; ``not_written`` are the terms of lots that the caller did not ask for, with how often."""

    lots: int = 0
    loans: int = 0
    permits: int = 0
    not_written: Counter[str] = field(default_factory=Counter)


_LOAN: Mapping[str, Cell] = {
    "loanIdentifier": lambda loan: loan.identifier,
    "loanDate": lambda loan: loan.sent_on,
    "loanDestination": lambda loan: loan.destination,
    "receivedFrom": lambda loan: loan.received_from,
    "loanConditions": lambda loan: loan.conditions,
    "blocked": lambda loan: {True: "yes", False: "no", None: None}[loan.blocked],
    "blockedUntil": lambda loan: loan.blocked_until,
}
_PERMIT: Mapping[str, Cell] = {
    "permitType": lambda permit: permit.kind,
    "permitStatus": lambda permit: permit.status,
    "permitStatusQualifier": lambda permit: _validity(permit),
    "permitURI": lambda permit: permit.number,
    "permitText": lambda permit: permit.text,
}


def _validity(permit: Permit) -> str:
    """What has no term of its own: from when to when, for which countries, and what is said to passing on."""
    told = []
    if permit.valid_from or permit.valid_until:
        told.append(f"valid {permit.valid_from or '?'} to {permit.valid_until or '?'}")
    if permit.countries:
        told.append(f"countries {', '.join(permit.countries)}")
    if permit.third_parties is not None:
        told.append(f"third parties {'allowed' if permit.third_parties else 'not allowed'}")
    return "; ".join(told)


def write_archive(target: BinaryIO, lots: Iterable[Lot], about: About, further: Sequence[str] = ()) -> Counts:
    """Write an archive as a zip file.

    ``further`` are the short names of terms of which lots that came from elsewhere have told: they get columns of
    their own.
    """
    counts = Counts()
    asked = [term for term in further if term not in CORE]
    with (
        tempfile.TemporaryFile() as loans,
        tempfile.TemporaryFile() as permits,
        zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as packed,
    ):
        # One file of a zip can be written at a time, so the extensions wait on disk until the core is through.
        with member(packed, "lots.csv", about.made_on) as core:
            _write_tables(core, loans, permits, lots, asked, counts)
        add(packed, "loans.csv", about.made_on, loans)
        add(packed, "permits.csv", about.made_on, permits)
        add(packed, "eml.xml", about.made_on, io.BytesIO(eml(about).encode()))
        add(packed, "meta.xml", about.made_on, io.BytesIO(_descriptor(asked).encode()))
    return counts


def _write_tables(
    core: IO[bytes], loans: IO[bytes], permits: IO[bytes], lots: Iterable[Lot], asked: list[str], counts: Counts
) -> None:
    rows, of_loans, of_permits = Table(core), Table(loans), Table(permits)
    rows.write(["id", *CORE, *asked])
    of_loans.write(["coreid", *_LOAN])
    of_permits.write(["coreid", *_PERMIT])
    with closing(Shelf()) as shelf:
        for number, lot in enumerate(lots, start=1):
            key = key_of(lot.row_id or lot.record, number, shelf)
            _write_lot(rows, key, lot, asked, counts)
            counts.loans += _write_loan(of_loans, key, lot.loan)
            for permit in lot.permits:
                of_permits.write([key, *(cell(permit) for cell in _PERMIT.values())])
                counts.permits += 1
    for table in (rows, of_loans, of_permits):
        table.finish()


def _write_lot(rows: Table, key: str, lot: Lot, asked: list[str], counts: Counts) -> None:
    told = dict(lot.told)
    rows.write([key, *cells(lot, CORE), *map(told.get, asked)])
    counts.lots += 1
    counts.not_written.update(term for term in told if term not in asked and term not in CORE)


def _write_loan(table: Table, key: str, loan: OnLoan | None) -> int:
    if loan is None:
        return 0
    table.write([key, *(cell(loan) for cell in _LOAN.values())])
    return 1


def _descriptor(asked: list[str]) -> str:
    core = _table("core", OCCURRENCE, "lots.csv", "id", [whole(term) for term in (*CORE, *asked)])
    loans = _table("extension", LOAN, "loans.csv", "coreid", [GGBN + term for term in _LOAN])
    permits = _table("extension", PERMIT, "permits.csv", "coreid", [GGBN + term for term in _PERMIT])
    head = '<?xml version="1.0" encoding="UTF-8"?>\n'
    return f'{head}<archive xmlns="{TEXT}" metadata="eml.xml">\n{core}{loans}{permits}</archive>\n'


def _table(element: str, row_type: str, file: str, key: str, terms: list[str]) -> str:
    columns = "".join(f'    <field index="{index}" term={quoteattr(term)}/>\n' for index, term in enumerate(terms, 1))
    written = (
        'encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" fieldsEnclosedBy="&quot;"'
        ' ignoreHeaderLines="1"'
    )
    return (
        f"  <{element} {written} rowType={quoteattr(row_type)}>\n"
        f"    <files><location>{file}</location></files>\n"
        f'    <{key} index="0"/>\n{columns}  </{element}>\n'
    )


def terms_told(lots: Iterable[Lot]) -> list[str]:
    """The terms that some lots have told of and this service has no field for, for ``further``."""
    return sorted({term for lot in lots for term, _ in lot.told if term not in CORE})
