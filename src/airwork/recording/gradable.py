"""What a recording can be graded on: each criterion of a standard held against the columns that are there.

What each tolerance needs is common practice, no source (reference "what a recording must contain").
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from airwork import units
from airwork.recording.flight import Flight
from airwork.standards import Standard

Answer = Literal["yes", "estimate", "no"]

_ALTITUDE = ("altitude", "level_off_altitude", "pattern_altitude", "turn180_altitude", "altitude_kept")
_SPEED = ("ias", "pattern_ias", "entry_ias", "turn180_ias", "ias_to_50_ft")
_HEADING = ("heading", "rollout_heading", "turn180_heading", "turns")
_BANK = ("bank", "bank_limit", "bank_range")


# Within so many seconds nine in ten of 181 touches of strangers' made flights were found, by what was recorded.
_BY_PITCH_S, _BY_AIRSPEED_S, _BY_POSITION_S = 1.0, 3.0, 5.0


@dataclass(frozen=True, slots=True)
class Gradable:
    """One quantity a standard judges, and whether this recording can tell it.

    tasks : the kinds of maneuver it is judged in.
    why : what it rests on, or what is missing.
    """

    quantity: str
    tasks: tuple[str, ...]
    answer: Answer
    why: str


def gradable(flight: Flight, standard: Standard) -> tuple[Gradable, ...]:
    """Every quantity of a standard, in the order of its tasks."""
    kinds: dict[str, list[str]] = {}
    for task in standard.tasks.values():
        for criterion in task.criteria:
            kinds.setdefault(criterion.quantity, []).append(task.kind)
    return tuple(Gradable(q, tuple(dict.fromkeys(k)), *_answer(flight, q)) for q, k in kinds.items())


def touch_within_s(flight: Flight) -> float:
    """Within how many seconds of the wheels a touch is found, nine times in ten, by what was recorded. [s]"""
    if _measured(flight, "on_ground"):
        known = 0.0
    elif _measured(flight, "pitch_rad"):
        known = _BY_PITCH_S
    else:
        known = _BY_AIRSPEED_S if _measured(flight, "ias_mps", "cas_mps") else _BY_POSITION_S
    return max(known, flight.step_s)


def _measured(flight: Flight, *names: str) -> str:
    return next((n for n in names if n in flight.columns and flight.columns[n].known == "measured"), "")


def _answer(flight: Flight, quantity: str) -> tuple[Answer, str]:
    asked = _ASKED.get(quantity)
    return ("no", "airwork has no rule for what this needs") if asked is None else asked(flight)


def _altitude(flight: Flight) -> tuple[Answer, str]:
    if _measured(flight, "indicated_altitude_m"):
        return "yes", "indicated altitude recorded"
    if _measured(flight, "pressure_altitude_m"):
        return "yes", "pressure altitude recorded; deviation from the entry altitude"
    if flight.has("gps_altitude_m"):
        return "estimate", "satellite height: deviation from the entry altitude only"
    return "no", "no altitude recorded"


def _speed(flight: Flight) -> tuple[Answer, str]:
    name = _measured(flight, "ias_mps", "cas_mps", "tas_mps")
    if name == "ias_mps":
        return "yes", "indicated airspeed recorded"
    if name:
        kind = {"cas_mps": "calibrated", "tas_mps": "true"}[name]
        return "yes", f"{kind} airspeed recorded, converted to indicated"
    if flight.has("ias_mps"):
        error = flight.columns["ias_mps"].error or 0.0
        give = f"±{units.write(error, 'kt')}"
        return "estimate", f"no airspeed recorded; ground speed less wind, {give}: never a pass or fail"
    return "no", "no airspeed recorded, and too few turns, or fixes in them, to tell the wind"


def _heading(flight: Flight) -> tuple[Answer, str]:
    if _measured(flight, "heading_mag_rad", "heading_rad"):
        return "yes", "heading recorded"
    if flight.has("heading_rad"):
        return "estimate", "no heading recorded; track less drift"
    if flight.has("track_rad"):
        return "estimate", "only the track over the ground; in wind a roll-out is off by the change of drift"
    return "no", "neither heading nor track recorded"


def _bank(flight: Flight) -> tuple[Answer, str]:
    if _measured(flight, "bank_rad"):
        return "yes", "bank recorded"
    if flight.has("bank_rad"):
        return "estimate", flight.columns["bank_rad"].note
    return "no", "neither bank nor a turn rate can be had"


def _stall_warning(flight: Flight) -> tuple[Answer, str]:
    if flight.has("stall_warning"):
        return "yes", "the stall warning was recorded"
    return "no", "no stall warning recorded; the instructor marks it"


def _power(flight: Flight) -> tuple[Answer, str]:
    if not flight.has("power_ratio"):
        return "no", "no percent power: record RPM (and manifold pressure) and name the airplane"
    known = flight.columns["power_ratio"].known
    return ("yes", "recorded") if known == "measured" else ("estimate", flight.columns["power_ratio"].note)


def _height(flight: Flight) -> tuple[Answer, str]:
    return ("estimate", flight.columns["agl_m"].note) if flight.has("agl_m") else ("no", "no ground elevation known")


def _touchdown(flight: Flight) -> tuple[Answer, str]:
    if any(c.touches for c in flight.contacts) and flight.has("latitude_rad"):
        return "estimate", f"touchdown seen within some {touch_within_s(flight):.0f} s; needs the aiming point"
    return "no", "no touchdown seen in this recording"


def _pivotal(flight: Flight) -> tuple[Answer, str]:
    if flight.has("agl_m", "groundspeed_mps"):
        return "estimate", "from ground speed and height above the ground known"
    return "no", "needs ground speed and a ground elevation"


def _position(flight: Flight) -> tuple[Answer, str]:
    return ("yes", "position recorded") if flight.has("latitude_rad") else ("no", "no position recorded")


_ASKED: dict[str, Callable[[Flight], tuple[Answer, str]]] = {
    **dict.fromkeys(_ALTITUDE, _altitude),
    **dict.fromkeys(_SPEED, _speed),
    **dict.fromkeys(_HEADING, _heading),
    **dict.fromkeys(_BANK, _bank),
    "stall_warning": _stall_warning,
    "power": _power,
    "agl": _height,
    "touchdown_distance": _touchdown,
    "pivotal_altitude": _pivotal,
    "position": _position,
    "eta": _position,
}
