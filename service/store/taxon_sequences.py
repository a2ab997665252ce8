"""The order in which an institution keeps its taxa, as it was uploaded."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from sqlalchemy import bindparam, delete, insert, select
from sqlalchemy.orm import Session

from service.core.arrangement.inventory import SystematicSequence, Taxon
from service.store.paging import Page, in_order_of, rows_of
from service.store.tables import taxon_sequence as table


@dataclass(frozen=True, slots=True)
class SequenceRow:
    """One place in the sequence, from 1; what is empty is not named."""

    position: int
    family: str
    genus: str
    species: str

    @property
    def name(self) -> str:
        """What stands on trays: of the species, or else of the genus, or else of the family."""
        if not self.species:
            return self.genus or self.family
        return self.species if not self.genus or " " in self.species else f"{self.genus} {self.species}"


_OWN = select(*table.c).where(table.c.institution_id == bindparam("asker"))
_LIST = in_order_of(_OWN, table.c.position)
_WHOLE = _OWN.order_by(table.c.position)
_CLEAR = delete(table).where(table.c.institution_id == bindparam("asker"))
_WRITE = insert(table)


def page(session: Session, institution_id: UUID, after: int | None, limit: int) -> Page[SequenceRow, int]:
    position = None if after is None else {"after": after}
    rows, more = rows_of(session, _LIST, position, limit, asker=institution_id)
    found = tuple(SequenceRow(row.position, row.family, row.genus, row.species) for row in rows)
    return Page(found, found[-1].position if more else None)


def rows(session: Session, institution_id: UUID) -> tuple[SequenceRow, ...]:
    """The whole sequence in its order."""
    found = session.execute(_WHOLE, {"asker": institution_id})
    return tuple(SequenceRow(row.position, row.family, row.genus, row.species) for row in found)


def of(session: Session, institution_id: UUID) -> SystematicSequence:
    """The sequence as the arithmetic reads it."""
    return SystematicSequence(tuple(Taxon(row.name, row.family, row.genus) for row in rows(session, institution_id)))


def replace(session: Session, institution_id: UUID, sequence: Iterable[SequenceRow]) -> None:
    """Put a sequence in place of the one that there is."""
    session.execute(_CLEAR, {"asker": institution_id})
    values = [
        {
            "institution_id": institution_id,
            "position": position,
            "family": row.family,
            "genus": row.genus,
            "species": row.species,
        }
        for position, row in enumerate(sequence, start=1)
    ]
    if values:
        session.execute(_WRITE, values)


def as_row(taxon: Taxon) -> SequenceRow:
    """A taxon of the arithmetic, as it is kept: by its parts where it has them."""
    genus, _, epithet = taxon.name.partition(" ")
    if epithet:
        species = epithet if taxon.genus == genus else taxon.name
        return SequenceRow(0, taxon.family, taxon.genus, species)
    if taxon.name == taxon.family:
        return SequenceRow(0, taxon.family, "", "")
    return SequenceRow(0, taxon.family, taxon.name, "")
