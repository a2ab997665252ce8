"""Liquids and chemicals in a parcel: what was looked at, by which edition, and whom to ask.

Whether a parcel may travel is never said here. The figures are of a rule that is issued anew every year, and they are
remembered: they warn, and where they would reassure, somebody has to have read an edition. Whoever sends has the
edition in force, the carrier, and the authority to ask.
"""

from collections.abc import Iterable, Iterator

from service.core.care.cautions import LEAVES_NOTHING
from service.core.handbook.cautions import people_caution, work_caution
from service.core.handbook.figures import figure
from service.core.materials import plainly
from service.core.parcels.pieces import Fluid, Holds, Piece
from service.core.transfers.notices import Notice, Weight

#: The wording that the provision asks for on the papers, once the sender has checked that it applies. From memory, as
#: the figures are: it is to be copied from the edition in force.
PROVISION_WORDING = "scientific research specimens, not restricted, Special Provision A180 applies"


def within_provision(millilitres_each: float, millilitres_total: float) -> bool:
    """Whether both amounts stay within the provision's figures as remembered, in one inner container and in all."""
    return millilitres_each <= _most_each() and millilitres_total <= most_in_a_parcel_ml()


def most_in_a_parcel_ml() -> float:
    return float(figure("parcel.liquid_total_most").value)


def _most_each() -> float:
    return float(figure("parcel.liquid_inner_most").value)


def millilitres(fluid: Fluid | None) -> float | None:
    """Liquid in one piece; None where a figure is missing."""
    if fluid is None or fluid.inner_count is None or fluid.millilitres_each is None:
        return None
    return fluid.inner_count * fluid.millilitres_each


def liquid_notices(parcel: int, inside: Iterable[tuple[Piece, int]], edition: str | None) -> Iterator[Notice]:
    """What to know of the liquid in one parcel; ``inside`` are its pieces of fluid, each with how many of them."""
    wet = [(piece, count) for piece, count in inside if piece.holds is Holds.FLUID]
    if not wet:
        return
    lines = tuple(sorted({line for piece, _ in wet for line in piece.lines}))
    each = [piece.fluid.millilitres_each if piece.fluid else None for piece, _ in wet]
    amounts = [millilitres(piece.fluid) for piece, _ in wet]
    if None in amounts or None in each:
        sentence = f"Parcel {parcel}: nobody stated how much liquid is in each vial and how many there are."
        yield Notice("liquid-unknown", Weight.UNKNOWN, f"{sentence} {_whom_to_ask(edition)}", lines, _source())
        return
    most = max(amount for amount in each if amount is not None)
    total = sum((amount or 0) * count for amount, (_, count) in zip(amounts, wet, strict=True))
    code, weight, verdict = _verdict(most, total, edition)
    sentence = f"Parcel {parcel}: {most:g} mL in one container at most and {total:g} mL in all, {verdict}."
    named = sorted({_name(piece.fluid) for piece, _ in wet})
    sentence += f" Liquid: {', '.join(named)}. {_whom_to_ask(edition)}"
    yield Notice(code, weight, sentence, lines, _source())


def _verdict(each: float, total: float, edition: str | None) -> tuple[str, Weight, str]:
    """The word for programs, its weight, and what is said. A remembered figure may warn; it never clears alone."""
    limits = f"{_most_each():g} mL and {most_in_a_parcel_ml():g} mL"
    if not within_provision(each, total):
        doubt = "do not count on the provision for specimens"
        return "liquid-beyond", Weight.CAUTION, f"which is more than the remembered {limits}: {doubt}"
    if edition:
        return "liquid-within", Weight.CAUTION, f"which stays within the remembered {limits}"
    open_ = "whether the provision for specimens covers it is unknown until somebody has read it"
    return "liquid-unread", Weight.UNKNOWN, f"which is not more than the remembered {limits}; {open_}"


def _name(fluid: Fluid | None) -> str:
    stated = [part for part in ((fluid.name, fluid.un_number) if fluid else ()) if part]
    return " ".join(stated) or "not stated"


def _whom_to_ask(edition: str | None) -> str:
    read = f"The sender states that it has read {edition}." if edition else "No edition of the rule was read."
    return (
        f"Compared with special provision A180 as remembered, for carriage by air alone. {read} Ask the carrier, and"
        " the edition in force, before it is handed over; road and post have rules of their own."
    )


def _source() -> str:
    return figure("parcel.liquid_inner_most").source


def chemical_notices(pieces: Iterable[Piece]) -> Iterator[Notice]:
    """Chemicals that lie in what is to be packed, and pieces of which nobody said whether any do."""
    unknown: list[str] = []
    for piece in pieces:
        if piece.fumigants is None:
            unknown.append(piece.key)
        for chemical in sorted(set(piece.fumigants or ()) - LEAVES_NOTHING):
            caution = work_caution("no_loose_fumigant_in_the_post")
            sentence = (
                f"{piece.key}: take the {plainly(chemical)} out before it is packed, air it, and tell the receiver"
                f" that residues may be left. {caution.text} {people_caution(chemical).text}"
            )
            yield Notice("fumigant-in-box", Weight.CAUTION, sentence, piece.lines, caution.source)
    if unknown:
        some = ", ".join(unknown[:10]) + (" and more" if len(unknown) > 10 else "")
        sentence = f"Nobody stated whether a fumigant lies in: {some}. Look before packing; unknown is not none."
        yield Notice("fumigant-unknown", Weight.UNKNOWN, sentence)
