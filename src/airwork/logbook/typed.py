"""What a person types, at a command, in a form or in a line of a CSV → what the logbook enters.

Texts come by name ("born", "zone", "start" …), the same names everywhere; one that is missing or empty isn't given.
`mark` stands before a name where a message names it: "--" at a command.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, Literal

from sqlalchemy import Connection

from airwork.days import local_date, read_date, read_moment, zone
from airwork.errors import InputError
from airwork.logbook import fleet, keeping
from airwork.logbook.entering import FlightEntry
from airwork.logbook.held import Validity
from airwork.logbook.records import HOUR_S, TIMES, Held, Movement, Person, Role, new_id
from airwork.units import parse

Typed = Mapping[str, str | None]
DAY_S = 86400.0
ROLES: tuple[Role, ...] = ("dual", "solo", "pic")
# As typed -> the record's field, where it is called otherwise.
PERSON = {
    "name": "name", "born": "born_on", "zone": "time_zone", "held": "certificate_held", "aimed": "certificate_aimed",
    "authority": "authority", "contact": "contact", "number": "certificate_number",
}  # fmt: skip
# Hours as typed -> kind of time; any other kind goes by its own name.
HOURS = {
    "hours": "total", "instrument": "instrument_simulated", "actual": "instrument_actual", "ground": "ground_training",
}  # fmt: skip
FLAGS = ("full-stop", "night", "late-night", "towered")


def _text(typed: Typed, name: str) -> str:
    return (typed.get(name) or "").strip()


def person(typed: Typed, mark: str = "") -> dict[str, Any]:
    """Fields of a `Person`, for those named; an empty birth date is none."""
    found: dict[str, Any] = {field: _text(typed, name) for name, field in PERSON.items() if typed.get(name) is not None}
    if "born_on" in found:
        found["born_on"] = read_date(found["born_on"], f"{mark}born") if found["born_on"] else None
    return found


def place(typed: Typed, mark: str = "") -> dict[str, Any]:
    """Fields of a `Place`, for those given."""
    found: dict[str, Any] = {f: _text(typed, n) for n, f in (("name", "name"), ("zone", "time_zone")) if typed.get(n)}
    if "time_zone" in found:
        zone(found["time_zone"])
    for name, field in (("lat", "latitude_rad"), ("lon", "longitude_rad")):
        if text := _text(typed, name):
            found[field] = math.radians(_number(text, f"{mark}{name}"))
    if text := _text(typed, "elevation"):
        found["elevation_m"] = parse(text, "altitude", where=f"{mark}elevation")
    return found


def times_s(typed: Typed, mark: str = "") -> dict[str, float]:
    """Kind of time to seconds, of the hours given: 1.3, 1,3 or 1:18."""
    out = {}
    for name in (*HOURS, *TIMES):
        if text := _text(typed, name):
            where = f"{mark}{name.replace('_', '-' if mark else ' ')}"
            hours, colon, minutes = text.partition(":")
            out[HOURS.get(name, name)] = (
                _number(hours, where, "hours: 1.3 or 1:18") + (_number(minutes, where) / 60.0 if colon else 0.0)
            ) * HOUR_S  # fmt: skip
    return out


def movements(takeoffs: Sequence[str], landings: Sequence[str]) -> tuple[Movement, ...]:
    """Movements from a person's words: "4", "3 full-stop night", "2 night late-night towered"."""
    out = []
    for texts, what in ((takeoffs, "takeoff"), (landings, "landing")):
        for text in texts:
            words = text.replace(",", " ").split()
            if not words or not words[0].isdigit():
                raise InputError(f'{text!r}: write the number first, e.g. "3 full-stop night".', where=f"{what}s")
            unknown = [w for w in words[1:] if w not in FLAGS]
            if unknown:
                raise InputError(f"{unknown[0]!r} is none of {', '.join(FLAGS)}.", where=f"{what}s")
            full_stop, night, late_night, towered = (flag in words for flag in FLAGS)
            kind: Literal["takeoff", "landing"] = "takeoff" if what == "takeoff" else "landing"
            out.append(Movement(kind, int(words[0]), None, full_stop, night, late_night, towered))
    return tuple(out)


