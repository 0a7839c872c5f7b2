"""Trim light airplanes of the flight dynamics library JSBSim and write the points as a table: truth to predict.

    python bench/performance_truth.py tests/sources/jsbsim_trims.csv

JSBSim (https://github.com/JSBSim-Team/jsbsim, LGPL; PyPI `jsbsim`) is a general-purpose flight dynamics library; its
sample airplanes know nothing of airwork's equations: tabulated drag, lift, propeller and a piston engine of their own.
Each row is one steady state, found by JSBSim's own longitudinal trim (`do_trim`):

level   steady level flight
climb   the steepest steady climb that still trims: full throttle
glide   the steepest steady descent that still trims: throttle closed
turn    the heaviest weight that still trims level at full throttle. In a coordinated level turn the forces in the
        plane of symmetry are those of straight flight at weight times load factor, so heaviest/weight is the
        load factor that power allows.
stall   the slowest power-off state that trims (one per weight and flap)

Changes to the sample airplanes (they can't alter what the law of level flight is tested on, which is drag, thrust
coefficient and RPM): a point mass at the center of gravity sets the weight, fuel consumption constant 0.32 → 0.45 in
one engine (otherwise it makes far more than its rated power), mixture full rich, other fixed-pitch
propellers on two airframes to have more combinations, one misspelt property name put right.
"""

from __future__ import annotations

import csv
import math
import re
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

COLUMNS = [
    "airplane", "kind", "weight_lb", "pressure_altitude_ft", "oat_c", "flap", "kcas", "ktas", "rpm", "hp",
    "thrust_lbf", "alpha_deg", "gamma_deg", "rate_of_climb_fpm", "load_factor",
]  # fmt: skip


@dataclass(frozen=True)
class Model:
    """One combination of airframe, engine and propeller, and the conditions to trim it at."""

    name: str
    aircraft: str
    weights_lb: tuple[float, ...]
    speeds_kcas: tuple[int, int, int]
    wing_area_ft2: float
    span_ft: float
    diameter_in: float
    rated_hp: float
    rated_rpm: float
    flaps: tuple[float, ...] = (0.0, 1 / 3, 1.0)
    edits: tuple[tuple[str, str], ...] = ()
    engine_edits: tuple[tuple[str, str, str], ...] = ()


_IO320 = (("eng_io320.xml", "0.32 </bsfc>", "0.45 </bsfc>"),)
_CLARK = (r'thruster file="[^"]*"', 'thruster file="prop_Clark_Y7570"')
_75IN = (r'thruster file="[^"]*"', 'thruster file="prop_75in2f"')

MODELS = (
    Model("c172p", "c172p", (1900, 2350), (44, 128, 4), 174, 35.8, 75, 160, 2700, engine_edits=_IO320),
    Model("c172x", "c172x", (1900, 2350), (40, 128, 4), 174, 36.0, 75, 160, 2700, engine_edits=_IO320),
    Model("c172y", "c172p", (1900, 2350), (44, 128, 4), 174, 35.8, 75, 160, 2700, edits=(_CLARK,), engine_edits=_IO320),
    Model("c172r", "c172r", (1900, 2450), (44, 128, 4), 174, 36.1, 75, 180, 2700),
    Model("j3cub", "J3Cub", (950, 1220), (32, 84, 3), 178.5, 35.25, 75, 65, 2300, flaps=(0.0,)),
    Model("c182y", "c182", (2200, 2800), (52, 140, 4), 174, 35.8, 75, 235, 2700, edits=(_CLARK,)),
)  # fmt: skip

ALTITUDES = ((1500.0, 0.0), (6500.0, 0.0), (4000.0, 20.0))  # pressure altitude [ft], deviation from standard [K]
SLUG_FT3_SEA_LEVEL = 0.00237689


