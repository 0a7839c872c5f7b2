"""Errors of what is learned of an airplane, by the number of recorded flights it was learned from.

    python bench/learning_flights.py                       # the airplanes kept for scoring
    python bench/learning_flights.py --tuning              # those that numbers in the code were chosen on
    python bench/learning_flights.py --airplanes c172r,j3cub --flights 5 --seed 7
    python bench/learning_flights.py --airplanes c182g       # constant speed: manifold pressure in place of RPM
    python bench/learning_flights.py --by-path     # what a satellite track alone tells, against the panel's file

Airplanes of the flight dynamics library JSBSim (`learning_airplanes.py`), flown through whole lessons by pilots from
precise to poor who hunt the throttle, in gusts, recorded at 1 Hz and read as any recording is. Truth are JSBSim's own
trimmed states at two weights, three altitudes, one of them 20 °C warm, speeds from 1.05 times the stall; flaps down
only to 1.9 times the stall (beyond the white arc nobody flies them). Nothing is typed but sizes and stall speeds, or a
handbook as well. In one flight of five the weight is noted 60 lb wrong. Each figure: median / 90th percentile of the
absolute error, and the share of truths inside the 90 % band.

Flights and trims are kept in a folder (`--cache`, one in the system's temporary folder if not given); making them takes
some ten minutes the first time.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

import learning_airplanes as airplanes
import learning_frames as frames

from airwork.airdata.atmosphere import standard_air
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance import Condition, Performance, Setting, climbing, level
from airwork.airplane.performance.flown import POWERED, Flown, WeightFrom
from airwork.airplane.performance.fuel_line import power_of
from airwork.airplane.performance.learn import learn
from airwork.recording import read_flight
from airwork.recording.flown import by_path, flown_of
from airwork.units import FPM_MPS, FT_M, INHG_PA, KT_MPS, LB_KG

SLOW, FLAPS_FASTEST, SLOWEST = 1.5, 1.9, 1.05  # times the stall speed
WRONG_LB, WRONG_SHARE = 60.0, 0.2
DESCENDING_MPS = -1.0
LEVER_MOVES_S = 15.0  # no window across a change of mixture is judged


@dataclass
class Errors:
    """Absolute errors and whether the band held, by what was asked."""

    off: dict[str, list[np.ndarray]] = field(default_factory=dict)
    held: dict[str, list[np.ndarray]] = field(default_factory=dict)

    def add(self, what: str, off: np.ndarray, half: np.ndarray) -> None:
        known = np.isfinite(off)
        self.off.setdefault(what, []).append(np.abs(off[known]))
        self.held.setdefault(what, []).append((np.abs(off) <= half)[known])

    def cell(self, what: str, digits: int = 0) -> str:
        if what not in self.off or not sum(x.size for x in self.off[what]):
            return "–"
        off, held = np.concatenate(self.off[what]), np.concatenate(self.held[what])
        return f"{np.median(off):.{digits}f} / {np.quantile(off, 0.9):.{digits}f} ({100 * held.mean():.0f})"


def flights_of(
    name: str, count: int, seed: int, airplane: Airplane, *, weights: bool = True, position: bool = False,
    wrong_lb: float | None = None, how: WeightFrom = "typed",
) -> list[Flown]:  # fmt: skip
    """The airplane's lessons as the learner has them; some weights noted wrong, or none noted.

    position : only the satellite track is had. wrong_lb : every weight noted so far off, one way. how : noted where.
    """
    out = []
    for number in range(count):
        path = airplanes.fly(name, number, seed)
        start = json.loads(path.with_name(path.name.replace("_1hz.csv", ".truth.json")).read_text())["start_mass_lb"]
        rng = np.random.default_rng([seed, number, 77])
        wrong = WRONG_LB * float(rng.choice([-1.0, 1.0])) if rng.random() < WRONG_SHARE else 0.0
        wrong = wrong if wrong_lb is None else wrong_lb
        mass = (round((start + wrong) / 10.0) * 10.0) * LB_KG if weights else None
        source = path.with_name(path.name.replace("_1hz.csv", ".gpx")) if position else path
        flown = flown_of(read_flight(source, airplane=airplane), airplane, mass, how)
        if flown is not None:
            out.append(flown)
    return out


def score(name: str, p: Performance, errors: Errors) -> None:
    """Every trimmed state against what the airplane learned says."""
    table = _usable(name, "level")
    at = Condition(
        table["weight_lb"] * LB_KG, table["pressure_altitude_ft"] * FT_M, table["oat_c"] + 273.15, table["notch"]
    )
    slow = table["over_stall"] < SLOW
    rated = airplanes.SETUPS[name].model.rated_hp
    found = level.level_flight(p, table["kcas"] * KT_MPS, at)
    rated = airplanes.SETUPS[name].model.rated_hp
    if p.fixed is not None:
        off, half = found.rpm - table["rpm"], found.rpm_90
    else:  # governed: what is set is the manifold pressure, inHg; and the power it is, in points of percent
        share = 100 * (found.power_ratio - table["hp"] / rated)
        errors.add("power", share, 100 * found.power_90)
        off, half = share.copy(), share.copy()
        for rpm in np.unique(table["rpm"]):
            here, one = table["rpm"] == rpm, level.level_flight(p, table["kcas"] * KT_MPS, at, float(rpm))
            off[here] = (one.manifold_pressure_pa / INHG_PA - table["inhg"])[here]
            half[here] = (one.manifold_pressure_90_pa / INHG_PA)[here]
    errors.add("slow", off[slow], half[slow])
    errors.add("all", off, half)
    climb = _usable(name, "climb")
    at = Condition(
        climb["weight_lb"] * LB_KG, climb["pressure_altitude_ft"] * FT_M, climb["oat_c"] + 273.15, climb["notch"]
    )
    given = Setting(rpm=climb["rpm"]) if p.fixed is not None else Setting(power_ratio=climb["hp"] / rated)
    for what, setting in (("climb", given), ("full", Setting())):
        rate = climbing.climb(p, climb["kcas"] * KT_MPS, at, setting)
        off = rate.climb_rate_mps / FPM_MPS - climb["rate_of_climb_fpm"]
        errors.add(what, off, rate.climb_rate_90_mps / FPM_MPS)


def score_fuel(p: Performance, held_out: Flown, errors: Errors) -> None:
    """Flow in level flight and climbs of a flight not learned from, by the power it was flown at. [%]"""
    line = p.learned.fuel
    if line is None:
        return
    known = np.isfinite(held_out.rows.flow_m3ps) & (held_out.rows.kind == POWERED)
    known &= held_out.rows.rate_mps > DESCENDING_MPS
    moved = airplanes.leaned_at(held_out.name)  # the instructor knows where the lever stood
    leaned = np.searchsorted(moved, held_out.rows.time_s) % 2 == 1
    known &= np.abs(np.subtract.outer(held_out.rows.time_s, [-1e6, *moved])).min(axis=1) > LEVER_MOVES_S
    pressure = standard_air(held_out.rows.altitude_m).pressure_pa
    guess = line.flow_m3ps(power_of(held_out, p.learned.engine)[known], pressure[known], leaned[known])
    share = 100 * (guess / held_out.rows.flow_m3ps[known] - 1.0)
    errors.add("fuel", share, np.full(share.size, 164.5 * float(np.hypot(line.sd_share, 0.02))))


def _usable(name: str, kind: str) -> dict[str, np.ndarray]:
    setup = airplanes.SETUPS[name]
    table = airplanes.level_truth(setup)[kind]
    ratio = table["kcas"] / airplanes.stall_kcas(setup, table["weight_lb"], table["notch"])
    keep = (ratio >= SLOWEST) & (table["rpm"] < 1.02 * setup.model.rated_rpm)
    keep &= (table["notch"] == 0) | (ratio < FLAPS_FASTEST)
    return {**{c: v[keep] for c, v in table.items()}, "over_stall": ratio[keep]}


@dataclass(frozen=True)
class Case:
    """How an airplane is known before its flights, and what is noted of them."""

    title: str
    handbook: bool = False
    weights: bool = True
    position: bool = False
    wrong_lb: float | None = None
    how: WeightFrom = "typed"


CASES = (
    Case("from sizes and stall speeds"),
    Case("from a handbook", handbook=True),
    Case("from sizes and stall speeds, no weight noted", weights=False),
    Case("from sizes and stall speeds, every weight noted 60 lb too light", wrong_lb=-WRONG_LB),
    Case("from sizes and stall speeds, every weight noted 60 lb too heavy", wrong_lb=WRONG_LB),
    Case("from sizes and stall speeds, weights by the lessons' loadings", wrong_lb=0.0, how="lesson"),
    Case("from sizes and stall speeds, position alone recorded", position=True),
    Case("from a handbook, position alone recorded", handbook=True, position=True),
)
COLUMNS = {"slow": "slow flight", "all": "all level", "climb": "climb given power, ft/min",
           "full": "full-throttle climb, ft/min", "fuel": "fuel flow of another flight, %"}  # fmt: skip


def table(names: tuple[str, ...], count: int, seed: int, case: Case, *, draws: int) -> None:
    """Print one row for each airplane and number of flights, and the mean of them all."""
    governed = any(airplanes.SETUPS[n].governed for n in names)
    unit, digits = ("inHg", {"slow": 2, "all": 2, "fuel": 1}) if governed else ("RPM", {"fuel": 1})
    heads = [f"{unit}, {v}" if k in ("slow", "all") else v for k, v in COLUMNS.items()]
    print(f"\n### {case.title}\n\n| airplane | flights | {' | '.join(heads)} |\n|{' --- |' * (len(heads) + 2)}")
    together = {n: Errors() for n in range(count + 1)}
    for name in names:
        airplane = airplanes.papers(name, handbook=case.handbook, seed=seed)
        flown = flights_of(
            name, count + 1, seed, airplane, weights=case.weights, position=case.position, wrong_lb=case.wrong_lb,
            how=case.how,
        )  # fmt: skip
        if not flown:  # a handbook's powers stand where only the path is known
            print(f"| {name} | none of them teaches it anything |")
            continue
        *flights, last = flown
        # one order and its rotations: at each number every flight takes part equally often
        first = np.random.default_rng([seed, 5]).permutation(len(flights))
        orders = [np.roll(first, -k) for k in range(draws)]
        for n in range(count + 1):
            errors = Errors()
            for order in orders[: 1 if n in (0, len(flights)) else draws]:
                p = Performance(airplane, learn(airplane, [], [flights[i] for i in order[:n]]))
                for one in (errors, together[n]):
                    score(name, p, one)
                    score_fuel(p, last, one)
            cells = [errors.cell(k, digits.get(k, 0)) for k in COLUMNS]
            print(f"| {name} | {n} | {' | '.join(cells)} |", flush=True)
    for n, errors in together.items():
        cells = [errors.cell(k, digits.get(k, 0)) for k in COLUMNS]
        print(f"| **all** | {n} | {' | '.join(cells)} |")


PATH_WORDS = {
    "climb, ft/min": r"climbed ([\d,]+) ft", "speed of the climb, kt": r"climbed .* at (\d+) kt",
    "descent, ft/min": r"came down ([\d,]+) ft", "cruise, kt": r"cruised at (\d+) kt",
    "slowest level, kt": r"as slow as (\d+) kt",
}  # fmt: skip


def by_path_table(names: tuple[str, ...], count: int, seed: int) -> None:
    """What is told of each flight by its satellite track, held against what its measured airspeed and altitude tell."""
    pairs: dict[str, list[tuple[float, float]]] = {what: [] for what in PATH_WORDS}
    for name in names:
        airplane = airplanes.papers(name, seed=seed)
        for number in range(count):
            panel = airplanes.fly(name, number, seed)
            track = panel.with_name(panel.name.replace("_1hz.csv", ".gpx"))
            told = ["; ".join(by_path(read_flight(x, airplane=airplane), airplane)) for x in (track, panel)]
            for what, words in PATH_WORDS.items():
                found = [re.search(words, text) for text in told]
                if found[1]:
                    pairs[what].append(tuple(float(f[1].replace(",", "")) if f else np.nan for f in found))
    print("| by the track alone | flights | told | difference, median / 90th percentile |\n| --- | --- | --- | --- |")
    for what, values in pairs.items():
        both = np.array(values).reshape(-1, 2)
        off = np.abs(both[:, 0] - both[:, 1])
        off = off[np.isfinite(off)]
        print(f"| {what} | {len(both)} | {off.size} | {np.median(off):.0f} / {np.quantile(off, 0.9):.0f} |")


def picture(printed: Path, out: Path) -> None:
    """The first table of a printed run as a picture: slow-flight error over the number of flights."""
    import matplotlib

    matplotlib.use("svg")
    matplotlib.rcParams["svg.hashsalt"] = "learning"
    import matplotlib.pyplot as plt

    rows: dict[str, list[tuple[float, float]]] = {}
    for line in printed.read_text().split("###")[1].splitlines():
        cells = [c.strip(" *") for c in line.split("|")]
        if len(cells) > 4 and cells[2].isdigit():
            middle, high = cells[3].split(" (")[0].split(" / ")
            rows.setdefault(cells[1], []).append((float(middle), float(high)))
    fig, ax = plt.subplots(figsize=(7.2, 3.6), layout="constrained")
    for name, values in rows.items():
        strong = name == "all"
        x = range(len(values))
        ax.plot(
            x, [v[0] for v in values], marker="o", lw=2.4 if strong else 1.0, label=name, color="k" if strong else None
        )
        if strong:
            ax.plot(x, [v[1] for v in values], ls="--", color="k", label="all, 90th percentile")
    ax.axhline(15, color="0.6", lw=0.8)
    ax.set(
        xlabel="recorded flights learned from", ylabel="RPM error in slow flight, median", yscale="log", ylim=(7, 500)
    )
    ax.set_yticks([10, 20, 50, 100, 200], labels=["10", "20", "50", "100", "200"])
    ax.legend(frameon=False, ncols=2, fontsize=8)
    fig.savefig(out, metadata={"Date": None})


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tuning", action="store_true", help="the airplanes numbers in the code were chosen on")
    parser.add_argument("--airplanes", default="", help="comma list instead")
    parser.add_argument("--flights", type=int, default=5, help="up to so many flights (5)")
    parser.add_argument("--seed", type=int, help="of the lessons and pilots (7; tuning 1)")
    parser.add_argument("--draws", type=int, default=5, help="orders in which the flights come (5)")
    parser.add_argument("--only", default="", help="only the case of this title, or those that contain this")
    parser.add_argument("--picture", type=Path, metavar="OUT.svg", help="draw a run printed earlier (--printed FILE)")
    parser.add_argument("--printed", type=Path)
    parser.add_argument("--by-path", action="store_true", help="score what position alone tells of each flight")
    parser.add_argument("--cache", type=Path, default=frames.CACHE, help="folder for flights and trims")
    args = parser.parse_args()
    if args.picture and args.printed:
        picture(args.printed, args.picture)
        return
    frames.CACHE = args.cache
    seed = args.seed if args.seed is not None else 1 if args.tuning else 7
    names = airplanes.TUNING if args.tuning else airplanes.SCORING
    names = tuple(args.airplanes.split(",")) if args.airplanes else names
    if args.by_path:
        by_path_table(names, args.flights, seed)
        return
    for case in [c for c in CASES if c.title == args.only] or [c for c in CASES if args.only in c.title]:
        table(names, args.flights, seed, case, draws=args.draws)


if __name__ == "__main__":
    main()
