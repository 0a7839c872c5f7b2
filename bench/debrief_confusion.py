"""How well maneuvers are recognized and measured, against simulated flights with known truth.

    python bench/fly.py ...                      # makes flights with their truth (see bench/flying)
    python bench/debrief_confusion.py FOLDER     # NAME.csv, NAME_gps.csv and NAME.truth.json in it
    python bench/debrief_confusion.py FOLDER --sure 0.5 --list --edges

Prints for full data and for position alone: the confusion table (rows: flown, columns: said), precision, recall and
F1, false alarms per hour in the air, and the errors of the measured numbers of the maneuvers found. A maneuver counts
as found when its kind is right and it overlaps the truth by half of their union. What only happened on the way between
exercises (`intended: false`) counts neither for nor against. A tank change and a forward slip can't be seen in
position alone and are left out of that table's misses, which is said.
"""

from __future__ import annotations

import argparse
import json
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from airwork.debrief import debrief
from airwork.recording import read_flight
from airwork.recording.flight import Flight
from airwork.standards import load_standard

HALF = 0.5
FULL, POSITION = "full data", "position alone"
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
    sureness: list[tuple[float, bool]] = field(default_factory=list)  # said, and whether it was right
    edges: dict[str, list[tuple[float, float]]] = field(default_factory=lambda: defaultdict(list))  # late by, s


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
            if flown["kind"] not in PLAIN and flown["intended"]:
                tally.sureness.append((said[k]["confidence"], True))
            if flown["intended"]:
                tally.hits[flown["kind"]] += 1
                tally.table[flown["kind"], flown["kind"]] += 1
                late = said[k]["start_s"] - flown["start_s"], said[k]["end_s"] - flown["end_s"]
                tally.edges[flown["kind"]].append(late)
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
        tally.sureness.append((e["confidence"], False))
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


EDGE_S = 3.0


def edges_text(tally: Tally) -> list[str]:
    """How far the beginnings and ends said are from those flown, kind by kind."""
    lines = [f"{'beginning and end, s off':<26}{'n':>5}{'median':>15}{'90%':>15}{'within 3 s':>14}"]
    both = {"all": [pair for pairs in tally.edges.values() for pair in pairs], **dict(sorted(tally.edges.items()))}
    for kind, pairs in both.items():
        off = np.abs(np.array(pairs))
        middle, most = np.median(off, axis=0), np.percentile(off, 90, axis=0)
        near = 100.0 * (off <= EDGE_S).mean(axis=0)
        lines.append(f"{kind:<26}{len(pairs):>5}{middle[0]:>8.1f}{middle[1]:>7.1f}{most[0]:>8.1f}{most[1]:>7.1f}"
                     f"{near[0]:>8.0f}%{near[1]:>5.0f}%")  # fmt: skip
    return lines


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


def recordings_of(
    folder: Path, match: str = "", every_s: Sequence[float] = ()
) -> Iterator[tuple[str, str, Flight, list[dict[str, Any]]]]:
    """(name, what is recorded, flight, truth) of each recording of a folder; position alone also thinned."""
    for path in sorted(folder.glob("*.truth.json")):
        name = path.name.removesuffix(".truth.json")
        if match not in name:
            continue
        truth = json.loads(path.read_text())["episodes"]
        full, gps = path.with_name(f"{name}.csv"), path.with_name(f"{name}_gps.csv")
        if full.exists():
            yield name, FULL, read_flight(full), truth
        if gps.exists():
            yield name, POSITION, read_flight(gps), truth
            for seconds in every_s:
                yield name, f"one fix in {seconds:g} s", thinned(gps, seconds), truth


def thinned(path: Path, every_s: float) -> Flight:
    """A recording of one fix a second with only one in so many seconds kept, read as a file."""
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    with tempfile.TemporaryDirectory() as folder:
        short = Path(folder) / path.name
        short.write_text("\n".join([head, *rows[:: max(1, round(every_s))]]) + "\n", encoding="utf-8")
        return read_flight(short)


BANDS = (0.0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0001)


def reliability(sureness: Sequence[tuple[float, bool]]) -> list[tuple[float, float, int, float, float]]:
    """(from, to, claims, mean certainty, share right) of each band."""
    p, right = np.array([s for s, _ in sureness]), np.array([r for _, r in sureness], dtype=float)
    out = []
    for low, high in pairwise(BANDS):
        inside = (p >= low) & (p < high)
        if inside.any():
            out.append((low, min(high, 1.0), int(inside.sum()), float(p[inside].mean()), float(right[inside].mean())))
    return out


