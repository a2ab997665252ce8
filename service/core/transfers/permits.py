"""Permits and letters as they were written down, and what a person should look at before something is posted.

Every answer here is a warning or a gap. Whether something may cross a border is for the authorities of both countries
and for whoever signs the customs form; nothing here says that it may.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from service.core.handbook.listed_taxa import Letter, ListedTaxa, ListedTaxon
from service.core.transfers.lines import Counted, Line
from service.core.transfers.notices import Notice, Weight
from service.core.transfers.parties import Party
from service.core.transfers.terms import ThirdParties
from service.core.transfers.transfer import Ending, Transfer

#: Two letters of the country and three figures (from memory: CITES Resolution Conf. 11.15 (Rev. CoP18)).
CITES_CODE = re.compile(r"[A-Z]{2}[0-9]{3}", re.ASCII)


class PermitKind(StrEnum):
    """The GGBN vocabulary of permit types (rs.gbif.org, vocabulary/ggbn/permit_type.xml)."""

    COLLECTING = "Collecting Permit"
    IMPORT = "Import Permit"
    EXPORT = "Export Permit"
    INTELLECTUAL_PROPERTY = "Intellectual Property Rights"
    COPYRIGHT = "Copyright"
    PATENT = "Patent"
    DATA_USE = "Data Use"
    PHYTOSANITARY = "Phytosanitary"
    SALVAGE = "Salvage"
    EXEMPTION = "Exemption Permit"
    MATERIAL_TRANSFER = "Material Transfer Agreement"
    COMPLIANCE_CERTIFICATE = "Internationally Recognized Certificate of Compliance"
    CONTRACT = "Contract"
    UNDERSTANDING = "Memorandum of Understanding"
    COOPERATION = "Memorandum of Cooperation"
    VETERINARY = "Veterinary Certificate"
    HUMAN_PATHOGENS = "Human Pathogens"
    GENETICALLY_MODIFIED = "Genetically Modified Organism"
    OTHER = "Other"


class PermitStatus(StrEnum):
    """The GGBN vocabulary of permit statuses (rs.gbif.org, vocabulary/ggbn/permit_status.xml)."""

    AVAILABLE = "Permit available"
    NOT_REQUIRED = "Permit not required"
    NOT_AVAILABLE = "Permit not available"
    UNKNOWN = "Unknown"


#: How many lines a sentence names before it says "and more"; the notice carries them all.
_IN_A_SENTENCE = 5
#: The kinds that speak of crossing a border.
_OF_BORDERS = frozenset({PermitKind.IMPORT, PermitKind.EXPORT, PermitKind.EXEMPTION, PermitKind.PHYTOSANITARY,
                         PermitKind.VETERINARY})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Permit:
    """One permit or letter. ``countries`` are those it names; ``third_parties`` is what it says about passing on."""

    kind: PermitKind
    status: PermitStatus = PermitStatus.UNKNOWN
    number: str | None = None
    valid_from: date | None = None
    valid_until: date | None = None
    countries: tuple[str, ...] = ()
    third_parties: bool | None = None
    text: str = ""

    @property
    def name(self) -> str:
        return f"{self.kind.value} {self.number}" if self.number else self.kind.value


def permit_notices(
    transfer: Transfer,
    permits: Iterable[Permit],
    listed: ListedTaxa,
    *,
    planned_return: date | None = None,
    third_party: str | None = None,
) -> tuple[Notice, ...]:
    """What to look at before a transfer is posted. An empty answer says that none of these rules found anything, and
    not that nothing is wanted.

    ``planned_return`` is the last due date; ``third_party`` somebody outside both parties who is to have it.
    """
    held = tuple(permits)
    return (
        *_border_notices(transfer, held),
        *_listed_notices(transfer, listed),
        *_ending_notices(held, planned_return),
        *_letter_notices(transfer, listed.letters),
        *third_party_notices(transfer, held, third_party),
    )


def is_cites_code(code: str, country: str | None) -> bool:
    """Whether a registration code has its form: five characters, beginning with the institution's country."""
    return CITES_CODE.fullmatch(code) is not None and (country is None or code.startswith(country))


def crosses_border(transfer: Transfer) -> bool | None:
    """Whether the two parties are in different countries; None when nobody stated one of them."""
    countries = (transfer.lender.country, transfer.borrower.country)
    return None if None in countries else countries[0] != countries[1]


def _border_notices(transfer: Transfer, permits: tuple[Permit, ...]) -> Iterable[Notice]:
    crosses = crosses_border(transfer)
    if crosses is None:
        yield Notice(
            "country-unknown", Weight.UNKNOWN, "Nobody stated the country of both parties; a border may lie between."
        )
    if crosses is False:
        return
    known = [p for p in permits if p.kind in _OF_BORDERS and p.status is not PermitStatus.UNKNOWN]
    if not known:
        sentence = "It may cross a border, and nobody stated which import or export papers it has or needs."
        yield Notice("permit-unknown", Weight.UNKNOWN, sentence)
    for permit in permits:
        if permit.status is PermitStatus.NOT_AVAILABLE:
            yield Notice("permit-missing", Weight.CAUTION, f"{permit.name} is written down as not available.")


