"""Are mistakes in typed readings found, and right readings left alone?

    python bench/performance_mistakes.py [--draws 4]

Readings as in `performance_accuracy.py` (five level points with flaps up, two with full flaps, a climb, a glide, with
reading noise) of six airplanes of the flight dynamics library JSBSim; one level reading at a time is spoiled: its RPM
by 300 or 150, its speed read in mph and typed as knots. Nothing else is known of the airplane but sizes and stall
speeds. Found: the spoiled reading, and no other, is left out. Asked: a question names what was done. Beside it the
same readings unspoiled, where every one left out is a false alarm.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import jsbsim_trims as trims
from airwork.airplane.performance.learn import Learned, learn
from airwork.airplane.performance.readings import readings_of

MISTAKES: dict[str, Callable[[dict[str, Any]], None]] = {
    "RPM 300 too high": lambda row: row.update(rpm=row["rpm"] + 300),
    "RPM 300 too low": lambda row: row.update(rpm=row["rpm"] - 300),
    "RPM 150 too high": lambda row: row.update(rpm=row["rpm"] + 150),
    "mph typed as knots": lambda row: row.update(kcas=round(row["kcas"] * 1.150779)),
}


@dataclass
class Count:
    """How often each thing happened."""

    tried: int = 0
    found: int = 0
    asked: int = 0
    unchecked: int = 0
    noticed: int = 0
    others: int = 0


def learned(name: str, rows: list[dict[str, Any]]) -> Learned:
    airplane = trims.airplane(name, rows)
    return learn(airplane, readings_of(airplane))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--draws", type=int, default=4, help="noise draws for each weight and altitude")
    draws = parser.parse_args().draws
    counts = {(what, flaps): Count() for what in (*MISTAKES, "none") for flaps in ("flaps up", "full flaps")}
    for name in trims.FIXED_PITCH:
        rng = np.random.default_rng(11)
        for weight, altitude in trims.conditions(name):
            for _ in range(draws):
                rows = trims.training(name, weight, altitude, rng).observations
                _try(name, rows, counts)
    heads = ("mistake", "flaps", "tried", "left out, %", "asked about, %", "said unchecked, %", "any of these, %")
    print(f"| {' | '.join(heads)} | right ones left out, % |\n|{' --- |' * (len(heads) + 1)}")
    for (what, flaps), c in counts.items():
        if c.tried:
            cells = [f"{100 * n / c.tried:.0f}" for n in (c.found, c.asked, c.unchecked, c.noticed)]
            others = 100 * c.others / (c.tried * (8 if what != "none" else 9))
            print(f"| {what} | {flaps} | {c.tried} | {' | '.join(cells)} | {others:.1f} |")


def _try(name: str, rows: list[dict[str, Any]], counts: dict[tuple[str, str], Count]) -> None:
    plain = learned(name, rows)
    c = counts["none", "flaps up"]
    c.tried += 1
    c.others += len(plain.outliers)
    c.asked += any(r.asks for r in plain.residuals)
    for i, row in enumerate(rows):
        if row["kind"] != "level":
            continue
        for what, spoil in MISTAKES.items():
            other = dict(row)
            spoil(other)
            found = learned(name, [*rows[:i], other, *rows[i + 1 :]])
            c = counts[what, "flaps up" if row["flap_notch"] == 0 else "full flaps"]
            c.tried += 1
            c.found += not found.residuals[i].used
            seen = found.residuals[i]
            c.asked += bool(seen.asks)
            c.unchecked += not seen.checked
            c.noticed += not seen.used or bool(seen.asks) or not seen.checked
            c.others += sum(not r.used for k, r in enumerate(found.residuals) if k != i)


if __name__ == "__main__":
    main()
