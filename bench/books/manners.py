"""Books about invented airplanes, each printed in its own manner: units, tables, rounding, corrections, omissions."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Manner:
    """How a publisher prints."""

    name: str
    kind: str
    weight: str = "lb"  # lb, kg
    arm: str = "in"  # in, mm, m
    runway: str = "ft"  # ft, m
    volume: str = "us_gal"  # us_gal, l, imp_gal
    heat: str = "c"  # c, f, isa
    dial: str = "kt"  # kt, mph, km/h
    pressure: str = "inhg"
    power: str = "hp"
    stalls: str = "indicated"  # indicated, calibrated
    stall_banks: tuple[int, ...] = (0, 30, 45, 60)
    stall_shares: tuple[float, ...] = (1.0, 0.85)
    takeoff_shares: tuple[float, ...] = (1.0, 0.87)
    runway_heights_ft: tuple[int, ...] = (0, 2000, 4000, 6000, 8000)
    runway_heats: tuple[int, ...] = (0, 10, 20, 30, 40)  # °C, °F or deviations
    landing_heats: tuple[int, ...] | None = None
    climb_shares: tuple[float, ...] = (1.0,)
    climb_heights_ft: tuple[int, ...] = (0, 2000, 4000, 6000, 8000, 10000)
    climb_heats: tuple[int, ...] | None = (-20, 0, 20, 40)
    cruise_heights_ft: tuple[int, ...] = (2000, 4000, 6000, 8000)
    cruise_deviations: tuple[int, ...] = (-20, 0, 20)
    mixtures: tuple[str, ...] = ("best_power", "best_economy")
    chart: bool = True
    calibration: bool = True
    to_climb: bool = True
    drawn: float = 0.0  # spread of the reading of a drawn chart, relative
    roll_step: int = 5
    applies: str = "ground_roll"
    corrections: tuple[str, ...] = ("headwind", "tailwind", "dry_grass", "upslope", "downslope")
    winds: tuple[int, ...] = ()  # kt: a column for each headwind beside the calm one
    percent: bool = True  # percent power in the cruise table
    chord: bool = False  # the envelope in percent of the mean aerodynamic chord
    speeds: str = "indicated"  # V-speeds and limits
    load: bool = False  # the cruise table's setting is the engine's load in percent alone
    more: dict[str, Any] = field(default_factory=dict)


MANNERS = (
    Manner("american", "four", dial="kt"),
    Manner(
        "european",
        "light two",
        "kg",
        "mm",
        "m",
        "l",
        "isa",
        "kt",
        "hpa",
        "ps",
        "calibrated",
        (0, 30, 45, 60),
        takeoff_shares=(1.0, 0.85),
        runway_heights_ft=(0, 2000, 4000, 6000),
        runway_heats=(-10, 0, 10, 20),
        climb_heats=(-10, 0, 10, 20),
        mixtures=("best_economy",),
        applies="total",
        cruise_deviations=(0,),
        corrections=("headwind", "tailwind", "dry_grass", "wet_grass", "upslope"),
        roll_step=5,
    ),
    Manner(
        "sixties",
        "old four",
        dial="mph",
        stalls="calibrated",
        stall_banks=(0, 20, 40, 60),
        stall_shares=(1.0,),
        takeoff_shares=(1.0,),
        runway_heights_ft=(0, 2500, 5000, 7500),
        runway_heats=(),
        climb_heats=None,
        climb_heights_ft=(0, 5000, 10000),
        cruise_heights_ft=(2500, 5000, 7500),
        cruise_deviations=(0,),
        mixtures=("best_power",),
        chart=False,
        calibration=False,
        to_climb=False,
        drawn=0.006,
        corrections=("headwind", "dry_grass", "above_standard_temperature"),
        applies="share_of_total",
    ),
    Manner(
        "ultralight",
        "ultralight",
        "kg",
        "mm",
        "m",
        "l",
        "c",
        "km/h",
        power="ps",
        stall_banks=(0,),
        stall_shares=(1.0,),
        takeoff_shares=(1.0,),
        runway_heights_ft=(0, 2000, 4000),
        runway_heats=(0, 15, 30),
        climb_heats=(0, 15, 30),
        climb_heights_ft=(0, 2000, 4000, 6000),
        cruise_heights_ft=(2000, 6000),
        cruise_deviations=(0,),
        mixtures=("best_economy",),
        chart=False,
        to_climb=False,
        corrections=("headwind", "dry_grass"),
        applies="total",
    ),
    Manner(
        "constant speed",
        "strong four",
        takeoff_shares=(1.0, 0.9, 0.8),
        climb_shares=(1.0, 0.85),
        mixtures=("best_power", "best_economy", "full_rich"),
        drawn=0.004,
        roll_step=10,
    ),
    Manner(
        "fahrenheit",
        "four",
        heat="f",
        dial="mph",
        runway_heats=(20, 40, 60, 80, 100),
        climb_heats=(0, 40, 80),
        mixtures=("full_rich", "best_power"),
        stall_banks=(0, 60),
        roll_step=10,
        corrections=("headwind", "tailwind", "dry_grass", "wet_grass"),
        applies="total",
    ),
)
# Never looked at while ranges were chosen: scored at the end alone.
KEPT_BACK = (
    Manner(
        "imperial",
        "light two",
        "lb",
        "in",
        "m",
        "imp_gal",
        "c",
        "kt",
        takeoff_shares=(1.0, 0.9),
        runway_heights_ft=(0, 1000, 2000, 4000, 6000),
        runway_heats=(0, 15, 30, 40),
        climb_heats=None,
        climb_heights_ft=(0, 3000, 6000, 9000),
        mixtures=("best_power", "full_rich"),
        chart=True,
        stall_banks=(0, 30, 60),
        corrections=("headwind", "tailwind", "wet_grass", "dry_grass"),
        applies="total",
        drawn=0.005,
    ),
    Manner(
        "metric constant speed",
        "strong four",
        "kg",
        "m",
        "m",
        "l",
        "isa",
        "kt",
        "hpa",
        "kw",
        "indicated",
        (0, 45),
        stall_shares=(1.0, 0.9, 0.8),
        takeoff_shares=(1.0, 0.88),
        runway_heights_ft=(0, 1500, 3000, 4500, 6000, 7500),
        runway_heats=(-15, 0, 15, 30),
        climb_heats=(-15, 0, 15, 30),
        climb_shares=(1.0, 0.88),
        roll_step=5,
        corrections=("headwind", "tailwind", "dry_grass", "upslope", "downslope"),
        applies="share_of_total",
        cruise_deviations=(-15, 0, 15),
    ),
)
# Written last, when every check stood: what breaks on a book nobody thought of.
LAST = (
    Manner(
        "commonwealth",
        "four",
        "lb",
        "in",
        "ft",
        "imp_gal",
        "f",
        "mph",
        stalls="calibrated",
        stall_banks=(0, 30, 60),
        stall_shares=(1.0, 0.9),
        takeoff_shares=(1.0, 0.92, 0.84),
        runway_heights_ft=(0, 1500, 3000, 4500),
        runway_heats=(32, 59, 86),
        climb_heats=(32, 59, 86),
        climb_heights_ft=(0, 3000, 6000, 9000),
        climb_shares=(1.0, 0.9),
        cruise_heights_ft=(3000, 6000, 9000),
        cruise_deviations=(0,),
        mixtures=("full_rich", "best_economy"),
        chart=False,
        calibration=False,
        to_climb=False,
        drawn=0.004,
        roll_step=10,
        corrections=("headwind", "wet_grass", "upslope", "downslope"),
        applies="share_of_total",
    ),
    Manner(
        "alpine club",
        "light two",
        "kg",
        "m",
        "m",
        "l",
        "c",
        "km/h",
        "hpa",
        "kw",
        stall_banks=(0, 45),
        stall_shares=(1.0,),
        takeoff_shares=(1.0, 0.9),
        runway_heights_ft=(0, 2000, 4000, 6000, 8000),
        runway_heats=(-10, 5, 20, 35),
        climb_heats=(-10, 5, 20, 35),
        cruise_heights_ft=(4000, 8000),
        cruise_deviations=(-10, 0, 10),
        mixtures=("best_power",),
        corrections=("headwind", "tailwind", "dry_grass", "upslope"),
        applies="ground_roll",
    ),
)
# Printed in ways no book before was: a column for each wind, no percent power, speeds and limits calibrated, gross
# weight and standard air alone; the envelope in percent of the chord, manifold pressure in hPa. Nothing tuned on them.
NEWEST = (
    Manner(
        "seventies",
        "four",
        "lb",
        "in",
        "ft",
        "us_gal",
        "f",
        "mph",
        stalls="calibrated",
        stall_banks=(0, 20, 40, 60),
        stall_shares=(1.0,),
        takeoff_shares=(1.0,),
        runway_heights_ft=(0, 2500, 5000, 7500),
        runway_heats=(),
        climb_heats=None,
        climb_heights_ft=(0, 5000, 10000, 13000),
        cruise_heights_ft=(2500, 5000, 7500, 10000),
        cruise_deviations=(0,),
        mixtures=("best_power",),
        chart=False,
        calibration=True,
        to_climb=False,
        drawn=0.004,
        roll_step=5,
        corrections=("dry_grass", "above_standard_temperature"),
        applies="share_of_total",
        winds=(10, 20),
        percent=False,
        speeds="calibrated",
    ),
    Manner(
        "modern metric",
        "strong four",
        "kg",
        "m",
        "m",
        "l",
        "isa",
        "kt",
        "hpa",
        "kw",
        stall_banks=(0, 30, 60),
        stall_shares=(1.0, 0.8),
        takeoff_shares=(1.0, 0.9, 0.8),
        runway_heights_ft=(0, 2000, 4000, 6000, 8000, 10000),
        runway_heats=(-20, 0, 20),
        climb_heats=(-20, 0, 20),
        climb_heights_ft=(0, 2000, 4000, 6000, 8000, 10000, 12000),
        climb_shares=(1.0, 0.9, 0.8),
        cruise_heights_ft=(2000, 4000, 6000, 8000, 10000),
        cruise_deviations=(-20, 0, 20),
        mixtures=("best_economy",),
        chart=False,
        corrections=("headwind", "tailwind", "dry_grass", "wet_grass", "upslope", "downslope"),
        applies="ground_roll",
        chord=True,
        percent=False,
    ),
)
# Written when everything above had been scored, before their maker read a line of the checks; with the two books in
# bench/books/typed, which come from no machine at all. Nothing tuned on them.
UNREAD = (
    Manner(
        "french club",
        "four",
        "kg",
        "m",
        "m",
        "l",
        "isa",
        "km/h",
        power="ps",
        stall_banks=(0, 30, 60),
        stall_shares=(1.0,),
        takeoff_shares=(1.0, 0.8),
        runway_heights_ft=(0, 4000, 8000),
        runway_heats=(-20, 0, 20),
        climb_heats=(-20, 0, 20),
        climb_heights_ft=(0, 4000, 8000),
        climb_shares=(1.0, 0.8),
        cruise_heights_ft=(0, 4000, 8000),
        cruise_deviations=(0,),
        mixtures=("best_economy",),
        chart=False,
        calibration=True,
        to_climb=False,
        drawn=0.005,
        roll_step=5,
        corrections=("dry_grass", "tailwind"),
        applies="total",
        winds=(10, 20, 30),
    ),
    Manner(
        "diesel",
        "diesel",
        "kg",
        "m",
        "m",
        "l",
        "c",
        "kt",
        power="kw",
        stall_banks=(0, 30, 45, 60),
        stall_shares=(1.0, 0.85),
        takeoff_shares=(1.0, 0.85),
        runway_heights_ft=(0, 2000, 4000, 6000, 8000),
        runway_heats=(-20, 0, 15, 30, 45),
        climb_heats=(-20, 0, 20, 40),
        climb_heights_ft=(0, 2000, 4000, 6000, 8000, 10000, 12000),
        climb_shares=(1.0, 0.85),
        cruise_heights_ft=(2000, 4000, 6000, 8000, 10000, 12000),
        cruise_deviations=(-10, 0, 20),
        mixtures=("full_rich",),
        chart=False,
        corrections=("headwind", "tailwind", "dry_grass", "wet_grass", "upslope"),
        applies="ground_roll",
        load=True,
    ),
)
