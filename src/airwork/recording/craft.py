"""What kind of aircraft a recording is of, as far as it shows: airplane, sailplane, faster, flown for aerobatics.

A sailplane climbs in circles and hardly keeps its height; jets and twins are faster than light singles train;
aerobatics show in the load factor and the path. Where nothing speaks against it, it is taken for a light airplane. The
limits are common practice, no source, and wide on purpose: to call a lesson a glider flight would hide the lesson.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from airwork.masks import runs
from airwork.recording.flight import Array, Flight
from airwork.recording.smooth import Window
from airwork.recording.work import Work
from airwork.units import to_unit

Kind = Literal["airplane", "sailplane", "fast", "aerobatic", "shuttle", "ground", "other", "unsure"]
NO_FLIGHT = frozenset(["ground", "other"])  # nothing is looked for
UNGRADED = NO_FLIGHT | {"sailplane", "fast"}  # the standards at hand are for light airplanes
WORDS: dict[str, str] = {
    "airplane": "a light airplane", "sailplane": "a sailplane or glider",
    "fast": "faster or higher than light singles train", "aerobatic": "an airplane flown for aerobatics",
    "shuttle": "an airplane that carries up jumpers or a glider",
    "ground": "a track on the ground, no flight", "other": "no airplane", "unsure": "of an uncertain kind",
}  # fmt: skip

_FAST_MPS, _MIDDLE_MPS = 98.0, 71.0  # 190 kt for a tenth of the flight, 138 kt for half of it
_HIGH_M, _HIGH_FAST_MPS = 7_600.0, 75.0  # 25,000 ft and 145 kt
# 250 kt, more than any light single may dive at; 30,000 ft, higher than they are let
_NEVER_MPS, _HIGHEST_M = 129.0, 9_144.0
_SLOW_MPS = 17.0  # 33 kt: nine tenths of the flight slower than any airplane of a school
_LEAST_S, _LEAST_FAST_S, _FEWEST = 600.0, 120.0, 60
_CLIMB_MPS, _CIRCLE_S, _MADE_GOOD = 0.5, 50.0, 0.45  # two circles and more; a half circle makes good 0.64 of its way
_CIRCLING_SHARE, _CIRCLED_S = 0.25, 300.0  # of the time spent climbing; five minutes of it at least
_LEVEL_M, _LEVEL_S, LEVEL_SHARE = 12.0, 60.0, 0.12  # kept its height within this for a minute; sailplanes hardly do
_LIGHT_G, _HEAVY_G, _FLOATS_S, _TIMES = 0.5, 3.2, 1.5, 3
_PUSHED_G = -0.3  # no recovery and no gust keeps it there for a second and more
_ZOOM_MPS, _ZOOM_S, _SEEN_STEP_S = 11.0, 20.0, 2.0  # up and down faster than a light single's climb, within seconds
_UPRIGHT_RAD, _MOVES_RAD = {"bank_rad": np.radians(60.0), "pitch_rad": np.radians(30.0)}, np.radians(3.0)
_ZOOMS = 2  # once is a recovery gone wrong: a lesson is not thrown away for it …
_PULL_S, _REGAINED = 8.0, 0.5  # … unless dive and climb lie this near together and bring back this share of the height
# A launch on a cable: steeper and faster up than an engine of a light airplane lifts it, just after leaving the ground.
_LAUNCH_MPS, _LAUNCH_GRADE, _LAUNCH_S, LAUNCHED_S, _LET_GO = 12.0, 0.3, 20.0, 75.0, 0.3
# Up in one go and down at once, all of its flights: jumpers or a tow. A student's stay up and do something there.
# Where all went to one height, the way home low down is no staying.
_LIFTS, _LIFT_M, _DIPS_M, _STAYS_MPS, _STAYS, _ALIKE, _AT_ONCE_S = 2, 450.0, 30.0, 0.8, 0.25, 0.06, 240.0
_HARDLY = 0.25
_DIVES_S, _DIVES_LEAST_S, _DIVES_GRADE, _DIVES_ABOVE_M = 40.0, 15.0, 0.17, 200.0  # 1 in 6, and no approach
# [FAI] classes of hang gliders and paragliders (O-1 to O-5) and of sailplanes (15, 18 and 20 meters)
_GLIDES = re.compile(r"(?i)glid|sailplane|FAI-[1-5]\b|\b(?:15|18|20)[ -]?m(?:et(?:er|re)|\b)")
# Designators and names of airplanes that tow or train, [ICAO-8643], from memory: what a club's logger is flown in
_AIRPLANES = re.compile(
    r"(?i)\bPA[- ]?\d\d\b|pawnee|super ?cub|\bDR[- ]?[34]00|rallye|\bMS[- ]?8[89]\d|cessna|"
    r"\bC[- ]?1[5-8]\d\b|\bhusky\b|\bmaule\b|\bWT[- ]?9\b"
)
# Makers' and family names of sailplanes, from memory: asked where the path is too short to tell, or an engine ran
_SAILPLANES = re.compile(
    r"(?i)\b(?:LS|ASW|ASK|ASG|ASH|JS|PIK|SZD|Ka)[- ]?\d|\bDG[- ]?\d{3}|\b(?:discus|ventus|nimbus|janus|duo|arcus|"
    r"antares|libelle|mosquito|pegase|jantar|puchacz|blanik|astir|std\.? ?cirrus|standard cirrus)"
)
_MOTOR_GLIDERS = re.compile(r"(?i)dimona|\bHK[- ]?36|\bSF[- ]?25")
_CRAWLS_MPS = 10.3  # 20 kt at most: nothing with wings is so slow throughout but in a gale
_NOISE_LOUD, _NOISE_QUIET, _NOISE_NONE, _TOWED = 500.0, 250.0, 50.0, 0.1  # engine noise level, 0 to 999
_QUIET_S, _RAN = 60.0, 0.3  # without a sound; of the recording loud
# 29°/s: at 60° of bank that is 33 m/s, where a light single stalls; a paraglider's spiral is slower, or sinks
_TIGHT_RPS, _SPINS_MPS, _SOARS_MPS, _SLOW_TURNS_MPS = 0.5, 4.0, 15.0, 33.0
# 26 kt, level for so long to both sides: below what the lightest airplanes show at their slowest
_CARRIED_MPS, _TAXIES_MPS, _HELD_S, _ONCE = 13.4, 8.0, 8.0, 0.01
_SHORT = "a glider's logger, no engine heard, and too short to tell"
_LIFTS_OFF_MPS = 57.0  # 111 kt over the ground, where a light single has long left it


@dataclass(frozen=True, slots=True)
class Craft:
    """Kind of aircraft, whether it has an engine that ran in flight (None: not known), and why, in words.

    heard : the recorder itself says so (engine speed, fuel, noise), not the path alone.
    """

    kind: Kind = "airplane"
    engine: bool | None = None
    why: str = ""
    heard: bool = False

    @property
    def trains(self) -> bool:
        """Exercises of light airplanes can be looked for."""
        return self.kind == "airplane"


def craft_of(flight: Flight) -> Craft:
    """The kind of aircraft noted in a flight; a light airplane where nothing is."""
    noted = flight.source.get("craft")
    if not isinstance(noted, Mapping) or noted.get("kind") not in WORDS:
        return Craft()
    return Craft(noted["kind"], noted.get("engine"), str(noted.get("why", "")), noted.get("heard") is True)


def note_craft(work: Work) -> bool:
    """Write the kind of aircraft into the facts of the flight; whether it may as well have driven."""
    craft = _judged(work)
    heard = _engine(work) is not None
    doubt = work.facts.pop("not_known", "") or (_crawls(work) if craft.kind == "sailplane" else "")
    if doubted := bool(doubt) and craft.kind != "shuttle":  # which has been up and down
        craft = Craft("unsure", None, str(doubt))
    fact: dict[str, Any] = {"kind": craft.kind, "engine": craft.engine, "why": craft.why, "heard": heard}
    work.facts["craft"] = fact
    return doubted


def _judged(work: Work) -> Craft:  # noqa: C901, PLR0912
    if why := work.facts.get("drives"):
        return Craft("ground", None, str(why))
    if why := work.facts.get("no_airplane"):
        return Craft("other", None, str(why))
    at = work.seconds_apart()
    t = work.time_s[at]
    speed = work.get("tas_mps", "groundspeed_mps", "ias_mps")
    altitude = work.get("altitude_m", "gps_altitude_m")
    engine = _engine(work)
    if engine is None and _AIRPLANES.search(_named(work)):
        engine = True  # which nothing else takes up
    if speed is None and altitude is None:
        return Craft(engine=engine)
    v = np.full(at.size, np.inf) if speed is None else speed[at]
    h = np.full(at.size, np.nan) if altitude is None else altitude[at]
    ground = work.get("on_ground")
    flying = (np.isfinite(v) | (speed is None)) & (v > 5.0)
    if ground is not None:
        flying &= ~(ground[at] > 0.5)
    step = float(np.median(np.diff(t))) if t.size > 1 else work.step_s  # of the samples taken, not of the rows
    if why := _fast(np.where(np.isfinite(v), v, np.nan)[flying], h[flying], float(flying.sum()) * step):
        return Craft("fast", engine, why)
    if speed is None or altitude is None:
        return Craft(engine=engine)
    flying &= np.isfinite(h)
    if why := _tight(work, at, v) or ("" if engine or ground is None else _too_slow(work, at, h, ground[at])):
        return Craft("other", engine, why)
    by_name = engine is None or bool(glides_by_name(work))
    called = _called_a_glider(work, t, v, h, flying) if by_name else ""
    if engine and not called and (named := _named_sailplane(work)) and level_share(t, h, flying) < 3.0 * LEVEL_SHARE:
        called = f"its file gives {named}, with an engine"
    fast = float(np.percentile(v[flying], 90)) if flying.any() else 0.0
    logger, flown_s = work.facts.get("format") == "IGC", float(flying.sum()) * step
    short = t.size < _FEWEST or flown_s < _LEAST_FAST_S
    if flying.any() and fast < _SLOW_MPS and (logger or not short):
        if engine and not called and work.measured("rpm") is not None:
            return Craft("unsure", engine, "slower than airplanes fly, and an engine's speed was recorded")
        return Craft("sailplane", engine or False, called or "slower than airplanes fly")
    loud = engine is False and float(np.nanmax(work.extra["noise_level"])) > _NOISE_LOUD
    if loud and _ran(work.extra["noise_level"]) and _soars_quietly(work, work.extra["noise_level"]):
        return Craft("sailplane", False, "an engine that stops, and it keeps its height without")
    if engine is False and not short and step < 30.0 and level_share(t, h, flying) < LEVEL_SHARE:
        heard = "an engine on the way up alone" if loud else "no engine noise"
        return Craft("sailplane", False, f"{heard}, never level for long")
    if engine is not False and (why := _thrown(work, speed)):
        return Craft("aerobatic", engine, why)
    if called and _MOTOR_GLIDERS.search(_named(work)):
        return Craft("unsure", engine, f"{called.split(' as ')[0]}, a motor glider")
    launched = called
    if not (engine is True or ground is None):
        launched = _launched(t, v, h, ground[at] > 0.5) or called
    if flown_s < _LEAST_S:
        if launched:
            return Craft("sailplane", engine or False, launched)
        if why := "" if ground is None else _fast_at_the_ground(v, ground[at] > 0.5):
            return Craft("fast", engine, why)
        return _short(work, engine, t, v, h, flying)
    if not launched and engine is not False and (why := _aerobatic(work)):
        return Craft("aerobatic", engine, why)
    if why := (_soars(work, at, t, h, flying, ground, step) if engine is not True else "") or launched:
        return Craft("sailplane", engine or False, why)
    if ground is not None and (lifts := _lifts(t, h, ground[at] > 0.5)):
        return Craft("shuttle", engine, f"{lifts} times up in one go and down again at once")
    return Craft("airplane", engine, "")


def _crawls(work: Work) -> str:
    """Why it doesn't show whether it flew at all, in words: so slow throughout, and no glider's logger."""
    speed = work.get("groundspeed_mps")
    if speed is None or work.facts.get("format") == "IGC" or work.measured("ias_mps") is not None:
        return ""
    top = _percentile(speed, 98)
    return f"at most {to_unit(top, 'kt'):.0f} kt, slower than wings carry anything" if top < _CRAWLS_MPS else ""


def _fast_at_the_ground(v: Array, down: NDArray[np.bool_]) -> str:
    """Its wheels leave or meet the ground faster than a light single's ever do; "" where they don't."""
    edge = np.diff(down)
    slowest = float(np.nan_to_num(np.minimum(v[1:], v[:-1])[edge]).min()) if edge.any() else 0.0
    at_kt = to_unit(slowest, "kt")
    return f"its wheels leave or meet the ground at {at_kt:.0f} kt" if slowest > _LIFTS_OFF_MPS else ""


def _short(work: Work, engine: bool | None, t: Array, v: Array, h: Array, flying: NDArray[np.bool_]) -> Craft:
    """What can be said of a flight too short to tell by how it flies."""
    if work.facts.get("format") != "IGC" or engine is True:
        return Craft(engine=engine)
    named = _named(work)
    never_level = bool(_SAILPLANES.search(named)) or level_share(t, h, flying) < LEVEL_SHARE  # circles keep a height
    if named and not _MOTOR_GLIDERS.search(named) and never_level and not _dives(t, v, h):
        return Craft("sailplane", False, f"its file gives {named}")
    return Craft("unsure", engine, _SHORT)


def _fast(v: Array, h: Array, flown_s: float) -> str:
    """Why it is faster or higher than light singles train, in words; the faster it goes, the sooner it is known."""
    if not v.size:
        return ""
    high = f", up to {to_unit(top, 'ft'):,.0f} ft" if np.isfinite(top := _percentile(h, 95)) else ""
    middle, fast = _percentile(v, 50), _percentile(v, 90)
    if not (
        (flown_s >= _LEAST_FAST_S and (fast > _FAST_MPS or middle > _MIDDLE_MPS))
        or (flown_s >= _LEAST_FAST_S and top > _HIGH_M and fast > _HIGH_FAST_MPS)
        or middle > _NEVER_MPS
        or top > _HIGHEST_M
    ):
        return ""
    return f"flown at {to_unit(fast, 'kt'):.0f} kt{high}" if np.isfinite(fast) else f"flown{high[1:]}"


def _tight(work: Work, at: NDArray[np.intp], v: Array) -> str:
    """Why its turns are tighter than wings that carry a pilot hold, at one height: n = v·ω/g, and half a spin sinks."""
    rate, climb = work.get("turn_rate_radps"), work.get("vertical_speed_mps")
    if rate is None or climb is None or work.step_s > _SEEN_STEP_S:
        return ""
    turns = (np.abs(np.nan_to_num(rate[at])) > _TIGHT_RPS) & (np.abs(np.nan_to_num(climb[at], nan=99.0)) < _SPINS_MPS)
    times = _times(work.time_s[at], turns & (v > _SOARS_MPS) & (v < _SLOW_TURNS_MPS), np.pi / _TIGHT_RPS)
    return f"it turns half a circle within {np.pi / _TIGHT_RPS:.0f} s {times} times" if times >= _TIMES else ""


def _too_slow(work: Work, at: NDArray[np.intp], h: Array, on_ground: Array) -> str:
    """Why no wings that carry a pilot keep a height at its airspeed: a recorded one, as slow over the ground."""
    air, over = work.measured("ias_mps"), work.get("groundspeed_mps")
    if air is None or over is None or work.facts.get("format") == "IGC":  # paragliders
        return ""
    around = Window(work.time_s[at], _HELD_S)
    faster = np.maximum(around.mean(air[at]), around.mean(over[at]))
    held = (around.mean(on_ground) < _ONCE) & (np.abs(around.slope(h)) < _CLIMB_MPS) & (faster > _TAXIES_MPS)
    flown = np.flatnonzero(np.nan_to_num(over[at]) > _SLOW_MPS)
    held[: flown[0] if flown.size else None] = held[flown[-1] if flown.size else 0 :] = False  # it may have stood
    slowest = float(np.min(faster, where=held, initial=np.inf))
    return f"it keeps its height at {to_unit(slowest, 'kt'):.0f} kt" if slowest < _CARRIED_MPS else ""


def _percentile(values: Array, percent: float) -> float:
    known = values[np.isfinite(values)]
    return float(np.percentile(known, percent)) if known.size else float("nan")


def _launched(t: Array, v: Array, h: Array, on_ground: NDArray[np.bool_]) -> str:
    """Why it went up on a cable, in words."""
    climb = np.nan_to_num(Window(t, 0.5 * _LAUNCH_S).slope(h))
    steep = (climb > _LAUNCH_MPS) & (
        climb > _LAUNCH_GRADE * np.nan_to_num(Window(t, 0.5 * _LAUNCH_S).mean(v), nan=99.0)
    )
    for left in np.flatnonzero(on_ground[:-1] & ~on_ground[1:]) + 1:
        soon = slice(left, int(np.searchsorted(t, t[left] + LAUNCHED_S)))
        after = climb[soon.stop : int(np.searchsorted(t, t[left] + 2.0 * LAUNCHED_S))]
        # what goes on climbing like that has its altitude in another unit
        if steep[soon].any() and after.size and float(after.mean()) < _LET_GO * float(climb[soon].max()):
            return f"it leaves the ground at {to_unit(float(climb[soon].max()), 'fpm'):,.0f} fpm, as on a winch's cable"
    return ""


def glides_by_name(work: Work) -> str:
    """The words by which a glider's logger says so; "" where it says none."""
    kind = _named(work)
    return kind if _GLIDES.search(kind) else ""


