"""Airplanes of the flight dynamics library JSBSim to learn from and to be judged by: trims (truth), flights, papers.

Some are kept for choosing numbers in the code (`TUNING`), the others for the figures in the docs (`SCORING`).
"""

from __future__ import annotations

import json
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import learning_frames as frames
import learning_governed
import numpy as np
from flying.pilot import Pilot
from flying.plan import Plan, draw_plan
from learning_frames import SETUPS, BenchSimulator, Setup, trims_of

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.model import AirplaneFile
from airwork.units import KT_MPS, LB_KG
from flying import airplanes as flown_models
from flying import basic

NOTCH_DEG = (0.0, 10.0, 20.0, 30.0)
TUNING = ("c172p", "c172x", "c182y")
SCORING = ("c172r", "c172y", "j3cub", "draggy", "slippery", "barn")


def level_truth(setup: Setup) -> dict[str, dict[str, np.ndarray]]:
    """kind -> column -> array."""
    return learning_governed.level_truth() if setup.governed else trims_of(setup)


def stall_kcas(setup: Setup, weight_lb: np.ndarray, notch: np.ndarray) -> np.ndarray:
    """True stall speed by √W from the power-off trims."""
    table = level_truth(setup)["stall"]
    ratio = {
        n: float(np.mean(table["kcas"][table["notch"] == n] / np.sqrt(table["weight_lb"][table["notch"] == n])))
        for n in setup.notches
    }
    return np.array([ratio[int(n)] for n in np.ravel(notch)]) * np.sqrt(np.ravel(weight_lb))


# --- flying ------------------------------------------------------------------------------------------------------


@lru_cache
def flown_model(name: str) -> flown_models.Model:
    """Speeds to fly by, from the trims at the middle of the weights."""
    setup = SETUPS[name]
    table = level_truth(setup)["level"]
    weight = float(np.mean(setup.model.weights_lb))
    stall = {n: float(stall_kcas(setup, np.array([weight]), np.array([n]))[0]) for n in setup.notches}
    usable = table["kcas"][(table["notch"] == 0) & (table["rpm"] < 0.95 * setup.model.rated_rpm)]
    fast = float(np.max(usable)) if usable.size else 1.9 * stall[0]
    level = min(1.95 * stall[0], 0.92 * fast)
    kt = KT_MPS
    return flown_models.Model(
        name=name, jsbsim_name=setup.model.aircraft, payload_shares=((0, 1.0),), payload_kg=weight * LB_KG,
        tank_count=1 if name == "j3cub" else 2, fuel_kg=29.0 if name == "j3cub" else 90.0,
        flap_deg=NOTCH_DEG if len(setup.notches) > 1 else (0.0,), stall_mps=stall[0] * kt,
        stall_flaps_mps=stall[setup.notches[-1]] * kt, climb_mps=1.5 * stall[0] * kt, glide_mps=1.35 * stall[0] * kt,
        maneuvering_mps=level * kt, cruise_mps=0.97 * fast * kt, approach_mps=1.32 * stall[0] * kt,
        flaps_max_mps=min(1.75 * stall[0], 0.95 * level) * kt, never_exceed_mps=1.5 * fast * kt,
        rotate_mps=1.15 * stall[0] * kt,
        stall_warning_alpha_rad=(0.205,), stall_alpha_rad=(0.29,), emergency_mps=1.1 * fast * kt,
        downwind_mps=1.75 * stall[0] * kt, from_runway=False, easy_climb_mps=1.5,
        mixture=1.0,  # full rich, as JSBSim's trim sets it, until `BenchSimulator` leans
    )  # fmt: skip


THEMES = ("slow", "first_hours", "private_test", "slow", "stalls", "commercial")
# A lesson in slow flight and approaches, as students get one: each flap notch, a few minutes, with turns
_SLOW_LESSON = (
    ("slow_flight", "slow_flight", "approach", "slow_flight", "climb", "approach", "power_off_stall"), (), 0,
)  # fmt: skip


