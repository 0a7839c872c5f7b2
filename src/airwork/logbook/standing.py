"""Whether a lesson may be flown as far as the record goes: what forbids it, what is not on record, what runs out.

Answers are findings with their source; what the logbook doesn't know is said, never taken for good. The lesson's
verdict takes them over as its own reasons (see `Standing.findings`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from airwork.days import local_date
from airwork.lesson.cautions import Cautions, cautions_for
from airwork.lesson.verdict import Level as VerdictLevel
from airwork.lesson.verdict import Reason
from airwork.logbook.experience import LoggedFlight
from airwork.logbook.held import Validity, best
from airwork.logbook.night import is_late_night, is_logged_night
from airwork.logbook.recency import most_training_s, recent
from airwork.logbook.records import HOUR_S, AirplaneEntry, Person, Role
from airwork.logbook.rules import Need, Rules, When
from airwork.units import NM_M
from airwork.values import sourced

Level = Literal["forbids", "not on record", "runs out", "fine"]
Answer = Literal["forbidden", "not shown", "allowed"]
_VERDICT: dict[Level, VerdictLevel] = {
    "forbids": "no-go",
    "not on record": "unknown",
    "runs out": "think",
    "fine": "go",
}


@dataclass(frozen=True, slots=True)
class LessonAsked:
    """The flight somebody wants to make.

    start_utc_s, end_utc_s : seconds since 1970 UTC; time_zone : of the place of departure.
    farthest_m : greatest straight distance from the departure; None: not known. other_places : landed at.
    position_rad : of the departure, for day and night; night, late_night : as typed, where the place isn't known.
    cautions : how long since the last flight is long for a student alone; airwork's own where nobody set another.
    """

    start_utc_s: float
    end_utc_s: float
    time_zone: str
    role: Role
    airplane: AirplaneEntry | None = None
    passengers: int = 0
    farthest_m: float | None = 0.0
    other_places: tuple[str, ...] = ()
    position_rad: tuple[float, float] | None = None
    night: bool | None = None
    late_night: bool | None = None
    cautions: Cautions = field(default_factory=lambda: cautions_for(True, {}, {}, {}))

    @property
    def day(self) -> date:
        return local_date(self.start_utc_s, self.time_zone)


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule held against the lesson. until : the last day it is met, where that can be said."""

    level: Level
    rule_id: str
    about: str
    text: str
    source: str
    label: str
    until: date | None = None

    @property
    def known(self) -> str:
        """The source as shown: memory is called memory."""
        return sourced(self.source, self.label)


@dataclass(frozen=True, slots=True)
class Standing:
    """What the record says of a lesson."""

    who: str
    day: date
    findings: tuple[Finding, ...]

    @property
    def answer(self) -> Answer:
        """Forbidden by something on record; not shown (the record lacks something needed); or allowed."""
        levels = {f.level for f in self.findings}
        if "forbids" in levels:
            return "forbidden"
        return "not shown" if "not on record" in levels else "allowed"

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """The findings as reasons of a lesson's verdict."""
        return tuple(Reason("record: " + f.about, _VERDICT[f.level], f.text, f.known) for f in self.findings)


