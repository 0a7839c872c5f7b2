"""Straight lines between points, one number at a time."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.paths.flown_ideal import Line


def test_a_line_reads_as_numpy_does_to_the_last_bit() -> None:
    rng = np.random.default_rng(7)
    xs, ys = np.cumsum(rng.uniform(0.1, 3.0, 50)), rng.normal(size=50) * 100.0
    line = Line(xs, ys)
    asked = np.concatenate([rng.uniform(xs[0] - 5.0, xs[-1] + 5.0, 5_000), xs])
    assert [line(float(x)) for x in asked] == np.interp(asked, xs, ys).tolist()
