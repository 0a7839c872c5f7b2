"""What the debrief takes from a lesson: the exercises in order with their targets, area, fuel and tank plan. SI."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter, ValidationError

from airwork.fitting import first_of
from airwork.maneuvers import ROOMS, room, rooms
from airwork.maneuvers.declared import Family, Role

if TYPE_CHECKING:
    from airwork.lesson.briefing import Briefing


# What is asked for by a wish of a lesson; the altitude of a climb or descent is the one to level off at.
FOLLOWS_FROM = {
    "altitude_change_m": ("altitude_change_m", "level_off_altitude_m"),
    "height_agl_m": ("height_agl_m", "altitude_m"), "heading_mag_rad": ("heading_mag_rad", "heading_rad"),
}  # fmt: skip
LEVELED_AT = FOLLOWS_FROM | dict.fromkeys(("altitude_m", "height_agl_m"), ("level_off_altitude_m",))
GLIDED = (Family.EMERGENCY, Family.ARRIVAL)  # of what is flown at idle


@dataclass(frozen=True, slots=True)
class PlannedChange:
    """A planned change of tank; the time counts from the engine's start."""

    time_s: float
    from_tank: str
    to_tank: str


@dataclass(frozen=True, slots=True)
class LessonPlan:
    """A lesson as the debrief needs it. Empty fields are not known.

    order : kinds in flying order.
    targets : kind → target name → value, for grading and for laying the ideal.
    worked_out : kind → those of them nobody asked for: the set-up's own. Told, never held against.
    times : kind as planned → how often.
    corners_rad : practice area as (latitude, longitude) in order around.
    changes : planned tank changes; takeoff_s : planned take-off, both from the engine's start. [s]
    """

    title: str = ""
    order: tuple[str, ...] = ()
    targets: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    corners_rad: tuple[tuple[float, float], ...] = ()
    floor_m: float | None = None
    ceiling_m: float | None = None
    ground_m: float | None = None
    fuel_m3: float | None = None
    changes: tuple[PlannedChange, ...] = ()
    takeoff_s: float | None = None
    mass_kg: float | None = None
    airplane_id: str = ""
    airplane_name: str = ""
    start_utc_s: float = float("nan")
    worked_out: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    times: Mapping[str, int] = field(default_factory=dict)

    @property
    def planned(self) -> Mapping[str, int]:
        """Kind as planned → how often; once where a plan of an older airwork doesn't say."""
        return self.times or dict.fromkeys(self.targets, 1)

    @property
    def glide_asked(self) -> bool:
        """A glide, or an approach without power."""
        return any(kind in ROOMS and room(kind).idle_power and room(kind).family in GLIDED for kind in self.planned)


def seen_as(kind: str) -> str:
    """What a recording shows an exercise as: a short-field landing is a landing there."""
    if kind not in ROOMS or room(kind).propose is not None or room(kind).role is not Role.RUNWAY:
        return kind
    return next((one.kind for one in rooms(room(kind).family) if one.propose is not None), kind)


def plan_of(briefing: Briefing) -> LessonPlan:
    """The part of a briefing the debrief holds a flight against."""
    targets: dict[str, dict[str, float]] = {}
    worked_out: dict[str, tuple[str, ...]] = {}
    planned: set[str] = set()
    for exercise in briefing.exercises:
        kind = seen_as(exercise.kind)
        wanted = {name: float(value) for name, value in exercise.targets.items() if isinstance(value, (int, float))}
        if exercise.set_up is not None:
            wanted.setdefault("altitude_m", exercise.set_up.entry_altitude_m)
        if kind != exercise.kind and room(exercise.kind).idle_power:
            wanted.pop("ias_mps", None)  # the speed of its glide: the landing it is seen as has another
        if kind in targets and exercise.kind not in planned:  # two that are seen as one: what both ask for
            targets[kind] = {n: x for n, x in targets[kind].items() if wanted.get(n) == x}
        planned.add(exercise.kind)
        if kind not in targets:
            follows = FOLLOWS_FROM if room(exercise.kind).heights.change_m is None else LEVELED_AT
            asked = {a for name in exercise.wanted for a in follows.get(name, (name,))}
            targets[kind], worked_out[kind] = wanted, tuple(name for name in wanted if name not in asked)
    area = briefing.area
    return LessonPlan(
        title=briefing.title,
        order=tuple(seen_as(e.kind) for e in briefing.exercises),
        targets=targets,
        worked_out=worked_out,
        times=dict(Counter(e.kind for e in briefing.exercises)),
        corners_rad=() if area is None else area.corners_rad,
        floor_m=None if area is None else area.floor_m,
        ceiling_m=None if area is None else area.ceiling_m,
        ground_m=None if area is None else area.ground_m,
        fuel_m3=briefing.fuel.burned_m3,
        changes=tuple(PlannedChange(c.time_s, c.from_tank, c.to_tank) for c in briefing.tanks.changes),
        takeoff_s=next((leg.start_s for leg in briefing.legs if leg.kind == "climb"), None),
        mass_kg=briefing.balance.points[0].mass_kg if briefing.balance.points else None,
        airplane_id=briefing.airplane_id,
        airplane_name=briefing.airplane_name,
        start_utc_s=briefing.start_utc_s,
    )


def plan_json(plan: LessonPlan | None) -> dict[str, Any]:
    """The lesson as flown, to be kept with the flight: what is known of it, SI, no NaN; empty for no lesson."""
    if plan is None:
        return {}

    def known(value: Any) -> bool:
        return value not in (None, "", (), {}) and not (isinstance(value, float) and math.isnan(value))

    return {name: value for name, value in asdict(plan).items() if known(value)}


def plan_from_json(data: Mapping[str, Any], *, where: str = "lesson") -> LessonPlan:
    """The lesson as flown, read back. What a later airwork has added is passed over.

    Raises
    ------
    InputError : no such data; names the field.
    """
    try:
        return _adapter().validate_python(dict(data))
    except ValidationError as problem:
        raise first_of(problem, LessonPlan, where=where, what="no lesson as flown: ") from None


@lru_cache(maxsize=1)
def _adapter() -> TypeAdapter[LessonPlan]:
    return TypeAdapter(LessonPlan)
