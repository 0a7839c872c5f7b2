"""A lesson file to start from: commented TOML made from a few answers and the airplane's own tanks and stations."""

from __future__ import annotations

import datetime as dt
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from airwork.airplane import load_airplane
from airwork.airplane.loading import station_kind
from airwork.errors import InputError, Where
from airwork.lesson.exercises import find_room
from airwork.lesson.file import find_airplane, start_utc_s
from airwork.lesson.lesson import as_kind
from airwork.lesson.places import Place, find_place
from airwork.maneuvers import rooms
from airwork.maneuvers.declared import Family
from airwork.typed_file import FILL_IN
from airwork.units import DEG_RAD, to_unit, write

# (field of Answers and option of the command, question)
QUESTIONS = (
    ("airplane", "Airplane file or demo airplane"),
    ("airport", "Departure airport, identifier"),
    ("date", "Date"),
    ("time", "Engine start, local time"),
    ("zone", "Time zone"),
    ("student", "Student"),
    ("instructor", "Instructor"),
    ("certificate", "Certificate aimed at"),
    ("student_weight", "Weight of the student, e.g. 150 lb"),
    ("instructor_weight", "Weight of the instructor"),
    ("bags", "Weight of the bags"),
    ("fuel", "Usable fuel in each tank, e.g. 15 gal"),
)
MUST = {  # nothing stands for them: another field's wind and runways would look like one's own
    "airplane": "which one? A file, or a demo airplane's id.",
    "airport": "from which airport? Its identifier, e.g. KOGA.",
    "zone": "which time zone is it flown in? Write one like America/Denver.",
}
FIRST_EXERCISES = (Family.SLOW, Family.STALL, Family.PERFORMANCE)  # the first of each


@dataclass(frozen=True, slots=True)
class Answers:
    """What the new lesson is about."""

    airplane: str
    airport: str
    date: str
    time: str
    zone: str
    student: str
    instructor: str
    certificate: str
    exercises: tuple[str, ...]
    metric: bool
    student_weight: str = ""
    instructor_weight: str = ""
    bags: str = ""
    fuel: str = ""  # in each tank

    @classmethod
    def today(cls, last: Mapping[str, Any], *, metric: bool = False) -> Answers:
        """Today, with what goes on from the last lesson; what it does not say of airplane and place is empty.

        last : that lesson's data, {} without one.
        """

        def of(table: str, name: str) -> str:
            inside = last.get(table)
            return str(inside.get(name, "")) if isinstance(inside, Mapping) else ""

        return cls(
            of("airplane", "file"), of("place", "airport"), dt.date.today().isoformat(), "09:00",
            str(last.get("zone", "")), "student", of("instructor", "name") or "instructor",
            of("student", "certificate") or "private", tuple(rooms(family)[0].kind for family in FIRST_EXERCISES),
            metric or last.get("units") == "metric",
        )  # fmt: skip

    def with_field(self, name: str, value: str) -> Answers:
        """A copy with one answer."""
        changes: dict[str, Any] = {name: value}
        return replace(self, **changes)

    def with_exercises(self, kinds: tuple[str, ...]) -> Answers:
        """A copy with other exercises."""
        return replace(self, exercises=kinds)


def last_lesson(folder: Path) -> dict[str, Any]:
    """The data of the lesson changed last in a folder; {} where there is none."""
    for file in sorted(folder.glob("*.toml"), key=lambda f: -f.stat().st_mtime):
        try:
            data = tomllib.loads(file.read_text(encoding="utf-8-sig"))
        except (OSError, ValueError):
            continue
        if "place" in data and "people" in data:
            return data
    return {}


def lesson_text(answers: Answers, folder: Path) -> str:
    """The file.

    Weights and fuel nobody gave are written as FILL IN, which the reader refuses: they are never assumed.

    Raises
    ------
    InputError : an airplane, airport, date, zone or exercise that is missing or isn't one.
    """
    a = answers
    for field, asked in MUST.items():
        if not getattr(a, field).strip():
            raise InputError(asked, where=field)
    airplane = load_airplane(find_airplane(a.airplane, folder, "airplane"))
    place = find_place(a.airport, where="airport")
    try:
        day = dt.date.fromisoformat(a.date)
    except ValueError:
        raise InputError(f"{a.date!r} is no date; write 2025-09-20.", where="date") from None
    clock = a.time if len(a.time) >= 5 else f"0{a.time}"
    if len(clock) < 5 or clock[2] != ":" or not (clock[:2] + clock[3:5]).isdigit():
        raise InputError(f"{a.time!r} is no time of day; write 09:30.", where="time")
    start_utc_s(day, clock, a.zone, Where("", dotted=True))
    kinds = [find_room(as_kind(k), where="exercise").kind for k in a.exercises]
    seats, bags = _stations(airplane)
    fuel = (airplane.book.metric() if a.metric else airplane.book).fuel
    tanks = "\n".join(
        f"{_quoted(t.name)} = {_quoted(a.fuel or FILL_IN)}                # holds {write(t.usable_m3, fuel, 1)} usable"
        for t in airplane.tanks
    )
    return _TEXT.format(
        title=_quoted(f"Lesson of {day:%d %B %Y}"),
        date=day.isoformat(),
        time=_quoted(clock),
        zone=_quoted(a.zone),
        units=_quoted("metric" if a.metric else "us"),
        airplane=_quoted(a.airplane),
        airport=_quoted(place.ident),
        runways=_runways(place),
        student=_quoted(a.student),
        instructor=_quoted(a.instructor),
        seats=_quoted(seats),
        bags=_quoted(bags),
        student_weight=_quoted(a.student_weight or FILL_IN),
        instructor_weight=_quoted(a.instructor_weight or FILL_IN),
        bag_weight=_quoted(a.bags or FILL_IN),
        tanks=tanks,
        altimeter=_quoted("1013 hPa" if a.metric else "29.92 inHg"),
        area=_area(place),
        certificate=_quoted(a.certificate),
        rules=_quoted("NCO" if a.metric else "91.151"),
        exercises="\n\n".join(f"[[exercises]]\nkind = {_quoted(kind)}" for kind in kinds),
    )


