"""What recorders make of a flight: columns, names, units, how coarse, how often, with what holes.

A `Sheet` is a table of numbers as the recorder has them, before its clock and file format. The names are trade words
and such as open files have; the units come in one family, as a maker thinks in one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from faults.clean import Clean, at

Array = NDArray[np.float64]
Rng = np.random.Generator

FT, KT, KMH, MPH = 0.3048, 1852.0 / 3600.0, 1.0 / 3.6, 0.44704  # exact, as in airwork/units.py; typed again on purpose
FAMILIES = {
    "imperial": (FT, KT, FT / 60.0),
    "metric": (1.0, KMH, 1.0),
    "si": (1.0, 1.0, 1.0),
    "mph": (FT, MPH, FT / 60.0),
}
UNIT_WORDS = {"imperial": ("ft", "kt", "fpm"), "metric": ("m", "km/h", "m/s"), "si": ("m", "m/s", "m/s"), "mph": ("ft", "mph", "fpm")}  # fmt: skip  # noqa: E501


@dataclass(slots=True)
class Sheet:
    """A table as a recorder has it.

    time_s : shape (n,), true time of each row.
    columns : name as written -> (values as written, decimals).
    units : name -> unit, where the recorder names it.
    alt_step_m : how coarse its best altitude is.
    step_s : usual time between its fixes.
    what : what was drawn, for the report.
    """

    kind: str
    time_s: Array
    columns: dict[str, tuple[Array, int]]
    units: dict[str, str]
    alt_step_m: float
    step_s: float
    what: dict[str, str] = field(default_factory=dict)


def _grid(clean: Clean, step_s: float, rng: Rng, jitter_s: float = 0.0) -> Array:
    t = np.arange(clean.time_s[0] + rng.uniform(0.0, step_s), clean.time_s[-1], step_s)
    return np.sort(t + rng.uniform(-jitter_s, jitter_s, t.size)) if jitter_s else t


def _parked_pauses(clean: Clean, t: Array) -> Array:
    """Without the rows while parked, but for one now and then: a recorder that writes by distance."""
    moving = at(clean, "gs", t) > 1.5
    keep = moving | (np.arange(t.size) % 60 == 0)
    return t[keep] if moving.sum() > 30 else t


def _stepped(values: Array, step: float) -> Array:
    return np.round(values / step) * step


def phone(clean: Clean, rng: Rng) -> Sheet:
    """Words shared by the names, several sensors at their own rates in one table, a compass lying about loose."""
    t_fix = _grid(clean, 1.0, rng, 0.02)
    t_baro, t_turn = _grid(clean, 1.0, rng), _grid(clean, 0.5, rng)
    time_s = np.sort(np.concatenate((t_fix, t_baro, t_turn)))
    mine = [("location", "motion", "altimeter"), ("gnss_", "imu_", "baro_"), ("gps ", "attitude ", "pressure ")]
    place, turn, baro = mine[int(rng.integers(len(mine)))]
    camel = place == "location"

    def name(prefix: str, word: str) -> str:
        return prefix + (word[0].upper() + word[1:] if camel else word.lower())

    def rows(t: Array, values: Array) -> Array:
        out = np.full(time_s.size, np.nan)
        out[np.searchsorted(time_s, t)] = values
        return out

    drift = np.cumsum(rng.normal(0.0, 6.0, t_turn.size))
    columns = {
        name(place, "latitude"): (rows(t_fix, at(clean, "lat", t_fix)), 7),
        name(place, "longitude"): (rows(t_fix, at(clean, "lon", t_fix)), 7),
        name(place, "altitude"): (rows(t_fix, at(clean, "gps_alt", t_fix)), 2),
        name(place, "speed"): (rows(t_fix, at(clean, "gs", t_fix)), 2),
        name(place, "course"): (rows(t_fix, at(clean, "track", t_fix)), 1),
        name(place, "horizontalAccuracy"): (rows(t_fix, np.full(t_fix.size, 4.0)), 1),
        name(place, "verticalAccuracy"): (rows(t_fix, np.full(t_fix.size, 3.0)), 1),
        name(turn, "heading"): (rows(t_turn, np.mod(at(clean, "hdg", t_turn) + drift, 360.0)), 1),
        name(baro, "relativeAltitude"): (rows(t_baro, at(clean, "palt", t_baro) - clean.columns["palt"][0]), 2),
    }
    return Sheet("phone", time_s, columns, {}, 0.5, 1.0, {"names": place, "compass": "loose"})


def tracker(clean: Clean, rng: Rng) -> Sheet:
    """Few columns, few fixes, pauses while parked."""
    step = float(rng.choice([1.0, 2.0, 5.0, 8.0, 10.0]))
    t = _grid(clean, step, rng)
    pauses = rng.random() < 0.6
    t = _parked_pauses(clean, t) if pauses else t
    family = str(rng.choice(list(FAMILIES)))
    height, speed, _ = FAMILIES[family]
    names = [("lat", "lon", "alt", "speed", "heading"), ("Latitude", "Longitude", "Altitude", "Speed", "Course"),
             ("gps_lat", "gps_lon", "gps_alt", "gps_speed", "gps_cog"),
             ("latitude", "longitude", "elevation", "velocity", "bearing")][int(rng.integers(4))]  # fmt: skip
    power = int(rng.choice([0, 0, 0, 1, 2]))
    whole = bool(rng.random() < 0.25)
    scale = 10.0**power
    decimals = 0 if power else 1
    columns = {
        names[0]: (at(clean, "lat", t) * (1e7 if whole else 1.0), 0 if whole else 6),
        names[1]: (at(clean, "lon", t) * (1e7 if whole else 1.0), 0 if whole else 6),
        names[2]: (at(clean, "gps_alt", t) / height * scale, decimals),
        names[3]: (at(clean, "gs", t) / speed * scale, max(decimals, 1 if not power else 0)),
        names[4]: (at(clean, "track", t), 0),
    }
    what = {"family": family, "power": str(power), "step": f"{step:g}", "pauses": str(pauses), "whole": str(whole)}
    return Sheet("tracker", t, columns, {}, 0.1 * height + 0.5, step, what)


def logger(clean: Clean, rng: Rng) -> Sheet:
    """A 1 to 5 second flight recorder with pressure altitude; its speeds whole or in hundredths of km/h."""
    step = float(rng.choice([1.0, 2.0, 4.0, 5.0]))
    t = np.round(_grid(clean, step, rng))
    pauses = rng.random() < 0.5
    t = np.unique(_parked_pauses(clean, t) if pauses else t)
    columns = {
        "lat": (at(clean, "lat", t), 7), "lon": (at(clean, "lon", t), 7),
        "palt": (at(clean, "palt", t), 0), "gps_alt": (at(clean, "gps_alt", t) + 45.0, 0),
        "gs": (at(clean, "gs", t), 2), "track": (at(clean, "track", t), 0), "tas": (at(clean, "tas", t), 2),
    }  # fmt: skip
    return Sheet("logger", t, columns, {}, 1.0, step, {"step": f"{step:g}", "pauses": str(pauses)})


def receiver(clean: Clean, rng: Rng) -> Sheet:
    """ADS-B: 25 ft, whole knots, 64 fpm, positions and speeds in messages of their own, some late, some twice."""
    step = float(rng.choice([1.0, 1.0, 4.0, 5.0, 8.0, 10.0]))
    t = _grid(clean, step, rng, 0.1 * step)
    si = bool(rng.random() < 0.35)
    height, speed, rate = FAMILIES["si" if si else "imperial"]
    alt = _stepped(at(clean, "palt", t), 25.0 * FT)
    gs, vs = _stepped(at(clean, "gs", t), KT), _stepped(at(clean, "vs", t), 64.0 * FT / 60.0)
    names = [
        ("timestamp", "icao24", "latitude", "longitude", "altitude", "groundspeed", "track", "vertical_rate"),
        ("time", "icao24", "lat", "lon", "baroaltitude", "velocity", "heading", "vertrate"),
        ("ts", "hex", "lat", "lon", "alt_baro", "gs", "track", "baro_rate"),
    ][int(rng.integers(3))]
    columns = {
        names[2]: (at(clean, "lat", t), 5), names[3]: (at(clean, "lon", t), 5),
        names[4]: (alt / height, 2 if si else 0), names[5]: (gs / speed, 2 if si else 0),
        names[6]: (np.round(at(clean, "track", t)), 1), names[7]: (vs / rate, 2 if si else 0),
    }  # fmt: skip
    if rng.random() < 0.4:  # speeds come in other messages than positions
        odd = np.arange(t.size) % 2 == 1
        for name, missing in zip(list(columns), (odd, odd, odd, ~odd, ~odd, ~odd), strict=True):
            columns[name] = (np.where(missing, np.nan, columns[name][0]), columns[name][1])
        step *= 2.0
    what = {"family": "si" if si else "imperial", "step": f"{step:g}", "names": names[1] + "/" + names[4]}
    return Sheet("receiver", t, columns, {"time": names[0], "identity": names[1]}, 25.0 * FT, step, what)


def panel(clean: Clean, rng: Rng) -> Sheet:
    """All instruments, units in the names, in a row of their own or nowhere; some named wrongly."""
    step = float(rng.choice([0.2, 0.5, 1.0]))
    t = _grid(clean, step, rng)
    family = str(rng.choice(list(FAMILIES)))
    height, speed, rate = FAMILIES[family]
    shown = UNIT_WORDS[family]
    names = [("Latitude", "Longitude", "GPS Altitude", "Ground Speed", "Track", "Altitude Ind", "IAS", "Vertical Speed",
              "Roll", "Pitch", "Heading", "OAT"),
             ("Lat", "Lon", "AltGPS", "GndSpd", "TRK", "AltInd", "IAS", "VSpd", "Bank", "Pitch", "HDG", "OAT")][int(rng.integers(2))]  # fmt: skip  # noqa: E501
    alt_step = float(rng.choice([1.0, 10.0, 20.0])) * FT if family in {"imperial", "mph"} else 1.0
    values = [
        (at(clean, "lat", t), 6), (at(clean, "lon", t), 6), (at(clean, "gps_alt", t) / height, 0),
        (at(clean, "gs", t) / speed, 1), (at(clean, "track", t), 0),
        (_stepped(at(clean, "alt", t), alt_step) / height, 0), (at(clean, "ias", t) / speed, 1),
        (_stepped(at(clean, "vs", t), 100.0 * FT / 60.0) / rate, 1 if rate == 1.0 else 0), (at(clean, "bank", t), 1),
        (at(clean, "pitch", t), 1), (at(clean, "hdg", t), 0), (at(clean, "oat", t), 1),
    ]  # fmt: skip
    columns = dict(zip(names, values, strict=True))
    where = str(rng.choice(["names", "row", "none"]))
    units = {}
    if where != "none":
        for k, name in enumerate(names):
            units[name] = {2: shown[0], 5: shown[0], 3: shown[1], 6: shown[1], 7: shown[2], 11: "degC"}.get(k, "deg")
    wrong = ""
    if units and rng.random() < 0.15:  # the maker's header says knots, the numbers are mph
        wrong = names[3]
        units[wrong] = "kt" if family != "imperial" else "mph"
    what = {"family": family, "units": where, "step": f"{step:g}", "wrong": wrong}
    return Sheet("panel", t, columns, units, max(alt_step, 0.5), step, what)


RECORDERS: dict[str, Callable[[Clean, Rng], Sheet]] = {
    "phone": phone, "tracker": tracker, "logger": logger, "receiver": receiver, "panel": panel,
}  # fmt: skip
