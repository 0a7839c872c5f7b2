"""What the wind does to a maneuver over the ground: bank by quarter, headings of legs, pivotal altitude. SI, true."""

from __future__ import annotations

import math

from airwork import units
from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airdata.ground_reference import radius_for_steepest_bank_m, turn_about_point
from airwork.airdata.turn import pivotal_altitude_m
from airwork.airdata.wind import wind_triangle
from airwork.errors import NotPossible
from airwork.maneuvers.setting_up.heights import FT
from airwork.maneuvers.setting_up.worksheet import Worksheet

Rows = tuple[tuple[str, ...], ...]


def bearing(ws: Worksheet, true_rad: float) -> str:
    """A direction as the compass shows it, magnetic: "238°"."""
    degrees = round(math.degrees(float(wrap_positive_rad(true_rad - ws.conditions.variation_rad))))
    return f"{360 if degrees == 0 else degrees:03d}°"


def note_wind(ws: Worksheet, altitude_m: float | None = None) -> tuple[float, float]:
    """Add the wind at the maneuver's altitude; (from [rad, true], speed [m/s])."""
    from_rad, speed = ws.wind(altitude_m)
    also = "calm" if speed < 0.3 else f"from {bearing(ws, from_rad)} magnetic"
    ws.note("wind here", float(round(units.to_unit(speed, "kt"))), "kt", "given", "winds of the day", also=also)
    return from_rad, speed


def check_wind(ws: Worksheet, tas_mps: float, wind_mps: float) -> None:
    """NotPossible where the wind leaves no ground reference to fly."""
    if wind_mps > 0.5 * tas_mps:
        raise NotPossible(
            f"{ws.title}: the wind at {units.write(ws.entry_m, 'ft')}, {units.write(wind_mps, 'kt')}, is more than "
            f"half of the true airspeed, {units.write(tas_mps, 'kt')}; no such path over the ground today."
        )


def radius_m(ws: Worksheet, tas_mps: float, wind_mps: float, steepest_rad: float) -> float:
    """Radius over the ground whose steepest bank, downwind, is this, rounded up to 50 ft; or the lesson's. [m]"""
    least = float(radius_for_steepest_bank_m(tas_mps, wind_mps, steepest_rad))
    chosen = math.ceil(least / FT / 50.0) * 50.0 * FT
    return ws.wish("radius_m", chosen, 0.7 * least, 8000.0 * FT, "ft")


def quarters(ws: Worksheet, tas_mps: float, radius: float, side: str,
             altitude_m: float | None = None) -> Rows:  # fmt: skip
    """Table of the quarter points of a circle over the ground, entered downwind."""
    from_rad, speed = ws.wind(altitude_m)
    rows = [("where", "track", "heading", "crab", "ground speed", "bank", "after")]
    for q in turn_about_point(tas_mps, from_rad, speed, radius, "left" if side == "left" else "right"):
        crab = math.degrees(q.correction_rad)
        lean = "" if abs(crab) < 0.5 else f" {'R' if crab > 0 else 'L'}"
        rows.append(
            (
                q.name, bearing(ws, q.track_rad), bearing(ws, q.heading_rad), f"{abs(crab):.0f}°{lean}",
                units.write(q.groundspeed_mps, "kt"), f"{abs(math.degrees(q.bank_rad)):.0f}°", f"{q.time_s:.0f} s",
            )
        )  # fmt: skip
    return tuple(rows)


def legs(ws: Worksheet, tas_mps: float, tracks: tuple[tuple[str, float], ...], altitude_m: float | None = None) -> Rows:
    """Table of straight legs: track, heading, crab, ground speed.

    Parameters
    ----------
    tracks : (name, true track [rad]) of each leg.
    """
    from_rad, speed = ws.wind(altitude_m)
    rows = [("leg", "track", "heading", "crab", "ground speed")]
    for name, track in tracks:
        t = wind_triangle(track, tas_mps, from_rad, speed)
        if not math.isfinite(float(t.groundspeed_mps)):
            raise NotPossible(f"{ws.title}: the wind, {units.write(speed, 'kt')}, allows no {name}.")
        crab = math.degrees(float(t.correction_rad))
        lean = "" if abs(crab) < 0.5 else f" {'R' if crab > 0 else 'L'}"
        rows.append((name, bearing(ws, track), bearing(ws, float(t.heading_rad)), f"{abs(crab):.0f}°{lean}",
                     units.write(float(t.groundspeed_mps), "kt")))  # fmt: skip
    return tuple(rows)


def pivotal(ws: Worksheet, tas_mps: float, altitude_m: float) -> Rows:
    """Table of pivotal altitudes by heading: ground speed, height above the pylon, altitude. [AFH] ch. 7.

    The heading is magnetic; the pylon stands on the ground elevation of the day. The last column keeps the wing's sight
    line on the pylon at this airspeed, V·(V + tailwind)/g (`flown_pylons`): the handbook's rule swings about twice as
    far in a wind, because it takes the heading as turning with the track.
    """
    from_rad, speed = ws.wind(altitude_m)
    rows: list[tuple[str, ...]] = [("heading", "ground speed", "above pylon", "altitude", "by the sight line")]
    for degrees in range(0, 360, 45):
        heading = math.radians(degrees) + ws.conditions.variation_rad
        groundspeed = over_ground_speed_mps(tas_mps, heading, from_rad, speed)
        height = float(pivotal_altitude_m(groundspeed))
        altitude = height + ws.conditions.ground_elevation_m
        shown = [units.write(round(h / FT / 10) * 10 * FT, "ft") for h in (height, altitude)]
        tail = -speed * math.cos(from_rad - heading)
        sight = tas_mps * (tas_mps + tail) / G0_MPS2 + ws.conditions.ground_elevation_m
        shown.append(units.write(round(sight / FT / 10) * 10 * FT, "ft"))
        rows.append((f"{degrees or 360:03d}°", units.write(groundspeed, "kt"), *shown))
    return tuple(rows)


def over_ground_speed_mps(tas_mps: float, heading_rad: float, wind_from_rad: float, wind_mps: float) -> float:
    """Ground speed on a heading: |V + W|. [m/s]"""
    along = tas_mps - wind_mps * math.cos(wind_from_rad - heading_rad)
    across = wind_mps * math.sin(wind_from_rad - heading_rad)
    return math.hypot(along, across)
