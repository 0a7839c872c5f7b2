"""Recorder faults: clean flights written as real recorders write them must come back as the same flights.

    python bench/fly.py --seed 83120 --out FLIGHTS              # take a seed of your own
    python bench/recording_faults.py FLIGHTS --files 500 --seed 7 [--real FOLDER] [--list] [--keep FOLDER]
    python bench/recording_faults.py FLIGHTS --layouts           # one flight in many makers' layouts

Each file is held to the flight it was made of: altitude within its own resolution (and 3 m), ground speed within 1 %,
every take-off and landing within 5 s (or the step between fixes, if that is longer) and none more, and the maneuvers
found in it, against those the plain twin (same samples, plain names and units, ISO times) shows, both scored by the
simulator's truth. The last table reads real files (--real, by default the shared ones named on the command line) and
prints what a pilot would look at.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import tempfile
import warnings
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

from debrief_confusion import Tally, score
from faults.clean import Clean, at, load
from faults.containers import CONTAINERS
from faults.instructors import INSTRUCTORS
from faults.later_hands import LATER_HANDS
from faults.layouts import LAYOUTS, Rows, differs
from faults.other_hands import OTHER_HANDS
from faults.real import real_table
from faults.recorders import RECORDERS, Sheet
from faults.writing import write

from airwork.debrief import debrief
from airwork.errors import AirworkError
from airwork.recording import Flight, read_flight
from airwork.standards import load_standard

SPEED, CONTACT_S, ALTITUDE_M = 0.01, 5.0, 3.0
KINDS = tuple(RECORDERS)


def offset_s(flight: Flight, sheet: Sheet, shift: float) -> float:
    """Seconds to add to the flight's own time to get the truth's; without a date, the first row's."""
    if math.isfinite(shift) and math.isfinite(flight.start_utc_s):
        return flight.start_utc_s - shift
    return float(sheet.time_s[0])


def compare(flight: Flight, clean: Clean, sheet: Sheet, shift: float) -> dict[str, str]:
    """What is wrong with a flight read back; empty when it is the same."""
    out: dict[str, str] = {}
    t = flight.time_s + offset_s(flight, sheet, shift)
    inside = (t > clean.time_s[0]) & (t < clean.time_s[-1])
    moving = inside & (at(clean, "gs", t) > 25.0)
    if moving.sum() < 0.5 * (at(clean, "gs", sheet.time_s) > 25.0).sum() * (
        0.3 if sheet.kind in {"phone", "receiver"} else 1.0
    ):
        out["rows"] = f"{moving.sum()} rows in flight of {sheet.time_s.size} written"
    best = flight.get("altitude_m")
    truths = [at(clean, name, t) for name in ("gps_alt", "alt", "palt")]
    if best is None or not np.isfinite(best[moving]).any():
        out["altitude"] = "none"
    else:
        off = min(float(np.nanpercentile(np.abs(best - truth)[moving], 90)) for truth in truths)
        if off > sheet.alt_step_m + ALTITUDE_M:
            out["altitude"] = f"off by {off:.1f} m (step {sheet.alt_step_m:.1f})"
    speed = flight.get("groundspeed_mps")
    if speed is None or not np.isfinite(speed[moving]).any():
        out["speed"] = "none"
    else:
        ratio = float(np.nanmedian(speed[moving] / at(clean, "gs", t)[moving]))
        if abs(ratio - 1.0) > SPEED:
            out["speed"] = f"× {ratio:.4f}"
    if (wrong := contacts(flight, clean, sheet, t)) is not None:
        out["contacts"] = wrong
    return out


