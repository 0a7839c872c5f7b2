"""One book being printed in a manner: its tables from the machine's physics, rounded as that publisher rounds."""

from __future__ import annotations

import math
from typing import Any

from books.machine import air, invent
from books.manners import Manner
from books.tables import Tables

KT, MPH, KMH, FT, LB, GAL, IMP = 1852 / 3600, 0.44704, 1 / 3.6, 0.3048, 0.45359237, 3.785411784e-3, 4.54609e-3
Row = dict[str, Any]


class Printer(Tables):
    """One book being printed."""

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
                **({"fuel_grade": "diesel", "fuel_density_kg_per_l": 0.8} if m.diesel else {}),
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
        cas = p.speeds == "calibrated"
        for name, value, notch in (
            ("never_exceed", cruise * 1.26, 0), ("maximum_structural_cruise", cruise, 0),
            ("maximum_flaps_extended", fast, full),
        ):  # fmt: skip
            limit |= self.named(name, value, notch, cas)
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
        usable = self.m.flow_kgps(0.7, "best_power") * 3600 * hours / self.fuel_kgpm3 / 2
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
        printed = self.p.speeds == "calibrated"
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
                rows.append({"name": name, self.wk: weight, **self.speed(cas, notch, printed)})
        top = self.top_kg
        rows.append(
            {
                "name": "best_rate_of_climb",
                self.wk: self.top,
                **self.speed(m.climb(top, rho, temperature)[1], 0, printed),
            }
        )
        steep = min(m.steepest(top, rho, temperature), m.climb(top, rho, temperature)[1] * 0.97)
        rows.append({"name": "best_angle_of_climb", self.wk: self.top, **self.speed(steep, 0, printed)})
        rows.append(
            {"name": "approach_flaps_full", self.wk: self.top, **self.speed(1.3 * m.stall(top, full), full, printed)}
        )
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
        chord_m = round(chord, 2 if p.arm == "m" else 3)
        if p.chord:  # the same corners, in percent of the chord
            for corner in polygon:
                percent = (corner.pop(f"arm_{p.arm}") * unit - lead) / chord_m * 100
                corner["percent_mac"] = round(percent)
        mac = {f"mac_length_{p.arm}": arm(chord_m), f"mac_leading_edge_{p.arm}": self.round_to(lead / unit, step / 5)}
        return {
            f"empty_weight_{p.weight}": mass(empty, 1),
            f"empty_arm_{p.arm}": self.round_to((lead + 0.215 * chord) / unit, step / 5),
            **(mac if p.chord else {}),
            "stations": stations,
            "envelope_normal": {"polygon": polygon},
        }


def make(manner: Manner, seed: int) -> dict[str, Any]:
    """The data of one book, as it would be typed."""
    return Printer(invent(seed, manner.kind), manner, seed).book()
