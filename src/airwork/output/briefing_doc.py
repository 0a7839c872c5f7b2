"""The full briefing as plain data: sections of tables, lists and plots in words ready to print.

One value feeds the terminal, the PDF and the page. Everything comes from the Briefing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from airwork import units
from airwork.airdata.angles import wrap_positive_rad
from airwork.lesson.briefing import Briefing, PlannedExercise
from airwork.lesson.runway_plan import Distance
from airwork.lesson.style import bearing
from airwork.output.card import WORDS, grouped, power_text, tank_clock
from airwork.output.card_area import card_area, card_fields
from airwork.output.handbooks import named_in
from airwork.values import Value, sourced

PlotName = Literal["map", "close", "profile", "fuel", "envelope"]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a head, which may be empty. kind : tells the templates what a block is, here and in the others."""

    rows: tuple[tuple[str, ...], ...]
    head: tuple[str, ...] = ()
    title: str = ""
    note: str = ""
    kind: str = field(default="table", init=False)


@dataclass(frozen=True, slots=True)
class Listing:
    items: tuple[str, ...]
    title: str = ""
    numbered: bool = False
    kind: str = field(default="list", init=False)


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot by name, with its words for those who can't see it."""

    name: PlotName
    caption: str
    kind: str = field(default="plot", init=False)


Block = Table | Listing | Plot


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class BriefingDoc:
    title: str
    subtitle: tuple[str, ...]
    verdict: str
    headline: str
    sections: tuple[Section, ...]
    cautions: tuple[str, ...]
    footer: str


def make_doc(briefing: Briefing) -> BriefingDoc:
    b, style = briefing, briefing.style
    people = f"{b.student}{' (solo)' if b.solo else ''}" + (f" with {b.instructor}" if b.instructor else "")
    when = f"{style.day(b.start_utc_s)}, {style.clock(b.start_utc_s)} to {style.clock(b.end_utc_s, zone=True)}"
    invented = " (invented airplane)" if b.airplane_invented else ""
    sections = [
        _verdict(b), *_aloud(b), _plan(b), _fuel(b), _weather(b), _runway(b), _loading(b), _numbers(b), *_area(b),
        *_exercises(b),
    ]  # fmt: skip
    if b.signals:
        sections.append(Section("Radio and signals", (Table(tuple(b.signals.items())),)))
    if keys := named_in(str(sections)):
        sections.append(Section("Handbooks named above", (Table(keys),)))
    return BriefingDoc(
        title=b.title,
        subtitle=(when, f"{b.airplane_name}{invented}, {b.place.name}", people, f"toward {b.standard}"),
        verdict=WORDS[b.verdict.level],
        headline=b.verdict.headline,
        sections=tuple(sections),
        cautions=b.cautions,
        footer=b.program,
    )


def _verdict(b: Briefing) -> Section:
    found = [r for r in b.verdict.reasons if r.level != "not checked"]
    rows = tuple((r.level, r.topic, r.text, r.source, "" if r.level == "go" else r.change) for r in found)
    head = ("", "about", "what was found", "by", "what would change it")
    unchecked = tuple(r.text for r in b.verdict.of("not checked"))
    blocks: list[Block] = [Table(rows, head)]
    if unchecked:
        blocks.append(Listing(unchecked, "Not checked: for you to check"))
    return Section("Verdict, reason by reason", tuple(blocks))


def _aloud(b: Briefing) -> Iterator[Section]:
    """What is said aloud before the flight and before each exercise; the way out of the area."""
    if b.cockpit is None:
        return
    blocks: list[Block] = [Listing(b.cockpit.aloud, numbered=True), Listing(b.cockpit.before, "Before each exercise")]
    engine = [("mixture", b.cockpit.mixture)] + ([("pump", b.cockpit.pump)] if b.cockpit.pump else [])
    blocks.append(Table(tuple(engine)))
    yield Section("Say aloud", tuple(blocks))
    way = tuple((line.name, line.value, line.remark) for line in card_area(b))
    fields = tuple((f.name, f.heading, f.distance, f.needs) for f in card_fields(b))
    if fields:
        head = ("", "heading, magnetic", "distance", "glides from, in this wind")
        yield Section("The way out", (Table(way), Table(fields, head, "Fields, from the middle of the area")))


