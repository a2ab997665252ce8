"""At what temperature the water of the air settles on a cold thing, and from when on it may be opened.

Magnus' formula with the constants that the World Meteorological Organization recommends over water (Guide to
Meteorological Instruments and Methods of Observation, WMO-No. 8): 6.112 hPa, 17.62 and 243.12 °C.
"""

from math import exp, log

from service.core.standards import SetPoint

_HPA_AT_ZERO, _FACTOR, _OFFSET_C = 6.112, 17.62, 243.12


def saturation_hpa(temperature_c: float) -> float:
    """The most water vapour that air holds over water, as its pressure in hectopascal."""
    return _HPA_AT_ZERO * exp(_FACTOR * temperature_c / (_OFFSET_C + temperature_c))


def dew_point_c(room: SetPoint) -> float | None:
    """The dew point of a room; None for air without any water."""
    if room.relative_humidity_percent <= 0:
        return None
    gamma = log(room.relative_humidity_percent / 100) + _FACTOR * room.temperature_c / (
        _OFFSET_C + room.temperature_c
    )
    return _OFFSET_C * gamma / (_FACTOR - gamma)


def opens_from_c(room: SetPoint, above_k: float) -> float | None:
    """The temperature that the coldest point of a load has to have before a bag is opened, at most the room's."""
    dew = dew_point_c(room)
    return None if dew is None else min(dew + above_k, room.temperature_c)
