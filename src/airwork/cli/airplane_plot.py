"""Pictures of an airplane's performance for a weight and the day's air: RPM, power, climb, turns, and the collapse.

Black and white will do: curves differ by dash and name, readings by mark; the grey band holds nine in ten. --table
prints the answers behind the pictures, each with the half-width of its 90 % band.

  airwork airplane plot larkmoor_155 --altitude 3000ft --oat 14C --weight 2150lb --out larkmoor.png
  airwork airplane plot larkmoor_155 --altitude 6500ft --oat 28C --weight 1965lb --table
  airwork airplane plot my_airplane.fitted.toml --panel rpm --panel power --out power.svg
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from airwork import units
from airwork.cli import CAUTION, DONE, print_json
from airwork.errors import InputError, OutOfRange

if TYPE_CHECKING:
    from airwork.airplane.performance import Condition, Performance


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("airplane", metavar="AIRPLANE", help="airplane file (typed or fitted), or an id: larkmoor_155")
    add("--altitude", default="3000ft", help="pressure altitude, or with --altimeter what it shows (default 3000ft)")
    add("--altimeter", help="altimeter setting: 30.05inHg, QNH 1018")
    add("--oat", help="outside air temperature there: 14C; standard if not given")
    add("--weight", help="weight: 2150lb; the handbook weight if not given")
    add("--panel", action="append", choices=["rpm", "power", "climb", "bank", "collapse"], help="only this picture")
    add("--speed-unit", choices=["kt", "mph"], help="read the airspeed indicator in this unit")
    add("--out", type=Path, metavar="FILE", help="a .png or .svg file")
    add("--table", action="store_true", help="print the answers for this weight and air")
    add("--json", action="store_true", help="the answers as JSON on stdout")


def run(args: argparse.Namespace) -> int:
    """Draw, and say where; print the answers if asked."""
    from airwork.airdata.altimetry import pressure_altitude_from_setting_m
    from airwork.airdata.atmosphere import standard_temperature_k
    from airwork.airplane.performance import Condition, performance
    from airwork.jobs.files import load_airplane

    if not (args.out or args.table or args.json):
        raise InputError("say what is wanted: --out FILE for pictures, --table or --json for the answers.")

    airplane = load_airplane(args.airplane)
    fitted = performance(airplane)
    tables, known = airplane.file.performance, airplane.file.fitted
    flights = fitted.learned.flights or (known is not None and known.flights)
    if not (tables.power_chart or tables.cruise or tables.climb or fitted.learned.readings_used or flights):
        raise InputError(
            "prints no power chart, cruise or climb table, and there are no readings or flights: what would be drawn "
            "holds for any airplane of its kind. Add one of them to [performance], readings or flights.",
            where=args.airplane,
        )
    if args.speed_unit and args.speed_unit != airplane.dial_unit:
        from dataclasses import replace

        fitted = replace(fitted, airplane=airplane.with_dial(args.speed_unit))
    altitude = units.parse(args.altitude, "altitude", where="--altitude")
    if args.altimeter:
        setting = units.parse(args.altimeter, "pressure", where="--altimeter")
        altitude = float(pressure_altitude_from_setting_m(altitude, setting))
    highest = airplane.limits.max_altitude_m or 6000.0
    if not -600.0 <= altitude <= highest:
        low, high = (units.to_unit(h, "ft") for h in (-600.0, highest))
        raise OutOfRange("pressure altitude [ft]", round(units.to_unit(altitude, "ft")), round(low), round(high))
    temp = float(standard_temperature_k(altitude))
    if args.oat:
        temp = units.parse(args.oat, "temperature", where="--oat", default_unit="C")
    if not 220.0 < temp < 330.0:
        raise InputError(f"{units.write(temp, '°C')} is no outside air temperature to fly in.", where="--oat")
    mass = airplane.handbook_mass_kg
    if args.weight:
        mass = units.parse(args.weight, "mass", where="--weight", default_unit="lb")
    if not 0.3 * airplane.max_takeoff_mass_kg < mass <= airplane.max_takeoff_mass_kg * 1.0001:
        top = units.write(airplane.max_takeoff_mass_kg, airplane.book.mass)
        raise InputError(
            f"{units.write(mass, airplane.book.mass)} is not a weight to fly at (at most {top}).", where="--weight"
        )
    at = Condition(mass, altitude, temp)
    if args.out:
        from airwork.output.performance_plots import PANELS, plot_performance

        plot_performance(fitted, at, args.out, args.panel or PANELS, caution=CAUTION)
        print(f"Drawn: {args.out}. {CAUTION}", file=sys.stderr if args.json else sys.stdout)
    if args.table or args.json:
        _answers(fitted, at, as_json=args.json)
    return DONE


def _answers(fitted: Performance, at: Condition, *, as_json: bool) -> None:
    from airwork.airplane.performance.today import title_of, todays_answers

    lines = todays_answers(fitted, at)
    title = title_of(fitted, at)
    if as_json:
        from dataclasses import asdict

        print_json({"for": title, "answers": [asdict(x) for x in lines], "caution": CAUTION})
        return
    from airwork.output.answers_text import answers_text

    print(answers_text(lines, title))
    print(f"\n{CAUTION}")
