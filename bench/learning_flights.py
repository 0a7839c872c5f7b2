"""Errors of what is learned of an airplane, by the number of recorded flights it was learned from.

    python bench/learning_flights.py                       # the airplanes kept for scoring
    python bench/learning_flights.py --tuning              # those that numbers in the code were chosen on
    python bench/learning_flights.py --airplanes c172r,j3cub --flights 5 --seed 7

Airplanes of the flight dynamics library JSBSim (`learning_airplanes.py`), flown through whole lessons by pilots from
precise to poor who hunt the throttle, in gusts, recorded at 1 Hz and read as any recording is. Truth are JSBSim's own
trimmed states at two weights, three altitudes, one of them 20 °C warm, speeds from 1.05 times the stall; flaps down
only to 1.9 times the stall (beyond the white arc nobody flies them). Nothing is typed but sizes and stall speeds, or a
handbook as well. In one flight of five the weight is noted 60 lb wrong. Each figure: median / 90th percentile of the
absolute error, and the share of truths inside the 90 % band.

Flights and trims are kept in a folder (`--cache`, /tmp/learning); making them takes some ten minutes the first time.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

import learning_airplanes as airplanes

from airwork.airplane.airplane import Airplane
from airwork.airplane.performance import Condition, Performance, Setting, climbing, level
from airwork.airplane.performance.flown import POWERED, Flown
from airwork.airplane.performance.fuel_line import power_of
from airwork.airplane.performance.learn import learn
from airwork.recording import read_flight
from airwork.recording.flown import flown_of
from airwork.units import FPM_MPS, FT_M, INHG_PA, KT_MPS, LB_KG

SLOW, FLAPS_FASTEST, SLOWEST = 1.5, 1.9, 1.05  # times the stall speed
WRONG_LB, WRONG_SHARE = 60.0, 0.2


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


def flights_of(name: str, count: int, seed: int, airplane: Airplane, *, weights: bool = True) -> list[Flown]:
    """The airplane's lessons as the learner has them; some weights noted wrong, or none noted."""
    out = []
    for number in range(count):
        path = airplanes.fly(name, number, seed)
        start = json.loads(path.with_name(path.name.replace("_1hz.csv", ".truth.json")).read_text())["start_mass_lb"]
        rng = np.random.default_rng([seed, number, 77])
        wrong = WRONG_LB * float(rng.choice([-1.0, 1.0])) if rng.random() < WRONG_SHARE else 0.0
        mass = (round((start + wrong) / 10.0) * 10.0) * LB_KG if weights else None
        flown = flown_of(read_flight(path, airplane=airplane), airplane, mass, "typed")
        if flown is not None:
            out.append(flown)
    return out


def score(name: str, p: Performance, errors: Errors) -> None:
    """Every trimmed state against what the airplane learned says."""
    setup = airplanes.SETUPS[name]
    table = _usable(name, "level")
    at = Condition(
        table["weight_lb"] * LB_KG, table["pressure_altitude_ft"] * FT_M, table["oat_c"] + 273.15, table["notch"]
    )
    slow = table["over_stall"] < SLOW
    if setup.constant_speed:
        half, off = _manifold(p, table, at)
    else:
        found = level.level_flight(p, table["kcas"] * KT_MPS, at)
        off, half = found.rpm - table["rpm"], found.rpm_90
    errors.add("slow", off[slow], half[slow])
    errors.add("all", off, half)
    climb = _usable(name, "climb")
    at = Condition(
        climb["weight_lb"] * LB_KG, climb["pressure_altitude_ft"] * FT_M, climb["oat_c"] + 273.15, climb["notch"]
    )
    pressure = climb["inhg"] * INHG_PA if setup.constant_speed else None
    for what, setting in (("climb", Setting(rpm=climb["rpm"], manifold_pressure_pa=pressure)), ("full", Setting())):
        rate = climbing.climb(p, climb["kcas"] * KT_MPS, at, setting)
        off = rate.climb_rate_mps / FPM_MPS - climb["rate_of_climb_fpm"]
        errors.add(what, off, rate.climb_rate_90_mps / FPM_MPS)


def score_fuel(p: Performance, held_out: Flown, errors: Errors) -> None:
    """Flow of each minute or so of a flight not learned from, by the power it was flown at. [%]"""
    line = p.learned.fuel
    if line is None:
        return
    known = np.isfinite(held_out.rows.flow_m3ps) & (held_out.rows.kind == POWERED)
    guess = line.flow_m3ps(power_of(held_out, p.learned.engine)[known])
    share = 100 * (guess / held_out.rows.flow_m3ps[known] - 1.0)
    errors.add("fuel", share, np.full(share.size, 164.5 * float(np.hypot(line.sd_share, 0.02))))


