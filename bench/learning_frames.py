"""Airframes of the flight dynamics library JSBSim: what is flown, its trims (truth), the simulator that flies it.

The sample airplanes and their changes are those of `performance_truth.py`; the ones marked unfamiliar have drag, flaps
or propellers unlike the airplanes the priors were once looked at on.
"""

from __future__ import annotations

import math
import pickle
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, ClassVar

import jsbsim
import numpy as np
import performance_truth as truth
from flying.simulator import Simulator

from airwork.units import LB_KG

SEA_LEVEL_RICH = 1.3  # of the library's engines, the lever full forward
LEANED_TO = (
    1.28,
    1.42,
)  # fuel over what the air can burn: from most power by the gallon to most power, in that library
LEAN_ABOVE_PA = 90812.0  # 3,000 ft (common practice, no source)
CACHE = Path(tempfile.gettempdir()) / "airwork-learning"


@dataclass(frozen=True)
class Setup:
    """One airplane: what JSBSim flies, and what stands in its papers."""

    model: truth.Model
    notches: tuple[int, ...] = (0, 1, 2, 3)
    unfamiliar: bool = False
    governed: bool = False  # a constant-speed propeller: `learning_governed.py`

    @property
    def name(self) -> str:
        return self.model.name


def _of(known: str, **change: Any) -> truth.Model:
    return replace(next(m for m in truth.MODELS if m.name == known), **change)


_DRAGGY = (
    (r"(?s)(Drag_at_zero_lift.*?<value>)0\.027", r"\g<1>0.040"),
    (r"30\.0000\s+0\.0180", "30.0000 0.0480"),
    (r"20\.0000\s+0\.0120", "20.0000 0.0290"),
)
_CLEAN = (
    (r"(?s)(Drag_at_zero_lift.*?<value>)0\.027", r"\g<1>0.018"),
    (r'thruster file="[^"]*"', 'thruster file="prop_Clark_Y7570"'),
)
_BARN = (
    (r"(?s)(Drag at zero lift.*?<value>)0\.032", r"\g<1>0.045"),
    (r"30\.0\s+0\.018", "30.0 0.050"),
    (r"20\.0\s+0\.012", "20.0 0.030"),
)
_HAULER = ((r"(?s)(Drag_at_zero_lift.*?<value>)0\.027", r"\g<1>0.036"),)

SETUPS = {
    s.name: s
    for s in (
        Setup(_of("c172p")),
        Setup(_of("c172x")),
        Setup(_of("c182y")),
        Setup(_of("c172r")),
        Setup(_of("c172y")),
        Setup(_of("j3cub"), notches=(0,)),
        Setup(_of("c172p", name="draggy", edits=_DRAGGY), unfamiliar=True),
        Setup(_of("c172p", name="slippery", edits=_CLEAN, speeds_kcas=(44, 140, 4)), unfamiliar=True),
        Setup(_of("c172x", name="barn", edits=_BARN), unfamiliar=True),
        Setup(_of("c182y", name="hauler", edits=(*_of("c182y").edits, *_HAULER)), unfamiliar=True),
    )
}  # fmt: skip
SETUPS["c182g"] = Setup(
    _of(
        "c182y", name="c182g", diameter_in=81, rated_hp=230, rated_rpm=2400, engine_edits=(),
        edits=(
            (r"(?s)<engine file=.*?</engine>", ""),
            (r"</fdm_config>", '<external_reactions><force name="thrust" frame="BODY"><location unit="IN"><x>-37.7</x>'
             "<y>0</y><z>26.6</z></location><direction><x>1</x><y>0</y><z>0</z></direction></force>"
             "</external_reactions></fdm_config>"),
        ),
    ),
    governed=True,
)  # fmt: skip


class Trimmer(truth.Trimmer):
    """The steady state, with the fuel flow."""

    def state(self, *args: Any, **more: Any) -> dict[str, float] | None:
        found = super().state(*args, **more)
        if found is None:
            return None
        found["fuel_pps"] = self.fdm["propulsion/engine/fuel-flow-rate-pps"]
        return found


