"""Handbook tables: interpolate inside, refuse outside, ragged edges respected. Printed units.

A table is a list of rows over one to four inputs. It need not be a full grid: a chart stops at full throttle, so the
rows end earlier at some altitudes. A question is answered only inside the outline of the printed rows.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from airwork.errors import OutOfRange, name_and_unit

_SLACK = 1e-6
_DECIMALS = 6  # inputs come from SI and back: 2300.0000000000005 lb is the printed 2300 lb

Node = dict[float, "Node | float"]


@dataclass(frozen=True, slots=True)
class Axis:
    """One input of a table."""

    key: str  # column of the rows
    what: str  # as a person says it, with the unit: "density altitude [ft]"
    smooth: bool = False  # shape-preserving cubic along this axis; else straight lines


@dataclass(frozen=True)
class GridTable:
    """A handbook table as nested columns of numbers, outermost axis first.

    Along a smooth axis: monotone piecewise cubic (Fritsch and Carlson's conditions with Butland's slopes), which never
    overshoots a printed value. Along the others: straight lines, as a handbook tells its reader to do.
    """

    name: str  # "power chart"
    axes: tuple[Axis, ...]
    tree: Node = field(repr=False)

    @classmethod
    def from_rows(
        cls, name: str, axes: Sequence[Axis], value_key: str, rows: Iterable[Mapping[str, float | None]]
    ) -> GridTable | None:
        """The table of one column; rows lacking the column or an axis are not published. None if no row has it.

        Two rows with the same inputs keep the first (`airplane check` reports them).
        """
        tree: Node = {}
        for row in rows:
            inputs = [row.get(axis.key) for axis in axes]
            value = row.get(value_key)
            if value is None or any(x is None for x in inputs):
                continue
            node = tree
            for x in inputs[:-1]:
                node = node.setdefault(round(float(x), _DECIMALS), {})  # type: ignore[arg-type, assignment]
            node.setdefault(round(float(inputs[-1]), _DECIMALS), float(value))  # type: ignore[arg-type]
        return cls(name, tuple(axes), tree) if tree else None

    def __call__(self, *inputs: float) -> float:
        """The value at the inputs, in the order of the axes, printed units.

        Where the rows on one side end earlier than on the other (a chart stops at full throttle), the edge is the
        straight line between the ends of the two; between it and the shorter row the value is interpolated along the
        edge, from printed values only.

        Raises
        ------
        OutOfRange : an input outside the rows; names the axis, the range, and the rows it was looked up in.
        """
        asked = tuple(round(float(x), _DECIMALS) for x in inputs)
        *outer, x = asked
        low, high = self._edges(self.tree, 0, outer, "", hull=True)
        if not low - _SLACK <= x <= high + _SLACK:  # NaN fails too
            where = f"the {self.name} {self._given(outer)}".rstrip()
            raise OutOfRange(self.axes[-1].what, x, round(low, 1), round(high, 1), where=where)
        near, far = self._edges(self.tree, 0, outer, "", hull=False)
        if near <= x <= far:
            return self._at(self.tree, 0, asked)
        share = (x - low) / (high - low) if high > low else 0.0  # one row at each outer value: the edge is the table
        return self._along_edge(self.tree, 0, outer, share)

    def _at(self, node: Node, depth: int, inputs: Sequence[float]) -> float:
        axis, x = self.axes[depth], inputs[depth]
        keys = sorted(node)
        last = depth == len(self.axes) - 1

        def value(key: float) -> float:
            below = node[key]
            return below if last else self._at(below, depth + 1, inputs)  # type: ignore[arg-type, return-value]

        i = bisect_right(keys, x) - 1
        if keys[i] == x:
            return value(keys[i])
        x0, x1 = keys[i], keys[i + 1]
        y0, y1 = value(x0), value(x1)
        if not (axis.smooth and last):
            return y0 + (x - x0) / (x1 - x0) * (y1 - y0)
        xs = keys[max(i - 1, 0) : i + 3]
        return monotone_cubic(xs, [value(k) for k in xs], x)

    def _along_edge(self, node: Node, depth: int, outer: Sequence[float], share: float) -> float:
        """The value a share of the way from the first to the last row, the outer axes on straight lines."""
        keys = sorted(node)
        if depth == len(self.axes) - 1:
            x = keys[0] + share * (keys[-1] - keys[0])
            return self._at(node, depth, (*outer, float(np.clip(x, keys[0], keys[-1]))))
        i = bisect_right(keys, outer[depth]) - 1
        first = self._along_edge(node[keys[i]], depth + 1, outer, share)  # type: ignore[arg-type]
        if keys[i] == outer[depth]:
            return first
        second = self._along_edge(node[keys[i + 1]], depth + 1, outer, share)  # type: ignore[arg-type]
        return first + (outer[depth] - keys[i]) / (keys[i + 1] - keys[i]) * (second - first)

    def range_of(self, depth: int = 0, *outer: float) -> tuple[float, float]:
        """(lowest, highest) of one axis, all outer axes at printed values or, without them, over the whole table."""
        nodes: list[Node] = [self.tree]
        for level in range(depth):
            chosen = outer[level] if level < len(outer) else None
            nodes = [n[k] for n in nodes for k in n if chosen is None or k == chosen]  # type: ignore[misc]
        keys = [k for n in nodes for k in n]
        return min(keys), max(keys)

    def inverse(self, target: float, *outer: float, what: str) -> float:
        """The last axis's input that gives a value, outer inputs given. Values must rise along the last axis.

        Bisection between the ends the outer inputs allow; refuses a target outside the values there.
        """
        low, high = self.span(*outer)
        y_low, y_high = self(*outer, low), self(*outer, high)
        if not y_low - _SLACK <= target <= y_high + _SLACK:
            where = f"the {self.name} {self._given(outer)}".rstrip()
            raise OutOfRange(what, round(target, 1), round(y_low, 1), round(y_high, 1), where=where)
        for _ in range(60):
            middle = 0.5 * (low + high)
            if self(*outer, middle) < target:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)

    def _given(self, outer: Sequence[float]) -> str:
        given = [_said(a, x) for a, x in zip(self.axes, outer, strict=False)]
        return f"at {', '.join(given)}" if given else ""

    def span(self, *outer: float) -> tuple[float, float]:
        """Range of the last axis that can be answered at the outer inputs."""
        return self._edges(self.tree, 0, tuple(round(float(x), _DECIMALS) for x in outer), "", hull=True)

    def _edges(self, node: Node, depth: int, outer: Sequence[float], inside: str, *, hull: bool) -> tuple[float, float]:
        """(lowest, highest) of the last axis: on the line between the rows' ends; not `hull`: where both rows reach."""
        keys = sorted(node)
        if depth == len(self.axes) - 1:
            return keys[0], keys[-1]
        axis, x = self.axes[depth], outer[depth]
        if not keys[0] <= x <= keys[-1]:  # NaN fails too
            raise OutOfRange(axis.what, x, keys[0], keys[-1], where=f"the {self.name}{inside}")
        i = bisect_right(keys, x) - 1
        here = f"{inside}{', ' if inside else ' at '}"
        first = self._edges(node[keys[i]], depth + 1, outer, here + _said(axis, keys[i]), hull=hull)  # type: ignore[arg-type]
        if keys[i] == x:
            return first
        second = self._edges(node[keys[i + 1]], depth + 1, outer, here + _said(axis, keys[i + 1]), hull=hull)  # type: ignore[arg-type]
        if not hull:
            return max(first[0], second[0]), min(first[1], second[1])
        t = (x - keys[i]) / (keys[i + 1] - keys[i])
        return first[0] + t * (second[0] - first[0]), first[1] + t * (second[1] - first[1])


