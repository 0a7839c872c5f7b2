"""Cloud base from the spread, freezing level, ceiling-and-visibility category. SI.

The day's report and forecast come first; these are estimates for when they are silent.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import LAPSE_K_PER_M, ZERO_C_K, Array
from airwork.units import FT_M, SM_M

# How fast temperature and dew point of a rising parcel close. The sources differ by 2.3 %.
CLOSING_AWH_K_PER_M = 2.5 / (1000.0 * FT_M)  # [AWH] ch. 12: 2.5 °C per 1,000 ft = 400 ft per °C; the lowest base
CLOSING_PHAK_K_PER_M = 4.4 * 5.0 / 9.0 / (1000.0 * FT_M)  # [PHAK] ch. 12: 4.4 °F per 1,000 ft = 409 ft per °C

Category = Literal["VFR", "MVFR", "IFR", "LIFR"]
CATEGORIES: tuple[Category, ...] = ("LIFR", "IFR", "MVFR", "VFR")  # worst first


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


def freezing_level_m(temperature_k: ArrayLike, at_altitude_m: ArrayLike) -> Array:
    """Altitude of 0 °C from one temperature with the standard lapse rate: h + (T − 273.15)/L. [m]

    The altitude itself where it already freezes there. An estimate: inversions and real lapse rates move it; with
    temperatures aloft use `freezing_levels_m`.
    """
    above = np.maximum(np.asarray(temperature_k, dtype=float) - ZERO_C_K, 0.0)
    return np.asarray(at_altitude_m, dtype=float) + above / LAPSE_K_PER_M


def flight_category(ceiling_m: float | None, visibility_m: float) -> Category:
    """VFR, MVFR, IFR or LIFR: the worse of ceiling and visibility.

    LIFR below 500 ft or 1 SM; IFR to below 1,000 ft or 3 SM; MVFR to 3,000 ft or 5 SM inclusive; VFR above both.

    Parameters
    ----------
    ceiling_m : height above the surface of the lowest broken or overcast layer, or the vertical visibility; None
        without one.

    References
    ----------
    [AWH] section 3.4.2.
    """
    feet = float("inf") if ceiling_m is None else round(ceiling_m / FT_M, 3)
    miles = round(visibility_m / SM_M, 3)
    by_ceiling = (feet >= 500) + (feet >= 1000) + (feet > 3000)
    by_visibility = (miles >= 1) + (miles >= 3) + (miles > 5)
    return CATEGORIES[min(by_ceiling, by_visibility)]