def _named_sailplane(work: Work) -> str:
    """The words of a logger that name a sailplane, no motor glider; "" where they name none."""
    kind = _named(work)
    return kind if _SAILPLANES.search(kind) and not _MOTOR_GLIDERS.search(kind) else ""


def _named(work: Work) -> str:
    if work.facts.get("format") != "IGC":
        return ""
    words = (str(work.facts.get(name) or "").strip() for name in ("aircraft_type", "aircraft_class"))
    return " ".join(words).strip()[:40]


def _called_a_glider(work: Work, t: Array, v: Array, h: Array, flying: NDArray[np.bool_]) -> str:
    """Why what the file itself calls a glider is one: by a word for it, or up once and down, never level. Airplanes'
    loggers fill the type in, too, but who trains in one keeps a height or climbs again."""
    kind, up = _named(work), h[np.isfinite(h)]
    if not kind or not up.size:
        return ""
    said, level = f"its file gives {kind}", level_share(t, h, flying)
    if _GLIDES.search(kind) and level < 3.0 * LEVEL_SHARE:
        return said
    top = int(np.argmax(up))
    dips = float((np.maximum.accumulate(up[: top + 1]) - up[: top + 1]).max())
    rises = float((up[top:] - np.minimum.accumulate(up[top:])).max())
    once = max(dips, rises) < _DIPS_M and up[top] - max(up[0], up[-1]) > _LIFT_M
    if not once or level > _HARDLY * LEVEL_SHARE or _dives(t, v, h):
        return ""
    return f"{said} as glider type, and it goes up once and comes down, never level"


