"""The agreement that both sides sign: who, what for, on which terms, how much, and who has signed so far."""

from collections.abc import Iterator
from fractions import Fraction

from service.core.papers.content import Column, Content, Field, Fields, Row, Signatures, Table, Words, content
from service.core.papers.file import TransferFile
from service.core.papers.parts import NOT_STATED, cautions, in_all, parties, table_of
from service.core.transfers.calendar import Duration, YearlyWindow
from service.core.transfers.facts import Step
from service.core.transfers.parties import Side
from service.core.transfers.permits import Permit
from service.core.transfers.terms import ThirdParties
from service.core.transfers.transfer import Ending, TransferKind, agreement_digest

TITLES = {
    TransferKind.LOAN: "Loan agreement",
    TransferKind.GIFT: "Agreement on a gift",
    TransferKind.EXCHANGE: "Agreement on an exchange",
    TransferKind.EMPTY_TRAYS: "Agreement on empty trays",
}
#: Lines that an agreement lists itself; with more, it says how many there are and leaves them to the specimen list.
LISTED_HERE = 40
_THIRD_PARTIES = {
    None: NOT_STATED,
    ThirdParties.FORBIDDEN: "nothing goes to a third party",
    ThirdParties.WITH_APPROVAL: "only after the lender has been asked and has agreed",
    ThirdParties.ALLOWED: "may go on to a third party",
}


def agreement(file: TransferFile) -> Content:
    """The agreement, to be signed by hand beside the signatures that the service holds."""
    transfer = file.transfer
    few = len(transfer.lines) <= LISTED_HERE
    return content(
        TITLES[transfer.kind],
        file.about,
        parties(file),
        _what(file),
        _terms(file) if transfer.ending is Ending.COMES_BACK else None,
        table_of("Lines", transfer.lines) if few else None,
        _permits(file),
        cautions(file),
        _signed(file),
        Signatures(
            "Signatures",
            tuple(f"{transfer.called(side).capitalize()}: {transfer.party(side).name}. Name, date" for side in Side),
        ),
    )


def _what(file: TransferFile) -> Fields:
    transfer = file.transfer
    dues = sorted({due.on for due in file.dues.values() if due.on})
    if not dues:
        due = "follows from the terms; no clock has started yet" if file.dues else "it is given, not lent"
    elif len(dues) == 1:
        due = dues[0].isoformat()
    else:
        due = f"{dues[0].isoformat()} to {dues[-1].isoformat()}; each line in the specimen list"
    rows = (
        Field("In all", in_all(transfer.lines)),
        Field("Due back", due),
        Field("Digest of this text", agreement_digest(transfer)),
    )
    return Fields("What", rows)


def _terms(file: TransferFile) -> Fields:
    terms = file.transfer.terms
    lengths = [
        Field(f"Length, {rule.applies_to.replace('_', ' ')}", f"{_so_long(rule.length)} from {rule.clock}")
        for rule in terms.lengths
    ] or [Field("Length", NOT_STATED)]
    must_return = ", ".join(sorted(status.replace("_", " ") for status in terms.must_return))
    return Fields(
        "Terms",
        (
            *lengths,
            Field("Nothing is posted", "; ".join(map(_window, terms.no_post)) or "no days stated"),
            Field("May be kept", _share(terms.share_kept)),
            Field("May be kept for new taxa described", _share(terms.share_kept_describing)),
            Field("Always comes back", must_return),
            Field("Third parties", _THIRD_PARTIES[terms.third_parties]),
            Field("Notice of a recall", _so_long(terms.recall_notice) if terms.recall_notice else NOT_STATED),
        ),
    )


def _window(window: YearlyWindow) -> str:
    """Days of every year, month before day as in ISO 8601: “12-15 to 01-06, parcels lie in depots”."""
    first, last = (f"{month:02}-{day:02}" for month, day in (window.first, window.last))
    return f"{first} to {last}" + (f", {window.why}" if window.why else "")


def _so_long(length: Duration) -> str:
    """A length of time in words: “2 years”, “1 year 6 months”, “60 days”."""
    years, months = divmod(length.months, 12)
    parts = ((years, "year"), (months, "month"), (length.days, "day"))
    return " ".join(f"{count} {unit}" + ("" if count == 1 else "s") for count, unit in parts if count) or "0 days"


def _share(share: Fraction | None) -> str:
    return NOT_STATED if share is None else f"{share} of a line, rounded down, after the lender has agreed"


def _permits(file: TransferFile) -> Words:
    said = tuple(map(_permit, file.permits)) or ("No permit or letter is written down for this transfer.",)
    last = "What is wanted at a border is for the authorities of both countries to say; this list records."
    return Words("Permits and letters", (*said, last))


def _permit(permit: Permit) -> str:
    until = f", valid until {permit.valid_until.isoformat()}" if permit.valid_until else ""
    return f"{permit.name}: {permit.status.value.lower()}{until}"


def _signed(file: TransferFile) -> Table:
    rows = tuple(Row(who, (who, *cells)) for who, cells in _signatures(file))
    return Table("Signed in the service", (Column("Side", 12), Column("By", 30), Column("On", 12)), rows)


def _signatures(file: TransferFile) -> Iterator[tuple[str, tuple[str, str]]]:
    """The signature of each side that stands under the text as it now reads."""
    for side in Side:
        own = [fact for fact in file.facts if fact.step is Step.SIGNED and fact.side is side]
        stands = side in file.standing.signed and own
        yield file.transfer.called(side), (own[-1].by, own[-1].on.isoformat()) if stands else ("not yet", "")
