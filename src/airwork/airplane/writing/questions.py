"""The questions, in the order of a handbook. Which come next depends on the answers so far."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

from airwork.airplane.file.base import CATEGORIES
from airwork.airplane.file.loading import Station
from airwork.airplane.file.printed import key_in
from airwork.airplane.file.speeds import SYMBOLS
from airwork.airplane.loading import station_kind
from airwork.airplane.parts import tanks_fed
from airwork.airplane.writing import cells
from airwork.airplane.writing.question import Answers, Column, Question, slug
from airwork.airplane.writing.tables import performance
from airwork.airplane.writing.units_of_book import DEFAULT, Units, read_units, units_of
from airwork.errors import InputError


def questions(answers: Answers) -> Iterator[Question]:
    """Every question that applies, given the answers so far."""
    dial, book = answers.get("dial") or "kt", units_of(answers)
    yield from _identity(answers, book)
    yield from _engine(answers, book)
    yield from _fuel(answers, book)
    yield from _flaps_and_calibration(answers, dial)
    yield from _speeds_and_limits(answers, dial, book)
    yield from _weight_and_balance(answers, book)
    yield from performance(answers, dial, book)


def _mass(book: Units) -> cells.Reader:
    return cells.quantity("mass", book["weight"], 1, least=10)


def _identity(answers: Answers, book: Units) -> Iterator[Question]:
    s = "The airplane"
    w = book["weight"]
    metric = w == "kg"
    yield Question("name", s, "Name as people say it")
    yield Question("id", s, "Short name for files", slug, default=slug(answers.get("name") or ""))
    yield Question("registration", s, "Registration", optional=True)
    yield Question("handbook", s, "Handbook this is typed from (title, edition)", optional=True)
    yield Question("seats", s, "Seats", cells.whole, optional=True)
    yield Question("dial", s, "Unit on the airspeed indicator: kt, mph or km/h", cells.dial_unit)
    yield Question(
        "units", s, "Units the book prints, those that differ", partial(read_units, dial=answers.get("dial") or ""),
        default=DEFAULT,
        hint="e.g. kg mm m L ISA: weights kg, arms mm, runways m, fuel L, deviations from standard temperature; "
        'arms in meters: "arm m"; imperial gallons: impgal',
    )  # fmt: skip
    yield Question("category", s, f"Categories ({', '.join(CATEGORIES)})", cells.choices(CATEGORIES), default="normal")
    yield Question("takeoff_weight", s, f"Maximum takeoff weight ({w})", _mass(book))
    yield Question("landing_weight", s, f"Maximum landing weight, if different ({w})", _mass(book), optional=True)
    area, length = ("m²", "m") if metric else ("ft²", "ft")
    yield Question(
        "wing_area",
        s,
        f"Wing area ({area})",
        cells.quantity("area", area, 2, most=300 if metric else None),
        optional=True,
    )
    yield Question(
        "wing_span", s, f"Wing span ({length})", cells.quantity("length", length, 2, most=100), optional=True
    )


def _engine(answers: Answers, book: Units) -> Iterator[Question]:
    s, power = "Engine and propeller", book["power"]
    yield Question("rated_power", s, f"Rated power ({power})", cells.quantity("power", power, 1))
    yield Question("rated_rpm", s, "RPM of rated power", cells.rpm)
    if (answers.get("rated_rpm") or 0) > 3600:
        text = "Gear: turns of the engine for one of the propeller (2.43, or 1 without one)"
        yield Question("gear_ratio", s, text, cells.ratio, optional=True)
    kinds = cells.choice(("carburetor", "fuel injection"))
    yield Question("fuel_system", s, "Carburetor or fuel injection (a diesel: fuel injection)", kinds)
    if answers.get("fuel_system") == "fuel injection":
        kinds = cells.choice(("avgas", "mogas", "jet fuel", "diesel"))
        yield Question(
            "fuel_kind", s, "Fuel: avgas, mogas, or jet fuel (diesel), which is heavier", kinds, default="avgas"
        )
    if answers.get("fuel_system") == "carburetor":
        yield Question("carburetor_heat", s, "Has it carburetor heat", cells.yes_no, default="yes")
    yield Question("leaning", s, "Leaning allowed at or below which percent power", cells.number(), optional=True)
    if answers.get("leaning") is not None:
        yield Question("best_power", s, "Best power is set how (handbook's words)", optional=True)
        yield Question("best_economy", s, "Best economy is set how (handbook's words)", optional=True)
    kinds = cells.choice(("fixed pitch", "constant speed"))
    yield Question("propeller", s, "Propeller: fixed pitch or constant speed", kinds)
    unit = diameter_unit(book)
    size = cells.quantity("length", unit, 1, most=10 if unit == "m" else None)
    yield Question("diameter", s, f"Propeller diameter ({unit})", size, optional=True)
    if answers.get("propeller") == "constant speed":
        yield Question("governing_rpm", s, "RPM the governor holds, low and high", cells.low_high, optional=True)
    else:
        yield Question("static_rpm", s, "Static RPM at full throttle, low and high", cells.low_high, optional=True)


def diameter_unit(book: Units) -> str:
    """A propeller's unit: m in a book of meters alone, cm in any other metric one."""
    return "in" if book["weight"] != "kg" else "m" if book["arm"] == "m" else "cm"


