"""What the Today page shows of a briefing: words from the full document, drawings, and the path for the map."""

from __future__ import annotations

import math
from typing import Any

from airwork.airplane import Airplane
from airwork.airplane.loading import station_kind
from airwork.errors import AirworkError
from airwork.lesson.briefing import Briefing
from airwork.lesson.places import find_place
from airwork.output.briefing_doc import make_doc
from airwork.output.briefing_plots import envelope, fuel, profile
from airwork.output.card import grouped
from airwork.output.typeset import unprintable


def view(b: Briefing) -> dict[str, Any]:
    """Plain data for the template."""
    style, doc = b.style, make_doc(b)
    exercises = [
        {
            "number": group[0].number, "title": group[0].title, "times": len(group),
            "clock": style.clock(group[0].start_utc_s), "card": group[0].set_up.card_line if group[0].set_up else "",
            "problem": group[0].problem,
        }
        for group in grouped(b.exercises)
    ]  # fmt: skip
    facts = facts_of(b)
    return {
        "doc": doc, "verdict": b.verdict.level, "exercises": exercises, "facts": facts,
        "reasons": [r for r in b.verdict.reasons if r.level != "go"],
        "fine": [r for r in b.verdict.reasons if r.level == "go"],
        "drawings": {"envelope": envelope(b), "profile": profile(b), "fuel": fuel(b)}, "map": path_map(b),
        "unprintable": unprintable("".join((b.title, b.student, b.instructor, b.airplane_name, b.place.name))),
    }  # fmt: skip


def facts_of(b: Briefing) -> list[tuple[str, str]]:
    """(name, value) of the day's numbers."""
    style = b.style
    f = b.fuel
    facts = [
        ("fuel aboard, usable", style.fuel(f.aboard_m3)),
        ("burned", style.fuel(f.burned_m3)),
        ("above the reserve at engine off", style.fuel(f.spare_m3)),
        ("turn for home at the latest", style.clock(b.start_utc_s + f.turn_home_s)),
        ("weight at engine start", style.mass(b.balance.points[0].mass_kg)),
        ("density altitude", style.altitude(b.weather.density_altitude_m)),
        ("engine off", style.clock(b.end_utc_s, zone=True)),
    ]
    if b.runway.runway is not None:
        facts.insert(0, ("runway", b.runway.runway.name))
    for words, found in (
        (f"takeoff over {style.obstacle}, with factor", b.runway.takeoff),
        ("landing, with factor", b.runway.landing),
    ):
        if found is not None and found.needed_m is not None:
            facts.append((words, style.runway(found.needed_m)))
    return facts


def places_to_load(airplane: Airplane) -> tuple[list[str], list[str]]:
    """(seats, places for bags) of an airplane, by their names in its file."""
    wb = airplane.file.weight_and_balance
    stations = [] if wb is None else [(s.name, station_kind(s)) for s in wb.stations]
    return [n for n, kind in stations if kind not in {"baggage", "fuel"}], [
        n for n, kind in stations if kind == "baggage"
    ]


def weather_given(b: Briefing) -> dict[str, str]:
    """What the reports say, by the form's field: shown where the user gave nothing of their own."""
    w, style = b.weather, b.style
    said = {"wind": style.wind(w.wind)} if w.wind is not None else {}
    if w.temperature_k is not None:
        said["temperature"] = style.temperature(w.temperature_k)
    if w.dewpoint_k is not None:
        said["dewpoint"] = style.temperature(w.dewpoint_k)
    if w.setting_pa is not None:
        said["altimeter"] = style.pressure(w.setting_pa)
    if w.visibility_m is not None:
        said["visibility"] = style.visibility(w.visibility_m, w.visibility_bound)
    if w.ceiling_known:
        said["ceiling"] = "none" if w.ceiling_m is None else style.altitude(w.ceiling_m)
    return {f"weather/{name}": text for name, text in said.items()}


def path_map(b: Briefing) -> dict[str, Any] | None:
    """Area, landing places and the path of every exercise, degrees."""

    def deg(pair: tuple[float, float]) -> list[float]:
        return [round(math.degrees(pair[0]), 5), round(math.degrees(pair[1]), 5)]

    place = b.place
    paths = [
        {"number": e.number, "title": e.title, "points": [deg((p[1], p[2])) for p in e.path.points]}
        for e in b.exercises
        if e.path is not None
    ]
    return {
        "home": {"name": place.name, "at": deg((place.latitude_rad, place.longitude_rad))},
        "area": [deg(c) for c in b.area.corners_rad] if b.area else [],
        "places": [
            {"name": p.name, "at": deg((p.latitude_rad, p.longitude_rad))}
            for p in (b.area.landing_places if b.area else ())
        ],
        "paths": paths,
    }  # fmt: skip


def bare_map(data: dict[str, Any]) -> dict[str, Any] | None:
    """Field, area and landing places of a lesson that can't be briefed yet, to point on; None where none is known."""
    place, area = data.get("place"), data.get("area")
    try:
        found = find_place(str(place["airport"]), where="airport") if isinstance(place, dict) else None
    except (AirworkError, KeyError):
        return None
    if found is None:
        return None
    inside: dict[str, Any] = area if isinstance(area, dict) else {}
    corners, places = inside.get("polygon"), inside.get("landing_places")
    return {
        "home": {"name": found.ident, "at": [math.degrees(found.latitude_rad), math.degrees(found.longitude_rad)]},
        "area": corners if isinstance(corners, list) else [],
        "places": [{"name": p["name"], "at": p["position"]} for p in places or () if "position" in p and "name" in p],
        "paths": [],
    }  # fmt: skip
