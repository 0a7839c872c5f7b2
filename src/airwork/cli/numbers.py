"""An airplane's numbers for today's air and weight, on one screen.

AIRPLANE is an airplane file or the id of an invented airplane. What is not given is assumed and shown as assumed.

  airwork numbers larkmoor_155 --altitude 6500ft --altimeter 30.05inHg --oat 24C --weight 2200lb
  airwork numbers larkmoor_155 --altitude 3500ft --oat 18C --rpm 2400 --bank 45deg --speed 105mph
  airwork numbers larkmoor_155 --altitude 6500ft --oat 28C --weight 1965lb --model
  airwork numbers wrenbrook_108 --load "seats=340lb" --fuel "left wing=10gal" --fuel "right wing=10gal"
  airwork numbers larkmoor_155 --weight 1950lb --elevation 1200ft --field-oat 26C --runway 2600ft \\
      --runway-heading 27 --wind 240/12kt --surface dry_grass --slope 1%
"""

from __future__ import annotations

import argparse

from airwork.cli import CAUTION, DONE, print_json


def configure(parser: argparse.ArgumentParser) -> None:
    from airwork.jobs.asking import ASKED

    add = parser.add_argument
    add("airplane", metavar="AIRPLANE", help="airplane file, or an id: larkmoor_155, wrenbrook_108, caldmere_200")
    for title, group in ASKED.items():
        part = parser.add_argument_group(title)
        for name, (words, example) in group.items():
            part.add_argument(f"--{name.replace('_', '-')}", help=f"{words}: {example}".replace("%", "%%"))
    add("--speed-unit", choices=["kt", "mph"], help="read the airspeed indicator in this unit")
    loads = parser.add_argument_group("loading (instead of --weight)")
    loads.add_argument("--load", action="append", default=[], metavar="STATION=WEIGHT", help='"front seats=340lb"')
    loads.add_argument("--fuel", action="append", default=[], metavar="TANK=VOLUME",
                       help='"left wing=15gal", or 30gal in all')  # fmt: skip
    add("--model", action="store_true", help="also what the fitted model answers, each ± its 90 %% half-width")
    add("--json", action="store_true", help="every value with its unit, how it was had and its source")


def run(args: argparse.Namespace) -> int:
    """Print the numbers, as a screen or as JSON."""
    from airwork.airplane.numbers import numbers_for
    from airwork.jobs.asking import question
    from airwork.jobs.files import load_airplane

    airplane = load_airplane(args.airplane)
    if args.speed_unit:
        airplane = airplane.with_dial(args.speed_unit)
    asked = {name: text for name, text in vars(args).items() if isinstance(text, str)}
    question_ = question(asked, airplane, loads=args.load, fuel=args.fuel, mark="--")
    numbers = numbers_for(airplane, question_, model=args.model)
    if args.json:
        print_json({**numbers.as_json(), "caution": CAUTION})
        return DONE
    from airwork.output.numbers_text import numbers_text

    print(numbers_text(numbers))
    print(f"\n{CAUTION}")
    return DONE
