"""How much of a taxon may be lent at once, and how much of a loan may be kept. Every share is rounded down."""

from fractions import Fraction

from service.core.transfers.lines import Line
from service.core.transfers.notices import Notice, Weight
from service.core.transfers.terms import Terms


def share_of(count: int, share: Fraction) -> int:
    """The whole specimens in a share of a count, rounded down: a third of 10 is 3."""
    return count * share.numerator // share.denominator


def lent_at_once(terms: Terms, taxon: str, held: int | None, already_out: int, asked: int) -> Notice | None:
    """What the lender's largest share says to lending ``asked`` more of a taxon of which ``held`` are owned."""
    if terms.largest_share_lent is None:
        return None
    if held is None:
        sentence = f"Nobody stated how many of {taxon} the lender holds, so its largest share cannot be worked out."
        return Notice("holding-unknown", Weight.UNKNOWN, sentence)
    most = share_of(held, terms.largest_share_lent)
    if already_out + asked <= most:
        return None
    sentence = (
        f"Of {held} {taxon} the lender lets {most} out at a time;"
        f" {already_out} are out and {asked} more are asked for."
    )
    return Notice("share-lent", Weight.AGAINST_TERMS, sentence)


def most_kept(terms: Terms, identified: int, *, describing: bool = False) -> int | None:
    """How many of the unidentified specimens that the borrower identified may be kept; None if nobody stated it.

    ``describing``: the borrower describes new species from them, for which some lenders give a larger share.
    """
    larger = terms.share_kept_describing if describing else None
    share = terms.share_kept if larger is None else larger
    return None if share is None else share_of(identified, share)


def keeping(
    terms: Terms, line: Line, asked: int, already_kept: int = 0, *, describing: bool = False
) -> Notice | None:
    """What the lender's rules say to keeping ``asked`` of a line; None when they raise nothing."""
    return (
        _kept_types(terms, line)
        or _kept_unique(terms, line, asked + already_kept)
        or _kept_share(terms, line, asked + already_kept, describing)
    )


def _kept_types(terms: Terms, line: Line) -> Notice | None:
    status = line.type_status
    if status is None:
        sentence = f"Nobody stated whether {line.name} holds types; types go back."
        return Notice("type-status-unknown", Weight.UNKNOWN, sentence, (line.key,))
    if not (status.is_primary or status in terms.must_return):
        return None
    sentence = f"{line.name.capitalize()} is {status.value}: it goes back to the lender."
    return Notice("must-return", Weight.REFUSED, sentence, (line.key,))


def _kept_unique(terms: Terms, line: Line, kept: int) -> Notice | None:
    if not terms.uniques_return or kept < line.count:
        return None
    sentence = f"All {line.count} of {line.name} would be kept; the lender wants at least one of each back."
    return Notice("unique", Weight.AGAINST_TERMS, sentence, (line.key,))


def _kept_share(terms: Terms, line: Line, kept: int, describing: bool) -> Notice | None:
    most = most_kept(terms, line.count, describing=describing)
    if most is None:
        sentence = f"The lender states no share that may be kept; ask before keeping any of {line.name}."
        return Notice("share-kept-unknown", Weight.UNKNOWN, sentence, (line.key,))
    if kept <= most:
        return None
    sentence = f"{kept} of {line.count} in {line.name} would be kept; the lender lets {most} be kept."
    return Notice("share-kept", Weight.AGAINST_TERMS, sentence, (line.key,))