class Trimmer:
    """A JSBSim airplane that can be asked for steady states."""

    def __init__(self, model: Model) -> None:
        import jsbsim

        self.model = model
        root = Path(jsbsim.get_default_root_dir())
        self.folder = Path(tempfile.mkdtemp(prefix="trim"))
        for part in ("engine", "systems"):
            shutil.copytree(root / part, self.folder / part)
        shutil.copytree(root / "aircraft" / model.aircraft, self.folder / "aircraft" / model.aircraft)
        path = self.folder / "aircraft" / model.aircraft / f"{model.aircraft}.xml"
        text = path.read_text(errors="replace")
        for old, new in model.edits:
            text = re.sub(old, new, text)
        text = re.sub(r"(?s)<output [^>]*(/>|>.*?</output>)", "", text)
        self.index = len(re.findall(r"<pointmass ", text))
        cg = re.search(r'(?s)<location name="CG".*?</location>', text)
        assert cg is not None
        mass = f'<pointmass name="AIRWORK"><weight unit="LBS">0</weight>{cg[0]}</pointmass>'
        text = text.replace("</mass_balance>", mass + "</mass_balance>", 1)
        path.write_text(text)
        for name, old, new in model.engine_edits:
            engine = self.folder / "engine" / name
            engine.write_text(re.sub(old, new, engine.read_text()))
        self.fdm: Any = jsbsim.FGFDMExec(str(self.folder))
        self.fdm.set_debug_level(0)
        self.fdm.load_model(model.aircraft)

    def close(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)

    def state(
        self,
        weight_lb: float,
        altitude_ft: float,
        isa_k: float,
        flap: float,
        kcas: float,
        gamma_deg: float = 0.0,
    ) -> dict[str, float] | None:
        """The steady state, None where it does not trim."""
        f = self.fdm
        f["atmosphere/delta-T"] = isa_k * 1.8
        for i in range(self.index + 1):  # the whole load sits at the center of gravity of the empty airplane
            f[f"inertia/pointmass-weight-lbs[{i}]"] = 0.0
        f["ic/terrain-elevation-ft"] = -5000
        f["ic/h-sl-ft"], f["ic/gamma-deg"], f["ic/vc-kts"] = altitude_ft, gamma_deg, kcas
        f["fcs/flap-cmd-norm"], f["fcs/flap-pos-norm"] = flap, flap
        if self.model.flaps != (0.0,):
            f["fcs/flap-pos-deg"] = flap * self.flap_deg
        f["gear/gear-cmd-norm"] = f["gear/gear-pos-norm"] = 1.0
        f["fcs/throttle-cmd-norm"] = 0.7
        try:
            f.run_ic()
            light = f["inertia/weight-lbs"]
            f[f"inertia/pointmass-weight-lbs[{self.index}]"] = weight_lb - light
            f["propulsion/set-running"] = -1
            f.run_ic()
            f["propulsion/set-running"] = -1  # and the trim after it: full rich, whatever the lever says
            f.do_trim(0)
        except Exception:
            return None
        if abs(f["accelerations/udot-ft_sec2"]) > 0.005 or abs(f["accelerations/wdot-ft_sec2"]) > 0.02:
            return None
        tas = f["velocities/vt-fps"]
        return {
            "weight_lb": f["inertia/weight-lbs"],
            "pressure_altitude_ft": f["atmosphere/pressure-altitude"],
            "oat_c": f["atmosphere/T-R"] / 1.8 - 273.15,
            "flap": round(flap, 3),
            "kcas": f["velocities/vc-kts"],
            "ktas": tas / 1.6878098571,
            "rpm": f["propulsion/engine/propeller-rpm"],
            "hp": f["propulsion/engine/power-hp"],
            "thrust_lbf": f["propulsion/engine/thrust-lbs"],
            "alpha_deg": f["aero/alpha-deg"],
            "gamma_deg": f["flight-path/gamma-deg"],
            "rate_of_climb_fpm": 60 * tas * math.sin(f["flight-path/gamma-rad"]),
            "load_factor": 1.0,
            "throttle": f["fcs/throttle-cmd-norm"],
        }

    @property
    def flap_deg(self) -> float:
        return {"pa28": 40.0, "L17": 30.0}.get(self.model.aircraft, 30.0)

    def edge(
        self, low: float, high: float, asks: Callable[[float], dict[str, float] | None]
    ) -> dict[str, float] | None:
        """The last state that trims between `low` (trims) and `high` (does not), found by halving."""
        best = asks(low)
        if best is None:
            return None
        for _ in range(11):
            middle = 0.5 * (low + high)
            state = asks(middle)
            if state is None:
                high = middle
            else:
                best, low = state, middle
        return best


