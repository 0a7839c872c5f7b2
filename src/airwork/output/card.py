"""The card: what stands on one small page for the cockpit, in words ready to print, and printed.

Everything comes from the Briefing; nothing is computed here but rounding and wording.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

from airwork import units
from airwork.lesson.briefing import Briefing, PlannedExercise, PowerLine
from airwork.lesson.style import Style
from airwork.lesson.tanks import TankChange
from airwork.maneuvers import room
from airwork.maneuvers.setup import SetUp, Tolerance
from airwork.output.card_area import card_aloft, card_area, card_fields, knots, magnetic, make_sketch
from airwork.output.card_data import CardData, CardLine, CardManeuver, CardTank
from airwork.output.dial import on_dial
from airwork.output.typeset import Paper, typeset

_EITHER_WAY = re.compile(r"±(\d+) kt")
REASONS_SHOWN = 4  # as many as the card has room for
WORDS = {"go": "GO", "think": "THINK", "no-go": "NO-GO"}
CAUTION = "Handbook, rules and instructor decide. Not for navigation."


def make_card(briefing: Briefing) -> CardData:
    b, style = briefing, briefing.style
    names = " · ".join(filter(None, [b.student + (" (solo)" if b.solo else ""), b.instructor]))
    invented = " (invented)" if b.airplane_invented else ""
    return CardData(
        verdict=WORDS[b.verdict.level],
        reasons=_reasons(b),
        title=b.title,
        who=names,
        when=f"{style.day(b.start_utc_s)}  {style.clock(b.start_utc_s)}–{style.clock(b.end_utc_s, zone=True)}",
        airplane=f"{b.airplane_name}{invented}",
        dial_unit=b.dial_unit,
        day=_day(b),
        speeds=_speeds(b),
        power=tuple(_power(b, line) for line in b.power),
        maneuvers=_maneuvers(b),
        tanks=_tanks(b),
        tank_rule=_tank_rule(b),
        home_planned=style.clock(b.start_utc_s + b.fuel.planned_turn_home_s),
        home_clock=style.clock(b.start_utc_s + b.fuel.turn_home_s),
        home_fuel=style.fuel(b.fuel.turn_home_m3),
        home_remark=f"by {b.fuel.turn_home_by}",
        fuel=_fuel(b),
        signals=tuple(CardLine(name, text) for name, text in b.signals.items()),
        directions=_directions(b),
        area=card_area(b),
        fields=card_fields(b),
        aloft=card_aloft(b),
        before=b.cockpit.before if b.cockpit else (),
        engine=_engine(b),
        aloud=b.cockpit.aloud if b.cockpit else (),
        unchecked=tuple(r.topic for r in b.verdict.of("not checked")),
        sketch=make_sketch(b),
        footer=f"{b.program} · {b.standard} · {CAUTION}",
    )


def card_pdf(card: CardData, paper: Paper = "a5") -> bytes:
    """The card as a PDF: one page to fly by, a second with the way out; further pages rather than type under 9 pt."""
    return typeset("card.typ", asdict(card), paper)


def _reasons(b: Briefing) -> tuple[str, ...]:
    """What decided the verdict, worst first; the rest is counted."""
    if b.verdict.level == "go":
        quoted = [r.text for r in b.verdict.of("go") if r.topic.startswith("note ")]
        return ("Nothing found against it.", *quoted[: REASONS_SHOWN - 1])
    worst = [r for level in ("no-go", "unknown", "think") for r in b.verdict.of(level)]
    said = [("not known: " if r.level == "unknown" else "") + r.text for r in worst[:REASONS_SHOWN]]
    more = len(worst) - len(said)
    return (*said, *([f"and {more} more: see the briefing"] if more > 0 else []))


def _day(b: Briefing) -> tuple[CardLine, ...]:
    style, w, out = b.style, b.weather, []
    now = b.runway.now
    if b.runway.runway is not None:
        wind = ""
        if now is not None:
            side = {True: " R", False: " L", None: ""}[now.from_right]
            along = "head" if now.headwind_mps >= -0.25 else "tail"
            across = style.crosswind(now.crosswind_mps).removesuffix(" kt")
            wind = f"{along} {knots(abs(now.headwind_mps))}, cross {across}{side}".replace(" ", "\N{NO-BREAK SPACE}")
        out.append(CardLine(f"rwy {b.runway.runway.name}", wind))
    out.append(CardLine("wind", _wind(b)))
    out.append(CardLine("altimeter", "not known" if w.setting_pa is None else style.pressure(w.setting_pa)))
    standard = "" if w.temperature_k is not None and w.setting_pa is not None else "std air"
    out.append(CardLine("density alt", style.altitude(w.density_altitude_m), standard))
    if b.cockpit is not None:
        out.append(
            CardLine("field, pattern", f"{style.altitude(b.cockpit.field_m)}, {style.altitude(b.cockpit.pattern_m)}")
        )
    start = b.balance.points[0]
    if start.arm_m is None:
        out.append(CardLine("weight", f"at most {style.mass(start.mass_kg)}", "CG not known"))
    else:
        out.append(CardLine("weight", style.mass(start.mass_kg), " ".join(b.balance.always)))
    for words, distance in (("takeoff", b.runway.takeoff), ("landing", b.runway.landing)):
        if distance is not None and distance.needed_m is not None:
            notes = filter(None, (f"×{distance.factor:g}", standard))
            out.append(CardLine(words, style.runway(distance.needed_m), ", ".join(notes)))
    if b.daylight.sunset_utc_s is not None:
        out.append(CardLine("sunset", style.clock(b.daylight.sunset_utc_s)))
    return tuple(out)


def _directions(b: Briefing) -> str:
    east = b.weather.variation_rad
    if east is None:
        return "all directions TRUE: the variation is not known"
    side = "E" if east >= 0.0 else "W"
    return f"all directions magnetic, as on the dial (variation {abs(east) / units.DEG_RAD:.0f}° {side})"


def _wind(b: Briefing) -> str:
    wind = b.weather.wind
    if wind is None or wind.from_rad is None or wind.speed_mps <= 0.0:
        return b.style.wind(wind)
    return b.style.wind(replace(wind, from_rad=wind.from_rad - (b.weather.variation_rad or 0.0)))


def _speeds(b: Briefing) -> tuple[CardLine, ...]:
    """The dial's speeds; the flap limits in one line, the approach with what the gusts add."""
    more = b.cockpit.approach_more_mps if b.cockpit else 0.0
    out: list[CardLine] = []
    flaps: list[tuple[str, str]] = []
    for s in b.speeds:
        if s.name.startswith("flaps ") and s.name.endswith(" at most"):
            flaps.append((s.name.removeprefix("flaps ").removesuffix(" at most"), s.short))
            continue
        if flaps and not out[-1].name.startswith("flaps"):
            out.append(_flaps(flaps))
        value = s.short
        if s.name.startswith("approach") and round(units.to_unit(more, b.dial_unit)) >= 1:
            value += f", gusts {units.to_unit(s.ias_mps + more, b.dial_unit):.0f}"
        out.append(CardLine(s.name.replace("approach, full flaps", "approach"), value))
    if flaps and not any(line.name.startswith("flaps") for line in out):
        out.append(_flaps(flaps))
    return tuple(out)