def _fuel(answers: Answers, book: Units) -> Iterator[Question]:
    unit = book["fuel"]
    s, volume = "Fuel", cells.quantity("volume", unit, 2)
    yield Question(
        "tanks", s, "Tanks", columns=(
            Column("name", "name", cells.words),
            Column(key_in("capacity_us_gal", unit), f"capacity ({unit})", volume, optional=True),
            Column(key_in("usable_us_gal", unit), f"usable ({unit})", volume),
            Column("station", "loaded at which station, if each has its own", cells.words, optional=True),
        ), least_rows=1, hint="left wing, 21, 20",
    )  # fmt: skip
    yield Question(
        "selector", s, "Selector positions and the tanks each feeds from", columns=(
            Column("name", "position", cells.words),
            Column("feeds", "tanks joined by +, or none", cells.names, optional=True),
        ), hint="left      both      off      reserve, left wing + right wing", look=_says_its_tanks(answers),
    )  # fmt: skip
    yield Question("switching", s, "Change tanks every (min)", cells.quantity("time", "min", 0), optional=True)
    yield Question("imbalance", s, f"Largest difference between the tanks ({unit})", volume, optional=True)
    yield Question("takeoff_tank", s, "Selector for takeoff and landing", optional=True)
    yield Question("boost_pump", s, "Boost pump: when on (handbook's words)", optional=True)


def _says_its_tanks(answers: Answers) -> Callable[[dict[str, Any]], None]:
    """Asks back for a position whose name alone doesn't say which tanks it feeds from."""
    tanks = tuple(row["name"] for row in answers.get("tanks") or ())

    def look(row: dict[str, Any]) -> None:
        if "feeds" not in row and tanks_fed(row["name"], tanks) is None:
            joined = " + ".join(tanks)
            raise InputError(f"which tanks does {row['name']!r} feed from? Write: {row['name']}, {joined}")

    return look


def _flaps_and_calibration(answers: Answers, dial: str) -> Iterator[Question]:
    s, speed = "Flaps and airspeed calibration", cells.speed(dial)
    yield Question("flaps_operation", s, "How the flaps are moved", optional=True)
    yield Question(
        "notches", s, "Flap positions after up", columns=(
            Column("deflection_deg", "degrees", cells.quantity("angle", "deg", 1)),
            Column("speed", f"maximum speed ({dial} indicated)", cells.speed(dial, either=True), optional=True),
        ), hint="12, 105",
    )  # fmt: skip
    columns = (
        Column("indicated", f"indicated ({dial})", speed),
        Column("calibrated", f"calibrated ({dial})", cells.speed(dial, "calibrated")),
    )
    yield Question("calibration_up", s, "Airspeed calibration, flaps up", columns=columns, hint="60, 64")
    yield Question("calibration_down", s, "Airspeed calibration, flaps down", columns=columns, hint="60, 64")
    if answers.get("calibration_down") and len(answers.get("notches") or ()) > 1:
        text = "One more column, for which flap notch (1 is the first after up)"
        yield Question("calibration_notch", s, text, cells.whole, optional=True)
        if (notch := answers.get("calibration_notch")) is not None:
            yield Question(
                f"calibration_{notch}", s, f"Airspeed calibration, notch {notch}", columns=columns, hint="60, 64"
            )


