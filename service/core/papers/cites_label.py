"""The text for the label of a scientific exchange under CITES, where a line names a listed taxon."""

from service.core.errors import Conflict
from service.core.papers.content import Align, Column, Content, Field, Fields, Row, Signatures, Table, Words, content
from service.core.papers.file import TransferFile
from service.core.papers.parts import cautions
from service.core.parcels.stock import Contact
from service.core.transfers.parties import Party, Side
from service.core.transfers.permits import crosses_border, is_cites_code

MISSING = "missing: ask your Management Authority"
#: What the label says of the contents; the words are remembered from the resolution, and each Authority has its own.
CONTENTS = "Herbarium specimens, preserved, dried or embedded museum specimens, for non-commercial scientific study"
ASK = (
    "The label itself is issued or approved by the Management Authority of the sender's country. This is a text to"
    " compare with it, and says nothing about whether the exemption applies: ask the Management Authorities of both"
    " countries before anything is sent. Compared with the article of the Convention on exchange between registered"
    " scientific institutions (Art. VII, paragraph 6) and Resolution Conf. 11.15 (Rev. CoP12), both from memory;"
    " later revisions were not read."
)


COLUMNS = (
    Column("Line", 8),
    Column("Listed as", 30, italic=True),
    Column("Appendix", 10),
    Column("Count", 8, Align.RIGHT, summed=True),
)


def cites_label(file: TransferFile) -> Content:
    """The label's text.

    :raises Conflict: when no line names a listed taxon, or when it stays in one country.
    """
    sender = file.transfer.party(file.sender)
    if crosses_border(file.transfer) is False:
        raise Conflict("paper_not_wanted", "Both sides are in one country; the label is for what crosses a border.")
    rows = tuple(
        Row(f"line {line.key}", (line.key, found.name, found.appendix, str(line.count)))
        for line in file.transfer.lines
        if line.taxon and (found := file.listed.find(line.taxon))
    )
    if not rows:
        day = file.listed.as_of.isoformat()
        raise Conflict(
            "paper_not_wanted",
            f"No line names a taxon of the list as of {day}; a line without a taxon may still hold one.",
        )
    return content(
        "CITES label text",
        file.about,
        Words("CITES", (CONTENTS,), framed=True),
        Fields(
            "Institutions", tuple(field for side in (file.sender, file.sender.other) for field in _side(file, side))
        ),
        Table("Listed taxa", COLUMNS, rows),
        cautions(file),
        Words(
            "Before it is used",
            (ASK, f"The list of taxa: as of {file.listed.as_of}. {file.listed.source}"),
        ),
        Signatures("Signatures", (f"Responsible officer of {sender.name}. Name, date",)),
    )


def _side(file: TransferFile, side: Side) -> tuple[Field, Field]:
    party, contact = file.transfer.party(side), file.contacts.get(side, Contact())
    role = "Sender" if side is file.sender else "Receiver"
    address = ", ".join((party.name, *contact.address))
    if not contact.address:
        address += " (address not stated)"
    return Field(f"{role}", address), Field(f"{role}'s code", _code(party))


def _code(party: Party) -> str:
    if party.cites_code is None:
        return MISSING
    if not is_cites_code(party.cites_code, party.country):
        return f"{party.cites_code} has not the form of a code: two letters of its country and three figures"
    return party.cites_code
