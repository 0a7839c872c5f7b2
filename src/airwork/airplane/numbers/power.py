"""Percent power, RPM or manifold pressure for a power, leaning and fuel flow, climb and glide."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from airwork import units
from airwork.airplane.answer import Answer
from airwork.airplane.engine import MIXTURES, Mixture
from airwork.airplane.numbers.lines import Line, Section, line_of, refusal, written
from airwork.airplane.numbers.question import Today
from airwork.errors import NotPossible, OutOfRange
from airwork.values import Value

POWERS = (0.45, 0.55, 0.65, 0.75)
MIXTURE_WORDS: dict[Mixture, str] = {
    "full_rich": "fuel, full rich",
    "best_power": "fuel, best power",
    "best_economy": "fuel, best economy",
}


def section(today: Today) -> Section:
    """Percent power at the RPM asked, the setting for the usual powers, leaning and fuel flow."""
    a, q = today.airplane, today.question
    lines: list[Line] = []
    power = q.power_ratio
    if q.rpm is not None and (power is None or a.fixed_pitch):
        line, found = _power_at_rpm(today, q.rpm)
        lines.append(line)
        power = found if power is None else power
    if q.power_ratio is not None:
        lines.append(_setting(today, q.power_ratio, f"setting for {100 * q.power_ratio:.0f} %"))
    lines.append(_leaning(today, power))
    if power is not None:
        lines += _endurance(today, power)
    asked: dict[float, str] = {} if power is None else {power: f"{100 * power:.0f} %"}
    columns = asked | {p: f"{100 * p:.0f} %" for p in POWERS if f"{100 * p:.0f} %" not in asked.values()}
    name = "RPM" if a.fixed_pitch else f"{a.book.pressure} at {q.rpm or _usual_rpm(today):,.0f} RPM"
    settings = [_setting(today, p, name, head) for p, head in columns.items()]
    lines += _row(settings)
    # a chart of one height refuses every other; what a power burns is told all the same
    many_heights = a.engine.chart is not None and len(a.engine.chart.tree) > 1
    for mixture in MIXTURES:
        row: list[Line] = []
        for (p, head), setting in zip(columns.items(), settings, strict=True):
            ask = partial(a.engine.fuel_flow, p, mixture)
            line = line_of(f"fuel_flow_{mixture}", MIXTURE_WORDS[mixture], ask, a.book.flow, 1, column=head)
            if setting.refused and many_heights and not line.refused:
                line = replace(line, text="–", value=None, refused=setting.refused)  # no power, no flow at it
            if line.value is not None and line.value.note:  # below the table: its lowest row, an upper bound
                line = replace(line, text=f"≤ {line.text}")
            row.append(line)
        lines += _row(row)
    weight = a.file.performance.power_chart.weight_lb if a.file.performance.power_chart else None
    remark = (
        f"level, flaps up, at the chart's {units.write(units.from_unit(weight, 'lb'), a.book.mass)}"
        if weight
        else "level, flaps up"
    )
    return Section("power", "Power", tuple(lines), remark)


def _row(lines: list[Line]) -> list[Line]:
    """The lines of one row; when all are refused for one reason, that reason once."""
    reasons = {line.refused for line in lines}
    if len(reasons) == 1 and lines[0].refused:
        return [replace(lines[0], column="", text=lines[0].refused)]
    return lines


def _power_at_rpm(today: Today, rpm: float) -> tuple[Line, float | None]:
    a, q = today.airplane, today.question
    setting = f"{rpm:,.0f} RPM"
    if q.manifold_pressure_pa is not None:
        setting = f"{a.book.write(units.to_unit(q.manifold_pressure_pa, 'inHg'), 'inHg')}, {setting}"
    try:
        answer = a.engine.power(rpm, today.pressure_altitude_m, today.temperature_k, q.manifold_pressure_pa)
    except (OutOfRange, NotPossible) as problem:
        return refusal("percent_power", f"power at {setting}", problem), None
    value = answer.shown("%")
    return Line("percent_power", f"power at {setting}", written(value), value), answer.value


def _endurance(today: Today, power: float) -> list[Line]:
    """How long the usable fuel lasts at the full-rich flow."""
    aboard = today.question.tank_m3
    usable = sum(aboard.values()) if aboard else sum(t.usable_m3 for t in today.airplane.tanks)
    try:
        flow = today.airplane.fuel_flow_m3ps(power, "full_rich")
    except (OutOfRange, NotPossible):
        return []
    if usable <= 0:
        return []
    minutes = round(usable / flow / 60.0)
    note = f"{'the fuel aboard' if aboard else 'full usable tanks'}, no reserve kept"
    value = Value(minutes, "min", "formula", "usable fuel over the full-rich flow", note=note)
    name = f"endurance at {100 * power:.0f} %, full rich"
    return [Line("endurance", name, f"{minutes // 60} h {minutes % 60:02d} min", value)]


def _leaning(today: Today, power: float | None) -> Line:
    limit = today.airplane.engine.leaning_rule
    if limit is None:
        printed = today.airplane.engine.leaning_limit
        known = "" if printed is None else f"; leaned flow is printed up to {100 * printed.value:.0f} % power"
        said = f"the file doesn't say{known}"
        return Line("leaning_limit", "leaning", said, refused=f"the file has no leaning rule{known}")
    text = f"allowed at or below {100 * limit.value:.0f} % power"
    if power is not None:
        allowed = "allowed" if power <= limit.value + 1e-9 else "NOT allowed"
        text = f"{allowed} at {100 * power:.0f} % (limit {100 * limit.value:.0f} %)"
    return Line("leaning_limit", "leaning", text, limit.shown("%", 1))


def _setting(today: Today, power: float, name: str, column: str = "") -> Line:
    """RPM (fixed pitch) or manifold pressure at the RPM asked (constant speed) for a power."""
    a, q = today.airplane, today.question
    if a.fixed_pitch:
        try:
            answer = a.engine.rpm_for_power(power, today.pressure_altitude_m, today.temperature_k)
        except (OutOfRange, NotPossible) as problem:
            return refusal("rpm", name, problem, column=column)
        value = Value(round(answer.value), "RPM", answer.how, answer.source, note=answer.note)
        shown = f"{round(answer.value, -1):,.0f}"  # charts are read to 10 RPM
        return Line("rpm", name, shown if column else f"{shown} RPM", value, column=column)
    rpm = q.rpm or _usual_rpm(today)

    def ask() -> Answer:
        return a.engine.manifold_pressure(power, rpm, today.pressure_altitude_m, today.temperature_k)

    tail = "" if column else f" at {rpm:,.0f} RPM"
    return line_of("manifold_pressure", name, ask, a.book.pressure, a.book.digits("inHg"), column=column, suffix=tail)


def _usual_rpm(today: Today) -> float:
    """The middle printed RPM of a constant-speed chart."""
    chart = today.airplane.engine.chart
    if chart is None:
        return today.airplane.rated_rpm
    printed = sorted({rpm for below in chart.tree.values() if isinstance(below, dict) for rpm in below})
    return printed[len(printed) // 2]


def climb_and_glide(today: Today) -> Section:
    """Rate of climb today, glide ratio and distance."""
    a, remark = today.airplane, ""
    lines = []
    if a.file.performance.climb is not None:
        lines.append(
            line_of(
                "rate_of_climb",
                "rate of climb, full throttle",
                partial(a.climb.rate, today.mass_kg, today.pressure_altitude_m, today.temperature_k),
                a.book.climb,
                a.book.digits("fpm"),
            )
        )
    if a.file.performance.glide is not None:
        ratio = Value(round(a.glide_ratio, 2), "", "handbook table", "handbook, glide")
        per_thousand = Value(round(ratio.value * 1000 * units.FT_M / units.NM_M, 2), "NM", "formula", "glide ratio")
        text = f"{ratio.value:.1f} to 1, {per_thousand.value:.1f} NM per 1,000 ft"
        lines.append(Line("glide_ratio", "glide, calm", text, ratio, (("per 1,000 ft", per_thousand),)))
        if a.file.performance.glide.conditions:
            remark = f"glide: {a.file.performance.glide.conditions}"
    return Section("climb_glide", "Climb and glide", tuple(lines), remark)
