"""The debrief as text for a terminal, no wider than 100 columns: what matters first, then each maneuver."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers import room
from airwork.maneuvers.grading.measure import worth_showing
from airwork.units import from_unit, to_unit

if TYPE_CHECKING:
    from airwork.debrief import Debrief, Graded
    from airwork.maneuvers.episode import Finding

WIDTH = 100
# A word and a sign for each verdict: never colour alone.
SIGNS = {"held": "✓", "briefly out and corrected": "~", "not held": "✗", "can't be judged": "·"}
SHORT = {"held": "held", "briefly out and corrected": "brief", "not held": "NOT HELD", "can't be judged": "not judged"}
PLAIN = ("climb", "descent", "straight_and_level", "tank_change", "clearing_turn")
NUMBERS = (
    ("entry_altitude_ft", "entry altitude", "ft"), ("max_altitude_error_ft", "highest above target", "ft"),
    ("min_altitude_error_ft", "lowest below target", "ft"), ("altitude_lost_in_recovery_ft", "lost in recovery", "ft"),
    ("altitude_gained_ft", "gained", "ft"), ("entry_ias_kt", "entry speed", "kt"), ("min_ias_kt", "slowest", "kt"),
    ("max_ias_kt", "fastest", "kt"), ("mean_tas_kt", "mean true airspeed", "kt"),
    ("steady_mean_bank_deg", "mean bank", "°"), ("max_bank_deg", "most bank", "°"),
    ("rollout_error_deg", "roll-out", "°"), ("min_stall_margin_kt", "least margin to the stall", "kt"),
    ("touchdown_sink_fpm", "sink at touchdown", "fpm"), ("touchdown_ias_kt", "speed at touchdown", "kt"),
    ("mean_path_on_final_deg", "path on final", "°"), ("mean_ground_radius_ft", "radius over the ground", "ft"),
    ("wind_kt", "wind", "kt"), ("mean_power_pct", "mean power", "%"), ("fuel_used_gal", "fuel", "gal"),
)  # fmt: skip


def debrief_text(found: Debrief, *, everything: bool = False) -> str:
    """The whole screen; `everything` adds what was only for information."""
    out = [*_head(found), "", *_table(found)]
    for number, graded in enumerate(found.episodes, start=1):
        if everything or _worth_saying(graded):
            out += ["", *_maneuver(number, graded, found, everything=everything)]
    out += _record(found)
    if found.notes:
        out += ["", "ALSO", *_bullets(found.notes)]
    out += ["", *textwrap.wrap(_rule_text(found), WIDTH)]
    return "\n".join(line.rstrip() for line in out)


def _head(found: Debrief) -> list[str]:
    flight = found.flight
    name = str(flight.source.get("name", "recording"))
    lines = [f"DEBRIEF  {name}"]
    facts = []
    if np.isfinite(flight.start_utc_s):
        facts.append(datetime.fromtimestamp(flight.start_utc_s, UTC).strftime("%Y-%m-%d %H:%M UTC"))
    facts.append(f"{float(flight.time_s[-1]) / 60:.0f} min recorded")
    if found.evidence is not None:
        facts.append(f"{found.evidence.view.airborne.sum() * 0.25 / 60:.0f} min in the air")
    if found.airplane_name:
        facts.append(found.airplane_name)
    facts.append(f"{found.standard.title}, {found.standard.edition}")
    return [*lines, *textwrap.wrap(" · ".join(facts), WIDTH)]


def _table(found: Debrief) -> list[str]:
    if not found.episodes:
        return ["No maneuver was recognized."]
    rows = [f"{'#':>3} {'from':>7} {'for':>5}  {'maneuver':<22}{'sure':>5}  against the standard"]
    for number, graded in enumerate(found.episodes, start=1):
        e = graded.episode
        rows.append(
            f"{number:>3} {_clock(e.start_s):>7} {_clock(e.end_s - e.start_s):>5}  {room(e.kind).TITLE:<22}"
            f"{100 * e.score:>4.0f}%  {_in_short(graded)}"[:WIDTH]
        )
    return rows


def _in_short(graded: Graded) -> str:
    findings = graded.grade.findings
    judged = [f for f in findings if f.verdict != "can't be judged"]
    missed = [f for f in findings if f.verdict == "not held"]
    brief = [f for f in findings if f.verdict == "briefly out and corrected"]
    if missed:
        return f"✗ NOT HELD: {', '.join(f.name for f in missed)}"
    if brief:
        return f"~ briefly out: {', '.join(f.name for f in brief)}"
    if judged:
        return f"✓ held ({len(judged)} of {len(findings)} judged)" if len(judged) < len(findings) else "✓ held"
    return "· nothing to judge" if not findings else "· can't be judged"


def _worth_saying(graded: Graded) -> bool:
    """Judged or with a cause; what only lies between the exercises when it was not held."""
    verdicts = {f.verdict for f in graded.grade.findings}
    if graded.episode.kind in PLAIN:
        return "not held" in verdicts
    return bool(graded.grade.causes) or bool(verdicts - {"can't be judged"})


def _maneuver(number: int, graded: Graded, found: Debrief, *, everything: bool) -> list[str]:
    e, grade = graded.episode, graded.grade
    title = f"{number}. {room(e.kind).TITLE.upper()}  {_clock(e.start_s)} to {_clock(e.end_s)}"
    out = [title]
    if e.evidence and everything:
        out += textwrap.wrap(f"seen: {'; '.join(e.evidence)}", WIDTH, initial_indent="   ", subsequent_indent="   ")
    if grade.target:
        dial = _dial(found)
        target = ", ".join(f"{_name(k)} {_speed(k, v, dial)}" for k, v in grade.target.items())
        text = f"target: {target} ({grade.target_source})"
        out += textwrap.wrap(text, WIDTH, initial_indent="   ", subsequent_indent="   ")
    for f in grade.findings:
        if everything or f.verdict != "can't be judged":
            out += _finding(f)
    numbers = _numbers(worth_showing(grade.measured, grade.target), _dial(found))
    if numbers:
        out += textwrap.wrap(" · ".join(numbers), WIDTH, initial_indent="   ", subsequent_indent="   ")
    for cause in grade.causes:
        when = f"{_clock(cause.start_s)} to {_clock(cause.end_s)}"
        out += textwrap.wrap(f"→ {cause.text} ({when})", WIDTH, initial_indent="   ", subsequent_indent="     ")
        out += textwrap.wrap(f"next time: {cause.try_next}", WIDTH, initial_indent="     ", subsequent_indent="     ")
    return out


def _finding(f: Finding) -> list[str]:
    worst = "" if f.worst is None else f"{_signed(f.worst)}{_mark(f.unit)}"
    within = "" if f.within_fraction is None else f"{100 * f.within_fraction:.0f}% in"
    limit, *more = textwrap.wrap(f.limit, 25) or [""]
    line = f"   {SIGNS[f.verdict]} {f.name:<28.28}{limit:<26}{worst:>9}{within:>8}  {SHORT[f.verdict]}"
    rest = [f"{'':33}{text}" for text in more]
    if not f.why:
        return [line, *rest]
    wrapped = textwrap.wrap(f.why, WIDTH - 7)
    if not rest and len(line) + 2 + len(f.why) <= WIDTH:
        return [f"{line}: {f.why}"]
    return [line, *rest, *(f"       {text}" for text in wrapped)]


def _dial(found: Debrief) -> str:
    """The unit the airplane's airspeed indicator is read in; kt without an airplane."""
    airplane = None if found.evidence is None else found.evidence.airplane
    return "kt" if airplane is None else airplane.dial_unit


