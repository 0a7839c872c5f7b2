"""Wrong units and signs found out: a speed in mph under the name of knots, feet called meters, a bank turned over.

Each check holds a column against physics or another column and acts only when the misfit is, within its error, the
ratio of two units (or a reversed sign). What can't be settled is said and left.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3, standard_air, standard_temperature_k
from airwork.recording.motion import velocity_mps
from airwork.recording.recorded import Array, Recorded
from airwork.recording.signs_of_piece import PIECE_S, check_signs_of_piece
from airwork.recording.smooth import filled, slow_rate, unwrapped
from airwork.recording.time_base import typical_step_s
from airwork.recording.unit_words import BY_NAME
from airwork.recording.wind import fit_air_data, fit_turns

_SPEED_UNITS = ("kt", "mph", "km/h", "m/s", "ft/s", "fpm")
_FLYING_MPS, _TAXI_MPS = 35.0, 5.0
_BANKED_RAD, _ROLLING_RADPS = math.radians(12.0), math.radians(0.7)  # a steady turn
_CONFIRMED = 0.07  # half of the way from knots to miles an hour
_TURNS_SEEN_S = 3.0  # between fixes further apart a turn's chord is short
_NO_AIR_K = 50.0  # below standard: a sensor that isn't there
_BETWEEN_S = 15.0  # readings of a slower sensor
_AIRSPEEDS = {"ias_mps": "indicated_airspeed", "cas_mps": "calibrated_airspeed", "tas_mps": "true_airspeed"}
_HEIGHTS = ("pressure_altitude_m", "indicated_altitude_m", "gps_altitude_m")


def check_units(recorded: Recorded) -> None:
    """Hold columns against each other and put right what is clearly off, in place."""
    at = np.arange(0, recorded.time_s.size, max(round(1.0 / typical_step_s(recorded.time_s)), 1))
    t = recorded.time_s[at] - recorded.time_s[0]
    thin = replace(recorded, time_s=t, columns={name: values[at] for name, values in recorded.columns.items()})
    _temperature(recorded, thin)
    if t.size >= 30:
        _ground_flag(recorded, thin)
        _airspeed(recorded, thin)
        _signs(recorded, thin)
    if t.size and t[-1] < PIECE_S:
        check_signs_of_piece(recorded)


def _named_unit(recorded: Recorded, quantity: str) -> str:
    rows = recorded.facts.get("understood", [])
    return next((str(row["unit"]) for row in rows if row["quantity"] == quantity), "")


def _scale(recorded: Recorded, name: str, factor: float, what: str) -> None:
    recorded.columns[name] = recorded.columns[name] * factor
    recorded.say(what, int(np.isfinite(recorded.columns[name]).sum()), name)
    recorded.notes[name] = what


def _other_unit(recorded: Recorded, name: str, ratio: float, tolerance: float) -> tuple[str, str, float] | None:
    """(unit named, unit it is in, factor) when the ratio true/recorded is that of two units; None otherwise."""
    named = _named_unit(recorded, _AIRSPEEDS[name])
    base = BY_NAME.get(named)
    if base is None or not (math.isfinite(ratio) and ratio > 0.0) or abs(math.log(ratio)) < 0.085:
        return None
    best = min(_SPEED_UNITS, key=lambda u: abs(math.log(ratio * base.factor / BY_NAME[u].factor)))
    miss = abs(math.log(ratio * base.factor / BY_NAME[best].factor))
    if best == named or miss > tolerance:
        return None
    return named, best, BY_NAME[best].factor / base.factor


def _airspeed(recorded: Recorded, thin: Recorded) -> None:
    """Airspeed over its true scale, from the turns: with a heading by least squares, without by circle fits."""
    columns = thin.columns
    name = next((n for n in _AIRSPEEDS if n in columns), None)
    if name is None or _AIRSPEEDS[name] in recorded.facts.get("settled", ()):
        return
    asked = any(m.asks and m.column == name for m in recorded.mends)
    over_ground = _over_ground(thin)
    if over_ground is None and not asked:
        return
    ratio, error = _scale_of(thin, name, over_ground)
    if not math.isfinite(ratio) or error > 0.03:
        return
    found = _other_unit(recorded, name, ratio, 0.055)
    if found or abs(math.log(ratio)) < _CONFIRMED:  # settled: nobody need be asked
        recorded.mends[:] = [m for m in recorded.mends if not (m.asks and m.column == name)]
    if found:
        named, unit, factor = found
        by = "ground speed, wind" if over_ground is not None else "bank, turn rate"
        what = f"is in {unit}, {'taken for' if asked else 'named'} {named}: {by} and altitude say so"
        for n in (n for n in _AIRSPEEDS if n in columns):  # of others those that go with it
            same = _named_unit(recorded, _AIRSPEEDS[n]) == named and _same_scale(columns[n], columns[name])
            if n == name or same:
                _scale(recorded, n, factor, f"{_AIRSPEEDS[n].replace('_', ' ')} {what}")


def _over_ground(thin: Recorded) -> tuple[Array, Array] | None:
    """The velocity over the ground, east and north, recorded or from the positions. [m/s]"""
    speed, track = thin.columns.get("groundspeed_mps"), thin.columns.get("track_rad")
    if speed is not None and track is not None:
        return speed * np.sin(track), speed * np.cos(track)
    lat, lon = thin.columns.get("latitude_rad"), thin.columns.get("longitude_rad")
    if lat is not None and lon is not None and np.isfinite(lat).any():
        return velocity_mps(thin.time_s, lat, lon, 4.0)
    return None


def _scale_of(thin: Recorded, name: str, over_ground: tuple[Array, Array] | None) -> tuple[float, float]:
    """(airspeed over what it should be, standard error of that); NaN where nothing tells."""
    t, columns = thin.time_s, thin.columns
    height = thin.first(*_HEIGHTS)
    height = None if height is None else filled(t, height, _BETWEEN_S)[0]  # an altimeter slower than the airspeed
    density = standard_air(height).density_kgpm3 / RHO0_KGPM3 if height is not None else np.ones(t.size)
    air = columns[name] / (1.0 if name == "tas_mps" else np.sqrt(density))
    heading, bank = thin.first("heading_mag_rad", "heading_rad"), columns.get("bank_rad")
    if over_ground is None:
        return (math.nan, 1.0) if bank is None or heading is None else _scale_from_banks(t, bank, heading, air)
    flying = (np.hypot(*over_ground) > 20.0) & (air > 10.0)
    east, north = (np.where(flying, x, np.nan) for x in over_ground)
    if heading is not None:
        fit = fit_air_data(t, east, north, air * np.sin(heading), air * np.cos(heading))
        if fit.turned and math.isfinite(fit.scale):
            return fit.scale, fit.scale_error
    if typical_step_s(t) > _TURNS_SEEN_S:
        return math.nan, 1.0
    return _scale_from_circles(t, east, north, air, height)


def _same_scale(a: Array, b: Array) -> bool:
    good = np.isfinite(a) & np.isfinite(b) & (b > 15.0)
    return bool(good.any()) and 0.95 < float(np.median(a[good] / b[good])) < 1.25


def _scale_from_circles(t: Array, east: Array, north: Array, air: Array, height: Array | None) -> tuple[float, float]:
    """True over recorded airspeed from turns: the radius of each circle of ground velocities is the airspeed."""
    fits = fit_turns(t, east, north, np.zeros(t.size) if height is None else np.nan_to_num(height))
    if len(fits) < 4:
        return float("nan"), 1.0
    low = np.searchsorted(t, fits.time_s - 0.4 * fits.length_s)
    high = np.maximum(np.searchsorted(t, fits.time_s + 0.4 * fits.length_s), low + 1)
    running, known = (np.concatenate(([0.0], np.cumsum(x))) for x in (np.nan_to_num(air), np.isfinite(air)))
    recorded = (running[high] - running[low]) / np.maximum(known[high] - known[low], 1.0)
    ratio = fits.tas_mps / np.maximum(recorded, 5.0)
    good = np.isfinite(ratio) & (fits.error_mps < 1.5)
    if good.sum() < 4:
        return float("nan"), 1.0
    spread = float(np.median(np.abs(ratio[good] - np.median(ratio[good])))) * 1.4826
    return float(np.median(ratio[good])), spread / math.sqrt(max(good.sum() / 8.0, 1.0))


def _scale_from_banks(t: Array, bank: Array, heading: Array, air: Array) -> tuple[float, float]:
    """True over recorded airspeed from steady turns to both sides: V = g·tan φ / ω; a bank's own error cancels."""
    turning = slow_rate(t, unwrapped(heading), 6.0)
    rolling = np.abs(slow_rate(t, bank, 6.0))
    steady = (np.abs(bank) > _BANKED_RAD) & (rolling < _ROLLING_RADPS) & (bank * turning > 0.0) & (air > 5.0)
    logs = np.log(G0_MPS2 * np.tan(np.abs(bank)) / np.maximum(np.abs(turning), 1e-3) / np.maximum(air, 1.0))
    sides = [logs[steady & (np.sign(bank) == side)] for side in (-1.0, 1.0)]
    if min(x.size for x in sides) < 20:
        return float("nan"), 1.0
    middles = [float(np.median(x)) for x in sides]
    error = max(1.86 * float(np.median(np.abs(x - np.median(x)))) / math.sqrt(x.size / 6.0) for x in sides)
    return math.exp(0.5 * sum(middles)), max(error, 0.25 * abs(middles[0] - middles[1]))


