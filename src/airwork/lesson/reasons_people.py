"""What the verdict says of who flies: seats, who is aboard, a student alone, exercises and people, airspace."""

from __future__ import annotations

import re
from collections.abc import Iterator

from airwork.airplane.loading import station_kind
from airwork.lesson.area import farthest_m
from airwork.lesson.case import Case
from airwork.lesson.verdict import OWN, Level, Reason
from airwork.units import write

IN_A_ROW = 2
_CROSS_COUNTRY = re.compile(r"\b(?:cross[- ]?country|x-?c|nav(?:igation)? flight)\b", re.IGNORECASE)
LIGHTEST_KG, HEAVIEST_KG = 35.0, 180.0  # outside it a slip or a wrong unit is likelier than a pilot (our own choice)


def people_reasons(case: Case) -> Iterator[Reason]:
    """Seats, roles, the rules for a student alone, airplane kinds that need an endorsement, exercises and people."""
    yield from _aboard(case)
    yield from _exercises(case)
    if case.solo:
        yield from _alone(case)


def _aboard(case: Case) -> Iterator[Reason]:
    lesson, people = case.lesson, case.lesson.people
    seats = case.airplane.file.airplane.seats
    if seats is not None and len(people) > seats:
        yield Reason("seats", "no-go", f"{len(people)} people, {seats} seats", "airplane file", "fewer people")
    yield from _in_front(case)
    yield from _weights(case)
    roles = [p.role for p in people]
    if "student" not in roles:
        text = f"nobody aboard is the student: {lesson.student.name} is not in the loading"
        yield Reason("who is aboard", "unknown", text, OWN, "the student in a seat")
    if case.solo:
        alone = case.authority.rule("student_alone", "carries")
        others = [p for p in people if p.role != "student"]
        if others:
            names = ", ".join(f"{p.name} ({p.role})" for p in others)
            source = alone.source if alone is not None and case.student_pilot else OWN
            yield Reason("solo", "no-go", f"solo is alone, and {names} is in the loading", source, "nobody else aboard")
        return
    if "instructor" in roles:
        return
    if lesson.instructor is not None:
        text = f"{lesson.instructor.name} is named as instructor but is not in the loading"
        yield Reason("who is aboard", "no-go", text, OWN, "the instructor in a seat, or a solo lesson")
    else:
        text = "a student without an instructor on a lesson that is not called solo"
        yield Reason("who is aboard", "no-go", text, OWN, "an instructor aboard, or a solo lesson")


def _weights(case: Case) -> Iterator[Reason]:
    """A pilot's weight no pilot has: every number of the lesson hangs on it."""
    for person in case.lesson.people:
        if person.role != "passenger" and not LIGHTEST_KG <= person.mass_kg <= HEAVIEST_KG:
            text = (
                f"{person.name}, {person.role}: {case.style.mass(person.mass_kg)} is no pilot's weight; a typing slip?"
            )
            yield Reason(f"weight of {person.name}", "think", text, OWN, "the weight as on the scales, with clothes")


def _in_front(case: Case) -> Iterator[Reason]:
    """Two sit in a row at the front seats of an airplane that has rear ones, and the controls are there."""
    wb = case.airplane.file.weight_and_balance
    kinds = {} if wb is None else {s.name: station_kind(s) for s in wb.stations}
    if "rear_seats" not in kinds.values():
        return
    front = [p.name for p in case.lesson.people if kinds.get(p.station) == "front_seats"]
    seats = case.airplane.file.airplane.seats
    if seats is None or seats > IN_A_ROW:  # with two seats one behind the other both have controls
        behind = [p for p in case.lesson.people if p.role != "passenger" and kinds.get(p.station) == "rear_seats"]
        for person in behind:
            text = f"{person.name}, {person.role}, in the rear seats, away from the controls"
            yield Reason(f"seats, {person.role}", "no-go", text, "common practice, no source", "a front seat")
    if len(front) > IN_A_ROW:
        text = f"{len(front)} people at the front seats: {', '.join(front)}"
        yield Reason("seats", "no-go", text, "common practice, no source", "one of them in the rear seats")


