"""The runway of the day: wind along and across it, takeoff and landing distance held against what is there. SI."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from airwork.airdata.wind import crosswind_mps, headwind_mps
from airwork.airplane import Airplane
from airwork.airplane.runway import LANDING_SAFETY_FACTOR, TAKEOFF_SAFETY_FACTOR, at_least, runway_distance
from airwork.errors import AirworkError, OutOfRange
from airwork.lesson.day import Day
from airwork.lesson.lesson import Lesson
from airwork.lesson.moments import Moment
from airwork.lesson.places import Runway
from airwork.lesson.runway_state import State
from airwork.lesson.style import Style
from airwork.lesson.weather import Wind
from airwork.units import from_unit, write

EVEN_MPS = from_unit(1.0, "kt")  # less headwind than this is nobody's reason for a shorter or softer runway
LIGHT_MPS = from_unit(6.0, "kt")  # up to here a report may call the direction variable ([AWH] 24.4.3.5)
FREEZES_K = from_unit(0.0, "°C")  # reported in whole degrees
WETS = ("RA", "DZ", "SN", "SG", "PL", "GR", "GS", "UP")


@dataclass(frozen=True, slots=True)
class Components:
    """Wind on a runway. Crosswind without sign; `from_right` None without a direction. Gusts counted in full."""

    label: str  # "now", "prevailing", "TEMPO" ...
    headwind_mps: float  # of the mean wind; negative is a tailwind
    crosswind_mps: float  # of the gust where there is one
    wind_mps: float
    peak_mps: float
    from_right: bool | None
    perhaps: bool = False  # forecast with a probability only


@dataclass(frozen=True, slots=True)
class Distance:
    """A takeoff or landing distance against the runway. None: not known; `problem` says why."""

    ground_roll_m: float | None
    over_50_ft_m: float | None
    factor: float
    needed_m: float | None
    available_m: float | None
    steps: tuple[str, ...]
    problem: str = ""
    surface: str = ""  # the handbook's word for it
    beyond: bool = False  # today lies outside the handbook's table
    least_m: float | None = None  # of a distance not known: without what the handbook has no numbers for, no factor


@dataclass(frozen=True, slots=True)
class RunwayPlan:
    """The runway chosen, its wind now and as forecast, and the distances. `runway` None: none could be chosen."""

    runway: Runway | None
    why: str
    winds: tuple[Components, ...]
    takeoff: Distance | None
    landing: Distance | None
    approach_more_mps: float = 0.0  # half the gusts over the mean wind, added to the approach speed

    @property
    def now(self) -> Components | None:
        """Wind as it is now."""
        return next((w for w in self.winds if w.label == "now"), None)


def components(label: str, wind: Wind, heading_rad: float, perhaps: bool = False) -> Components:
    """Wind on a runway heading. A wind without direction counts in full across, and gives no headwind; light, it
    counts for nothing.

    >>> c = components("now", Wind(2.4434609, 12.861), 2.9670597)  # runway 17, wind 140/25: [PHAK] ch. 11
    >>> round(c.headwind_mps / 0.514444), round(c.crosswind_mps / 0.514444), c.from_right
    (22, 12, False)
    """
    if wind.from_rad is None:
        across = 0.0 if wind.peak_mps <= LIGHT_MPS else wind.peak_mps
        return Components(label, 0.0, across, wind.speed_mps, wind.peak_mps, None, perhaps)
    worst = [wind.from_rad]
    if wind.varies_from_rad is not None and wind.varies_to_rad is not None:
        worst += [wind.varies_from_rad, wind.varies_to_rad]
    across = max((float(crosswind_mps(d, wind.peak_mps, heading_rad)) for d in worst), key=abs)
    along = min(float(headwind_mps(d, wind.speed_mps, heading_rad)) for d in worst)
    right = across > 0.0 if across else None
    return Components(label, along, abs(across), wind.speed_mps, wind.peak_mps, right, perhaps)


def choose_runway(lesson: Lesson, day: Day) -> tuple[Runway | None, str]:
    """The runway named, else the one most into the wind of the whole lesson among those with a known heading."""
    place = lesson.place
    if lesson.runway is not None:
        return place.runway(lesson.runway), "named in the lesson"
    known = [r for r in place.runways if r.heading_rad is not None and r.surface != "water"]
    if not known:
        return None, "no runway with a known heading; name one in the lesson" if place.runways else "no runway given"
    sure = [m.seen.wind for m in day.moments if not m.where and m.kind in {"now", "prevailing", "becoming"}]
    blows = [(w.from_rad, w.speed_mps) for w in sure if w and w.from_rad is not None and w.speed_mps > 0.5]
    now = blows[:1] if sure[0] is not None and sure[0].from_rad is not None else []
    if not blows:
        longest = max(known, key=lambda r: r.takeoff_m or 0.0)
        return longest, "the longest; the wind doesn't choose"

    def least(runway: Runway, winds: Sequence[tuple[float, float]]) -> float:
        return min((round(float(headwind_mps(d, v, runway.heading_rad or 0.0)), 1) for d, v in winds), default=0.0)

    # what blows now goes first, unless it is so light that what is forecast should choose
    first = now if now and now[0][1] > LIGHT_MPS else blows
    most = max(least(r, first) for r in known)
    even = [r for r in known if least(r, first) > most - EVEN_MPS]
    most = max(least(r, blows) for r in even)
    even = [r for r in even if least(r, blows) > most - EVEN_MPS]
    best = max(even, key=lambda r: (r.takeoff_m or 0.0, r.surface == "paved", least(r, first)))
    others = [r.name for r in place.runways if r.heading_rad is None]
    return best, "most into the wind" + (f"; no heading known for {', '.join(others)}" if others else "")


def field_winds(day: Day) -> tuple[Moment, ...]:
    """The moments at the field that have a wind; `RunwayPlan.winds` are theirs, in the same order."""
    return tuple(m for m in day.moments if not m.where and m.seen.wind is not None)


def handbook_surface(surface: str | None, wet: bool, soft: bool = False, snow: bool = False) -> tuple[str, ...] | None:
    """The handbook's words for a surface, one after another to be corrected for; None where there is none to be had.

    >>> handbook_surface("grass", wet=True, soft=True)
    ('wet_grass', 'soft_ground')
    """
    if surface not in {"paved", "grass"}:
        return None
    words = {"paved": ("paved_dry", "paved_wet"), "grass": ("dry_grass", "wet_grass")}[surface][wet]
    return (words, *(["soft_ground"] if soft else []), *(["snow"] if snow else []))


def plan_runway(
    lesson: Lesson, airplane: Airplane, day: Day, chosen: tuple[Runway | None, str], takeoff_mass_kg: float,
    landing_mass_kg: float, style: Style,
) -> RunwayPlan:  # fmt: skip
    """The chosen runway's wind and distances.

    The takeoff takes the wind now, the landing the least headwind of the lesson; the mean wind, a tailwind in full.
    Rain or a thaw in the report makes the runway wet, in the forecast for the landing. Gusts make the approach faster
    by half of what they are over the mean wind ([AFH] ch. 9), and the landing longer by the square of that. The
    lesson's own safety factor, or the usual one.
    """
    runway, why = chosen
    if runway is None or runway.heading_rad is None:
        return RunwayPlan(None, why, (), None, None)
    here = field_winds(day)
    winds = tuple(
        components(m.label(style, lesson.start_utc_s), m.seen.wind, runway.heading_rad, m.perhaps)
        for m in here
        if m.seen.wind is not None
    )
    sure = [w for w in winds if not w.perhaps]
    least = min((w.headwind_mps for w in sure), default=0.0)
    first = winds[0].headwind_mps if here and here[0].kind == "now" else least
    more_mps = 0.5 * max((w.peak_mps - w.wind_mps for w in sure), default=0.0)
    lies = reported_states(lesson, runway)
    wet, wet_now = (lesson.field.wet or any(s.wet for s in lies) or _wet(m) for m in (day.moments, day.moments[:1]))
    plan = lesson.plan
    factors = (plan.takeoff_factor or TAKEOFF_SAFETY_FACTOR, plan.landing_factor or LANDING_SAFETY_FACTOR)
    to_go_factor, to_stop_factor = (_factor(lesson, f) for f in factors)
    lying = lesson.field.snow or any(s.frozen for s in lies)
    snow, snow_now = (lying or _snowed(m, lesson, day) for m in (day.moments, day.moments[:1]))
    off = _Use("takeoff", takeoff_mass_kg, first, to_go_factor, wet_now, snow_now, lies)
    on = _Use("landing", landing_mass_kg, least, to_stop_factor, wet, snow, lies, more_mps)
    to_go, to_stop = (_distance(use, lesson, airplane, day, runway) for use in (off, on))
    return RunwayPlan(runway, why, winds, to_go, to_stop, more_mps)


@dataclass(frozen=True, slots=True)
class _Use:
    """How a runway is used: taken off from or landed on, how heavy, into which wind, wet or dry."""

    kind: Literal["takeoff", "landing"]
    mass_kg: float
    headwind_mps: float
    factor: float  # for safety
    wet: bool
    snow: bool
    lies: Sequence[State]  # on it, by the report
    faster_mps: float = 0.0  # than the usual approach, for the gusts


def reported_states(lesson: Lesson, runway: Runway | None) -> list[State]:
    """What lies on the runway, as the lesson's report says; another aerodrome's report speaks of other runways."""
    metar = lesson.weather.metar
    own = metar is not None and metar.station == lesson.place.ident
    return [s for s in metar.remarks.states if s.lies_on(runway)] if metar is not None and own else []


def _factor(lesson: Lesson, planned: float) -> float:
    """The safety factor planned, or a larger one that student, instructor or school ask for."""
    limits = [p.limits.runway_factor for p in (lesson.student, lesson.instructor, lesson.school) if p]
    return max([planned, *(f for f in limits if f)])


def _wet(moments: Iterable[Moment]) -> bool:
    """Rain, drizzle or melting snow at the field in one of the moments, or in the hour before the report."""
    moments = tuple(moments)
    if any(m.remarks.rained for m in moments if not m.where):
        return True
    return any(
        code[-2:] in WETS or any(w in code for w in WETS)
        for m in moments
        if not m.where and not m.perhaps
        for code in m.seen.weather
        if not code.startswith("VC")
    )


def _snowed(moments: Iterable[Moment], lesson: Lesson, day: Day) -> bool:
    """Snow at the field, in one of the moments or in the hour before the report, that doesn't melt where it falls."""
    if float(day.air.temperature_at_k(lesson.field_m)) > FREEZES_K:
        return False
    here = [m for m in moments if not m.where and not m.perhaps]
    return any(
        "SN" in words for m in here for words in (m.remarks.rained, *m.seen.weather) if not words.startswith("VC")
    )


