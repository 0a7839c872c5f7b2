"""The questions, in the order of a handbook. Which come next depends on the answers so far."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from airwork.airplane.file.base import CATEGORIES
from airwork.airplane.writing import cells
from airwork.airplane.writing.cells import Reader
from airwork.errors import InputError

Answers = Mapping[str, Any]  # by question key; None: skipped


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table that is typed row by row."""

    key: str
    name: str
    read: Reader
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """One question. With `columns` it asks for rows, one a line, ended by an empty line.

    `read` turns the text into the answer, or raises InputError. `default` is what an empty answer means; an optional
    question is skipped by an empty answer.
    """

    key: str
    section: str
    text: str
    read: Reader = cells.words
    optional: bool = False
    default: str = ""
    columns: tuple[Column, ...] = ()
    least_rows: int = 0
    hint: str = ""

    def read_row(self, text: str) -> dict[str, Any]:
        """A row typed with commas between the columns; "-" for a column that is not published.

        Raises
        ------
        InputError : too few or too many columns, or one that can't be read.
        """
        parts = [part.strip() for part in text.split(",")]
        needed = sum(not c.optional for c in self.columns)
        if not needed <= len(parts) <= len(self.columns):
            wanted = ", ".join(c.name for c in self.columns)
            raise InputError(f"{len(parts)} columns, wanted: {wanted}.")
        row: dict[str, Any] = {}
        for column, part in zip(self.columns, parts, strict=False):
            if part in {"", "-", "–"}:
                if not column.optional:
                    raise InputError(f"{column.name} is needed.")
                continue
            try:
                row[column.key] = column.read(part)
            except InputError as problem:
                raise InputError(f"{column.name}: {problem.problem}") from None
        return row


def next_question(answers: Answers) -> Question | None:
    """The first question without an answer; None when all are answered."""
    return next((q for q in questions(answers) if q.key not in answers), None)


def questions(answers: Answers) -> Iterator[Question]:
    """Every question that applies, given the answers so far."""
    dial = answers.get("dial") or "kt"
    yield from _identity(answers)
    yield from _engine(answers)
    yield from _fuel()
    yield from _flaps_and_calibration(dial)
    yield from _speeds_and_limits(dial)
    yield from _weight_and_balance(answers)
    yield from _performance(answers, dial)


def slug(name: str) -> str:
    """An id made from a name."""
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")[:60] or "airplane"


def _id(text: str) -> str:
    if not re.fullmatch(r"[a-z0-9][a-z0-9_-]{0,63}", text):
        raise InputError("small letters, digits, _ and - only.")
    return text


def _identity(answers: Answers) -> Iterator[Question]:
    s, pound = "The airplane", cells.quantity("mass", "lb", 1)
    yield Question("name", s, "Name, as people say it")
    yield Question("id", s, "Short name for commands", _id, default=slug(answers.get("name") or ""))
    yield Question("registration", s, "Registration", optional=True)
    yield Question("handbook", s, "Handbook this is typed from (title, edition)", optional=True)
    yield Question("seats", s, "Seats", cells.whole, optional=True)
    yield Question("dial", s, "Unit on the airspeed indicator, kt or mph", cells.dial_unit)
    yield Question("category", s, f"Categories ({', '.join(CATEGORIES)})", cells.choices(CATEGORIES), default="normal")
    yield Question("takeoff_weight", s, "Maximum takeoff weight (lb)", pound)
    yield Question("landing_weight", s, "Maximum landing weight, if different (lb)", pound, optional=True)
    yield Question("wing_area", s, "Wing area (ft²)", cells.number("square feet"), optional=True)
    yield Question("wing_span", s, "Wing span (ft)", cells.quantity("length", "ft", 2), optional=True)


def _engine(answers: Answers) -> Iterator[Question]:
    s = "Engine and propeller"
    yield Question("rated_power", s, "Rated power (hp)", cells.quantity("power", "hp", 1))
    yield Question("rated_rpm", s, "RPM of rated power", cells.rpm)
    yield Question("fuel_system", s, "Carburetor or fuel injection", cells.choice(("carburetor", "fuel injection")))
    if answers.get("fuel_system") == "carburetor":
        yield Question("carburetor_heat", s, "Has it carburetor heat", cells.yes_no, default="yes")
    yield Question("leaning", s, "Leaning allowed at or below which percent power", cells.number(), optional=True)
    if answers.get("leaning") is not None:
        yield Question("best_power", s, "Best power is set how (handbook's words)", optional=True)
        yield Question("best_economy", s, "Best economy is set how (handbook's words)", optional=True)
    kinds = cells.choice(("fixed pitch", "constant speed"))
    yield Question("propeller", s, "Propeller: fixed pitch or constant speed", kinds)
    yield Question("diameter", s, "Propeller diameter (in)", cells.quantity("length", "in", 1), optional=True)


