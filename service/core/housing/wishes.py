"""What somebody may ask a housing plan for, before it is held against a storage system. ``None`` is not stated."""

from dataclasses import dataclass, field
from decimal import Decimal
from uuid import UUID

from service.core.consignment import Line, Pins
from service.core.housing.choosing_trays import TaxonCount
from service.core.housing.how_hard import HowHard
from service.core.housing.plan import HousingRequest
from service.core.materials import Treatment
from service.core.standards import Cabinet, CostRates


@dataclass(frozen=True, slots=True)
class WantedTrays:
    """Like trays. Where ``code`` is one of the storage system's own trays, its sizes need not be repeated.

    ``pins`` are those of the specimens in them; without, the tray's own height is all that is held against the lid.
    """

    code: str
    count: int
    width_nm: int | None = None
    depth_nm: int | None = None
    height_nm: int | None = None
    label: str = ""
    may_turn: bool | None = None
    together: str | None = None


@dataclass(frozen=True, slots=True)
class TrayOffer:
    """A size of tray to choose from for taxa, and how many specimens go into one."""

    code: str
    holds: int
    width_nm: int | None = None
    depth_nm: int | None = None
    height_nm: int | None = None
    may_turn: bool | None = None


@dataclass(frozen=True, slots=True)
class OwnDrawer:
    """A type of drawer in the asker's own words, for when no storage system is named."""

    code: str
    width_nm: int
    depth_nm: int
    height_nm: int | None = None
    cost: Decimal | None = None
    at_most: int | None = None
    per_cabinet: int | None = None


@dataclass(frozen=True, slots=True)
class AllowedDrawer:
    """One of the storage system's drawers that may be used, and at what price where that is not the same for all."""

    code: str
    cost: Decimal | None = None
    at_most: int | None = None


@dataclass(frozen=True, slots=True)
class Wishes:
    """What holds for the whole plan. ``pins`` are those of all specimens whose own are not stated elsewhere."""

    drawers: tuple[AllowedDrawer, ...] = ()
    growth_reserve_percent: Decimal | None = None
    play_nm: int | None = None
    pins: Pins = Pins()


@dataclass(frozen=True, slots=True)
class Contents:
    """What is to be housed: the lines of a consignment, or trays, or taxa with the trays to choose from."""

    lines: tuple[Line, ...] = ()
    trays: tuple[WantedTrays, ...] = ()
    taxa: tuple[TaxonCount, ...] = ()
    offers: tuple[TrayOffer, ...] = ()
    taxa_together: bool = False


@dataclass(frozen=True, slots=True)
class PlanQuestion:
    """What to house, in what, and how hard to look. Lines come from the consignment."""

    contents: Contents
    wishes: Wishes
    consignment_id: UUID | None = None
    storage_system_id: UUID | None = None
    revision: int | None = None
    own_drawers: tuple[OwnDrawer, ...] = ()
    how_hard: HowHard = HowHard.USUAL


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A line that the plan does not house, and why."""

    line: int
    reason: str


@dataclass(frozen=True, slots=True)
class Asked:
    """A housing plan's whole question, so that the same plan can be made again from it alone.

    ``at_most_by_check`` is what the fit check says that the same trays take at most, each size by itself.
    ``money`` says that drawers cost what they cost in hundredths of the currency, and not one each. ``new_trays``
    are to be bought; others move over with what is in them. ``treatments_used`` is what was used before on each lot,
    ``None`` where nobody said. The names are those of the day.
    """

    request: HousingRequest
    notes: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    at_most_by_check: int | None = None
    money: bool = False
    new_trays: bool = False
    specimens: int = 0
    rates: CostRates = CostRates()
    cabinets: tuple[Cabinet, ...] = ()
    consignment: str = ""
    system: str = ""
    content_sha256: str = field(default="")
    treatments_used: tuple[tuple[Treatment, ...] | None, ...] = (None,)
