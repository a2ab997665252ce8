"""What to do while packing, and what to know before a parcel is handed over."""

from collections import Counter
from collections.abc import Iterator, Sequence

from service.core.handbook.cautions import work_caution
from service.core.handbook.figures import figure
from service.core.parcels.answer import InnerBox, Parcel
from service.core.parcels.limits import limits_of
from service.core.parcels.liquids import chemical_notices, liquid_notices
from service.core.parcels.pieces import Holds, Piece
from service.core.parcels.stock import Carrier, PackingBench
from service.core.transfers.notices import Notice, Weight


def instructions(
    pieces: Sequence[Piece], boxes: Sequence[InnerBox], parcels: Sequence[Parcel], bench: PackingBench
) -> tuple[str, ...]:
    """What to do, in the order in which it is done."""
    return (*_inside(pieces, boxes), *_around(parcels, bench)) if parcels else ()


def _inside(pieces: Sequence[Piece], boxes: Sequence[InnerBox]) -> Iterator[str]:
    if any(piece.holds is Holds.PINNED for piece in pieces):
        pins = int(figure("transit.card_corner_pins").value)
        bottom = figure("transit.bottom_least")
        yield (
            f"Pin into a bottom at least {bottom.as_written} thick that is glued down firmly. Set {pins} pins of the"
            " specimens' own height, one in each corner, and lay a card on them that holds the heads down; a layer of"
            " cotton presses on the card when the lid is shut."
        )
    if any(piece.heavy_bodied for piece in pieces):
        yield "Brace heavy and long bodies with pins on both sides, and whatever hangs loose as well."
    if any(piece.heavy_bodied is None and piece.holds is Holds.PINNED for piece in pieces):
        yield "Nobody stated for every piece whether it holds heavy-bodied specimens: look, and brace those."
    for box in boxes:
        wide, deep = box.card_width_nm / 1e6, box.card_depth_nm / 1e6
        card = f"; card {wide:g} × {deep:g} mm" if box.holds is Holds.PINNED else ""
        yield f"Inner box {box.number}: {len(box.trays)} trays, packed so that none slides{card}."


def _around(parcels: Sequence[Parcel], bench: PackingBench) -> Iterator[str]:
    yield work_caution("no_loose_fumigant_in_the_post").text
    for parcel in parcels:
        bound = "bind its contents together, " if parcel.is_bound else ""
        yield (
            f"Parcel {parcel.number}: {bound}wrap, stand on {parcel.padding.below_nm / 1e6:g} mm of padding and fill"
            f" all round, at least {bench.padding / 1e6:g} mm on every side; not so hard that the walls bulge."
        )
    yield "Lay the list on top of the padding inside and fix a copy outside; mark it “Fragile”, with upright arrows."
    if len({parcel.holds for parcel in parcels}) > 1:
        yield "Slides, vials and pinned specimens travel in parcels of their own."


def plan_notices(
    pieces: Sequence[Piece],
    boxes: Sequence[InnerBox],
    parcels: Sequence[Parcel],
    bench: PackingBench,
    carrier: Carrier | None,
) -> Iterator[Notice]:
    """Liquids and chemicals, what is not known of masses and limits, and what the carrier's limits say."""
    yield from chemical_notices(pieces)
    by_key = {piece.key: piece for piece in pieces}
    for parcel in parcels:
        if parcel.holds is Holds.FLUID:
            inside = [(by_key[key], count) for key, count in _pieces_in(parcel, boxes).items()]
            yield from liquid_notices(parcel.number, inside, bench.checked_edition)
        yield from _mass_notices(parcel, carrier)
    if carrier is None and parcels:
        sentence = "No carrier was named, so no limits were checked and nothing is charged; see the carrier's tariff."
        yield Notice("carrier-unknown", Weight.UNKNOWN, sentence)
    elif carrier is not None:
        yield from _carrier_notices(carrier)


def _pieces_in(parcel: Parcel, boxes: Sequence[InnerBox]) -> Counter[str]:
    """How many of each piece are in a parcel, in inner boxes too."""
    inner = {box.number: box.trays for box in boxes}
    trays = [tray for placed in parcel.placed if placed.inner_box for tray in inner[placed.inner_box]]
    return Counter(placed.piece for placed in (*parcel.placed, *trays) if placed.piece)


def _mass_notices(parcel: Parcel, carrier: Carrier | None) -> Iterator[Notice]:
    limits = limits_of(carrier)
    if parcel.mass_unknown:
        some = ", ".join(parcel.mass_unknown[:10]) + (" and more" if len(parcel.mass_unknown) > 10 else "")
        sentence = f"Parcel {parcel.number} weighs more than {parcel.known_mass_g} g; of unknown mass are: {some}."
        yield Notice("mass-unknown", Weight.UNKNOWN, sentence)
    if parcel.known_mass_g > limits.mass_g:
        whose = "the carrier's limit" if limits.of_carrier else "what one person should lift"
        sentence = f"Parcel {parcel.number} weighs {parcel.known_mass_g} g, more than {whose} of {limits.mass_g} g."
        yield Notice("too-heavy", Weight.CAUTION, sentence)
    if not limits.allow(parcel.outer):
        yield Notice("too-large", Weight.CAUTION, f"Parcel {parcel.number} is larger than the carrier takes.")


def _carrier_notices(carrier: Carrier) -> Iterator[Notice]:
    missing = [
        words
        for value, words in (
            (carrier.divisor_cm3_per_kg, "its divisor for volume"),
            (carrier.most_mass_g, "its limit of mass"),
            (carrier.longest_side_nm, "its limit for the longest side"),
            (carrier.girth_and_length_nm, "its limit of length and girth together"),
        )
        if value is None
    ]
    if missing:
        sentence = f"Of {carrier.name} nobody stated {', '.join(missing)}; what is not stated was not checked."
        yield Notice("carrier-terms-unknown", Weight.UNKNOWN, sentence)
