"""What counts as a treatment: how cold, warm or airless the core has to be, and for how long.

The published regimes are what an institution starts from. Its own table, with its own rules for reading a log, is
what its quarantines are held to.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache

from service.core.errors import Fault
from service.core.handbook import figure
from service.core.handbook.loader import Row, backing, table
from service.core.measure.dimension import Grade
from service.core.standards import SetPoint
from service.core.transfers.calendar import Duration


class Method(StrEnum):
    """How the pests are killed."""

    FREEZING = "freezing"
    """The core is cold for long enough."""
    LOW_OXYGEN = "low_oxygen"
    """There is too little oxygen for long enough."""
    HEAT = "heat"
    """The core is warm for long enough."""


@dataclass(frozen=True, slots=True)
class Regime:
    """One treatment that kills. What is ``None`` is not asked for.

    ``hold_h`` is how long the core stays there without a break. Of several ``cycles`` each holds so long, and between
    two of them the core is warmer than ``rest_at_least_c`` for ``rest_h``.
    """

    code: str
    method: Method
    hold_h: float
    core_at_most_c: float | None = None
    core_at_least_c: float | None = None
    oxygen_at_most_percent: float | None = None
    cycles: int = 1
    rest_h: float | None = None
    rest_at_least_c: float | None = None
    source: str = ""
    grade: Grade = Grade.COMMON_PRACTICE

    @property
    def target_c(self) -> float | None:
        """The temperature that the core has to come to."""
        return self.core_at_most_c if self.method is Method.FREEZING else self.core_at_least_c


@dataclass(frozen=True, slots=True)
class Freezer:
    """What the institution freezes in. ``capacity_drawers`` is what one load takes."""

    capacity_drawers: int
    set_point_c: float
    has_fan: bool = False
    count: int = 1


def _default(key: str) -> float:
    return float(figure(key).value)


@cache
def published_regimes() -> tuple[Regime, ...]:
    """The regimes of the handbook, each with its source."""
    return tuple(_regime(code, row) for code, row in table("regimes").items())


@dataclass(frozen=True, slots=True)
class QuarantineRules:
    """An institution's own table and rules; see the handbook's figures of the same names for what they mean.

    ``on_arrival``: whatever arrives by a transfer goes into quarantine by itself. ``room`` is the air in which loads
    are opened.
    """

    regimes: tuple[Regime, ...] = field(default_factory=published_regimes)
    warm_spell_k: float = field(default_factory=lambda: _default("quarantine.warm_spell"))
    longest_gap_h: float = field(default_factory=lambda: _default("quarantine.longest_gap"))
    unprobed_lag_h: float = field(default_factory=lambda: _default("quarantine.unprobed_lag"))
    lag_factor: float = field(default_factory=lambda: _default("quarantine.lag_factor"))
    acclimatise_h: float = field(default_factory=lambda: _default("quarantine.acclimatise"))
    above_dew_point_k: float = field(default_factory=lambda: _default("quarantine.above_dew_point"))
    observe_days: int = field(default_factory=lambda: int(_default("quarantine.observe")))
    inspect_every: Duration = field(
        default_factory=lambda: Duration(months=int(_default("quarantine.inspect_every")))
    )
    room: SetPoint | None = None
    freezer: Freezer | None = None
    on_arrival: bool = False
    note: str = ""

    def of(self, method: Method) -> tuple[Regime, ...]:
        return tuple(regime for regime in self.regimes if regime.method is method)

    @property
    def opened_in(self) -> SetPoint:
        """The air that loads are opened in; the handbook's room where nobody stated it."""
        return self.room or SetPoint(_default("heat.room"), _default("heat.room_humidity"))


def faults_in(regimes: tuple[Regime, ...]) -> tuple[Fault, ...]:
    """What does not hang together in a table of regimes, each with the pointer to it."""
    faults: list[Fault] = []
    for place, regime in enumerate(regimes):
        at = f"/regimes/{place}"
        if regime.code in {earlier.code for earlier in regimes[:place]}:
            faults.append(Fault(f"{at}/code", f"“{regime.code}” stands twice; each code may stand once."))
        faults += [Fault(f"{at}/{field_}", sentence) for field_, sentence in _wants(regime)]
    return tuple(faults)


def _wants(regime: Regime) -> list[tuple[str, str]]:
    wanted = {
        Method.FREEZING: "core_at_most_c",
        Method.LOW_OXYGEN: "oxygen_at_most_percent",
        Method.HEAT: "core_at_least_c",
    }[regime.method]
    faults = []
    if getattr(regime, wanted) is None:
        faults.append((wanted, f"A regime by {regime.method.value.replace('_', ' ')} needs this."))
    if regime.cycles > 1 and (regime.rest_h is None or regime.rest_at_least_c is None):
        faults.append(("rest_h", "Several cycles need the rest between them: how long, and how warm at least."))
    if regime.cycles > 1 and regime.method is not Method.FREEZING:
        faults.append(("cycles", "Only freezing is done in several cycles."))
    return faults


def _regime(code: str, row: Row) -> Regime:
    own = ("method", "hold_h", "core_at_most_c", "core_at_least_c", "oxygen_at_most_percent", "cycles", "rest_h",
           "rest_at_least_c")  # fmt: skip
    behind = backing(row, f"regimes.{code}", *own)
    said = {name: row[name] for name in own if name in row and name != "method"}
    return Regime(code, Method(row["method"]), source=behind.source, grade=behind.grade, **said)