def contacts(flight: Flight, clean: Clean, sheet: Sheet, t: np.ndarray) -> str | None:
    """Take-offs and landings that are missing, too many or at another time."""
    said: list[tuple[str, float]] = []
    for c in flight.contacts:
        when = float(np.interp(c.time_s, flight.time_s, t))
        said += (
            [("down", when)] if c.kind == "landing" else [("up", when)] if c.kind == "takeoff" else [("touch", when)]
        )
    true = clean.contacts()
    limit = max(CONTACT_S, 1.5 * sheet.step_s)
    edge = max(5.0, 4.0 * sheet.step_s)  # a contact right at the recording's end has nothing beside it
    seen = [(k, w) for k, w in true if sheet.time_s[0] + edge < w < sheet.time_s[-1] - edge]
    if sheet.step_s > 6.0:  # a touch-and-go is over between two or three such fixes: airwork claims none
        short = [i for i in range(len(seen) - 1) if seen[i][0] == "down" and seen[i + 1][1] - seen[i][1] < 30.0]
        seen = [s for i, s in enumerate(seen) if i not in short and i - 1 not in short]
    left = list(said)
    missing = []
    for kind, when in seen:
        near = [s for s in left if abs(s[1] - when) <= limit and s[0] == kind]
        if near:
            left.remove(near[0])
            continue
        touch = [s for s in said if s[0] == "touch" and abs(s[1] - when) <= 30.0]
        if not touch:
            missing.append(f"{kind} at {when - t[0]:.0f} s")
    spare = [
        f"{k} at {w - t[0]:.0f} s"
        for k, w in left
        if not any(abs(w - x) < (30.0 if k == "touch" or abs(x - t[0]) < edge else limit) for _, x in true)
    ]
    problems = [*(f"missed {m}" for m in missing), *(f"said {s}" for s in spare)]
    return "; ".join(problems[:3]) or None


def twin(sheet: Sheet, clean: Clean, folder: Path) -> Path:
    """The same samples written plainly."""
    from datetime import UTC, datetime

    t = sheet.time_s
    fixes = next(v for n, (v, _) in sheet.columns.items() if n.lower().endswith(("lat", "latitude")))
    t = t[np.isfinite(fixes)]
    names = {"lat": "Latitude (deg)", "lon": "Longitude (deg)", "gs": "Groundspeed (m/s)", "track": "Track (deg)"}
    names |= {"phone": {"gps_alt": "GPS Altitude (m)"}, "tracker": {"gps_alt": "GPS Altitude (m)"},
              "logger": {"palt": "Pressure Altitude (m)", "gps_alt": "GPS Altitude (m)"},
              "receiver": {"palt": "Pressure Altitude (m)"},
              "panel": {"alt": "Indicated Altitude (m)", "gps_alt": "GPS Altitude (m)", "ias": "IAS (m/s)",
                        "bank": "Roll (deg)", "pitch": "Pitch (deg)",
                        "hdg": "Magnetic Heading (deg)"}}[sheet.kind]  # fmt: skip
    if sheet.what.get("more") == "TAS5":
        names["tas"] = "TAS (m/s)"
    columns = {title: at(clean, name, t) for name, title in names.items()}
    if sheet.kind == "receiver":
        columns["Pressure Altitude (m)"] = np.round(columns["Pressure Altitude (m)"] / 7.62) * 7.62
    rows = [",".join(["time", *columns])]
    for k, x in enumerate(t.tolist()):
        stamp = datetime.fromtimestamp(x, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        rows.append(",".join([stamp, *(f"{v[k]:.7f}" for v in columns.values())]))
    path = folder / "twin.csv"
    path.write_text("\n".join(rows) + "\n")
    return path


def maneuvers(flight: Flight, shift_s: float) -> list[dict[str, Any]]:
    """Episodes with their times on the truth's clock (seconds since the panel's first sample)."""
    found = debrief(flight, standard=load_standard("commercial")).as_json()["episodes"]
    return [{**e, "start_s": e["start_s"] + shift_s, "end_s": e["end_s"] + shift_s} for e in found]


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, nargs="?", help="flights of bench/fly.py")
    parser.add_argument("--files", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=KINDS, action="append")
    parser.add_argument("--maneuvers", type=int, default=4, help="recognize in every so many-th file (0: in none)")
    parser.add_argument("--real", type=Path, nargs="*", default=[], help="real files or folders, for the second table")
    parser.add_argument("--list", action="store_true", help="say what is wrong with each file")
    parser.add_argument("--keep", type=Path, help="keep the files that came back wrong here")
    parser.add_argument("--layouts", action="store_true", help="one flight in many makers' layouts instead")
    args = parser.parse_args()
    warnings.simplefilter("ignore")
    if args.folder is not None and args.layouts:
        layouts_table(args.folder)
    elif args.folder is not None:
        faults_table(args)
    if args.real:
        real_table(args.real)


