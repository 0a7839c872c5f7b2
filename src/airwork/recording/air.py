"""Altitudes and airspeeds completed: pressure, indicated, density altitude; indicated → calibrated → true and back."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.airspeed import cas_from_tas_mps, tas_from_cas_mps
from airwork.airdata.altimetry import indicated_altitude_m, pressure_altitude_from_setting_m
from airwork.airdata.atmosphere import density_altitude_m, pressure_altitude_m, standard_air
from airwork.recording.flight import Array, Mend
from airwork.recording.known_fields import visits
from airwork.recording.smooth import filled
from airwork.recording.work import Work

if TYPE_CHECKING:
    from airwork.airplane import Airplane

UNKNOWN_SETTING_M = 60.0  # an altimeter setting that isn't known: ±7 hPa is usual weather (our estimate)
GPS_HEIGHT_M = 12.0  # satellite heights stand 40–60 ft off fields (issue's remark); one standard error
_BETWEEN_S, _WHOLE = 10.0, 0.95  # of the satellites' heights have a pressure beside them
_MANY, _RISES_M, _OF_IT = 60, 100.0, 0.1  # samples; a climb that tells; of it, on a warm or cold day
POSITION_ERROR_MPS = 1.5  # indicated taken as calibrated for want of the airplane's table (our estimate)


def add_altitudes(work: Work, setting_pa: float | None, ground_elevation_m: float | None) -> None:
    """Pressure, indicated and best altitude from whichever was recorded."""
    gps, static = work.get("gps_altitude_m"), work.extra.get("static_pressure")
    by_static = None
    if static is not None:  # its readings may come more rarely
        by_static = filled(work.time_s, np.asarray(pressure_altitude_m(static)), _BETWEEN_S)[0]
    beside = by_static is not None and gps is not None
    if by_static is not None and gps is not None and not (together := _goes_with(by_static, gps)):
        beside = not _by_the_fields(work, by_static, gps)
    if by_static is not None and (gps is None or together or not beside):
        work.put("pressure_altitude_m", by_static, 5.0, "from static pressure", "measured")
    indicated, pressure = work.get("indicated_altitude_m"), work.get("pressure_altitude_m")
    setting: Array | float | None = work.get("setting_pa")
    given = "recorded"
    if setting is None and setting_pa is not None:
        setting, given = setting_pa, "given"
        work.put("setting_pa", np.full(work.time_s.size, setting_pa), None, "given with the recording")
    if pressure is None and indicated is not None:
        if setting is not None:
            shift = _of_few(pressure_altitude_from_setting_m, setting)
            work.put("pressure_altitude_m", indicated + shift, 5.0, f"from indicated altitude and the {given} setting")
        else:
            work.put("pressure_altitude_m", indicated, UNKNOWN_SETTING_M,
                     "indicated altitude; no altimeter setting known")  # fmt: skip
    elif indicated is None and pressure is not None and setting is not None:
        shift = _of_few(lambda zero, q: -indicated_altitude_m(zero, q), setting)
        work.put("indicated_altitude_m", pressure - shift, 5.0, f"from pressure altitude and the {given} setting")
    if gps is not None and "pressure_altitude_m" not in work.columns:
        why = "no pressure was recorded" if by_static is None else "the pressure recorded doesn't go with it"
        error = UNKNOWN_SETTING_M + GPS_HEIGHT_M
        work.put("pressure_altitude_m", gps, error, f"satellite height in its place; {why}")
    _best_altitude(work, beside=beside)
    if "altitude_m" not in work.columns:
        _above_the_field(work, ground_elevation_m)


def _best_altitude(work: Work, *, beside: bool) -> None:
    """The altitude taken for all that follows. beside : the pressure is a sensor's own, of no altimeter."""
    for name in ("indicated_altitude_m", "pressure_altitude_m", "gps_altitude_m"):
        column = work.columns.get(name)
        far = column is not None and column.error is not None and column.error > UNKNOWN_SETTING_M
        if column is None or (name == "pressure_altitude_m" and (far or beside)):
            continue
        known = np.isfinite(column.values).mean()
        if known > 0.5 or name == "gps_altitude_m":
            word = {"indicated_altitude_m": "indicated", "pressure_altitude_m": "pressure altitude"}.get(
                name, "satellite"
            )
            error = GPS_HEIGHT_M if name == "gps_altitude_m" else column.error
            work.put("altitude_m", column.values, error, word, column.known)


