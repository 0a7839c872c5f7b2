"""A quick look at a recording as one picture: where, how high, how fast, how steep. PNG or SVG.

Lines differ by dash, points by sign, never by color alone; derived columns are drawn dashed.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np

from airwork.output.drawing import Axis, Line, Mark, clock_ticks, xy_svg
from airwork.output.sheet import sheet, write_picture
from airwork.recording.flight import Flight, printed
from airwork.units import clock
from airwork.values import BAND, WIND_KNOWN_KT

_MOST_POINTS = 4_000
# Panels: what and its unit, then the columns tried, each with its label.
_PANELS: tuple[tuple[str, str, tuple[tuple[str, str], ...]], ...] = (
    ("Altitude", "ft", (("altitude_m", "altitude"),)),
    ("Speed", "kt", (("ias_mps", "indicated"), ("groundspeed_mps", "over the ground"))),
    ("Bank", "°", (("bank_rad", "bank"),)),
    ("Climb", "fpm", (("vertical_speed_mps", "vertical speed"),)),
    ("Load factor", "g", (("load_factor", "load factor"),)),
)
_SIGNS = {"takeoff": "▲", "landing": "▼", "touch_and_go": "◆"}
_LOOKS = (("strong", "c1"), ("c4", "c5"))  # (measured, derived), of a panel's first and second line


def plot_recording(flight: Flight, path: Path) -> None:
    """Draw the flight into a file, as its ending says.

    Raises
    ------
    InputError : the ending is neither .png nor .svg, or its folder is missing.
    """
    write_picture(path, picture(flight))


def picture(flight: Flight) -> str:
    at = np.unique(np.linspace(0, len(flight) - 1, min(len(flight), _MOST_POINTS)).astype(np.intp))
    drawn = [_map(flight, at)] if flight.has("east_m", "north_m") else []
    drawn += [_panel(flight, at, *panel) for panel in _PANELS]
    signs = ", ".join(f"{sign} {kind.replace('_', '-')}" for kind, sign in _SIGNS.items())
    foot = f"{signs}. Dashed: derived, not recorded. Not for navigation."
    return sheet(_title(flight), [(name, svg) for name, svg in drawn if svg], foot)


def _title(flight: Flight) -> str:
    name = str(flight.source.get("name", "recording"))
    wind = ""
    if flight.has("wind_mps", "wind_from_rad"):
        speed = float(np.nanmedian(printed("wind_mps", flight["wind_mps"])))
        source = float(np.nanmedian(printed("wind_from_rad", flight["wind_from_rad"])))
        band = BAND * float(printed("wind_mps", flight.columns["wind_mps"].error or 0.0))
        if band >= speed:
            wind = f", wind light, {speed + band:.0f} kt at most"
        elif band > WIND_KNOWN_KT:
            wind = f", wind not known better than ±{band:.0f} kt"
        else:
            wind = f", wind about {source:03.0f}° {speed:.0f} kt"
    return f"{name}{wind}"


def _contacts(flight: Flight, x: Any, y: Any) -> list[Mark]:
    """The landings and takeoffs on a line of two columns."""
    found = [(flight.index_at(contact.time_s), _SIGNS[contact.kind]) for contact in flight.contacts]
    return [Mark("", float(x[i]), float(y[i]), sign) for i, sign in found if math.isfinite(x[i] + y[i])]


def _panel(flight: Flight, at: Any, what: str, unit: str, columns: tuple[tuple[str, str], ...]) -> tuple[str, str]:
    """(its name, some columns over time); no drawing if the recording has none of them."""
    here = [(name, label) for name, label in columns if name in flight.columns]
    lines = []
    for (name, label), (measured, derived) in zip(here, _LOOKS, strict=False):
        column = flight.columns[name]
        points = list(zip(flight.time_s[at], printed(name, column.values[at]), strict=True))
        lines.append(Line(label if len(here) > 1 else "", points, measured if column.known == "measured" else derived))
    high = what == "Altitude" and here
    marks = _contacts(flight, flight.time_s, printed("altitude_m", flight["altitude_m"])) if high else []
    times = clock_ticks(0.0, float(flight.time_s[-1]), clock)
    along = Axis("minutes and seconds from the first sample", times)
    return what, xy_svg(lines, marks, along, Axis(unit), label=what)


def _map(flight: Flight, at: Any) -> tuple[str, str]:
    """(its name, the path over the ground)."""
    east, north = (printed(name, flight[name]) for name in ("east_m", "north_m"))
    points = list(zip(east[at], north[at], strict=True))
    first = next((Mark("first fix", *point) for point in points if math.isfinite(sum(point))), None)
    marks = [*_contacts(flight, east, north), *([first] if first else [])]
    axes = Axis("NM east of the first fix"), Axis("NM north")
    return "Track, north up", xy_svg([Line("", points)], marks, *axes, label="the track over the ground", even=True)
