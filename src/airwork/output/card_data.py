"""The words on the card as plain records: made and printed by `card`."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CardLine:
    """A name and its number."""

    name: str
    value: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class CardManeuver:
    """One maneuver in flying order. `line` is what it is flown by."""

    clock: str
    title: str
    times: str
    altitude: str
    floor: str
    heading: str
    line: str
    limits: str
    recovery: str = ""


@dataclass(frozen=True, slots=True)
class CardTank:
    """A stretch on one tank: from when, which, and what is in it then."""

    clock: str
    tank: str
    left: str


@dataclass(frozen=True, slots=True)
class CardField:
    """A field to glide to, from the middle of the area. `needs` : whence it is in reach, in the wind."""

    mark: str
    name: str
    heading: str
    distance: str
    needs: str


@dataclass(frozen=True, slots=True)
class Sketch:
    """The area, its fields and the airport, north up; x and y as shares of the sketch's width, from its upper left."""

    height: float
    corners: tuple[tuple[float, float], ...]
    fields: tuple[tuple[float, float, str], ...]
    airport: tuple[float, float, str]
    bar: float  # length of the scale bar
    bar_text: str
    wind_to_deg: float | None  # the way the wind blows, clockwise from north
    wind_text: str


@dataclass(frozen=True, slots=True)
class CardData:
    verdict: str
    reasons: tuple[str, ...]
    title: str
    who: str
    when: str
    airplane: str
    dial_unit: str
    day: tuple[CardLine, ...]
    speeds: tuple[CardLine, ...]
    power: tuple[CardLine, ...]
    maneuvers: tuple[CardManeuver, ...]
    tanks: tuple[CardTank, ...]
    tank_rule: str
    home_planned: str
    home_clock: str
    home_fuel: str
    home_remark: str
    fuel: tuple[CardLine, ...]
    signals: tuple[CardLine, ...]
    directions: str
    area: tuple[CardLine, ...]
    fields: tuple[CardField, ...]
    aloft: tuple[CardLine, ...]
    before: tuple[str, ...]
    engine: tuple[CardLine, ...]
    aloud: tuple[str, ...]
    unchecked: tuple[str, ...]
    sketch: Sketch | None
    footer: str