def _plan(b: Briefing) -> Section:
    style = b.style
    rows = tuple(
        (
            style.clock(b.start_utc_s + leg.start_s),
            leg.name,
            style.minutes(leg.duration_s),
            style.altitude(leg.altitude_from_m)
            + ("" if abs(leg.altitude_to_m - leg.altitude_from_m) < 3 else f" → {style.altitude(leg.altitude_to_m)}"),
            style.fuel(leg.fuel_m3),
            style.distance(leg.distance_m) if leg.distance_m > 200 else "",
        )
        for leg in b.legs
    )
    head = ("time", "", "takes", "altitude", "burns", "over the air")
    plot = Plot("profile", "Altitude through the lesson, with floor, ceiling and ground of the area.")
    return Section("The lesson in time", (Table(rows, head), plot))


def _fuel(b: Briefing) -> Section:
    style, f = b.style, b.fuel
    kept = f"{style.minutes(f.reserve_s)} by {f.reserve_how}"
    if f.reserve_how == f.legal.source:
        kept = f"{style.minutes(f.reserve_s)} by {sourced(f.legal.source, f.legal.label)}"
    else:
        kept += f"; {sourced(f.legal.source, f.legal.label)} asks {style.minutes(f.legal.time_s)}"
    rows = (
        ("aboard, usable", style.fuel(f.aboard_m3), ""),
        ("burned", style.fuel(f.burned_m3), style.minutes(f.time_s)),
        ("left at engine off", style.fuel(f.left_m3), style.minutes(f.left_m3 / f.cruise_flow_m3ps)),
        ("reserve", style.fuel(f.reserve_m3), kept),
        ("above the reserve", style.fuel(f.spare_m3), f"at {style.flow(f.cruise_flow_m3ps)} in cruise"),
        ("turn for home with", style.fuel(f.turn_home_m3), "way home, landing, one more pattern, taxi, reserve"),
        ("turn for home at the latest", style.clock(b.start_utc_s + f.turn_home_s), f"by {f.turn_home_by}"),
        ("planned", style.clock(b.start_utc_s + f.planned_turn_home_s), f"{style.minutes(f.home_s)} to engine off"),
    )
    blocks: list[Block] = [Table(rows)]
    if f.one_more:
        more = tuple(
            (
                o.title,
                style.minutes(o.time_s),
                style.fuel(o.fuel_m3),
                style.fuel(o.spare_after_m3),
                style.clock(o.landing_utc_s),
            )
            for o in f.one_more
        )
        blocks.append(Table(more, ("one more", "takes", "burns", "then above reserve", "engine off"), "One more try"))
    blocks += _tanks(b)
    return Section("Fuel and tanks", (*blocks, Plot("fuel", "Fuel in each tank through the lesson.")))


def _tanks(b: Briefing) -> Iterator[Block]:
    style, t = b.style, b.tanks
    if not t.selectable:
        yield Listing((f"{t.points[0].feeding}: all tanks feed, nothing to change.",), "Tanks")
        return
    names = tuple(t.points[0].left_m3)
    rows = []
    for clock, tank, change, left in tank_clock(b):
        why = "engine off" if tank == "off" else "start"
        if change is not None:
            late = f", {style.minutes(change.overdue_s)} late" if change.overdue_s > 60 else ""
            why = f"{change.why}{late}, {style.altitude(change.altitude_m)}"
        rows.append((clock, tank, why, *(style.fuel(left[n]) for n in names)))
    apart = style.fuel(t.most_imbalance_m3)
    how = f"Change every {style.minutes(t.interval_s)} ({t.interval_how}); tanks differ by at most {apart}."
    yield Table(tuple(rows), ("from", "tank", "why", *names), "Tank clock", how)
    yield Listing(t.steps, "Changing tanks", numbered=True)


