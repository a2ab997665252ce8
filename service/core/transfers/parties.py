"""Who takes part in a transfer, and on which side."""

from dataclasses import dataclass
from enum import StrEnum


class Side(StrEnum):
    """The two sides. Where things change owner, the lender is the giver and the borrower the receiver."""

    LENDER = "lender"
    BORROWER = "borrower"

    @property
    def other(self) -> "Side":
        return Side.BORROWER if self is Side.LENDER else Side.LENDER


class PartyKind(StrEnum):
    """Who a side is."""

    INSTITUTION = "institution"
    """An institution of this service."""
    PRIVATE = "private"
    """A private person: a donor, a collector."""


@dataclass(frozen=True, slots=True)
class Party:
    """One side. ``country`` is ISO 3166-1 alpha-2; ``cites_code`` the code that its Management Authority gave it."""

    key: str
    name: str
    kind: PartyKind = PartyKind.INSTITUTION
    country: str | None = None
    cites_code: str | None = None


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who answers for a transfer or works with what was sent. ``institution`` is a party's key or a name."""

    name: str
    position: str | None = None
    institution: str | None = None