def _dives(t: Array, v: Array, h: Array) -> bool:
    """High up it goes down steeper than a sailplane with its brakes shut: a tug on its way home."""
    slope, along = Window(t, 0.5 * _DIVES_S).slope(h), Window(t, 0.5 * _DIVES_S).mean(v)
    grade = np.nan_to_num(slope) / np.maximum(np.nan_to_num(along), _SLOW_MPS)
    high = np.nan_to_num(h) > float(np.nanmin(h)) + _DIVES_ABOVE_M
    if float(grade.max()) > _LAUNCH_GRADE:
        return False  # pulled up on a cable
    return _times(t, high & (grade < -_DIVES_GRADE), _DIVES_LEAST_S) > 0


def _lifts(t: Array, h: Array, on_ground: NDArray[np.bool_]) -> int:
    """How often it went up in one go and came down at once; 0 where any of its flights was another."""
    level = np.abs(np.nan_to_num(Window(t, 0.5 * _LEVEL_S).slope(h))) < _STAYS_MPS
    flights = [(a, b) for a, b in runs(~on_ground) if t[b - 1] - t[a] > _LEVEL_S]
    climbs = np.array([np.nan_to_num(np.nanmax(h[a:b]) - h[a]) for a, b in flights if np.isfinite(h[a:b]).any()])
    if climbs.size and np.ptp(climbs) < _ALIKE * climbs.max():
        for a, b in flights:
            over = np.nan_to_num(h[a:b] - h[a]) / max(climbs.max(), 1.0)
            aloft = np.flatnonzero(over > 0.5)
            arrived = int(np.argmax(over > over.max() - _ALIKE))
            if aloft.size and t[a + aloft[-1]] - t[a + arrived] < _AT_ONCE_S:
                level[a:b] &= over > 0.5
    for a, b in flights:
        up = h[a:b]
        top = int(np.nanargmax(up)) if np.isfinite(up).any() else 0
        dips = float(np.nanmax(np.maximum.accumulate(np.nan_to_num(up[: top + 1])) - up[: top + 1], initial=0.0))
        if not up[top] - up[0] > _LIFT_M or dips > _DIPS_M or level[a:b].mean() > _STAYS:
            return 0
    return len(flights) if len(flights) >= _LIFTS else 0