def _weather(b: Briefing) -> Section:
    style, w = b.style, b.weather
    unknown = "not known"
    ceiling = unknown if not w.ceiling_known else "none" if w.ceiling_m is None else style.altitude(w.ceiling_m)
    sees = unknown if w.visibility_m is None else style.visibility(w.visibility_m, w.visibility_bound)

    def known(value: float | None, show: Any) -> str:
        return unknown if value is None else str(show(value))

    variation = unknown
    if w.variation_rad is not None:
        variation = f"{abs(w.variation_rad) / units.DEG_RAD:.1f}° {'east' if w.variation_rad >= 0 else 'west'}"
    rows = [
        ("surface wind, true", style.wind(w.wind), w.wind_source),
        ("visibility", sees, ""),
        ("ceiling above the field", ceiling, ""),
        (
            "temperature, dew point",
            f"{known(w.temperature_k, style.temperature)}, {known(w.dewpoint_k, style.temperature)}",
            "",
        ),
        ("altimeter", known(w.setting_pa, style.pressure), ""),
        ("pressure altitude", style.altitude(w.pressure_altitude_m), "at the field"),
        ("density altitude", style.altitude(w.density_altitude_m), "dry air, at the field"),
        ("variation", variation, w.variation_source),
        *((f"wind at {style.altitude(h)}", f"{bearing(d)} {units.to_unit(v, 'kt'):.0f} kt", "") for h, d, v in w.aloft),
        *_daylight(b),
    ]
    blocks: list[Block] = [Table(tuple(rows))]
    said = tuple(t for t in (w.metar, w.taf) if t)
    if said:
        blocks.append(Listing(said, "Reports"))
    if w.assumed:
        blocks.append(Listing(w.assumed, "Assumed"))
    return Section("Weather and daylight", tuple(blocks))


def _daylight(b: Briefing) -> Iterator[tuple[str, str, str]]:
    d, style = b.daylight, b.style
    for words, moment in (
        ("civil twilight begins", d.dawn_utc_s),
        ("sunrise", d.sunrise_utc_s),
        ("sunset", d.sunset_utc_s),
        ("civil twilight ends", d.dusk_utc_s),
    ):
        if moment is not None:
            yield words, style.clock(moment, zone=True), ""


def _runway(b: Briefing) -> Section:
    style, r = b.style, b.runway
    if r.runway is None:
        return Section("Runway", (Listing((r.why,)),))
    facts = [("runway", r.runway.name, r.why)]
    if r.runway.heading_rad is not None:
        facts.append(("heading, true", bearing(r.runway.heading_rad), r.runway.heading_how))
    facts.append(("surface", r.runway.surface or "not known", r.runway.source))
    slope = "not known" if r.runway.slope is None else f"{100 * r.runway.slope:+.1f} %".replace("-", "−")
    facts.append(("slope", slope, "uphill positive"))
    blocks: list[Block] = [Table(tuple(facts))]
    if r.winds:
        rows = tuple(
            (
                w.label,
                style.knots(w.headwind_mps),
                style.crosswind(w.crosswind_mps)
                + {True: " from the right", False: " from the left", None: ""}[w.from_right],
                style.knots(w.peak_mps),
            )
            for w in r.winds
        )
        blocks.append(Table(rows, ("", "headwind", "crosswind, gusts in full", "strongest"), "Wind on the runway"))
    for words, distance in (("Takeoff", r.takeoff), ("Landing", r.landing)):
        if distance is not None:
            blocks += _distance(b, words, distance)
    return Section("Runway", tuple(blocks))


def _distance(b: Briefing, words: str, found: Distance) -> Iterator[Block]:
    style = b.style
    if found.needed_m is None or found.ground_roll_m is None:
        yield Listing((found.problem,), words)
        return
    over = "" if found.over_50_ft_m is None else style.runway(found.over_50_ft_m)
    have = "not known" if found.available_m is None else style.runway(found.available_m)
    rows = ((style.runway(found.ground_roll_m), over, f"{style.runway(found.needed_m)} (×{found.factor:g})", have),)
    yield Table(
        rows, ("ground roll", f"over {style.obstacle}", "with the factor", "there is"), words, "; ".join(found.steps)
    )


def _loading(b: Briefing) -> Section:
    style, p = b.style, b.balance
    loads = tuple((who, station, style.mass(mass)) for who, station, mass in b.loads)
    first, last = p.points[0], p.points[-1]
    rows = tuple(
        (words, f"at most {style.mass(x.mass_kg)}", "not known", "not known")
        if x.arm_m is None
        else (words, style.mass(x.mass_kg), style.arm(x.arm_m), ", ".join(x.categories) or "none")
        for words, x in (("engine start", first), ("engine off", last))
    )
    blocks: list[Block] = [
        Table(loads, ("", "station", "weight")),
        Table(rows, ("", "weight", "center of gravity", "legal in"), "Weight and balance"),
    ]
    if p.problems or p.why_not:
        blocks.append(Listing((*p.problems, *(f"not {c}: {why}" for c, why in p.why_not.items()))))
    return Section(
        "Loading", (*blocks, Plot("envelope", "Center of gravity through the lesson in the permitted area."))
    )


