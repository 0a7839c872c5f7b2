"""Stretches of a mask: where something holds, sample after sample."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike


def runs(mask: ArrayLike) -> list[tuple[int, int]]:
    """Stretches of True as (first, one past the last).

    >>> runs([True, False, True, True])
    [(0, 1), (2, 4)]
    """
    inside = np.asarray(mask, dtype=bool)
    m = np.zeros(inside.size + 2, dtype=bool)
    m[1:-1] = inside
    edges = (m[1:] != m[:-1]).nonzero()[0].tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))