def _engine(work: Work) -> bool | None:
    """An engine ran in flight: its speed, its fuel, its noise; None where nothing tells."""
    rpm = work.measured("rpm")
    if rpm is not None and np.nanpercentile(rpm, 75) > 1_000.0:
        return True
    if any(work.measured(n) is not None for n in ("fuel_flow_m3ps", "manifold_pressure_pa")):
        return True
    noise = work.extra.get("noise_level")
    if noise is None or not np.isfinite(noise).any():
        return None
    if not np.nanmax(noise) > np.nanmin(noise):
        return None  # no sensor
    speed = work.get("groundspeed_mps")
    aloft = noise if speed is None or not (speed > _SLOW_MPS).any() else noise[speed > _SLOW_MPS]
    if _ran(noise):
        # No engine idles so quietly: a tug's was heard, or its own, till it was stopped.
        return float(np.nanmean(aloft < _NOISE_NONE)) < _TOWED and not _soars_quietly(work, noise)
    return False if float(np.nanpercentile(noise, 75)) < _NOISE_QUIET else None


def _ran(noise: Array) -> bool:
    return float(np.nanmean(noise > _NOISE_LOUD)) > _RAN


def _soars_quietly(work: Work, noise: Array) -> bool:
    """A minute in the air without a sound, and no height lost: what had an engine has stopped it."""
    height, speed = work.get("altitude_m", "gps_altitude_m"), work.get("groundspeed_mps")
    if height is None or speed is None:
        return False
    quiet = (noise < min(_NOISE_QUIET, 0.2 * float(np.nanmax(noise)))) & (speed > _SLOW_MPS) & np.isfinite(height)
    t = work.time_s
    for a, b in runs(quiet):
        later = np.searchsorted(t[a:b], t[a:b] + _QUIET_S)
        known = later < b - a
        if (height[a:b][later[known]] - height[a:b][known] > -_DIPS_M / 2.0).any():
            return True
    return False


