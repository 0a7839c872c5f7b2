"""How well maneuvers are recognized and measured, against simulated flights with known truth.

    python bench/fly.py ...                      # makes flights with their truth (see bench/flying)
    python bench/debrief_confusion.py FOLDER     # NAME.csv, NAME_gps.csv and NAME.truth.json in it
    python bench/debrief_confusion.py FOLDER --sure 0.5 --list

Prints for full data and for position alone: the confusion table (rows: flown, columns: said), precision, recall and
F1, false alarms per hour in the air, and the errors of the measured numbers of the maneuvers found. A maneuver counts
as found when its kind is right and it overlaps the truth by half of their union. What only happened on the way between
exercises (`intended: false`) counts neither for nor against. A tank change and a forward slip can't be seen in
position alone and are left out of that table's misses, which is said.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from airwork.debrief import debrief
from airwork.recording import read_flight
from airwork.standards import load_standard

HALF = 0.5
PLAIN = ("climb", "descent", "straight_and_level")  # claimed wherever they happen: never a false alarm
UNSEEN_IN_POSITION = ("tank_change", "forward_slip")
# measured key -> (the aim of the debrief's issue, in its unit)
AIMS = {
    "entry_altitude_ft": 10.0, "exit_altitude_ft": 10.0, "max_altitude_ft": 10.0, "min_altitude_ft": 10.0,
    "max_altitude_error_ft": 10.0, "min_altitude_error_ft": 10.0, "altitude_lost_from_entry_ft": 10.0,
    "entry_ias_kt": 1.5, "max_ias_kt": 1.5, "min_ias_kt": 1.5, "mean_ias_kt": 1.5, "mean_tas_kt": 3.0,
    "max_bank_deg": 1.5, "steady_mean_bank_deg": 1.5, "heading_change_deg": 3.0, "wind_kt": 2.0,
}  # fmt: skip
# Numbers of these hang on where exactly they are taken to begin and end: in the middle of a climb or a roll.
LOOSE = ("takeoff", "landing", "touch_and_go", "go_around", "climb", "descent", "traffic_pattern", "tank_change")


@dataclass
class Tally:
    """Counts of one kind of recording."""

    table: Counter[tuple[str, str]] = field(default_factory=Counter)
    hits: Counter[str] = field(default_factory=Counter)
    misses: Counter[str] = field(default_factory=Counter)
    false: Counter[str] = field(default_factory=Counter)
    hours: float = 0.0
    errors: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    by_kind: dict[tuple[str, str], list[float]] = field(default_factory=lambda: defaultdict(list))
    lines: list[str] = field(default_factory=list)
    seconds: float = 0.0


def overlap(a: dict[str, Any], b: dict[str, Any]) -> float:
    """Overlap over union of two extents."""
    both = min(a["end_s"], b["end_s"]) - max(a["start_s"], b["start_s"])
    union = max(a["end_s"], b["end_s"]) - min(a["start_s"], b["start_s"])
    return max(0.0, both) / union if union > 0 else 0.0


def score(name: str, truth: list[dict[str, Any]], said: list[dict[str, Any]], tally: Tally, *, position: bool) -> None:
    """Match one flight's truth with what was said."""
    used: set[int] = set()
    for flown in truth:
        options = [(overlap(flown, e), k) for k, e in enumerate(said) if e["kind"] == flown["kind"] and k not in used]
        best, k = max(options, default=(0.0, -1))
        if best >= HALF:
            used.add(k)
            if flown["intended"]:
                tally.hits[flown["kind"]] += 1
                tally.table[flown["kind"], flown["kind"]] += 1
                measure(flown, said[k], tally)
            continue
        if not flown["intended"] or (position and flown["kind"] in UNSEEN_IN_POSITION):
            continue
        tally.misses[flown["kind"]] += 1
        over = max(((overlap(flown, e), e["kind"]) for e in said), default=(0.0, ""))
        tally.table[flown["kind"], over[1] if over[0] > 0.25 else "nothing"] += 1
        tally.lines.append(f"{name}: missed {flown['kind']} {flown['start_s']:.0f}-{flown['end_s']:.0f} s")
    for k, e in enumerate(said):
        on_the_way = any(not t["intended"] and t["kind"] == e["kind"] and overlap(t, e) > 0.0 for t in truth)
        if k in used or e["kind"] in PLAIN or on_the_way:
            continue
        tally.false[e["kind"]] += 1
        if not any(t["intended"] and overlap(t, e) > 0.25 for t in truth):
            tally.table["nothing", e["kind"]] += 1
        why = "; ".join(e["evidence"])
        tally.lines.append(
            f"{name}: false {e['kind']} {e['start_s']:.0f}-{e['end_s']:.0f} s, {e['confidence']:.2f}: {why}"
        )