def layouts_table(folder: Path) -> None:
    """The folder's first flight in each layout, and what comes back wrong."""
    path = next(p for p in sorted(folder.glob("*.csv")) if not p.stem.endswith("_gps"))
    clean = load(path)
    rows = Rows(clean, np.arange(math.ceil(clean.time_s[0]), clean.time_s[-1], 1.0))
    same, all_ = 0, LAYOUTS | OTHER_HANDS | LATER_HANDS | CONTAINERS | INSTRUCTORS
    print(f"{path.stem}\n| layout | what is wrong |\n| --- | --- |")
    with tempfile.TemporaryDirectory() as scratch:
        for name, layout in all_.items():
            written = layout(rows)
            file = Path(scratch) / f"flight{written.ending}"
            file.write_bytes(written.data)
            try:
                flight = read_flight(file, aircraft=written.aircraft)
                wrong = differs(flight.get, flight.time_s, flight.start_utc_s, rows, written)
            except AirworkError as problem:
                wrong = [str(problem)]
            same += not wrong
            print(f"| {name} | {'; '.join(wrong) or '–'} |", flush=True)
    print(f"{same} of {len(all_)} came back as the same flight")


def faults_table(args: argparse.Namespace) -> None:
    """Make, read and judge the files; print the table."""
    paths = [p for p in sorted(args.folder.glob("*.csv")) if not p.stem.endswith("_gps")]
    kinds = args.kind or KINDS
    rng = np.random.default_rng(args.seed)
    rows: dict[str, list[dict[str, str]]] = defaultdict(list)
    tallies: dict[tuple[str, str], Tally] = defaultdict(Tally)
    kept: dict[str, Clean] = {}
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        for k in range(args.files):
            path = paths[int(rng.integers(len(paths)))]
            if len(kept) > 12:
                kept.clear()
            clean = kept.setdefault(path.stem, load(path)) if path.stem not in kept else kept[path.stem]
            kind = kinds[k % len(kinds)]
            sheet = RECORDERS[kind](clean, rng)
            file, shift = write(sheet, folder, f"{k:04d}_{path.stem}", rng)
            try:
                flight = read_flight(file)
            except AirworkError as problem:
                wrong = {"refused": str(problem).replace(str(folder), "")[-120:]}
            else:
                wrong = compare(flight, clean, sheet, shift)
                if args.maneuvers and k // len(kinds) % args.maneuvers == 0 and "rows" not in wrong:
                    truth = json.loads(path.with_name(f"{path.stem}.truth.json").read_text())["episodes"]
                    ahead = offset_s(flight, sheet, shift) - float(clean.time_s[0])
                    plain = read_flight(twin(sheet, clean, folder))
                    for what, said in (
                        ("as written", maneuvers(flight, ahead)),
                        ("plain twin", maneuvers(plain, plain.start_utc_s - float(clean.time_s[0]))),
                    ):
                        tally = tallies[kind, what]
                        score(path.stem, truth, said, tally, position=kind != "panel")
            rows[kind].append(wrong)
            if wrong and args.list:
                drawn = " ".join(f"{a}={b}" for a, b in sheet.what.items() if b)
                print(
                    f"{file.name[:34]:36}{kind:9}{drawn}\n      " + "; ".join(f"{a}: {b}" for a, b in wrong.items()),
                    flush=True,
                )
            if wrong and args.keep:
                args.keep.mkdir(parents=True, exist_ok=True)
                (args.keep / file.name).write_bytes(file.read_bytes())
            file.unlink()
    print_table(rows, tallies)


def print_table(rows: dict[str, list[dict[str, str]]], tallies: dict[tuple[str, str], Tally]) -> None:
    """Files by kind of recorder: how many came back as the same flight, and what was wrong with the others."""
    names = ("refused", "rows", "altitude", "speed", "contacts")
    print(f"\n| recorder | files | same flight | {' | '.join(names)} | maneuvers, F1: as written, plain twin |")
    print("| --- " * (len(names) + 4) + "|")
    for kind in (*rows, "all"):
        part = [r for k, list_ in rows.items() for r in list_ if kind in (k, "all")]
        counts = [sum(n in r for r in part) for n in names]
        f1s = [
            _f1([t for (k, w), t in tallies.items() if w == what and kind in (k, "all")])
            for what in ("as written", "plain twin")
        ]
        print(
            f"| {kind} | {len(part)} | {sum(not r for r in part)} | {' | '.join(map(str, counts))} "
            f"| {f1s[0]}, {f1s[1]} |"
        )


def _f1(tallies: list[Tally]) -> str:
    hits, misses, false = (sum(sum(getattr(t, n).values()) for t in tallies) for n in ("hits", "misses", "false"))
    return f"{2 * hits / (2 * hits + misses + false):.3f}" if hits else "–"


if __name__ == "__main__":
    main()
