"""Learn how sure a claim is, from flights with known truth: the weights of `airwork/debrief/certainty.json`.

    python bench/certainty.py --seed 71500 --keep FOLDER   # fly, look, learn; again until it is done
    python bench/certainty.py                              # learn anew from the cases kept beside this file
    python bench/certainty.py --desk DESK --out FILE       # and from what instructors put right
    python bench/certainty.py --cross                      # how good it is: each tenth of the flights by the others

With a seed it flies its flights itself (`flown_of`), stops after five minutes and goes on where it was when it is asked
again; a flight is looked at anew when the recognizing code has changed. Done, it writes the cases
(`certainty_cases.csv.gz`) and the weights that ship. What ships is byte for byte what the cases give (a test).

Every proposal of a room is a case: right where it overlaps a maneuver of its kind by half of their union. What was
claimed counts in full, what was not for a hundredth: it says little of claims. In the real recordings `NONE` nothing
was practiced: whatever is seen there is wrong; each counts little, so that few flights of one kind don't rule.
`--desk` is the desk of a school's pages: what instructors put right there are labels. Newton steps on the penalized
likelihood; the kinds' own weights are held near nothing, so that a kind with few cases follows the shared ones.
"""

from __future__ import annotations

import argparse
import gzip
import hashlib
import json
import math
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from debrief_confusion import FULL, HALF, POSITION, overlap, recordings_of, reliability_text
from flying.plan import LONE_THEME, Plan

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

ROOT = Path(__file__).resolve().parents[1]
CASES = ROOT / "bench" / "certainty_cases.csv.gz"
SHIPPED = ROOT / "src" / "airwork" / "debrief" / "certainty.json"
NONE = [
    ROOT / "tests" / "sources" / "recordings" / name
    for name in (
        "thermals_4s.igc.gz", "adsb_sailplane_9s.json.gz", "adsb_helicopter_1s.json.gz", "cerknicko-jezero.gpx",
    )
]  # fmt: skip
SLICE_S = 300.0  # of one go
UNCLAIMED, OF_NO_LESSON = 0.03, 0.1  # weights of a case; the second too where flights are made to mislead
SHARED_RIDGE, KIND_RIDGE = 0.3, 3.0
MISLEADING, OFTEN_WRONG = (
    ("stalls", "cross_country", "transit", "broken_off"),
    ("stalls", "commercial", "cross_country", "mixed"),
)
FOLDS = 10
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


def flown_of(seed: int) -> list[Plan]:
    """The flights to learn from: lessons of three makes, poor hands, what is no lesson, single exercises on a trip.

    Wrong claims are few: those of a thousand seeds on are of the kinds that bring most of them.
    """
    plans = sets.fresh(seed)[::3] + sets.hard(seed + 300, 2)
    for make in sets.MAKES:
        plans += sets.made(seed, make, 3) + sets.made(seed + 100, make, 2, sets.HARDLY_LESSONS)
        plans += sets.made(seed + 200, make, 2, (LONE_THEME,)) + sets.made(seed + 1000, make, 2, MISLEADING)
    plans += [plan for plan in sets.fresh(seed + 1000)[1::3] if plan.theme in OFTEN_WRONG]
    return plans + sets.hard(seed + 1300, 2)


def code_digest() -> str:
    """What the cases hang on beside the flights: the code that recognizes."""
    code = ROOT / "src" / "airwork"
    folders = (code / "maneuvers", code / "maneuvers" / "seeing", code / "recording")
    used = [p for folder in folders for p in sorted(folder.glob("*.py"))]
    used += [code / "debrief" / f"{name}.py" for name in ("arbiter", "certainty", "weighing")]
    return hashlib.sha256(b"".join(path.read_bytes() for path in used)).hexdigest()[:12]


def seen(seed: int, folder: Path, digest: str, until: float) -> Iterator[list[str]]:
    """The cases of each flight as lines, flown and looked at where that was not done before; ends when time is up."""
    for plan in flown_of(seed):
        kept = folder / f"{plan.name}.{digest}.cases"
        if not kept.exists():
            if time.monotonic() > until:
                return
            if not (folder / f"{plan.name}.truth.json").exists():
                print(sets.make(plan, folder, ("panel", "gps", "truth")), file=sys.stderr, flush=True)
            found: list[Case] = []
            for name, _, flight, truth in recordings_of(folder, plan.name, every_s=(4.0,)):
                weight = OF_NO_LESSON if name.startswith("hard_") or plan.theme == "broken_off" else 1.0
                found += cases_of(flight, truth, weight) if name == plan.name else []
            kept.write_text("".join([f"# {plan.name}\n", *lines_of(found)]), encoding="utf-8")
        yield kept.read_text(encoding="utf-8").splitlines(keepends=True)


def lines_of(cases: Sequence[Case]) -> list[str]:
    """kind, features, right, weight: a line each."""
    return [f"{kind},{','.join(f'{v:.6g}' for v in x)},{right:g},{weight:g}\n" for kind, x, right, weight in cases]