def several(text: str) -> list[str]:
    """The parts of a text that holds several: "3 full-stop; 1"."""
    return [part.strip() for part in re.split(r"[;+\n]", text) if part.strip()]


def flight(
    connection: Connection, pilot: Person, typed: Typed, *, now_utc_s: float, instructor: Person | None = None,
    mark: str = "",
) -> FlightEntry:  # fmt: skip
    """The flight that texts tell: start, end, date, role, airplane, route, hours of each kind, takeoffs, landings,
    passengers, distance, farthest, remarks, corrects. Places that are new are entered.

    A start or end may be a time alone ("9:00"), of the date given or of the start's.

    Raises
    ------
    InputError : names what can't be read, or isn't entered.
    """
    route = tuple(fleet.place_for(connection, i, now_utc_s=now_utc_s) for i in _text(typed, "route").split())
    zone_name = (route[0].time_zone if route else "") or pilot.time_zone
    day, start, end = _text(typed, "date"), _text(typed, "start"), _text(typed, "end")
    start_s = read_moment(_of_day(day, start), zone_name, f"{mark}start") if start else None
    end_s = None
    if end:
        whole = _of_day(start[:10] if len(start) > 5 else day, end)
        end_s = read_moment(whole, zone_name, f"{mark}end")
        if whole != end and start_s is not None and end_s <= start_s:
            end_s += DAY_S  # past midnight
    role = next((r for r in ROLES if r == (_text(typed, "role") or ("dual" if instructor else "pic"))), None)
    if role is None:
        raise InputError(f"{_text(typed, 'role')!r} is none of {', '.join(ROLES)}.", where=f"{mark}role")
    plane, corrects = _text(typed, "airplane"), _text(typed, "corrects")
    far = [
        parse(_text(typed, name), "distance", where=f"{mark}{name}") if _text(typed, name) else None
        for name in ("distance", "farthest")
    ]
    return FlightEntry(
        pilot, role, start_s, end_s, read_date(day, f"{mark}date") if day else None, instructor=instructor,
        airplane=fleet.find_airplane(connection, plane) if plane else None, route=route,
        times_s=times_s(typed, mark),
        movements=movements(several(_text(typed, "takeoffs")), several(_text(typed, "landings"))),
        passengers=passengers(typed, mark), remarks=_text(typed, "remarks"), corrects_id=corrects or None,
        distance_m=far[0], farthest_landing_m=far[1],
    )  # fmt: skip


def passengers(typed: Typed, mark: str = "") -> int:
    """How many."""
    text = _text(typed, "passengers") or "0"
    if not text.isdecimal():
        raise InputError(f"found {text[:20]!r}, expected a number of people.", where=f"{mark}passengers")
    return int(text)


def _of_day(day: str, text: str) -> str:
    """A time alone with its day before it."""
    return f"{day} {text:>05}" if day and re.fullmatch(r"\d{1,2}:\d{2}", text) else text


def _number(text: str, where: str, expected: str = "a number") -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise InputError(f"found {text[:20]!r}, expected {expected}.", where=where) from None


def paper(
    connection: Connection, who: Person, typed: Typed, *, now_utc_s: float, by: Person | None = None, mark: str = ""
) -> Validity:  # fmt: skip
    """What texts tell that somebody holds, written down: the endorsement an instructor gives (kind, on, expires, model,
    place, words, result), or without one a medical, test, certificate or date of one's own (kind, on, expires, remark).

    Without a day it is of today.
    """
    on, until, model = _text(typed, "on"), _text(typed, "expires"), _text(typed, "model")
    known = {a.registration.casefold(): a.make_model for a in fleet.airplanes(connection)}
    held = Held(
        new_id(), _text(typed, "kind"),
        read_date(on, f"{mark}on") if on else local_date(now_utc_s, who.time_zone),
        read_date(until, f"{mark}expires") if until else None,
        known.get(model.casefold(), model),  # a registration means its make and model
        _text(typed, "place"), _text(typed, "words" if by else "remark"), by.id if by else None,
        _text(typed, "result"), is_endorsement=by is not None,
    )  # fmt: skip
    return keeping.put_on_record(connection, who, held, now_utc_s=now_utc_s)
