"""Pictures of an airplane's performance for a weight and the day's air: RPM, power, climb, turns, and the collapse.

Black and white will do: curves differ by dash and name, readings by mark; the gray band holds nine in ten. The answers
behind the pictures: airwork numbers AIRPLANE --model.

  airwork airplane plot larkmoor_155 --altitude 3000ft --oat 14C --weight 2150lb --out larkmoor.png
  airwork airplane plot my_airplane.fitted.toml --panel rpm --panel power --out power.svg
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

from airwork.cli import CAUTION, DONE
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("airplane", metavar="AIRPLANE", help="airplane file (typed or fitted), or an id: larkmoor_155")
    add("--altitude", default="3000ft", help="pressure altitude, or with --altimeter what it shows (default 3000ft)")
    add("--altimeter", help="altimeter setting: 30.05inHg, QNH 1018")
    add("--oat", help="outside air temperature there: 14C; standard if not given")
    add("--weight", help="weight: 2150lb; the handbook weight if not given")
    add("--panel", action="append", choices=["rpm", "power", "climb", "bank", "collapse"], help="only this picture")
    add("--speed-unit", choices=["kt", "mph"], help="read the airspeed indicator in this unit")
    add("--out", type=Path, metavar="FILE", required=True, help="a .png or .svg file")


def run(args: argparse.Namespace) -> int:
    """Draw, and say where."""
    from airwork.airplane.numbers import Today
    from airwork.airplane.numbers.fitted import model_of
    from airwork.airplane.performance import Condition
    from airwork.airplane.performance.today import title_of
    from airwork.jobs.asking import question
    from airwork.jobs.files import load_airplane
    from airwork.output.performance_charts import PANELS
    from airwork.output.sheet import sheet, write_picture

    airplane = load_airplane(args.airplane)
    if args.speed_unit:
        airplane = airplane.with_dial(args.speed_unit)
    fitted = model_of(airplane)
    asked = question({name: getattr(args, name) for name in ("altitude", "altimeter", "oat", "weight")}, airplane,
                     mark="--")  # fmt: skip
    if asked.mass_kg is None:
        asked = replace(asked, mass_kg=airplane.handbook_mass_kg)
    today = Today.of(airplane, asked)
    for caution in today.cautions:
        raise InputError(caution, where=args.airplane)
    at = Condition(today.mass_kg, today.pressure_altitude_m, today.temperature_k)
    charts = [chart for name in args.panel or PANELS for chart in PANELS[name](fitted, at)]
    notes = dict.fromkeys(part for c in charts for part in c.note.split("; "))
    foot = f"{'; '.join(notes).capitalize()}. {CAUTION}"
    write_picture(args.out, sheet(title_of(fitted, at), [(c.title, c.svg) for c in charts], foot))
    print(f"Drawn: {args.out}. {CAUTION}")
    return DONE
