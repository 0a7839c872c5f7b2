"""Reading a lesson file: TOML in, a frozen `Lesson` out, or one clear line naming file, field and what was expected."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from airwork import days, typed_file
from airwork.airplane import shipped_file, shipped_ids
from airwork.errors import InputError, Where
from airwork.fitting import in_words, keys_at
from airwork.lesson.cautions import read_cautions
from airwork.lesson.lesson import Lesson, Limits, Load, Pilot
from airwork.lesson.pasted import weather_of
from airwork.lesson.schema import LessonFile, SchoolPart

# Values that can be changed from outside for one briefing: name -> table and field in the file.
CHANGES: dict[str, tuple[str, ...]] = {
    "wind": ("weather", "wind"),
    "visibility": ("weather", "visibility"),
    "ceiling": ("weather", "ceiling"),
    "temperature": ("weather", "temperature"),
    "dewpoint": ("weather", "dewpoint"),
    "altimeter": ("weather", "altimeter"),
    "metar": ("weather", "metar"),
    "taf": ("weather", "taf"),
    "winds_aloft": ("weather", "winds_aloft"),
    "area_metar": ("area", "metar"),
    "area_taf": ("area", "taf"),
    "runway": ("place", "runway"),
    "date": ("date",),
    "time": ("time",),
}


def load_lesson(path: Path, changes: Mapping[str, str] | None = None) -> Lesson:
    """Read a lesson file, some values replaced by `changes` (names in `CHANGES`).

    Raises
    ------
    InputError : one line: file, field, what was found, what was expected.
    """
    return parse_lesson(_text(path), where=str(path), folder=path.resolve().parent, changes=changes)


def _text(path: Path) -> str:
    return typed_file.read_text(
        path, "lesson file", missing="no such file; `airwork lesson new` writes one to start from."
    )


def parse_lesson(
    text: str, *, where: str = "lesson", folder: Path | None = None, changes: Mapping[str, str] | None = None
) -> Lesson:
    """As `load_lesson`, from the text itself; `folder` is where a relative airplane file is looked for."""
    data = typed_file.tables(text, where)
    for name, value in (changes or {}).items():
        _change(data, name, value)
    try:
        part = LessonFile.model_validate(data)
    except ValidationError as problem:
        raise _first(problem, where) from None
    return _lesson(part, Where(where, dotted=True), folder or Path.cwd())


def _change(data: dict[str, Any], name: str, value: str) -> None:
    if name not in CHANGES:
        raise InputError(f"{name!r} can't be changed this way; known: {', '.join(CHANGES)}.", where="condition")
    *tables, field = CHANGES[name]
    table = data
    for key in tables:
        table = table.setdefault(key, {})
        if not isinstance(table, dict):
            return  # the file is wrong there; validation will say so
    table[field] = value


def _first(problem: ValidationError, file: str) -> InputError:
    """The first finding, and how many more there are; each of them in `each`."""
    errors = problem.errors(include_url=False)
    inside = {one["loc"][:1] for one in errors if len(one["loc"]) > 1}
    too_few = [one for one in errors if one["type"] == "too_short" and one["loc"] in inside]  # of those that fit
    found = [_finding(one, file) for one in errors if one not in too_few]
    more = f" (and {len(found) - 1} more to mend)" if len(found) > 1 else ""
    return InputError(f"{found[0].problem}{more}", where=found[0].where, each=found)


def _finding(one: ErrorDetails, file: str) -> InputError:
    asked = [*one["loc"], *filter(None, [one.get("ctx", {}).get("at")])]
    loc = [p for p in asked if not (isinstance(p, str) and ("[" in p or p in {"constrained-str", "literal"}))]
    return InputError(in_words(one, keys_at(LessonFile, loc[:-1])), where=Where.of(file, loc, dotted=True))


def _lesson(part: LessonFile, where: Where, folder: Path) -> Lesson:
    from airwork.lesson.own_place import place_of, runway_name
    from airwork.lesson.target import read_target

    start = start_utc_s(part.date, part.time, part.zone, where)
    place = place_of(part.place, part.date, where.at("place"))
    return Lesson(
        title=part.title,
        source=where.file,
        start_utc_s=start,
        zone=part.zone,
        units=part.units,
        airplane_path=find_airplane(part.airplane.file, folder, where.at("airplane", "file")),
        place=place,
        field=part.place,
        runway=runway_name(part.place, place, where.at("place", "runway")),
        loads=(
            *(Load(p.name, p.station, p.weight, p.role) for p in part.people),
            *(Load(b.name, b.station, b.weight) for b in part.bags),
        ),
        fuel_m3=dict(part.fuel),
        weather=weather_of(part.weather, part.area, place.ident, start, where),
        area=part.area,
        student=Pilot(
            part.student.name, part.student.limits, part.student.certificate, part.student.solo,
            read_cautions(part.student.cautions, where.at("student", "cautions")),
        ),
        instructor=None
        if part.instructor is None
        else Pilot(
            part.instructor.name, part.instructor.limits,
            cautions=read_cautions(part.instructor.cautions, where.at("instructor", "cautions")),
        ),
        school=school_of(part.school, folder, where),
        simulator=part.simulator,
        plan=part.plan,
        exercises=tuple(
            replace(e, target=read_target(e.target, where.at("exercises", i, "target")))
            for i, e in enumerate(part.exercises)
        ),
        signals=dict(part.signals),
    )  # fmt: skip


def school_of(part: SchoolPart, folder: Path, where: Where) -> Pilot:
    """What the school sets: in the lesson, and in a file of its own that many lessons name."""
    limits, cautions = part.limits, read_cautions(part.cautions, where.at("school", "cautions"))
    if part.file is None:
        return Pilot(part.name, limits, cautions=cautions)
    path = folder / part.file
    try:
        shared = SchoolPart.model_validate(typed_file.tables(_text(path), str(path)))
    except ValidationError as problem:
        raise _first(problem, str(path)) from None
    found = read_cautions(shared.cautions, Where.of(str(path), ("cautions",), dotted=True))
    merged = {name: {**found.get(name, {}), **cautions.get(name, {})} for name in {*found, *cautions}}
    own = {name: getattr(limits, name) for name in Limits.__slots__ if getattr(limits, name) is not None}
    return Pilot(shared.name if part.name == "school" else part.name, replace(shared.limits, **own), cautions=merged)


def start_utc_s(day: dt.date, clock: str, zone: str, where: Where) -> float:
    """The moment of a local date and time, seconds since 1970 UTC. Raises as `days.zone` and `days.read_moment`."""
    days.zone(zone, where.at("zone"))
    return days.read_moment(f"{day} {clock if clock[2] == ':' else f'0{clock}'}", zone, where.at("time"))


def find_airplane(name: str, folder: Path, where: str | Where) -> Path:
    """The airplane file: beside the lesson or in airplanes/ (there, or beside lessons/), as a path, or a demo's id."""
    wanted = Path(name).expanduser()
    try:
        for place in (folder, folder / "airplanes", folder.parent / "airplanes"):
            for path in (place / wanted, place / f"{name}.toml"):
                if path.is_file():
                    return path
    except (OSError, ValueError):
        raise InputError(f"{name!r} is no file name.", where=where) from None
    if (shipped := shipped_file(name)) is not None:
        return shipped
    known = ", ".join(shipped_ids())
    raise InputError(
        f"no airplane file {name!r} in {folder}, and no demo airplane of that name ({known}).", where=where
    )
