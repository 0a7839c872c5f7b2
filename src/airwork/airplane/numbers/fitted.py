"""What the fitted model answers for the day, subject by subject, each number with the half-width of its 90 % band."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from airwork.airplane.airplane import Airplane
from airwork.airplane.numbers.lines import Line, Section
from airwork.airplane.numbers.question import Today
from airwork.airplane.performance import Condition, Performance, performance
from airwork.airplane.performance.today import Line as Answer
from airwork.airplane.performance.today import todays_answers
from airwork.errors import InputError
from airwork.values import Value

_TENTHS = {"inHg", "kPa", "gph", "L/h", "impgal/h", "m/s", ""}  # shown with one decimal


def model_of(airplane: Airplane) -> Performance:
    """The fitted model of an airplane whose file gives it something to fit.

    Raises
    ------
    InputError : the model would be that of any airplane of its kind.
    """
    fitted, tables, known = performance(airplane), airplane.file.performance, airplane.file.fitted
    flights = fitted.learned.flights or (known is not None and known.flights)
    if not (tables.power_chart or tables.cruise or tables.climb or fitted.learned.readings_used or flights):
        raise InputError(
            "prints no power chart, cruise or climb table, and there are no readings or flights: what would be drawn "
            "holds for any airplane of its kind. Add one of them to [performance], readings or flights.",
            where=airplane.id,
        )
    return fitted


def sections(today: Today) -> Iterator[Section]:
    """The model's answers for the day's air and weight."""
    at = Condition(today.mass_kg, today.pressure_altitude_m, today.temperature_k)
    for subject, found in groupby(todays_answers(model_of(today.airplane), at), lambda line: line.subject):
        yield Section(subject.partition(",")[0].replace(" ", "_"), subject, tuple(map(_line, found)))


def _line(one: Answer) -> Line:
    key = one.name.replace(" ", "_")
    if one.value is None:
        return Line(key, one.name, one.note, refused=one.note)
    digits = 1 if one.unit in _TENTHS else 0
    half = "" if one.half_width_90 is None else f" ± {one.half_width_90:,.{digits}f}"
    space = "" if one.unit in {"%", "°", "", "rpm"} else " "
    text = f"{one.value:,.{digits}f}{half}{space}{'' if one.unit == 'rpm' else one.unit}"
    value = Value(one.value, one.unit, "fitted model", "fitted model", one.half_width_90, one.note)
    return Line(key, one.name, text, value)
