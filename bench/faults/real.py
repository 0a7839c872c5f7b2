"""Real files read as they come, one line each, as a pilot would look at them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from airwork.debrief import debrief
from airwork.errors import AirworkError
from airwork.recording import Flight, read_flight
from airwork.recording.craft import craft_of
from airwork.standards import load_standard
from airwork.units import to_unit

ENDINGS = {
    ".csv",
    ".igc",
    ".gpx",
    ".tcx",
    ".kmz",
    ".geojson",
    ".json",
    ".jsonl",
    ".gz",
    ".kml",
    ".nmea",
    ".tsv",
    ".txt",
    ".parquet",
}
PLAIN = ("climb", "descent", "straight_and_level", "takeoff", "landing", "touch_and_go", "traffic_pattern", "go_around")


def files(places: Iterable[Path]) -> list[Path]:
    """The recordings among files and folders."""
    out: list[Path] = []
    for place in places:
        inside = sorted(place.rglob("*")) if place.is_dir() else [place]
        out += [p for p in inside if p.is_file() and p.suffix.lower() in ENDINGS]
    return out


def real_table(places: Iterable[Path]) -> None:
    """Print what was read, in which units, which maneuvers are claimed, and how many an hour by kind of aircraft."""
    print("\n| file | step | hours up | altitude, ft | ground speed, kt | aircraft | units | contacts | claimed |")
    print("| --- " * 9 + "|")
    by_kind: dict[str, list[float]] = {}  # kind of aircraft -> files, hours up, claims
    refused = total = 0
    for path in files(places):
        total += 1
        try:
            flight = read_flight(path)
        except AirworkError as problem:
            refused += 1
            print(f"| {path.name} | refused: {str(problem).replace(str(path), '').strip(': ')[:110]} |")
            continue
        up, said = _claims(flight)
        for kind in (craft_of(flight).kind, "all"):
            row = by_kind.setdefault(kind, [0, 0.0, 0])
            row[:] = row[0] + 1, row[1] + up, row[2] + sum(said.values())
        print(_row(path, flight, up, said), flush=True)
    print(f"\n{total} files, {refused} refused\n\n| taken for | files | hours up | exercises claimed | an hour |")
    print("| --- " * 5 + "|")
    for kind, (count, hours, claims) in sorted(by_kind.items(), key=lambda pair: -pair[1][1]):
        print(f"| {kind} | {count} | {hours:.1f} | {claims} | {claims / max(hours, 1e-9):.2f} |")


def _claims(flight: Flight) -> tuple[float, Counter[str]]:
    found = debrief(flight, standard=load_standard("private")).as_json()
    up = float(found["flight"].get("airborne_s", 0.0)) / 3600.0
    return up, Counter(e["kind"] for e in found["episodes"] if e["kind"] not in PLAIN)


def _row(path: Path, flight: Flight, up: float, said: Counter[str]) -> str:
    def span(name: str, unit: str, low: float, high: float) -> str:
        values = flight.get(name)
        if values is None or not np.isfinite(values).any():
            return "–"
        a, b = (float(to_unit(float(np.nanpercentile(values, q)), unit)) for q in (low, high))
        return f"{a:,.0f} to {b:,.0f}"

    units = {r["quantity"]: r["unit"] for r in flight.source.get("understood", []) if r["unit"]}
    shown = [u for q, u in units.items() if "altitude" in q or "speed" in q]
    contacts = Counter(c.kind for c in flight.contacts)
    return (
        f"| {path.name} | {flight.step_s:.2g} s | {up:.1f} | {span('altitude_m', 'ft', 1, 99)} | "
        f"{span('groundspeed_mps', 'kt', 50, 99)} | {craft_of(flight).kind} | {', '.join(shown) or 'of the format'} | "
        f"{_counted(contacts)} | {_counted(said)} |"
    )


def _counted(things: Counter[str]) -> str:
    return ", ".join(f"{n} {kind}" for kind, n in things.most_common()) or "–"
