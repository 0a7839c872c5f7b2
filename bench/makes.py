"""How well flights of one make are told from those of another by what the recognizers see of their turns.

    python bench/makes.py FOLDER OTHER_FOLDER           # recordings of bench/fly.py, or any real ones
    python bench/makes.py FOLDER OTHER --match _gps     # only files whose name contains this

Each turn found is a case; a logistic on its measures, their squares and products is learned on four fifths of the
flights of both and asked about the rest. AUC 0.5: the two makes turn alike; 1: never mistaken. Far from 0.5, what is
tuned on one make says little of the other.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from debrief_confusion import area_under
from faults.real import files

from airwork.errors import AirworkError
from airwork.maneuvers.seeing.turns import Turn, find_turns
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording import read_flight

FOLDS, RIDGE = 5, 3.0


def measures(view: View, turn: Turn) -> list[float]:
    """What a recognizer may ask of a turn: its size, how it is held, how height and speed go. No units of one make."""
    part = slice(turn.first, turn.last + 1)
    bank = np.abs(view.turn_bank_rad[part])
    return [
        turn.bank_deg, turn.change_deg, turn.top_bank_rad / max(turn.settled_bank_rad, 0.1),
        float(bank.std()) / max(float(bank.mean()), 0.1), float(np.abs(np.diff(bank, 2)).mean()) * 1e4,
        turn.climb_mps, turn.altitude_range_m, float(view.climb_mps[part].std()),
        float(view.speed_mps[part].std()), turn.speed_out_mps - turn.speed_in_mps,
        float(np.abs(np.diff(view.speed_mps[part], 2)).mean()) * 1e3,
    ]  # fmt: skip


def turns_of(folder: Path, match: str) -> list[np.ndarray]:
    """The turns' measures, a table for each recording that has some."""
    out = []
    for path in files([folder]):
        if match not in path.name:
            continue
        try:
            view = build_view(read_flight(path))
        except AirworkError:
            continue
        rows = [] if view is None else [measures(view, turn) for turn in view.once(find_turns)]
        if rows:
            out.append(np.array(rows))
    return out


def widened(x: np.ndarray) -> np.ndarray:
    """With squares and products."""
    i, j = np.triu_indices(x.shape[1])
    return np.concatenate([np.ones((len(x), 1)), x, x[:, i] * x[:, j]], axis=1)


def told_apart(one: list[np.ndarray], two: list[np.ndarray]) -> float:
    """AUC over turns of flights that were not learned from."""
    flights = [(rows, 0.0) for rows in one] + [(rows, 1.0) for rows in two]
    everything = np.concatenate([rows for rows, _ in flights])
    middle, spread = np.median(everything, axis=0), everything.std(axis=0) + 1e-9
    # Each make weighs as much as the other, however many turns it has.
    share = [sum(len(r) for r in one), sum(len(r) for r in two)]
    said: list[tuple[float, bool]] = []
    for fold in range(FOLDS):
        learn = [f for k, f in enumerate(flights) if k % FOLDS != fold]
        x = widened(np.clip((np.concatenate([r for r, _ in learn]) - middle) / spread, -3.0, 3.0))
        y = np.concatenate([np.full(len(r), which) for r, which in learn])
        w = np.where(y == 1.0, 1.0 / share[1], 1.0 / share[0]) * len(y) / 2.0
        beta = np.zeros(x.shape[1])
        for _ in range(30):
            p = 1.0 / (1.0 + np.exp(-np.clip(x @ beta, -30.0, 30.0)))
            curve = (x * (w * p * (1.0 - p))[:, None]).T @ x + RIDGE * np.eye(x.shape[1])
            beta += np.linalg.solve(curve, x.T @ (w * (y - p)) - RIDGE * beta)
        for rows, which in (f for k, f in enumerate(flights) if k % FOLDS == fold):
            value = widened(np.clip((rows - middle) / spread, -3.0, 3.0)) @ beta
            said += [(float(v), which == 1.0) for v in value]
    return area_under(said)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", type=Path, nargs=2)
    parser.add_argument("--match", default="_gps", help="only recordings whose name contains this")
    args = parser.parse_args()
    one, two = (turns_of(folder, args.match) for folder in args.folders)
    if min(len(one), len(two)) < FOLDS:
        parser.error(f"{len(one)} and {len(two)} recordings with turns: at least {FOLDS} of each are needed")
    print(f"{len(one)} and {len(two)} recordings, {sum(map(len, one))} and {sum(map(len, two))} turns: "
          f"told apart with AUC {told_apart(one, two):.3f}")  # fmt: skip


if __name__ == "__main__":
    main()
