"""A Flight summed up in printed units: what is in it, what is missing, the wind found, contacts, mends. Plain data."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from airwork import units
from airwork.airdata.wind import wind_from_vector
from airwork.recording.craft import UNGRADED, craft_of
from airwork.recording.flight import COLUMNS, Array, Flight, printed, printed_unit
from airwork.recording.gradable import Gradable, gradable
from airwork.standards import Standard
from airwork.values import BAND, WIND_KNOWN_KT

# What an instructor would miss; the rest is nice to have.
WANTED = ("latitude_rad", "altitude_m", "ias_mps", "heading_mag_rad", "bank_rad", "pitch_rad", "rpm", "oat_k",
          "fuel_flow_m3ps", "flap_deg", "stall_warning", "load_factor")  # fmt: skip


@dataclass(frozen=True, slots=True)
class ColumnLine:
    """One column in printed units."""

    name: str
    what: str
    unit: str
    known: str
    low: float
    middle: float
    high: float
    error: float | None
    missing: float
    note: str


@dataclass(frozen=True, slots=True)
class WindLine:
    """Mean wind in a band of 1,000 ft; without heights the flight's mean.

    error_kt : one standard error of the speed.
    from_error_deg : one standard error of the direction.
    band_kt, from_band_deg : half the bands that should hold the truth nine times in ten.
    """

    low_ft: int | None
    high_ft: int | None
    from_deg: float
    speed_kt: float
    error_kt: float
    from_error_deg: float

    @property
    def band_kt(self) -> float:
        return BAND * self.error_kt

    @property
    def from_band_deg(self) -> float:
        return BAND * self.from_error_deg

    @property
    def known(self) -> bool:
        """Its band is narrow enough to plan by; a recorded wind states none."""
        return self.band_kt <= WIND_KNOWN_KT

    @property
    def direction_known(self) -> bool:
        """A wind that may as well be none has no direction."""
        return self.band_kt < self.speed_kt


@dataclass(frozen=True, slots=True)
class Summary:
    """Everything `airwork recording show` says; printed units, unit in the name or beside it."""

    source: dict[str, Any]
    start_utc: str
    duration_s: float
    samples: int
    rate_hz: float
    columns: tuple[ColumnLine, ...]
    missing: tuple[str, ...]
    wind: tuple[WindLine, ...]
    wind_note: str
    contacts: tuple[tuple[str, float], ...]
    mends: tuple[dict[str, Any], ...]
    grades: tuple[Gradable, ...]
    standard: str

    def as_json(self) -> dict[str, Any]:
        """Plain data for `--json`."""
        return {
            "file": self.source,
            "start_utc": self.start_utc,
            "duration_s": round(self.duration_s, 3),
            "samples": self.samples,
            "rate_hz": round(self.rate_hz, 3),
            "columns": [
                {"name": c.name, "what": c.what, "unit": c.unit, "known": c.known, "min": _plain(c.low),
                 "median": _plain(c.middle), "max": _plain(c.high), "standard_error": _plain(c.error),
                 "missing_fraction": round(c.missing, 4), "note": c.note}
                for c in self.columns
            ],
            "missing": list(self.missing),
            "wind": [
                {"low_ft": w.low_ft, "high_ft": w.high_ft, "from_deg": round(w.from_deg, 1),
                 "speed_kt": round(w.speed_kt, 2), "standard_error_kt": round(w.error_kt, 2),
                 "band_90_kt": round(w.band_kt, 2), "from_band_90_deg": round(w.from_band_deg, 1),
                 "known": w.known, "direction_known": w.direction_known}
                for w in self.wind
            ],
            "wind_note": self.wind_note,
            "contacts": [{"kind": kind, "time_s": round(t, 2)} for kind, t in self.contacts],
            "mends": list(self.mends),
            "gradable": {
                "standard": self.standard,
                "criteria": [
                    {"quantity": g.quantity, "tasks": list(g.tasks), "answer": g.answer, "why": g.why}
                    for g in self.grades
                ],
            },
        }  # fmt: skip


def _plain(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(f"{value:.6g}")


def summarize(flight: Flight, standard: Standard) -> Summary:
    """Sum a flight up."""
    t = flight.time_s
    start = ""
    if math.isfinite(flight.start_utc_s) and abs(flight.start_utc_s) < 2e11:
        moment = datetime.datetime.fromtimestamp(0, datetime.UTC) + datetime.timedelta(seconds=flight.start_utc_s)
        start = moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    wind, note = _wind(flight)
    steps = np.diff(t)
    return Summary(
        source=dict(flight.source),
        start_utc=start,
        duration_s=float(t[-1]) if t.size else 0.0,
        samples=len(flight),
        rate_hz=1.0 / float(np.median(steps)) if steps.size else 0.0,
        columns=tuple(_line(flight, name) for name in COLUMNS if name in flight.columns),
        missing=tuple(_in_words(n) for n in WANTED if n not in flight.columns),
        wind=wind,
        wind_note=note,
        contacts=tuple((c.kind, c.time_s) for c in flight.contacts),
        mends=tuple(
            {
                "what": m.what,
                "count": m.count,
                "first_s": m.first_s,
                "last_s": m.last_s,
                "column": m.column,
                "asks": m.asks,
            }
            for m in flight.mends
        ),
        grades=() if craft_of(flight).kind in UNGRADED else gradable(flight, standard),
        standard=f"{standard.title} ({standard.edition})",
    )


def _in_words(name: str) -> str:
    """What a house column is, without the small print behind a comma or in brackets."""
    words = COLUMNS[name][1].partition(":")[0].partition(",")[0].partition(" (")[0]
    return "position" if name == "latitude_rad" else words


def _line(flight: Flight, name: str) -> ColumnLine:
    column = flight.columns[name]
    known = column.values[np.isfinite(column.values)]
    low, middle, high = (float(np.percentile(known, q)) for q in (0, 50, 100))
    error = None
    if column.error is not None:
        error = float(printed(name, column.error) - printed(name, 0.0))
    return ColumnLine(
        name, COLUMNS[name][1], printed_unit(name), column.known,
        float(printed(name, low)), float(printed(name, middle)), float(printed(name, high)),
        error, 1.0 - known.size / max(len(flight), 1), column.note,
    )  # fmt: skip


def _wind(flight: Flight) -> tuple[tuple[WindLine, ...], str]:
    if not flight.has("wind_mps", "wind_from_rad"):
        return (), ""
    column = flight.columns["wind_mps"]
    flying = np.ones(len(flight), dtype=bool)
    if flight.has("on_ground") and (flight["on_ground"] < 0.5).any():
        flying = flight["on_ground"] < 0.5
    speed, source = column.values, flight["wind_from_rad"]
    good = flying & np.isfinite(speed) & np.isfinite(source)
    note = "recorded" if column.known == "measured" else column.note
    turned_mps = (flight.columns["wind_from_rad"].error or 0.0) * float(np.median(speed[good])) if good.any() else 0.0
    out = []
    altitude = flight.get("altitude_m")
    if altitude is not None:
        band = np.floor(np.nan_to_num(printed("altitude_m", altitude)) / 1000.0)
        for k in np.unique(band[good])[:40]:
            at = good & np.isfinite(altitude) & (band == k)
            if at.sum() < 0.01 * len(flight):
                continue
            error = wind_error_mps(flight, float(np.nanmedian(altitude[at])))
            out.append(_mean_wind(speed[at], source[at], error, turned_mps, (int(k) * 1000, int(k) * 1000 + 1000)))
    if not out and good.any():
        out.append(_mean_wind(speed[good], source[good], column.error or 0.0, turned_mps, (None, None)))
    return tuple(out), note


def wind_error_mps(flight: Flight, height_m: float) -> float:
    """One standard error of the wind's speed at a height; 0 where the file told the wind, and none of its own. [m/s]"""
    column = flight.columns["wind_mps"]
    errors = np.array(flight.source.get("wind_error_by_height", [])).reshape(-1, 2)
    if errors.size and column.known == "derived" and math.isfinite(height_m):
        return float(np.interp(height_m, errors[:, 0], errors[:, 1]))
    return column.error or 0.0


def _mean_wind(
    speed_mps: Array, from_rad: Array, error_mps: float, turned_mps: float, band_ft: tuple[int | None, int | None]
) -> WindLine:
    direction, size = wind_from_vector(-(speed_mps * np.sin(from_rad)).mean(), -(speed_mps * np.cos(from_rad)).mean())
    return WindLine(
        *band_ft, math.degrees(float(direction)), units.to_unit(float(size), "kt"), units.to_unit(error_mps, "kt"),
        math.degrees(math.atan2(turned_mps, float(size))),
    )  # fmt: skip
