"""The questions about performance tables and corrections, with the columns of the printed ones."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import partial
from typing import Any

from airwork.airplane.file.printed import key_in
from airwork.airplane.writing import across, cells
from airwork.airplane.writing.across import Across
from airwork.airplane.writing.question import Answers, Column, Question
from airwork.airplane.writing.units_of_book import Units
from airwork.errors import InputError

WARMER = "above_standard_temperature"
NONE = "none"  # a correction the book does not print
CAUSES = (
    "headwind", "tailwind", "dry_grass", "wet_grass", "soft_ground", "wet_paved", "upslope", "downslope", WARMER,
)  # fmt: skip
CRUISE_COLUMNS = ("above", "percent", "speed", "rich", "best_power", "economy")
LOAD = "load"  # percent power is what is set, by one lever: no RPM column
CHANGES = {"roll": "ground_roll", "whole": "total", "share": "share_of_total"}
PER_WORDS = "for every (9 kt, 10 mph, 10 C, 1 %)"
ON_WORDS = "of what: roll, whole, share"
_WARM = re.compile(r"(above[ _]?standard.*|(above[ _]?)?(temp\w*|heat|warm\w*|hot\w*))", re.IGNORECASE)
CAUSES_ALSO = (
    (_WARM, WARMER),
    (re.compile(r"head[ -]?winds?", re.IGNORECASE), "headwind"),
    (re.compile(r"(tail|down)[ -]?winds?", re.IGNORECASE), "tailwind"),
    (re.compile(r"(slope up|up([ -]?hill)?( slope)?|up[ -]slope)", re.IGNORECASE), "upslope"),
    (re.compile(r"(slope down|down([ -]?hill)?( slope)?|down[ -]slope)", re.IGNORECASE), "downslope"),
)
ON_ALSO = tuple(
    (re.compile(rf"(of )?(the )?{words}", re.IGNORECASE), on)
    for words, on in (("(ground )?rolls?", "roll"), ("(whole|each|both|distances?)", "whole"))
)
_RULE = re.compile(
    r"([+\-−]?\d+(?:\.\d+)?)\s*(%|percent|fpm|ft/min|m/s)\s*"
    r"(?:per|for each|for every|/)\s*(\d+(?:\.\d+)?)\s*°?\s*([CF])"
)


def _bank(text: str) -> object:
    """A bank of a stall table; a speed of the next column is none."""
    found = cells.quantity("angle", "deg", 0)(text)
    if isinstance(found, int | float) and not (0 <= found <= 75 and found % 5 == 0):
        raise InputError(f"{text!r} is no bank a book prints. Do the banks stand across? Say so above the table.")
    return found


BANK = Across("bank", "bank_deg", _bank, "°")


def across_of(key: str, answers: Answers, dial: str, book: Units) -> tuple[Across, ...]:
    """What may stand across a table of performance, by its question."""
    if key == "stall":
        return (BANK,)
    heat = next(
        c for c in _air({f"{key}_left": ["altitude", "temperature"]}, key, book) if c.key.startswith(("oat", "isa"))
    )
    if key == "cruise":
        heat = Column("isa_deviation_c", "", cells.deviation("°C"))
    warm = Across("temperature", heat.key, heat.read, "°")
    if key not in {"takeoff", "landing"}:
        return (warm,)
    winds = dict.fromkeys((dial, "kt"))
    return warm, *(Across("wind", key_in("headwind_kt", u), cells.quantity("speed", u, 1), f" {u}") for u in winds)


def _across(key: str, section: str, may: tuple[Across, ...]) -> Question:
    words = " or ".join(dict.fromkeys(across.example((a,)) for a in may))
    order = "; add: rolls first, if the totals stand behind all of them" if key in {"takeoff", "landing"} else ""
    text = f"What stands across the table, over its columns, if anything does ({words}{order})"
    return Question(f"{key}_across", section, text, across.reader(may), optional=True)


def stall_kinds(dial: str) -> cells.Choice:
    """How a stall table may be printed: its kind of airspeed, and its unit where that is not the dial's."""
    options = [f"{kind}{unit}" for unit in ("", " kt", " mph", " km/h") if unit[1:] != dial
               for kind in ("indicated", "calibrated")]  # fmt: skip
    signs = {"K?IAS": "indicated", "K?CAS": "calibrated"} if dial == "kt" else {
        "IAS": "indicated", "CAS": "calibrated", "KIAS": "indicated kt", "KCAS": "calibrated kt"}  # fmt: skip
    also = tuple((re.compile(sign, re.IGNORECASE), words) for sign, words in signs.items())
    return cells.Choice(tuple(options), also)


