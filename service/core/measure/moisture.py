"""How much water wood holds once it has come to rest in a room's air.

Wood Handbook (USDA Forest Products Laboratory, FPL-GTR-282, 2021), equation 4-5, with its constants for degrees
Celsius. It reproduces the handbook's table 4-2 to a twentieth of a per cent; the wood itself is less exact, for
wood that dries holds one to four per cent more than wood that takes up water, and species differ. The figures are
good for differences between rooms, not for the water in one board.
"""

from dataclasses import dataclass
from functools import lru_cache

from scipy import optimize


class NoSuchAir(ValueError):
    """No room has air like that; the message says what was asked and what would be right."""


@dataclass(frozen=True, slots=True)
class Air:
    """Room air. ``relative_humidity_percent`` runs from 0 to 100."""

    temperature_c: float
    relative_humidity_percent: float

    def __post_init__(self) -> None:
        if not 0 <= self.relative_humidity_percent <= 100:
            raise NoSuchAir(f"A relative humidity of {self.relative_humidity_percent} % cannot be; write 0 to 100.")
        if not COLDEST_C <= self.temperature_c <= HOTTEST_C:
            raise NoSuchAir(
                f"Wood moisture is known from {COLDEST_C} to {HOTTEST_C} °C; {self.temperature_c} °C is outside."
            )

    @property
    def is_tabulated(self) -> bool:
        """Whether the handbook's table reaches as far; beyond it the equation only guesses."""
        return DRIEST_PERCENT <= self.relative_humidity_percent <= DAMPEST_PERCENT


#: The reach of the handbook's table 4-2, 30 to 270 °F (-1.1 to 132.2 °C), rounded outwards.
COLDEST_C, HOTTEST_C = -1.2, 132.3
DRIEST_PERCENT, DAMPEST_PERCENT = 5.0, 95.0

#: Each parameter of equation 4-5 as a + b T + c T², with T in °C.
_W = (349.0, 1.29, 0.0135)
_K = (0.805, 0.000736, -0.00000273)
_K1 = (6.27, -0.00938, -0.000303)
_K2 = (1.91, 0.0407, -0.000293)


@lru_cache(maxsize=4_000)
def equilibrium_moisture_percent(air: Air) -> float:
    """The equilibrium moisture content of wood in this air, in per cent of its dry mass."""
    temperature, humidity = air.temperature_c, air.relative_humidity_percent / 100
    w, k, k1, k2 = (_at(temperature, parameter) for parameter in (_W, _K, _K1, _K2))
    kh = k * humidity
    first = kh / (1 - kh)
    second = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (first + second)


def _at(temperature_c: float, parameter: tuple[float, float, float]) -> float:
    constant, linear, square = parameter
    return constant + linear * temperature_c + square * temperature_c**2


def humidity_for(moisture_percent: float, temperature_c: float) -> float:
    """The relative humidity in per cent at which wood comes to rest at this moisture content.

    :raises NoSuchAir: when no air at this temperature would bring it there.
    """
    dampest = equilibrium_moisture_percent(Air(temperature_c, 100))
    if not 0 <= moisture_percent <= dampest:
        raise NoSuchAir(f"No air at {temperature_c} °C brings wood to {moisture_percent} % moisture.")

    def lacking(humidity: float) -> float:
        return equilibrium_moisture_percent(Air(temperature_c, humidity)) - moisture_percent

    return float(optimize.brentq(lacking, 0.0, 100.0))