def _speed(key: str, value: float, dial: str) -> str:
    """A number with its unit; an indicated speed first as the dial showed it."""
    text = f"{_number(value)}{_unit_of(key)}"
    if not key.endswith("ias_kt") or dial == "kt":
        return text
    return f"{to_unit(from_unit(value, 'kt'), dial):.0f} {dial} ({text})"


def _numbers(known: Mapping[str, float], dial: str) -> list[str]:
    out = []
    for key, name, unit in NUMBERS:
        if key not in known:
            continue
        text = f"{name} {_number(known[key], unit)}{'' if unit in ('°', '%') else ' '}{unit}"
        if key.endswith("ias_kt"):
            text = f"{name} {_speed(key, known[key], dial)}"
        if key == "wind_kt" and "wind_from_deg" in known:
            calm = known[key] < 0.5
            text = "wind calm" if calm else f"wind {known['wind_from_deg']:03.0f}° {known[key]:.0f} kt"
        out.append(text)
    return out


def _record(found: Debrief) -> list[str]:
    fuel = found.fuel
    lines = []
    if "used_gal" in fuel:
        text = f"fuel {fuel['used_gal']:.1f} gal ({fuel['how']})"
        if "planned_gal" in fuel:
            text += f", planned {fuel['planned_gal']:.1f} gal"
        lines.append(text)
    changes = [c for c in fuel.get("tank_changes", []) if "time_s" in c]
    if changes:
        lines.append("tanks: " + ", ".join(f"{c['from']} to {c['to']} at {_clock(c['time_s'])}" for c in changes))
    bands = [b for b in fuel.get("power_time", []) if b["fraction"] >= 0.01]
    if bands:
        lines.append(
            "power in the air: " + ", ".join(f"{_band(b)} {100 * b['fraction']:.0f}% of the time" for b in bands)
        )
    if not lines:
        return []
    return ["", "FUEL AND POWER", *_bullets(lines)]


