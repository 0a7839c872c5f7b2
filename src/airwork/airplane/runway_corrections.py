"""What a handbook does to a distance after its table: temperature, wind, surface, slope; each step in words."""

from __future__ import annotations

import numpy as np

from airwork import units
from airwork.airplane.file.performance import Correction, DistanceTable
from airwork.airplane.runway_table import TEMPERATURE, Sheet, at_weight
from airwork.errors import NotPossible, OutOfRange

# Generic factors for what a handbook doesn't correct, after UK CAA SafetySense leaflet 7c: FROM MEMORY, not checked
# against the text. (takeoff, landing)
GENERIC_SURFACE = {"dry_grass": (1.20, 1.15), "wet_grass": (1.30, 1.35), "paved_wet": (1.0, 1.15)}
GENERIC_ADVERSE_SLOPE_2_PERCENT = (1.10, 1.10)
GENERIC_TAILWIND_TENTH_OF_SPEED = (1.20, 1.20)
FROM_MEMORY = "generic factor, from memory; the handbook has none"
LEAST_WIND_FACTOR = 0.5  # a proportional headwind rule shortens no further: it was not made for such wind (our own)


class Steps:
    """The two distances as they are corrected, with each step in words. In the table's unit."""

    def __init__(self, roll: float, total: float | None, unit: str) -> None:
        self.roll, self.total, self.unit = roll, total, unit
        self.over = "15 m" if unit == "m" else "50 ft"
        self.said: list[str] = []

    def apply(self, factor: float, words: str, applies_to: str = "total") -> None:
        before = self.roll
        if applies_to == "share_of_total" and self.total is not None:  # so much of the total, added to both
            added = (factor - 1.0) * self.total
            self.roll, self.total = self.roll + added, self.total + added
        else:
            self.roll *= factor
            if self.total is not None:
                only = applies_to == "ground_roll"
                self.total = self.total + (self.roll - before) if only else self.total * factor
        self._say(words)

    def shares(self, roll: float, total: float, words: str) -> None:
        """Each distance times its own share."""
        self.roll *= roll
        if self.total is not None:
            self.total *= total
        self._say(words)

    def _say(self, words: str) -> None:
        total = "" if self.total is None else f", over {self.over} {self.total:,.0f} {self.unit}"
        self.said.append(f"{words}: roll {self.roll:,.0f} {self.unit}{total}")


def temperature(table: DistanceTable, kind: str, steps: Steps, warmer_c: float) -> None:
    rule = correction(table, TEMPERATURE)
    if rule is None or rule.per is None or warmer_c < 0.05:
        return
    amount = warmer_c
    if rule.unit == "F":
        amount = units.to_unit(units.ZERO_C_K + warmer_c, "°F") - units.to_unit(units.ZERO_C_K, "°F")
    if rule.maximum is not None and amount > rule.maximum + 1e-6:
        where = f"the {kind} table's temperature correction"
        raise OutOfRange(f"above standard temperature [°{rule.unit}]", round(amount, 1), 0, rule.maximum, where=where)
    words = f"{amount:.0f} °{rule.unit} above the printed temperature, {_rule_words(rule)}"
    steps.apply(rule.factor(amount), words, rule.applies_to)


def correction(table: DistanceTable, cause: str) -> Correction | None:
    return next((c for c in table.corrections if c.cause == cause), None)


def by_wind_columns(
    calm: Sheet, table: DistanceTable, steps: Steps, asked: tuple[float, float, float], headwind_mps: float
) -> None:
    """The share of the calm distance that the book's own columns print at a headwind; straight between two of them."""
    wind_kt = units.to_unit(headwind_mps, "kt")
    winds = sorted({row.headwind_kt or 0.0 for row in table.wind_rows})
    at = min(wind_kt, winds[-1])
    shares: dict[str, list[float]] = {"ground_roll_ft": [1.0], "total_over_50_ft": [1.0]}
    for wind in winds:
        sheet = Sheet(calm.shown, calm.distance, calm.kind, [row for row in table.wind_rows if row.headwind_kt == wind])
        for column, found in shares.items():
            if all(row[column] is not None for row in (*sheet.rows, *calm.rows)):
                found.append(at_weight(sheet, column, *asked)[0] / at_weight(calm, column, *asked)[0])
    roll, total = (float(np.interp(at, [0.0, *winds], s)) if len(s) > 1 else None for s in shares.values())
    words = f"headwind {wind_kt:.0f} kt, the book's columns"
    more = f"; no more than its {winds[-1]:.0f} kt is credited" if wind_kt > winds[-1] + 0.05 else ""
    steps.shares(roll or 1.0, total or roll or 1.0, words + more)


