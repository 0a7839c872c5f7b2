"""Learn what tells a drive from a flight, and say how well it does on tracks that nobody learned from.

    python bench/fly.py --seed 120100 --out FOLDER           # flights; --make late, --make loose too
    python bench/driven_tracks.py FOLDER... [--learn]        # --learn writes src/airwork/recording/driven.json

Made-up drives: a road (or rails, a river, a path) over a made-up country: slopes of many lengths, bends, limits, stops;
the vehicle keeps to its limits of speed, sideways and lengthways acceleration. Flights: those of bench/fly.py as they
are, shrunk in space to make slow airplanes, with heights shrunk to make weak ones, cut out of the middle, thinned to a
fix in 2 to 10 s. Judged by cross-validation in folds of whole kinds: each kind by weights that never saw it.
"""

from __future__ import annotations

import argparse
import csv
import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

from airwork.recording.driven import Track, measures
from airwork.units import FT_M, KT_MPS

OUT = Path(__file__).resolve().parent.parent / "src/airwork/recording/driven.json"
PULL = 0.1  # of the weights toward nothing


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of drive: ranges to draw from. Speeds in m/s, grades as ratios, lengths in m."""

    speed: tuple[float, float]  # of its limits
    grade: tuple[float, float]  # rms of the slope
    bend: tuple[float, float]  # usual radius of bends
    straight: tuple[float, float]  # usual length between them
    halt: tuple[float, float]  # way between stops
    push: tuple[float, float]  # lengthways acceleration
    side: tuple[float, float]  # sideways acceleration it takes
    length_s: tuple[float, float] = (900.0, 5_400.0)
    town: float = 0.7  # how often it begins and ends slowly


KINDS = {
    "city": Kind((9, 17), (0.003, 0.05), (10, 60), (60, 500), (150, 900), (1.2, 2.8), (1.5, 4), town=1.0),
    "country road": Kind((17, 28), (0.01, 0.06), (40, 400), (100, 1_500), (2_000, 15_000), (1, 2.5), (1.5, 4)),
    "mountain road": Kind((10, 22), (0.03, 0.06), (8, 80), (40, 400), (3_000, 20_000), (1, 2.5), (2, 4.5)),
    "pass road": Kind((16, 27), (0.03, 0.06), (8, 25), (150, 700), (5_000, 40_000), (1.5, 3), (2, 6)),
    "motorway": Kind((25, 40), (0.003, 0.035), (500, 3_000), (500, 6_000), (40_000, 400_000), (0.6, 2), (1, 2.5)),
    "fast motorway": Kind((35, 60), (0.003, 0.03), (700, 3_000), (800, 8_000), (40_000, 400_000), (0.6, 2.5), (1, 3)),
    "motorway, no town": Kind(
        (24, 42), (0.01, 0.035), (400, 3_000), (500, 6_000), (90_000, 900_000), (0.6, 2), (1, 2.5), town=0.0
    ),
    "motorcycle": Kind((18, 36), (0.02, 0.05), (25, 400), (60, 900), (5_000, 60_000), (1.5, 4), (3, 7)),
    "train": Kind((20, 45), (0.001, 0.012), (400, 2_500), (500, 6_000), (3_000, 40_000), (0.3, 0.8), (0.5, 1.2)),
    "express": Kind((45, 85), (0.001, 0.015), (3_000, 9_000), (3_000, 15_000), (30_000, 120_000), (0.3, 0.6), (0.5, 1)),
    "bicycle": Kind((4, 11), (0.005, 0.06), (8, 80), (50, 500), (500, 8_000), (0.4, 1.2), (1, 3)),
    "on foot": Kind((0.8, 2.2), (0.01, 0.15), (3, 30), (10, 100), (200, 3_000), (0.3, 0.8), (0.5, 1)),
    "boat": Kind((3, 15), (0.0, 0.0), (50, 500), (200, 5_000), (2_000, 60_000), (0.1, 0.6), (0.3, 1.5)),
}  # fmt: skip


def within(rng: np.random.Generator, low_high: tuple[float, float]) -> float:
    """Drawn evenly over the logarithm (evenly where it begins at nought)."""
    low, high = low_high
    return float(np.exp(rng.uniform(np.log(low), np.log(high)))) if low > 0.0 else float(rng.uniform(low, high))


def drive(rng: np.random.Generator, kind: Kind) -> tuple[np.ndarray, ...]:
    """(time, east, north, height, speed) each second of a made-up drive."""
    step_m = 5.0
    length_s = within(rng, kind.length_s)
    top = within(rng, kind.speed)
    n = int(min(top * length_s / step_m, 60_000)) + 400
    curve, limit = np.zeros(n), np.full(n, top)
    radius, straight = within(rng, kind.bend), within(rng, kind.straight)
    at = 0
    while at < n:
        at += int(rng.exponential(straight) / step_m) + 1
        bend = radius * float(np.exp(rng.normal(0.0, 0.6)))
        long = int(max(rng.uniform(0.2, 2.0) * bend / step_m, 2))
        curve[at : at + long] = rng.choice([-1.0, 1.0]) / bend
        at += long
    if rng.random() < 0.5:  # or never quite straight
        long = max(straight / step_m, 8.0)
        knots = np.arange(0.0, n + long, long)
        weave = np.interp(np.arange(n), knots, rng.standard_normal(knots.size))
        curve = curve * float(rng.uniform(0.0, 1.0)) + weave / (radius * float(rng.uniform(1.0, 3.0)))
    at = 0
    while at < n:  # zones of one limit
        zone = int(rng.exponential(max(3.0 * straight, 400.0)) / step_m) + 20
        limit[at : at + zone] = top * float(rng.choice([1.0, 1.0, 0.85, 0.7, 0.5], p=[0.45, 0.2, 0.2, 0.1, 0.05]))
        at += zone
    if rng.random() < kind.town:
        edge = int(rng.uniform(300.0, 2_500.0) / step_m)
        limit[:edge] = limit[-edge:] = np.minimum(top, rng.uniform(8.0, 15.0))
    smooth = np.exp(-np.arange(0, 12) / 4.0)
    curve = np.convolve(curve, smooth / smooth.sum(), "same")
    limit = np.minimum(limit, np.sqrt(within(rng, kind.side) / np.maximum(np.abs(curve), 1e-5)))
    halts = np.zeros(n)
    every = within(rng, kind.halt)
    at = int(rng.exponential(every) / step_m)
    while at < n:
        halts[at] = rng.exponential(25.0) + 3.0
        limit[at] = 0.3
        at += int(rng.exponential(every) / step_m) + 5
    if rng.random() < kind.town:
        limit[0] = limit[-1] = 0.3
        halts[0] = halts[-1] = rng.uniform(5.0, 90.0)
    push = within(rng, kind.push)
    v = limit.copy()
    for k in range(1, n):
        v[k] = min(v[k], np.sqrt(v[k - 1] ** 2 + 2.0 * push * step_m))
    for k in range(n - 2, -1, -1):
        v[k] = min(v[k], np.sqrt(v[k + 1] ** 2 + 2.0 * 1.3 * push * step_m))
    way = np.arange(n) * step_m
    slope = np.zeros(n)
    for long in np.exp(rng.uniform(np.log(150.0), np.log(30_000.0), 16)):
        slope += rng.normal(0.0, 1.0) * np.sin(2.0 * np.pi * way / long + rng.uniform(0, 6.3))
    rms = within(rng, kind.grade)
    slope *= rms / max(float(np.std(slope)), 1e-9)
    slope = np.clip(slope, -2.2 * rms, 2.2 * rms)
    height = 300.0 + np.cumsum(slope) * step_m
    v *= 1.0 + 0.05 * np.interp(way, way[::100], rng.standard_normal(way[::100].size))
    heading = np.cumsum(curve) * step_m + rng.uniform(0.0, 6.28)
    if rng.random() < 0.25:  # there and back on the same road
        height, v, halts = (np.concatenate((x, x[::-1])) for x in (height, v, halts))
        heading, way = np.concatenate((heading, heading[::-1] + np.pi)), np.arange(2 * n) * step_m
    time = np.cumsum(step_m / np.maximum(v, 0.3) + halts)
    t = np.arange(0.0, min(time[-1], length_s))
    east, north = np.cumsum(np.sin(heading)) * step_m, np.cumsum(np.cos(heading)) * step_m
    place = np.interp(t, time, way)
    return t, *(np.interp(place, way, x) for x in (east, north, height)), np.abs(np.gradient(place))


def recorded(rng: np.random.Generator, t: np.ndarray, east: np.ndarray, north: np.ndarray, h: np.ndarray,
             v: np.ndarray) -> Track:  # fmt: skip
    """As a receiver writes it: heights wander, steps, speeds a little off, a fix in 1 to 10 s."""
    step = int(rng.choice([1, 1, 1, 2, 5, 10]))
    wander = np.interp(t, t[::30], rng.normal(0.0, float(rng.choice([0.5, 1.5, 3.0])), t[::30].size))
    t, east, north, h, v = (x[::step] for x in (t, east, north, h + wander, v))
    h = np.round(h / (q := float(rng.choice([0.1, 0.3048, 1.0])))) * q
    v = np.maximum(v + rng.normal(0.0, 0.1, v.size), 0.0)
    moves = v[v > 1.0]
    top = float(np.percentile(moves, 98)) if moves.size else 1.0
    east, north = (x + rng.normal(0.0, 0.3, t.size) for x in (east, north))
    return Track(t.astype(float), v, h, east, north, top, step)


def flight(path: Path) -> tuple[np.ndarray, ...]:
    """(time, east, north, height, speed) of a simulated flight's GPS file."""
    rows = list(csv.DictReader(path.open()))
    stamp = [datetime.fromisoformat(r["UTC Time"].replace("Z", "+00:00")).timestamp() for r in rows]
    t = np.array(stamp) - stamp[0]
    lat, lon = (np.array([float(r[f"{name} (deg)"]) for r in rows]) for name in ("Latitude", "Longitude"))
    north = (lat - lat[0]) * 111_200.0
    east = (lon - lon[0]) * 111_200.0 * np.cos(np.radians(lat[0]))
    h = np.array([float(r["GPS Altitude (ft)"]) for r in rows]) * FT_M
    v = np.array([float(r["Groundspeed (kt)"]) for r in rows]) * KT_MPS
    even = np.arange(0.0, t[-1])
    return even, *(np.interp(even, t, x) for x in (east, north, h, v))


