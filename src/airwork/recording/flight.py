"""Flight: what was flown, as columns of samples on one time base, each with how it is known. Immutable, SI."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cached_property
from html import escape
from typing import Any, Literal

import numpy as np
import polars as pl
from numpy.typing import NDArray

from airwork.errors import InputError
from airwork.units import to_unit

Array = NDArray[np.float64]
Known = Literal["measured", "derived"]

# House columns: name -> (unit, what it is). A Flight holds no other. Absent columns are simply not there.
COLUMNS: dict[str, tuple[str, str]] = {
    "latitude_rad": ("rad", "geodetic latitude, WGS-84"),
    "longitude_rad": ("rad", "longitude, east positive"),
    "east_m": ("m", "position east of the first fix"),
    "north_m": ("m", "position north of the first fix"),
    "gps_altitude_m": ("m", "height from satellite positioning, above sea level as recorded"),
    "indicated_altitude_m": ("m", "altimeter reading with the setting used"),
    "pressure_altitude_m": ("m", "altitude in the standard atmosphere"),
    "altitude_m": ("m", "best altitude above sea level: indicated, else pressure, else satellite"),
    "density_altitude_m": ("m", "density altitude"),
    "agl_m": ("m", "height above ground, where a ground elevation is known"),
    "setting_pa": ("Pa", "altimeter setting"),
    "oat_k": ("K", "outside air temperature"),
    "ias_mps": ("m/s", "indicated airspeed"),
    "cas_mps": ("m/s", "calibrated airspeed"),
    "tas_mps": ("m/s", "true airspeed"),
    "groundspeed_mps": ("m/s", "speed over the ground"),
    "track_rad": ("rad", "true track over the ground"),
    "heading_mag_rad": ("rad", "magnetic heading"),
    "heading_rad": ("rad", "true heading"),
    "pitch_rad": ("rad", "pitch attitude, nose up positive"),
    "bank_rad": ("rad", "bank, right wing down positive"),
    "vertical_speed_mps": ("m/s", "rate of climb"),
    "turn_rate_radps": ("rad/s", "rate of turn, right positive"),
    "load_factor": ("1", "normal load factor, 1 in level flight"),
    "lateral_g": ("1", "lateral acceleration along the right wing, in g; 0 with the ball centered"),
    "angle_of_attack_rad": ("rad", "angle of attack"),
    "flight_path_rad": ("rad", "flight-path angle through the air"),
    "energy_height_m": ("m", "altitude plus V²/2g"),
    "wind_from_rad": ("rad", "direction the wind blows from, true"),
    "wind_mps": ("m/s", "wind speed"),
    "rpm": ("rev/min", "engine speed (printed unit kept: the trade knows no other)"),
    "manifold_pressure_pa": ("Pa", "manifold pressure"),
    "fuel_flow_m3ps": ("m³/s", "fuel flow"),
    "power_ratio": ("1", "power over rated power"),
    "fuel_left_m3": ("m³", "fuel in the left tank"),
    "fuel_right_m3": ("m³", "fuel in the right tank"),
    "fuel_total_m3": ("m³", "fuel on board"),
    "tank": ("code", "tank feeding: 0 off, 1 left, 2 right, 3 both"),
    "flap_deg": ("deg", "flap deflection as recorded"),
    "flap_notch": ("count", "flap notch"),
    "gear_down": ("0/1", "landing gear down"),
    "stall_warning": ("0/1", "stall warning on"),
    "on_ground": ("0/1", "on the ground"),
    "egt_k": ("K", "exhaust gas temperature, hottest cylinder"),
    "cht_k": ("K", "cylinder head temperature, hottest cylinder"),
}


# How columns are printed: (end of the SI name, end of the printed name, unit), the first that fits.
_PRINTED_ENDS = (
    ("vertical_speed_mps", "vertical_speed_fpm", "fpm"), ("east_m", "east_nm", "NM"), ("north_m", "north_nm", "NM"),
    ("_m3ps", "_gph", "gph"), ("_m3", "_gal", "gal"), ("_mps", "_kt", "kt"), ("_radps", "_degps", "deg/s"),
    ("_rad", "_deg", "deg"), ("_pa", "_inhg", "inHg"), ("_k", "_c", "°C"), ("_m", "_ft", "ft"), ("_ratio", "_pct", "%"),
)  # fmt: skip
_AS_KEPT = {"rpm": "rpm", "flap_deg": "deg"}


def printed_unit(name: str) -> str:
    """The unit a house column is printed in, "" for counts and codes."""
    return _AS_KEPT.get(name) or next((unit for si, _, unit in _PRINTED_ENDS if name.endswith(si)), "")


def printed(name: str, value_si: Any) -> Any:
    """An SI value (or array) of a house column in its printed unit."""
    unit = printed_unit(name)
    return value_si if name in _AS_KEPT or not unit else to_unit(value_si, unit.removesuffix("/s"))


@dataclass(frozen=True, slots=True)
class Column:
    """Samples of one quantity and how it is known. Equality is identity of the arrays' owner (don't compare).

    values : shape (n,), NaN where not known.
    known : measured (came from the file) or derived.
    error : one standard error in the column's unit, where it can be said.
    note : how it was derived or mended, for the user.
    """

    values: Array
    known: Known
    error: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Mend:
    """One thing found and mended (or only found) in a recording; nothing is thrown away silently."""

    what: str  # in words, e.g. "20 rows with an impossible time dropped"
    count: int
    first_s: float | None = None  # seconds from the first sample
    last_s: float | None = None
    column: str = ""
    asks: bool = False  # two readings are possible, and one word of the user settles it


@dataclass(frozen=True, slots=True)
class GroundContact:
    """A take-off, landing or touch-and-go."""

    kind: Literal["takeoff", "landing", "touch_and_go"]
    time_s: float

    @property
    def touches(self) -> bool:
        """It comes down there."""
        return self.kind != "takeoff"


@dataclass(frozen=True, repr=False)  # no slots: the step is worked out once
class Flight:
    """One clean recording.

    start_utc_s : time of the first sample, seconds since 1970-01-01 UTC; NaN when the file names no date.
    time_s : shape (n,), strictly increasing, seconds from the first sample.
    columns : house names (`COLUMNS`) to `Column`s of length n.
    mends : what was found dirty and what was done.
    contacts : take-offs and landings found.
    source : facts about the file: name, sha256, format, bytes, and what was not understood.
    """

    start_utc_s: float
    time_s: Array
    columns: Mapping[str, Column]
    mends: tuple[Mend, ...] = ()
    contacts: tuple[GroundContact, ...] = ()
    source: Mapping[str, Any] = field(default_factory=dict)

    def __len__(self) -> int:
        return int(self.time_s.size)

    @cached_property
    def step_s(self) -> float:
        """The usual time between samples. [s]"""
        return float(np.median(np.diff(self.time_s))) if self.time_s.size > 1 else 0.0

    def __repr__(self) -> str:
        last = float(self.time_s[-1]) if len(self) else 0.0
        rate = f", {1.0 / self.step_s:.3g} Hz" if self.step_s > 0.0 else ""
        day = ""
        if math.isfinite(self.start_utc_s):
            day = f", {datetime.fromtimestamp(self.start_utc_s, UTC):%Y-%m-%d %H:%M} UTC"
        name = self.source.get("name") or "recording"
        return f"<Flight {name}: {last / 60.0:.1f} min{rate}, {len(self.columns)} columns{day}>"

    def _repr_html_(self) -> str:
        """For notebooks: what it is, and the first rows as they are printed."""
        return f"<p>{escape(repr(self))}</p>{self.frame(units='printed').head(5)._repr_html_()}"

    def frame(self, units: Literal["SI", "printed"] = "SI") -> pl.DataFrame:
        """The samples as a polars frame; every column's unit stands in its name.

        Parameters
        ----------
        units : "SI" as the house columns, or "printed": ft, kt, fpm, °, gal, gph, inHg, °C, %, NM.
        """
        if units not in ("SI", "printed"):
            raise InputError(f'{units!r}: write "SI" or "printed".', where="units")
        data: dict[str, Array] = {"time_s": self.time_s}
        for name, column in self.columns.items():
            if units == "SI":
                data[name] = column.values
            else:
                other = next((name.removesuffix(si) + end for si, end, _ in _PRINTED_ENDS if name.endswith(si)), name)
                data[other] = np.asarray(printed(name, column.values))
        return pl.DataFrame(data, nan_to_null=True)

    def has(self, *names: str) -> bool:
        """All these columns are there."""
        return all(name in self.columns for name in names)

    def get(self, name: str) -> Array | None:
        """The samples of a column, None when absent."""
        column = self.columns.get(name)
        return None if column is None else column.values

    def __getitem__(self, name: str) -> Array:
        return self.columns[name].values

    def with_columns(self, new: Mapping[str, Column]) -> Flight:
        """A copy with columns added or replaced."""
        return replace(self, columns={**self.columns, **new})

    def index_at(self, time_s: float) -> int:
        """Index of the last sample at or before a time, within the recording."""
        return min(max(int(self.time_s.searchsorted(time_s, side="right")) - 1, 0), len(self) - 1)

    def span(self, start_s: float, end_s: float) -> slice:
        """Slice of the samples from start to end, both included."""
        return slice(
            int(self.time_s.searchsorted(start_s, side="left")),
            int(self.time_s.searchsorted(end_s, side="right")),
        )
