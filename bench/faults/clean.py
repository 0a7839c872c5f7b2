"""A clean flight as plain columns: the simulated panel's own file, read without airwork's readers."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from airwork.units import FPM_MPS, FT_M, GPH_M3PS, INHG_PA, KT_MPS

Array = NDArray[np.float64]
HOP_S = 12.0
_SI = {"ft": FT_M, "kt": KT_MPS, "fpm": FPM_MPS, "inHg": INHG_PA, "gph": GPH_M3PS}

# house name -> (panel column, its unit)
_COLUMNS = {
    "lat": ("Latitude (deg)", "deg"), "lon": ("Longitude (deg)", "deg"), "gps_alt": ("GPS Altitude (ft)", "ft"),
    "gs": ("Groundspeed (kt)", "kt"), "track": ("Ground Track (deg)", "deg"), "alt": ("Indicated Altitude (ft)", "ft"),
    "palt": ("Pressure Altitude (ft)", "ft"), "ias": ("Indicated Airspeed (kt)", "kt"),
    "tas": ("True Airspeed (kt)", "kt"), "vs": ("Vertical Speed (ft/min)", "fpm"), "pitch": ("Pitch (deg)", "deg"),
    "bank": ("Roll (deg)", "deg"), "hdg": ("Magnetic Heading (deg)", "deg"), "oat": ("OAT (degC)", "°C"),
    "ground": ("On Ground", ""), "rpm": ("Engine Speed (RPM)", ""), "map": ("Manifold Pressure (inHg)", "inHg"),
    "ff": ("Fuel Flow (gal/hr)", "gph"), "set": ("Altimeter Setting (inHg)", "inHg"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Clean:
    """One flight at 10 Hz. Columns in SI (angles in degrees); time in seconds since 1970 UTC."""

    name: str
    time_s: Array
    columns: dict[str, Array]

    def contacts(self) -> list[tuple[str, float]]:
        """Take-offs and landings ("up", "down") by the simulator's own wheels; a hop of a few seconds is none."""
        on = self.columns["ground"] > 0.5
        edges = np.flatnonzero(np.diff(on.astype(int)))
        out: list[tuple[str, float]] = []
        for k in edges:
            kind, when = "down" if on[k + 1] else "up", float(self.time_s[k])
            if kind == "down" and out and when - out[-1][1] < HOP_S:
                out.pop()
                continue
            out.append((kind, when))
        return out


def load(path: Path) -> Clean:
    """NAME.csv of bench/fly.py."""
    frame = pl.read_csv(path, infer_schema_length=None)
    time_s = frame["UTC Time"].str.to_datetime("%Y-%m-%dT%H:%M:%S%.fZ").dt.epoch("us").to_numpy() / 1e6
    columns = {}
    for name, (title, unit) in _COLUMNS.items():
        values = frame[title].cast(pl.Float64).to_numpy().astype(float)
        columns[name] = values * _SI.get(unit, 1.0)
    return Clean(path.stem, time_s, columns | beside(columns))


def beside(columns: dict[str, Array]) -> dict[str, Array]:
    """What follows of the others: heading from true north, static pressure, temperature in kelvin."""
    apart = np.mod(columns["track"] - columns["hdg"] + 180.0, 360.0) - 180.0
    variation = float(np.median(apart[columns["gs"] > 25.0]))
    out = {"thdg": np.mod(columns["hdg"] + variation, 360.0), "oat_k": columns["oat"] + 273.15}
    return out | {"static": 101_325.0 * (1.0 - 0.0065 * columns["palt"] / 288.15) ** 5.25588}


def at(clean: Clean, name: str, time_s: Array) -> Array:
    """A column at other times; directions without a jump at north."""
    values = clean.columns[name]
    if name in {"track", "hdg", "thdg"}:
        return np.mod(np.interp(time_s, clean.time_s, np.degrees(np.unwrap(np.radians(values)))), 360.0)
    return np.interp(time_s, clean.time_s, values)