def _thrown(work: Work, speed: Array) -> str:
    """Loads no lesson has: pushed below nought once, or floating and pulling hard again and again."""
    load = work.measured("load_factor")
    if load is None:
        return ""
    load = np.where(speed > _SLOW_MPS, load, 1.0)  # a recorder at rest or on rough ground floats nowhere
    if _times(work.time_s, load < _PUSHED_G, _FLOATS_S):
        return f"load factor down to {float(np.nanmin(load)):.1f} g"
    floats = _times(work.time_s, load < _LIGHT_G, _FLOATS_S) + _times(work.time_s, load > _HEAVY_G, _FLOATS_S)
    return f"load factor below {_LIGHT_G:g} or above {_HEAVY_G:g} g {floats} times" if floats >= _TIMES else ""


def _aerobatic(work: Work) -> str:
    altitude = work.get("altitude_m")
    if altitude is None or work.step_s > _SEEN_STEP_S or _upright(work):
        return ""
    climb = np.nan_to_num(Window(work.time_s, 1.5).slope(altitude))
    up, down = work.time_s[climb > _ZOOM_MPS], work.time_s[climb < -_ZOOM_MPS]
    if not (up.size and down.size):
        return ""
    at = np.searchsorted(down, up)
    apart = np.minimum(
        np.abs(down[np.clip(at, 0, down.size - 1)] - up), np.abs(down[np.clip(at - 1, 0, down.size - 1)] - up)
    )
    limit, zooms = f"{to_unit(_ZOOM_MPS, 'fpm'):,.0f} fpm", up[apart < _ZOOM_S]
    if any(_comes_back(work.time_s, altitude, float(at_s)) for at_s in up[apart < _PULL_S]):
        return f"from diving to climbing at more than {limit} within {_PULL_S:.0f} s, back up to where it was"
    if zooms.size and 1 + int(np.sum(np.diff(zooms) > _ZOOM_S)) >= _ZOOMS:
        return f"{_ZOOMS} times from diving to climbing at more than {limit} within {_ZOOM_S:.0f} s"
    return ""


