"""Learn how sure a claim is, from flights with known truth: the weights of `airwork/debrief/certainty.json`.

    python bench/certainty.py --make 31400 --none REAL.igc ... --out src/airwork/debrief/certainty.json
    python bench/certainty.py FOLDER ... --desk DESK      # from flights that are there (bench/fly.py)

`--make` flies them itself: every other flight of that seed's set, two of each theme of the other makes, four more of
each that is no lesson, and trips with a single exercise, as many as those without any. `--keep` leaves them in a
folder, and goes on there where it was broken off.

Every proposal of a room is a case: right where it overlaps a maneuver of its kind by half of their union. What was
claimed counts in full, what was not for a hundredth: it says little of claims. `--none` are recordings, real ones too,
in which nothing was practiced: whatever is seen there is wrong; each counts little, so that few flights of one kind
don't rule. `--desk` is the desk of a school's pages: what instructors put right there are labels. Newton steps on the
penalized likelihood; the kinds' own weights are held near nothing, so that a kind with few cases follows the shared
ones.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
from debrief_confusion import HALF, overlap, recordings_of
from flying.plan import LONE_THEME

from airwork.debrief import certainty
from airwork.debrief.arbiter import settle
from airwork.debrief.certainty import FEATURES, OF_THE_KIND, UNJUDGED
from airwork.debrief.correct import SAME_START_S
from airwork.debrief.debrief import given_of, proposals_of
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording import read_flight
from airwork.recording.flight import Flight
from flying import sets

UNCLAIMED, OF_NO_LESSON = 0.01, 0.1  # weights of a case
SHARED_RIDGE, KIND_RIDGE = 0.3, 3.0
FEW = 8  # wrong claims of a kind below which it is guarded
Case = tuple[str, np.ndarray, float, float]  # kind, features, right (1) or wrong (0), weight


def cases_of(flight: Flight, truth: list[dict[str, Any]], weight: float = 1.0) -> list[Case]:
    """Every proposal of one flight with whether it is right."""
    view = build_view(flight)
    if view is None:
        return []
    given = given_of(view)
    story, fitting = settle(proposals_of(view))
    out: list[Case] = []
    claimed = {(e.kind, e.end_s) for e in story}
    rest = [e for e in fitting if (e.kind, e.end_s) not in claimed]
    for e, share in [(e, 1.0) for e in story] + [(e, UNCLAIMED) for e in rest]:
        right = _right(e, truth)
        if right is not None and room(e.kind).role not in UNJUDGED:
            out.append((e.kind, certainty.features(e, fitting, given, story), right, weight * share))
    return out


def labels_of(flight: Flight, edits: list[dict[str, Any]]) -> list[Case]:
    """What instructors put right in one flight: the claim they changed was wrong, what they made of it is right.

    edits : as the desk keeps them: kind ("" takes out), start_s, end_s, was_kind, was_start_s (None: added).
    """
    view = build_view(flight)
    if view is None:
        return []
    given = given_of(view)
    story, fitting = settle(proposals_of(view))
    out: list[Case] = []
    for edit in edits:
        was_s = edit["was_start_s"]
        for e in story:
            if was_s is not None and e.kind == edit["was_kind"] and abs(e.start_s - was_s) <= SAME_START_S:
                out.append((e.kind, certainty.features(e, fitting, given, story), float(edit["kind"] == e.kind), 1.0))
        said = {"start_s": edit["start_s"], "end_s": edit["end_s"]}
        meant = [
            e for e in fitting
            if e.kind == edit["kind"] != edit["was_kind"]
            and overlap({"start_s": e.start_s, "end_s": e.end_s}, said) >= HALF
        ]  # fmt: skip
        if meant:
            best = max(meant, key=lambda e: e.score)
            out.append((best.kind, certainty.features(best, fitting, given, story), 1.0, 1.0))
    return out


def _right(e: Episode, truth: list[dict[str, Any]]) -> float | None:
    """1 right, 0 wrong, None where it only happened on the way."""
    said = {"start_s": e.start_s, "end_s": e.end_s}
    same = [(overlap(t, said), t["intended"]) for t in truth if t["kind"] == e.kind]
    best, meant = max(same, default=(0.0, True))
    if best >= HALF:
        return 1.0 if meant else None
    return None if any(o > 0.0 and not i for o, i in same) else 0.0


def columns_of(kinds: list[str]) -> dict[tuple[str, str], int]:
    """Place of each weight: shared ones under the kind ""."""
    names = [("", f) for f in FEATURES] + [(k, f) for k in kinds for f in OF_THE_KIND]
    return {name: i for i, name in enumerate(names)}


def fit(cases: list[Case], kinds: list[str]) -> dict[tuple[str, str], float]:
    """Weights by name, by Newton's method on the penalized likelihood."""
    at = columns_of(kinds)
    x = np.zeros((len(cases), len(at)))
    y, w = np.array([c[2] for c in cases]), np.array([c[3] for c in cases])
    for row, (kind, values, _, _) in enumerate(cases):
        for f, value in zip(FEATURES, values, strict=True):
            x[row, at["", f]] = value
            if f in OF_THE_KIND and kind in kinds:
                x[row, at[kind, f]] = value
    ridge = np.array([SHARED_RIDGE if kind == "" else KIND_RIDGE for kind, _ in at])
    beta = np.zeros(len(at))
    for _ in range(60):
        p = 1.0 / (1.0 + np.exp(-np.clip(x @ beta, -30.0, 30.0)))
        gradient = x.T @ (w * (y - p)) - ridge * beta
        curve = (x * (w * p * (1.0 - p))[:, None]).T @ x + np.diag(ridge)
        step = np.linalg.solve(curve, gradient)
        beta += step
        if float(np.abs(step).max()) < 1e-8:
            break
    return {name: float(beta[i]) for name, i in at.items()}


