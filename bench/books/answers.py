"""What somebody flies by, from a book: numbers by name, so that a slip can be told to matter or not.

A number matters when it changes by more than twice the step a book prints it in: speeds 2 kt, distances 1 % and 20 ft,
climb 20 ft/min and 3 %, percent power 2 points, fuel flow 0.3 gal/h, fuel 0.5 gal, weights 5 lb, center of gravity
0.2 in, limits and corrections 2 kt or 1 %. A number that can no longer be had matters too, but is on no unsafe side.
"""

from __future__ import annotations

import math
from typing import Any

from airwork import units
from airwork.airplane import Airplane, runway
from airwork.airplane.loading import arm_limits_in
from airwork.errors import AirworkError

Value = float | None
ALONE = {
    "performance.takeoff",
    "performance.landing",
    "performance.time_fuel_distance_to_climb",
    "performance.cruise",
    "performance.power_chart",
}
# by the first word of a name: (absolute, relative) change that matters; +1: more is unsafe, −1: less is, 0: either
MATTERS = {
    "takeoff": (20.0, 0.01, -1),
    "landing": (20.0, 0.01, -1),
    "climb": (20.0, 0.03, 1),
    "power": (2.0, 0.0, 1),
    "tas": (2.0, 0.0, 1),
    "flow": (0.3, 0.0, -1),
    "stall": (2.0, 0.0, -1),
    "speed": (2.0, 0.0, 0),
    "limit": (2.0, 0.0, 1),
    "fuel": (0.5, 0.0, 1),
    "weight": (5.0, 0.0, 1),
    "arm": (0.2, 0.0, 0),
    "envelope": (0.2, 0.0, 0),
    "glide": (0.2, 0.0, 1),
    "time": (1.0, 0.0, -1),
    "rule": (0.01, 0.0, -1),
    "calibration": (2.0, 0.0, 1),
}