def _fuel() -> Iterator[Question]:
    s, gallon = "Fuel", cells.quantity("volume", "gal", 2)
    yield Question(
        "tanks", s, "Tanks", columns=(
            Column("name", "name", cells.words),
            Column("capacity_us_gal", "capacity (gal)", gallon),
            Column("usable_us_gal", "usable (gal)", gallon),
        ), least_rows=1, hint="left wing, 21, 20",
    )  # fmt: skip
    yield Question(
        "selector", s, "Selector positions and the tanks each feeds from", columns=(
            Column("name", "position", cells.words),
            Column("feeds", "tanks joined by +, or none", cells.names),
        ), hint="left, left wing      both, left wing + right wing      off, none",
    )  # fmt: skip
    yield Question("switching", s, "Change tanks every (min)", cells.quantity("time", "min", 0), optional=True)
    yield Question("imbalance", s, "Largest difference between the tanks (gal)", gallon, optional=True)
    yield Question("takeoff_tank", s, "Selector for takeoff and landing", optional=True)
    yield Question("boost_pump", s, "Boost pump: when on (handbook's words)", optional=True)


def _flaps_and_calibration(dial: str) -> Iterator[Question]:
    s, speed = "Flaps and airspeed calibration", cells.speed(dial)
    yield Question("flaps_operation", s, "How the flaps are moved", optional=True)
    yield Question(
        "notches", s, "Flap positions after up", columns=(
            Column("deflection_deg", "degrees", cells.quantity("angle", "deg", 1)),
            Column("speed", f"maximum speed ({dial} indicated)", speed, optional=True),
        ), hint="12, 105",
    )  # fmt: skip
    for key, words in (("calibration_up", "flaps up"), ("calibration_down", "flaps down")):
        yield Question(
            key, s, f"Airspeed calibration, {words}", columns=(
                Column("indicated", f"indicated ({dial})", speed),
                Column("calibrated", f"calibrated ({dial})", speed),
            ), hint="60, 64",
        )  # fmt: skip


SPEEDS = (
    ("stall_flaps_full", "stall, full flaps"),
    ("stall_flaps_up", "stall, flaps up"),
    ("best_angle_of_climb", "best angle of climb"),
    ("best_rate_of_climb", "best rate of climb"),
    ("maneuvering", "maneuvering"),
    ("best_glide", "best glide"),
    ("approach_flaps_full", "approach, full flaps"),
)


def _speeds_and_limits(dial: str) -> Iterator[Question]:
    s, speed = f"Speeds at maximum weight ({dial} indicated)", cells.speed(dial)
    for key, name in SPEEDS:
        yield Question(f"v_{key}", s, name.capitalize(), speed, optional=True)
    yield Question(
        "v_more", s, "More speeds, or the same at other weights", columns=(
            Column("name", "name", _speed_name),
            Column("weight_lb", "weight (lb)", cells.quantity("mass", "lb", 1)),
            Column("speed", f"speed ({dial} indicated)", speed),
        ), hint="maneuvering, 2000, 99",
    )  # fmt: skip
    s = "Limits"
    yield Question("never_exceed", s, f"Never exceed ({dial} indicated)", speed, optional=True)
    yield Question("structural_cruise", s, f"Maximum structural cruise ({dial} indicated)", speed, optional=True)
    yield Question("flaps_extended", s, f"Maximum flaps extended ({dial} indicated)", speed, optional=True)
    yield Question("maximum_rpm", s, "Maximum RPM", cells.rpm, optional=True)
    yield Question(
        "load_factors", s, "Limit load factors flaps up, negative and positive", cells.low_high, optional=True
    )
    yield Question("load_factors_down", s, "The same with flaps down", cells.low_high, optional=True)
    knots = cells.quantity("speed", "kt", 0)
    yield Question("crosswind", s, "Maximum demonstrated crosswind (kt)", knots, optional=True)
    feet = cells.quantity("altitude", "ft", 0)
    yield Question("maximum_altitude", s, "Maximum operating altitude (ft)", feet, optional=True)


def _speed_name(text: str) -> str:
    name = slug(text)
    if not re.fullmatch(r"[a-z][a-z0-9_]{1,59}", name):
        raise InputError(f"{text!r} is no name of a speed.")
    return name


def _weight_and_balance(answers: Answers) -> Iterator[Question]:
    s = "Weight and balance, of this airplane"
    pound, inch = cells.quantity("mass", "lb", 1), cells.quantity("length", "in", 2)
    yield Question("datum", s, "Where the datum is", optional=True)
    yield Question("empty_weight", s, "Empty weight (lb)", pound, optional=True)
    if answers.get("empty_weight") is None:
        return
    yield Question("empty_arm", s, "Empty center of gravity (in aft of the datum)", inch)
    yield Question(
        "stations", s, "Stations, the fuel's too", columns=(
            Column("name", "name", cells.words),
            Column("arm_in", "arm (in)", inch),
            Column("maximum_lb", "most allowed (lb)", pound, optional=True),
        ), least_rows=1, hint="front seats, 85, 500      fuel, 95",
    )  # fmt: skip
    for category in answers.get("category") or ["normal"]:
        yield Question(
            f"envelope_{category}", s, f"Corners of the {category} envelope, in order round it", columns=(
                Column("weight_lb", "weight (lb)", pound),
                Column("arm_in", "arm (in)", inch),
            ), hint="1400, 82.0",
        )  # fmt: skip


