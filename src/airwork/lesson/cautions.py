"""airwork's own cautions as data: where no rule and no handbook speaks, and what a school or a person sets instead."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Literal

from airwork import units
from airwork.errors import InputError, UnitError, Where
from airwork.lesson.verdict import OWN, Level

Who = Literal["airwork", "school", "instructor", "student"]
STEPS = ("think", "stop", "solo_think", "solo_stop")
KINDS: dict[str, units.Kind | Literal["days"]] = {
    "wind": "speed", "gust": "speed", "gust_spread": "speed", "tailwind": "speed", "wind_to_speed": "ratio",
    "wind_to_speed_ground": "ratio", "shear": "speed", "spread": "temperature_difference", "climb": "vertical_speed",
    "climb_flaps_full": "vertical_speed", "cold": "temperature", "hypoxia_day": "altitude",
    "hypoxia_night": "altitude", "since_flight": "days",
}  # fmt: skip
LOW_IS_BAD = {"spread", "climb", "climb_flaps_full", "cold"}


@dataclass(frozen=True, slots=True)
class Step:
    """One number of a caution, in SI, and who set it."""

    value: float
    whose: Who

    @property
    def source(self) -> str:
        """As a reason shows it."""
        return OWN if self.whose == "airwork" else f"the {self.whose}'s caution"


@dataclass(frozen=True, slots=True)
class Cautions:
    """The cautions that hold for a lesson: "wind", "gust" … to its steps."""

    steps: Mapping[str, Mapping[str, Step]]
    solo: bool

    def step(self, name: str, which: Literal["think", "stop"]) -> Step | None:
        """The number from which on to think, or to stop."""
        return self.steps[name].get(f"solo_{which}" if self.solo else which)

    def judge(self, name: str, value: float, slack: float = 1e-6) -> tuple[Level, Step | None]:
        """("go", None), or what a value means by this caution and the number it passed."""
        sign = -1.0 if name in LOW_IS_BAD else 1.0
        for which, level in (("stop", "no-go"), ("think", "think")):
            step = self.step(name, which)  # type: ignore[arg-type]
            if step is not None and sign * (value - step.value) >= -slack:
                return level, step  # type: ignore[return-value]
        return "go", None


def read_cautions(table: Mapping[str, Mapping[str, object]], where: Where) -> dict[str, dict[str, float]]:
    """A table of cautions as written, in SI. InputError: an unknown name or step, or no such quantity."""
    out: dict[str, dict[str, float]] = {}
    for name, steps in table.items():
        if name not in KINDS or not isinstance(steps, Mapping):
            raise InputError(f"no caution {name!r}; known: {', '.join(KINDS)}.", where=where)
        for step, value in steps.items():
            at = where.at(name, step)
            if step not in STEPS or not isinstance(value, (str, int, float)):
                raise InputError(f'write {" or ".join(STEPS)}, e.g. think = "18 kt".', where=at)
            try:
                out.setdefault(name, {})[step] = _number(value, KINDS[name])
            except UnitError as problem:
                raise InputError(problem.problem, where=at) from None
    return out


def _number(value: str | int | float, kind: units.Kind | Literal["days"]) -> float:
    """A caution's number in SI; days are counted as days."""
    if kind != "days":
        return units.parse(value, kind)
    found = re.fullmatch(r"\s*(\d+)(?:\s*d(?:ays?)?)?\s*", str(value))
    if found is None:
        raise UnitError(f'{value!r} is no number of days; write "30 days".')
    return float(found[1])


@lru_cache(maxsize=1)
def _own() -> dict[str, dict[str, float]]:
    text = files("airwork.lesson").joinpath("cautions.toml").read_text("utf-8")
    return read_cautions(tomllib.loads(text), Where("cautions.toml"))


def cautions_for(
    solo: bool,
    school: Mapping[str, Mapping[str, float]],
    instructor: Mapping[str, Mapping[str, float]],
    student: Mapping[str, Mapping[str, float]],
) -> Cautions:
    """airwork's cautions, the school's in their place, then the instructor's; the student's where they are stricter."""
    found = {name: {k: Step(v, "airwork") for k, v in steps.items()} for name, steps in _own().items()}
    sets: tuple[tuple[Who, Mapping[str, Mapping[str, float]]], ...] = (("school", school), ("instructor", instructor))
    for whose, given in sets:
        for name, steps in given.items():
            found[name].update({k: Step(v, whose) for k, v in steps.items()})
    for name, steps in student.items():
        stricter = max if name in LOW_IS_BAD else min
        for k, value in steps.items():
            held = found[name].get(k)
            if held is None or (stricter(value, held.value) == value != held.value):
                found[name][k] = Step(value, "student")
    return Cautions(found, solo)
