"""Carburetor icing: risk from temperature and dew point by the handbook's limits, with the reason. SI.

Only what [PHAK] chapter 7 prints is used. The temperature and dew-point chart with regions for cruise and glide power
exists ([SAIB-CE-09-35]), but its boundaries are at hand from memory only and are not drawn here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import Array, relative_humidity
from airwork.errors import InputError
from airwork.units import from_unit, write

SOURCE = "PHAK (FAA-H-8083-25C) chapter 7"

# [PHAK] chapter 7: most likely below 70 °F with relative humidity above 80 %; possible up to 100 °F and down to 50 %.
LIKELY_BELOW_K = from_unit(70.0, "°F")
LIKELY_ABOVE_HUMIDITY = 0.80
POSSIBLE_TO_K = from_unit(100.0, "°F")
POSSIBLE_FROM_HUMIDITY = 0.50

Level = Literal["most likely", "possible", "outside the handbook's limits"]
LEVELS: tuple[Level, ...] = ("outside the handbook's limits", "possible", "most likely")


@dataclass(frozen=True, slots=True)
class IcingRisk:
    """Carburetor-icing risk of the day. Two are equal when all fields are."""

    level: Level
    relative_humidity: float
    reason: str
    source: str = SOURCE


def carburetor_icing_level(temperature_k: ArrayLike, dewpoint_k: ArrayLike) -> Array:
    """0 outside the handbook's limits, 1 possible, 2 most likely; NaN where the dew point is above the temperature. [1]

    References
    ----------
    [PHAK] chapter 7, carburetor icing. The handbook names no lower temperature, so neither does this.
    """
    t, humidity = np.asarray(temperature_k, dtype=float), relative_humidity(temperature_k, dewpoint_k)
    possible = (t <= POSSIBLE_TO_K) & (humidity >= POSSIBLE_FROM_HUMIDITY)
    likely = (t < LIKELY_BELOW_K) & (humidity > LIKELY_ABOVE_HUMIDITY)
    return np.where(np.isnan(humidity), np.nan, possible.astype(float) + (likely & possible))


def carburetor_icing(temperature_k: float, dewpoint_k: float) -> IcingRisk:
    """Risk level with the reason in words.

    Raises
    ------
    InputError : the dew point is above the temperature.

    >>> carburetor_icing(288.15, 286.15).level
    'most likely'
    """
    level = float(carburetor_icing_level(temperature_k, dewpoint_k))
    if np.isnan(level):
        raise InputError(
            f"the dew point ({write(dewpoint_k, '°C')}) can't be above the temperature ({write(temperature_k, '°C')})."
        )
    humidity = float(relative_humidity(temperature_k, dewpoint_k))
    air = f"{write(temperature_k, '°C')} with {humidity * 100:.0f}% relative humidity"
    reason = (
        f"{air}: not both at or below 38°C (100°F) and at or above 50%. Ice is still possible; watch RPM or manifold "
        "pressure.",
        f"{air}: ice can form up to 38°C (100°F) and down to 50%, soonest at low power.",
        f"{air}: below 21°C (70°F) and above 80%, where ice is most likely.",
    )[int(level)]
    return IcingRisk(LEVELS[int(level)], humidity, reason)