def _temperature(recorded: Recorded, thin: Recorded) -> None:
    oat, height = thin.columns.get("oat_k"), thin.first(*_HEIGHTS)
    if oat is None or height is None or not np.isfinite(oat - height).any():
        return
    off = float(np.nanmedian(oat - standard_temperature_k(height)))
    if off < -_NO_AIR_K:
        recorded.say(f"outside temperature set aside: {-off:.0f} K below standard", oat.size, "oat_k")
        del recorded.columns["oat_k"]
        return
    if _named_unit(recorded, "outside_temperature") != "°C":
        return
    celsius, fahrenheit = BY_NAME["°C"], BY_NAME["°F"]
    as_fahrenheit = (oat - celsius.offset) * fahrenheit.factor + fahrenheit.offset
    if off > 32.0 and abs(float(np.nanmedian(as_fahrenheit - standard_temperature_k(height)))) < 22.0:
        values = recorded.columns["oat_k"] - celsius.offset
        recorded.columns["oat_k"] = values * fahrenheit.factor + fahrenheit.offset
        recorded.say("outside temperature is in °F, named °C: no air is that hot", oat.size, "oat_k")


def _signs(recorded: Recorded, thin: Recorded) -> None:
    """A bank recorded left-positive, a pitch recorded nose-down-positive."""
    speed = thin.first("ias_mps", "tas_mps", "groundspeed_mps")
    if speed is None:
        return
    flying = np.nan_to_num(speed) > 20.0
    direction, height = (
        thin.first("heading_mag_rad", "heading_rad", "track_rad"),
        thin.first(*_HEIGHTS),
    )
    turning = None if direction is None else slow_rate(thin.time_s, unwrapped(direction), 4.0)
    climb = None if height is None else slow_rate(thin.time_s, height, 6.0)
    for name, rate, least, said in (
        ("bank_rad", turning, 0.03, "bank was recorded left-positive (agreement with the turn {:.2f}); turned over"),
        ("pitch_rad", climb, 1.5, "pitch was recorded nose-down-positive (agreement {:.2f}); turned over"),
    ):
        if name in thin.columns and rate is not None:
            agree = _agreement(thin.columns[name], rate, flying & (np.abs(np.nan_to_num(rate)) > least))
            if agree < -0.6:
                recorded.columns[name] = -recorded.columns[name]
                recorded.say(said.format(agree), recorded.columns[name].size, name)