def monotone_cubic(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """Monotone piecewise cubic through points, evaluated at x inside them.

    Slopes: weighted harmonic mean of the neighboring secants where they agree in sign, else zero (F. N. Fritsch and
    J. Butland, 1984; F. N. Fritsch and R. E. Carlson, 1980); one-sided three-point slopes at the ends, limited to keep
    the shape. The same rule as scipy's PchipInterpolator, which takes most of a second to import; the tests hold the
    two against each other. Two points: a straight line.
    """
    xs, ys = [float(v) for v in xs], [float(v) for v in ys]  # a handful of numbers: arrays would take ten times as long
    if len(xs) == 2:
        return ys[0] + (x - xs[0]) / (xs[1] - xs[0]) * (ys[1] - ys[0])
    h = [b - a for a, b in pairwise(xs)]
    d = [(b - a) / step for (a, b), step in zip(pairwise(ys), h, strict=True)]
    slopes = [0.0] * len(xs)
    for k in range(1, len(xs) - 1):
        if d[k - 1] * d[k] > 0:
            w1, w2 = 2 * h[k] + h[k - 1], h[k] + 2 * h[k - 1]
            slopes[k] = (w1 + w2) / (w1 / d[k - 1] + w2 / d[k])
    slopes[0] = _end_slope(h[0], h[1], d[0], d[1])
    slopes[-1] = _end_slope(h[-1], h[-2], d[-1], d[-2])
    i = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
    t = (x - xs[i]) / h[i]
    return (
        ys[i] * (1 + 2 * t) * (1 - t) ** 2
        + slopes[i] * h[i] * t * (1 - t) ** 2
        + ys[i + 1] * t * t * (3 - 2 * t)
        + slopes[i + 1] * h[i] * t * t * (t - 1)
    )


def _said(axis: Axis, x: float) -> str:
    """One input of a table as a person says it: "pressure altitude 3,280 ft"."""
    name, unit = name_and_unit(axis.what)
    return f"{name} {_shown(x)}{unit}"


def _shown(x: float) -> str:
    """An input as a message shows it: whole where it is large."""
    return f"{x:,.0f}" if abs(x) >= 100 else f"{x:,.4g}"


def _end_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0:
        return 0.0
    if d0 * d1 <= 0 and abs(slope) > 3 * abs(d0):
        return 3 * d0
    return float(slope)
