"""Read a recording, and debrief it: recording → flight → debrief, held against a standard and the lesson flown."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from airwork import recording as recordings
from airwork.airplane import Airplane
from airwork.debrief import Debrief, LessonPlan, debrief, plan_of
from airwork.errors import InputError
from airwork.jobs.files import load_airplane, load_lesson, standard_named, text_or_none, typed_weight_kg
from airwork.lesson.briefing import Briefing
from airwork.lesson.lesson import Lesson
from airwork.recording import Flight
from airwork.recording.marks import marks_beside
from airwork.standards import Standard

USUAL_STANDARD = "private"

LessonFlown = str | Path | Lesson | Briefing | LessonPlan


def read_flight(
    recording: str | Path,
    *,
    airplane: str | Path | Airplane | None = None,
    weight: str | None = None,
    altimeter: str | None = None,
    elevation: str | None = None,
    mapping: Path | None = None,
    aircraft: str | None = None,
) -> Flight:
    """Any recording as one clean Flight: CSV and its kin, IGC, GPX, KML, NMEA, Parquet …

    Parameters
    ----------
    airplane : file, id or airplane: its tables give calibrated airspeed, percent power, fuel flow, flap notches.
    weight : at takeoff, "2150 lb"; the greatest allowed if not given.
    altimeter : the setting flown, where the recording has none: "30.05 inHg".
    elevation : of the ground, where the recording never stands on it: "820 ft".
    mapping : file that says what the columns mean, in place of the one beside the recording.
    aircraft : which one, in a recording that holds several.

    Raises
    ------
    InputError : one line: what can't be used, why, what to do.
    """
    known = None if airplane is None else load_airplane(airplane)
    mass_kg = typed_weight_kg(weight, known)
    path = Path(recording).expanduser()
    flight = recordings.read_flight(
        path, airplane=known, setting_pa=text_or_none(altimeter, "pressure", "altimeter"),
        ground_elevation_m=text_or_none(elevation, "altitude", "elevation"), mapping=mapping, mass_kg=mass_kg,
        aircraft=aircraft,
    )  # fmt: skip
    marks = (*flight.source.get("marks", ()), *marks_beside(path))
    return replace(flight, source={**flight.source, "marks": marks}) if marks else flight


def debrief_flight(
    flight: str | Path | Flight,
    *,
    airplane: str | Path | Airplane | None = None,
    lesson: LessonFlown | None = None,
    standard: str | Path | Standard | None = None,
    weight: str | None = None,
    altimeter: str | None = None,
    elevation: str | None = None,
    mapping: Path | None = None,
    aircraft: str | None = None,
) -> Debrief:
    """What was flown, held against the standard, and why it drifted.

    Parameters
    ----------
    flight : a recording's file, or a Flight; one read with the same airplane, for what its tables add.
    airplane : file, id or airplane; the lesson's if not given; without any everything is judged that needs none.
    lesson : as flown: its file, a lesson, its briefing, or the plan kept with an earlier debrief.
    standard : name, file or standard; the one the lesson names if not given, else the private pilot's.
    weight, altimeter, elevation, mapping, aircraft : as `read_flight`; all but the weight for a recording alone.

    Raises
    ------
    InputError : one line: what can't be used, why, what to do.
    """
    plan, lesson_airplane, certificate = flown_lesson(lesson)
    held = standard_named(standard or certificate or USUAL_STANDARD)
    known = lesson_airplane if airplane is None else load_airplane(airplane)
    mass_kg = typed_weight_kg(weight, known)
    if isinstance(flight, Flight):
        if altimeter or elevation or mapping or aircraft:
            raise InputError("are for a recording's file; this flight is read already.", where="altimeter, elevation")
        read = flight
    else:
        read = read_flight(
            flight, airplane=known, weight=weight, altimeter=altimeter, elevation=elevation, mapping=mapping,
            aircraft=aircraft,
        )  # fmt: skip
    return debrief(read, standard=held, airplane=known, briefing=plan, mass_kg=mass_kg)


def flown_lesson(lesson: LessonFlown | None) -> tuple[LessonPlan | None, Airplane | None, str | None]:
    """The plan a flight is held against, the lesson's airplane where its file is at hand, the standard it names."""
    if lesson is None or isinstance(lesson, LessonPlan):
        return lesson, None, None
    if isinstance(lesson, Briefing):
        return plan_of(lesson), None, lesson.certificate or None
    from airwork.jobs.briefing import brief_lesson

    read = load_lesson(lesson)
    airplane = load_airplane(read.airplane_path)
    briefing = brief_lesson(read, airplane=airplane)
    return plan_of(briefing), airplane, briefing.certificate or None