def _exercises(case: Case) -> Iterator[Reason]:
    """Exercises nobody but the crew should be aboard for, and those that ask for somebody beside the student."""
    passengers = ", ".join(p.name for p in case.lesson.people if p.role == "passenger")
    view = case.authority.rule("second_pilot", "view_limited")
    crowded: dict[Level, list[str]] = {}
    alone: dict[str, list[str]] = {}
    for title, facts in {run.title: run.room.facts for run in case.flight.runs}.items():
        if passengers and facts.passengers != "welcome":
            crowded.setdefault("no-go" if facts.passengers == "none" else "think", []).append(title)
        if case.solo and facts.alone != "as trained":
            alone.setdefault("think" if facts.alone == "view" and view is None else facts.alone, []).append(title)
    for level, titles in crowded.items():
        text = f"{', '.join(titles)} with a passenger aboard ({passengers})"
        yield Reason(f"passenger, {level}", level, text, OWN, "no passenger, or another exercise")
    for how, titles in alone.items():
        what = f"{', '.join(titles)} solo"
        if how == "view" and view is not None:
            yield Reason("solo, no view", "no-go", f"{what}: {view.text}", view.source, "an instructor aboard")
            continue
        level = "no-go" if how == "never" else "think"
        text = f"{what}: with an instructor aboard, unless the endorsement names it"
        change = "an instructor aboard, or a limitation that allows it"
        yield Reason(f"solo exercise, {level}", level, text, OWN, change)


def _alone(case: Case) -> Iterator[Reason]:
    authority, lesson = case.authority, case.lesson
    endorsement = authority.rule("student_alone", "endorsement")
    if not case.logbook_asked and endorsement is not None:
        if case.student_pilot:
            text = f"solo, and no logbook was asked: look for the {endorsement.text}"
            yield Reason("solo: papers", "think", text, endorsement.source, "a logbook that shows them")
        else:
            text = "alone, and no logbook was asked: look for certificate, medical, flight review, endorsements"
            yield Reason("solo: papers", "think", text, OWN, "a logbook that shows them")
        for kind in airplane_kinds(case):
            rule = authority.rule("airplane_kinds", kind)
            if rule is not None:
                yield Reason(f"endorsement: {kind}", "think", f"{rule.text}, not shown", rule.source, "the endorsement")
    text = (
        f"solo is briefed as local, out and back to {lesson.place.ident}: for a landing elsewhere or a cross-country "
        "look at route, endorsements and weather there yourself (airwork logbook standing --route)"
    )
    away = any(_CROSS_COUNTRY.search(exercise.note) for exercise in lesson.exercises)
    change = "a lesson without it, or the route and its endorsements looked at"
    yield Reason("solo: local", "think" if away else "not checked", text, OWN, change if away else "")
    if not case.student_pilot:
        return
    far = authority.rule("student_alone", "distance")
    distance = farthest_m(lesson)
    if far is not None and far.number is not None and distance > far.number + 1.0:
        text = (
            f"{case.style.distance(distance)} from the field at the farthest corner of the area, "
            f"more than {write(far.number, 'NM')}: {far.text}"
        )
        yield Reason(
            "solo: distance",
            "think" if not case.logbook_asked else "go",
            text,
            far.source,
            "a nearer area, or the endorsements",
        )
    classes = {lesson.field.airspace, lesson.area.airspace if lesson.area else None}
    class_b = authority.rule("student_alone", "class_b")
    if "B" in classes and class_b is not None:
        yield Reason("solo: class B", "no-go", class_b.text, class_b.source, "the endorsement, or another airspace")


def airplane_kinds(case: Case) -> list[str]:
    """Which kinds of airplane that need an endorsement this one is: "complex", "high_performance", "tailwheel"."""
    file = case.airplane.file
    gear = (file.airplane.landing_gear or "").lower()
    out = []
    if "retract" in gear and file.propeller.type == "constant_speed" and case.airplane.flaps_full > 0:
        out.append("complex")
    if file.engine.rated_power_hp > 200.0:
        out.append("high_performance")
    if "tailwheel" in gear or "tail wheel" in gear or "conventional" in gear:
        out.append("tailwheel")
    return out


def airspace_reasons(case: Case) -> Iterator[Reason]:
    """What must be had before class B, C or D is entered."""
    lesson, area = case.lesson, case.lesson.area
    asked = {lesson.field.airspace: (lesson.field.contact, "at the field")}
    if area is not None:
        asked.setdefault(area.airspace, (area.contact or lesson.field.contact, f"in {area.name}"))
    called = " ".join(lesson.signals).lower()
    for airspace, (contact, where) in asked.items():
        rule = None if airspace is None else case.authority.rule("airspace", airspace)
        if rule is None:
            continue
        if not contact and any(w in called for w in ("tower", "ground", "approach", "clearance", "control", "radar")):
            contact = "by the signals on the card"
        text = f"class {airspace} {where} needs {rule.text}"
        if contact:
            yield Reason(f"airspace, class {airspace}", "go", f"{text}: {contact}", rule.source)
        else:
            text += ": nobody to contact by radio is named"
            yield Reason(
                f"airspace, class {airspace}",
                "think",
                text,
                rule.source,
                'contact = "tower 118.3" in [place] or [area]',
            )
