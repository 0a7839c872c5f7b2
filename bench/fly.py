"""Make a named set of simulated flights with truth: python bench/fly.py --set smoke --out DIR"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from flying import export, sets


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--set", choices=sorted(sets.SETS), default="smoke", dest="name")
    parser.add_argument("--seed", type=int, help="fresh flights like the held-out set, from this first seed on")
    parser.add_argument("--make", choices=sets.MAKES, help="of other hands and another recorder; with --seed")
    parser.add_argument(
        "--hard", action="store_true", help="what is easily claimed wrongly, of both makes; with --seed"
    )
    parser.add_argument("--count", type=int, default=3, help="flights of each theme, with --make or --hard (default 3)")
    parser.add_argument("--out", type=Path, required=True, help="folder for the files")
    parser.add_argument("--jobs", type=int, default=1, help="processes (default 1)")
    parser.add_argument("--only", default="", help="make only the flights whose name contains this")
    parser.add_argument(
        "--formats", default="panel,gps,truth", help=f"comma list of: {', '.join(export.FORMATS)}; 'all' for every one"
    )
    options = parser.parse_args()
    formats = tuple(export.FORMATS) if options.formats == "all" else tuple(options.formats.split(","))
    unknown = set(formats) - set(export.FORMATS)
    if unknown:
        parser.error(f"unknown format {', '.join(sorted(unknown))}; known: {', '.join(export.FORMATS)}")
    if (options.make or options.hard) and options.seed is None:
        parser.error("--make and --hard need --seed")
    plans = sets.SETS[options.name]() if options.seed is None else sets.fresh(options.seed)
    if options.make:
        plans = sets.made(options.seed, options.make, options.count)
    if options.hard:
        plans = sets.hard(options.seed, options.count)
    jobs = [job for job in plans if options.only in job.name]
    started = time.perf_counter()
    with ProcessPoolExecutor(options.jobs) as pool:
        lines = pool.map(sets.make, jobs, [options.out] * len(jobs), [formats] * len(jobs))
        for line in lines:
            print(line, flush=True)
    print(f"{len(jobs)} flights in {time.perf_counter() - started:.0f} s -> {options.out}")


if __name__ == "__main__":
    main()
