"""Would the tests notice? A sample of small faults is put into each part, and its tests are run against every one.

    python tools/mutations.py                       30 faults in each part
    python tools/mutations.py fuel judge -n 100     more, in these two
    python tools/mutations.py airdata --seed 8      another sample

The faults (a sign, a comparison, a constant, a condition turned round …) are cosmic-ray's; only an evenly drawn sample
of them is tried, by its seed, since all would take days. Works on a copy: the tree is left alone. A fault that survives
is printed with its line: either a test is missing there or the line does nothing. Exit 1 if a part is below 85 %.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parent.parent
AIM = 0.85
GRADING = ["tests/maneuvers/test_grading.py", "tests/maneuvers/test_judge_grading.py"]
PARTS: dict[str, tuple[str, list[str]]] = {  # the code, and the tests that should notice
    "airdata": ("airdata", ["tests/airdata"]),
    "performance": ("airplane/performance", ["tests/airplane/performance"]),
    "fuel": ("lesson/fuel.py", ["tests/lesson/test_legs_and_fuel.py", "tests/lesson/test_verdict.py"]),
    "debrief": ("debrief", ["tests/debrief", *GRADING]),
    "judge": ("maneuvers/grading/judge.py", GRADING),
}


def score(part: str, count: int, seed: int, folder: Path) -> tuple[int, list[str]]:
    """(faults tried, those that no test noticed, with their places)."""
    from cosmic_ray.work_db import use_db
    from cosmic_ray.work_item import TestOutcome, WorkerOutcome, WorkResult

    code, tests = PARTS[part]
    there = [t for t in tests if (ROOT / t).exists()]
    config, session = folder / f"{part}.toml", folder / f"{part}.sqlite"
    command = f"{sys.executable} -m pytest -x -q -n 0 -p no:cacheprovider {' '.join(there)}"
    config.write_text(
        f'[cosmic-ray]\nmodule-path = "src/airwork/{code}"\ntimeout = 600.0\nexcluded-modules = []\n'
        f'test-command = "{command}"\n[cosmic-ray.distributor]\nname = "local"\n'
    )
    environment = os.environ | {"PYTHONPATH": str(folder / "src"), "PYTHONDONTWRITEBYTECODE": "1"}

    def run(*words: str) -> None:
        command = [sys.executable, "-m", "cosmic_ray.cli", *words]
        subprocess.run(command, cwd=folder, env=environment, check=True, stdout=subprocess.DEVNULL)

    subprocess.run(command.split(), cwd=folder, env=environment, check=True, stdout=subprocess.DEVNULL)  # green before
    run("init", str(config), str(session))
    with use_db(session) as database:
        items = sorted(database.work_items, key=lambda item: item.job_id)
        items.sort(key=lambda item: [(str(m.module_path), m.start_pos, m.operator_name) for m in item.mutations])
        kept = set(random.Random(seed).sample(range(len(items)), min(count, len(items))))
        for index, item in enumerate(items):
            if index not in kept:
                database.set_result(item.job_id, WorkResult(worker_outcome=WorkerOutcome.SKIPPED))
    run("exec", str(config), str(session))
    survived, tried = [], 0
    with use_db(session) as database:
        for item, result in database.completed_work_items:
            if result.worker_outcome == WorkerOutcome.SKIPPED:
                continue
            tried += 1
            if result.test_outcome == TestOutcome.SURVIVED:
                survived += [f"{m.module_path}:{m.start_pos[0]} {m.operator_name}" for m in item.mutations]
    return tried, survived


def main() -> int:
    """Print the share noticed for each part."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}; all without")
    parser.add_argument("-n", "--number", type=int, default=30, help="faults to try in each part")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    if unknown := set(asked.parts) - PARTS.keys():
        parser.error(f"no part {', '.join(sorted(unknown))}; there are {', '.join(PARTS)}")
    worst = 1.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("src", "tests", "bench", "demo", "docs", "tools"):
            shutil.copytree(ROOT / part, folder / part)
        shutil.copy(ROOT / "pyproject.toml", folder)
        for part in asked.parts or PARTS:
            tried, survived = score(part, asked.number, asked.seed, folder)
            share = 1.0 - len(survived) / max(tried, 1)
            worst = min(worst, share)
            print(f"{part:<12} {share:4.0%} noticed of {tried} tried (seed {asked.seed})", flush=True)
            for line in survived:
                print(f"  survived: {line}", flush=True)
    return 0 if worst >= AIM else 1


if __name__ == "__main__":
    sys.exit(main())
