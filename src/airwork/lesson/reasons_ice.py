"""What the verdict says of ice and cold: carburetor, airframe, frost, the altimeter in cold air."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from airwork.airdata.altimetry import cold_temperature_correction_m
from airwork.airdata.icing import SOURCE, carburetor_icing_region, cloud_base_agl_m
from airwork.errors import InputError
from airwork.lesson.case import Case
from airwork.lesson.moments import Found, Moment, worst_of
from airwork.lesson.verdict import OWN, Reason
from airwork.units import FT_M, ZERO_C_K, from_unit

COLD_ERROR_M = from_unit(100.0, "ft")  # an altimeter error worth a thought: our own choice, the standards' tolerance
FROST_SPREAD_K = 4.0  # near the frost point a cold wing gathers frost overnight (our own choice)
ICE_BELOW_K = ZERO_C_K + 2.0  # visible moisture at or below +2 °C is icing air (common practice)


def ice_reasons(case: Case) -> Iterator[Reason]:
    """Ice in the carburetor and on the airframe, and what cold does to engine, people and altimeter."""
    yield from _carburetor(case)
    yield from _airframe(case)
    yield from _cold(case)
    temperature, dewpoint = case.day.temperature.value, case.day.dewpoint.value
    if temperature is not None and dewpoint is not None and not case.day.ceiling_known:
        base = float(cloud_base_agl_m(temperature, min(dewpoint, temperature)))
        text = f"cumulus would form from about {case.style.altitude(base)} above the field"
        yield Reason("cloud base by the spread", "not checked", text, "AWH ch. 12, an estimate")


def _carburetor(case: Case) -> Iterator[Reason]:
    temperature, dewpoint = case.day.temperature.value, case.day.dewpoint.value
    if case.airplane.file.engine.fuel_system != "carburetor":
        yield Reason("carburetor ice", "go", "fuel injection: no carburetor", "airplane file")
        return
    if temperature is None or dewpoint is None:
        missing = [word for word, v in (("temperature", temperature), ("dew point", dewpoint)) if v is None]
        yield Reason("carburetor ice", "unknown", f"carburetor ice: {' and '.join(missing)} not given")
        return
    try:
        region = carburetor_icing_region(temperature, min(dewpoint, temperature))
    except InputError as problem:
        yield Reason("carburetor ice", "unknown", str(problem))
        return
    air = f"{case.style.temperature(temperature)}, dew point {case.style.temperature(dewpoint)}"
    idle = list(dict.fromkeys(run.title for run in case.flight.runs if run.room.idle_power))
    heat = "carburetor heat on before the throttle comes back"
    if region == "serious at any power":
        text = f"carburetor ice: serious at any power, {air}: full heat at the first sign, and {heat}"
        yield Reason("carburetor ice", "think", text, SOURCE, "drier or much warmer air; heat checked on the ground")
    elif "glide" in region:
        where = f" for {', '.join(idle)}" if idle else " for every descent and approach"
        text = f"carburetor ice: {region}, {air}: {heat}{where}"
        yield Reason("carburetor ice", "go", text, SOURCE)
    elif region == "light":
        yield Reason("carburetor ice", "go", f"carburetor ice: light, {air}; watch RPM or manifold pressure", SOURCE)
    else:
        text = f"carburetor ice: outside the chart's regions, {air}; still watch RPM or manifold pressure"
        yield Reason("carburetor ice", "go", text, SOURCE)


def temperature_at_k(case: Case, altitude_m: float) -> float | None:
    """Temperature at an altitude: between those given aloft and the field's, else the field's by the standard lapse."""
    field = case.day.temperature.value
    known = [(a.altitude_m, a.temperature_k) for a in case.lesson.weather.winds_aloft if a.temperature_k is not None]
    if field is not None:
        known.append((case.field_m, field))
    known.sort()
    if known and known[0][0] <= altitude_m <= known[-1][0]:
        return float(np.interp(altitude_m, [h for h, _ in known], [t for _, t in known]))
    return None if field is None else float(case.day.air.temperature_at_k(altitude_m))


def _airframe(case: Case) -> Iterator[Reason]:
    """Freezing air with something in it to freeze: precipitation, or cloud in reach of the exercises."""
    top, field = case.top_m, case.field_m
    heights = np.linspace(field, max(top, field + 1.0), 12)
    temps = [temperature_at_k(case, float(h)) for h in heights]
    if any(t is None for t in temps):
        return
    coldest = min(t for t in temps if t is not None)
    change = "exercises in warmer air, out of cloud and precipitation"
    known = "the airplane file prohibits it; " if any("icing" in p for p in case.prohibited) else ""
    if case.lesson.weather.visible_moisture and coldest <= ICE_BELOW_K:
        text = f"airframe icing: in cloud or precipitation down to {case.style.temperature(coldest)}"
        yield Reason("airframe ice", "no-go", text, known + OWN, change)
        return

    def look(moment: Moment) -> Found | None:
        if coldest > ICE_BELOW_K:
            return None
        at = f"down to {case.style.temperature(coldest)} at the planned heights ({case.when(moment)})"
        codes = [c for c in moment.seen.weather if any(w in c for w in ("RA", "DZ", "SN", "UP", "SG", "SH"))]
        if any("RA" in c or "DZ" in c or "UP" in c for c in codes) and coldest <= ZERO_C_K:
            return Found("no-go", 2.0, f"airframe icing: {', '.join(codes)} in air {at}", moment)
        base = min((field + c.base_agl_m for c in moment.seen.clouds or () if c.base_agl_m is not None), default=None)
        if codes:
            return Found("think", 1.0, f"airframe icing: {', '.join(codes)} in air {at}", moment)
        if base is not None and base <= top + 500.0 * FT_M:
            there = temperature_at_k(case, base)
            if there is not None and there <= ICE_BELOW_K:
                text = (
                    f"airframe icing in the cloud at {case.style.altitude(base)}, "
                    f"{case.style.temperature(there)}: keep out ({case.when(moment)})"
                )
                return Found("think", 0.5, text, moment)
        return None

    found = worst_of(case.day.moments, look)
    if found is not None:
        yield Reason("airframe ice", found.level, found.text, known + OWN, change)
    elif coldest <= ZERO_C_K < (temps[0] or 0.0):
        level = next(float(h) for h, t in zip(heights, temps, strict=True) if t is not None and t <= ZERO_C_K)
        text = (
            f"freezing from about {case.style.altitude(level)}, below the highest altitude planned; no "
            "cloud or precipitation there is known"
        )
        yield Reason("freezing level", "go", text, "temperatures aloft, or the standard lapse")


def frost_reasons(case: Case) -> Iterator[Reason]:
    """Frost on a parked airplane: before the wind and the sky, for it is there before the engine starts."""
    temperature, dewpoint = case.day.temperature.value, case.day.dewpoint.value
    if temperature is None or dewpoint is None or temperature > ZERO_C_K + 1.0:
        return
    if temperature - dewpoint <= FROST_SPREAD_K:
        text = (
            f"frost: {case.style.temperature(temperature)}, dew point {case.style.temperature(dewpoint)}: no takeoff "
            "with frost on wing, tail or propeller: look, and feel with the bare hand"
        )
        yield Reason("frost", "think", text, "AFH ch. 2; " + OWN, "all of it off and dry, or a night in the hangar")


def _cold(case: Case) -> Iterator[Reason]:
    """Engine and people in the cold, and how much less than the altimeter says is under the airplane."""
    temperature = case.day.temperature.value
    if temperature is None:
        return
    level, step = case.cautions.judge("cold", temperature)
    if step is not None:
        text = (
            f"cold: {case.style.temperature(temperature)}: preheat, battery, cabin heat and carbon "
            "monoxide, clothing to survive in"
        )
        yield Reason("cold", level, text, step.source, "a preheated engine; a warmer hour")
    where = case.top_m if case.lesson.area is None else case.lesson.area.floor_m
    missing = float(cold_temperature_correction_m(max(where - case.field_m, 0.0), temperature, case.field_m))
    if missing >= COLD_ERROR_M:
        text = (
            f"cold air, {case.style.temperature(temperature)}: to be {case.style.altitude(where)} high the altimeter "
            f"must show {case.style.altitude(where + missing)}; heights above ground are less than they look"
        )
        yield Reason("cold air", "think", text, "AIM 7-3; formula from memory", "floors raised by that much")