def _flaps(limits: Sequence[tuple[str, str]]) -> CardLine:
    return CardLine(f"flaps {'/'.join(n for n, _ in limits)}", "/".join(v for _, v in limits))


def _engine(b: Briefing) -> tuple[CardLine, ...]:
    if b.cockpit is None:
        return ()
    out = [CardLine("mixture", b.cockpit.mixture)]
    if b.cockpit.pump:
        out.append(CardLine("pump", b.cockpit.pump))
    return tuple(out)


def _power(b: Briefing, line: PowerLine) -> CardLine:
    speed = f"{units.to_unit(line.ias_mps, b.dial_unit):.0f} {b.dial_unit}"
    # the heading says "level flight"; a unit alone on the next line is not read
    return CardLine(line.name.removesuffix(", level"), power_text(line, b.style).replace(" ", "\u00a0"), speed)


def power_text(line: PowerLine, style: Style) -> str:
    """ "2,350 ± 60 rpm", or "21.3 in, 2,300 rpm" with a constant-speed propeller."""
    if line.manifold_pressure_pa is not None:
        return (
            f"{style.book.write(units.to_unit(line.manifold_pressure_pa, 'inHg'), 'inHg')} · {_round(line.rpm, 10)} rpm"
        )
    if line.rpm is None:
        return f"{line.power_ratio:.0%} power"
    spread = "" if line.rpm_90 is None else f" ± {_round(line.rpm_90, 10)}"
    return f"{_round(line.rpm, 10)}{spread} rpm"


def _round(value: float | None, step: int) -> str:
    return "" if value is None else f"{round(value / step) * step:,.0f}"