def _slow(p: Pilot, rng: np.random.Generator) -> None:
    notch = int(rng.integers(0, len(p.sim.model.flap_deg)))
    turns = ((90.0, -90.0), (-45.0, 60.0), (120.0,))[int(rng.integers(3))]
    margin = float(rng.uniform(5.0, 14.0))
    basic.slow_flight(p, notch=notch, margin_kt=margin, straight_s=float(rng.uniform(30.0, 70.0)), turns_deg=turns)


def _approach(p: Pilot, rng: np.random.Generator) -> None:
    """A practice approach at height: flaps by the notch, power off some, go around at the bottom."""
    model = p.sim.model
    bottom = p.altitude_m - float(rng.uniform(180.0, 300.0))
    p.level(altitude_m=p.altitude_m, ias_mps=0.96 * model.flaps_max_mps, heading_rad=p.heading_rad)
    p.power_for(0.96 * model.flaps_max_mps)
    p.fly(20.0)
    for notch in range(1, int(rng.integers(1, len(model.flap_deg) + 1))):
        basic.set_flaps(p, notch)
        p.fly(float(rng.uniform(5.0, 25.0)))
    with p.marking("descent", {}):
        p.by_speed(model.approach_mps, float(rng.uniform(0.1, 0.3)), heading_rad=p.heading_rad)
        p.fly_until(lambda: p.sim.indicated_altitude_m < bottom, at_most_s=120.0)
        p.by_speed(model.climb_mps, 1.0, heading_rad=p.heading_rad)
        p.fly(6.0)
        basic.set_flaps(p, 0)
        p.fly(20.0)
    p.level(altitude_m=p.sim.indicated_altitude_m, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
    p.power_for(model.maneuvering_mps)
    p.fly(20.0)


def plan(name: str, number: int, seed: int) -> Plan:
    """The lesson with this number: theme, pilot and loading drawn; from and to the air."""
    theme = THEMES[number % len(THEMES)]
    drawn = draw_plan(1000 * seed + number, theme, airplanes=("c172p",))
    low, high = SETUPS[name].model.weights_lb
    weight = low + (high - low) * float(np.random.default_rng([seed, number, 8]).uniform(0.0, 1.0))
    share = weight / float(np.mean((low, high)))
    return replace(drawn, name=f"{name}_{seed}_{number}", airplane=name, payload_share=share)


class _Models(dict[str, flown_models.Model]):
    def __missing__(self, name: str) -> flown_models.Model:
        return flown_model(name)


def fly(name: str, number: int, seed: int) -> Path:
    """One lesson flown, as a 1 Hz recording, a position-only track, its truth and when it was leaned; cached."""
    from flying import export, lessons

    folder = frames.CACHE / "flights"
    path = folder / f"{name}_{seed}_{number}_1hz.csv"
    if not path.exists():
        kind: type[BenchSimulator] = BenchSimulator
        if SETUPS[name].governed:
            kind = learning_governed.GovernedSimulator
        lessons.Simulator, lessons.MODELS = kind, _Models()  # type: ignore[misc, assignment]
        lessons.EXERCISES.update(slow_flight=_slow, approach=_approach)
        lessons.THEMES["slow"] = _SLOW_LESSON
        lessons.HEIGHTS["approach"] = 3000.0
        export.write(lessons.fly(plan(name, number, seed)), folder, ("panel_1hz", "gpx", "truth"))
        (folder / f"{name}_{seed}_{number}.leaned.json").write_text(json.dumps(kind.leaned_at))
    return path


def leaned_at(recording: str) -> list[float]:
    """When a flight of the cache was leaned, and went rich again, in turn. [s]"""
    path = frames.CACHE / "flights" / recording.replace("_1hz.csv", ".leaned.json")
    return json.loads(path.read_text()) if path.exists() else []


# --- papers ------------------------------------------------------------------------------------------------------


def papers(name: str, *, handbook: bool = False, seed: int = 0) -> Airplane:
    """The airplane's file: sizes, rating, stall speeds; with a handbook also cruise, climb and glide tables (constant
    speed: the power chart)."""
    setup = SETUPS[name]
    model, tables = setup.model, level_truth(setup)
    stalls = tables["stall"]
    data: dict[str, Any] = {
        "airplane": {
            "schema_version": 1, "id": name, "name": f"JSBSim {name}",
            "maximum_takeoff_weight_lb": float(max(model.weights_lb)), "wing_area_ft2": model.wing_area_ft2,
            "wing_span_ft": model.span_ft, "airspeed_indicator_unit": "kt",
        },
        "engine": {"rated_power_hp": model.rated_hp, "rated_rpm": model.rated_rpm, "fuel_system": "carburetor"},
        "propeller": {
            "type": "constant_speed" if setup.governed else "fixed_pitch", "diameter_in": model.diameter_in,
        },
        "flaps": {"notches": [{"notch": n, "deflection_deg": NOTCH_DEG[n]} for n in setup.notches]},
        "performance": {
            "stall": {
                "rows": [
                    {"weight_lb": float(round(w)), "flap_notch": int(n), "kcas": float(round(v))}
                    for w, n, v in zip(stalls["weight_lb"], stalls["notch"], stalls["kcas"], strict=True)
                ]
            }
        },
    }  # fmt: skip
    if handbook and setup.governed:
        data["performance"]["power_chart"] = {"rows": learning_governed.chart()}
    elif handbook:
        data["performance"].update(_handbook(setup, np.random.default_rng([seed, 31])))
    return Airplane(AirplaneFile.model_validate(data))


def _handbook(setup: Setup, rng: np.random.Generator) -> dict[str, Any]:
    """Cruise, climb and glide as a book would print them: another airplane's tachometer and a bit of hope, rounded."""
    tables, model = level_truth(setup), setup.model
    level, heavy = tables["level"], max(model.weights_lb)
    tach, knots = 1.0 + 0.006 * float(rng.normal()), float(rng.uniform(0.0, 1.5))
    cruise = []
    for altitude in (1500.0, 6500.0):
        here = (level["notch"] == 0) & (np.abs(level["weight_lb"] - heavy) < 30)
        here &= (np.abs(level["pressure_altitude_ft"] - altitude) < 150) & (
            np.abs(level["oat_c"] - (15 - 1.98 * altitude / 1000)) < 3
        )
        order = np.argsort(level["kcas"][here])
        kcas, rpm, hp, ktas, pps = (level[c][here][order] for c in ("kcas", "rpm", "hp", "ktas", "fuel_pps"))
        stall = float(stall_kcas(setup, np.array([heavy]), np.array([0]))[0])
        good = kcas > 1.45 * stall
        for i in np.flatnonzero(good)[::2]:
            if not 45 <= 100 * hp[i] / model.rated_hp <= 85:
                continue
            row = {
                "pressure_altitude_ft": altitude, "rpm": float(round(rpm[i] * tach / 10) * 10),
                "percent_power": float(round(100 * hp[i] / model.rated_hp)), "ktas": float(round(ktas[i] + knots)),
                "gph_full_rich": float(round(pps[i] * 3600 / 6.0, 1)),
            }  # fmt: skip
            cruise.append(row)
    climbs = tables["climb"]
    rows = []
    for i in np.flatnonzero(climbs["notch"] == 0):
        stall = float(stall_kcas(setup, climbs["weight_lb"][i : i + 1], np.array([0]))[0])
        if abs(climbs["kcas"][i] / stall - 1.5) < 0.09:
            rows.append(
                {"weight_lb": float(round(climbs["weight_lb"][i])), "oat_c": float(round(climbs["oat_c"][i])),
                 "pressure_altitude_ft": float(round(climbs["pressure_altitude_ft"][i], -2)),
                 "climb_speed_kias": float(round(climbs["kcas"][i])),
                 "rate_of_climb_fpm": float(round(1.03 * climbs["rate_of_climb_fpm"][i], -1))}
            )  # fmt: skip
    out: dict[str, Any] = {"climb": {"rows": rows}}
    if cruise:
        out["cruise"] = {"weight_lb": float(heavy), "rows": cruise}
    return out


if __name__ == "__main__":
    import sys

    wanted, seed_, count_ = sys.argv[1].split(","), int(sys.argv[2]), int(sys.argv[3])
    for number_ in range(count_):
        for name_ in wanted:
            print(fly(name_, number_, seed_), flush=True)
