"""A line of a transfer: a counted lot, with or without catalogue numbers.

Most of what is lent was never catalogued, so a line says what it can: the name on the tray, how many, how they are
prepared and in what they travel. A field that is ``None`` was not stated, and nobody may read it as fine.
"""

from dataclasses import dataclass
from enum import IntEnum, StrEnum

from service.core.consignment import Container, Pins
from service.core.errors import Invalid
from service.core.materials import Treatment


class Counted(StrEnum):
    """What the count of a line counts."""

    SPECIMEN = "specimen"
    UNIT_TRAY = "unit_tray"
    DRAWER = "drawer"
    STORAGE_BOX = "storage_box"


class Preparation(StrEnum):
    """How the specimens are prepared."""

    PINNED = "pinned"
    """A pin through the body."""
    POINTED = "pointed"
    """Glued to the tip of a point that is pinned."""
    CARDED = "carded"
    """Glued onto a card that is pinned."""
    SPREAD = "spread"
    """Pinned, with the wings spread."""
    PAPERED = "papered"
    """Dry and unmounted, in folded papers or envelopes."""
    SLIDE = "slide"
    """On a microscope slide."""
    IN_FLUID = "in_fluid"
    """In a vial, in a preserving liquid."""
    OTHER = "other"


class TypeStatus(StrEnum):
    """Words of the GBIF vocabulary (rs.gbif.org, vocabulary/gbif/type_status.xml), and one for no type."""

    NOT_A_TYPE = "not_a_type"
    HOLOTYPE = "holotype"
    LECTOTYPE = "lectotype"
    NEOTYPE = "neotype"
    SYNTYPE = "syntype"
    ALLOTYPE = "allotype"
    PARATYPE = "paratype"
    PARALECTOTYPE = "paralectotype"
    TOPOTYPE = "topotype"

    @property
    def is_primary(self) -> bool:
        return self in PRIMARY_TYPES


#: The name-bearing types (International Code of Zoological Nomenclature, 4th ed., glossary: "type, name-bearing";
#: the same four in the loan policy of the Triplehorn Insect Collection, 26 February 2020).
PRIMARY_TYPES = frozenset({TypeStatus.HOLOTYPE, TypeStatus.LECTOTYPE, TypeStatus.NEOTYPE, TypeStatus.SYNTYPE})


class Condition(IntEnum):
    """Four steps of condition (National Museum of Natural History, collections profiling)."""

    UNSTABLE = 1
    DEGRADED_BUT_STABLE = 2
    STABLE = 3
    OPTIMAL = 4


@dataclass(frozen=True, slots=True)
class Line:
    """One counted lot. ``key`` names it within its transfer and never changes.

    ``storage`` and ``storage_count`` are what the lot travels in, ``tray`` the code of a unit tray in the lender's
    own storage system. ``groups`` are the higher names that somebody gave (order, superfamily, family).
    ``identifiers`` are resolvable names given elsewhere. ``held`` is how many of the taxon the lender holds in all.
    ``treatments_used`` are those ever used on the lot; empty says that there were none.
    """

    key: str
    count: int
    taxon: str | None = None
    counted: Counted = Counted.SPECIMEN
    groups: tuple[str, ...] = ()
    preparation: Preparation | None = None
    type_status: TypeStatus | None = None
    storage: Container | None = None
    storage_count: int | None = None
    condition: Condition | None = None
    remarks: str = ""
    catalogue_numbers: tuple[str, ...] = ()
    identifiers: tuple[str, ...] = ()
    tray: str | None = None
    held: int | None = None
    pins: Pins | None = None
    treatments_used: tuple[Treatment, ...] | None = None

    @property
    def name(self) -> str:
        """How a sentence calls the line."""
        return f"line {self.key} ({self.taxon})" if self.taxon else f"line {self.key}"


def check_lines(lines: tuple[Line, ...], only_trays: bool = False) -> None:
    """Refuse lines that nobody could count or find again.

    :raises Invalid: naming the first line and field at fault.
    """
    seen: dict[str, int] = {}
    for position, line in enumerate(lines):
        where = f"lines.{position}"
        if line.key in seen:
            raise Invalid(f"{where}.key", f"Line {line.key} is there twice; give each line a name of its own.")
        seen[line.key] = position
        _check_count(line, where)
        _check_naming(line, where)
        if only_trays and line.counted is Counted.SPECIMEN:
            raise Invalid(f"{where}.counted", "A transfer of empty trays counts trays, drawers or boxes.")


def _check_count(line: Line, where: str) -> None:
    if line.count < 1:
        raise Invalid(f"{where}.count", f"Line {line.key} counts {line.count}; a line counts at least 1.")
    if line.storage_count is not None and line.storage_count < 1:
        raise Invalid(f"{where}.storage_count", f"Line {line.key} travels in {line.storage_count} containers.")
    if len(line.catalogue_numbers) > line.count:
        raise Invalid(
            f"{where}.catalogue_numbers",
            f"Line {line.key} has {len(line.catalogue_numbers)} catalogue numbers and counts {line.count}.",
        )


def _check_naming(line: Line, where: str) -> None:
    if len(set(line.catalogue_numbers)) < len(line.catalogue_numbers):
        raise Invalid(f"{where}.catalogue_numbers", f"Line {line.key} has a catalogue number twice.")
    named = line.taxon or line.catalogue_numbers or line.identifiers or line.remarks
    if line.counted is Counted.SPECIMEN and not named:
        raise Invalid(f"{where}.taxon", f"Line {line.key} says neither what it is nor which; name or number it.")
