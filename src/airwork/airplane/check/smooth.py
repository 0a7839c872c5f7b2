"""A printed column against the smooth law its own numbers follow: which of them can hardly be meant.

A handbook's column is a smooth function of its inputs, rounded. The law is a short sum of terms whose usual sizes are
known beforehand (a normal prior for each); every number is predicted from all the others and the prior, and stands out
when it lies further from that than the column's own scatter allows. The scatter is taken from the column itself, so a
table read off a drawn chart is held to less than one that was computed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

APART = 4.5  # predicted standard deviations; a column of 100 sound numbers shows this by chance once in a thousand
ONE_BY_ONE = 40  # numbers; in a column as short as that a slip spoils every other prediction
SMALL = 12  # numbers; the scatter of so short a column is known less well
APART_SMALL = 5.5
MOST = 12  # numbers named in one column; beyond that the column as a whole is wrong


@dataclass(frozen=True, slots=True)
class Outlier:
    """A number that stands out: its row, what the others make it, and by how many deviations it is away."""

    row: int
    expected: float
    apart: float


def stand_out(terms: Array, values: Array, sizes: Array, scatter: Array, least: Array) -> list[Outlier]:
    """Numbers that stand out from their column's law, the worst first.

    Parameters
    ----------
    terms : shape (n, k). The law's terms at each row.
    values : shape (n,). The column, transformed so that the law is a sum.
    sizes : shape (k,). Usual size of each term's coefficient (standard deviation about 0).
    scatter : shape (n,). Least believable scatter of each number: rounding and reading.
    least : shape (n,). A smaller departure is never reported.
    """
    kept = np.ones(len(values), dtype=bool)
    found: list[Outlier] = []
    for _ in range(MOST):
        if kept.sum() < 3:
            break
        expected, _, apart = _predicted(terms[kept], values[kept], sizes, scatter[kept])
        rows = np.nonzero(kept)[0]
        strange = np.where(np.abs(values[kept] - expected) > least[kept], apart, 0.0)
        worst = int(np.argmax(strange))
        if strange[worst] <= (APART if kept.sum() > SMALL else APART_SMALL):
            break
        found.append(Outlier(int(rows[worst]), float(expected[worst]), float(strange[worst])))
        kept[rows[worst]] = False
    return sorted(found, key=lambda o: -o.apart)


def _predicted(terms: Array, values: Array, sizes: Array, scatter: Array) -> tuple[Array, Array, Array]:
    """Each number from the others: (expected, its deviation, how many deviations away it is)."""
    if len(values) <= ONE_BY_ONE:
        return _one_by_one(terms, values, sizes, scatter)
    weight = 1.0 / scatter**2
    spread = 1.0
    for _ in range(3):
        precision = (terms * (weight / spread**2)[:, None]).T @ terms + np.diag(1.0 / sizes**2)
        inverse = np.linalg.inv(precision)
        fitted = terms @ (inverse @ (terms.T @ (weight / spread**2 * values)))
        share = np.einsum("ij,jk,ik->i", terms, inverse, terms) * weight / spread**2
        left = np.maximum(1.0 - share, 1e-6)
        residual = (values - fitted) / left  # from a fit without the number itself
        deviation = spread * scatter / np.sqrt(left)
        apart = np.abs(residual) / deviation
        ordered = np.sort(apart)
        # the middle of the half-normal is 0.674; of few numbers one may be the slip itself
        middle = float(ordered[(len(ordered) - 1) // 2]) / 0.674
        if middle <= 1.05 or spread > 40:
            break
        spread *= middle
    return values - residual, deviation, apart


def _one_by_one(terms: Array, values: Array, sizes: Array, scatter: Array) -> tuple[Array, Array, Array]:
    """As `_predicted` for few numbers: the scatter too is from the others alone, or a slip would hide itself."""
    n = len(values)
    expected, deviation = np.empty(n), np.empty(n)
    for i in range(n):
        others = np.arange(n) != i
        inside, at, spread = terms[others], values[others], 1.0
        for _ in range(3):
            weight = 1.0 / (spread * scatter[others]) ** 2
            inverse = np.linalg.inv((inside * weight[:, None]).T @ inside + np.diag(1.0 / sizes**2))
            coefficients = inverse @ (inside.T @ (weight * at))
            left = np.maximum(1.0 - np.einsum("ij,jk,ik->i", inside, inverse, inside) * weight, 1e-6)
            apart = np.abs(at - inside @ coefficients) / np.sqrt(left) / (spread * scatter[others])
            middle = float(np.median(apart)) / 0.674
            if middle <= 1.05 or spread > 8:
                break
            spread *= middle
        expected[i] = terms[i] @ coefficients
        deviation[i] = np.sqrt((spread * scatter[i]) ** 2 + terms[i] @ inverse @ terms[i])
    return expected, deviation, np.abs(values - expected) / deviation


def step_of(values: Array) -> float:
    """The step a column is rounded to: 1, 5, 10, 0.1 …"""
    for step in (100.0, 50.0, 10.0, 5.0, 1.0, 0.5, 0.1, 0.05):
        on = np.abs(values / step - np.round(values / step)) < 1e-6
        if on.mean() >= 0.85:  # a slip or two may be off it
            return step
    return 0.01
