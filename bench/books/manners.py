"""Books about invented airplanes, each printed in its own manner: units, tables, rounding, corrections, omissions."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from books.machine import RHO0, Machine, air, invent

KT, MPH, KMH, FT, LB, GAL, IMP = 1852 / 3600, 0.44704, 1 / 3.6, 0.3048, 0.45359237, 3.785411784e-3, 4.54609e-3
Row = dict[str, Any]


@dataclass(frozen=True)
class Manner:
    """How a publisher prints."""

    name: str
    kind: str
    weight: str = "lb"  # lb, kg
    arm: str = "in"  # in, mm, m
    runway: str = "ft"  # ft, m
    volume: str = "us_gal"  # us_gal, l, imp_gal
    heat: str = "c"  # c, f, isa
    dial: str = "kt"  # kt, mph, km/h
    pressure: str = "inhg"
    power: str = "hp"
    stalls: str = "indicated"  # indicated, calibrated
    stall_banks: tuple[int, ...] = (0, 30, 45, 60)
    stall_shares: tuple[float, ...] = (1.0, 0.85)
    takeoff_shares: tuple[float, ...] = (1.0, 0.87)
    runway_heights_ft: tuple[int, ...] = (0, 2000, 4000, 6000, 8000)
    runway_heats: tuple[int, ...] = (0, 10, 20, 30, 40)  # °C, °F or deviations
    landing_heats: tuple[int, ...] | None = None
    climb_shares: tuple[float, ...] = (1.0,)
    climb_heights_ft: tuple[int, ...] = (0, 2000, 4000, 6000, 8000, 10000)
    climb_heats: tuple[int, ...] | None = (-20, 0, 20, 40)
    cruise_heights_ft: tuple[int, ...] = (2000, 4000, 6000, 8000)
    cruise_deviations: tuple[int, ...] = (-20, 0, 20)
    mixtures: tuple[str, ...] = ("best_power", "best_economy")
    chart: bool = True
    calibration: bool = True
    to_climb: bool = True
    drawn: float = 0.0  # spread of the reading of a drawn chart, relative
    roll_step: int = 5
    applies: str = "ground_roll"
    corrections: tuple[str, ...] = ("headwind", "tailwind", "dry_grass", "upslope", "downslope")
    more: dict[str, Any] = field(default_factory=dict)


MANNERS = (
    Manner("american", "four", dial="kt"),
    Manner(
        "european",
        "light two",
        "kg",
        "mm",
        "m",
        "l",
        "isa",
        "kt",
        "hpa",
        "ps",
        "calibrated",
        (0, 30, 45, 60),
        takeoff_shares=(1.0, 0.85),
        runway_heights_ft=(0, 2000, 4000, 6000),
        runway_heats=(-10, 0, 10, 20),
        climb_heats=(-10, 0, 10, 20),
        mixtures=("best_economy",),
        applies="total",
        cruise_deviations=(0,),
        corrections=("headwind", "tailwind", "dry_grass", "wet_grass", "upslope"),
        roll_step=5,
    ),
    Manner(
        "sixties",
        "old four",
        dial="mph",
        stalls="calibrated",
        stall_banks=(0, 20, 40, 60),
        stall_shares=(1.0,),
        takeoff_shares=(1.0,),
        runway_heights_ft=(0, 2500, 5000, 7500),
        runway_heats=(),
        climb_heats=None,
        climb_heights_ft=(0, 5000, 10000),
        cruise_heights_ft=(2500, 5000, 7500),
        cruise_deviations=(0,),
        mixtures=("best_power",),
        chart=False,
        calibration=False,
        to_climb=False,
        drawn=0.006,
        corrections=("headwind", "dry_grass", "above_standard_temperature"),
        applies="share_of_total",
    ),
    Manner(
        "ultralight",
        "ultralight",
        "kg",
        "mm",
        "m",
        "l",
        "c",
        "km/h",
        power="ps",
        stall_banks=(0,),
        stall_shares=(1.0,),
        takeoff_shares=(1.0,),
        runway_heights_ft=(0, 2000, 4000),
        runway_heats=(0, 15, 30),
        climb_heats=(0, 15, 30),
        climb_heights_ft=(0, 2000, 4000, 6000),
        cruise_heights_ft=(2000, 6000),
        cruise_deviations=(0,),
        mixtures=("best_economy",),
        chart=False,
        to_climb=False,
        corrections=("headwind", "dry_grass"),
        applies="total",
    ),
    Manner(
        "constant speed",
        "strong four",
        takeoff_shares=(1.0, 0.9, 0.8),
        climb_shares=(1.0, 0.85),
        mixtures=("best_power", "best_economy", "full_rich"),
        drawn=0.004,
        roll_step=10,
    ),
    Manner(
        "fahrenheit",
        "four",
        heat="f",
        dial="mph",
        runway_heats=(20, 40, 60, 80, 100),
        climb_heats=(0, 40, 80),
        mixtures=("full_rich", "best_power"),
        stall_banks=(0, 60),
        roll_step=10,
        corrections=("headwind", "tailwind", "dry_grass", "wet_grass"),
        applies="total",
    ),
)
# Never looked at while ranges were chosen: scored at the end alone.
KEPT_BACK = (
    Manner(
        "imperial",
        "light two",
        "lb",
        "in",
        "m",
        "imp_gal",
        "c",
        "kt",
        takeoff_shares=(1.0, 0.9),
        runway_heights_ft=(0, 1000, 2000, 4000, 6000),
        runway_heats=(0, 15, 30, 40),
        climb_heats=None,
        climb_heights_ft=(0, 3000, 6000, 9000),
        mixtures=("best_power", "full_rich"),
        chart=True,
        stall_banks=(0, 30, 60),
        corrections=("headwind", "tailwind", "wet_grass", "dry_grass"),
        applies="total",
        drawn=0.005,
    ),
    Manner(
        "metric constant speed",
        "strong four",
        "kg",
        "m",
        "m",
        "l",
        "isa",
        "kt",
        "hpa",
        "kw",
        "indicated",
        (0, 45),
        stall_shares=(1.0, 0.9, 0.8),
        takeoff_shares=(1.0, 0.88),
        runway_heights_ft=(0, 1500, 3000, 4500, 6000, 7500),
        runway_heats=(-15, 0, 15, 30),
        climb_heats=(-15, 0, 15, 30),
        climb_shares=(1.0, 0.88),
        roll_step=5,
        corrections=("headwind", "tailwind", "dry_grass", "upslope", "downslope"),
        applies="share_of_total",
        cruise_deviations=(-15, 0, 15),
    ),
)


class Printer:
    """One book being printed."""

    def __init__(self, machine: Machine, manner: Manner, seed: int) -> None:
        self.m, self.p = machine, manner
        self.draw = random.Random(f"book {seed} {manner.name}")
        self.top = self.round_to(machine.mass_kg / (LB if manner.weight == "lb" else 1.0), 10)
        self.top_kg = self.top * (LB if manner.weight == "lb" else 1.0)

    @staticmethod
    def round_to(x: float, step: float) -> float:
        found = round(x / step) * step
        return int(found) if step >= 1 else round(found, 4)

    def drawn(self, x: float) -> float:
        return x * (1.0 + self.draw.gauss(0.0, self.p.drawn)) if self.p.drawn else x

    def w(self, share: float) -> float:
        return self.top if share == 1.0 else self.round_to(self.top * share, 50 if self.top > 1200 else 25)

    def kg(self, weight: float) -> float:
        return weight * (LB if self.p.weight == "lb" else 1.0)

    @property
    def wk(self) -> str:
        return f"weight_{self.p.weight}"

    def speed(self, cas: float, notch: int = 0, calibrated: bool = False) -> Row:
        unit = {"kt": KT, "mph": MPH, "km/h": KMH}[self.p.dial]
        key = {
            "kt": ("kias", "kcas"),
            "mph": ("indicated_mph", "calibrated_mph"),
            "km/h": ("indicated_kmh", "calibrated_kmh"),
        }[self.p.dial][calibrated]
        value = cas if calibrated else self.m.indicated(cas, notch)
        return {key: round(value / unit)}

    def named(self, stem: str, cas: float, notch: int = 0) -> Row:
        ((key, value),) = self.speed(cas, notch).items()
        return {f"{stem}_{key}": value}

    def heat(self, x: float, height_m: float) -> tuple[Row, float]:
        """(the column as printed, deviation from standard [K])."""
        standard_c = 15.0 - 0.0065 * height_m
        if self.p.heat == "isa":
            return {"isa_deviation_c": x}, x
        if self.p.heat == "f":
            return {"oat_f": x}, (x - 32) / 1.8 - standard_c
        return {"oat_c": x}, x - standard_c

    def standard(self, height_m: float) -> Row:
        c = 15.0 - 0.0065 * height_m
        if self.p.heat == "isa":
            return {"isa_deviation_c": 0}
        return {"oat_f": round(c * 1.8 + 32)} if self.p.heat == "f" else {"oat_c": round(c)}

    def volume(self, m3: float, step: float) -> float:
        unit = {"us_gal": GAL, "l": 1e-3, "imp_gal": IMP}[self.p.volume]
        return self.round_to(m3 / unit, step * (5 if self.p.volume == "l" and step < 1 else 1))

    # --- the book ---

    def book(self) -> dict[str, Any]:
        m, p = self.m, self.p
        full = len(m.lift) - 1
        area = {"ft2": m.area_m2 / FT**2, "m2": m.area_m2}["m2" if p.weight == "kg" else "ft2"]
        length = m.span_m / (1 if p.weight == "kg" else FT)
        power = m.power_w / {"hp": 745.7, "ps": 735.49875, "kw": 1000.0}[p.power]
        self.power_printed = round(power)
        data: dict[str, Any] = {
            "airplane": {
                "schema_version": 1,
                "id": f"book_{p.name.replace(' ', '_')}",
                "name": f"Book, {p.name}",
                "invented": True,
                "seats": 2 if p.kind in {"light two", "ultralight"} else 4,
                "category": ["normal"],
                f"maximum_takeoff_weight_{p.weight}": self.top,
                f"wing_area_{'m2' if p.weight == 'kg' else 'ft2'}": round(area, 1),
                f"wing_span_{'m' if p.weight == 'kg' else 'ft'}": round(length, 1),
                "airspeed_indicator_unit": p.dial,
            },
            "engine": {
                f"rated_power_{p.power}": self.power_printed,
                "rated_rpm": m.rpm,
                "fuel_system": "carburetor" if m.fixed_pitch else "fuel injection",
            },
            "propeller": {
                "type": "fixed_pitch" if m.fixed_pitch else "constant_speed",
                **(
                    {"diameter_cm": round(m.diameter_m * 100)}
                    if p.weight == "kg"
                    else {"diameter_in": round(m.diameter_m / 0.0254)}
                ),
            },
        }
        if "best_power" in p.mixtures or "best_economy" in p.mixtures:
            data["engine"]["leaning"] = {"maximum_percent_power": 75 if p.kind != "ultralight" else 100}
        data["fuel"] = self.fuel()
        limit = {}
        stall0, stall1 = m.stall(self.top_kg, 0), m.stall(self.top_kg, full)
        notches: list[Row] = [{"notch": 0, "deflection_deg": 0}]
        fast = 1.95 * stall1
        for k in range(1, full + 1):
            notches.append(
                {
                    "notch": k,
                    "deflection_deg": (10, 20, 35)[k - 1],
                    **self.named("maximum_speed", fast * (1.0 + 0.06 * (full - k)), k),
                }
            )
        data["flaps"] = {"notches": notches}
        if p.calibration:
            data["airspeed_calibration"] = self.calibration(stall0, stall1, full)
        data["v_speeds"] = {"rows": self.v_speeds(full)}
        cruise = 2.55 * stall0
        limit |= self.named("never_exceed", cruise * 1.26) | self.named("maximum_structural_cruise", cruise)
        limit |= self.named("maximum_flaps_extended", fast, full)
        arcs = {"kt": "kias", "mph": "indicated_mph", "km/h": "indicated_kmh"}[p.dial]
        pick = lambda d: next(iter(d.values()))  # noqa: E731
        limit[f"white_arc_{arcs}"] = [pick(self.speed(stall1, full)), pick(self.named("x", fast, full))]
        limit[f"green_arc_{arcs}"] = [pick(self.speed(stall0)), pick(self.named("x", cruise))]
        limit[f"yellow_arc_{arcs}"] = [pick(self.named("x", cruise)), pick(self.named("x", cruise * 1.26))]
        limit |= {"maximum_rpm": m.rpm, "load_factor_flaps_up_g": [-1.52, 3.8], "load_factor_flaps_down_g": [0.0, 2.0]}
        limit["maximum_demonstrated_crosswind_kt"] = round(0.27 * stall1 / KT)
        data["limitations"] = limit
        data["weight_and_balance"] = self.loading()
        data["performance"] = self.performance(full)
        return data

    def fuel(self) -> Row:
        hours = self.draw.uniform(4.2, 5.6)
        usable = self.m.flow_kgps(0.7, "best_power") * 3600 * hours / 719.0 / 2
        key = self.p.volume
        self.tank = self.volume(usable, 0.5 if key != "l" else 1)
        rest = self.volume(0.5 * GAL * self.draw.choice((1, 2, 3)), 0.5 if key != "l" else 1) or 1
        row = {f"usable_{key}": self.tank, f"unusable_{key}": rest, f"capacity_{key}": self.tank + rest}
        return {
            "tanks": [{"name": "left wing", **row}, {"name": "right wing", **row}],
            "selector_positions": ["off", "left", "right"],
        }

    def calibration(self, stall0: float, stall1: float, full: int) -> Row:
        unit = {"kt": KT, "mph": MPH, "km/h": KMH}[self.p.dial]
        keys = {
            "kt": ("kias", "kcas"),
            "mph": ("indicated_mph", "calibrated_mph"),
            "km/h": ("indicated_kmh", "calibrated_kmh"),
        }[self.p.dial]
        out = {}
        for name, notch, slow, fast in (
            ("flaps_up", 0, stall0, 3.4 * stall0),
            ("flaps_down", full, stall1, 2.1 * stall1),
        ):
            first = self.round_to(self.m.indicated(slow, notch) / unit - 4, 10)
            values = [float(first)]
            while values[-1] * unit < fast:
                values.append(values[-1] + (10 if values[-1] < 100 else 20))
            out[name] = {
                "rows": [{keys[0]: int(v), keys[1]: round(self.m.calibrated(v * unit, notch) / unit)} for v in values]
            }
        return out

    def v_speeds(self, full: int) -> list[Row]:
        m, rows = self.m, []
        rho, temperature = air(0)
        for share in (1.0, 0.85) if len(self.p.stall_shares) > 1 else (1.0,):
            weight = self.w(share)
            kg = self.kg(weight)
            for name, cas, notch in (
                ("stall_flaps_full", m.stall(kg, full), full),
                ("stall_flaps_up", m.stall(kg, 0), 0),
                ("maneuvering", m.stall(kg, 0) * math.sqrt(3.8) * 0.99, 0),
                ("best_glide", m.glide(kg)[1], 0),
            ):
                rows.append({"name": name, self.wk: weight, **self.speed(cas, notch)})
        top = self.top_kg
        rows.append({"name": "best_rate_of_climb", self.wk: self.top, **self.speed(m.climb(top, rho, temperature)[1])})
        steep = min(m.steepest(top, rho, temperature), m.climb(top, rho, temperature)[1] * 0.97)
        rows.append({"name": "best_angle_of_climb", self.wk: self.top, **self.speed(steep)})
        rows.append({"name": "approach_flaps_full", self.wk: self.top, **self.speed(1.3 * m.stall(top, full), full)})
        return rows

    def loading(self) -> Row:
        p, unit = self.p, {"in": 0.0254, "mm": 0.001, "m": 1.0}[self.p.arm]
        step = {"in": 0.5, "mm": 5, "m": 0.01}[p.arm]
        chord = self.m.area_m2 / self.m.span_m
        lead = self.draw.uniform(0.6, 2.2)  # leading edge behind the datum
        two = p.kind in {"light two", "ultralight"}
        arm = lambda x: self.round_to(x / unit, step)  # noqa: E731
        mass = lambda kg, s=10: self.round_to(kg / (LB if p.weight == "lb" else 1), s)  # noqa: E731
        top, empty = self.top_kg, self.top_kg * (0.61 if two else 0.59)
        fore, mid, aft = lead + 0.17 * chord, lead + 0.25 * chord, lead + 0.36 * chord
        k = f"weight_{p.weight}"
        light, knee = mass(top * 0.66, 50), mass(top * 0.85, 50)
        polygon = [
            {k: light, f"arm_{p.arm}": arm(fore)},
            {k: knee, f"arm_{p.arm}": arm(fore)},
            {k: self.top, f"arm_{p.arm}": arm(mid)},
            {k: self.top, f"arm_{p.arm}": arm(aft)},
            {k: light, f"arm_{p.arm}": arm(aft)},
        ]
        seat = lead + 0.33 * chord
        stations = [{"name": "front seats", f"arm_{p.arm}": arm(seat), f"maximum_{p.weight}": mass(230)}]
        if not two:
            stations.append({"name": "rear seats", f"arm_{p.arm}": arm(seat + 0.92), f"maximum_{p.weight}": mass(200)})
        volume = {"us_gal": "usable_us_gal", "l": "usable_l", "imp_gal": "usable_imp_gal"}[p.volume]
        stations.append({"name": "fuel", f"arm_{p.arm}": arm(lead + 0.40 * chord), volume: 2 * self.tank})
        stations.append(
            {
                "name": "baggage",
                f"arm_{p.arm}": arm(seat + (0.6 if two else 1.5)),
                f"maximum_{p.weight}": mass(20 if two else 54),
            }
        )
        return {
            f"empty_weight_{p.weight}": mass(empty, 1),
            f"empty_arm_{p.arm}": self.round_to((lead + 0.215 * chord) / unit, step / 5),
            "stations": stations,
            "envelope_normal": {"polygon": polygon},
        }

    # --- performance ---

    def performance(self, full: int) -> Row:
        m, p = self.m, self.p
        out: Row = {"stall": {"rows": []}}
        for share in p.stall_shares:
            for notch in range(full + 1):
                for bank in p.stall_banks:
                    cas = m.stall(self.kg(self.w(share)), notch, 1 / math.cos(math.radians(bank)))
                    out["stall"]["rows"].append(
                        {
                            self.wk: self.w(share),
                            "flap_notch": notch,
                            "bank_deg": bank,
                            **self.speed(cas, notch, p.stalls == "calibrated"),
                        }
                    )
        if p.chart:
            out["power_chart"] = self.chart()
        out["cruise"] = {self.wk: self.top, "rows": self.cruise()}
        out["climb"] = self.climb()
        if p.to_climb:
            out["time_fuel_distance_to_climb"] = self.to_climb()
        takeoff_notch = 1 if p.kind == "strong four" else 0
        out["takeoff"] = self.distances("takeoff", takeoff_notch, p.takeoff_shares, p.runway_heats)
        out["landing"] = self.distances("landing", full, (1.0,), p.landing_heats or p.runway_heats)
        ratio, cas = m.glide(self.top_kg)
        out["glide"] = {"rows": [{self.wk: self.top, "glide_ratio": round(ratio, 1)}]}
        return out

    def chart(self) -> Row:
        m, rows = self.m, []
        if m.fixed_pitch:
            for height in range(0, 10001, 2000):
                rho, t = air(height * FT)
                for rpm in range(m.rpm - 600, m.rpm + 1, 100):
                    found = m.level(rpm, self.top_kg, rho, t)
                    if found and found[1] < m.power_w:
                        rows.append(
                            {
                                "density_altitude_ft": height,
                                "rpm": rpm,
                                "percent_power": round(100 * found[1] / m.power_w),
                            }
                        )
            return {self.wk: self.top, "rows": rows}
        for height in range(0, 8001, 2000):
            for rpm in (2100, 2300, m.rpm if m.rpm > 2400 else 2400):
                for mp in range(18, 28 - int(height / 1100), 2):
                    share = m.manifold_power(mp, rpm, height * FT)
                    if 0.35 < share < 1.0:
                        key, value = (
                            ("manifold_pressure_inhg", mp)
                            if self.p.pressure == "inhg"
                            else ("manifold_pressure_hpa", round(mp * 33.86389 / 10) * 10)
                        )
                        if self.p.pressure == "hpa":
                            share = m.manifold_power(value / 33.86389, rpm, height * FT)
                        rows.append(
                            {
                                "pressure_altitude_ft": height,
                                "rpm": rpm,
                                key: value,
                                "percent_power": round(100 * share),
                            }
                        )
        return {self.wk: self.top, "conditions": "subtract 1 percent power for each 6 C above standard", "rows": rows}

    def cruise(self) -> list[Row]:
        m, p, rows = self.m, self.p, []
        speed, key = {"kt": (KT, "ktas"), "mph": (MPH, "true_mph"), "km/h": (KMH, "true_kmh")}[p.dial]
        flow_key = {"us_gal": "gph", "l": "lph", "imp_gal": "imp_gph"}[p.volume]
        flow_unit = {"us_gal": GAL, "l": 1e-3, "imp_gal": IMP}[p.volume]
        for height in p.cruise_heights_ft:
            for deviation in p.cruise_deviations:
                rho, t = air(height * FT, deviation)
                for row, tas, share in self._settings(height, deviation, rho, t):
                    row = {
                        "pressure_altitude_ft": height,
                        "isa_deviation_c": deviation,
                        **row,
                        "percent_power": round(100 * share),
                        key: round(self.drawn(tas) / speed),
                    }
                    for mixture in p.mixtures:
                        if mixture == "full_rich" or share <= 0.76 or p.kind == "ultralight":
                            flow = self.drawn(m.flow_kgps(share, mixture)) / 0.719 / 1000 * 3600 / flow_unit
                            row[f"{flow_key}_{mixture}"] = round(flow, 1)
                    rows.append(row)
        return rows

    def _settings(self, height: int, deviation: float, rho: float, t: float) -> list[tuple[Row, float, float]]:
        m, found = self.m, []
        if m.fixed_pitch:
            for rpm in range(m.rpm - 500, m.rpm + 1, 100):
                level = m.level(rpm, self.top_kg, rho, t)
                if level and level[1] <= m.power_w and level[1] > 0.4 * m.power_w:
                    found.append(({"rpm": rpm}, level[0], level[1] / m.power_w))
            return found
        for rpm in (2100, 2300, 2400 if m.rpm <= 2400 else 2500):
            for mp in range(18, 27 - int(height / 1100), 2):
                value = mp if self.p.pressure == "inhg" else round(mp * 33.86389 / 10) * 10
                inhg = mp if self.p.pressure == "inhg" else value / 33.86389
                share = m.manifold_power(inhg, rpm, height * FT) - 0.01 * deviation / 6.0
                if 0.4 < share < 0.86:
                    key = "manifold_pressure_inhg" if self.p.pressure == "inhg" else "manifold_pressure_hpa"
                    found.append(
                        ({"rpm": rpm, key: value}, m.level_at_power(share * m.power_w, self.top_kg, rho), share)
                    )
        return found

    def climb(self) -> Row:
        m, p, rows = self.m, self.p, []
        for share in p.climb_shares:
            for height in p.climb_heights_ft:
                columns = (
                    [self.heat(x, height * FT) for x in p.climb_heats]
                    if p.climb_heats
                    else [(self.standard(height * FT), 0.0)]
                )
                for column, deviation in columns:
                    rho, t = air(height * FT, deviation)
                    rate, cas = m.climb(self.kg(self.w(share)), rho, t)
                    if rate > 0.5:
                        rows.append(
                            {
                                self.wk: self.w(share),
                                "pressure_altitude_ft": height,
                                **column,
                                **self.named("climb_speed", cas),
                                "rate_of_climb_fpm": self.round_to(self.drawn(rate) / FT * 60, 5),
                            }
                        )
        table: Row = {"rows": rows}
        if not p.climb_heats:
            table["temperature_correction"] = {"change_percent": -10, "per_c": 10}
        return table

    def to_climb(self) -> Row:
        m, rows = self.m, []
        time = fuel = distance = 0.0
        unit = {"us_gal": GAL, "l": 1e-3, "imp_gal": IMP}[self.p.volume]
        for height in range(0, 12001, 100):
            if height % 2000 == 0:
                rows.append(
                    {
                        "pressure_altitude_ft": height,
                        "time_min": round(time / 60),
                        f"fuel_{self.p.volume}": round(fuel / unit, 1),
                        "distance_nm": round(distance / 1852),
                    }
                )
            rho, t = air(height * FT)
            rate, cas = m.climb(self.top_kg, rho, t)
            if rate < 1.2:
                break
            step = 100 * FT / rate
            time += step
            distance += step * cas * math.sqrt(RHO0 / rho)
            share = m.full_power_w(rho, m.rpm * (0.93 if m.fixed_pitch else 1.0), t) / m.power_w
            fuel += step * m.flow_kgps(share, "full_rich") / 719.0
        return {
            self.wk: self.top,
            "rows": [r for i, r in enumerate(rows) if i == 0 or r["time_min"] > rows[i - 1]["time_min"]],
        }

    def distances(self, kind: str, notch: int, shares: tuple[float, ...], heats: tuple[int, ...]) -> Row:
        m, p, rows = self.m, self.p, []
        length = FT if p.runway == "ft" else 1.0
        step = p.roll_step if p.runway == "ft" else max(1, p.roll_step // 5 * 5)
        roll_key = f"ground_roll_{p.runway}"
        total_key = "total_over_50_ft" if p.runway == "ft" else "total_over_15_m"
        work: Callable[..., tuple[float, float]] = m.takeoff if kind == "takeoff" else m.landing
        for share in shares:
            for height in p.runway_heights_ft:
                columns = [self.heat(x, height * FT) for x in heats] if heats else [(self.standard(height * FT), 0.0)]
                for column, deviation in columns:
                    roll, total = work(self.kg(self.w(share)), notch, height * FT, deviation)
                    rows.append(
                        {
                            self.wk: self.w(share),
                            "pressure_altitude_ft": height,
                            **column,
                            roll_key: self.round_to(self.drawn(roll) / length, step),
                            total_key: self.round_to(self.drawn(total) / length, step),
                        }
                    )
        speeds = {}
        top = self.top_kg
        if kind == "takeoff":
            speeds |= self.named("liftoff", 1.13 * m.stall(top, notch), notch) | self.named(
                "speed_at_50_ft", 1.25 * m.stall(top, notch), notch
            )
        else:
            speeds |= self.named("approach", 1.3 * m.stall(top, notch), notch)
        return {"flap_notch": notch, **speeds, "rows": rows, "corrections": self.corrections(kind)}

    def corrections(self, kind: str) -> list[Row]:
        out, p, up = [], self.p, kind == "takeoff"
        on = {"applies_to": p.applies}
        for cause in p.corrections:
            if cause == "headwind":
                out.append({"cause": cause, "per": 9, "unit": "kt", "change_percent": -10})
            elif cause == "tailwind":
                out.append({"cause": cause, "per": 2, "unit": "kt", "maximum": 10, "change_percent": 10})
            elif cause == "dry_grass":
                out.append(
                    {
                        "cause": cause,
                        "change_percent": {"ground_roll": 15, "total": 10, "share_of_total": 7}[p.applies],
                        **on,
                    }
                )
            elif cause == "wet_grass":
                out.append({"cause": cause, "change_percent": 22 if up else 30, **on})
            elif cause in {"upslope", "downslope"} and (up or cause == "downslope"):
                change = {("upslope", True): 7, ("downslope", True): -4, ("downslope", False): 4}[cause, up]
                out.append({"cause": cause, "per": 1, "unit": "percent", "change_percent": change, **on})
            elif cause == "above_standard_temperature":
                out.append({"cause": cause, "per": 25, "unit": "F", "change_percent": 10})
        return out


def make(manner: Manner, seed: int) -> dict[str, Any]:
    """The data of one book, as it would be typed."""
    return Printer(invent(seed, manner.kind), manner, seed).book()