def _above_the_field(work: Work, ground_elevation_m: float | None) -> None:
    """A recorded height above the field in the altitude's place."""
    above = work.get("agl_m")
    if above is None:
        return
    note = "height above the field in its place; no altitude was recorded"
    if ground_elevation_m is None:
        what = "heights are above the field, and nothing says how high that lies: say it with --elevation (1200ft)"
        work.mends.append(Mend(what, 1, column="altitude_m", asks=True))
    else:
        note = "height above the field and the elevation given"
    work.put("altitude_m", above + (ground_elevation_m or 0.0), 5.0, note)


def _goes_with(height_m: Array, other_m: Array) -> bool:
    """Rises and falls by as much: the air's pressure outside, not a cabin's."""
    both = np.isfinite(height_m) & np.isfinite(other_m)
    if both.sum() < max(_MANY, _WHOLE * np.isfinite(other_m).sum()) or float(np.ptp(other_m[both])) < _RISES_M:
        return False
    slope, level = np.polyfit(other_m[both], height_m[both], 1)
    off = height_m[both] - slope * other_m[both] - level
    wanders = 2.0 * GPS_HEIGHT_M / float(np.ptp(other_m[both]))
    return bool(abs(slope - 1.0) < _OF_IT + wanders and float(np.std(off)) < GPS_HEIGHT_M)


def _by_the_fields(work: Work, pressure_m: Array, satellite_m: Array) -> bool:
    """Two heights that don't go together: over the known fields this one is right, as well as without a setting.

    The satellites' is off by more than five of its errors.
    """
    latitude, longitude = work.get("latitude_rad"), work.get("longitude_rad")
    if latitude is None or longitude is None:
        return False
    found = [visits(work.time_s, latitude, longitude, height) for height in (pressure_m, satellite_m)]
    off, other_off = (float(np.mean([abs(v.low - v.elevation_m) for v in one])) if one else np.nan for one in found)
    return off < UNKNOWN_SETTING_M and other_off > 5.0 * GPS_HEIGHT_M


def _of_few(function: Callable[..., ArrayLike], setting: Array | float) -> Array:
    """A function of the altimeter setting alone, worked out once per different setting."""
    flat = np.asarray(setting, dtype=float)
    if flat.ndim and flat.size and np.nanmin(flat) == np.nanmax(flat) and np.isfinite(flat).all():
        return np.full(flat.shape, float(np.asarray(function(np.zeros(1), flat[:1]))[0]))
    values, back = np.unique(np.atleast_1d(np.asarray(setting, dtype=np.float64)), return_inverse=True)
    out = np.asarray(function(np.zeros(values.size), values))
    return out[back] if np.ndim(setting) else out[0]


def slow_factor(work: Work, function: Callable[..., ArrayLike], speed: Array) -> tuple[Array, str]:
    """(function(speed, pressure altitude, temperature)/speed, remark), worked out each second and drawn straight.

    The ratio of two airspeeds changes slowly with height and hardly with speed: computing every sample wastes time.
    """
    pressure = work.get("pressure_altitude_m", "altitude_m")
    at = work.seconds_apart()
    if pressure is None:
        height, remark = np.zeros(at.size), "sea level assumed"
    else:
        height, remark = pressure[at], ""
    temperature = work.get("oat_k")
    known = temperature is not None and np.isfinite(temperature).mean() > 0.5
    standard = standard_air(height).temperature_k
    kelvin = (
        np.where(np.isfinite(temperature[at]), temperature[at], standard)
        if known and temperature is not None
        else standard
    )
    reference = np.where(np.isfinite(speed[at]) & (speed[at] > 5.0), speed[at], 50.0)
    ratio = np.asarray(function(reference, height, kelvin)) / reference
    good = np.isfinite(ratio)
    if not good.any():
        return np.full(speed.shape, np.nan), remark
    words = [w for w in (remark, "" if known else "standard temperature assumed") if w]
    return np.interp(work.time_s, work.time_s[at][good], ratio[good]), "; ".join(words)