def trims_of(setup: Setup) -> dict[str, dict[str, np.ndarray]]:
    """The airframe's own trims: kind -> column -> array, kept in the cache."""
    path = CACHE / f"trims_{setup.name}.pkl"
    if path.exists():
        return pickle.loads(path.read_bytes())
    flaps = tuple(n / 3 for n in setup.notches)
    rows = list(_rows(replace(setup.model, flaps=flaps)))
    kinds: dict[str, dict[str, np.ndarray]] = {}
    for kind in {str(r["kind"]) for r in rows}:
        some = [r for r in rows if r["kind"] == kind]
        kinds[kind] = {c: np.array([float(r[c]) for r in some]) for c in some[0] if c not in ("airplane", "kind")}
        kinds[kind]["notch"] = np.round(3 * kinds[kind]["flap"]).astype(int)
    CACHE.mkdir(parents=True, exist_ok=True)
    path.write_bytes(pickle.dumps(kinds))
    return kinds


def _rows(model: truth.Model) -> Iterator[dict[str, object]]:
    trimmer = Trimmer(model)
    start, stop, step = model.speeds_kcas
    try:
        for weight in model.weights_lb:
            for flap in model.flaps:
                yield from truth._stall(trimmer, weight, flap)
                for altitude, isa in truth.ALTITUDES:
                    at = (weight, altitude, isa, flap)
                    for kcas in range(start, stop, step):
                        yield from truth._row(model, "level", trimmer.state(*at, kcas))
                        if (kcas - start) % (2 * step):
                            continue
                        climb = trimmer.edge(0.0, 20.0, lambda g, at=at, v=kcas: trimmer.state(*at, v, g))
                        if climb and climb["throttle"] > 0.98:
                            yield from truth._row(model, "climb", climb)
                        if altitude == 1500.0:
                            yield from truth._glide(trimmer, at, kcas)
    finally:
        trimmer.close()


class BenchSimulator(Simulator):
    """The edited airplane in flight; its load is a point mass at the empty airplane's center of gravity."""

    trimmers: ClassVar[dict[str, truth.Trimmer]] = {}
    leaned_at: ClassVar[
        list[float]
    ] = []  # of the flight flown last: leaned, rich again, in turn [s into the recording]
    _otherwise_s, _first_s = 0, math.nan

    def _before_step(self) -> None:
        """Lean as a pilot does, between best economy and best power: half a minute after leveling off above 3,000 ft;
        rich at full throttle, in climbs and descents that last, and lower down."""
        state = self.state
        if self.recording and math.isnan(self._first_s):
            self._first_s = state.time_s
            self.leaned_at.clear()
        if self._ticks % 20:
            return
        high = state.pressure_pa < LEAN_ABOVE_PA and self._control_nodes["throttle"].get_double_value() < 0.95
        is_leaned = len(self.leaned_at) % 2 == 1
        steady = self.recording and high and abs(state.vertical_speed_mps) < 1.8
        self._otherwise_s = self._otherwise_s + 1 if steady != is_leaned else 0
        if self._otherwise_s > (30 if steady or high else 2):
            self.leaned_at.append(round(state.time_s - self._first_s))
        richness = SEA_LEVEL_RICH * 101325.0 / state.pressure_pa  # fuel over what the air can burn, lever full forward
        drawn = float(np.random.default_rng(round(10 * self._load[0])).uniform(*LEANED_TO))
        self._mixture_node.set_double_value(drawn / richness if len(self.leaned_at) % 2 else 1.0)

    def _load_model(self, fdm: jsbsim.FGFDMExec) -> bool:
        name = self.model.name
        if name not in self.trimmers:
            self.trimmers[name] = truth.Trimmer(SETUPS[name].model)
        folder = self.trimmers[name].folder
        return bool(
            fdm.load_model_with_paths(
                SETUPS[name].model.aircraft, *(str(folder / part) for part in ("aircraft", "engine", "systems")), True
            )
        )

    def _new_airplane(self) -> jsbsim.FGFDMExec:
        fdm = super()._new_airplane()
        trimmer = self.trimmers[self.model.name]
        for i in range(trimmer.index):
            fdm[f"inertia/pointmass-weight-lbs[{i}]"] = 0.0
        fdm.run_ic()
        wanted_lb = self._load[0] / LB_KG
        fdm[f"inertia/pointmass-weight-lbs[{trimmer.index}]"] = 0.0
        fdm.run_ic()
        fdm[f"inertia/pointmass-weight-lbs[{trimmer.index}]"] = wanted_lb - fdm["inertia/weight-lbs"]
        fdm["gear/gear-cmd-norm"] = fdm["gear/gear-pos-norm"] = 1.0
        return fdm