def measure(flown: dict[str, Any], said: dict[str, Any], tally: Tally) -> None:
    """Errors of the numbers of a maneuver found."""
    if flown["kind"] in LOOSE:
        return
    for key in AIMS:
        if key in flown["truth"] and key in said["measured"]:
            tally.errors[key].append(said["measured"][key] - flown["truth"][key])
            tally.by_kind[flown["kind"], key].append(said["measured"][key] - flown["truth"][key])


def table_text(tally: Tally) -> list[str]:
    """The confusion table: rows flown, columns said; only what occurs."""
    kinds = sorted({k for pair in tally.table for k in pair} - {"nothing"})
    short = {k: f"{n + 1}" for n, k in enumerate(kinds)} | {"nothing": "–"}
    lines = ["     " + "".join(f"{short[k]:>4}" for k in [*kinds, "nothing"])]
    for row in [*kinds, "nothing"]:
        cells = "".join(f"{tally.table[row, k] or '.':>4}" for k in [*kinds, "nothing"])
        lines.append(f"{short[row]:>4} {cells}  {row}")
    return lines


def report(what: str, tally: Tally) -> float:
    """Print one kind of recording; returns F1."""
    hits, misses, false = (sum(c.values()) for c in (tally.hits, tally.misses, tally.false))
    f1 = 2 * hits / max(2 * hits + misses + false, 1)
    print(f"\n{what}: F1 {f1:.3f}  (found {hits}, missed {misses}, false {false})")
    print(f"{false / max(tally.hours, 1e-9):.2f} false alarms per hour in {tally.hours:.1f} h in the air; "
          f"recognized and graded in {tally.seconds:.2f} s")  # fmt: skip
    print("rows: flown; columns: said; –: nothing")
    print("\n".join(table_text(tally)))
    print(f"{'measured':<30}{'n':>5}{'mean':>9}{'median |e|':>12}{'90% |e|':>10}{'aim':>7}{'within':>9}")
    for key, aim in AIMS.items():
        e = np.array(tally.errors.get(key, []))
        if e.size:
            size = np.abs(e)
            middle, most = np.median(size), np.percentile(size, 90)
            print(f"{key:<30}{e.size:>5}{e.mean():>9.2f}{middle:>12.2f}{most:>10.2f}{aim:>7g}"
                  f"{100 * (size <= aim).mean():>8.0f}%")  # fmt: skip
    return f1


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--match", default="", help="only flights whose name contains this")
    parser.add_argument("--sure", type=float, default=0.0, help="leave out what is claimed with less confidence")
    parser.add_argument("--standard", default="commercial", help="standard to grade by")
    parser.add_argument("--kinds", action="store_true", help="errors of the measured numbers by kind")
    parser.add_argument("--list", action="store_true", help="list every miss and false alarm")
    args = parser.parse_args()
    standard = load_standard(args.standard)
    tallies = {"full data": Tally(), "position alone": Tally()}
    for path in sorted(args.folder.glob("*.truth.json")):
        name = path.name.removesuffix(".truth.json")
        if args.match not in name:
            continue
        truth = json.loads(path.read_text())["episodes"]
        for what, suffix in (("full data", ".csv"), ("position alone", "_gps.csv")):
            recording = path.with_name(name + suffix)
            if not recording.exists():
                continue
            flight, tally = read_flight(recording), tallies[what]
            began = time.perf_counter()
            found = debrief(flight, standard=standard).as_json()
            tally.seconds += time.perf_counter() - began
            tally.hours += found["flight"].get("airborne_s", 0.0) / 3600.0
            said = [e for e in found["episodes"] if e["confidence"] >= args.sure]
            score(name, truth, said, tally, position=suffix != ".csv")
    for what, tally in tallies.items():
        if tally.hours:
            report(what, tally)
            if args.kinds:
                for (kind, key), errors in sorted(tally.by_kind.items()):
                    size = np.abs(np.array(errors))
                    print(f"  {kind:<22}{key:<30}{size.size:>4}  median {np.median(size):8.2f}  90% "
                          f"{np.percentile(size, 90):8.2f}")  # fmt: skip
            if args.list:
                print("\n".join(tally.lines))


if __name__ == "__main__":
    main()
