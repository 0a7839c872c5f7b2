"""The card's way out: area, way home, fields to bail out to, wind aloft, and the small sketch of them."""

from __future__ import annotations

import math

from airwork import units
from airwork.lesson.briefing import Briefing
from airwork.lesson.style import bearing
from airwork.output.card_data import CardField, CardLine, Sketch

_EARTH_M = 6_371_008.8  # mean radius; a sketch needs no better


def magnetic(b: Briefing, true_rad: float, step: int = 1) -> str:
    """A direction as the dial shows it; true where the variation is not known, which `directions` says."""
    east = b.weather.variation_rad or 0.0
    return bearing(round((true_rad - east) / units.DEG_RAD / step) * step * units.DEG_RAD)


def card_area(b: Briefing) -> tuple[CardLine, ...]:
    """Floor, ceiling and the way home."""
    style, out = b.style, []
    if b.area is not None:
        out.append(
            CardLine("floor – ceiling", f"{style.altitude(b.area.floor_m)} – {style.altitude(b.area.ceiling_m)}")
        )
        out.append(CardLine("ground", style.altitude(b.area.ground_m)))
    c = b.cockpit
    if c is None:
        return tuple(out)
    if c.home_rad is not None and c.home_m is not None:
        time = "" if c.home_s is None else f"{style.minutes(c.home_s)} to engine off"
        out.append(CardLine("home", f"{magnetic(b, c.home_rad)}  {style.distance(c.home_m)}", time))
    if c.glide_ratio is not None:
        per = units.to_unit(c.glide_ratio * 1000.0 * units.FT_M, "NM")
        out.append(CardLine("glide", f"{c.glide_ratio:.1f} : 1", f"{per:.1f} NM for 1,000 ft, still air"))
    return tuple(out)


def card_fields(b: Briefing) -> tuple[CardField, ...]:
    """Fields to bail out to, nearest to the middle of the area first."""
    if b.cockpit is None:
        return ()
    rows = []
    for k, f in enumerate(b.cockpit.fields):
        out = b.area is not None and f.needs_m is not None and f.needs_m > b.area.ceiling_m
        needs = (
            ""
            if f.needs_m is None
            else "out of glide"
            if out
            else f"{math.ceil(units.to_unit(f.needs_m, 'ft') / 100.0) * 100:,.0f} ft"
        )
        rows.append(
            CardField(
                "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[k % 26],
                f.name,
                magnetic(b, f.heading_rad),
                b.style.distance(f.distance_m),
                needs,
            )
        )
    return tuple(rows)


def card_aloft(b: Briefing) -> tuple[CardLine, ...]:
    """Wind at the altitudes given."""
    return tuple(
        CardLine(b.style.altitude(height), f"{magnetic(b, direction, 10)} {knots(speed)} kt")
        for height, direction, speed in b.weather.aloft[1:]
    )


def make_sketch(b: Briefing) -> Sketch | None:
    """Area, fields and airport on one small map."""
    if b.area is None or b.cockpit is None:
        return None
    middle = b.area.corners_rad[0]
    shrink = math.cos(middle[0])

    def flat(latitude: float, longitude: float) -> tuple[float, float]:
        return (longitude - middle[1]) * shrink * _EARTH_M, -(latitude - middle[0]) * _EARTH_M

    corners = [flat(*c) for c in b.area.corners_rad]
    marks = {f.name: f.mark for f in card_fields(b)}
    fields = [(*flat(p.latitude_rad, p.longitude_rad), marks.get(p.name, "")) for p in b.area.landing_places]
    home = flat(b.place.latitude_rad, b.place.longitude_rad)
    everything = [*corners, *((x, y) for x, y, _ in fields), home]
    xs, ys = [p[0] for p in everything], [p[1] for p in everything]
    span = max(max(xs) - min(xs), 0.8 * (max(ys) - min(ys)), 1000.0)
    edge = 0.07

    def at(x: float, y: float) -> tuple[float, float]:
        side = 0.5 * (1.0 - 2.0 * edge - (max(xs) - min(xs)) / span * (1.0 - 2.0 * edge))
        scale = (1.0 - 2.0 * edge) / span
        return edge + side + (x - min(xs)) * scale, edge + (y - min(ys)) * scale

    scale = (1.0 - 2.0 * edge) / span
    miles = 5.0 if span > 12.0 * units.NM_M else 2.0
    height, direction, speed = b.weather.aloft[-1] if b.weather.aloft else (0.0, 0.0, 0.0)
    for layer in b.weather.aloft:
        if layer[0] >= b.area.floor_m:
            height, direction, speed = layer
            break
    blows = speed > 0.5
    return Sketch(
        height=2.0 * edge + (max(ys) - min(ys)) * scale,
        corners=tuple(at(*c) for c in corners),
        fields=tuple((*at(x, y), mark) for x, y, mark in fields),
        airport=(*at(*home), b.place.name.split()[0]),
        bar=miles * units.NM_M * scale,
        bar_text=f"{miles:.0f} NM",
        wind_to_deg=(direction / units.DEG_RAD + 180.0) % 360.0 if blows else None,
        wind_text=f"{knots(speed)} kt at {b.style.altitude(height)}" if blows else "",
    )


def knots(speed_mps: float) -> str:
    """Whole knots."""
    return f"{units.to_unit(speed_mps, 'kt'):.0f}"