def stall_printed(answers: Answers, dial: str) -> tuple[str, str]:
    """(kind of airspeed, unit) of the stall table."""
    kind, _, unit = (answers.get("stall_is") or "indicated").partition(" ")
    return kind, unit or dial


def performance(answers: Answers, dial: str, book: Units) -> Iterator[Question]:
    """The performance part."""
    s = "Performance (leave a table empty to type it into the file later)"
    w = book["weight"]
    mass = cells.quantity("mass", w, 1, least=10)
    yield Question("handbook_weight", s, f"Weight the cruise and power tables are for ({w})", mass, optional=True)
    text = "Stall table: printed indicated or calibrated, and in which unit if not the dial's"
    yield Question("stall_is", s, text, stall_kinds(dial), default="indicated")
    kind, unit = stall_printed(answers, dial)
    yield _across("stall", s, (BANK,))
    left = (
        Column(key_in("weight_lb", w), f"weight ({w})", mass),
        Column("flap_notch", "flap notch, 0 is up (or 25°)", cells.notch(answers)),
    )
    printed = (Column("speed", f"speed ({unit} {kind})", cells.speed(unit, kind, either=True)),)
    wide = answers.get("stall_across")
    bank = () if wide else (Column("bank_deg", "bank (°), if not level", BANK.read, optional=True),)
    yield Question(
        "stall", s, "Stall speeds", columns=(*left, *across.laid_out(wide, (BANK,), (), printed)[1], *bank),
        hint="2300, 0, 49, 53, 58" if wide else "2300, 0, 49      2300, 0, 58, 45",
    )  # fmt: skip
    yield from _power(answers, dial, book)
    yield from _climb(answers, dial, book)
    for what in ("takeoff", "landing"):
        yield from _distance(answers, what, dial, book)
    yield Question(
        "glide_ratio", "Glide", "Glide ratio (distance over height, 9.7 or 1:9.7)", cells.ratio, optional=True
    )


