"""Carburetor icing and cloud base from temperature and dew point. SI.

The chart of temperature and dew point ([SAIB-CE-09-35]) tells glide power from cruise power; its regions are drawn here
from memory, by humidity, on the wide side, and held to the readings of it that accident reports print and to the limits
of temperature and humidity that [PHAK] chapter 7 prints (which names no lower temperature; the chart ends at −20 °C).
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import ZERO_C_K, Array, relative_humidity
from airwork.errors import InputError
from airwork.units import FT_M, write

SOURCE = "chart of SAIB CE-09-35 (regions from memory); PHAK (FAA-H-8083-25C) chapter 7"

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
    moist, celsius = float(relative_humidity(temperature_k, dewpoint_k)), temperature_k - ZERO_C_K
    if np.isnan(moist):
        raise InputError(
            f"the dew point ({write(dewpoint_k, '°C')}) can't be above the temperature ({write(temperature_k, '°C')})."
        )
    return next((name for name, cold, warm, least in REGIONS if cold <= celsius <= warm and moist >= least), "none")


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
