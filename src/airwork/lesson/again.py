"""A lesson begun from an earlier one: its people, airplane, area and plan stay; what is of the day is asked anew.

The weather goes, and the fuel is written as FILL IN: yesterday's values would be taken for today's.
`misfits` says what another airplane does not take: places to sit and load, exercises its handbook forbids.
"""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from airwork.airplane import Airplane
from airwork.airplane.loading import station_kind
from airwork.errors import InputError
from airwork.maneuvers import rooms
from airwork.typed_file import FILL_IN

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


def misfits(data: Mapping[str, Any], airplane: Airplane) -> tuple[str, ...]:
    """Each thing of a lesson (its tables, as read from TOML) that this airplane has no place for, in words.

    Numbers (loading, runway, fuel, speeds) are the briefing's to judge; here is what must be chosen anew first.
    """
    said = []
    balance = airplane.file.weight_and_balance
    stations = [] if balance is None else [(s.name, station_kind(s)) for s in balance.stations]
    for table in ("people", "bags"):
        places = [name for name, kind in stations if (kind == "baggage") is (table == "bags") and kind != "fuel"]
        for row in _rows(data, table):
            at = str(row.get("station", ""))
            if at.casefold() not in {one.casefold() for one, _ in stations}:
                have = ", ".join(places) or "none named"
                said.append(f"{row.get('name') or table}: it has no “{at}”; it has {have}")
    known = {one.kind: one for one in rooms()}
    for kind in dict.fromkeys(str(row.get("kind", "")) for row in _rows(data, "exercises")):
        room = known.get(kind)
        permission = None if room is None else airplane.maneuver_permission(room.facts.handbook or kind)
        if room is not None and permission is not None and not permission.permitted_in:
            said.append(f"{room.title}: its handbook prohibits it")
    most = airplane.flaps_full
    for row in _rows(data, "exercises"):
        target = row.get("target")
        notch = target.get("flaps") if isinstance(target, dict) else None
        if isinstance(notch, int) and notch > most:
            said.append(f"{row.get('kind')}: flap notch {notch}; it has {most}")
    return tuple(said)


def _rows(data: Mapping[str, Any], table: str) -> list[Mapping[str, Any]]:
    rows = data.get(table)
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
