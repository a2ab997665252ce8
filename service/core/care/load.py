"""What goes into the freezer or the chamber together, and how long its core lags behind the air.

A model and no measurement: a stack of foam-lined drawers is taken as one stuff, a parcel as its contents within
padding. Every figure is chosen from the slow side, and what comes out is multiplied by the institution's factor.
A probe at the core goes before all of it.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.core.care.conduction import Slab, Stuff, hours_to, share_left
from service.core.care.regimes import QuarantineRules, Regime
from service.core.handbook import figure
from service.core.measure.dimension import Size

_NM_PER_M = 1e9


class Packed(StrEnum):
    """How a load is packed when it goes in."""

    DRAWERS = "drawers"
    """Foam-lined wooden drawers in one stack, as they are."""
    BAGGED_CRATE = "bagged_crate"
    """The same within a crate in one bag."""
    BAGGED_DRAWER = "bagged_drawer"
    """Each drawer in a bag of its own, standing free."""
    PADDED_PARCEL = "padded_parcel"
    """As it came by post: contents within padding on all sides."""


class Contents(StrEnum):
    """What is cooled, as far as heat flows differently through it."""

    INSECT_BOXES = "insect_boxes"
    """Drawers and boxes of insects: air, foam and thin wood."""
    SOLID_WOOD = "solid_wood"
    """Wood through and through."""


@dataclass(frozen=True, slots=True)
class Load:
    """``drawers`` counts what stands in one stack; ``outer`` is one drawer's, or the parcel's. What is not stated of
    a drawer's size is the handbook's; a parcel's size and padding have to be stated.
    """

    packed: Packed
    drawers: int = 1
    outer: Size = Size()
    padding_nm: int | None = None
    contents: Contents = Contents.INSECT_BOXES

    @property
    def is_bagged(self) -> bool:
        return self.packed in {Packed.BAGGED_CRATE, Packed.BAGGED_DRAWER}


@dataclass(frozen=True, slots=True)
class Lag:
    """How long a core takes, and from where to where. ``hours`` of None: it never gets there in this air.

    ``predicted`` says whether it was reckoned from the load; otherwise it is the institution's lag for the unprobed.
    """

    hours: float | None
    start_c: float
    air_c: float
    target_c: float
    predicted: bool


def lag(load: Load | None, start_c: float, air_c: float, target_c: float, rules: QuarantineRules) -> Lag:
    """How long the core of a load lags in air of a constant temperature, on the safe side.

    Where no load is described, or not enough of it, the longest lag that was measured stands in, as long as the air
    is clearly beyond the target.
    """
    body = None if load is None else _body(load, _has_fan(rules))
    if body is None:
        beyond = (target_c - air_c) if start_c > target_c else (air_c - target_c)
        enough = beyond >= float(figure("quarantine.air_colder_than_core").value)
        return Lag(rules.unprobed_lag_h if enough else None, start_c, air_c, target_c, predicted=False)
    hours = hours_to(share_left(start_c, air_c, target_c), *body)
    return Lag(None if hours is None else hours * rules.lag_factor, start_c, air_c, target_c, predicted=True)


def lag_to(regime: Regime, load: Load | None, air_c: float, rules: QuarantineRules) -> float | None:
    """The lag in hours from the temperature of the room to that of a regime; None is never."""
    if regime.target_c is None:
        return 0.0
    return lag(load, rules.opened_in.temperature_c, air_c, regime.target_c, rules).hours


def _has_fan(rules: QuarantineRules) -> bool:
    return rules.freezer is not None and rules.freezer.has_fan


def _body(load: Load, has_fan: bool) -> tuple[tuple[Slab, ...], Stuff] | None:
    surface = float(figure("heat.surface_fan" if has_fan else "heat.surface_still_air").value)
    if load.packed is Packed.PADDED_PARCEL:
        return _parcel(load, surface)
    if load.is_bagged:
        surface = 1 / (1 / surface + float(figure("heat.bag_resistance").value))
    stacked = 1 if load.packed is Packed.BAGGED_DRAWER else load.drawers
    width, depth, height = _drawer_m(load.outer)
    sides = (width, depth, height * stacked)
    return tuple(Slab(side / 2, surface) for side in sides), _stuff("drawer")


def _parcel(load: Load, surface: float) -> tuple[tuple[Slab, ...], Stuff] | None:
    sides = [load.outer.width, load.outer.depth, load.outer.height]
    if load.padding_nm is None or any(side is None for side in sides):
        return None
    padding = load.padding_nm / _NM_PER_M
    inner = [side.value_nm / _NM_PER_M - 2 * padding for side in sides if side is not None]
    if min(inner) <= 0:
        return None
    wrap = _stuff("padding")
    through = 1 / (1 / surface + padding / wrap.conductivity)
    stuff = _stuff("drawer" if load.contents is Contents.INSECT_BOXES else "wood")
    # The padding has to cool as well: half of its heat is added to that of the contents, face by face.
    added = wrap.heat * padding / (2 * stuff.heat * min(inner) / 2)
    return tuple(Slab(side / 2, through) for side in inner), Stuff(stuff.conductivity, stuff.heat * (1 + added))


def _drawer_m(outer: Size) -> tuple[float, float, float]:
    usual = {"width": "heat.drawer_side", "depth": "heat.drawer_side", "height": "heat.drawer_pitch"}
    width, depth, height = (
        (figure(key).nm if (stated := getattr(outer, axis)) is None else stated.value_nm) / _NM_PER_M
        for axis, key in usual.items()
    )
    return width, depth, height


def _stuff(name: str) -> Stuff:
    kilo = 1_000
    conductivity, heat = figure(f"heat.{name}_conductivity"), figure(f"heat.{name}_heat")
    return Stuff(float(conductivity.value), float(heat.value) * kilo)


def warm_up(load: Load | None, start_c: float, rules: QuarantineRules, target_c: float) -> Lag:
    """How long the core of a load takes in the room until it may be opened, on the safe side."""
    return lag(load, start_c, rules.opened_in.temperature_c, target_c, rules)


def door_hours(regime: Regime, lag_h: float | None) -> float | None:
    """From door shut to the end of the hold: the lag and the hold, and the rests of several cycles between them.

    Each further cycle lags anew, and so does each warming; a rest counts from when the core is warm.
    """
    if lag_h is None:
        return None
    rests = (regime.cycles - 1) * ((regime.rest_h or 0) + lag_h)
    return regime.cycles * (lag_h + regime.hold_h) + rests