def _manifold(p: Performance, table: dict[str, np.ndarray], at: Condition) -> tuple[np.ndarray, np.ndarray]:
    """(half-width, error) of manifold pressure at the truth's RPM. [inHg]"""
    off, half = np.empty(table["kcas"].size), np.empty(table["kcas"].size)
    for i in range(off.size):
        one = Condition(*(np.asarray(x).ravel()[min(i, np.size(x) - 1)] for x in at.parts))
        found = level.level_flight(p, table["kcas"][i] * KT_MPS, one, rpm=float(table["rpm"][i]))
        off[i] = float(found.manifold_pressure_pa) / INHG_PA - table["inhg"][i]
        half[i] = float(found.manifold_pressure_90_pa) / INHG_PA
    return half, off


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


CASES = (
    Case("from sizes and stall speeds"),
    Case("from a handbook", handbook=True),
    Case("from sizes and stall speeds, no weight noted", weights=False),
)
COLUMNS = {"slow": "slow flight", "all": "all level", "climb": "climb given power, ft/min",
           "full": "full-throttle climb, ft/min", "fuel": "fuel flow of another flight, %"}  # fmt: skip


def table(names: tuple[str, ...], count: int, seed: int, case: Case, *, digits: int, unit: str, draws: int) -> None:
    """Print one row for each airplane and number of flights, and the mean of them all."""
    heads = [f"{unit}, {v}" if k in ("slow", "all") else v for k, v in COLUMNS.items()]
    print(f"\n### {case.title}\n\n| airplane | flights | {' | '.join(heads)} |\n|{' --- |' * (len(heads) + 2)}")
    together = {n: Errors() for n in range(count + 1)}
    for name in names:
        airplane = airplanes.papers(name, handbook=case.handbook, seed=seed)
        *flights, last = flights_of(name, count + 1, seed, airplane, weights=case.weights)
        rng = np.random.default_rng([seed, 5])
        orders = [np.arange(len(flights)), *(rng.permutation(len(flights)) for _ in range(draws - 1))]
        for n in range(count + 1):
            errors = Errors()
            for order in orders[: 1 if n in (0, len(flights)) else draws]:
                p = Performance(airplane, learn(airplane, [], [flights[i] for i in order[:n]]))
                for one in (errors, together[n]):
                    score(name, p, one)
                    score_fuel(p, last, one)
            cells = [errors.cell(k, digits if k in ("slow", "all") else 1 if k == "fuel" else 0) for k in COLUMNS]
            print(f"| {name} | {n} | {' | '.join(cells)} |", flush=True)
    for n, errors in together.items():
        cells = [errors.cell(k, digits if k in ("slow", "all") else 1 if k == "fuel" else 0) for k in COLUMNS]
        print(f"| **all** | {n} | {' | '.join(cells)} |")


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tuning", action="store_true", help="the airplanes numbers in the code were chosen on")
    parser.add_argument("--airplanes", default="", help="comma list instead")
    parser.add_argument("--flights", type=int, default=5, help="up to so many flights (5)")
    parser.add_argument("--seed", type=int, help="of the lessons and pilots (7; tuning 1)")
    parser.add_argument("--draws", type=int, default=3, help="orders in which the flights come (3)")
    parser.add_argument("--only", default="", help="only the cases whose title contains this")
    parser.add_argument("--cache", type=Path, default=airplanes.CACHE, help="folder for flights and trims")
    args = parser.parse_args()
    airplanes.CACHE = args.cache
    seed = args.seed if args.seed is not None else 1 if args.tuning else 7
    names = (
        airplanes.TUNING + airplanes.CONSTANT_TUNING if args.tuning else airplanes.SCORING + airplanes.CONSTANT_SCORING
    )
    names = tuple(args.airplanes.split(",")) if args.airplanes else names
    fixed = tuple(n for n in names if not airplanes.SETUPS[n].constant_speed)
    governed = tuple(n for n in names if airplanes.SETUPS[n].constant_speed)
    for case in CASES:
        if args.only not in case.title:
            continue
        if fixed:
            table(fixed, args.flights, seed, case, digits=0, unit="RPM", draws=args.draws)
        if governed:
            table(governed, args.flights, seed, case, digits=2, unit="inHg", draws=args.draws)


if __name__ == "__main__":
    main()