def wind(table: DistanceTable, kind: str, steps: Steps, headwind_mps: float, speed_mps: float | None) -> None:
    cause = "headwind" if headwind_mps >= 0 else "tailwind"
    wind_mps, rule = abs(headwind_mps), correction(table, cause)
    wind_kt = units.to_unit(wind_mps, "kt")
    if wind_kt < 0.05:
        return
    if rule is None and cause == "headwind":
        steps.said.append("headwind: no correction in the handbook, no credit taken")
        return
    if rule is None:
        if speed_mps is None:
            raise NotPossible(f"The {kind} table has no tailwind correction.")
        generic = GENERIC_TAILWIND_TENTH_OF_SPEED[kind == "landing"]
        steps.apply(1.0 + (generic - 1.0) * wind_mps / (0.1 * speed_mps), f"tailwind {wind_kt:.0f} kt ({FROM_MEMORY})")
        return
    amount = units.to_unit(wind_mps, rule.unit or "kt")
    if rule.maximum is not None and amount > rule.maximum + 1e-6:
        if cause == "tailwind":
            where = f"the {kind} table's tailwind correction"
            raise OutOfRange(f"tailwind [{rule.unit}]", round(amount, 1), 0, rule.maximum, where=where)
        amount = rule.maximum
    factor = rule.factor(amount)
    words = f"{cause} {wind_kt:.0f} kt, {_rule_words(rule)}"
    if factor < LEAST_WIND_FACTOR:
        factor, words = LEAST_WIND_FACTOR, f"{words}; no more than half is credited"
    steps.apply(factor, words, rule.applies_to)


_UNIT_WORDS = {"percent": "%", "C": "°C", "F": "°F"}


def _rule_words(rule: Correction) -> str:
    sign = f"{rule.change_percent:+g}".replace("-", "−")
    of = " of the total" if rule.applies_to == "share_of_total" else ""
    return f"{sign} %{of}" + (f" per {rule.per:g} {_UNIT_WORDS.get(rule.unit or '', rule.unit)}" if rule.per else "")


def surface_step(table: DistanceTable, kind: str, steps: Steps, surface: str) -> None:
    if surface == "paved_dry":
        return
    words = surface.replace("_", " ")
    rule = correction(table, "wet_paved" if surface == "paved_wet" else surface)
    if rule is not None:
        steps.apply(1.0 + rule.change_percent / 100.0, f"{words}, {_rule_words(rule)}", rule.applies_to)
    elif surface in GENERIC_SURFACE:
        steps.apply(GENERIC_SURFACE[surface][kind == "landing"], f"{words} ({FROM_MEMORY})")
    else:
        raise NotPossible(f"The {kind} table has no correction for {words}, and there is no generic factor for it.")


def slope_step(table: DistanceTable, kind: str, steps: Steps, percent: float) -> None:
    if abs(percent) < 0.005:
        return
    cause = "upslope" if percent > 0 else "downslope"
    words, rule = f"{cause} {abs(percent):.1f} %", correction(table, cause)
    if rule is not None:
        amount = abs(percent) if rule.maximum is None else min(abs(percent), rule.maximum)
        if rule.maximum is not None and abs(percent) > rule.maximum and rule.change_percent > 0:
            where = f"the {kind} table's {cause} correction"
            raise OutOfRange(f"{cause} [percent]", round(abs(percent), 2), 0, rule.maximum, where=where)
        factor = max(rule.factor(amount), LEAST_WIND_FACTOR)
        steps.apply(factor, f"{words}, {_rule_words(rule)}", rule.applies_to)
        return
    if (cause == "upslope") == (kind == "takeoff"):  # adverse
        generic = GENERIC_ADVERSE_SLOPE_2_PERCENT[kind == "landing"]
        steps.apply(1.0 + (generic - 1.0) * abs(percent) / 2.0, f"{words} ({FROM_MEMORY})")
    else:
        steps.said.append(f"{words}: no correction in the handbook, no credit taken")