def area_under(sureness: Sequence[tuple[float, bool]]) -> float:
    """How well right and wrong claims are told apart: the chance that a right one is the surer of two."""
    right, wrong = ([s for s, r in sureness if r is which] for which in (True, False))
    if not right or not wrong:
        return float("nan")
    a, b = np.array(right)[:, None], np.array(wrong)[None, :]
    return float((a > b).mean() + 0.5 * (a == b).mean())


def reliability_text(sureness: Sequence[tuple[float, bool]]) -> list[str]:
    """The table: of claims said so sure, how many are right."""
    if not sureness:
        return []
    p, right = np.array([s for s, _ in sureness]), np.array([r for _, r in sureness], dtype=float)
    high = p >= 0.95
    out = [
        f"certainty of {p.size} claims: AUC {area_under(sureness):.3f}, Brier {((p - right) ** 2).mean():.4f}, "
        f"wrong among those at 0.95 and above {100 * (1 - right[high]).mean() if high.any() else float('nan'):.1f} %"
    ]
    out += [f"  {low:.2f} to {top:.2f}: {n:>5} claims, said {said:.3f}, right {share:.3f}"
            for low, top, n, said, share in reliability(sureness)]  # fmt: skip
    return out


def reliability_picture(all_sureness: Mapping[str, Sequence[tuple[float, bool]]], path: Path) -> None:
    """Said against right, one line for each kind of recording, the area of a mark its number of claims."""
    import matplotlib

    matplotlib.use("agg")
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(figsize=(5.2, 5.0))
    axes.plot([0.0, 1.0], [0.0, 1.0], color="#888888", linewidth=1.0, label="as sure as right")
    for (what, sureness), style in zip(all_sureness.items(), ("-", "--", ":", "-."), strict=False):
        rows = reliability(sureness)
        said, right = [r[3] for r in rows], [r[4] for r in rows]
        axes.plot(said, right, style, marker="o", label=what)
    axes.set(xlabel="said", ylabel="right", xlim=(0.3, 1.01), ylim=(0.0, 1.03), title="certainty of claims")
    axes.legend(loc="upper left", frameon=False)
    figure.tight_layout()
    figure.savefig(path)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--match", default="", help="only flights whose name contains this")
    parser.add_argument("--sure", type=float, default=0.0, help="leave out what is claimed with less confidence")
    parser.add_argument("--standard", default="commercial", help="standard to grade by")
    parser.add_argument(
        "--every", type=float, nargs="*", default=[4.0], help="also position alone, one fix in so many s"
    )
    parser.add_argument("--picture", type=Path, help="draw the reliability of the certainty there (SVG or PNG)")
    parser.add_argument("--kinds", action="store_true", help="errors of the measured numbers by kind")
    parser.add_argument("--edges", action="store_true", help="how far beginnings and ends are off, by kind")
    parser.add_argument("--list", action="store_true", help="list every miss and false alarm")
    args = parser.parse_args()
    standard = load_standard(args.standard)
    tallies: dict[str, Tally] = {}
    for name, what, flight, truth in recordings_of(args.folder, args.match, args.every):
        tally = tallies.setdefault(what, Tally())
        began = time.perf_counter()
        found = debrief(flight, standard=standard).as_json()
        tally.seconds += time.perf_counter() - began
        tally.hours += found["flight"].get("airborne_s", 0.0) / 3600.0
        said = [e for e in found["episodes"] if e["confidence"] >= args.sure]
        score(name, truth, said, tally, position=what != FULL)
    for what, tally in tallies.items():
        if tally.hours:
            report(what, tally)
            print("\n".join(reliability_text(tally.sureness)))
            if args.kinds:
                for (kind, key), errors in sorted(tally.by_kind.items()):
                    size = np.abs(np.array(errors))
                    print(f"  {kind:<22}{key:<30}{size.size:>4}  median {np.median(size):8.2f}  90% "
                          f"{np.percentile(size, 90):8.2f}")  # fmt: skip
            if args.edges:
                print("\n".join(edges_text(tally)))
            if args.list:
                print("\n".join(tally.lines))
    if args.picture:
        reliability_picture({what: t.sureness for what, t in tallies.items()}, args.picture)


if __name__ == "__main__":
    main()