def _performance(answers: Answers, dial: str) -> Iterator[Question]:
    s = "Performance (leave a table empty to type it into the file later)"
    pound, feet = cells.quantity("mass", "lb", 1), cells.quantity("altitude", "ft", 0)
    percent, gph = cells.number("percent"), cells.quantity("volume_flow", "gph", 2)
    celsius, inhg = cells.quantity("temperature", "°C", 1), cells.quantity("pressure", "inHg", 2)
    fixed = answers.get("propeller") != "constant speed"
    setting = [Column("rpm", "RPM", cells.rpm)]
    if not fixed:
        setting.append(Column("manifold_pressure_inhg", "manifold pressure (inHg)", inhg))
    yield Question("handbook_weight", s, "Weight the cruise and power tables are for (lb)", pound, optional=True)
    yield Question(
        "stall", s, "Stall speeds, level", columns=(
            Column("weight_lb", "weight (lb)", pound),
            Column("flap_notch", "flap notch, 0 is up", cells.whole),
            Column("speed", f"speed ({dial} indicated)", cells.speed(dial)),
        ), hint="2300, 0, 49",
    )  # fmt: skip
    height = "density altitude" if fixed else "pressure altitude"
    yield Question(
        "power_chart", s, "Percent power", columns=(
            Column(f"{height.replace(' ', '_')}_ft", f"{height} (ft)", feet), *setting,
            Column("percent_power", "percent power", percent),
        ), hint="4000, 2400, 63" if fixed else "4000, 2400, 22, 66",
    )  # fmt: skip
    yield Question(
        "cruise", s, "Cruise", columns=(
            Column("pressure_altitude_ft", "pressure altitude (ft)", feet),
            Column("isa_deviation_c", "above standard (°C)", cells.number("degrees")), *setting,
            Column("percent_power", "percent power", percent),
            Column("ktas", "true airspeed (kt)", cells.quantity("speed", "kt", 1), optional=True),
            Column("gph_full_rich", "full rich (gal/h)", gph, optional=True),
            Column("gph_best_power", "best power (gal/h)", gph, optional=True),
            Column("gph_best_economy", "best economy (gal/h)", gph, optional=True),
        ), hint="4000, 0, 2400, 63, 105, 9.0, 8.1, -" if fixed else "4000, 0, 2400, 22, 66, 135, 12.0, 10.8, -",
    )  # fmt: skip
    air = (
        Column("weight_lb", "weight (lb)", pound),
        Column("pressure_altitude_ft", "pressure altitude (ft)", feet),
        Column("oat_c", "temperature (°C)", celsius),
    )
    fpm = cells.quantity("vertical_speed", "fpm", 0)
    rate = Column("rate_of_climb_fpm", "rate of climb (ft/min)", fpm)
    yield Question("climb", s, "Climb, full throttle", columns=(*air, rate), hint="2300, 2000, 20, 640")
    distance = cells.quantity("length", "ft", 0)
    for kind in ("takeoff", "landing"):
        yield Question(f"{kind}_notch", s, f"Flap notch for {kind}, 0 is up", cells.whole, optional=True)
        yield Question(
            kind, s, f"{kind.capitalize()} distance", columns=(
                *air,
                Column("ground_roll_ft", "ground roll (ft)", distance),
                Column("total_over_50_ft", "total over 50 ft (ft)", distance, optional=True),
            ), hint="2300, 2000, 20, 770, 1625",
        )  # fmt: skip
        yield Question(
            f"{kind}_corrections", s, f"{kind.capitalize()} corrections", columns=(
                Column("cause", "cause", cells.choice(CAUSES)),
                Column("change_percent", "change in percent", percent),
                Column("per", PER_WORDS, cells.number(), optional=True),
            ), hint="headwind, -10, 9      tailwind, 10, 2      dry_grass, 15      above_standard_f, 10, 25",
        )  # fmt: skip
    yield Question("glide_ratio", s, "Glide ratio (distance over height)", cells.number(), optional=True)


PER_WORDS = "for every so many (knots of wind, percent of slope, degrees above standard)"
CAUSES = (
    "headwind", "tailwind", "dry_grass", "wet_grass", "soft_ground", "wet_paved", "upslope", "downslope",
    "above_standard_f", "above_standard_c",
)  # fmt: skip