def _listed_notices(transfer: Transfer, listed: ListedTaxa) -> Iterable[Notice]:
    if crosses_border(transfer) is False:
        return
    by_taxon: dict[ListedTaxon, list[str]] = {}
    unnamed: list[str] = []
    for line in transfer.lines:
        if line.counted is Counted.SPECIMEN and not line.taxon:
            unnamed.append(line.key)
        elif line.taxon and (found := listed.find(line.taxon)):
            by_taxon.setdefault(found, []).append(line.key)
    for taxon, keys in by_taxon.items():
        yield _listed_notice(transfer, listed, taxon, tuple(keys))
    if unnamed:
        sentence = f"No taxon is stated for these lines, so they may hold listed ones: {_few(unnamed)}."
        yield Notice("taxon-unknown", Weight.UNKNOWN, sentence, tuple(unnamed))


def _listed_notice(transfer: Transfer, listed: ListedTaxa, taxon: ListedTaxon, keys: tuple[str, ...]) -> Notice:
    without = [party for party in (transfer.lender, transfer.borrower) if not _has_code(party)]
    names = " and ".join(party.name for party in without)
    sentence = f"{taxon.name} stands in CITES Appendix {taxon.appendix} on a list as of {listed.as_of.isoformat()}."
    if without:
        sentence += (
            f" The exemption for scientific exchange asks both sides for a registration code; missing: {names}."
        )
    else:
        sentence += " Check the registration of both sides, and the label that the exemption asks for."
    return Notice("listed-taxon", Weight.CAUTION, sentence, keys, listed.source)


def _has_code(party: Party) -> bool:
    return party.cites_code is not None and is_cites_code(party.cites_code, party.country)


def _ending_notices(permits: tuple[Permit, ...], planned_return: date | None) -> Iterable[Notice]:
    for permit in permits:
        if permit.status is not PermitStatus.AVAILABLE:
            continue
        if permit.valid_until is None:
            sentence = f"Nobody stated until when {permit.name} is valid."
            yield Notice("permit-end-unknown", Weight.UNKNOWN, sentence)
        elif planned_return is not None and permit.valid_until < planned_return:
            ends, back = permit.valid_until.isoformat(), planned_return.isoformat()
            sentence = f"{permit.name} ends on {ends}, before the return on {back}."
            yield Notice("permit-ends-first", Weight.CAUTION, sentence)


def _letter_notices(transfer: Transfer, letters: tuple[Letter, ...]) -> Iterable[Notice]:
    if crosses_border(transfer) is False:
        return
    bound_for = {transfer.borrower.country}
    if transfer.ending is Ending.COMES_BACK:
        bound_for.add(transfer.lender.country)
    for letter in letters:
        if letter.country in bound_for:
            yield from _notices_of_letter(transfer, letter)


def _notices_of_letter(transfer: Transfer, letter: Letter) -> Iterable[Notice]:
    specimens = [line for line in transfer.lines if line.counted is Counted.SPECIMEN]
    concerned = [line.key for line in specimens if _falls_under(line, letter)]
    if concerned:
        sentence = f"{letter.sentence} Lines with {letter.called}: {_few(concerned)}."
        yield Notice("letter-wanted", Weight.CAUTION, sentence, tuple(concerned), letter.source)
    unplaced = [line.key for line in specimens if not line.groups and line.key not in concerned]
    if unplaced:
        sentence = f"{letter.sentence} No family is stated for these lines, so they may hold some: {_few(unplaced)}."
        yield Notice("group-unknown", Weight.UNKNOWN, sentence, tuple(unplaced), letter.source)


def _falls_under(line: Line, letter: Letter) -> bool:
    first_word = (line.taxon or "").split(" ", 1)[0]
    return not letter.groups.isdisjoint({*line.groups, first_word})


def _few(keys: list[str]) -> str:
    """The first keys of many, as a sentence has room for."""
    return ", ".join(keys[:_IN_A_SENTENCE]) + (" and more" if len(keys) > _IN_A_SENTENCE else "")


def third_party_notices(transfer: Transfer, permits: Iterable[Permit], named: str | None) -> Iterable[Notice]:
    """What permits and the lender say to a third party: the one named, or where the user works."""
    third_party = named or _institution_of_user(transfer)
    if third_party is None:
        return
    for permit in permits:
        if permit.third_parties is False:
            sentence = f"{permit.name} lets nothing go to a third party, and {third_party} is one."
            yield Notice("third-party-forbidden", Weight.AGAINST_TERMS, sentence)
    ruling = transfer.terms.third_parties
    if ruling is ThirdParties.ALLOWED:
        return
    weight = Weight.UNKNOWN if ruling is None else Weight.AGAINST_TERMS
    sentence = f"{third_party} is a third party; {_RULINGS[ruling]}."
    yield Notice("third-party", weight, sentence)


def _institution_of_user(transfer: Transfer) -> str | None:
    """Where the user works, if that is not with the borrower."""
    where = transfer.user.institution if transfer.user else None
    return None if where in {transfer.borrower.key, transfer.borrower.name} else where


_RULINGS = {
    None: "nobody stated what the lender says to that",
    ThirdParties.FORBIDDEN: "the lender lends to none",
    ThirdParties.WITH_APPROVAL: "the lender wants to be asked first",
}