def flown(seed: int, folder: Path) -> Path:
    """Flies the flights to learn from."""
    plans = sets.fresh(seed)[::2]
    for make in sets.MAKES:
        plans += sets.made(seed, make, 2) + sets.made(seed + 100, make, 4, sets.HARDLY_LESSONS)
        plans += sets.made(seed + 200, make, 16, (LONE_THEME,))
    for plan in plans:
        if not (folder / f"{plan.name}.truth.json").exists():
            print(sets.make(plan, folder, ("panel", "gps", "truth")), file=sys.stderr)
    return folder


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", type=Path, nargs="*", help="flights with truth, made by bench/fly.py")
    parser.add_argument("--make", type=int, metavar="SEED", help="fly the flights to learn from first")
    parser.add_argument("--keep", type=Path, help="leave the flights of --make in this folder")
    parser.add_argument("--none", type=Path, nargs="*", default=[], help="recordings in which nothing was practiced")
    parser.add_argument("--desk", type=Path, help="folder of recordings with what instructors put right")
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    if not args.folders and args.make is None:
        parser.error("name folders of flights, or --make SEED to fly some")
    cases: list[Case] = []
    with tempfile.TemporaryDirectory() as made:
        own = [] if args.make is None else [flown(args.make, args.keep or Path(made))]
        for folder in [*args.folders, *own]:
            for _, _, flight, truth in recordings_of(folder, every_s=(4.0,)):
                cases += cases_of(flight, truth)
    for path in args.none:
        cases += cases_of(read_flight(path), [], OF_NO_LESSON)
    if args.desk:
        for about in sorted(args.desk.glob("*/about.json")):
            data = json.loads(about.read_text(encoding="utf-8"))
            if data.get("edits"):
                cases += labels_of(read_flight(about.with_name(data["file_name"])), data["edits"])
    count, wrong = Counter(c[0] for c in cases), Counter(c[0] for c in cases if c[2] == 0.0)
    kinds = sorted(k for k in count if count[k] >= 10)
    found = fit(cases, kinds)
    data = {
        "made_by": "python bench/certainty.py" + ("" if args.make is None else f" --make {args.make}"),
        "from": [p.name for p in (*args.folders, *args.none)], "cases": len(cases), "wrong": int(sum(wrong.values())),
        "shared": {f: round(found["", f], 4) for f in FEATURES},
        "kinds": {k: {f: round(found[k, f], 4) for f in OF_THE_KIND} for k in kinds},
        "seldom_wrong": sorted(k for k in count if wrong[k] < FEW),
    }  # fmt: skip
    text = json.dumps(data, indent=1) + "\n"
    if args.out:
        args.out.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
