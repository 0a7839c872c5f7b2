"""What rectangular course, S-turns and turns around a point share: height, speed, banks of a circle in the wind. SI."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from airwork import units
from airwork.airdata.ground_reference import arc_time_s, ground_reference_bank_rad
from airwork.errors import InputError
from airwork.maneuvers.setting_up import power_lines, wind_lines
from airwork.maneuvers.setting_up.heights import FT, Heights
from airwork.maneuvers.setting_up.power_lines import Power
from airwork.maneuvers.setting_up.worksheet import Worksheet

LOWEST_M, HIGHEST_M = 600 * FT, 1000 * FT  # [AFH] ch. 7
HEIGHTS = Heights(60.0, LOWEST_M, "600 ft above ground, [AFH] ch. 7")
STEEPEST_RAD = math.radians(45.0)  # [AFH] ch. 7: bank not above 45°
USUAL_STEEPEST_RAD = math.radians(40.0)  # flying downwind: planned with a little room
USUAL_M = 800 * FT  # between the two, where the lesson names none: our own choice
CAUTIONS = ("Low flying: minimum safe altitudes, obstacles, people and animals below; a landing place in reach.",)


@dataclass(frozen=True, slots=True)
class OverGround:
    """What the three are set up from: the worksheet begun, and the numbers they all use. SI.

    wind : (from [rad], speed [m/s]). banks_rad : flying downwind, across the wind, upwind. words : the power in words.
    """

    ws: Worksheet
    steepest_rad: float
    ias_mps: float
    tas_mps: float
    wind: tuple[float, float]
    side: str
    radius_m: float
    banks_rad: tuple[float, float, float]
    power_ratio: float | None
    words: str

    @property
    def circle_line(self) -> str:
        """The card's line of a circle over the ground: speed, power, banks round it, radius."""
        down, across, up = (f"{math.degrees(b):.0f}°" for b in self.banks_rad)
        flown = f"{self.ws.mark(self.ias_mps)} · {self.words}"
        return f"{flown} · bank {down} downwind – {across} – {up} upwind · r {units.write(self.radius_m, 'ft')}"

    @property
    def entry(self) -> str:
        """ "4,100 ft, 90 mph, 2,170 rpm": what the first step asks for."""
        return f"{units.write(self.ws.entry_m, 'ft')}, {self.ws.mark(self.ias_mps)}, {self.words}"

    @property
    def targets(self) -> dict[str, float]:
        """What the debrief grades all three against. SI."""
        return {"ias_mps": self.ias_mps, "bank_rad": self.steepest_rad, "radius_m": self.radius_m}


def set_up_over_ground(
    ws: Worksheet, *, steepest_words: str, radius_name: str = "radius over the ground"
) -> OverGround:
    """Begin a set-up flown by marks on the ground: height, speed, power, wind, radius and the banks round it.

    Parameters
    ----------
    steepest_words : where the bank is steepest, {} for the angle.
    """
    steepest = float(ws.target.get("bank_rad", USUAL_STEEPEST_RAD))
    ias, tas, power, wind = begin(ws, steepest)
    side = ws.word("direction", "left", ("left", "right"))
    radius = wind_lines.radius_m(ws, tas, wind[1], steepest)
    why = steepest_words.format(f"{math.degrees(steepest):.0f}°")
    ws.note(radius_name, round(radius / FT / 10) * 10.0, "ft", "formula", why)
    ratio, words = (None, "power by eye") if power is None else (power.ratio, power.words)
    return OverGround(ws, steepest, ias, tas, wind, side, radius, banks(tas, radius, wind[1]), ratio, words)


def round_marks(ws: Worksheet) -> OverGround:
    """As `set_up_over_ground`, for circles or parts of them: with the banks round one."""
    g = set_up_over_ground(ws, steepest_words="steepest bank, downwind, {}")
    note_banks(ws, g.tas_mps, g.radius_m, g.wind[1])
    return g


def full_circles(ws: Worksheet, usual: float, most: float, *, circles: float, name: str) -> tuple[OverGround, float]:
    """As `round_marks`, for turns of so many full circles each: with the time for one circle and how many turns."""
    g = round_marks(ws)
    turns = ws.wish("turns", usual, 1.0, most)
    lap = arc_time_s(g.tas_mps, g.wind[1], g.radius_m, math.pi, 3.0 * math.pi)
    ws.note(name, float(round(lap)), "s", "formula", "radius over ground speed, all round")
    ws.use_power(circles * turns * lap + 15.0, g.power_ratio)
    return g, turns


