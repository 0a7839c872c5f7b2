"""An airplane's numbers for today's air and weight, on one screen.

AIRPLANE is an airplane file or the id of an invented airplane. What is not given is assumed and shown as assumed.

  airwork numbers larkmoor_155 --altitude 6500ft --altimeter 30.05inHg --oat 24C --weight 2200lb
  airwork numbers larkmoor_155 --altitude 3500ft --oat 18C --rpm 2400 --bank 45deg --speed 105mph
  airwork numbers wrenbrook_108 --load "seats=340lb" --fuel "left wing=10gal" --fuel "right wing=10gal"
  airwork numbers larkmoor_155 --weight 1950lb --elevation 1200ft --field-oat 26C --runway 2600ft \\
      --runway-heading 27 --wind 240/12kt --surface dry_grass --slope 1%
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from airwork import units
from airwork.cli import CAUTION, DONE, print_json
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.airplane.numbers import Field, Question

_RUNWAY_NUMBER = re.compile(r"^\s*(\d{1,2})\s*[LCRlcr]?\s*$")


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("airplane", metavar="AIRPLANE", help="airplane file, or an id: larkmoor_155, wrenbrook_108, caldmere_200")
    day = parser.add_argument_group("the day")
    day.add_argument("--altitude", help="altitude the altimeter shows: 6500ft, FL065")
    day.add_argument("--altimeter", help="altimeter setting: 30.05inHg, 1018hPa, QNH 1018")
    day.add_argument("--oat", help="outside air temperature at that altitude: 24C, 75F")
    day.add_argument("--dewpoint", help="dew point there: 12C (humid density altitude, carburetor icing)")
    state = parser.add_argument_group("the airplane's state")
    state.add_argument("--weight", help="weight now: 2200lb, 980kg")
    state.add_argument("--rpm", help="engine speed: 2400")
    state.add_argument("--mp", help="manifold pressure: 22inHg (constant-speed propeller)")
    state.add_argument("--power", help="a power to set: 65%%")
    state.add_argument("--flaps", help="flap notch: up, 1, 2, full")
    state.add_argument("--bank", help="angle of bank: 45deg")
    state.add_argument("--speed", help="indicated airspeed for the turn: 105mph, 95kt")
    state.add_argument("--speed-unit", choices=["kt", "mph"], help="read the airspeed indicator in this unit")
    loads = parser.add_argument_group("loading (instead of --weight)")
    loads.add_argument("--load", action="append", default=[], metavar="STATION=WEIGHT", help='"front seats=340lb"')
    loads.add_argument(
        "--fuel", action="append", default=[], metavar="TANK=VOLUME", help='"left wing=15gal", or 30gal in all'
    )
    field = parser.add_argument_group("takeoff and landing")
    field.add_argument("--elevation", help="field elevation: 1200ft")
    field.add_argument("--field-oat", help="temperature at the field: 26C")
    field.add_argument("--runway", help="length available: 2600ft")
    field.add_argument("--runway-heading", metavar="NUMBER", help="runway number or direction: 27, 268deg")
    field.add_argument("--wind", help="wind, in the runway's reference: 240/12kt")
    field.add_argument("--headwind", help="headwind along the runway instead: 8kt; a tailwind is negative: -3kt")
    field.add_argument("--surface", default=None, help="paved_dry, paved_wet, dry_grass, wet_grass, soft_ground, snow")
    field.add_argument("--slope", help="rise in the direction of takeoff and landing: 1%%, -0.5%%")
    field.add_argument("--factor", type=float, help="safety factor; 1.33 for takeoff, 1.43 for landing if not given")
    add("--json", action="store_true", help="every value with its unit, how it was had and its source")


def run(args: argparse.Namespace) -> int:
    """Print the numbers, as a screen or as JSON."""
    from airwork.airplane.numbers import numbers_for
    from airwork.jobs.files import load_airplane

    airplane = load_airplane(args.airplane)
    if args.speed_unit:
        airplane = airplane.with_dial(args.speed_unit)
    numbers = numbers_for(airplane, question(args, airplane))
    if args.json:
        print_json({**numbers.as_json(), "caution": CAUTION})
        return DONE
    from airwork.output.numbers import numbers_text

    print(numbers_text(numbers))
    print(f"\n{CAUTION}")
    return DONE


def question(args: argparse.Namespace, airplane: Airplane) -> Question:
    """The options as a question, in SI.

    Raises
    ------
    InputError : an option that can't be read; names the option.
    """
    from airwork.airplane.numbers import Question
    from airwork.jobs.files import plausible_weight

    def read(option: str, kind: units.Kind, default_unit: str = "") -> float | None:
        text = getattr(args, option)
        where = f"--{option.replace('_', '-')}"
        return None if text is None else units.parse(text, kind, where=where, default_unit=default_unit)

    rpm, bank, mass_kg = read("rpm", "rotation", "rpm"), read("bank", "angle", "deg"), read("weight", "mass")
    plausible_weight(mass_kg, airplane)
    return Question(
        altitude_m=read("altitude", "altitude"),
        setting_pa=read("altimeter", "pressure"),
        temperature_k=read("oat", "temperature"),
        dewpoint_k=read("dewpoint", "temperature"),
        mass_kg=mass_kg,
        rpm=None if rpm is None else round(units.to_unit(rpm, "rpm"), 6),
        manifold_pressure_pa=read("mp", "pressure", "inHg"),
        power_ratio=_power(args.power),
        flap_notch=_notch(args.flaps, airplane),
        bank_rad=None if bank is None else abs(bank),  # a left bank is as steep as a right one
        ias_mps=read("speed", "speed", airplane.dial_unit),
        station_mass_kg=_pairs(args.load, "mass", "--load"),
        tank_m3=_fuel(args.fuel, airplane),
        field=_field(args, airplane, read("elevation", "altitude"), read("field_oat", "temperature")),
    )


def _power(text: str | None) -> float | None:
    if text is None:
        return None
    value = units.parse(text, "ratio", where="--power")
    return value / 100.0 if value > 1.5 and re.search(r"[%a-z]", text, re.IGNORECASE) is None else value  # "65" is 65 %


def _notch(text: str | None, airplane: Airplane) -> int | None:
    if text is None:
        return None
    word = text.strip().lower()
    named = {n.name.lower(): n.notch for n in airplane.flap_notches if n.name}
    if word in named:
        return named[word]
    if word in {"up", "0"}:
        return 0
    if word in {"full", "down", "landing"}:
        return airplane.flaps_full
    if word.isdecimal():
        return int(word)
    raise InputError(f"{text!r} is no flap position; write up, 1 to {airplane.flaps_full}, or full.", where="--flaps")


def _pairs(texts: Sequence[str], kind: units.Kind, where: str) -> dict[str, float]:
    out: dict[str, float] = {}
    for text in texts:
        name, equals, amount = text.rpartition("=")
        if not equals or not name.strip():
            raise InputError(f'{text!r}: write NAME=AMOUNT, e.g. "front seats=340lb".', where=where)
        out[name.strip()] = out.get(name.strip(), 0.0) + units.parse(amount, kind, where=where)
    return out


def _fuel(texts: Sequence[str], airplane: Airplane) -> dict[str, float]:
    """Fuel by tank; an amount without a tank is shared evenly among all."""
    bare = [text for text in texts if "=" not in text]
    if bare and (len(texts) > 1 or not airplane.tanks):
        raise InputError("give one amount for all tanks, or TANK=VOLUME for each.", where="--fuel")
    if bare:
        share = units.parse(bare[0], "volume", where="--fuel") / len(airplane.tanks)
        return {tank.name: share for tank in airplane.tanks}
    return _pairs(texts, "volume", "--fuel")


def _field(
    args: argparse.Namespace, airplane: Airplane, elevation_m: float | None, temperature_k: float | None
) -> Field | None:
    from airwork.airplane.numbers import Field

    asked = (args.runway, args.runway_heading, args.wind, args.headwind, args.surface, args.slope, args.factor)
    if elevation_m is None and temperature_k is None and all(a is None for a in asked):
        return None
    headwind, crosswind = _wind(args)
    slope = 0.0 if args.slope is None else _slope(args.slope)
    return Field(
        elevation_m=elevation_m or 0.0,
        temperature_k=temperature_k,
        length_m=None if args.runway is None else units.parse(args.runway, "length", where="--runway"),
        headwind_mps=headwind,
        crosswind_mps=crosswind,
        surface=(args.surface or "paved_dry").strip().lower().replace(" ", "_").replace("-", "_"),
        slope=slope,
        factor=args.factor,
    )


def _slope(text: str) -> float:
    value = units.parse(text, "ratio", where="--slope")
    return value / 100.0 if "%" not in text and "percent" not in text and abs(value) >= 0.15 else value  # "1" is 1 %


def _wind(args: argparse.Namespace) -> tuple[float, float]:
    """(headwind, crosswind from the right). [m/s]"""
    if args.headwind is not None:
        if args.wind is not None:
            raise InputError("give either --wind with --runway-heading, or --headwind.", where="--wind")
        return units.parse(args.headwind, "speed", where="--headwind", default_unit="kt"), 0.0
    if args.wind is None:
        return 0.0, 0.0
    from airwork.airdata.wind import crosswind_mps, headwind_mps
    from airwork.lesson.wind_text import parse_wind

    if args.runway_heading is None:
        raise InputError("a wind needs --runway-heading, or give --headwind.", where="--wind")
    found = parse_wind(args.wind, where="--wind")
    if found.magnetic:
        raise InputError("a magnetic wind needs a variation; write it true, as --runway-heading is.", where="--wind")
    number = _RUNWAY_NUMBER.match(args.runway_heading)
    if number is not None and 1 <= int(number[1]) <= 36:
        runway = units.from_unit(10.0 * int(number[1]), "deg")
    else:
        runway = units.parse(args.runway_heading, "angle", where="--runway-heading", default_unit="deg")
    if found.from_rad is None:  # without a direction: none of it ahead, all of it across
        return 0.0, found.peak_mps
    ahead = float(headwind_mps(found.from_rad, found.speed_mps, runway))
    return ahead, float(crosswind_mps(found.from_rad, found.peak_mps, runway))
