"""The air of the day: pressure, density and true altitude."""

from __future__ import annotations

from airwork import units
from airwork.airdata.altimetry import true_altitude_m
from airwork.airdata.atmosphere import relative_humidity
from airwork.airdata.icing import SOURCE, carburetor_icing_region
from airwork.airplane.numbers.lines import Line, Section, written
from airwork.airplane.numbers.question import Today
from airwork.values import How, Value

ATMOSPHERE = "ICAO standard atmosphere"


def _line(key: str, name: str, height_m: float, how: How, source: str, note: str = "") -> Line:
    value = Value(round(units.to_unit(height_m, "ft"), 3), "ft", how, source, note=note)
    return Line(key, name, written(value), value)


def section(today: Today) -> Section:
    """Pressure, density and true altitude, deviation from standard, icing where a dew point is given."""
    q = today.question
    lines = [
        _line("pressure_altitude", "pressure altitude", today.pressure_altitude_m, "formula", ATMOSPHERE),
        _line(
            "density_altitude",
            "density altitude",
            today.density_altitude_m,
            "formula",
            ATMOSPHERE,
            "dry air, as the charts",
        ),
    ]
    humid = today.humid_density_altitude_m
    if humid is not None:
        note = f"moist air: {humid / units.FT_M - today.density_altitude_m / units.FT_M:+,.0f} ft"
        lines.append(
            _line("density_altitude_humid", "with the humidity", humid, "formula", f"{ATMOSPHERE}, moist air", note)
        )
    deviation = Value(round(today.isa_deviation_k, 2), "°C", "formula", ATMOSPHERE, note="")
    lines.append(Line("isa_deviation", "above standard", f"{deviation.value:+.0f}°C".replace("-", "−"), deviation))
    elevation = q.field.elevation_m if q.field is not None else 0.0
    true = float(true_altitude_m(today.altitude_m, elevation, today.isa_deviation_k, today.setting_pa))
    station = "station at the field's elevation" if q.field is not None else "station at sea level"
    how: How = "formula" if q.field is not None else "assumed"
    lines.append(_line("true_altitude", "true altitude", true, how, "air column at today's deviation", station))
    if q.dewpoint_k is not None and today.airplane.file.engine.fuel_system == "carburetor":
        region = carburetor_icing_region(today.temperature_k, q.dewpoint_k)
        humidity = round(100 * float(relative_humidity(today.temperature_k, q.dewpoint_k)))
        value = Value(humidity, "%", "formula", SOURCE, note=f"relative humidity {humidity} %")
        lines.append(Line("carburetor_icing", "carburetor icing", region, value))
        if region.startswith("serious"):
            heat = ": heat on at reduced power" if today.airplane.file.engine.carburetor_heat else ""
            today.cautions.append(f"carburetor icing, {region}{heat}.")
    remark = "density altitude: what the air weighs; pressure altitude: its pressure; true: how high it is"
    return Section("air", "Air", tuple(lines), remark)