def _power(answers: Answers, dial: str, book: Units) -> Iterator[Question]:
    s = "Power, cruise and fuel flow"
    fixed = answers.get("propeller") != "constant speed"
    percent, h = cells.number("percent"), book["altitude"]
    feet = cells.quantity("altitude", h, 0, least=20)
    setting = [Column("rpm", "RPM", cells.rpm)]
    if not fixed:
        unit = book["pressure"]
        reader = cells.quantity("pressure", unit, 2, most={"inHg": 100, "kPa": 200}.get(unit), least=100)
        setting.append(Column(key_in("manifold_pressure_inhg", unit), f"manifold pressure ({unit})", reader))
    height = "density altitude" if fixed else "pressure altitude"
    yield Question(
        "power_chart", s, "Percent power (without such a chart the cruise table stands in for it)", columns=(
            Column(key_in(f"{height.replace(' ', '_')}_ft", h), f"{height} ({h})", feet), *setting,
            Column("percent_power", "percent power", percent),
        ), hint="4000, 2400, 63" if fixed else "4000, 2400, 22, 66",
    )  # fmt: skip
    flow = {"gal": "gph", "L": "L/h", "impgal": "impgal/h"}[book["fuel"]]
    shown = {"gph": "gal/h"}.get(flow, flow)
    gph = cells.quantity("volume_flow", flow, 2)
    true = key_in("ktas", dial)
    yield Question(
        "cruise_columns", s, "What the cruise table prints behind altitude and RPM, in its order",
        _cruise_words, default=" ".join(CRUISE_COLUMNS),
        hint="words: above (degrees above standard), percent (of power), speed (true); fuel flows rich, best_power (or "
        "lean), economy: a flow without a mixture is rich if the book leans nowhere, else lean. Leave out what isn't "
        "printed, even percent: the flow stands in. load: one lever sets the percent, no RPM (a diesel)",
    )  # fmt: skip
    columns = {
        "above": (Column("isa_deviation_c", "above standard (°C)", cells.deviation("°C")), "0"),
        "percent": (Column("percent_power", "percent power", percent), "63"),
        "speed": (Column(true, f"true airspeed ({dial})", cells.speed(dial, "true"), optional=True), "105"),
        "rich": (Column(key_in("gph_full_rich", flow), f"full rich ({shown})", gph, optional=True), "9.0"),
        "best_power": (Column(key_in("gph_best_power", flow), f"best power ({shown})", gph, optional=True), "8.1"),
        "economy": (Column(key_in("gph_best_economy", flow), f"best economy ({shown})", gph, optional=True), "7.4"),
    }  # fmt: skip
    chosen = answers.get("cruise_columns") or list(CRUISE_COLUMNS)
    if LOAD in chosen:
        setting = [Column("percent_power", "load or power, percent", percent)]
    above = [columns[name] for name in chosen if name == "above"]
    rest = [columns[name] for name in chosen if name not in {"above", LOAD, *(["percent"] if LOAD in chosen else [])}]
    shown_setting = ["70"] if LOAD in chosen else ["2400"] if fixed else ["2400", "22"]
    may = across_of("cruise", answers, dial, book)
    yield _across("cruise", s, may)
    place = ["4000", *(example for _, example in above), *shown_setting]
    left, printed = across.laid_out(
        answers.get("cruise_across"), may,
        (Column(key_in("pressure_altitude_ft", h), f"pressure altitude ({h})", feet), *(c for c, _ in above), *setting),
        tuple(c for c, _ in rest),
    )  # fmt: skip
    yield Question(
        "cruise", s, "Cruise", columns=(*left, *printed),
        hint=", ".join([*place, *(example for _, example in rest)]),
    )  # fmt: skip


def _left(answers: Answers, key: str, section: str, book: Units, winds: str = "") -> Iterator[Question]:
    """Which columns stand at the left of a table: a book for one weight or for standard air prints none for it."""
    wind = ("wind", "wind_mph") if winds == "mph" else ("wind",) if winds else ()
    names = ("weight", *wind, "altitude", "temperature")
    usual = "weight altitude temperature"
    more = ", or wind" if winds else ""
    yield Question(
        f"{key}_left", section, f"What stands at the left of the table: {usual.replace(' ', ', ')}{more}",
        cells.choices(names), default=usual,
        hint="leave out weight if it is for the maximum weight alone, temperature if for the standard ones alone"
        + ("; wind if there is a column for calm, 10 kt, 20 kt" if winds else "")
        + (" (wind mph for 10 and 20 mph)" if winds == "mph" else ""),
    )  # fmt: skip


def _air(answers: Answers, table: str, book: Units) -> tuple[Column, ...]:
    """The columns that say where a row stands: weight, altitude, temperature."""
    left = answers.get(f"{table}_left") or ["weight", "altitude", "temperature"]
    w, h, heat = book["weight"], book["altitude"], book["temperature"]
    by_deviation = heat.startswith("ISA")
    unit = heat.removeprefix("ISA")
    key = key_in("isa_deviation_c" if by_deviation else "oat_c", unit)
    name = f"above standard ({unit})" if by_deviation else f"temperature ({unit})"
    reader = cells.deviation(unit) if by_deviation else cells.quantity("temperature", unit, 1)
    found = {
        "weight": Column(key_in("weight_lb", w), f"weight ({w})", cells.quantity("mass", w, 1, least=10)),
        "wind": Column("headwind_kt", "headwind (kt), 0 calm", cells.quantity("speed", "kt", 1)),
        "wind_mph": Column("headwind_mph", "headwind (mph), 0 calm", cells.quantity("speed", "mph", 1)),
        "altitude": Column(
            key_in("pressure_altitude_ft", h), f"pressure altitude ({h})", cells.quantity("altitude", h, 0, least=20)
        ),
        "temperature": Column(key, name, reader),
    }
    return tuple(found[name] for name in (left if "altitude" in left else ["altitude", *left]))