def add_density_altitude(work: Work) -> None:
    """Density altitude where the temperature is known."""
    pressure, oat = work.get("pressure_altitude_m"), work.measured("oat_k")
    if pressure is None or oat is None:
        return
    at = work.seconds_apart()
    density = density_altitude_m(standard_air(pressure[at]).pressure_pa, oat[at])
    good = np.isfinite(density)
    if good.any():
        # the excess over pressure altitude changes slowly; the altitude itself keeps its detail
        excess = np.interp(work.time_s, work.time_s[at][good], (density - pressure[at])[good])
        work.put("density_altitude_m", pressure + excess, work.error("pressure_altitude_m", 5.0) + 20.0,
                 "from pressure altitude and outside temperature")  # fmt: skip


def add_airspeeds(work: Work, airplane: Airplane | None) -> None:
    """Calibrated and true airspeed from what was recorded (or, later, from ground speed and wind)."""
    ias = work.get("ias_mps")
    if ias is not None and "cas_mps" not in work.columns:
        cas, error, note = _calibrated(work, ias, airplane)
        work.put("cas_mps", cas, error, note)
    cas_now = work.get("cas_mps")
    if cas_now is not None and "tas_mps" not in work.columns:
        factor, remark = slow_factor(work, tas_from_cas_mps, cas_now)
        off = work.error("cas_mps", 0.5) + (0.5 if remark else 0.0)
        work.put("tas_mps", cas_now * factor, off, "; ".join(x for x in ("from calibrated airspeed", remark) if x))
    tas = work.get("tas_mps")
    if tas is not None and "cas_mps" not in work.columns:
        factor, remark = slow_factor(work, cas_from_tas_mps, tas)
        off = work.error("tas_mps", 0.5) + (0.5 if remark else 0.0)
        work.put("cas_mps", tas * factor, off, "; ".join(x for x in ("from true airspeed", remark) if x))
    cas_now = work.get("cas_mps")
    if cas_now is not None and "ias_mps" not in work.columns:
        ias_out, error, note = _indicated(work, cas_now, airplane)
        work.put("ias_mps", ias_out, error, note)


def _notch(work: Work) -> Array | int:
    notch = work.get("flap_notch")
    if notch is None or not np.isfinite(notch).any():
        return 0
    return np.nan_to_num(notch).astype(int)


def _calibrated(work: Work, ias: Array, airplane: Airplane | None) -> tuple[Array, float, str]:
    if airplane is None:
        return ias, POSITION_ERROR_MPS, "indicated taken as calibrated; no airplane file"
    return _by_notch(work, ias, airplane.cas_from_ias_mps), 0.5, f"from indicated by the table of {airplane.name}"


def _indicated(work: Work, cas: Array, airplane: Airplane | None) -> tuple[Array, float, str]:
    off = work.error("cas_mps", 0.5)
    if airplane is None:
        return cas, off + POSITION_ERROR_MPS, "calibrated taken as indicated; no airplane file"
    return _by_notch(work, cas, airplane.ias_from_cas_mps), off + 0.5, f"by the table of {airplane.name}"


def _by_notch(work: Work, speed: Array, function: Callable[..., Any]) -> Array:
    notch = _notch(work)
    if isinstance(notch, int):
        return np.asarray(function(speed, notch), dtype=np.float64)
    out = np.full(speed.shape, np.nan)
    for n in np.unique(notch):
        at = notch == n
        out[at] = np.asarray(function(speed[at], int(n)), dtype=np.float64)
    return out
