"""The performance tables of a book being printed in a manner, from the machine's physics, rounded as it rounds."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from typing import Any

from books.machine import RHO0, Machine, air
from books.manners import Manner

KT, MPH, KMH, FT, LB, GAL, IMP = 1852 / 3600, 0.44704, 1 / 3.6, 0.3048, 0.45359237, 3.785411784e-3, 4.54609e-3
Row = dict[str, Any]


class Tables:
    """How the book prints numbers, and its performance tables."""

    def __init__(self, machine: Machine, manner: Manner, seed: int) -> None:
        self.m, self.p = machine, manner
        self.fuel_kgpm3 = 804.0 if machine.diesel else 719.0
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

    def named(self, stem: str, cas: float, notch: int = 0, calibrated: bool = False) -> Row:
        ((key, value),) = self.speed(cas, notch, calibrated).items()
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
                            flow = self.drawn(m.flow_kgps(share, mixture)) / self.fuel_kgpm3 * 3600 / flow_unit
                            row[f"{flow_key}_{mixture}"] = round(flow, 1)
                    rows.append(row if p.percent else {k: v for k, v in row.items() if k != "percent_power"})
        return rows

    def _settings(self, height: int, deviation: float, rho: float, t: float) -> list[tuple[Row, float, float]]:
        m, found = self.m, []
        if m.fixed_pitch:
            for rpm in range(m.rpm - 500, m.rpm + 1, 100):
                level = m.level(rpm, self.top_kg, rho, t)
                if level and level[1] <= m.power_w and level[1] > 0.4 * m.power_w:
                    found.append(({"rpm": rpm}, level[0], level[1] / m.power_w))
            return found
        if self.p.load:
            shares = (x / 100 for x in range(50, 101, 10))
            return [
                ({}, m.level_at_power(x * m.power_w, self.top_kg, rho), x)
                for x in shares
                if x * m.power_w <= 1.001 * m.full_power_w(rho, m.rpm, t)
            ]
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
            fuel += step * m.flow_kgps(share, "full_rich") / self.fuel_kgpm3
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
                    rows += self._windy(rows[-1], kind, notch, (roll, total), (roll_key, total_key), step)
        speeds = {}
        top = self.top_kg
        if kind == "takeoff":
            speeds |= self.named("liftoff", 1.13 * m.stall(top, notch), notch) | self.named(
                "speed_at_50_ft", 1.25 * m.stall(top, notch), notch
            )
        else:
            speeds |= self.named("approach", 1.3 * m.stall(top, notch), notch)
        return {"flap_notch": notch, **speeds, "rows": rows, "corrections": self.corrections(kind)}

    def _windy(
        self, calm: Row, kind: str, notch: int, found: tuple[float, float], keys: tuple[str, str], step: float
    ) -> list[Row]:
        """The same place at each headwind: the roll by the square of the ground speed, the rest by its first power."""
        length = FT if self.p.runway == "ft" else 1.0
        root = math.sqrt(RHO0 / air(calm["pressure_altitude_ft"] * FT)[0])
        speed = 1.13 * self.m.stall(self.top_kg, notch) * root
        out = []
        for wind in self.p.winds:
            share = 1.0 - 0.9 * wind * KT / speed
            roll = found[0] * share**2
            total = roll + (found[1] - found[0]) * (1.0 - 0.8 * wind * KT / speed)
            printed = (self.round_to(self.drawn(x) / length, step) for x in (roll, total))
            out.append({**calm, "headwind_kt": wind, **dict(zip(keys, printed, strict=True))})
        return out

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
