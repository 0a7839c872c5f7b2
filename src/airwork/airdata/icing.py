"""Carburetor icing and cloud base from temperature and dew point: by the handbook's limits, the chart's regions. SI.

[PHAK] chapter 7 prints limits of temperature and humidity. The chart of temperature and dew point ([SAIB-CE-09-35])
tells glide power from cruise power; its regions are drawn here from memory, by humidity, on the wide side, and held to
the readings of it that accident reports print.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import ZERO_C_K, Array, relative_humidity
from airwork.errors import InputError
from airwork.units import FT_M, from_unit, write

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


# The chart's regions from memory: (name, coldest °C, warmest °C, least relative humidity), the worst first. Wide on
# purpose: an accident report ([SAIB-CE-09-35] read at 30 °C, dew point 7 °C: "serious icing at glide power") puts the
# edge of the second region at 23 % humidity there.
Region = Literal[
    "serious at any power", "serious at glide power, moderate at cruise", "serious at glide power", "light", "none"
]
REGIONS: tuple[tuple[Region, float, float, float], ...] = (
    ("serious at any power", -7.0, 20.0, 0.80),
    ("serious at glide power, moderate at cruise", -10.0, 27.0, 0.60),
    ("serious at glide power", -10.0, 33.0, 0.23),
    ("light", -20.0, 40.0, 0.20),
)


def carburetor_icing_region(temperature_k: float, dewpoint_k: float) -> Region:
    """The region of the carburetor-icing chart a temperature and dew point fall in.

    Raises
    ------
    InputError : the dew point is above the temperature.

    >>> carburetor_icing_region(290.15, 279.15)  # 17 °C, dew point 6 °C
    'serious at glide power'
    """
    risk = carburetor_icing(temperature_k, dewpoint_k)
    celsius = temperature_k - ZERO_C_K
    for name, cold, warm, humidity in REGIONS:
        if cold <= celsius <= warm and risk.relative_humidity >= humidity:
            return name
    return "none"


# How fast temperature and dew point of a rising parcel close. The sources differ by 2.3 %.
CLOSING_AWH_K_PER_M = 2.5 / (1000.0 * FT_M)  # [AWH] ch. 12: 2.5 °C per 1,000 ft = 400 ft per °C; the lowest base
CLOSING_PHAK_K_PER_M = 4.4 * 5.0 / 9.0 / (1000.0 * FT_M)  # [PHAK] ch. 12: 4.4 °F per 1,000 ft = 409 ft per °C


def cloud_base_agl_m(
    temperature_k: ArrayLike, dewpoint_k: ArrayLike, closing_k_per_m: float = CLOSING_AWH_K_PER_M
) -> Array:
    """Height above the surface at which rising air forms cumulus: spread over the closing rate. [m]

    For convective cloud on a day of rising air; it says nothing of layers that came from elsewhere. NaN where the dew
    point is above the temperature.

    >>> round(float(cloud_base_agl_m(291.15, 286.15)) / 0.3048)
    2000

    References
    ----------
    [AWH] chapter 12 (default); [PHAK] chapter 12 with `CLOSING_PHAK_K_PER_M`.
    """
    spread = np.asarray(temperature_k, dtype=float) - np.asarray(dewpoint_k, dtype=float)
    return np.where(spread >= 0.0, spread / closing_k_per_m, np.nan)