def _distance(use: _Use, lesson: Lesson, airplane: Airplane, day: Day, runway: Runway) -> Distance:
    kind, mass_kg, factor = use.kind, use.mass_kg, use.factor
    there = runway.takeoff_m if kind == "takeoff" else runway.landing_m
    surface = handbook_surface(runway.surface, use.wet, lesson.field.soft, use.snow)
    elevation, slope = lesson.field_m, runway.slope or 0.0
    pressure, temperature = float(day.air.pressure_altitude_m(elevation)), float(day.air.temperature_at_k(elevation))

    def unknown(problem: str, beyond: bool = False) -> Distance:
        on = surface or ("paved_dry",)
        bare = at_least(kind, airplane, mass_kg, pressure, temperature, use.headwind_mps, on, slope, 1.0)
        least = None if bare is None else bare.needed_m
        return Distance(None, None, factor, None, there, (), problem, beyond=beyond, least_m=least)

    if iced := next((s for s in use.lies if s.iced), None):
        return unknown(f"no handbook has one for this: {iced.words}")
    if surface is None:
        words = "not known" if runway.surface is None else f"{runway.surface}, which handbooks have no correction for"
        return unknown(f"the surface is {words}")
    try:
        air = (pressure, temperature, use.headwind_mps)
        found = runway_distance(kind, airplane, mass_kg, *air, surface, slope, factor)
        longer, said = _for_gusts(airplane, mass_kg, use.faster_mps)
    except AirworkError as refused:
        return unknown(str(refused), isinstance(refused, OutOfRange))
    steps = found.steps if runway.slope is not None else (*found.steps, "slope not known: level taken")
    over = None if found.over_50_ft_m is None else longer * found.over_50_ft_m
    return Distance(
        longer * found.ground_roll_m,
        over,
        factor,
        longer * found.needed_m,
        there,
        (*steps, *said),
        "",
        " ".join(surface),
    )


def _for_gusts(airplane: Airplane, mass_kg: float, faster_mps: float) -> tuple[float, tuple[str, ...]]:
    """(factor on the distance, the step in words) of an approach flown faster for the gusts: by the square."""
    if faster_mps < 0.25:
        return 1.0, ()
    approach = airplane.speed_cas_mps("approach_flaps_full", mass_kg)
    longer = ((approach + faster_mps) / approach) ** 2
    return longer, (
        f"approach {write(faster_mps, 'kt')} faster for the gusts: × {longer:.2f} (AFH ch. 9; PHAK ch. 11)",
    )
