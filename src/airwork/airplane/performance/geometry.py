"""Wing, propeller and flaps as the law needs them; what the file lacks is assumed and said. SI."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.state import Array
from airwork.errors import NotPossible
from airwork.units import FT_M, IN_M

# Where the file is silent (common practice, no source): span to area, propeller, greatest lift coefficient, flap drag
_ASPECT_RATIO, _DIAMETER_M, _CL_MAX = 7.3, 75 * IN_M, 1.45
_DIRECT_RPM, _GEAR = 3600.0, 2.4  # an engine that turns faster has a gear; 2.27 and 2.43 are built (from memory)


@dataclass(frozen=True)
class Geometry:
    """Sizes for the law.

    deflections : each notch's deflection over the greatest, notch 1 first. assumed : what was not in the file.
    """

    wing_area_m2: float
    span_m: float
    diameter_m: float
    deflections: Array
    gear: float
    assumed: tuple[str, ...]

    @property
    def aspect_ratio(self) -> float:
        """Span² over area. [1]"""
        return self.span_m**2 / self.wing_area_m2


def geometry(airplane: Airplane) -> Geometry:
    """Sizes from the file, or assumed."""
    assumed = []
    area, span, diameter = (
        _or_none(airplane, "wing_area_m2"),
        _or_none(airplane, "wing_span_m"),
        _or_none(airplane, "propeller_diameter_m"),
    )
    if area is None:
        stall = airplane.stall_cas_mps(airplane.handbook_mass_kg)
        area = 2.0 * airplane.handbook_mass_kg * G0_MPS2 / (RHO0_KGPM3 * stall**2 * _CL_MAX)
        assumed.append(f"wing area {area / FT_M**2:.0f} ft² from the stall speed")
    if span is None:
        span = float(np.sqrt(_ASPECT_RATIO * area))
        assumed.append(f"wing span {span / FT_M:.0f} ft")
    if diameter is None:
        diameter = _DIAMETER_M
        assumed.append(f"propeller diameter {diameter / IN_M:.0f} in")
    gear = airplane.gear_ratio
    if gear == 1.0 and airplane.rated_rpm > _DIRECT_RPM:
        gear = _GEAR
        assumed.append(f"the propeller's gear {gear:g}")
    notches = airplane.flap_notches[1:]
    angles = np.array([np.nan if n.deflection_deg is None else n.deflection_deg for n in notches], dtype=float)
    if notches and not (np.isfinite(angles).all() and angles.max() > 0):
        angles = np.arange(1, len(notches) + 1, dtype=float)
        assumed.append("flap notches evenly spaced")
    return Geometry(area, span, diameter, angles / angles.max() if notches else angles, gear, tuple(assumed))


def _or_none(airplane: Airplane, name: str) -> float | None:
    try:
        return float(getattr(airplane, name))
    except NotPossible:
        return None
