"""How well the performance model predicts airplanes it was not made for.

    python bench/performance_accuracy.py [--draws 20]

For each light airplane of the flight dynamics library JSBSim: readings an instructor could gather (7 level points at one
weight and altitude, one climb, one glide, with reading noise) go into an airplane file; the fitted airplane predicts all
other steady states: other weights, altitudes, temperature, speeds. Beside it stand the same readings interpolated in
indicated speed, and the level-flight law in its first form (three numbers and two for the flap, fitted with SciPy).
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import jsbsim_trims as trims

from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.readings import readings_of
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
        points = sorted((o["kcas"], o["rpm"]) for o in observations if o["kind"] == "level" and o["flap_notch"] == notch)
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
            level = p.level(**trims.asked(table))
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
                other = p.level(**trims.asked(between))
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
    found = p.climb(**trims.asked(table), rpm=rpm, manifold_pressure_pa=pressure)
    off = (found.climb_rate_mps / FPM_MPS) - table["rate_of_climb_fpm"]
    good = np.isfinite(off)
    errors.add("climb", off[good])
    errors.add("climb in", (np.abs(off) <= found.climb_rate_90_mps / FPM_MPS)[good])


def _turns(errors: Errors, p: Performance, table: dict[str, np.ndarray]) -> None:
    found = p.sustained_bank(**trims.asked(table), rpm=table["rpm"])
    truth = np.arccos(1.0 / table["load_factor"])
    good = np.isfinite(found.by_power_rad) & (table["load_factor"] > 1.03)
    off = np.degrees(found.by_power_rad - truth)
    errors.add("bank", off[good])
    band = found.possible & (found.limit == "power") & good
    errors.add("bank in", (np.abs(off) <= np.degrees(found.bank_90_rad))[band])


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--draws", type=int, default=20, help="noise draws for each weight and altitude")
    draws = options.parse_args().draws
    print("absolute errors on what was not fitted: median / 90th percentile; (share of truth in the 90 % band)\n")
    print("| airplane | RPM slow flight | RPM all | RPM untrained notch | climb given RPM, ft/min | bank by power, ° "
          "| first law: slow, all | interpolated in IAS: slow, all |")  # fmt: skip
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for name in trims.FIXED_PITCH:
        e = trial(name, draws)
        notch = f"{e.median('notch'):.0f} / {e.ninety('notch'):.0f} ({e.percent('notch in'):.0f})" if "notch" in e.parts else "–"
        print(
            f"| {name} | {e.median('slow'):.0f} / {e.ninety('slow'):.0f} ({e.percent('slow in'):.0f}) "
            f"| {e.median('level'):.0f} / {e.ninety('level'):.0f} ({e.percent('level in'):.0f}) | {notch} "
            f"| {e.median('climb'):.0f} / {e.ninety('climb'):.0f} ({e.percent('climb in'):.0f}) "
            f"| {e.median('bank'):.1f} / {e.ninety('bank'):.1f} ({e.percent('bank in'):.0f}) "
            f"| {e.median('first slow'):.0f} / {e.ninety('first slow'):.0f}, {e.median('first'):.0f} / {e.ninety('first'):.0f} "
            f"| {e.median('naive slow'):.0f} / {e.ninety('naive slow'):.0f}, {e.median('naive'):.0f} / {e.ninety('naive'):.0f} |",
            flush=True,
        )
    print("\nconstant speed: power, points of percent; climb given power, ft/min\n")
    for name in trims.CONSTANT_SPEED:
        e = trial(name, draws)
        print(
            f"{name}: slow {e.median('slow'):.1f} / {e.ninety('slow'):.1f} ({e.percent('slow in'):.0f}), "
            f"all {e.median('level'):.1f} / {e.ninety('level'):.1f} ({e.percent('level in'):.0f}), "
            f"climb {e.median('climb'):.0f} / {e.ninety('climb'):.0f} ({e.percent('climb in'):.0f})"
        )


if __name__ == "__main__":
    main()