STATIONS = ("front_seats", "rear_seats", "baggage", "fuel", "other")
SPEEDS = (
    ("stall_flaps_full", "stall, full flaps"),
    ("stall_flaps_up", "stall, flaps up"),
    ("best_angle_of_climb", "best angle of climb"),
    ("best_rate_of_climb", "best rate of climb"),
    ("maneuvering", "maneuvering"),
    ("best_glide", "best glide"),
    ("approach_flaps_full", "approach, full flaps"),
)


def _speeds_and_limits(answers: Answers, dial: str, book: Units) -> Iterator[Question]:
    w = book["weight"]
    kinds = cells.choice(("indicated", "calibrated"))
    s = "Speeds at maximum weight"
    yield Question("speeds_are", s, "Does the book print them indicated or calibrated", kinds, default="indicated")
    kind = answers.get("speeds_are") or "indicated"
    speed = cells.speed(dial, kind, either=True)
    for key, name in SPEEDS:
        yield Question(f"v_{key}", s, f"{name.capitalize()} ({dial} {kind})", speed, optional=True)
    yield Question(
        "v_more", s, "More speeds, or the same at other weights", columns=(
            Column("name", "name", _speed_name),
            Column(key_in("weight_lb", w), f"weight ({w})", _mass(book)),
            Column("speed", f"speed ({dial} {kind})", speed),
        ), hint="maneuvering, 2000, 99",
    )  # fmt: skip
    s = "Limits"
    yield Question("limits_are", s, "Does the book print them indicated or calibrated", kinds, default="indicated")
    kind = answers.get("limits_are") or "indicated"
    speed = cells.speed(dial, kind, either=True)
    yield Question("never_exceed", s, f"Never exceed ({dial} {kind})", speed, optional=True)
    yield Question("structural_cruise", s, f"Maximum structural cruise ({dial} {kind})", speed, optional=True)
    yield Question("flaps_extended", s, f"Maximum flaps extended ({dial} {kind})", speed, optional=True)
    mark = cells.quantity("speed", dial, 1)
    yield Question(
        "arcs", s, "Color arcs on the dial", columns=(
            Column("color", "color", cells.choice(("white", "green", "yellow", RED))),
            Column("low", f"low end ({dial})", mark), Column("high", f"high end ({dial})", mark, optional=True),
        ), hint="white, 40, 85      green, 47, 107      red, 158", look=partial(_arc, answers),
    )  # fmt: skip
    yield Question("maximum_rpm", s, "Maximum RPM", cells.rpm, optional=True)
    yield Question(
        "load_factors", s, "Limit load factors flaps up, negative and positive", cells.load_factors, optional=True
    )
    yield Question("load_factors_down", s, "The same with flaps down", cells.load_factors, optional=True)
    wind = cells.in_a_unit("speed")
    yield Question("crosswind", s, f"Maximum demonstrated crosswind ({dial}, or with its unit)", wind, optional=True)
    feet = cells.quantity("altitude", "ft", 0, least=20)
    yield Question("maximum_altitude", s, "Maximum operating altitude (ft)", feet, optional=True)
    yield Question("prohibited", s, "Maneuvers the book prohibits (spins, aerobatics)", cells.listed, optional=True)


RED = "red"  # no arc but a line: the never-exceed speed


