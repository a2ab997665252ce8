"""What stands on the parcel and on its customs form: words to copy, and what was looked at before."""

from collections.abc import Iterator

from service.core.papers.content import Align, Column, Content, Field, Fields, Row, Signatures, Table, Words, content
from service.core.papers.file import TransferFile
from service.core.papers.parts import NOT_STATED, cautions, counted_words
from service.core.parcels.answer import Parcel
from service.core.parcels.from_lines import HOLDS
from service.core.parcels.liquids import PROVISION_WORDING
from service.core.parcels.pieces import Holds
from service.core.parcels.stock import Contact
from service.core.transfers.lines import Counted
from service.core.transfers.parties import Side
from service.core.transfers.permits import crosses_border
from service.core.transfers.transfer import Ending

#: What the contents are called, after the wiki of the Society for the Preservation of Natural History Collections
#: (“Shipping and Handling of Dangerous Goods”): “preserved museum specimens” with the detail, and never “scientific
#: specimens” alone.
CALLED = "Preserved museum specimens"
_DETAIL = {
    Holds.PINNED: "dried insects on pins",
    Holds.DRY: "dried insects",
    Holds.SLIDES: "insects on microscope slides",
    Holds.FLUID: "insects in vials of preserving liquid",
}
NEVER = (
    "Nothing on this paper says that the parcel may travel. Whether it may, and with which papers, is for the"
    " carrier, the customs, and the wildlife and plant health authorities of both countries to say: ask them before"
    " it is handed over."
)


def parcel_text(file: TransferFile) -> Content:
    """The words for the parcel and for customs. What nobody stated is said to be not stated."""
    return content(
        "Parcel and customs text",
        file.about,
        _address(file, file.sender, "From"),
        _address(file, file.sender.other, "To"),
        Words("On the outside", ("FRAGILE · THIS SIDE UP ↑ ↑", contents_words(file)), framed=True),
        _customs(file),
        _parcels(file),
        Words("Packing", file.parcels.instructions) if file.parcels and file.parcels.instructions else None,
        Words("What was looked at", tuple(_looked_at(file))),
        cautions(file),
        Signatures("Signatures", (f"Packed by, for {file.transfer.party(file.sender).name}. Name, date",)),
    )


def contents_words(file: TransferFile) -> str:
    """The contents as a customs form wants them: what, how prepared, how many, and what for."""
    lines = file.transfer.lines
    if all(line.counted is not Counted.SPECIMEN for line in lines):
        return f"Empty storage equipment for museum specimens: {counted_words(lines)}; no commercial value stated"
    prepared = {HOLDS.get(line.preparation) if line.preparation else None for line in lines}
    details = [_DETAIL[holds] for holds in Holds if holds in prepared]
    detail = " and ".join(details) or "insects, preparation not stated"
    if file.sender is Side.BORROWER:
        return f"{CALLED}: {detail}, dead; returned from scientific study"
    use = "on loan, to be returned" if file.transfer.ending is Ending.COMES_BACK else "to stay with the receiver"
    return f"{CALLED}: {detail}, dead; {counted_words(lines)}; for scientific study, {use}"


def _address(file: TransferFile, side: Side, title: str) -> Fields:
    party, contact = file.transfer.party(side), file.contacts.get(side, Contact())
    rows = (
        Field("Name", contact.name or party.name),
        Field("Address", ", ".join(contact.address) or NOT_STATED),
        Field("Country", party.country or NOT_STATED),
        Field("Telephone", contact.telephone or NOT_STATED),
        Field("E-mail", contact.email or NOT_STATED),
        *((Field("EORI number", contact.eori),) if contact.eori else ()),
    )
    return Fields(title, rows)


def _customs(file: TransferFile) -> Fields:
    crosses = {True: "yes", False: "no", None: "unknown: a country is not stated"}[crosses_border(file.transfer)]
    permits = ", ".join(permit.name for permit in file.permits) or "none is written down"
    return Fields(
        "For customs",
        (
            Field("Crosses a border", crosses),
            Field("Contents", contents_words(file)),
            Field("Tariff code", file.tariff_code or NOT_STATED),
            Field("Permits and letters", permits),
        ),
    )


def _parcels(file: TransferFile) -> Table | None:
    if file.parcels is None:
        return None
    columns = (
        Column("Parcel", 8), Column("Outside, mm", 20), Column("Holds", 12),
        Column("Things", 8, Align.RIGHT, summed=True), Column("Least padding, mm", 12, Align.RIGHT),
        Column("Known mass, g", 12, Align.RIGHT, summed=True),
        Column("Charged, g", 14, Align.RIGHT),
    )  # fmt: skip
    return Table("Parcels", columns, tuple(map(_parcel, file.parcels.parcels)))


def _parcel(parcel: Parcel) -> Row:
    outer = parcel.outer
    size = " × ".join(f"{side / 1e6:g}" for side in (outer.width_nm, outer.depth_nm, outer.height_nm))
    at_least = "at least " if parcel.mass_unknown else ""
    charged = NOT_STATED if parcel.chargeable_g is None else f"{at_least}{parcel.chargeable_g}"
    cells = (
        str(parcel.number), size, parcel.holds.value, str(len(parcel.placed)),
        f"{parcel.padding.least_nm / 1e6:g}", str(parcel.known_mass_g), charged,
    )  # fmt: skip
    return Row(f"parcel {parcel.number}", cells)


def _looked_at(file: TransferFile) -> Iterator[str]:
    plan = file.parcels
    if plan is None:
        yield "No plan of parcels was given, so sizes, masses, liquids and fumigants were not looked at."
    else:
        yield from (notice.sentence for notice in plan.notices)
        if plan.left_out:
            some = ", ".join(each.piece for each in plan.left_out[:10]) + (" and more" if plan.left_out[10:] else "")
            yield f"Not in the plan, because a fact is missing: {some}."
        if any(notice.code == "liquid-within" for notice in plan.notices):
            yield (
                "Once you have checked that the provision applies, copy its wording from the edition that you read;"
                f" as remembered it is: “{PROVISION_WORDING}”."
            )
    yield NEVER