def _agreement(a: Array, b: Array, where: NDArray[np.bool_]) -> float:
    good = where & np.isfinite(a) & np.isfinite(b)
    if good.sum() < 40 or float(np.std(a[good])) < 1e-6 or float(np.std(b[good])) < 1e-6:
        return 0.0
    return float(np.corrcoef(a[good], b[good])[0, 1])


def _ground_flag(recorded: Recorded, thin: Recorded) -> None:
    """A switch for "on the ground" that means "in the air", or one stuck though the flight flew."""
    flag, speed = thin.columns.get("on_ground"), thin.first("ias_mps", "cas_mps", "tas_mps", "groundspeed_mps")
    lat, lon = thin.columns.get("latitude_rad"), thin.columns.get("longitude_rad")
    if speed is None and lat is not None and lon is not None and np.isfinite(lat).any():
        speed = np.hypot(*velocity_mps(thin.time_s, lat, lon, 4.0))
    if flag is None or speed is None:
        return
    known = np.isfinite(flag) & np.isfinite(speed)
    fast, slow = known & (speed > _FLYING_MPS), known & (speed < _TAXI_MPS)
    fast_on = float(np.mean(flag[fast] > 0.5)) if fast.sum() >= 60 else 0.0
    if fast_on < 0.5:
        return
    if slow.sum() >= 10 and float(np.mean(flag[slow] > 0.5)) < 0.5:
        recorded.columns["on_ground"] = 1.0 - recorded.columns["on_ground"]
        said = "the ground switch says 1 in the air and 0 on the ground; turned over"
        recorded.say(said, flag.size, "on_ground")
    elif fast_on > 0.9:
        del recorded.columns["on_ground"]
        recorded.say("the ground switch says on the ground at flying speed; not used", flag.size, "on_ground")
