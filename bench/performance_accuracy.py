"""How well the performance model predicts airplanes it was not made for.

    python bench/performance_accuracy.py [--draws 20]

For each light airplane of the flight dynamics library JSBSim: readings an instructor could gather (7 level points at
one weight and altitude, one climb, one glide, with reading noise) go into an airplane file; the fitted airplane
predicts all other steady states: other weights, altitudes, temperature, speeds. Beside it stand the level-flight law in
its first form (three numbers and two for the flap, fitted with SciPy) and the same readings interpolated in indicated
airspeed.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import jsbsim_trims as trims
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Setting
from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.readings import readings_of
from airwork.airplane.performance.turning import sustained_bank
from airwork.units import FPM_MPS, FT_M, KT_MPS

SLOW = 1.3  # times the stall speed: below it is slow flight


def fitted(name: str, observations: list[dict[str, object]]) -> Performance:
    """The airplane fitted to these readings."""
    airplane = trims.airplane(name, observations)
    return Performance(airplane, learn(airplane, readings_of(airplane)))


def naive(observations: list[dict[str, object]], table: dict[str, np.ndarray]) -> np.ndarray:
    """RPM interpolated in indicated speed between the readings of the same flap setting."""
    out = np.full(table["kcas"].shape, np.nan)
    for flap, notch in trims.FLAPS.items():
        points = sorted(
            (o["kcas"], o["rpm"]) for o in observations if o["kind"] == "level" and o["flap_notch"] == notch
        )
        here = table["flap"] == flap
        if points and here.any():
            out[here] = np.interp(table["kcas"][here], [p[0] for p in points], [p[1] for p in points])
    return out


def first_law(name: str, observations: list[dict[str, object]], table: dict[str, np.ndarray]) -> np.ndarray:
    """The law in its first form: n² = p·n·V + (g + Δg)·V² + (h + Δh)·(W/σ)²/V², weak priors, soft L1."""
    from scipy.optimize import least_squares

    mean, sd = np.array([1.0, 4.0, 6.0, 2.0, 0.0]), np.array([1.5, 3.0, 3.0, 3.0, 2.0])
    low, high = np.array([-8.0, 0, 0, 0, -6]), np.array([8.0, 40, 40, 40, 20])

    def rpm(t: np.ndarray, v: np.ndarray, x: np.ndarray, flap: np.ndarray) -> np.ndarray:
        b, c = t[0] * v, (t[1] + t[3] * flap) * v**2 + (t[2] + t[4] * flap) * x**2 / v**2
        return 300 * (b + np.sqrt(np.maximum(b * b + 4 * c, 1e-9)))

    def inputs(kcas, altitude_ft, oat_c, weight_lb, notch):  # type: ignore[no-untyped-def]
        from airwork.airdata.airspeed import tas_from_cas_mps
        from airwork.airdata.atmosphere import density_ratio

        h, t = np.asarray(altitude_ft) * FT_M, np.asarray(oat_c) + 273.15
        tas = tas_from_cas_mps(np.asarray(kcas) * KT_MPS, h, t) / FT_M / 100
        x = np.asarray(weight_lb) / trims.rows()[name]["level"]["weight_lb"].max() / density_ratio(h, t)
        return tas, x, (np.asarray(notch) == 2).astype(float)

    level = [o for o in observations if o["kind"] == "level"]
    keys = ("kcas", "pressure_altitude_ft", "oat_c", "weight_lb", "flap_notch")
    v, x, f = inputs(*([o[k] for o in level] for k in keys))
    read = np.array([o["rpm"] for o in level])
    found = least_squares(
        lambda t: np.r_[(rpm(t, v, x, f) - read) / 20.0, (t - mean) / sd],
        mean, bounds=(low, high), loss="soft_l1", x_scale=sd,
    )  # fmt: skip
    notch = np.array([trims.FLAPS[f] for f in table["flap"]])
    at = inputs(table["kcas"], table["pressure_altitude_ft"], table["oat_c"], table["weight_lb"], notch)
    return rpm(found.x, *at)


class Errors:
    """Absolute errors gathered over draws, with whether the 90 % band held."""

    def __init__(self) -> None:
        self.parts: dict[str, list[np.ndarray]] = {}

    def add(self, what: str, values: np.ndarray) -> None:
        self.parts.setdefault(what, []).append(np.asarray(values, dtype=float))

    def all(self, what: str) -> np.ndarray:
        return np.concatenate(self.parts[what]) if what in self.parts else np.array([np.nan])

    def median(self, what: str) -> float:
        return float(np.nanmedian(np.abs(self.all(what))))

    def ninety(self, what: str) -> float:
        return float(np.nanquantile(np.abs(self.all(what)), 0.9))

    def percent(self, what: str) -> float:
        return float(100 * np.nanmean(self.all(what)))


def trial(
    name: str,
    draws: int,
    *,
    clean: tuple[float, ...] = trims.CLEAN,
    full: tuple[float, ...] = trims.FULL,
    baselines: bool = True,
) -> Errors:
    """Fit and predict one airplane, over weights, altitudes and noise."""
    errors = Errors()
    rng = np.random.default_rng(20)
    constant = name in trims.CONSTANT_SPEED
    table = trims.usable(name, "level")
    climbs, turns = trims.usable(name, "climb"), None if constant else trims.usable(name, "turn")
    between = trims.usable(name, "level", flaps=(0.333,)) if name != "j3cub" else None
    slow = table["over_stall"] < SLOW
    for weight, altitude in trims.conditions(name):
        for _ in range(draws):
            taken = trims.training(name, weight, altitude, rng, clean=clean, full=full)
            p = fitted(name, taken.observations)
            held = np.ones(slow.size, dtype=bool)
            held[taken.level_index] = False
            level = level_flight(p, *trims.asked(table))
            if constant:
                share = table["hp"] / trims.SIZES[name][3]
                off = 100 * (level.power_ratio - share)
                inside = np.abs(level.power_ratio - share) <= level.power_90
                held &= np.isfinite(off)
            else:
                off, inside = level.rpm - table["rpm"], np.abs(level.rpm - table["rpm"]) <= level.rpm_90
                held &= np.isfinite(off)
                errors.add("half", level.rpm_90[held])
                errors.add("half slow", level.rpm_90[held & slow])
            errors.add("level", off[held])
            errors.add("slow", off[held & slow])
            errors.add("level in", inside[held])
            errors.add("slow in", inside[held & slow])
            if baselines and not constant:
                guess = naive(taken.observations, table) - table["rpm"]
                errors.add("naive", guess[held])
                errors.add("naive slow", guess[held & slow])
                first = first_law(name, taken.observations, table) - table["rpm"]
                errors.add("first", first[held])
                errors.add("first slow", first[held & slow])
            if between is not None and not constant:
                other = level_flight(p, *trims.asked(between))
                errors.add("notch", other.rpm - between["rpm"])
                errors.add("notch in", np.abs(other.rpm - between["rpm"]) <= other.rpm_90)
            _climbs(errors, p, climbs, constant)
            if turns is not None:
                _turns(errors, p, turns)
    return errors


def _climbs(errors: Errors, p: Performance, table: dict[str, np.ndarray], constant: bool) -> None:
    rpm, pressure = table["rpm"], None
    if constant:
        share = table["hp"] / trims.SIZES["c182v"][3]
        asked = zip(share, rpm, table["pressure_altitude_ft"], strict=True)
        pressure = np.array([trims.pressure_for(s, n, h, 2400.0) for s, n, h in asked]) * 3386.389
    found = climb(p, *trims.asked(table), Setting(rpm, pressure))
    off = (found.climb_rate_mps / FPM_MPS) - table["rate_of_climb_fpm"]
    good = np.isfinite(off)
    errors.add("climb", off[good])
    errors.add("climb in", (np.abs(off) <= found.climb_rate_90_mps / FPM_MPS)[good])


def _turns(errors: Errors, p: Performance, table: dict[str, np.ndarray]) -> None:
    found = sustained_bank(p, *trims.asked(table), Setting(rpm=table["rpm"]))
    truth = np.arccos(1.0 / table["load_factor"])
    good = np.isfinite(found.by_power_rad) & (table["load_factor"] > 1.03)
    off = np.degrees(found.by_power_rad - truth)
    errors.add("bank", off[good])
    band = found.possible & (found.limit == "power") & good
    errors.add("bank in", (np.abs(off) <= np.degrees(found.bank_90_rad))[band])


def cell(errors: Errors, what: str, digits: int = 0) -> str:
    """median / 90th percentile (share in the band)."""
    if what not in errors.parts:
        return "–"
    inside = f"{what} in"
    held = f" ({errors.percent(inside):.0f})" if inside in errors.parts else ""
    return f"{errors.median(what):.{digits}f} / {errors.ninety(what):.{digits}f}{held}"


COLUMNS = {
    "RPM slow flight": ("slow", 0), "RPM all": ("level", 0), "RPM untrained notch": ("notch", 0),
    "climb given RPM, ft/min": ("climb", 0), "bank by power, °": ("bank", 1), "first law, slow": ("first slow", 0),
    "first law, all": ("first", 0), "in IAS, slow": ("naive slow", 0), "in IAS, all": ("naive", 0),
}  # fmt: skip


def table(draws: int, full: tuple[float, ...], *, baselines: bool = True) -> None:
    """Print one row an airplane, and one for all together."""
    shown = {k: v for k, v in COLUMNS.items() if baselines or not v[0].startswith(("first", "naive"))}
    print(f"| airplane | {' | '.join(shown)} |")
    print(f"|{' --- |' * (len(shown) + 1)}")
    together = Errors()
    for name in trims.FIXED_PITCH:
        errors = trial(name, draws, full=full, baselines=baselines)
        for what, parts in errors.parts.items():
            together.parts.setdefault(what, []).extend(parts)
        print(f"| {name} | {' | '.join(cell(errors, *what) for what in shown.values())} |", flush=True)
    print(f"| all | {' | '.join(cell(together, *what) for what in shown.values())} |\n")
    widths = (together.median("half"), together.median("half slow"))
    print(f"median half-width of the 90 % band: {widths[0]:.0f} RPM, in slow flight {widths[1]:.0f} RPM\n", flush=True)


def without(term: str) -> None:
    """Take one term out of the general prior: fixed at nothing."""
    from airwork.airplane.performance import priors

    for name in {"cl0": ["cl0"], "q": ["q"], "both": ["cl0", "q"]}[term]:
        low, high = priors._DRAG[name][2:]
        priors._DRAG[name] = (0.0, 1e-6, low, high)
    if "cl0" in ("cl0" if term == "both" else term):
        priors._FLAP_CL_SHARED = priors._FLAP_CL_OWN = 1e-6
        priors._INDUCED = (1.33, *priors._INDUCED[1:])


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--draws", type=int, default=20, help="noise draws for each weight and altitude")
    options.add_argument(
        "--without", choices=["cl0", "q", "both"], help="leave a term of the drag out, to see its worth"
    )
    args = options.parse_args()
    if args.without:
        without(args.without)
    print("Absolute errors on what was not fitted: median / 90th percentile (share of truth in the 90 % band, %)\n")
    table(args.draws, trims.FULL)
    print(f"The same with the two full-flap readings close together, at {trims.CLOSE[0]} and {trims.CLOSE[1]} Vs\n")
    table(args.draws, trims.CLOSE, baselines=False)
    print("Constant speed: power in points of percent; climb given power, ft/min\n")
    print("| airplane | power slow flight | power all | climb |\n| --- | --- | --- | --- |")
    for name in trims.CONSTANT_SPEED:
        e = trial(name, args.draws)
        print(f"| {name} | {cell(e, 'slow', 1)} | {cell(e, 'level', 1)} | {cell(e, 'climb')} |")


if __name__ == "__main__":
    main()