def _quoted(text: str) -> str:
    """Text as a TOML string; JSON's escapes are TOML's."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def _stations(airplane: Any) -> tuple[str, str]:
    """(a front seat's station, a baggage station) of the airplane."""
    balance = airplane.file.weight_and_balance
    stations = balance.stations if balance else []
    by_kind = {station_kind(s): s.name for s in reversed(stations)}
    seats = by_kind.get("front_seats", stations[0].name if stations else "front seats")
    return seats, by_kind.get("baggage", seats)


def _runways(place: Place) -> str:
    """The runways the data know, as a comment; those without heading as tables to fill in."""
    known = [r.name for r in place.runways if r.heading_rad is not None]
    lines = [
        f"# runways with a known heading: {', '.join(known)}; the one most into the wind is taken unless you name one"
    ]
    lines += [f'# runway = "{known[0]}"'] if known else []
    if not known:
        name = place.runways[0].name if place.runways else "09"
        lines = [
            "# the airport data give no runway heading: write it here, from the chart",
            "# [[place.runways]]",
            f'# name = "{name}"',
            '# heading = "090 deg"            # true; or heading_magnetic',
            '# length = "3,000 ft"',
            '# surface = "grass"              # paved, grass, gravel, dirt',
        ]
    return "\n".join(lines)


def _area(place: Place) -> str:
    """An area beside the field as a comment: an example to be replaced, never taken for where one practices."""
    ground = round(to_unit(place.elevation_m or 0.0, "ft"), -2)
    latitude, longitude = place.latitude_rad / DEG_RAD, place.longitude_rad / DEG_RAD
    lines = (
        "[area]",
        f"center = [{latitude + 0.15:.3f}, {longitude:.3f}]      # or polygon = [[lat, lon], [lat, lon], ...]",
        'radius = "6 NM"',
        f'ground = "{ground:,.0f} ft"            # highest ground, above sea level',
        f'floor = "{ground + 2000:,.0f} ft"',
        f'ceiling = "{ground + 5000:,.0f} ft"',
        "[[area.landing_places]]           # fields you would glide to",
        'name = "hay meadow"',
        f"position = [{latitude + 0.13:.3f}, {longitude + 0.02:.3f}]",
        f'elevation = "{ground:,.0f} ft"',
    )
    return "\n".join(f"# {line}" for line in lines)


_TEXT = """\
# A lesson for airwork. Every quantity is a text with its unit: "17 gal", "69 kg", "3,500 ft", "29.92 inHg".
# Fill in what is marked FILL IN, then: airwork brief THIS_FILE. All fields: docs/lesson-file.md. Not for navigation.

title = {title}
date = {date}
time = {time}                    # engine start, local
zone = {zone}
units = {units}                      # "us" or "metric": what is printed

[airplane]
file = {airplane}                 # a file beside this one, or a demo airplane's id

[place]
airport = {airport}
{runways}

# Who and what is aboard, FILL IN where it says so
[[people]]
name = {student}
role = "student"
station = {seats}
weight = {student_weight}

[[people]]
name = {instructor}
role = "instructor"
station = {seats}
weight = {instructor_weight}

[[bags]]
name = "bags"
station = {bags}
weight = {bag_weight}

# Usable fuel in each tank, as dipped; FILL IN where it says so
[fuel]
{tanks}

# FILL IN: paste the report and forecast, or give values; values win. What is left out is "not known" to the verdict.
[weather]
# metar = "METAR ..."
# taf = "TAF ..."
# wind = "240/12G18 kt"             # true; "240M/12 kt" magnetic, "VRB/4 kt", "calm"
# visibility = "10 SM"
# ceiling = "none"                  # or "4,500 ft", above the field
# temperature = "18 °C"
# dewpoint = "6 °C"
# altimeter = {altimeter}
# winds_aloft = ["6,000 ft 250/18 kt 11 °C"]

# FILL IN: where you practice
{area}

[student]
name = {student}
certificate = {certificate}
# [student.limits]
# crosswind = "8 kt"

[instructor]
name = {instructor}
# [instructor.limits]
# fuel_reserve = "60 min"

[plan]
rules = {rules}                    # fuel and weather rules: "91.151" or "NCO"
# cruise_power = "65 %"
# mixture = "best_power"            # full_rich if left out

{exercises}
# [exercises.target]
# bank = "45 deg"

[signals]
# "Tower" = "118.3"
"""