def standing(
    pilot: Person,
    instructor: Person | None,
    lesson: LessonAsked,
    rules: Rules,
    *,
    pilot_holds: Sequence[Validity],
    instructor_holds: Sequence[Validity],
    pilot_flights: Sequence[LoggedFlight],
    training_given: Sequence[tuple[float, float]],
    instructor_flights: Sequence[LoggedFlight] = (),
) -> Standing:
    """Every rule that speaks of this flight, held against the record.

    Parameters
    ----------
    pilot_flights, instructor_flights : their flights before this one, for recent experience; the instructor's count
        when somebody besides the student is aboard, whom the instructor then carries as a passenger.
    training_given : start and end of the instructor's training flights around the lesson, seconds since 1970 UTC.
    """
    night, late_night = _darkness(lesson, rules)
    found: list[Finding] = [*_last_flight(pilot, lesson, pilot_flights)]
    for need in rules.need:
        who = pilot if need.who == "pilot" else instructor
        holds = pilot_holds if need.who == "pilot" else instructor_holds
        if who is not None and _speaks_of(need.when, lesson, pilot.certificate_held, night, late_night):
            told = _need(need, who, holds, lesson, rules)
            found.append(_if_dark(told, need.when, night, late_night))
    found += _recency(rules, lesson, pilot.certificate_held, night, late_night, pilot_flights, "")
    if instructor is not None and lesson.role == "dual" and lesson.passengers:
        commands = replace(lesson, role="pic")
        held = instructor.certificate_held
        found += _recency(rules, commands, held, night, late_night, instructor_flights, f"{instructor.name}: ")
    if instructor is not None and lesson.role == "dual":
        found += _instructor_day(instructor, lesson, rules, training_given)
    order = {"forbids": 0, "not on record": 1, "runs out": 2, "fine": 3}
    return Standing(pilot.name, lesson.day, tuple(sorted(found, key=lambda f: order[f.level])))


def _last_flight(pilot: Person, lesson: LessonAsked, flights: Sequence[LoggedFlight]) -> Iterator[Finding]:
    """How long ago a student, alone above all, last flew: no rule speaks of it, any instructor asks it first."""
    before = [
        f.flight.local_date for f in flights
        if f.flight.local_date <= lesson.day
        and (f.flight.start_utc_s is None or f.flight.start_utc_s < lesson.start_utc_s)
    ]  # fmt: skip
    alone = lesson.role == "solo"
    if not before or lesson.role not in {"solo", "dual"}:
        return
    days = (lesson.day - max(before)).days
    level, step = replace(lesson.cautions, solo=alone).judge("since_flight", float(days))
    text = f"{pilot.name}: last flight on record {max(before)}, {days} days before"
    if step is None:
        yield Finding("fine", "last_flight", "last flight", text, "", "P")
        return
    text += f": from {step.value:.0f} days on " + ("first with an instructor" if alone else "begin with the basics")
    told: Level = "forbids" if level == "no-go" and pilot.certificate_held in {"", "none", "student"} else "runs out"
    yield Finding(told, "last_flight", "last flight", text, step.source, "P" if step.whose == "airwork" else "S")


def _recency(
    rules: Rules,
    lesson: LessonAsked,
    certificate: str,
    night: bool | None,
    late_night: bool | None,
    flights: Sequence[LoggedFlight],
    who: str,
) -> list[Finding]:
    """Recent experience of whoever commands. An instructor whose own flights aren't kept here is asked, not refused."""
    out = []
    for rule in rules.recency:
        if not _speaks_of(rule.when, lesson, certificate, night, late_night):
            continue
        have = recent(rule, flights, lesson.day, lesson.airplane)
        text = (
            f"{who}{have.takeoffs} takeoffs and {have.landings} landings that count in the {rule.within_days} days "
            f"to {lesson.day}; {rule.takeoffs} and {rule.landings} are needed"
        )
        level: Level = "fine" if have.met else "forbids" if flights or not who else "not on record"
        told = Finding(level, rule.id, rule.text, text, rule.source, rule.label, have.until)
        out.append(_if_dark(told, rule.when, night, late_night))
    return out


def _darkness(lesson: LessonAsked, rules: Rules) -> tuple[bool | None, bool | None]:
    """Whether the flight touches night, and the passengers' night: judged at start and end, at the departure."""
    if lesson.position_rad is None:
        return lesson.night, lesson.late_night
    here, ends = lesson.position_rad, (lesson.start_utc_s, lesson.end_utc_s)
    night = any(is_logged_night(t, here) for t in ends) if lesson.night is None else lesson.night
    late = lesson.late_night
    if late is None:
        late = any(is_late_night(t, here, lesson.time_zone, rules.night) for t in ends)
    return night, late


