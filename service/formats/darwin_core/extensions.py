"""Rows of the GGBN Loan and Permit extensions (rs.gbif.org, issue of 2016-01-13) as loans and permits."""

import re
from datetime import date
from typing import Any

from service.core.lots import OnLoan
from service.core.transfers.permits import Permit, PermitKind, PermitStatus
from service.formats.darwin_core.reading import Values
from service.formats.darwin_core.said import Said, word


def loan_of(rows: list[Values], odd: Any) -> OnLoan | None:
    """The loan that a record is on, if any; ``odd`` is told of what is not as it should be."""
    if not rows:
        return None
    if len(rows) > 1:
        odd("several-loans", "The record has several rows of loans, and can be on one loan only; the last was taken.")
    row = Said(rows[-1])
    blocked = row.take("ggbn:blocked")
    return OnLoan(
        row.take("ggbn:loanIdentifier"),
        _day(row.take("ggbn:loanDate"), odd),
        row.take("ggbn:loanDestination"),
        row.take("ggbn:receivedFrom"),
        row.take("ggbn:loanConditions"),
        {"yes": True, "true": True, "no": False, "false": False}.get((blocked or "").lower()),
        _day(row.take("ggbn:blockedUntil"), odd),
    )


def permit_of(values: Values, odd: Any) -> Permit:
    """A permit as it was written down; ``odd`` is told of what is not as it should be."""
    row = Said(values)
    kind = word(PermitKind, row.take("ggbn:permitType"))
    status = word(PermitStatus, row.take("ggbn:permitStatus"))
    if kind is None or status is None:
        odd(
            "permit-unknown",
            "A permit is of no kind or status of the GGBN vocabularies; it was read as other, unknown.",
        )
    qualifier = row.take("ggbn:permitStatusQualifier") or ""
    known, unread = _validity(qualifier)
    texts = (row.take("ggbn:permitText"), unread)
    return Permit(
        kind or PermitKind.OTHER,
        status or PermitStatus.UNKNOWN,
        number=row.take("ggbn:permitURI"),
        text="\n".join(text for text in texts if text),
        **known,
    )


_VALID = re.compile(r"valid (\?|[0-9-]{10}) to (\?|[0-9-]{10})")
_COUNTRIES = re.compile(r"countries ([A-Z]{2}(?:, [A-Z]{2})*)")
_THIRD_PARTIES = {"third parties allowed": True, "third parties not allowed": False}


def _validity(qualifier: str) -> tuple[dict[str, Any], str]:
    """What this service writes into a permit's qualifier, and what it does not understand of it."""
    known: dict[str, Any] = {}
    unread: list[str] = []
    for part in filter(None, qualifier.split("; ")):
        if found := _VALID.fullmatch(part):
            known |= {"valid_from": _day_or_none(found[1]), "valid_until": _day_or_none(found[2])}
        elif found := _COUNTRIES.fullmatch(part):
            known["countries"] = tuple(found[1].split(", "))
        elif part in _THIRD_PARTIES:
            known["third_parties"] = _THIRD_PARTIES[part]
        else:
            unread.append(part)
    return known, "; ".join(unread)


def _day_or_none(written: str) -> date | None:
    try:
        return date.fromisoformat(written)
    except ValueError:
        return None


def _day(written: str | None, odd: Any) -> date | None:
    if written is None:
        return None
    day = _day_or_none(written[:10])
    if day is None:
        odd("date-unread", f"“{written[:40]}” is no date such as 2026-03-15.")
    return day
