"""The card's way out: area, way home, fields to glide to, wind aloft, and the small sketch of them."""

from __future__ import annotations

import math
from string import ascii_uppercase

from airwork import units
from airwork.airdata.angles import wrap_positive_rad
from airwork.lesson.area import FlatMap
from airwork.lesson.briefing import Briefing
from airwork.lesson.style import bearing
from airwork.output.card_data import CardField, CardLine, Sketch

SKETCH_EDGE = 0.07  # of its width, kept free at every side
UNDER_M = 0.2 * units.NM_M  # as good as below


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
    """Fields to glide to, nearest to the middle of the area first; to one under the middle there is no heading."""
    if b.cockpit is None:
        return ()
    return tuple(
        CardField(ascii_uppercase[k % 26], f.name, "" if f.distance_m < UNDER_M else magnetic(b, f.heading_rad),
                  "below" if f.distance_m < UNDER_M else b.style.distance(f.distance_m), _needs(b, f.needs_m))
        for k, f in enumerate(b.cockpit.fields)
    )  # fmt: skip


def _needs(b: Briefing, needs_m: float | None) -> str:
    """The altitude from which a field is in glide, rounded up; above the area's ceiling it is out of it."""
    if needs_m is None:
        return ""
    if b.area is not None and needs_m > b.area.ceiling_m:
        return "out of glide"
    return f"{math.ceil(units.to_unit(needs_m, 'ft') / 100.0) * 100:,.0f} ft"


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
    flat = FlatMap(*b.area.corners_rad[0])

    def right_down(latitude_rad: float, longitude_rad: float) -> tuple[float, float]:
        east, north = flat.east_north_m(latitude_rad, longitude_rad)
        return east, -north

    corners = [right_down(*c) for c in b.area.corners_rad]
    fields = [right_down(p.latitude_rad, p.longitude_rad) for p in b.area.landing_places]
    home = right_down(b.place.latitude_rad, b.place.longitude_rad)
    xs, ys = zip(*corners, *fields, home, strict=True)
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    span = max(wide, 0.8 * high, 1000.0)
    scale = (1.0 - 2.0 * SKETCH_EDGE) / span

    def at(x: float, y: float) -> tuple[float, float]:
        return 0.5 * (1.0 - wide * scale) + (x - min(xs)) * scale, SKETCH_EDGE + (y - min(ys)) * scale

    marks = {f.name: f.mark for f in card_fields(b)}
    miles = 5.0 if span > 12.0 * units.NM_M else 2.0
    aloft = b.weather.aloft or ((0.0, 0.0, 0.0),)
    height, direction, speed = next((layer for layer in aloft if layer[0] >= b.area.floor_m), aloft[-1])
    blows = speed > 0.5
    return Sketch(
        height=2.0 * SKETCH_EDGE + high * scale,
        corners=tuple(at(*c) for c in corners),
        fields=tuple((*at(*f), marks.get(p.name, "")) for f, p in zip(fields, b.area.landing_places, strict=True)),
        airport=(*at(*home), b.place.name.split()[0]),
        bar=miles * units.NM_M * scale,
        bar_text=f"{miles:.0f} NM",
        wind_to_deg=math.degrees(float(wrap_positive_rad(direction + math.pi))) if blows else None,
        wind_text=f"{knots(speed)} kt at {b.style.altitude(height)}" if blows else "",
    )


def knots(speed_mps: float) -> str:
    return f"{units.to_unit(speed_mps, 'kt'):.0f}"