_EXAMPLES = {"weight": "2300", "headwind": "10", "pressure": "2000", "oat": "20", "isa": "20"}


def _example(left: tuple[Column, ...], printed: str) -> str:
    return ", ".join([*(_EXAMPLES[c.key.partition("_")[0]] for c in left), printed])


def _climb(answers: Answers, dial: str, book: Units) -> Iterator[Question]:
    s = "Climb"
    yield from _left(answers, "climb", s, book)
    unit, may = book["climb"], across_of("climb", answers, dial, book)
    yield _across("climb", s, may)
    rate = cells.quantity("vertical_speed", unit, 0 if unit == "fpm" else 2)
    speed = Column("climb_speed", f"climb speed ({dial} indicated)", cells.speed(dial), optional=True)
    left, printed = across.laid_out(
        answers.get("climb_across"), may, _air(answers, "climb", book),
        (Column(key_in("rate_of_climb_fpm", unit), f"rate of climb ({'ft/min' if unit == 'fpm' else unit})", rate),),
    )  # fmt: skip
    columns = (*left, speed, *printed) if answers.get("climb_across") else (*left, *printed, speed)
    yield Question(
        "climb", s, "Climb, full throttle", columns=columns, hint=_example(left, "640" if unit == "fpm" else "3.2"),
    )  # fmt: skip
    rows = [row for _, row in across.places(answers.get("climb") or (), answers.get("climb_across"))]
    inputs = [c.key for c in _air(answers, "climb", book) if not c.key.startswith(("oat", "isa"))]
    if rows and len({tuple(row.get(k) for k in inputs) for row in rows}) == len(rows):  # one temperature at a height
        yield Question(
            "climb_rule", s, "The book's rule for warmer air (-10 % per 10 C, -15 fpm per 10 F, -0.3 m/s per 10 C)",
            climb_rule, optional=True,
        )  # fmt: skip
    volume, h = book["fuel"], book["altitude"]
    height, gallons = cells.quantity("altitude", h, 0, least=20), cells.quantity("volume", volume, 2)
    yield Question(
        "to_climb", s, "Time, fuel and distance to climb, from sea level", columns=(
            Column(key_in("pressure_altitude_ft", h), f"pressure altitude ({h})", height),
            Column("time_min", "time (min)", cells.quantity("time", "min", 1), optional=True),
            Column(key_in("fuel_us_gal", volume), f"fuel ({volume})", gallons, optional=True),
            Column("distance_nm", "distance (NM)", cells.quantity("distance", "NM", 1), optional=True),
        ), hint="2000, 3, 0.6, 4",
    )  # fmt: skip


def climb_rule(text: str) -> dict[str, float]:
    """ "-10 % per 10 C" or "-15 fpm per 10 F" as the file's rule.

    Raises
    ------
    InputError : not such a rule.
    """
    bare = re.sub(
        r"^\s*(subtract|reduce(?: by)?|decrease(?: by)?|deduct|minus|less)\s+", "-", text, flags=re.IGNORECASE
    )
    bare = re.sub(r"\s*\b(?:deg(?:rees?)?\.?|above standard.*)(?=\s|$)", "", bare.rstrip(". "), flags=re.IGNORECASE)
    m = _RULE.fullmatch(cells.plain_number(bare).strip().replace("−", "-"))
    if m is None:
        raise InputError(f"{text!r}: write it as -10 % per 10 C, or -15 fpm per 10 F.")
    change, per = -abs(float(m[1])), float(m[3])
    key = {"%": "change_percent", "percent": "change_percent", "m/s": "change_mps"}.get(m[2], "change_fpm")
    return {key: cells.tidy(change), "per_c" if m[4] == "C" else "per_f": cells.tidy(per)}