def _numbers(b: Briefing) -> Section:
    speeds = tuple((s.name, s.shown, s.how) for s in b.speeds)
    power = tuple(
        (
            p.name,
            f"{units.to_unit(p.ias_mps, b.dial_unit):.0f} {b.dial_unit}",
            power_text(p, b.style),
            f"{p.power_ratio:.0%}",
            b.style.flow(p.fuel_flow_m3ps),
            p.mixture.replace("_", " "),
            b.style.altitude(p.altitude_m),
        )
        for p in b.power
    )
    head = ("", "speed", "power", "of rated", "flow", "mixture", "at")
    return Section(
        "Speeds on this dial and power, at today's weight",
        (Table(speeds, ("", "indicated", "from")), Table(power, head, "Level flight")),
    )


def _area(b: Briefing) -> Iterator[Section]:
    if b.area is None:
        return
    a, style = b.area, b.style
    rows = (
        ("floor to ceiling", f"{style.altitude(a.floor_m)} to {style.altitude(a.ceiling_m)}"),
        ("ground", style.altitude(a.ground_m)),
        ("margin kept from the edge", style.distance(a.margin_m)),
    )
    paths = tuple(
        (
            str(e.number),
            e.title,
            _heading(b, e),
            style.distance(e.path.margin_m),
            "" if e.path.glide_spare_m is None else f"{style.altitude(e.path.glide_spare_m)} over {e.path.glide_place}",
        )
        for e in b.exercises
        if e.path is not None
    )
    blocks: list[Block] = [Table(rows)]
    if paths:
        head = ("", "exercise", "begin on", "to the edge, least", "glide to a named place, least")
        blocks.append(Table(paths, head, "Where each exercise lies"))
    plot = Plot("map", "The path of the lesson over the ground in today's wind. North is up.")
    close = Plot("close", "The same, close up: each exercise begins at its dot.")
    yield Section(f"Area: {a.name}", (*blocks, plot, close) if paths else (*blocks, plot))


def _heading(b: Briefing, e: PlannedExercise) -> str:
    assert e.path is not None
    true = bearing(e.path.heading_rad)
    if b.weather.variation_rad is None:
        return f"{true} true"
    return f"{bearing(float(wrap_positive_rad(e.path.heading_rad - b.weather.variation_rad)))} (true {true})"


def _exercises(b: Briefing) -> Iterator[Section]:
    style = b.style
    for group in grouped(b.exercises):
        e = group[0]
        times = f", {len(group)} times" if len(group) > 1 else ""
        title = f"{e.title}{times}"
        if e.set_up is None:
            yield Section(title, (Listing((e.problem,)),), style.clock(e.start_utc_s))
            continue
        s = e.set_up
        floor = f"floor {style.altitude(s.floor_m)} ({s.floor_why})"
        remark = f"{style.clock(e.start_utc_s)}, {style.altitude(s.entry_altitude_m)}, {floor}"
        how = (", ".join(filter(None, (n.value.how, n.value.source, n.value.note))) for n in s.numbers)
        numbers = tuple((n.name, value_text(n.value), n.also, why) for n, why in zip(s.numbers, how, strict=True))
        blocks: list[Block] = [Table(numbers, ("", "", "", "from")), Listing(s.steps, "Steps", numbered=True)]
        for name, rows in s.tables.items():
            blocks.append(Table(rows[1:], rows[0], name) if len(rows) > 1 else Table(rows, title=name))
        if s.tolerances:
            blocks.append(Table(tuple((t.name, t.text, t.source) for t in s.tolerances), title="Held to"))
        said = {"Usual errors": s.usual_errors, "Cautions": s.cautions, "Note": (e.note,) if e.note else ()}
        blocks += [Listing(items, name) for name, items in said.items() if items]
        yield Section(title, tuple(blocks), remark)


def value_text(value: Value) -> str:
    """ "1,950 ± 60 rpm", with the digits the number came with, two decimals at most."""
    spread = "" if value.uncertainty is None else f" ± {_digits(value.uncertainty)}"
    unit = {"deg": "°", "": ""}.get(value.unit, f" {value.unit}")
    return f"{_digits(value.value)}{spread}{unit}"


def _digits(number: float) -> str:
    places = 0 if abs(number) >= 100.0 else 1 if abs(number) >= 10.0 else 2
    text = f"{number:,.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "−")
