"""Recent experience (take-offs and landings in the days before) and the instructor's hours in a day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from airwork.logbook.experience import LoggedFlight
from airwork.logbook.records import HOUR_S, AirplaneEntry, Movement
from airwork.logbook.rules import InstructorLimit, Recency


@dataclass(frozen=True, slots=True)
class Recent:
    """Recent experience on a day. until : the last day it holds with what is logged; None when it doesn't hold."""

    rule: Recency
    takeoffs: int
    landings: int
    until: date | None

    @property
    def met(self) -> bool:
        """Enough of both."""
        return self.takeoffs >= self.rule.takeoffs and self.landings >= self.rule.landings


def recent(rule: Recency, flights: Iterable[LoggedFlight], day: date, airplane: AirplaneEntry | None) -> Recent:
    """Take-offs and landings that count on a day for an airplane like this one.

    A movement of the day 90 days before still counts, one of the day before that doesn't; days are local calendar days.
    """
    full_stop = rule.full_stop or (rule.full_stop_in_tailwheel and airplane is not None and airplane.tailwheel)
    counted: dict[str, list[tuple[date, int]]] = {"takeoff": [], "landing": []}
    for logged in flights:
        if logged.flight.local_date > day or not logged.flight.sole_manipulator:
            continue
        if not _alike(airplane, logged.airplane, tailwheel=rule.full_stop_in_tailwheel):
            continue
        for m in logged.movements:
            stops = m.full_stop or m.what == "takeoff" or not full_stop
            if stops and (m.late_night or not rule.late_night) and (m.night or not rule.night):
                counted[m.what].append((logged.flight.local_date, m.number))
    first = day - timedelta(days=rule.within_days)
    have = {what: sum(n for on, n in rows if on >= first) for what, rows in counted.items()}
    until = None
    if have["takeoff"] >= rule.takeoffs and have["landing"] >= rule.landings:
        until = min(
            _last_needed(counted["takeoff"], rule.takeoffs, day), _last_needed(counted["landing"], rule.landings, day)
        ) + timedelta(days=rule.within_days)
    return Recent(rule, have["takeoff"], have["landing"], until)


def _last_needed(rows: list[tuple[date, int]], needed: int, day: date) -> date:
    """The day of the movement, counted back from now, with which the needed number is reached."""
    total = 0
    for on, number in sorted(rows, reverse=True):
        total += number
        if total >= needed:
            return on
    return day


def _alike(wanted: AirplaneEntry | None, flown: AirplaneEntry | None, *, tailwheel: bool) -> bool:
    """Same category and class; where the rule asks it, a tailwheel airplane is only matched by another."""
    if wanted is None:
        return True
    if flown is None or (flown.category, flown.aircraft_class) != (wanted.category, wanted.aircraft_class):
        return False
    return not (tailwheel and wanted.tailwheel and not flown.tailwheel)


def movements_total(movements: Iterable[Movement], what: str) -> int:
    """How many take-offs or landings."""
    return sum(m.number for m in movements if m.what == what)


def most_training_s(limit: InstructorLimit, given: Sequence[tuple[float, float]], lesson: tuple[float, float]) -> float:
    """The most training an instructor gives in any stretch of the limit's hours that touches a lesson. [s]

    Parameters
    ----------
    given : start and end of each flight in which training was given, seconds since 1970 UTC.
    lesson : start and end of the planned lesson.

    The total over a sliding stretch changes its slope only where an edge of it meets an edge of a flight, so the
    largest value is found at those places.
    """
    window = limit.within_h * HOUR_S
    start, end = lesson
    flights = [(a, b) for a, b in given if b > start - window and a < end + window] + [lesson]
    edges = {e for flight in flights for e in flight}
    ends = edges | {e + window for e in edges}
    touching = [e for e in ends if start < e < end + window] or [end]

    def total(to: float) -> float:
        return sum(max(0.0, min(b, to) - max(a, to - window)) for a, b in flights)

    return max(total(e) for e in [*touching, end, start + window])