def _upright(work: Work) -> bool:
    """Bank and pitch were recorded, moved, and never were those of aerobatics: 14 CFR 91.307(c)."""
    for name, most in _UPRIGHT_RAD.items():
        angle = work.measured(name)
        if angle is None or not np.nanmax(angle) - np.nanmin(angle) > _MOVES_RAD or np.nanmax(np.abs(angle)) > most:
            return False
    return True


def _comes_back(t: Array, altitude: Array, at_s: float) -> bool:
    """Most of the height dived away is back within seconds: a loop's; a steep descent left in a zoom stays low."""
    before = altitude[(t >= at_s - _ZOOM_S) & (t <= at_s)]
    after = altitude[(t >= at_s) & (t <= at_s + _ZOOM_S)]
    low = float(np.nanmin(before))
    return float(np.nanmax(after)) - low > _REGAINED * (float(np.nanmax(before)) - low)


def _times(t: Array, mask: NDArray[np.bool_], least_s: float) -> int:
    return sum(bool(t[past - 1] - t[first] >= least_s) for first, past in runs(mask))


def _soars(
    work: Work, at: NDArray[np.intp], t: Array, h: Array, flying: NDArray[np.bool_], ground: Array | None, step: float
) -> str:
    """Climbs in circles and hardly keeps its height: what a sailplane does in lift and between.

    What it climbs from the runway on, in one go, is an engine's doing, its own or a tug's.

    Circling shows in the way made good: in a minute it comes nowhere, however coarse the fixes are.
    """
    east, north, speed = work.get("east_m"), work.get("north_m"), work.get("groundspeed_mps")
    if east is None or north is None or speed is None or step > 0.4 * _CIRCLE_S:
        return ""
    climb = Window(t, max(0.5 * _CIRCLE_S, 1.5 * step)).slope(h)
    low = np.searchsorted(t, t - 0.5 * _CIRCLE_S)
    high = np.minimum(np.searchsorted(t, t + 0.5 * _CIRCLE_S), t.size - 1)
    flown = Window(t, 0.5 * _CIRCLE_S).mean(speed[at]) * (t[high] - t[low])
    made = np.hypot(east[at][high] - east[at][low], north[at][high] - north[at][low])
    climbing = flying & (np.nan_to_num(climb) > _CLIMB_MPS) & (t[high] - t[low] < 1.6 * _CIRCLE_S)
    if ground is not None:
        climbing &= ~_climbs_out(climb, ground[at] > 0.5)
    circling = climbing & (made < _MADE_GOOD * flown)
    if climbing.sum() * step < _CIRCLED_S:
        return ""
    share = float(circling.sum() / climbing.sum())
    long = share > _CIRCLING_SHARE and circling.sum() * step > _CIRCLED_S
    if long and level_share(t, h, flying) < 3.0 * LEVEL_SHARE:
        return f"{100.0 * share:.0f} % of its climbing was circling"
    return ""


def _climbs_out(climb: Array, on_ground: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """From leaving the ground until it climbs no more."""
    out = np.zeros(climb.size, dtype=bool)
    for left in np.flatnonzero(on_ground[:-1] & ~on_ground[1:]) + 1:
        rises = np.nan_to_num(climb[left:]) > 0.0
        begins = int(np.argmax(rises))
        ends = np.flatnonzero(~rises[begins:])
        out[left : left + begins + int(ends[0]) if ends.size else climb.size] = True
    return out


def level_share(t: Array, h: Array, flying: NDArray[np.bool_]) -> float:
    """Share of the time in the air spent within a few meters of one height for a minute."""
    at = np.flatnonzero(flying)
    if at.size < 10:
        return 0.0
    low = np.searchsorted(t, t[at] - 0.5 * _LEVEL_S)
    high = np.minimum(np.searchsorted(t, t[at] + 0.5 * _LEVEL_S), t.size - 1)
    middle = (low + high) // 2
    off = np.maximum(np.abs(h[low] - h[at]), np.abs(h[high] - h[at]))
    return float(np.mean(np.maximum(off, np.abs(h[middle] - h[at])) < _LEVEL_M))
