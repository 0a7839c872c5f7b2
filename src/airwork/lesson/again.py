"""A lesson begun from an earlier one: its people, airplane, area and plan stay; what is of the day is asked anew.

The weather goes, and the fuel is written as FILL IN: yesterday's values would be taken for today's.
"""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from airwork.errors import InputError
from airwork.lesson.quantity import FILL_IN

OWN_OF_A_PERSON = ("limits", "cautions")  # of the student's or instructor's table
SPELLED = 0.8  # likeness of two names from which on one is a slip in the other (our own choice)
OF_THE_DAY = ("metar", "taf")  # of the area too


def lesson_again(
    text: str, *, day: dt.date, time: str = "", student: str = "", instructor: str = "",
    exercises: Sequence[str] | None = None, certificate: str = "",
    limits: Callable[[str, str], Mapping[str, Any] | None] = lambda role, name: None,
) -> str:  # fmt: skip
    """The text of an earlier lesson for another day; comments and order stay.

    Parameters
    ----------
    time : engine start, local; as it was if not given.
    student, instructor : somebody else's name: they take that seat; weight and limits of the one before go.
    certificate : what the student aims at, in its short name; as it was if not given.
    limits : what is known of the limits of somebody (role, name) who takes a seat.
    exercises : kinds to fly in place of the earlier ones; one that was flown before keeps its values.

    Raises
    ------
    InputError : the earlier text is no lesson.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document: Any = tomlkit.parse(text)
    except TOMLKitError as problem:
        raise InputError(f"not valid TOML: {problem}.", where="lesson") from None
    document["date"] = day
    if time:
        document["time"] = time
    document.pop("weather", None)
    for name in OF_THE_DAY:
        if isinstance(document.get("area"), dict):
            document["area"].pop(name, None)
    place = document.get("place")
    if isinstance(place, dict):
        place.pop("runway", None)  # of that day's wind
    fuel = document.get("fuel")
    if isinstance(fuel, dict):
        for tank in fuel:
            fuel[tank] = FILL_IN
    for role, name in (("student", student), ("instructor", instructor)):
        if name:
            _seat(document, role, name, limits(role, name))
    if certificate and isinstance(document.get("student"), dict):
        document["student"]["certificate"] = certificate
    if exercises is not None:
        _fly(document, exercises)
    return tomlkit.dumps(document)


def same_person(before: str, name: str) -> bool:
    """The name as it was or spelled a little otherwise; else it is somebody else, with limits of their own."""
    one, other = before.casefold().strip(), name.casefold().strip()
    return difflib.SequenceMatcher(None, one, other).ratio() >= SPELLED


def _seat(document: Any, role: str, name: str, limits: Mapping[str, Any] | None) -> None:
    """Somebody else in the same seat."""
    import tomlkit

    before = document.get(role, {})
    if str(before.get("name", "")).casefold() == name.casefold():
        return
    for one in document.get("people", ()):
        if one.get("role") == role:
            one["name"], one["weight"] = name, FILL_IN
    fresh = tomlkit.table()
    fresh["name"] = name
    if "certificate" in before:
        fresh["certificate"] = before["certificate"]
    if limits:
        fresh["limits"] = dict(limits)
    document[role] = fresh


def _fly(document: Any, kinds: Sequence[str]) -> None:
    import tomlkit

    old = list(document.get("exercises", ()))
    document.pop("exercises", None)
    made = tomlkit.aot()
    for kind in kinds:
        known = next((one for one in old if one.get("kind") == kind), None)
        if known is None:
            known = tomlkit.table()
            known["kind"] = kind
        made.append(known)
    if kinds:
        document.append("exercises", made)