def rows(model: Model) -> Iterator[dict[str, object]]:
    """Every steady state of one model."""
    trimmer = Trimmer(model)
    start, stop, step = model.speeds_kcas
    try:
        for weight in model.weights_lb:
            for flap in model.flaps:
                yield from _stall(trimmer, weight, flap)
                for altitude, isa in ALTITUDES:
                    at = (weight, altitude, isa, flap)
                    for kcas in range(start, stop, step):
                        yield from _row(model, "level", trimmer.state(*at, kcas))
                        if (kcas - start) % (2 * step):
                            continue
                        climb = trimmer.edge(0.0, 20.0, lambda g, at=at, v=kcas: trimmer.state(*at, v, g))
                        if climb and climb["throttle"] > 0.98:
                            yield from _row(model, "climb", climb)
                        if altitude == 1500.0:
                            yield from _glide(trimmer, at, kcas)
                        yield from _turn(trimmer, at, kcas)
    finally:
        trimmer.close()


class BladeTable:
    """Thrust and power coefficients of one of JSBSim's constant-speed propellers, by advance ratio and blade angle."""

    def __init__(self, name: str) -> None:
        import jsbsim
        import numpy as np

        text = (Path(jsbsim.get_default_root_dir()) / "engine" / f"{name}.xml").read_text()
        self.diameter_ft = float(re.search(r"<diameter[^>]*>\s*([\d.]+)", text)[1]) / 12.0  # type: ignore[index]
        for key in ("C_THRUST", "C_POWER"):
            body = re.search(rf'(?s)name="{key}".*?<tableData>(.*?)</tableData>', text)[1]  # type: ignore[index]
            lines = [[float(x) for x in line.split()] for line in body.splitlines() if line.strip()]
            self.angles = np.array(lines[0])
            setattr(self, key.lower(), np.array(lines[1:]))

    def _by_angle(self, table: Any, j: float) -> Any:
        import numpy as np

        return np.array([np.interp(j, table[:, 0], table[:, k + 1]) for k in range(self.angles.size)])

    def other(self, given: str, value: float, wanted: str, j: float) -> float | None:
        """One coefficient from the other: the blade angle the governor would find. None outside the table."""
        import numpy as np

        known, out = self._by_angle(getattr(self, given), j), self._by_angle(getattr(self, wanted), j)
        if not known.min() <= value <= known.max() or np.any(np.diff(known) <= 0):
            return None
        return float(np.interp(value, known, out))


