"""Another value held than before, beside its limit: meant by its look, or let go and got back. Common practice."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from airwork.maneuvers.grading.judge import PROMPT
from airwork.maneuvers.grading.meant import NEAR_MPS, held_anew
from airwork.units import KT_MPS


def desk(samples: int) -> SimpleNamespace:
    """As much of a sheet as is asked: ±10 kt, not held, a sample a second, 10 s for prompt."""
    return SimpleNamespace(
        finding=lambda _: SimpleNamespace(verdict="not held"),
        task=SimpleNamespace(criterion=lambda _: SimpleNamespace(high=10.0 * KT_MPS)),
        start_s=0.0,
        end_s=float(samples),
        judging={PROMPT["ias"]: 10.0},
        evidence=SimpleNamespace(flight=SimpleNamespace(span=lambda *_: slice(0, samples)), step_s=1.0),
    )


def off_kt(*parts: tuple[float, float, int]) -> np.ndarray:
    """Knots off in a row: (middle, to and fro about it, seconds)."""
    return np.concatenate([m + w * np.sin(np.arange(n) / 2.0) for m, w, n in parts]) * KT_MPS


@pytest.mark.parametrize(
    ("off", "meant"),
    [
        (off_kt((0.0, 1.0, 120), (-12.0, 1.0, 50)), True),
        (off_kt((0.0, 1.0, 120), (-10.0, 1.0, 50)), True),
        (off_kt((0.0, 1.0, 120), (-10.0, 4.0, 50)), False),
        (off_kt((0.0, 1.0, 120), (-12.0, 1.0, 15), (0.0, 1.0, 30)), False),
        (off_kt((0.0, 11.0, 120)), False),
    ],
    ids=["slowed", "slowed to the limit itself", "let go", "too short to be held", "to and fro"],
)
def test_another_speed_held_beside_its_limit(off: np.ndarray, meant: bool) -> None:
    assert held_anew(desk(off.size), "ias", off, NEAR_MPS) == meant  # type: ignore[arg-type]