def _try(call: Any) -> Value:
    try:
        found = float(call())
    except (AirworkError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return found if math.isfinite(found) else None


def answers(a: Airplane, like: Airplane, only: str = "") -> dict[str, Value]:
    """Numbers by name, at the places the sound book (`like`) prints.

    only : the table that was changed, where no other table's answers can change with it.
    """
    out: dict[str, Value] = {}
    file = like.file
    alone = only.removeprefix("performance.") if only in ALONE else ""

    def wanted(name: str) -> bool:
        return not alone or alone == name

    for kind in ("takeoff", "landing"):
        if not wanted(kind):
            continue
        table = getattr(file.performance, kind)
        work = getattr(runway, kind)
        for i, row in enumerate(table.rows):
            asked = (
                units.from_unit(row.weight_lb, "lb"),
                units.from_unit(row.pressure_altitude_ft, "ft"),
                units.from_unit(row.oat_c, "°C"),
            )
            try:
                found = work(a, *asked)
                out[f"{kind} roll {i}"], total = found.ground_roll_m / units.FT_M, found.over_50_ft_m
                out[f"{kind} total {i}"] = None if total is None else total / units.FT_M
            except AirworkError:
                out[f"{kind} roll {i}"] = out[f"{kind} total {i}"] = None
        row = table.rows[0]
        asked = (
            units.from_unit(row.weight_lb, "lb"),
            units.from_unit(row.pressure_altitude_ft, "ft"),
            units.from_unit(row.oat_c, "°C"),
        )
        calm = _try(lambda work=work, asked=asked: work(a, *asked).needed_m)
        for name, more in (
            ("head", (5.0,)),
            ("tail", (-2.0,)),
            ("grass", (0.0, "dry_grass")),
            ("wet", (0.0, "wet_grass")),
            ("up", (0.0, "paved_dry", 0.02)),
            ("down", (0.0, "paved_dry", -0.02)),
        ):
            got = _try(lambda work=work, asked=asked, more=more: work(a, *asked, *more).needed_m)
            out[f"rule {kind} {name}"] = None if got is None or calm is None else got / calm
        rule = next((c for c in getattr(a.file.performance, kind).corrections if c.unit in {"F", "C"}), None)
        out[f"rule {kind} heat"] = None if rule is None else 1 + rule.change_percent / 100 / rule.per
    for i, row in enumerate(file.performance.climb.rows if wanted("climb") else []):
        asked = (
            units.from_unit(row.weight_lb, "lb"),
            units.from_unit(row.pressure_altitude_ft, "ft"),
            units.from_unit(row.oat_c, "°C"),
        )
        out[f"climb {i}"] = _try(lambda asked=asked: a.climb_rate_mps(*asked) / units.FPM_MPS)
        out[f"speed climb {i}"] = _try(lambda asked=asked: units.to_unit(a.climb.speed_ias_mps(*asked), "kt"))
    if file.performance.time_fuel_distance_to_climb and wanted("time_fuel_distance_to_climb"):
        for i, row in enumerate(file.performance.time_fuel_distance_to_climb.rows[1:]):
            top = units.from_unit(row.pressure_altitude_ft, "ft")
            out[f"time {i}"] = _try(lambda top=top: a.climb.to_climb(0.0, top).time_s / 60)
            out[f"fuel climb {i}"] = _try(lambda top=top: a.climb.to_climb(0.0, top).fuel_m3 / units.USGAL_M3)
            out[f"time distance {i}"] = _try(lambda top=top: a.climb.to_climb(0.0, top).distance_m / units.NM_M)
    rows = file.performance.cruise.rows if wanted("cruise") else []

    def place(r: Any) -> tuple[Any, ...]:
        setting = (r.percent_power,) if r.rpm is None else (r.rpm, r.manifold_pressure_inhg)
        return r.pressure_altitude_ft, r.isa_deviation_c, *setting

    now = {place(r): r for r in a.file.performance.cruise.rows}
    for i, row in enumerate(rows):
        got = now.get(place(row))
        out[f"power cruise {i}"] = None if got is None else got.percent_power
        out[f"tas {i}"] = None if got is None else got.ktas or math.nan
        for mixture in ("full_rich", "best_power", "best_economy"):
            if getattr(row, f"gph_{mixture}") is not None:
                out[f"flow {mixture} {i}"] = None if got is None else getattr(got, f"gph_{mixture}")
    if file.performance.power_chart and wanted("power_chart"):
        for i, row in enumerate(file.performance.power_chart.rows):
            height = row.density_altitude_ft if row.density_altitude_ft is not None else row.pressure_altitude_ft
            given = [height, row.rpm, *([] if row.manifold_pressure_inhg is None else [row.manifold_pressure_inhg])]
            out[f"power chart {i}"] = _try(lambda given=given: a.engine.chart(*given))
    if alone:
        return out
    top = a.max_takeoff_mass_kg
    for i, row in enumerate(file.performance.stall.rows):
        load = 1 / math.cos(math.radians(row.bank_deg))
        out[f"stall {i}"] = _try(
            lambda row=row, load=load: units.to_unit(
                a.ias_from_cas_mps(
                    a.stall_cas_mps(units.from_unit(row.weight_lb, "lb"), row.flap_notch, load), row.flap_notch
                ),
                "kt",
            )
        )
    for name in dict.fromkeys(r.name for r in file.v_speeds.rows):
        for share in (1.0, 0.87):
            out[f"speed {name} {share}"] = _try(
                lambda name=name, share=share: units.to_unit(
                    a.ias_from_cas_mps(a.speed_cas_mps(name, top * share), a.speed_notch(name)), "kt"
                )
            )
    lim = a.limits
    for name in ("never_exceed", "max_structural_cruise", "max_flaps_extended"):
        got = getattr(lim, f"{name}_ias_mps")
        out[f"limit {name}"] = None if got is None else units.to_unit(got, "kt")
    for notch in a.flap_notches:
        out[f"limit flap {notch.notch}"] = None if notch.max_ias_mps is None else units.to_unit(notch.max_ias_mps, "kt")
    out["limit crosswind"] = None if lim.max_crosswind_mps is None else units.to_unit(lim.max_crosswind_mps, "kt")
    out["limit rpm"] = None if lim.max_rpm is None else lim.max_rpm / 10
    for arc in ("white", "green", "yellow"):
        if pair := getattr(a.file.limitations, f"{arc}_arc_kias"):
            out[f"limit {arc} low"], out[f"limit {arc} high"] = pair
    for tank in a.tanks:
        out[f"fuel {tank.name}"] = units.to_unit(tank.usable_m3, "gal")
    out["weight top"] = units.to_unit(top, "lb")
    out["power rated"] = units.to_unit(a.rated_power_w, "hp")
    out["glide"] = _try(lambda: a.glide_ratio)
    wb = a.file.weight_and_balance
    out["weight empty"], out["arm empty"] = wb.empty_weight_lb, wb.empty_arm_in
    for s in wb.stations:
        share = {"front seats": 340, "rear seats": 170, "fuel": 150}.get(s.name, 60) / units.to_unit(top, "lb")
        out[f"arm {s.name}"] = s.arm_in * share  # by how much the center of gravity of a usual load moves
        out[f"weight {s.name}"] = s.maximum_lb
    for share in (0.7, 0.8, 0.9, 1.0):
        edges = _try_edges(a, share * like.file.airplane.maximum_takeoff_weight_lb)
        for end, value in zip(("fore", "aft"), edges, strict=True):
            out[f"envelope {share} {end}"] = value
    for notch in (0, a.flaps_full):
        for kt in (55, 75, 95, 115):
            out[f"calibration {notch} {kt}"] = _try(
                lambda kt=kt, notch=notch: units.to_unit(a.cas_from_ias_mps(units.from_unit(kt, "kt"), notch), "kt")
            )
    return out


def _try_edges(a: Airplane, lb: float) -> tuple[Value, Value]:
    wb = a.file.weight_and_balance
    envelope = wb.envelope_normal or wb.envelope_light_sport
    found = arm_limits_in(envelope, lb)
    return found if found is not None else (None, None)


def difference(sound: dict[str, Value], now: dict[str, Value]) -> tuple[bool, bool]:
    """(does it matter, is it on the unsafe side by more than 10 %)."""
    matters = unsafe = False
    for name, was in sound.items():
        if was is None or name not in now:
            continue
        got = now[name]
        if got is None:
            matters = True
            continue
        absolute, relative, side = MATTERS[name.split()[0]]
        change = got - was
        if abs(change) < absolute - 1e-9 or abs(change) < relative * abs(was):
            continue
        matters = True
        worse = change * side > 0 if side else True
        if name.startswith(("arm", "envelope")):
            unsafe |= abs(change) > 0.1 * 10.0  # a tenth of a usual envelope, in
        elif name.startswith("rule"):
            unsafe |= worse and abs(change) > 0.1
        else:
            unsafe |= worse and abs(change) > 0.1 * abs(was)
    return matters, unsafe
