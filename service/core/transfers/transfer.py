"""A transfer: what two sides mean to agree on, and the digest of its text that they sign."""

from dataclasses import dataclass
from enum import StrEnum
from hashlib import sha256

from service.core.errors import Invalid
from service.core.transfers.canonical import canonical, plain
from service.core.transfers.lines import Line, check_lines
from service.core.transfers.parties import Party, Person, Side
from service.core.transfers.terms import Terms


class TransferKind(StrEnum):
    """Why things go."""

    LOAN = "loan"
    """They come back."""
    GIFT = "gift"
    """They stay with the receiver."""
    EXCHANGE = "exchange"
    """One way of an exchange; the other way is a transfer of its own."""
    EMPTY_TRAYS = "empty_trays"
    """Trays, drawers or boxes with nothing in them."""


class Ending(StrEnum):
    """How a transfer ends."""

    COMES_BACK = "comes_back"
    """The lender stays the owner."""
    STAYS = "stays"
    """The receiver becomes the owner."""


_ENDINGS = {
    TransferKind.LOAN: frozenset({Ending.COMES_BACK}),
    TransferKind.GIFT: frozenset({Ending.STAYS}),
    TransferKind.EXCHANGE: frozenset({Ending.STAYS}),
    TransferKind.EMPTY_TRAYS: frozenset(Ending),
}
_CALLED = {Ending.COMES_BACK: ("lender", "borrower"), Ending.STAYS: ("giver", "receiver")}


@dataclass(frozen=True, slots=True)
class Transfer:
    """``answerable`` is the person of the receiving side who answers for everything; ``user`` the one who works with
    it (a student, a visitor), where that is somebody else. ``exchange`` links the two ways of one exchange.
    """

    key: str
    kind: TransferKind
    ending: Ending
    lender: Party
    borrower: Party
    answerable: Person
    purpose: str
    lines: tuple[Line, ...]
    user: Person | None = None
    terms: Terms = Terms()
    exchange: str | None = None

    def __post_init__(self) -> None:
        if self.ending not in _ENDINGS[self.kind]:
            raise Invalid("ending", f"A transfer of kind {self.kind} cannot end as “{self.ending}”.")
        if (self.kind is TransferKind.EXCHANGE) != (self.exchange is not None):
            raise Invalid("exchange", "The ways of an exchange, and nothing else, name the exchange they belong to.")
        if self.lender.key == self.borrower.key:
            raise Invalid("borrower", "Both sides are the same party; a transfer goes from one to another.")
        check_lines(self.lines, only_trays=self.kind is TransferKind.EMPTY_TRAYS)

    def party(self, side: Side) -> Party:
        return self.lender if side is Side.LENDER else self.borrower

    def called(self, side: Side) -> str:
        """What a sentence calls that side: lender and borrower, or giver and receiver."""
        return _CALLED[self.ending][0 if side is Side.LENDER else 1]


def agreement_digest(transfer: Transfer) -> str:
    """The SHA-256 of all that the two sides agree on. Signatures name it, so a changed line takes them back."""
    return sha256(canonical(plain(transfer))).hexdigest()
