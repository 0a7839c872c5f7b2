"""Engine, fuel and flaps completed from the airplane file: flap notch, percent power, fuel flow and quantity."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.atmosphere import density_kgpm3, standard_air
from airwork.errors import AirworkError
from airwork.recording.flight import Array, Mend
from airwork.recording.recorded import FLYING_MPS
from airwork.recording.work import Work

if TYPE_CHECKING:
    from airwork.airplane import Airplane

_EVERY_S = 2.0  # power is worked out this often
_RPM_STEP, _HEIGHT_STEP_M, _KELVIN_STEP, _PRESSURE_STEP_PA = 20.0, 60.0, 2.0, 500.0
_MOST_ASKED = 3_000
_ENDS, _GAUGES_FALL_M3 = 10, 0.0015  # readings; 0.4 gal: gauges in tenths of a gallon wander by less
_SURE_SHARE = 0.03  # one standard deviation of the fitted propeller's power, of rated power


def add_flap_notch(work: Work, airplane: Airplane | None) -> None:
    """Flap notch from the deflection or the lever's position, where the airplane's notches are known."""
    if "flap_notch" in work.columns:
        return
    deflection, position = work.get("flap_deg"), work.extra.get("flap_position")
    if airplane is None:
        if deflection is not None:
            _notches_seen(work, deflection)
        return
    if deflection is not None and any(n.deflection_deg is not None for n in airplane.flap_notches):
        work.put("flap_notch", airplane.notches_at(deflection), None, "nearest notch of the airplane")
    elif position is not None:
        full = float(airplane.flaps_full)
        top = float(np.nanmax(position))
        share = position / (1.0 if top <= 1.01 else top if top <= full + 0.01 else 100.0)
        notch = np.round(position) if 1.01 < top <= full + 0.01 else np.round(share * full)
        work.put("flap_notch", notch, None, "from the lever's recorded position")


def _notches_seen(work: Work, deflection: Array) -> None:
    """Without an airplane: the deflections the flaps rest at, in order, are taken for its notches."""
    known = deflection[np.isfinite(deflection)]
    if not known.size:
        return
    rounded = np.round(known)
    stays, counts = np.unique(rounded, return_counts=True)
    rests = stays[counts * work.step_s > 8.0]
    if not rests.size or rests.size > 6:
        return
    nearest = np.abs(deflection[:, None] - rests[None, :]).argmin(axis=1).astype(float)
    if rests[0] > 3.0:
        nearest += 1.0  # never seen up
    work.put("flap_notch", np.where(np.isfinite(deflection), nearest, np.nan), None,
             "counted from the deflections the flaps rested at; the airplane's own notches aren't known")  # fmt: skip


def add_engine(work: Work, airplane: Airplane | None) -> None:
    """Percent power, fuel flow and total fuel."""
    left, right = work.get("fuel_left_m3"), work.get("fuel_right_m3")
    if left is not None and right is not None:
        known = work.columns["fuel_left_m3"].known
        _doubt_total(work, left + right)
        work.put("fuel_total_m3", left + right, None, "left and right tank", known)
    if "power_w" in work.extra and airplane is not None:
        work.put("power_ratio", work.extra["power_w"] / airplane.rated_power_w, 0.02, "recorded power over rated power",
                 "measured")  # fmt: skip
    if airplane is None:
        return
    _power(work, airplane)
    _fuel_flow(work, airplane)


def _doubt_total(work: Work, tanks: Array) -> None:
    """Take out a total that never counts down while the tanks' gauges do: a sum without a flow meter behind it."""
    total, held = work.measured("fuel_total_m3"), tanks[np.isfinite(tanks)]
    known = total[np.isfinite(total)] if total is not None else np.zeros(0)
    if total is None or held.size < _ENDS or not known.size or float(np.ptp(known)) > 0.0:
        return
    tenth = max(held.size // 10, 2)
    if float(np.median(held[:tenth]) - np.median(held[-tenth:])) > _GAUGES_FALL_M3:
        del work.columns["fuel_total_m3"]
        said = "fuel total set aside: it holds one number while the tanks' gauges fall; their sum is used"
        work.mends.append(Mend(said, total.size, column="fuel_total_m3"))


def _power(work: Work, airplane: Airplane) -> None:
    rpm, pressure = work.get("rpm"), work.get("pressure_altitude_m")
    manifold = work.get("manifold_pressure_pa")
    if "power_ratio" in work.columns or rpm is None or pressure is None:
        return
    if not airplane.fixed_pitch and manifold is None:
        return
    at = work.seconds_apart(_EVERY_S)
    oat = work.get("oat_k")
    standard = standard_air(pressure[at]).temperature_k
    kelvin = standard if oat is None else np.where(np.isfinite(oat[at]), oat[at], standard)
    off_standard = np.round((kelvin - standard) / _KELVIN_STEP) * _KELVIN_STEP
    question = np.column_stack(
        (
            np.round(rpm[at] / _RPM_STEP) * _RPM_STEP,
            np.round(pressure[at] / _HEIGHT_STEP_M) * _HEIGHT_STEP_M,
            off_standard,
            np.zeros(at.size) if manifold is None or airplane.fixed_pitch
            else np.round(manifold[at] / _PRESSURE_STEP_PA) * _PRESSURE_STEP_PA,
        )
    )  # fmt: skip
    good = np.isfinite(question).all(axis=1)
    if not good.any():
        return
    asked, back = np.unique(question[good], axis=0, return_inverse=True)
    if len(asked) > _MOST_ASKED:
        return
    answers = np.array([_ask(airplane, *row) for row in asked.tolist()])
    power = np.full(at.size, np.nan)
    power[good] = answers[back.ravel()]
    known = np.isfinite(power)
    if not known.any():
        return
    values = np.interp(work.time_s, work.time_s[at][known], power[known])
    near = np.interp(work.time_s, work.time_s[at], known.astype(float)) > 0.5  # outside the chart it stays unknown
    how = "RPM" if airplane.fixed_pitch else "RPM and manifold pressure"
    note = f"from {how} by the power chart of {airplane.name}"
    tas = work.get("tas_mps")
    if airplane.fixed_pitch and tas is not None:
        propeller = _propeller_power(airplane, tas, rpm, pressure, np.interp(work.time_s, work.time_s[at], kelvin))
        if propeller is not None:
            values, near = np.where(np.isfinite(propeller), propeller, values), near | np.isfinite(propeller)
            note = f"from RPM and airspeed by the propeller fitted to the power chart of {airplane.name}"
    work.put("power_ratio", np.where(near, values, np.nan), 0.04, note)


def _propeller_power(
    airplane: Airplane, tas_mps: Array, rpm: Array, pressure_altitude_m: Array, temperature_k: Array
) -> Array | None:
    """Share of rated power a fixed-pitch propeller takes at an RPM and airspeed; None where the file can't tell it.

    The chart holds for level flight. Slower at the same RPM (a climb, a stall with power) the propeller takes up to a
    fifth more; faster, in a descent, less: CP(J) of the airplane's fit (`docs/performance.md`). NaN where that is not
    known to a few percent, and at taxi speed.
    """
    from airwork.airplane.performance import performance

    try:
        engine = performance(airplane).fixed
    except AirworkError:
        return None
    if engine is None or not engine.known:
        return None
    density = density_kgpm3(standard_air(pressure_altitude_m).pressure_pa, temperature_k)
    revs = np.maximum(rpm, 1.0) / 60.0
    share = engine.power_w(tas_mps, revs, density) / engine.rated_power_w
    unsure = engine.power_sd_w(tas_mps, revs, density, np.zeros(1)) / engine.rated_power_w
    return np.where((unsure < _SURE_SHARE) & (tas_mps > FLYING_MPS), np.clip(share, 0.0, None), np.nan)


@lru_cache(maxsize=2_000)  # in flight the same minutes are looked at again every few seconds
def _ask(airplane: Airplane, rpm: float, height_m: float, off_k: float, manifold_pa: float) -> float:
    try:
        kelvin = float(standard_air(height_m).temperature_k) + off_k
        return airplane.power_ratio(rpm, height_m, kelvin, manifold_pa if manifold_pa > 0 else None)
    except AirworkError:
        return float("nan")


def _fuel_flow(work: Work, airplane: Airplane) -> None:
    """Fuel flow at full rich for the power: what it burns at most; how it was leaned can't be seen without a flow."""
    power = work.get("power_ratio")
    if power is None or "fuel_flow_m3ps" in work.columns:
        return
    steps = np.round(power[np.isfinite(power)], 2)
    asked = np.unique(steps)
    if not asked.size:
        return
    answers = np.full(asked.size, np.nan)
    for k, ratio in enumerate(asked):
        try:
            answers[k] = airplane.fuel_flow_m3ps(float(ratio), "full_rich")
        except AirworkError:
            continue
    known = np.isfinite(answers)
    if known.any():
        flow = np.interp(power, asked[known], answers[known], left=np.nan, right=np.nan)
        work.put("fuel_flow_m3ps", flow, None, "from percent power, mixture full rich assumed")
