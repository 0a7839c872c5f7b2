"""Pictures of an airplane's performance for a weight and the day's air: RPM, power, climb, turns, and the collapse.

Black and white will do: curves differ by dash and name, readings by mark; the gray band holds nine in ten. --table
prints the answers behind the pictures, each with the half-width of its 90 % band.

  airwork airplane plot larkmoor_155 --altitude 3000ft --oat 14C --weight 2150lb --out larkmoor.png
  airwork airplane plot larkmoor_155 --altitude 6500ft --oat 28C --weight 1965lb --table
  airwork airplane plot my_airplane.fitted.toml --panel rpm --panel power --out power.svg
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from airwork.cli import CAUTION, DONE, print_json
from airwork.errors import InputError

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
    from airwork.airplane.numbers import Today
    from airwork.airplane.performance import Condition, performance
    from airwork.airplane.performance.today import title_of
    from airwork.jobs.asking import question
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
        airplane = airplane.with_dial(args.speed_unit)
        fitted = replace(fitted, airplane=airplane)
    asked = question({name: getattr(args, name) for name in ("altitude", "altimeter", "oat", "weight")}, airplane,
                     mark="--")  # fmt: skip
    if asked.mass_kg is None:
        asked = replace(asked, mass_kg=airplane.handbook_mass_kg)
    today = Today.of(airplane, asked)
    for caution in today.cautions:
        raise InputError(caution, where=args.airplane)
    at = Condition(today.mass_kg, today.pressure_altitude_m, today.temperature_k)
    if args.out:
        from airwork.output.performance_charts import PANELS
        from airwork.output.sheet import sheet, write_picture

        charts = [chart for name in args.panel or PANELS for chart in PANELS[name](fitted, at)]
        notes = dict.fromkeys(part for c in charts for part in c.note.split("; "))
        foot = f"{'; '.join(notes).capitalize()}. {CAUTION}"
        write_picture(args.out, sheet(title_of(fitted, at), [(c.title, c.svg) for c in charts], foot))
        print(f"Drawn: {args.out}. {CAUTION}", file=sys.stderr if args.json else sys.stdout)
    if args.table or args.json:
        _answers(fitted, at, as_json=args.json)
    return DONE


def _answers(fitted: Performance, at: Condition, *, as_json: bool) -> None:
    from airwork.airplane.performance.today import title_of, todays_answers

    lines = todays_answers(fitted, at)
    title = title_of(fitted, at)
    if as_json:
        print_json({"for": title, "answers": lines, "caution": CAUTION})
        return
    from airwork.output.today_text import today_text

    print(today_text(lines, title))
    print(f"\n{CAUTION}")