def _speaks_of(when: When, lesson: LessonAsked, certificate: str, night: bool | None, late_night: bool | None) -> bool:
    """Whether a rule is about this flight. What isn't known counts as true: better one question too many."""
    if lesson.role not in when.roles or not when.is_for(certificate):
        return False
    if when.airplane and (lesson.airplane is None or not getattr(lesson.airplane, when.airplane)):
        return False
    for wanted, fact in (
        (when.passengers, lesson.passengers > 0),
        (when.night, night),
        (when.late_night, late_night),
        (when.lands_elsewhere, bool(lesson.other_places)),
    ):
        if wanted is not None and fact is not None and fact != wanted:
            return False
    if lesson.farthest_m is not None:
        if when.farthest_more_than_nm is not None and lesson.farthest_m <= when.farthest_more_than_nm * NM_M:
            return False
        if when.farthest_at_most_nm is not None and lesson.farthest_m > when.farthest_at_most_nm * NM_M:
            return False
    return True


def _if_dark(told: Finding, when: When, night: bool | None, late_night: bool | None) -> Finding:
    """The same finding, forbidding nothing while nobody knows whether the rule's night falls on this flight."""
    unknown = (when.night is not None and night is None) or (when.late_night is not None and late_night is None)
    if not unknown or told.level == "fine":
        return told
    return replace(told, level="not on record", text=f"{told.text} (asked for by night; by day or night: not known)")


def _need(need: Need, who: Person, holds: Sequence[Validity], lesson: LessonAsked, rules: Rules) -> Finding:
    def finding(level: Level, text: str, until: date | None = None) -> Finding:
        return Finding(level, need.id, need.text, text, need.source, need.label, until)

    if not need.any_of:
        return finding("forbids", f"{who.name}: {need.text}")
    model = lesson.airplane.make_model if lesson.airplane else ""
    problems: list[tuple[bool, str]] = []  # (something has run out, in words), one for each way to meet the need
    for group in need.any_of:
        missing: list[str] = []
        out: list[str] = []
        until = date.max
        for name in group:
            rule = rules.held_kind(name)
            about = rule.text if rule else name
            places: tuple[str | None, ...] = lesson.other_places if rule and rule.per_place else (None,)
            for place in places or (None,):
                one = best(name, holds, lesson.day, make_model=model, place=place)
                where = f" for {place}" if place else ""
                if one is None:
                    missing.append(about + where)
                elif one.held.claimed:
                    missing.append(f"{about}{where} (claimed: {one.held.claimed})")
                elif not one.good_on(lesson.day):
                    out.append(f"{one.text} {one.over}")
                else:
                    until = min(until, one.until or date.max)
        if not missing and not out:
            last = None if until == date.max else until
            level: Level = "runs out" if last is not None and (last - lesson.day).days < 14 else "fine"
            return finding(level, f"{who.name}: {need.text}" + (f", good until {last}" if last else ""), last)
        said = out + ([f"not on record: {'; '.join(missing)}"] if missing else [])
        problems.append((bool(out) and not missing, "; ".join(said)))
    ran_out = [text for expired, text in problems if expired]
    if ran_out:
        return finding("forbids", f"{who.name}: {ran_out[0]}")
    level = "forbids" if need.absent == "forbids" else "not on record"
    partly = min((text for _, text in problems), key=len)
    return finding(level, f"{who.name}: {partly}")


def _instructor_day(
    instructor: Person, lesson: LessonAsked, rules: Rules, given: Sequence[tuple[float, float]]
) -> list[Finding]:
    found = []
    for limit in rules.instructor_limit:
        most = most_training_s(limit, given, (lesson.start_utc_s, lesson.end_utc_s))
        # Tenths of an hour are what is logged: 8.0 h is within the limit, 8.1 h is not.
        over = most > limit.hours * HOUR_S + 1.0
        text = (
            f"{instructor.name}: {most / HOUR_S:.1f} h of training in {limit.within_h:g} h with this lesson; "
            f"{limit.hours:g} h are allowed"
        )
        found.append(Finding("forbids" if over else "fine", limit.id, limit.text, text, limit.source, limit.label))
    return found