def _arc(answers: Answers, row: dict[str, Any]) -> None:
    never, red = answers.get("never_exceed"), row["color"] == RED
    if red and isinstance(never, int | float) and answers.get("limits_are") != "calibrated" and row["low"] != never:
        raise InputError(f"the red line at {row['low']:g}, never exceed above at {never:g}; a digit of one?")
    if red == ("high" in row):
        raise InputError("the red line is one speed." if red else f"{row['color']}: the high end is needed.")


def _speed_name(text: str) -> str:
    name = slug(text)
    name = SYMBOLS.get(name.replace("_", ""), name)  # VA, V Y
    if not re.fullmatch(r"[a-z][a-z0-9_]{1,59}", name):
        raise InputError(f"{text!r} is no name of a speed.")
    return name


def _rear_seats(answers: Answers) -> bool:
    """Is there a station behind the front seats to sit on?"""
    return any(
        station_kind(Station.model_construct(name=str(s["name"]), kind=s.get("kind"))) == "rear_seats"
        for s in answers.get("stations") or []
    )


def _weight_and_balance(answers: Answers, book: Units) -> Iterator[Question]:
    s = "Weight and balance, of this airplane"
    w, arm = book["weight"], book["arm"]
    in_m = arm == "m"
    mass = _mass(book)
    length = cells.quantity(
        "length",
        arm,
        3 if in_m else 2,
        most=30 if in_m else None,
        top={"in": 400, "mm": 10_000, "cm": 1000}.get(arm, 10),
    )
    seat, tank, edge = {"in": ("85", "95", "82"), "mm": ("2160", "2410", "2080"), "cm": ("216", "241", "208"),
                        "m": ("2.16", "2.41", "2.08")}[arm]  # fmt: skip
    most, light = ("230", "640") if w == "kg" else ("500", "1400")
    yield Question("datum", s, "Where the datum is", optional=True)
    yield Question("empty_weight", s, f"Empty weight ({w})", mass, optional=True)
    if answers.get("empty_weight") is None:
        return
    yield Question("empty_arm", s, f"Empty center of gravity ({arm} aft of the datum)", length)
    yield Question(
        "stations", s, "Stations, the fuel's too", columns=(
            Column("name", "name", cells.words),
            Column(key_in("arm_in", arm), f"arm ({arm})", length),
            Column(key_in("maximum_lb", w), f"most allowed ({w})", mass, optional=True),
            Column("kind", "kind, if its name doesn't say", cells.choice(STATIONS), optional=True),
        ), least_rows=1, hint=f"front seats, {seat}, {most}      fuel, {tank}",
    )  # fmt: skip
    yield Question(
        "envelope_in", s, f"Envelope printed by arm ({arm}), or in percent of the mean aerodynamic chord (mac)",
        cells.choice(("arm", "mac")), default="arm",
    )  # fmt: skip
    if by_chord := answers.get("envelope_in") == "mac":
        yield Question("mac_length", s, f"Length of the mean aerodynamic chord ({arm})", length)
        yield Question("mac_leading_edge", s, f"Arm of its leading edge ({arm} aft of the datum)", length)
    for category in answers.get("category") or ["normal"]:
        yield Question(
            f"envelope_{category}", s, f"Corners of the {category} envelope, in order round it", columns=(
                Column(key_in("weight_lb", w), f"weight ({w})", mass),
                Column("percent_mac", "percent of the chord", cells.number("percent"))
                if by_chord
                else Column(key_in("arm_in", arm), f"arm ({arm})", length),
            ), hint=f"{light}, {22 if by_chord else edge}",
        )  # fmt: skip
        if category != "normal" and answers.get(f"envelope_{category}") and _rear_seats(answers):
            text = f"In the {category} category, must the rear seats be empty (yes, no)"
            yield Question(f"envelope_{category}_rear_empty", s, text, cells.yes_no)
        if category != "normal" and answers.get(f"envelope_{category}"):
            text = f"In the {category} category, most baggage ({w}; 0 for none), if the book limits it"
            yield Question(f"envelope_{category}_baggage", s, text, cells.quantity("mass", w, 1), optional=True)
