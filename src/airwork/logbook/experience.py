"""Aeronautical experience: what the logged flights add up to against a certificate's requirements.

A flight knows how long it was dual, at night, cross-country …, not which minutes were both. Time in common is
therefore counted by the least it must be: the sum of the kinds less the flight's length for each kind beyond the first,
never below zero. Where a kind covers the whole flight, as it nearly always does, that is exact; it never claims an hour
not flown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from airwork.days import month_start
from airwork.logbook.records import HOUR_S, AirplaneEntry, FlightRow, Movement
from airwork.logbook.rules import Experience, OneFlight
from airwork.units import NM_M

_SLACK_M = 0.5  # a distance typed in NM and kept in meters


@dataclass(frozen=True, slots=True)
class LoggedFlight:
    """A flight with what the rules need to know of it."""

    flight: FlightRow
    airplane: AirplaneEntry | None
    movements: tuple[Movement, ...]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one requirement is met. `have` and `need` in `unit` (h, take-offs, landings, flight)."""

    rule: Experience
    have: float
    need: float
    flights: int  # that counted
    remark: str = ""

    @property
    def left(self) -> float:
        """What is still to fly, in `unit`."""
        return max(0.0, self.need - self.have)

    @property
    def met(self) -> bool:
        """Nothing is left."""
        return self.left == 0.0


def progress_to(
    requirements: Iterable[Experience],
    flights: Sequence[LoggedFlight],
    *,
    test_on: date,
    certificate_dates: dict[str, date],
) -> tuple[Progress, ...]:
    """Each requirement held against the flights logged up to a test's date.

    Parameters
    ----------
    test_on : the date of the practical test, or today when none is set; windows before the test count from it.
    certificate_dates : certificate ("private") to the day it was issued, as far as on record.
    """
    return tuple(_progress(rule, flights, test_on, certificate_dates) for rule in requirements)


def _progress(
    rule: Experience, flights: Sequence[LoggedFlight], test_on: date, certificate_dates: dict[str, date]
) -> Progress:
    remarks: list[str] = []
    first = None
    if rule.after_certificate:
        first = certificate_dates.get(rule.after_certificate)
        if first is None:
            remarks.append(
                f"counted over all flights: the {rule.after_certificate} certificate's date is not on record"
            )
    if rule.calendar_months_before_test is not None:
        first = month_start(test_on, -rule.calendar_months_before_test)
        remarks.append(f"counted from {first} for a test on {test_on}")
    total, counted, no_airplane, no_route = 0.0, 0, 0, 0
    for logged in flights:
        day = logged.flight.local_date
        if day > test_on or (first is not None and day < first):
            continue
        if logged.airplane is None and _asks_of_airplane(rule):
            no_airplane += 1
            continue
        if not _airplane_fits(rule, logged.airplane):
            continue
        amount, unknown = _amount(rule, logged)
        no_route += unknown
        if amount > 0:
            total += amount
            counted += 1
    if no_airplane:
        noun = "flight" if no_airplane == 1 else "flights"
        remarks.append(f"{no_airplane} {noun} without an airplane not counted")
    if no_route and total < rule.at_least:
        remarks.append(f"{no_route} cross-country flights have no distances on record")
    have = min(total, rule.at_least) if rule.one_flight else total
    return Progress(rule, round(have, 6), rule.at_least, counted, "; ".join(remarks))


def _asks_of_airplane(rule: Experience) -> bool:
    return rule.single_engine or rule.powered or rule.complex_or_advanced or bool(rule.category)


def _airplane_fits(rule: Experience, airplane: AirplaneEntry | None) -> bool:
    if airplane is None:
        return True
    if rule.single_engine and not (
        airplane.category == "airplane" and airplane.aircraft_class.startswith("single_engine")
    ):
        return False
    if rule.category and airplane.category != rule.category:
        return False
    if rule.complex_or_advanced and not (airplane.complex or airplane.technically_advanced):
        return False
    return not (rule.powered and airplane.category in {"glider", "balloon"})


def _amount(rule: Experience, logged: LoggedFlight) -> tuple[float, int]:
    """What a flight adds, in the rule's unit, and 1 when its distances would have decided but are not known."""
    flight = logged.flight
    if rule.hours:
        return common_s(flight, rule.hours) / HOUR_S, 0
    if rule.movements is not None:
        ask = rule.movements
        if flight.role not in ask.roles:
            return 0.0, 0
        fits = (
            m.number
            for m in logged.movements
            if m.what == ask.what
            and (ask.night is None or m.night == ask.night)
            and (ask.full_stop is None or m.full_stop == ask.full_stop)
            and (ask.towered is None or m.towered == ask.towered)
        )
        return float(sum(fits)), 0
    assert rule.one_flight is not None
    return _fits_one(rule.one_flight, flight)


def common_s(flight: FlightRow, kinds: Sequence[str]) -> float:
    """The least time of a flight that was of all these kinds at once. [s]"""
    times = [kind_s(flight, kind) for kind in kinds]
    return max(0.0, sum(times) - (len(times) - 1) * flight.total_s)


def kind_s(flight: FlightRow, kind: str) -> float:
    """Time of one kind. [s]"""
    if kind == "instrument":
        return min(flight.total_s, flight.instrument_actual_s + flight.instrument_simulated_s)
    if kind == "dual_or_solo":
        return min(flight.total_s, flight.dual_s + flight.solo_s)
    return float(getattr(flight, f"{kind}_s"))


def _fits_one(ask: OneFlight, flight: FlightRow) -> tuple[float, int]:
    """(1, 0) for a flight as asked, (0, 1) for one of which too little is on record to say, else (0, 0)."""
    fits = [*_long_and_light(ask, flight), *_far(ask, flight), *_points(ask, flight)]
    if False in fits:
        return 0.0, 0
    return (0.0, 1) if None in fits else (1.0, 0)


def _long_and_light(ask: OneFlight, flight: FlightRow) -> Iterator[bool]:
    if ask.hours:
        yield common_s(flight, ask.hours) > 0.0
    yield common_s(flight, ask.hours or ("total",)) >= ask.at_least_h * HOUR_S
    if ask.light == "day":
        yield flight.night_s <= 0.0


def _far(ask: OneFlight, flight: FlightRow) -> Iterator[bool | None]:
    """Each distance asked for; None where the flight's isn't known."""
    for have_m, at_least_m, more_than_m in (
        (
            flight.distance_m,
            _meters(ask.distance_at_least_nm, ask.distance_at_least_km),
            _meters(ask.distance_more_than_nm),
        ),
        (flight.longest_leg_m, None, _meters(ask.leg_more_than_nm)),
        (flight.farthest_landing_m, _meters(ask.farthest_at_least_nm), _meters(ask.farthest_more_than_nm)),
    ):
        if at_least_m is not None:
            yield None if have_m is None else have_m >= at_least_m - _SLACK_M
        if more_than_m is not None:
            yield None if have_m is None else have_m > more_than_m + _SLACK_M


def _points(ask: OneFlight, flight: FlightRow) -> Iterator[bool | None]:
    """Each number of places to land at; None where the flight's isn't known."""
    # other than the departure: coming home to it adds one that doesn't count
    others = None if flight.full_stop_points is None else flight.full_stop_points - 1
    for have, least in (
        (flight.landing_points, ask.landing_points),
        (flight.full_stop_points, ask.full_stop_points),
        (others, ask.other_full_stop_points),
    ):
        if least:
            yield None if have is None else have >= least


def _meters(nm: float | None, km: float | None = None) -> float | None:
    if nm is not None:
        return nm * NM_M
    return None if km is None else km * 1000.0