def _distance(answers: Answers, kind: str, dial: str, book: Units) -> Iterator[Question]:
    s = f"{kind.capitalize()} distance"
    unit = book["runway"]
    distance = cells.quantity("length", unit, 0, least=20)
    total, over = ("total_over_15_m", "15 m") if unit == "m" else ("total_over_50_ft", "50 ft")
    yield Question(
        f"{kind}_notch", s, f"Flap notch for {kind}, 0 is up (or degrees: 25°)", cells.notch(answers), optional=True
    )
    speed = "liftoff" if kind == "takeoff" else "approach"
    yield Question(
        f"{kind}_speed", s, f"{speed.capitalize()} speed ({dial} indicated)", cells.speed(dial), optional=True
    )
    yield from _left(answers, kind, s, book, winds=dial)
    may = across_of(kind, answers, dial, book)
    yield _across(kind, s, may)
    left, printed = across.laid_out(
        answers.get(f"{kind}_across"), may, _air(answers, kind, book),
        (Column(key_in("ground_roll_ft", unit), f"ground roll ({unit})", distance),
         Column(total, f"total over {over} ({unit})", distance, optional=True)),
    )  # fmt: skip
    yield Question(
        kind, s, f"{kind.capitalize()} distance", columns=(*left, *printed), hint=_example(left, "770, 1625"),
    )  # fmt: skip
    yield Question(
        f"{kind}_corrections", s, f"{kind.capitalize()} corrections", columns=(
            Column("cause", "cause", cells.Choice(CAUSES, CAUSES_ALSO)),
            Column("change_percent", "change in percent, none if the book prints none", _change),
            Column("per", PER_WORDS, cells.in_a_unit("speed", "temperature", "ratio"), optional=True),
            Column("on", ON_WORDS, cells.Choice(tuple(CHANGES), ON_ALSO), optional=True),
        ), hint="headwind, -10, 9 kt      tailwind, 10, 2 kt      dry_grass, 15, -, roll      temperature, 10, 25 F"
        "      (roll: of the ground roll, as much added to the total; whole: of each; share: of the total, to both)",
        look=partial(_says_of_what, dial),
    )  # fmt: skip


def _change(text: str) -> object:
    """A change in percent, or "none": the book prints no such correction."""
    return NONE if text.strip().lower() in {NONE, "no", "not printed"} else cells.number("percent")(text)


def _cruise_words(text: str) -> list[str]:
    """The columns of a cruise table; those every one has may be named too."""
    bare = re.sub(r"\b(altitudes?|heights?|rpm|manifold|mp|map|pressure)\b", " ", text, flags=re.IGNORECASE)
    bare = re.sub(r"\b(tas|ktas|mph|kt)\b", "speed", bare, flags=re.IGNORECASE)
    bare = re.sub(r"\blean(ed)?\b", "best_power", bare, flags=re.IGNORECASE)
    if m := re.search(r"\b(gph|flow|fuel|l/h|lph|consumption)\b", bare, flags=re.IGNORECASE):
        raise InputError(f"{m[0]!r}, at which mixture? rich, best_power or economy; rich where the book leans nowhere.")
    found: list[str] = cells.choices((*CRUISE_COLUMNS, LOAD))(bare)  # type: ignore[assignment]
    return found


def _says_of_what(dial: str, row: dict[str, Any]) -> None:
    """Surface and slope change the roll in one book and the whole in the next: asked, never assumed. Units likewise."""
    cause = row["cause"]
    wind, warm = cause in {"headwind", "tailwind"}, cause == WARMER
    if row["change_percent"] == NONE:
        return
    if not (wind or warm) and "on" not in row:
        words = cause.replace("_", " ")
        raise InputError(
            f"{words} {row['change_percent']:+g} % of what? Add roll (of the ground roll, the same length added to the "
            "total), whole (of each distance), or share (so many percent of the total, added to both)."
        )
    said = f"{cause.replace('_', ' ')} {row['change_percent']:+g} %"
    if (wind or warm) and "per" not in row:
        raise InputError(f"{said} for how {'many degrees' if warm else 'much wind'}?")
    _, unit = cells.parted(row.get("per", 1), "kt" if dial == "kt" and wind else "")
    if (wind and unit not in {"kt", "mph", "km/h", "m/s"}) or (warm and unit not in {"C", "F"}):
        raise InputError(
            f"{said} for every {row['per']} of what? Write {'10 C or 18 F' if warm else f'10 {dial}, or 9 kt'}."
        )
