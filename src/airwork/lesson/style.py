"""How numbers of the lesson are printed: the airplane's in its book's units, the day's in the lesson's."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal
from zoneinfo import ZoneInfo

from airwork import units
from airwork.airdata.angles import wrap_positive_rad
from airwork.airplane.book_units import US_BOOK, BookUnits
from airwork.lesson.weather import Wind


@dataclass(frozen=True, slots=True)
class Style:
    """Printed units and the local clock. Altitudes are feet and wind is knots in both, as charts and radio use them."""

    units: Literal["us", "metric"]
    zone: str
    prints: BookUnits = US_BOOK

    @property
    def book(self) -> BookUnits:
        """The airplane's units: its book's own; where that is a US one, kilograms and liters in a metric lesson."""
        return self.prints.metric() if self.metric else self.prints

    @property
    def metric(self) -> bool:
        """Kilometers of visibility, hectopascals; a US book's pounds, gallons and feet of runway as kg, L and m."""
        return self.units == "metric"

    def mass(self, mass_kg: float) -> str:
        """A mass or weight."""
        return units.write(mass_kg, self.book.mass)

    def fuel(self, volume_m3: float, digits: int = 1) -> str:
        """A volume of fuel."""
        return units.write(volume_m3, self.book.fuel, digits)

    @property
    def obstacle(self) -> str:
        """The height a handbook's distances are printed over; 50 ft and 15 m are the same obstacle."""
        return self.book.over

    @property
    def fuel_unit(self) -> str:
        """Unit of fuel volumes."""
        return self.book.fuel

    def flow(self, flow_m3ps: float) -> str:
        """A fuel flow."""
        return units.write(flow_m3ps, self.book.flow, 1)

    def runway(self, length_m: float) -> str:
        """A length of runway."""
        return self.book.length(length_m)

    def altitude(self, altitude_m: float) -> str:
        """An altitude or height, to 10 ft."""
        return f"{round(units.to_unit(altitude_m, 'ft'), -1) + 0.0:,.0f} ft".replace("-", "−")

    def visibility(self, visibility_m: float, bound: str = "") -> str:
        """A visibility, with "more than" or "less than" where only a bound is known."""
        word = {">": "more than ", "<": "less than "}.get(bound, "")
        number = units.to_unit(visibility_m, "km" if self.metric else "SM")
        digits = 0 if number >= 3 and abs(number - round(number)) < 0.05 else 1 if number >= 3 else 2
        text = f"{number:.{digits}f}"
        return f"{word}{text.rstrip('0').rstrip('.') if '.' in text else text} {'km' if self.metric else 'SM'}"

    def pressure(self, pressure_pa: float) -> str:
        """An altimeter setting."""
        return units.write(pressure_pa, "hPa") if self.metric else units.write(pressure_pa, "inHg", 2)

    def temperature(self, temperature_k: float) -> str:
        """A temperature."""
        return units.write(temperature_k, "°C")

    def knots(self, speed_mps: float, beside_mps: float | None = None) -> str:
        """A wind speed; to a tenth where whole knots would look the same as the speed it stands beside."""
        near = beside_mps is not None and round(units.to_unit(abs(speed_mps - beside_mps), "kt"), 1) < 1.0
        return units.write(speed_mps, "kt", 1 if near else 0)

    def crosswind(self, speed_mps: float) -> str:
        """A crosswind, to a tenth everywhere: limits are whole knots, and what is just over one must look it."""
        return units.write(speed_mps, "kt", 1)

    def distance(self, distance_m: float) -> str:
        """A distance over the ground."""
        return units.write(distance_m, "NM", 1)

    def arm(self, arm_m: float) -> str:
        """An arm of the center of gravity."""
        return self.book.write(units.to_unit(arm_m, "in"), "in")

    def minutes(self, time_s: float) -> str:
        """A stretch of time: "1 h 05 min" from an hour on, "45 min" below."""
        whole = round(abs(time_s) / 60.0)
        sign = "−" if time_s < -30.0 else ""
        return f"{sign}{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{sign}{whole} min"

    def clock(self, utc_s: float, *, zone: bool = False) -> str:
        """Local time of the place: "10:42", with the zone's name "10:42 MDT"."""
        local = datetime.fromtimestamp(utc_s, UTC).astimezone(ZoneInfo(self.zone))
        return local.strftime("%H:%M %Z" if zone else "%H:%M")

    def day(self, utc_s: float) -> str:
        """Local date: "Sat 20 Sep 2025"."""
        return datetime.fromtimestamp(utc_s, UTC).astimezone(ZoneInfo(self.zone)).strftime("%a %d %b %Y")

    def wind(self, wind: Wind | None) -> str:
        """A wind, true: "240°/12 gusting 18 kt"."""
        if wind is None:
            return "not known"
        if wind.speed_mps <= 0.0:
            return "calm"
        where = "variable" if wind.from_rad is None else f"{bearing(wind.from_rad)}"
        gust = "" if wind.gust_mps is None else f" gusting {units.to_unit(wind.gust_mps, 'kt'):.0f}"
        return f"{where} {units.to_unit(wind.speed_mps, 'kt'):.0f}{gust} kt"


def bearing(angle_rad: float) -> str:
    """A direction in three figures, north as 360°."""
    degrees = round(math.degrees(float(wrap_positive_rad(angle_rad))))
    return f"{degrees or 360:03d}°"