def governed(
    rows: list[dict[str, object]], name: str, blades: BladeTable, rated_hp: float
) -> Iterator[dict[str, object]]:
    """The same airframe with a constant-speed propeller: power of level flight at two RPM, climbs at full power.

    Thrust needed comes from JSBSim's trims, the propeller's coefficients from JSBSim's tables, full power from the law
    (σ − 0.12)/0.88; the RPM is the governor's.
    """
    d, top = blades.diameter_ft, 2400.0
    for row in rows:
        if row["kind"] in {"stall", "glide"}:
            yield {**row, "airplane": name}
            continue
        if row["kind"] != "level":
            continue
        v, thrust = float(row["ktas"]) * 1.6878098571, float(row["thrust_lbf"])  # type: ignore[arg-type]
        sigma = (float(row["kcas"]) / float(row["ktas"])) ** 2  # type: ignore[arg-type]
        rho = SLUG_FT3_SEA_LEVEL * sigma
        for rpm in (top, 2100.0):
            n = rpm / 60.0
            cp = blades.other("c_thrust", thrust / (rho * n**2 * d**4), "c_power", v / (n * d))
            hp = None if cp is None else cp * rho * n**3 * d**5 / 550.0
            if hp is not None and hp < 0.95 * rated_hp * (sigma - 0.12) / 0.88 * rpm / top:
                yield {**row, "airplane": name, "rpm": rpm, "hp": hp}
        n, hp = top / 60.0, rated_hp * (sigma - 0.12) / 0.88
        ct = blades.other("c_power", hp * 550.0 / (rho * n**3 * d**5), "c_thrust", v / (n * d))
        if ct is not None and ct * rho * n**2 * d**4 > thrust:
            excess = ct * rho * n**2 * d**4 - thrust
            rate = 60.0 * v * excess / float(row["weight_lb"])  # type: ignore[arg-type]
            yield {**row, "airplane": name, "kind": "climb", "rpm": top, "hp": hp, "rate_of_climb_fpm": rate}


def _row(model: Model, kind: str, state: dict[str, float] | None, **more: float) -> Iterator[dict[str, object]]:
    if state is not None:
        yield {"airplane": model.name, "kind": kind, **state, **more}


def _stall(trimmer: Trimmer, weight: float, flap: float) -> Iterator[dict[str, object]]:
    """Slowest glide with closed throttle that trims, to a quarter of a knot."""
    start, stop, _ = trimmer.model.speeds_kcas
    speed, last = start + 0.35 * (stop - start), None
    for step in (2.0, 0.25):
        while (
            state := trimmer.edge(-3.0, -20.0, lambda g, v=speed: trimmer.state(weight, 1500.0, 0.0, flap, v, g))
        ) and (_idle(trimmer, state)):
            last, speed = state, speed - step
        speed += step
    yield from _row(trimmer.model, "stall", last)


def _idle(trimmer: Trimmer, state: dict[str, float]) -> bool:
    return state["hp"] < 0.06 * trimmer.model.rated_hp


def _glide(trimmer: Trimmer, at: tuple[float, float, float, float], kcas: float) -> Iterator[dict[str, object]]:
    state = trimmer.edge(-2.0, -25.0, lambda g: trimmer.state(*at, kcas, g))
    if state and _idle(trimmer, state):
        yield from _row(trimmer.model, "glide", state)


def _turn(trimmer: Trimmer, at: tuple[float, float, float, float], kcas: float) -> Iterator[dict[str, object]]:
    weight, *air = at
    state = trimmer.edge(1.0, 4.0, lambda n: trimmer.state(weight * n, *air, kcas))
    if state and state["throttle"] > 0.97:
        factor = state["weight_lb"] / weight
        yield from _row(trimmer.model, "turn", {**state, "weight_lb": weight}, load_factor=factor)


def main(path: Path) -> None:
    """Write all rows."""
    with path.open("w", newline="") as out:
        table = csv.writer(out, lineterminator="\n")
        table.writerow(COLUMNS)
        for model in MODELS:
            found = list(rows(model))
            if model.name == "c182y":
                found += governed(found, "c182v", BladeTable("prop_81in2v"), 230.0)
            table.writerows([_short(c, row[c]) for c in COLUMNS] for row in found)
            out.flush()
            print(f"{model.name}: {len(found)} rows", file=sys.stderr, flush=True)


DIGITS = {"rpm": 1, "hp": 2, "thrust_lbf": 2, "rate_of_climb_fpm": 1, "weight_lb": 1, "pressure_altitude_ft": 1}


def _short(name: str, value: object) -> object:
    if not isinstance(value, float):
        return value
    return (
        f"{value:.{DIGITS.get(name, 3)}f}".rstrip("0").rstrip(".").replace("-0", "0")
        if abs(value) < 5e-4
        else (f"{value:.{DIGITS.get(name, 3)}f}".rstrip("0").rstrip("."))
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