def begin(ws: Worksheet, steepest_rad: float) -> tuple[float, float, Power | None, tuple[float, float]]:
    """Heights, speed, power and wind lines; (indicated [m/s], true [m/s], power, (wind from [rad], speed [m/s]))."""
    if not math.radians(15.0) <= steepest_rad <= STEEPEST_RAD + 1e-9:
        raise InputError(f"{ws.title}: steepest bank {math.degrees(steepest_rad):.0f}° is outside 15 to 45°.")
    ground = ws.conditions.ground_elevation_m
    if not {"altitude_m", "height_agl_m"} & set(ws.target) and ws.conditions.altitude_m is None:
        ws.entry_m = max(ws.floor_m, math.ceil((ground + USUAL_M) / FT / 50.0) * 50.0 * FT)
    if ws.entry_m > ground + HIGHEST_M + 15.0:
        ws.cautions.append(
            f"Entry is {units.write(ws.entry_m - ground, 'ft')} above ground: 600 to 1,000 ft is usual; "
            "higher, the point is hard to judge."
        )
    cruise = power_lines.cruise_cas_mps(ws, 0.5) or 1.6 * ws.stall_cas_mps(0)
    top = min(ws.fastest_ias(), ws.maneuvering_ias())
    slow = min(ws.on_dial(ws.ias(cruise), "down", 5.0), ws.on_dial(top, "down", 5.0))
    ias = ws.flown_ias(slow, load=1.0 / math.cos(steepest_rad))
    cas = ws.cas(ias)
    tas = ws.tas_mps(cas)
    ws.note_heights()
    ws.note_speed("speed", ias, "given" if "ias_mps" in ws.target else "assumed", "lesson or the level speed at 50 %")
    power = power_lines.level(ws, cas)
    power_lines.level(ws, cas, bank_rad=steepest_rad, name="power, steepest bank", needed=False, pitch=False)
    ws.note_stall(0)
    ws.note_stall(0, steepest_rad)
    wind = wind_lines.note_wind(ws)
    wind_lines.check_wind(ws, tas, wind[1])
    return ias, tas, power, wind


def banks(tas_mps: float, radius_m: float, wind_mps: float) -> tuple[float, float, float]:
    """Bank flying downwind, across the wind, upwind. [rad]"""
    found = ground_reference_bank_rad(tas_mps, wind_mps, radius_m, [math.pi, math.pi / 2, 0.0])
    return float(found[0]), float(found[1]), float(found[2])


def note_banks(ws: Worksheet, tas_mps: float, radius_m: float, wind_mps: float) -> None:
    """Add the three banks."""
    source = "GS²/(g·radius·cos crab): constant radius in today's wind"
    for name, bank in zip(
        ("bank downwind", "bank across the wind", "bank upwind"), banks(tas_mps, radius_m, wind_mps), strict=True
    ):
        ws.note(name, float(round(math.degrees(bank))), "deg", "formula", source)
    load = 1.0 / math.cos(banks(tas_mps, radius_m, wind_mps)[0])
    ws.note("load factor, steepest", round(load, 2), "g", "formula", "1/cos bank, [PHAK] ch. 5")


def corner_banks(
    tas_mps: float, wind: tuple[float, float], radius_m: float, tracks: Sequence[float], sign: float
) -> list[tuple[float, float]]:
    """(bank at the start, bank at the end) of the corner after each leg. [rad]"""
    out = []
    for track in tracks:
        both = [track - wind[0], track + sign * math.pi / 2 - wind[0]]
        found = ground_reference_bank_rad(tas_mps, wind[1], radius_m, both)
        out.append((float(found[0]), float(found[1])))
    return out


def most_crab(legs: tuple[tuple[str, ...], ...]) -> str:
    """The largest crab in a table of legs: "9°"."""
    return max((row[3].split("°")[0] for row in legs[1:]), key=float) + "°"


def second_half(ws: Worksheet, tas_mps: float, radius_m: float, side: str) -> tuple[tuple[str, ...], ...]:
    """Quarter points from the upwind crossing on, for the half turned to the other side."""
    rows = wind_lines.quarters(ws, tas_mps, radius_m, side)
    start = float(rows[3][6].split()[0])
    return (rows[0], *((*r[:6], f"{float(r[6].split()[0]) - start:.0f} s") for r in rows[3:]))
