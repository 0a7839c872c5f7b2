"""What the Today page shows of a briefing: words from the full document, drawings, and the path for the map."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from airwork import units
from airwork.airdata.column import AirColumn, WindLayer
from airwork.airplane.loading import station_kind
from airwork.errors import AirworkError
from airwork.lesson.briefing import Briefing
from airwork.lesson.glide import reach_m
from airwork.lesson.places import find_place
from airwork.output.briefing_doc import make_doc
from airwork.output.card import grouped
from airwork.recording.geodesy import radii_m
from airwork.web.drawings import Line, Mark, xy_svg

if TYPE_CHECKING:
    from airwork.airplane import Airplane

SIZE = (440, 240)  # of a drawing: two stand beside one another


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
        "drawings": {"envelope": _envelope(b), "profile": _profile(b), "fuel": _tanks(b)}, "map": path_map(b),
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


def _envelope(b: Briefing) -> str:
    """Center of gravity through the lesson in the permitted area."""
    mass_unit, arm_unit = b.style.book.mass, b.style.book.arm

    def at(arm_m: float, mass_kg: float) -> tuple[float, float]:
        return units.to_unit(arm_m, arm_unit), units.to_unit(mass_kg, mass_unit)

    lines = [Line(name, [at(*c) for c in (*corners, corners[0])], "edge") for name, corners in b.envelopes.items()]
    if not lines:
        return ""
    flown = [at(p.arm_m, p.mass_kg) for p in b.balance.points if p.arm_m is not None]
    lines.append(Line("", flown, "strong"))
    marks = [Mark("start", *flown[0]), Mark("end", *flown[-1])] if flown else []
    return xy_svg(lines, marks, x_name=f"arm, {arm_unit}", y_name=f"weight, {mass_unit}",
                  label="center of gravity through the lesson in the permitted area", size=SIZE)  # fmt: skip


def _profile(b: Briefing) -> str:
    """Altitude over time, floor and ceiling of the area."""
    points: list[tuple[float, float]] = []
    for leg in b.legs:
        points.append((leg.start_s / 60.0, units.to_unit(leg.altitude_from_m, "ft")))
        points.append((leg.end_s / 60.0, units.to_unit(leg.altitude_to_m, "ft")))
    if not points:
        return ""
    end = points[-1][0]
    lines = [Line("planned", points, "strong")]
    if b.area is not None:
        for name, height in (("floor", b.area.floor_m), ("ceiling", b.area.ceiling_m), ("ground", b.area.ground_m)):
            feet = units.to_unit(height, "ft")
            lines.append(Line(name, [(0.0, feet), (end, feet)], "limit"))
    return xy_svg(lines, [], x_name="minutes from engine start", y_name="altitude, ft",
                  label="altitude through the lesson with the area's floor, ceiling and ground", size=SIZE)  # fmt: skip


def _tanks(b: Briefing) -> str:
    """Fuel in each tank over time."""
    names = list(b.tanks.points[0].left_m3) if b.tanks.points else []
    unit = b.style.fuel_unit
    lines = [
        Line(n, [(p.time_s / 60.0, units.to_unit(p.left_m3[n], unit)) for p in b.tanks.points], f"tank{k % 2}")
        for k, n in enumerate(names)
    ]
    if not lines:
        return ""
    return xy_svg(lines, [], x_name="minutes from engine start", y_name=f"usable fuel, {unit}",
                  label="fuel in each tank through the lesson", from_zero=True, size=SIZE)  # fmt: skip


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
        "paths": paths, "reach": _reach(b),
    }  # fmt: skip


def _reach(b: Briefing) -> list[dict[str, Any]]:
    """For each altitude flown in the area, the glide reach, as steps of latitude and longitude. [deg]"""
    c, area = b.cockpit, b.area
    if c is None or area is None or c.glide_ratio is None or c.glide_tas_mps is None:
        return []
    air = AirColumn(winds=tuple(WindLayer(*layer) for layer in b.weather.aloft))
    heights = {
        round(leg.altitude_to_m): leg.altitude_to_m for leg in b.legs if leg.altitude_to_m > area.ground_m + 100.0
    }
    middle = np.mean([corner[0] for corner in area.corners_rad])
    meridian, parallel = (float(r) for r in radii_m(middle))
    out = []
    for altitude_m in sorted(heights.values()):
        east, north = reach_m(altitude_m, area.ground_m, c.glide_ratio, c.glide_tas_mps, air)
        steps = np.degrees(np.column_stack([north / meridian, east / parallel])).round(5)
        out.append({"at": b.style.altitude(altitude_m), "ring": steps.tolist()})
    return out


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
        "paths": [], "reach": [],
    }  # fmt: skip