def read_cases(lines: Sequence[str]) -> list[Case]:
    """The other way; the first line names the columns, and one before each flight the flight."""
    rows = [line.split(",") for line in lines[1:] if not line.startswith("#")]
    return [(kind, np.array(rest[:-2], dtype=float), float(rest[-2]), float(rest[-1])) for kind, *rest in rows]


def cross_text(lines: Sequence[str]) -> list[str]:
    """How sure claims are said to be by weights learned from the other flights, and how many are right."""
    starts = [k for k, line in enumerate(lines) if line.startswith("#")]
    flights = [read_cases(lines[a:b]) for a, b in pairwise([*starts, len(lines)])]
    said: dict[tuple[bool, str], list[tuple[float, bool]]] = {}
    for k in range(FOLDS):
        learned = weights_text([case for j, one in enumerate(flights) if j % FOLDS != k for case in one], "")
        weights = certainty.weights_of(json.loads(learned))
        for kind, x, right, weight in (case for one in flights[k::FOLDS] for case in one):
            score = 1.0 / (1.0 + math.exp(-x[FEATURES.index("score")]))
            p = certainty.probability(kind, x, score, weights)
            if weight < OF_NO_LESSON or certainty.doubted(p, score, x):
                continue
            view = FULL if not x[FEATURES.index("position")] else POSITION
            view = "one fix in 4 s" if x[FEATURES.index("coarse")] > 0.0 else view
            said.setdefault((weight < 1.0, view), []).append((p, bool(right)))
    return [
        line
        for (misleading, view), claims in sorted(said.items())
        for line in (f"{view}{', flights made to mislead' * misleading}", *reliability_text(claims))
    ]


def weights_text(cases: list[Case], made_by: str) -> str:
    """The data file that these cases make."""
    count, wrong = Counter(c[0] for c in cases), Counter(c[0] for c in cases if c[2] == 0.0)
    kinds = sorted(k for k in count if count[k] >= 10)
    found = fit(cases, kinds)
    data = {
        "made_by": made_by, "cases": len(cases), "wrong": int(sum(wrong.values())),
        "shared": {f: round(found["", f], 4) for f in FEATURES},
        "kinds": {k: {f: round(found[k, f], 4) for f in OF_THE_KIND} for k in kinds},
        "seldom_wrong": sorted(k for k in count if wrong[k] < FEW),
    }  # fmt: skip
    return json.dumps(data, indent=1) + "\n"


def kept_cases() -> tuple[str, list[str]]:
    """(the command that made them, the lines) of the cases beside this file."""
    first, *lines = gzip.decompress(CASES.read_bytes()).decode().splitlines(keepends=True)
    return first.removeprefix("# ").strip(), lines


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, help="fly and look first: seed of the flights")
    parser.add_argument("--keep", type=Path, help="folder of the flights, with --seed")
    parser.add_argument("--desk", type=Path, help="folder of recordings with what instructors put right")
    parser.add_argument("--cross", action="store_true", help="each tenth of the flights judged by the others")
    parser.add_argument("--out", type=Path, default=SHIPPED, help="where the weights go (default: those that ship)")
    args = parser.parse_args()
    if (args.seed is None) != (args.keep is None):
        parser.error("--seed and --keep go together")
    if args.seed is not None:
        args.keep.mkdir(parents=True, exist_ok=True)
        wanted, until = len(flown_of(args.seed)), time.monotonic() + SLICE_S
        flights = list(seen(args.seed, args.keep, code_digest(), until))
        if len(flights) < wanted:
            sys.exit(f"{len(flights)} of {wanted} flights seen; the same command again goes on")
        none = [
            line
            for path in NONE
            for line in (f"# {path.name}\n", *lines_of(cases_of(read_flight(path), [], OF_NO_LESSON)))
        ]
        text = f"# python bench/certainty.py --seed {args.seed}\nkind,{','.join(FEATURES)},right,weight\n"
        CASES.write_bytes(
            gzip.compress((text + "".join([*(line for f in flights for line in f), *none])).encode(), mtime=0)
        )
    made_by, lines = kept_cases()
    if args.cross:
        print("\n".join(cross_text(lines)))
        return
    cases = read_cases(lines)
    if args.desk:
        of_desk: list[Case] = []
        for about in sorted(args.desk.glob("*/about.json")):
            data = json.loads(about.read_text(encoding="utf-8"))
            if data.get("edits"):
                of_desk += labels_of(read_flight(about.with_name(data["file_name"])), data["edits"])
        cases, made_by = cases + of_desk, f"{made_by} --desk"
        for kind, _, right, _ in of_desk:
            print(f"put right: {kind} {'right' if right else 'wrong'}")
    args.out.write_text(weights_text(cases, made_by), encoding="utf-8")
    print(f"{len(cases)} cases, {sum(c[2] == 0.0 and c[3] >= OF_NO_LESSON for c in cases)} claims wrong -> {args.out}")


if __name__ == "__main__":
    main()
