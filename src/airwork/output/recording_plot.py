"""A quick look at a recording as one picture: where, how high, how fast, how steep. PNG or SVG.

Drawn with matplotlib, loaded only when asked for. Lines differ by dash, points by mark, never by colour alone; derived
columns are drawn dashed.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np

from airwork.files import write_whole
from airwork.output.performance_frame import PLAIN, kind_of
from airwork.recording.flight import Flight
from airwork.recording.summary import printed

_MOST_POINTS = 4_000
_STYLE: Any = {
    **PLAIN, "lines.linewidth": 1.0, "axes.grid": True, "grid.color": "0.9", "grid.linewidth": 0.6,
}  # fmt: skip
# Panels from top to bottom: title, then the columns tried, each with its label.
_PANELS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    ("Altitude [ft]", (("altitude_m", "altitude"),)),
    ("Speed [kt]", (("ias_mps", "indicated"), ("groundspeed_mps", "over the ground"))),
    ("Bank [°]", (("bank_rad", "bank"),)),
    ("Climb [fpm]", (("vertical_speed_mps", "vertical speed"),)),
    ("Load factor", (("load_factor", "load factor"),)),
)
_MARKS = {"takeoff": ("^", "takeoff"), "landing": ("v", "landing"), "touch_and_go": ("D", "touch-and-go")}
_TONES = ("#1f3a5f", "#c1510b")


def plot_recording(flight: Flight, path: Path) -> None:
    """Draw the flight into a file, as `kind_of` says."""
    write_whole(path, picture(flight, kind_of(path)))


def picture(flight: Flight, kind: str) -> bytes:
    """The picture as PNG or SVG bytes."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    panels = [(title, [c for c in columns if c[0] in flight.columns]) for title, columns in _PANELS]
    panels = [(title, columns) for title, columns in panels if columns]
    mapped = flight.has("east_m", "north_m")
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(11.0, 1.0 + 1.55 * max(len(panels), 3)), layout="constrained", dpi=110)
        grid = figure.add_gridspec(max(len(panels), 1), 2 if mapped else 1, width_ratios=[1.0, 1.6] if mapped else None)
        at = _thinned(flight)
        shared = None
        for row, (title, columns) in enumerate(panels):
            axes = figure.add_subplot(grid[row, -1], sharex=shared)
            shared = shared or axes
            _panel(axes, flight, at, title, columns)
            axes.tick_params(labelbottom=row == len(panels) - 1)
        if shared is not None:
            figure.axes[-1].set_xlabel("minutes from the first sample")
        if mapped:
            _map(figure.add_subplot(grid[:, 0]), flight, at)
        figure.suptitle(_title(flight), fontsize=10, x=0.01, ha="left")
        out = io.BytesIO()
        if kind == "svg":
            figure.savefig(out, format="svg", metadata={"Date": None, "Creator": "airwork"})
        else:
            figure.savefig(out, format="png", metadata={"Software": "airwork"})
    return out.getvalue()


def _thinned(flight: Flight) -> np.ndarray[Any, np.dtype[np.intp]]:
    return np.unique(np.linspace(0, len(flight) - 1, min(len(flight), _MOST_POINTS)).astype(np.intp))


def _title(flight: Flight) -> str:
    name = str(flight.source.get("name", "recording"))
    wind = ""
    if flight.has("wind_mps", "wind_from_rad"):
        speed = float(np.nanmedian(printed("wind_mps", flight["wind_mps"])))
        source = float(np.nanmedian(printed("wind_from_rad", flight["wind_from_rad"])))
        wind = f"   wind about {source:03.0f}° {speed:.0f} kt"
    return f"{name}{wind}   dashed: derived, not recorded.  Not for navigation."


def _panel(axes: Any, flight: Flight, at: Any, title: str, columns: list[tuple[str, str]]) -> None:
    minutes = flight.time_s[at] / 60.0
    for k, (name, label) in enumerate(columns):
        column = flight.columns[name]
        line = "-" if column.known == "measured" else (0, (4, 1.5))
        axes.plot(minutes, printed(name, column.values[at]), linestyle=line, color=_TONES[k], label=label,
                  linewidth=1.1 if k == 0 else 0.8)  # fmt: skip
    axes.set_title(title, loc="left", fontsize=8.5)
    if len(columns) > 1:
        axes.legend(loc="upper right", frameon=False, ncols=2, fontsize=7.5)
    if title.startswith("Altitude"):
        for contact in flight.contacts:
            i = flight.index_at(contact.time_s)
            mark, _ = _MARKS[contact.kind]
            axes.plot(contact.time_s / 60.0, printed("altitude_m", flight["altitude_m"][i]), mark, color="black", ms=5)


def _map(axes: Any, flight: Flight, at: Any) -> None:
    east, north = (printed(n, flight[n]) for n in ("east_m", "north_m"))
    axes.plot(east[at], north[at], color=_TONES[0], linewidth=0.8)
    seen = set()
    for contact in flight.contacts:
        i = flight.index_at(contact.time_s)
        mark, word = _MARKS[contact.kind]
        axes.plot(east[i], north[i], mark, color="black", ms=6, label=None if word in seen else word)
        seen.add(word)
    known = np.flatnonzero(np.isfinite(east))
    if known.size:
        axes.plot(east[known[0]], north[known[0]], "o", mfc="white", mec="black", ms=6, label="first fix")
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_title("Track [NM east and north of the first fix], north up", loc="left", fontsize=8.5)
    axes.legend(loc="best", frameon=False, fontsize=7.5)
