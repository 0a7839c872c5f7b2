"""What if it is hotter, heavier, with less fuel: the same lesson briefed again, and what comes out otherwise."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from airwork import units
from airwork.errors import InputError
from airwork.lesson.briefing import Briefing
from airwork.web.brief_view import facts_of
from airwork.web.lesson_rows import NEW

NAMED = f"{NEW}if/"
# field: (words, least, most, step) of the slider, in the book's units; our own choice of what a day brings
SLIDERS = {
    "temperature": ("temperature", -20, 20, 1),
    "weight": ("weight", -100, 200, 5),
    "fuel": ("fuel", -20, 20, 1),
}


@dataclass(frozen=True, slots=True)
class Asked:
    """The changes, in °C and the book's units. station : where the weight sits."""

    temperature: float = 0.0
    weight: float = 0.0
    fuel: float = 0.0
    station: str = ""

    @property
    def any(self) -> bool:
        """Something is changed."""
        return bool(self.temperature or self.weight or self.fuel)


def asked(query: Mapping[str, str]) -> Asked:
    """What the address asks. InputError for a number that is none."""
    found = {}
    for name in SLIDERS:
        text = query.get(f"{NAMED}{name}", "").strip() or "0"
        try:
            found[name] = max(-500.0, min(500.0, float(text)))
        except ValueError:
            raise InputError(f"found {text[:20]!r}, expected a number.", where=f"what if, {name}") from None
    return Asked(**found, station=query.get(f"{NAMED}station", ""))


def changed(data: Mapping[str, Any], was: Briefing, what: Asked) -> dict[str, Any]:
    """The lesson's tables with the changes in them.

    Raises
    ------
    InputError : a change that can't be: no temperature known, a weight or a tank below nothing.
    """
    new = copy.deepcopy(dict(data))
    book = was.style.book
    if what.temperature:
        if was.weather.temperature_k is None:
            raise InputError("the day's temperature is not known; give it first.", where="what if")
        celsius = units.to_unit(was.weather.temperature_k, "°C") + what.temperature
        new.setdefault("weather", {})["temperature"] = f"{celsius:.1f} °C"
    if what.weight:
        _heavier(new, what, book.mass)
    if what.fuel:
        _fuel(new, what.fuel, book.fuel)
    return new


def _heavier(data: dict[str, Any], what: Asked, unit: str) -> None:
    loads = [one for table in ("people", "bags") for one in data.get(table, ()) if one.get("station") == what.station]
    if not loads:
        if what.weight < 0.0:
            raise InputError(f"nothing sits there to take off ({what.station}).", where="what if")
        data.setdefault("bags", []).append(
            {"name": "what if", "station": what.station, "weight": f"{what.weight:g} {unit}"}
        )
        return
    masses = [units.to_unit(units.parse(str(one.get("weight", "")), "mass"), unit) for one in loads]
    most = max(range(len(loads)), key=masses.__getitem__)
    if masses[most] + what.weight < 0.0:
        raise InputError(f"{loads[most].get('name', 'the load')} would weigh less than nothing.", where="what if")
    loads[most]["weight"] = f"{masses[most] + what.weight:.2f} {unit}"


def _fuel(data: dict[str, Any], more: float, unit: str) -> None:
    tanks = data.get("fuel", {})
    for name, text in tanks.items():
        left = units.to_unit(units.parse(str(text), "volume"), unit) + more / len(tanks)
        if left < 0.0:
            raise InputError(f"the {name} would hold less than nothing.", where="what if")
        tanks[name] = f"{left:.3f} {unit}"


@dataclass(frozen=True, slots=True)
class Difference:
    """One line of the comparison."""

    name: str
    was: str
    now: str


def differences(was: Briefing, now: Briefing) -> tuple[list[Difference], list[str], list[str]]:
    """(numbers that come out otherwise, reasons that come up, reasons that go)."""
    before, after = (dict(_lines(b)) for b in (was, now))
    lines = [
        Difference(n, before.get(n, "–"), after.get(n, "–"))
        for n in dict.fromkeys((*before, *after))
        if before.get(n) != after.get(n)
    ]
    old, new = (
        {(r.level, r.topic): f"{r.level}, {r.topic}: {r.text.removeprefix(f'{r.topic}: ')}" for r in b.verdict.reasons
         if r.level not in {"go", "not checked"}}
        for b in (was, now)
    )  # fmt: skip
    return lines, [t for k, t in new.items() if k not in old], [t for k, t in old.items() if k not in new]


def _lines(b: Briefing) -> list[tuple[str, str]]:
    cards = {e.title: e.set_up.card_line if e.set_up else e.problem for e in b.exercises}
    return [("verdict", b.verdict.headline), *facts_of(b), *cards.items()]
