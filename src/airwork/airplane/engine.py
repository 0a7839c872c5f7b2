"""Percent power, the RPM or manifold pressure for it, fuel flow and leaning, from the handbook's tables.

SI; rpm in rev/min.
"""

from __future__ import annotations

import re
from functools import cached_property
from typing import Literal, cast

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import density_altitude_m, standard_air
from airwork.airplane.answer import Answer, table
from airwork.airplane.cruise_power import ESTIMATED, USUAL_CONSUMPTION, burns_jet_fuel, cruise_percents
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.tables import Axis, GridTable
from airwork.errors import NotPossible, OutOfRange
from airwork.values import How

Mixture = Literal["full_rich", "best_power", "best_economy"]
MIXTURES: tuple[Mixture, ...] = ("full_rich", "best_power", "best_economy")

_DENSITY = Axis("density_altitude_ft", "density altitude [ft]")
_PRESSURE = Axis("pressure_altitude_ft", "pressure altitude [ft]")
_RPM = Axis("rpm", "engine speed [RPM]", smooth=True)
_MP = Axis("manifold_pressure_inhg", "manifold pressure [inHg]", smooth=True)
_PERCENT = Axis("percent_power", "percent power", smooth=True)

# The usual sentence under a constant-speed power chart, where the file has no `temperature_correction` of its own.
_SENTENCE = re.compile(
    r"(subtract|add|decrease|increase)\s+([\d.]+)\s*(?:percent|%)\s*(?:power\s*)?for each\s+([\d.]+)\s*°?\s*C\s+above",
    re.IGNORECASE,
)


def dry_density_altitude_m(pressure_altitude_m: float, temperature_k: float) -> float:
    """Density altitude of dry air, as the handbook's charts mean it. [m]"""
    return float(density_altitude_m(standard_air(pressure_altitude_m).pressure_pa, temperature_k))