def _band(band: dict[str, float | None]) -> str:
    low, high = band["from_pct"], band["to_pct"]
    return f"over {low}%" if high is None else f"{low} to {high}%"


def _bullets(lines: Iterable[str]) -> list[str]:
    out = []
    for line in lines:
        out += textwrap.wrap(line, WIDTH, initial_indent=" - ", subsequent_indent="   ")
    return out


def _rule_text(found: Debrief) -> str:
    judging = found.standard.judging
    own = {t.whose for t in judging.thresholds.values()}
    return (
        "Standards fail consistent exceedance or no prompt correction and name no seconds. Prompt is airwork's own "
        f"threshold here: altitude {judging['prompt_altitude_s']:g} s, airspeed {judging['prompt_airspeed_s']:g} s, "
        f"bank {judging['prompt_bank_s']:g} s, heading {judging['prompt_heading_s']:g} s; consistent is over "
        f"{100 * judging['consistent_fraction']:.0f}% of the time. A school can change them"
        f"{'' if own == {'airwork'} else ' (and has)'}."
    )


def _clock(seconds: float) -> str:
    whole = round(seconds)
    if whole >= 3600:
        return f"{whole // 3600}:{whole // 60 - 60 * (whole // 3600):02d}:{whole - 60 * (whole // 60):02d}"
    return f"{whole // 60}:{whole - 60 * (whole // 60):02d}"


def _name(key: str) -> str:
    return key.rsplit("_", 1)[0].replace("_", " ").replace("ias", "airspeed")


def _unit_of(key: str) -> str:
    return _mark(key.rsplit("_", 1)[1])


def _mark(unit: str) -> str:
    return {"deg": "°", "%": "%", "turns": ""}.get(unit, f" {unit}")


def _number(value: float, unit: str = "") -> str:
    whole = unit in ("ft", "fpm") or abs(value) >= 100 or float(value).is_integer()
    text = f"{value:,.0f}" if whole else f"{value:,.1f}"
    return text.removeprefix("-") if text in {"-0", "-0.0"} else text.replace("-", "−")


def _signed(value: float) -> str:
    return (f"{value:+,.0f}" if abs(value) >= 100 else f"{value:+,.1f}").replace("-", "−")
