"""Turn lines of a set-up: bank, load factor, margin to the stall, rate, radius, time, roll-out lead. SI."""

from __future__ import annotations

import math

from airwork import units
from airwork.airdata import turn
from airwork.airdata.atmosphere import G0_MPS2
from airwork.errors import NotPossible
from airwork.maneuvers.paths.flown_ideal import FlownIdeal
from airwork.maneuvers.setting_up import power_lines
from airwork.maneuvers.setting_up.heights import FT
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace

STANDARD_RATE_RADPS = math.radians(3.0)
AHEAD = {"left": -1.0, "right": 1.0}


def note_turn(
    ws: Worksheet, cas_mps: float, bank_rad: float, notch: int = 0, turn_rad: float = 2.0 * math.pi, *,
    bank_source: str = "",
) -> None:  # fmt: skip
    """Add the lines of a level turn at a speed.

    Raises
    ------
    NotPossible : the speed is below the stall in that bank, or the bank loads the airplane beyond its limit.
    """
    tas, degrees = ws.tas_mps(cas_mps), math.degrees(bank_rad)
    load = float(turn.load_factor(bank_rad))
    limits = ws.airplane.limits
    most = limits.load_factor_flaps_down[1] if notch else limits.load_factor_flaps_up[1]
    if load > most:
        raise NotPossible(f"{ws.title}: {degrees:.0f}° of bank is {load:.2f} g, above the limit of {most:g} g.")
    stall, unit = ws.stall_cas_mps(notch, load), ws.airplane.dial_unit
    ias, stall_ias = ws.ias(cas_mps, notch), ws.on_dial(ws.ias(stall, notch), "up")
    if cas_mps <= stall:
        raise NotPossible(f"{ws.title}: {ws.airplane.dial(ias)} is below the stall in a {degrees:.0f}° bank today.")
    ws.note("bank", float(round(degrees)), "deg", "given", bank_source or ws.task.code or "common practice, no source")
    ws.note("load factor", round(load, 2), "g", "formula", "1/cos bank, [PHAK] ch. 5", also=f"limit {most:g} g")
    ws.note_speed("stall in the bank", stall_ias, "formula", "stall speed · √n, calibrated; power idle")
    ws.stall_margin_mps = min(ias - stall_ias, math.inf if ws.stall_margin_mps is None else ws.stall_margin_mps)
    ws.note("margin to the stall", float(round(units.to_unit(ias - stall_ias, unit))), unit, "formula",
            "speed less stall in the bank")  # fmt: skip
    rate = float(turn.turn_rate_radps(tas, bank_rad))
    ws.note("turn rate", round(math.degrees(rate), 1), "°/s", "formula", "g·tan bank/V, true airspeed")
    radius = float(turn.turn_radius_m(tas, bank_rad))
    ws.note("turn radius", float(round(radius / FT / 10) * 10), "ft", "formula", "V²/(g·tan bank), still air")
    ws.note("time for the turn", float(round(abs(turn_rad) / rate)), "s", "formula",
            f"{math.degrees(turn_rad):.0f}° at full bank")  # fmt: skip
    ws.note("roll-out lead", float(round(math.degrees(float(turn.rollout_lead_rad(bank_rad))))), "deg", "formula",
            "half the bank, [AFH] ch. 3 and 10")  # fmt: skip


def use_power(
    ws: Worksheet, cas_mps: float, bank_rad: float, turn_rad: float, count: int, power: power_lines.Power | None
) -> None:
    """Add so many turns, with the straight flight between them, to the fuel plan."""
    seconds = turn_rad / (G0_MPS2 * math.tan(bank_rad) / ws.tas_mps(cas_mps)) + 12.0
    ws.use_power(count * seconds, None if power is None else power.ratio)


def fly(set_up: SetUp, order: Order, *, between_s: float = 5.0) -> Trace:
    """The turn each way that is asked for, five seconds straight before and after, `between_s` between. [s]"""
    flown = FlownIdeal(order, set_up.entry_altitude_m, set_up.targets["ias_mps"])
    for k, sign in enumerate(sides(str(order.target.get("direction", "both")).lower())):
        flown.hold(between_s if k else 5.0)
        flown.turn(sign * set_up.targets["turn_rad"], set_up.targets["bank_rad"])
    flown.hold(5.0)
    return flown.trace()


def banks_table(ws: Worksheet, cas_mps: float, banks_deg: tuple[float, ...]) -> tuple[tuple[str, ...], ...]:
    """Table of banks at one speed, flaps up: load, stall speed, rate, radius, time of 360°."""
    tas = ws.tas_mps(cas_mps)
    rows = [("bank", "load", "stall", "rate", "radius", "360°", "lead")]
    for degrees in banks_deg:
        bank = math.radians(degrees)
        load = float(turn.load_factor(bank))
        stall = ws.on_dial(ws.ias(ws.stall_cas_mps(0, load)), "up")
        rate = float(turn.turn_rate_radps(tas, bank))
        rows.append(
            (
                f"{degrees:.0f}°",
                f"{load:.2f} g",
                ws.mark(stall),
                f"{math.degrees(rate):.1f}°/s",
                units.write(round(float(turn.turn_radius_m(tas, bank)) / FT / 10) * 10 * FT, "ft"),
                f"{2.0 * math.pi / rate:.0f} s",
                f"{degrees / 2:.0f}°",
            )
        )
    return tuple(rows)


def standard_rate_bank_rad(ws: Worksheet, cas_mps: float) -> float:
    """Bank of the standard-rate turn at today's true airspeed. [rad]"""
    return float(turn.bank_for_rate_rad(ws.tas_mps(cas_mps), STANDARD_RATE_RADPS))


def sides(word: str) -> tuple[float, ...]:
    """Signs of the turns for "left", "right" or "both" (left first: the seat most see from)."""
    return (-1.0, 1.0) if word == "both" else (AHEAD[word],)