class EngineTables:
    """The engine's tables of one airplane file, and questions to them."""

    def __init__(self, file: AirplaneFile, full_rich_flow_m3ps: float | None = None) -> None:
        self.file, self.given_flow_m3ps = file, full_rich_flow_m3ps
        self.fixed_pitch = file.propeller.type == "fixed_pitch"

    @cached_property
    def chart(self) -> GridTable | None:
        """Percent power; by density altitude and RPM, or pressure altitude, RPM and manifold pressure."""
        chart = self.file.performance.power_chart
        if chart is None:
            return self._chart_of_cruise
        first = chart.rows[0]
        axes = [_DENSITY if first.density_altitude_ft is not None else _PRESSURE, _RPM]
        if first.manifold_pressure_inhg is not None:
            axes = [axes[0], Axis("rpm", _RPM.what), _MP]
        return GridTable.from_rows("power chart", axes, "percent_power", [r.model_dump() for r in chart.rows])

    @cached_property
    def _chart_of_cruise(self) -> GridTable | None:
        """A cruise table standing in for the power chart: its percent power, where the book has no chart of its own.

        By density altitude and RPM, every temperature of the table; with manifold pressure the rows at standard
        temperature alone, by pressure altitude.
        """
        cruise = self.file.performance.cruise
        if cruise is None:
            return None
        percents = zip(cruise.rows, self.cruise_percents, strict=True)
        rows = [{**r.model_dump(), "percent_power": p} for r, p in percents if r.rpm is not None]
        if not rows:  # one lever sets the percent itself
            return None
        if any(r["manifold_pressure_inhg"] is not None for r in rows):
            axes = (_PRESSURE, Axis("rpm", _RPM.what), _MP)
            standard = [r for r in rows if abs(r["isa_deviation_c"]) < 0.5]
            return GridTable.from_rows("cruise table", axes, "percent_power", standard)
        for row in rows:
            height = units.from_unit(row["pressure_altitude_ft"], "ft")
            air_k = float(standard_air(height).temperature_k) + row["isa_deviation_c"]
            off = abs(row["isa_deviation_c"]) > 0.05
            density = units.to_unit(dry_density_altitude_m(height, air_k), "ft")
            row["density_altitude_ft"] = round(density, 6) if off else row["pressure_altitude_ft"]
        return GridTable.from_rows("cruise table", (_DENSITY, _RPM), "percent_power", rows)

    @cached_property
    def _percents(self) -> tuple[tuple[float | None, ...], bool]:
        own = self.file.performance.power_chart is not None
        return cruise_percents(self.file, (lambda *asked: self.power(*asked).value) if own else None)

    @property
    def cruise_percents(self) -> tuple[float | None, ...]:
        """Percent power of each row of the cruise table: printed, by the chart, or estimated; None if none of them."""
        return self._percents[0]

    @property
    def power_is_estimated(self) -> bool:
        """The book prints no percent power at all; its fuel flows stand for it."""
        return self.file.performance.power_chart is None and self._percents[1]

    @cached_property
    def rpm_chart(self) -> GridTable | None:
        """RPM by density altitude and percent power."""
        chart = self.file.performance.power_chart
        if chart is None or not chart.rpm_for_percent_power:
            return None
        rows = [r.model_dump() for r in chart.rpm_for_percent_power]
        return GridTable.from_rows("RPM for percent power", (_DENSITY, _PERCENT), "rpm", rows)

    def _chart(self) -> GridTable:
        if self.chart is None:
            raise NotPossible(
                "The airplane file has no [performance.power_chart], and no [performance.cruise] with RPM and percent "
                "power or fuel flow: no percent power by RPM."
            )
        return self.chart

    def _noted(self, note: str) -> str:
        return "; ".join(filter(None, [note, ESTIMATED])) if self.power_is_estimated else note

    def _first(self, pressure_altitude_m: float, temperature_k: float) -> float:
        """The chart's first input: density or pressure altitude. [ft]"""
        by_density = self._chart().axes[0].key == "density_altitude_ft"
        height = dry_density_altitude_m(pressure_altitude_m, temperature_k) if by_density else pressure_altitude_m
        return units.to_unit(height, "ft")

    @cached_property
    def _per_kelvin(self) -> tuple[float | None, str]:
        """(change of percent power per °C above standard, where it says so)."""
        chart = self.file.performance.power_chart
        if chart is None:
            return None, ""
        if chart.temperature_correction is not None:
            rule = chart.temperature_correction
            return rule.percent_power / rule.per_c, "temperature rule of the chart"
        if said := _SENTENCE.search(chart.conditions):
            sign = -1.0 if said[1].lower() in {"subtract", "decrease"} else 1.0
            return sign * float(said[2]) / float(said[3]), "temperature rule in the chart's conditions"
        return None, ""

    def _off_standard(self, percent: float, pressure_altitude_m: float, temperature_k: float) -> tuple[float, str]:
        """Change of percent power for a temperature off standard, for charts by pressure altitude, and its note."""
        if self._chart().axes[0].key == "density_altitude_ft":
            return 0.0, ""
        standard = float(standard_air(pressure_altitude_m).temperature_k)
        deviation = temperature_k - standard
        if abs(deviation) < 0.05:
            return 0.0, ""
        rate, where = self._per_kelvin
        if rate is not None:
            return rate * deviation, where
        # √ rule of a naturally aspirated engine at given manifold pressure (from memory; about 1 % per 6 °C)
        return percent * (
            float(np.sqrt(standard / temperature_k)) - 1.0
        ), "temperature by √(Tstd/T), the chart has no rule"

    def power(
        self, rpm: float, pressure_altitude_m: float, temperature_k: float, manifold_pressure_pa: float | None
    ) -> Answer:
        """Power as a share of rated, at the chart's weight, level. [1]"""
        chart = self._chart()
        inputs = [self._first(pressure_altitude_m, temperature_k), rpm]
        if len(chart.axes) == 3:
            if manifold_pressure_pa is None:
                raise NotPossible("Percent power of a constant-speed propeller needs the manifold pressure too.")
            inputs.append(units.to_unit(manifold_pressure_pa, "inHg"))
        percent = chart(*inputs)
        change, note = self._off_standard(percent, pressure_altitude_m, temperature_k)
        note = self._noted(note)
        return Answer((percent + change) / 100.0, "handbook table", table(chart.name), note)

    def rpm_for_power(self, power_ratio: float, pressure_altitude_m: float, temperature_k: float) -> Answer:
        """RPM that gives a power in level flight at the chart's weight, fixed pitch. [rev/min]"""
        if not self.fixed_pitch:
            raise NotPossible("With a constant-speed propeller, power is set by manifold pressure at a chosen RPM.")
        height, percent = self._first(pressure_altitude_m, temperature_k), 100.0 * power_ratio
        answer: Answer | None = None
        if self.rpm_chart is not None:
            try:
                answer = Answer(self.rpm_chart(height, percent), "handbook table", table("RPM for percent power"))
            except OutOfRange:
                answer = None  # the power chart may reach further
        if answer is None:
            chart = self._chart()
            found = chart.inverse(percent, height, what="percent power")
            answer = Answer(found, "handbook table", table(f"{chart.name}, read backwards"), self._noted(""))
        top = self.file.limitations.maximum_rpm if self.file.limitations else None
        if top is not None and answer.value > top:
            raise NotPossible(f"{percent:.0f} % power needs {answer.value:,.0f} RPM, above the maximum {top:,.0f} RPM.")
        return answer

    def manifold_pressure(
        self, power_ratio: float, rpm: float, pressure_altitude_m: float, temperature_k: float
    ) -> Answer:
        """Manifold pressure that gives a power at an RPM, constant speed. [Pa]"""
        chart = self._chart()
        if len(chart.axes) != 3:
            raise NotPossible("This airplane's power chart has no manifold pressure; set the RPM instead.")
        percent, height = 100.0 * power_ratio, self._first(pressure_altitude_m, temperature_k)
        rate, _ = self._per_kelvin
        change, note = self._off_standard(percent, pressure_altitude_m, temperature_k)
        # the √ rule is a factor on the chart's own figure, a printed rule an addition to it
        wanted = percent - change if rate is not None else percent**2 / max(percent + change, 1e-9)
        found = chart.inverse(wanted, height, rpm, what="percent power (at standard temperature)")
        source = table(f"{chart.name}, read backwards")
        return Answer(units.from_unit(found, "inHg"), "handbook table", source, self._noted(note))

    # --- fuel ---

    @cached_property
    def _flow(self) -> dict[Mixture, GridTable]:
        """Fuel flow [gph] by percent power for each mixture the cruise table prints.

        A cruise table prints flow against altitude, temperature and RPM, but the flow follows the power; rows of equal
        percent power are averaged (they differ by the rounding of the percent).
        """
        cruise = self.file.performance.cruise
        out: dict[Mixture, GridTable] = {}
        for mixture in MIXTURES:
            by_percent: dict[float, list[float]] = {}
            for row, percent in zip(cruise.rows if cruise else [], self.cruise_percents, strict=True):
                flow = cast("float | None", getattr(row, f"gph_{mixture}"))
                if flow is not None and percent is not None:
                    by_percent.setdefault(percent, []).append(flow)
            rows = [{"percent_power": p, "gph": float(np.mean(f))} for p, f in by_percent.items()]
            name = f"cruise table, fuel flow {mixture.replace('_', ' ')}"
            made = GridTable.from_rows(name, (Axis("percent_power", "percent power"),), "gph", rows)
            if made is not None:
                out[mixture] = made
        return out

    @cached_property
    def leaning_rule(self) -> Answer | None:
        """Highest power at which the handbook allows leaning; None where the file doesn't say, or no power. [1]"""
        rule = self.file.engine.leaning
        if rule is None or self.power_is_estimated:
            return None
        return Answer(rule.maximum_percent_power / 100.0, "handbook table", "handbook, leaning rule")

    @cached_property
    def leaning_limit(self) -> Answer | None:
        """As the rule; without one the highest power a leaned flow is printed for, which is nobody's limit. [1]"""
        if self.leaning_rule is not None:
            return self.leaning_rule
        lean = [self._flow[m] for m in ("best_power", "best_economy") if m in self._flow]
        if not lean:
            return None
        top = max(t.range_of()[1] for t in lean)
        note = self._noted("highest power with a leaned fuel flow printed")
        return Answer(top / 100.0, "handbook table", table("cruise"), note)

    @property
    def prints_flow(self) -> bool:
        """A full-rich fuel flow is printed, or can be had from a leaned one."""
        return self._column("full_rich") is not None

    @property
    def likens_flow(self) -> bool:
        """The full-rich fuel flow is not printed, and taken from a leaned one."""
        column = self._column("full_rich")
        return bool(column and column[2]) and self.given_flow_m3ps is None

    def _column(self, mixture: Mixture) -> tuple[GridTable, float, str] | None:
        """(a printed column, times what, how it was had) for a mixture: its own, else a leaned one's usual multiple."""
        if mixture in self._flow:
            return self._flow[mixture], 1.0, ""
        lean = next((m for m in ("best_power", "best_economy") if m in self._flow), None)
        if lean is None or burns_jet_fuel(self.file):
            return None
        times = USUAL_CONSUMPTION[mixture] / USUAL_CONSUMPTION[lean]
        return self._flow[lean], times, f"not printed: {lean.replace('_', ' ')} times {times:.2f}, as is usual"

    def fuel_flow(self, power_ratio: float, mixture: Mixture) -> Answer:
        """Fuel flow at a power. [m³/s]

        Below the lowest printed power the flow of that row is given, which errs on the safe side (marked). Above the
        highest, and leaned above the leaning limit, it refuses.
        """
        if mixture not in MIXTURES:
            raise NotPossible(f"Mixture {mixture!r} is not known; use {', '.join(MIXTURES)}.")
        percent = 100.0 * power_ratio
        limit = self.leaning_limit
        if mixture != "full_rich" and limit is not None and percent > 100.0 * limit.value + 1e-9:
            words = "Leaning is allowed" if limit is self.leaning_rule else "Leaned fuel flow is printed"
            raise NotPossible(f"{words} at or below {100 * limit.value:.0f} % power, asked {percent:.0f} %: full rich.")
        if mixture == "full_rich" and mixture not in self._flow and self.given_flow_m3ps is not None:
            return Answer(self.given_flow_m3ps, "given", "a block figure, whatever the power")
        if (column := self._column(mixture)) is None:
            raise NotPossible(
                f"The airplane file prints no fuel flow for {mixture.replace('_', ' ')} in its cruise table."
            )
        flows, times, how = column
        lowest, notes = flows.range_of()[0], [how] if how else []
        if 0 <= percent < lowest:
            percent = lowest
            notes.append(f"below the table: the flow of its lowest row, {lowest:.0f} %, is not less")
        gph = times * flows(percent)
        kind: How = "fitted model" if how else "handbook table"
        return Answer(units.from_unit(gph, "gph"), kind, table("cruise"), "; ".join(notes))

    def full_power_fuel_flow(self, power_ratio: float) -> Answer:
        """Full-rich fuel flow above the cruise table, along the straight line through its rows. [m³/s]

        gph = f0 + f1·percent holds a cruise table to 0.03–0.06 gph rms (checked on the invented airplanes); beyond its
        rows this is an estimate and is marked as a fitted model.
        """
        if (column := self._column("full_rich")) is None:
            raise NotPossible("The airplane file prints no full-rich fuel flow in its cruise table.")
        flows, times, how = column
        points = np.array([(p, f) for p, f in flows.tree.items()], dtype=float)
        if len(points) < 3 or np.ptp(points[:, 0]) < 10:
            raise NotPossible("The cruise table has too few full-rich rows for an estimate above them.")
        slope, start = np.polyfit(points[:, 0], points[:, 1], 1)
        gph = times * float(start + slope * 100.0 * power_ratio)
        note = "; ".join(filter(None, [how, "estimate above the cruise table, along its rows"]))
        return Answer(units.from_unit(gph, "gph"), "fitted model", table("cruise, full rich"), note)
