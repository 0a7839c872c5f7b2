"""Wrong units and signs found out: a speed in mph under the name of knots, feet called meters, a bank turned over.

Each check holds a column against physics or another column and acts only when the misfit is, within its error, the
ratio of two units (or a reversed sign). What can't be settled is said and left.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3, standard_air, standard_temperature_k
from airwork.recording.flight import Mend
from airwork.recording.geodesy import radii_m
from airwork.recording.recorded import Array, Recorded
from airwork.recording.smooth import filled, unwrapped
from airwork.recording.time_base import typical_step_s
from airwork.recording.unit_guess import slow_rate
from airwork.recording.unit_words import BY_NAME
from airwork.recording.wind import fit_air_data, fit_turns

_SPEED_UNITS = ("kt", "mph", "km/h", "m/s", "ft/s", "fpm")
_FLYING_MPS, _TAXI_MPS = 35.0, 5.0
_BANKED_RAD, _ROLLING_RADPS = math.radians(12.0), math.radians(0.7)  # a steady turn
_CONFIRMED = 0.07  # half of the way from knots to miles an hour
_NO_AIR_K = 50.0  # below standard: a sensor that isn't there
_BETWEEN_S = 15.0  # readings of a slower sensor
_WORDS = {
    "ias_mps": ("indicated_airspeed", "indicated airspeed"),
    "cas_mps": ("calibrated_airspeed", "calibrated airspeed"),
    "tas_mps": ("true_airspeed", "true airspeed"),
}


def check_units(recorded: Recorded) -> None:
    """Hold columns against each other and put right what is clearly off, in place."""
    every = max(round(1.0 / typical_step_s(recorded.time_s)), 1)
    at = np.arange(0, recorded.time_s.size, every)
    t = recorded.time_s[at] - recorded.time_s[0]
    columns = {name: values[at] for name, values in recorded.columns.items()}
    _temperature(recorded, columns)
    if t.size < 30:
        return
    _ground_flag(recorded, columns, t)
    _airspeed(recorded, columns, t)
    _signs(recorded, columns, t)


def _named_unit(recorded: Recorded, quantity: str) -> str:
    for row in recorded.facts.get("understood", []):
        if row["quantity"] == quantity:
            return str(row["unit"])
    return ""


def _scale(recorded: Recorded, columns: dict[str, Array], name: str, factor: float, what: str) -> None:
    recorded.columns[name] = recorded.columns[name] * factor
    columns[name] = columns[name] * factor
    recorded.mends.append(Mend(what, int(np.isfinite(recorded.columns[name]).sum()), column=name))
    recorded.notes[name] = what


def _other_unit(recorded: Recorded, name: str, ratio: float, tolerance: float) -> tuple[str, str, float] | None:
    """(unit named, unit it is in, factor) when the ratio true/recorded is that of two units; None otherwise."""
    named = _named_unit(recorded, _WORDS[name][0])
    base = BY_NAME.get(named)
    if base is None or not (math.isfinite(ratio) and ratio > 0.0) or abs(math.log(ratio)) < 0.085:
        return None
    best = min(_SPEED_UNITS, key=lambda u: abs(math.log(ratio * base.factor / BY_NAME[u].factor)))
    miss = abs(math.log(ratio * base.factor / BY_NAME[best].factor))
    if best == named or miss > tolerance:
        return None
    return named, best, BY_NAME[best].factor / base.factor


def _by_positions(columns: dict[str, Array], t: Array) -> tuple[Array, Array] | None:
    """(east, north) over the ground. [m/s]"""
    lat, lon = (columns.get(n) for n in ("latitude_rad", "longitude_rad"))
    if lat is None or lon is None or not np.isfinite(lat).any():
        return None
    meridian, parallel = radii_m(np.nanmedian(lat))
    return slow_rate(t, lon, 4.0) * parallel, slow_rate(t, lat, 4.0) * meridian


def _airspeed(recorded: Recorded, columns: dict[str, Array], t: Array) -> None:
    """Airspeed over its true scale, from the turns: with a heading by least squares, without by circle fits."""
    name = next((n for n in ("ias_mps", "cas_mps", "tas_mps") if n in columns), None)
    speed, track = columns.get("groundspeed_mps"), columns.get("track_rad")
    if name is not None and _WORDS[name][0] in recorded.facts.get("settled", ()):
        return
    asked = name is not None and any(m.asks and m.column == name for m in recorded.mends)
    over_ground = _by_positions(columns, t)
    if speed is not None and track is not None:
        over_ground = speed * np.sin(track), speed * np.cos(track)
    if name is None or (over_ground is None and not asked):
        return
    height = next(
        (columns[n] for n in ("pressure_altitude_m", "indicated_altitude_m", "gps_altitude_m") if n in columns), None
    )
    height = None if height is None else filled(t, height, _BETWEEN_S)[0]  # an altimeter slower than the airspeed
    density = standard_air(height).density_kgpm3 / RHO0_KGPM3 if height is not None else np.ones(t.size)
    air = columns[name] / (1.0 if name == "tas_mps" else np.sqrt(density))
    heading = columns.get("heading_mag_rad", columns.get("heading_rad"))
    ratio, error = float("nan"), 1.0
    if over_ground is not None:
        flying = (np.hypot(*over_ground) > 20.0) & (air > 10.0)
        east, north = (np.where(flying, x, np.nan) for x in over_ground)
        if heading is not None:
            fit = fit_air_data(t, east, north, air * np.sin(heading), air * np.cos(heading))
            if fit.turned:
                ratio, error = fit.scale, fit.scale_error
        if not math.isfinite(ratio):
            ratio, error = _scale_from_circles(t, east, north, air, height)
    elif (bank := columns.get("bank_rad")) is not None and heading is not None:
        ratio, error = _scale_from_banks(t, bank, heading, air)
    if not math.isfinite(ratio) or error > 0.03:
        return
    found = _other_unit(recorded, name, ratio, 0.055)
    if found or abs(math.log(ratio)) < _CONFIRMED:  # settled: nobody need be asked
        recorded.mends[:] = [m for m in recorded.mends if not (m.asks and m.column == name)]
    if found:
        named, unit, factor = found
        by = "ground speed, wind" if over_ground is not None else "bank, turn rate"
        what = f"{_WORDS[name][1]} is in {unit}, {'taken for' if asked else 'named'} {named}: {by} and altitude say so"
        _scale(recorded, columns, name, factor, what)
        for sister in {"ias_mps", "cas_mps", "tas_mps"} & recorded.columns.keys() - {name}:
            if _named_unit(recorded, _WORDS[sister][0]) == named and _same_scale(
                columns[sister], columns[name] / factor
            ):
                _scale(recorded, columns, sister, factor, what.replace(_WORDS[name][1], _WORDS[sister][1]))


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


def _temperature(recorded: Recorded, columns: dict[str, Array]) -> None:
    oat = columns.get("oat_k")
    height = next(
        (columns[n] for n in ("pressure_altitude_m", "indicated_altitude_m", "gps_altitude_m") if n in columns), None
    )
    if oat is None or height is None or not np.isfinite(oat - height).any():
        return
    off = float(np.nanmedian(oat - standard_temperature_k(height)))
    if off < -_NO_AIR_K:
        recorded.mends.append(
            Mend(f"outside temperature set aside: {-off:.0f} K below standard", oat.size, column="oat_k")
        )
        del recorded.columns["oat_k"]
        return
    if _named_unit(recorded, "outside_temperature") != "°C":
        return
    celsius, fahrenheit = BY_NAME["°C"], BY_NAME["°F"]
    number = oat - celsius.offset
    as_fahrenheit = number * fahrenheit.factor + fahrenheit.offset
    other = float(np.nanmedian(as_fahrenheit - standard_temperature_k(height)))
    if off > 32.0 and abs(other) < 22.0:
        values = recorded.columns["oat_k"] - celsius.offset
        recorded.columns["oat_k"] = values * fahrenheit.factor + fahrenheit.offset
        recorded.mends.append(
            Mend("outside temperature is in °F, named °C: no air is that hot", oat.size, column="oat_k")
        )


def _signs(recorded: Recorded, columns: dict[str, Array], t: Array) -> None:
    """A bank recorded left-positive, a pitch recorded nose-down-positive."""
    direction = next((columns[n] for n in ("heading_mag_rad", "heading_rad", "track_rad") if n in columns), None)
    bank, pitch = columns.get("bank_rad"), columns.get("pitch_rad")
    speed = next((columns[n] for n in ("ias_mps", "tas_mps", "groundspeed_mps") if n in columns), None)
    if speed is None:
        return
    flying = np.nan_to_num(speed) > 20.0
    if bank is not None and direction is not None:
        rate = slow_rate(t, unwrapped(direction), 4.0)
        if (agree := _agreement(bank, rate, flying & (np.abs(np.nan_to_num(rate)) > 0.03))) < -0.6:
            _turn_over(
                recorded,
                "bank_rad",
                f"bank was recorded left-positive (agreement with the turn {agree:.2f}); turned over",
            )
    height = next(
        (columns[n] for n in ("indicated_altitude_m", "pressure_altitude_m", "gps_altitude_m") if n in columns), None
    )
    if pitch is not None and height is not None:
        climb = slow_rate(t, height, 6.0)
        if (agree := _agreement(pitch, climb, flying & (np.abs(np.nan_to_num(climb)) > 1.5))) < -0.6:
            _turn_over(
                recorded, "pitch_rad", f"pitch was recorded nose-down-positive (agreement {agree:.2f}); turned over"
            )


def _agreement(a: Array, b: Array, where: NDArray[np.bool_]) -> float:
    good = where & np.isfinite(a) & np.isfinite(b)
    if good.sum() < 40 or float(np.std(a[good])) < 1e-6 or float(np.std(b[good])) < 1e-6:
        return 0.0
    return float(np.corrcoef(a[good], b[good])[0, 1])


def _turn_over(recorded: Recorded, name: str, what: str) -> None:
    recorded.columns[name] = -recorded.columns[name]
    recorded.mends.append(Mend(what, recorded.columns[name].size, column=name))


def _ground_flag(recorded: Recorded, columns: dict[str, Array], t: Array) -> None:
    """A switch for "on the ground" that means "in the air", or one stuck though the flight flew."""
    flag = columns.get("on_ground")
    if flag is None:
        return
    speed = next((columns[n] for n in ("ias_mps", "cas_mps", "tas_mps", "groundspeed_mps") if n in columns), None)
    if speed is None and "latitude_rad" in columns and "longitude_rad" in columns:
        lat, lon = columns["latitude_rad"], columns["longitude_rad"]
        if not np.isfinite(lat).any():
            return
        meridian, parallel = radii_m(np.nanmedian(lat))
        speed = np.hypot(slow_rate(t, lat, 4.0) * meridian, slow_rate(t, lon, 4.0) * parallel)
    if speed is None:
        return
    known = np.isfinite(flag) & np.isfinite(speed)
    fast, slow = known & (speed > _FLYING_MPS), known & (speed < _TAXI_MPS)
    if fast.sum() < 60:
        return
    fast_on = float(np.mean(flag[fast] > 0.5))
    if fast_on < 0.5:
        return
    if slow.sum() >= 10 and float(np.mean(flag[slow] > 0.5)) < 0.5:
        recorded.columns["on_ground"] = 1.0 - recorded.columns["on_ground"]
        recorded.mends.append(
            Mend("the ground switch says 1 in the air and 0 on the ground; turned over", flag.size, column="on_ground")
        )
    elif fast_on > 0.9:
        del recorded.columns["on_ground"]
        recorded.mends.append(
            Mend("the ground switch says on the ground at flying speed; not used", flag.size, column="on_ground")
        )