def grouped(exercises: Sequence[PlannedExercise]) -> list[list[PlannedExercise]]:
    """Neighbors of one kind and height together: flown twice is one line."""
    out: list[list[PlannedExercise]] = []
    for e in exercises:
        last = out[-1][0] if out else None
        same = last is not None and last.kind == e.kind and last.wanted == e.wanted and last.note == e.note
        if same and last is not None and (last.set_up is None) == (e.set_up is None):
            out[-1].append(e)
        else:
            out.append([e])
    return out


def _maneuvers(b: Briefing) -> tuple[CardManeuver, ...]:
    style, out = b.style, []
    for group in grouped(b.exercises):
        e = group[0]
        if e.set_up is None:
            out.append(CardManeuver(style.clock(e.start_utc_s), e.title, "", "", "", "", e.problem, ""))
            continue
        out.append(
            CardManeuver(
                clock=style.clock(e.start_utc_s),
                title=e.title,
                times=f"×{len(group)}" if len(group) > 1 else "",
                altitude=style.altitude(e.set_up.entry_altitude_m),
                floor=style.altitude(e.set_up.floor_m),
                heading="" if e.path is None else magnetic(b, e.path.heading_rad, 10),
                line=_together(e.set_up.card_line),
                limits=" · ".join(
                    f"{t.name} {on_dial(_no_slower(e.set_up, t), b.dial_unit)}"
                    for t in e.set_up.tolerances
                    if any(map(str.isdigit, t.text))
                ).replace("bank limit at most", "at most"),
                recovery=room(e.kind).facts.recovery,
            )
        )
    return tuple(out)


def _no_slower(set_up: SetUp, limit: Tolerance) -> str:
    """A limit as printed; one as wide as the margin over the stall is none downward: the warning comes first."""
    found, margin = _EITHER_WAY.fullmatch(limit.text), set_up.stall_margin_mps
    if found is None or margin is None or units.from_unit(float(found[1]), "kt") < margin:
        return limit.text
    return f"+{found[1]} kt, never below the warning"


def _together(line: str) -> str:
    """A card line that breaks between its parts only: what stands between two dots stays on one line."""
    return " · ".join(part.replace(" ", "\u00a0") if len(part) < 32 else part for part in line.split(" · "))


def tank_clock(b: Briefing) -> Iterator[tuple[str, str, TankChange | None, Mapping[str, float]]]:
    """(clock, tank from then on, the change, fuel left by tank [m³]): the start, each change, engine off."""
    clock, start, points = b.style.clock, b.start_utc_s, b.tanks.points
    yield clock(start), points[0].feeding, None, points[0].left_m3
    for change in b.tanks.changes:
        point = next(p for p in points if p.time_s == change.time_s and p.feeding == change.to_tank)
        yield clock(start + change.time_s), change.to_tank, change, point.left_m3
    yield clock(start + points[-1].time_s), "off", None, points[-1].left_m3


def _tanks(b: Briefing) -> tuple[CardTank, ...]:
    return tuple(CardTank(clock, tank, _left(b, left)) for clock, tank, _, left in tank_clock(b))


def _left(b: Briefing, left_m3: Any) -> str:
    if len(left_m3) == 1:
        return b.style.fuel(next(iter(left_m3.values())))
    return " / ".join(b.style.fuel(v).split()[0] for v in left_m3.values())


def _tank_rule(b: Briefing) -> str:
    if not b.tanks.selectable:
        return f"{b.style.fuel_unit}; all feed: nothing to change"
    names = " / ".join(name.split()[0] for name in b.tanks.points[0].left_m3)
    return f"{names}, {b.style.fuel_unit}; every {b.style.minutes(b.tanks.interval_s)}, above 1,000 ft"


def _fuel(b: Briefing) -> tuple[CardLine, ...]:
    style, f = b.style, b.fuel
    out = [
        CardLine("aboard", style.fuel(f.aboard_m3)),
        CardLine("at landing", style.fuel(f.left_m3), style.minutes(f.left_m3 / f.cruise_flow_m3ps)),
        CardLine("reserve", style.fuel(f.reserve_m3), style.minutes(f.reserve_s)),
    ]
    if f.one_more:
        dearest = max(f.one_more, key=lambda o: o.fuel_m3)
        out.append(
            CardLine("one more try", f"{style.fuel(dearest.fuel_m3)}, {style.minutes(dearest.time_s)}", "at most")
        )
    return tuple(out)
