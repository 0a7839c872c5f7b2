"""Cloud base from the spread. SI.

The day's report and forecast come first; these are estimates for when they are silent.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import Array
from airwork.units import FT_M

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
