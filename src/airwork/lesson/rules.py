"""Rules the verdict holds a lesson against, as data with their source: VFR minima, fuel reserve, cruising altitudes.

[V] found in the text named, [M] from memory. Local rules apply; amendments after 2024 were not checked.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from airwork.units import FT_M, SM_M

RuleSet = Literal["91.151", "NCO"]


@dataclass(frozen=True, slots=True)
class Minima:
    """Least flight visibility and distance from cloud. `clear_of_clouds`: no distance, only out of them."""

    visibility_m: float
    below_m: float | None
    above_m: float | None
    horizontal_m: float | None
    source: str
    label: str


def _us(miles: float, below: float | None, above: float | None, horizontal_ft: float | None) -> Minima:
    return Minima(
        miles * SM_M,
        None if below is None else below * FT_M,
        None if above is None else above * FT_M,
        None if horizontal_ft is None else horizontal_ft * FT_M,
        "14 CFR 91.155",
        "V",
    )


_USUAL = (500.0, 1000.0, 2000.0)
_HIGH = (1000.0, 1000.0, 5280.0)


def vfr_minima(airspace: str, altitude_m: float, agl_m: float, night: bool, rules: RuleSet = "91.151") -> Minima:
    """VFR weather minima of an airspace class at an altitude.

    Parameters
    ----------
    airspace : "A" to "G". altitude_m : above sea level. agl_m : above ground. night : by civil twilight.

    Class A has no VFR: its minima are those of IFR, an infinite visibility here.

    References
    ----------
    [91.155] 14 CFR 91.155 (a) [V]; SERA.5001 for the EU rule set [M].
    """
    if airspace == "A":
        return Minima(float("inf"), None, None, None, "class A: no VFR", "V")
    if rules == "NCO":
        return _sera(airspace, altitude_m, agl_m)
    high = altitude_m >= 10_000 * FT_M
    if airspace == "B":
        return _us(3, None, None, None)
    if airspace in {"C", "D"} or (airspace == "E" and not high):
        return _us(3, *_USUAL)
    if airspace == "E":
        return _us(5, *_HIGH)
    if airspace != "G":
        raise ValueError(f"no airspace class {airspace!r}")
    if agl_m <= 1200 * FT_M:
        return _us(3, *_USUAL) if night else _us(1, None, None, None)
    if high:
        return _us(5, *_HIGH)
    return _us(3, *_USUAL) if night else _us(1, *_USUAL)


def _sera(airspace: str, altitude_m: float, agl_m: float) -> Minima:
    source = "SERA.5001"
    if altitude_m >= 10_000 * FT_M:
        return Minima(8000.0, 1000 * FT_M, 1000 * FT_M, 1500.0, source, "M")
    if airspace in {"F", "G"} and (altitude_m <= 3000 * FT_M or agl_m <= 1000 * FT_M):
        return Minima(5000.0, None, None, None, source, "M")
    return Minima(5000.0, 1000 * FT_M, 1000 * FT_M, 1500.0, source, "M")


@dataclass(frozen=True, slots=True)
class Reserve:
    """Fuel to be left, as a time at normal cruise."""

    time_s: float
    source: str
    label: str


def legal_reserve(rules: RuleSet, night: bool, stays_at_aerodrome: bool = False) -> Reserve:
    """Final reserve for a VFR flight. [s at normal cruise]

    References
    ----------
    [91.151] 14 CFR 91.151: 30 min by day, 45 min by night [V]. Part-NCO: day 30 min, 10 min for a local flight with
    the aerodrome in sight, night 45 min [M].
    """
    if rules == "91.151":
        return Reserve(45 * 60.0 if night else 30 * 60.0, "14 CFR 91.151", "V")
    if night:
        return Reserve(45 * 60.0, "Part-NCO", "M")
    return Reserve(10 * 60.0 if stays_at_aerodrome else 30 * 60.0, "Part-NCO", "M")