def flights(rng: np.random.Generator, path: Path) -> list[tuple[str, Track]]:
    """The flight as it is; slower, shrunk in space; cut out of the middle."""
    t, east, north, h, v = flight(path)
    out = [("as flown", recorded(rng, t, east, north, h, v))]
    shrink = float(rng.uniform(0.45, 0.8))
    out.append(("slow", recorded(rng, t, shrink * east, shrink * north, h[0] + shrink * (h - h[0]), shrink * v)))
    low = float(rng.uniform(0.5, 0.8))  # weak, or on a hot day
    out.append(("weak", recorded(rng, t, east, north, h[0] + low * (h - h[0]), v)))
    if "soaring" in path.name or rng.random() < 0.3:  # as a paraglider's
        shrink = float(rng.uniform(0.25, 0.35))
        out.append(("gliding", recorded(rng, t, shrink * east, shrink * north, h[0] + 0.6 * (h - h[0]), shrink * v)))
    a = int(rng.uniform(0.1, 0.5) * t.size)
    part = slice(a, a + int(rng.uniform(600.0, 1_500.0)))
    if t[part].size > 400:
        out.append(("cut out", recorded(rng, t[part] - t[a], east[part], north[part], h[part], v[part])))
    return out


def fit(x: np.ndarray, y: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Weights of a logistic regression, the first for a constant, pulled toward nothing."""

    def cost(w: np.ndarray) -> tuple[float, np.ndarray]:
        z = x @ w
        loss = float(weight @ (np.logaddexp(0.0, z) - y * z)) + PULL * float(w[1:] @ w[1:])
        slope = x.T @ (weight * (1.0 / (1.0 + np.exp(-z)) - y))
        slope[1:] += 2.0 * PULL * w[1:]
        return loss, slope

    return np.asarray(minimize(cost, np.zeros(x.shape[1]), jac=True, method="L-BFGS-B").x)


def main() -> None:
    """Make the tracks, judge, learn."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--learn", action="store_true", help="write the weights")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--drives", type=int, default=40, help="of each kind (default 40)")
    parser.add_argument("--score", action="store_true", help="only score the shipped weights on these")
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    rows: list[tuple[str, str, dict[str, float]]] = []
    for name, kind in KINDS.items():
        rows += [(name, "drive", measures(recorded(rng, *drive(rng, kind)))) for _ in range(options.drives)]
    for folder in options.folders:
        for path in sorted(folder.glob("*_gps.csv")):
            theme = path.stem.removesuffix("_gps").rpartition("_")[0].rpartition("_")[2]
            rows += [(f"flight {theme}", how, measures(track)) for how, track in flights(rng, path)]
    names = list(rows[0][2])
    x = np.array([[1.0, *(row[2][n] for n in names)] for row in rows])
    y = np.array([row[1] == "drive" for row in rows], dtype=float)
    kinds = np.array([row[0] for row in rows])
    weight = np.where(y > 0.5, 1.0 / y.sum(), 1.0 / (1.0 - y).sum()) * 100.0
    z = np.zeros(y.size)
    if options.score:
        shipped = json.loads(OUT.read_text())
        z = x @ np.array([shipped["all"], *(shipped[n] for n in names)])
    else:
        for kind_name in np.unique(kinds):
            out = kinds == kind_name
            z[out] = x[out] @ fit(x[~out], y[~out], weight[~out])
    print(
        f"{int(y.sum())} drives, {int((1 - y).sum())} flights; each kind by weights that never saw it"
        if not options.score
        else f"{int(y.sum())} drives, {int((1 - y).sum())} flights; shipped weights"
    )
    print("| kind | tracks | taken for a drive | log odds, 5th, 50th, 95th percentile |\n| --- | --- | --- | --- |")
    for kind_name in np.unique(kinds):
        out = kinds == kind_name
        low, middle, high = np.percentile(z[out], [5, 50, 95])
        print(f"| {kind_name} | {out.sum()} | {(z[out] > 0).sum()} | {low:.1f}, {middle:.1f}, {high:.1f} |")
    for how in sorted({row[1] for row in rows}):
        part = np.array([row[1] == how for row in rows])
        print(f"{how}: {part.sum()}, taken for a drive {(z[part] > 0).sum()}")
    for limit in (-1.0, -0.5, 0.0, 0.5):
        missed, lost = ((z <= limit) & (y > 0.5)).sum(), ((z > limit) & (y < 0.5)).sum()
        print(f"log odds over {limit:+.1f}: {missed} drives missed, {lost} flights lost")
    if options.learn:
        found = np.round(fit(x, y, weight), 2).tolist()
        OUT.write_text(json.dumps(dict(zip(("all", *names), found, strict=True)), indent=1) + "\n")
        print(OUT.read_text())


if __name__ == "__main__":
    main()
