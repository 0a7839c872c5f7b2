"""Handbook tables: printed rows come back exactly, between them the shape is kept, outside them a refusal."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.airplane.tables import Axis, GridTable, monotone_cubic
from airwork.errors import OutOfRange

HEIGHT, RPM = Axis("h", "altitude [ft]"), Axis("n", "engine speed [RPM]", smooth=True)
ROWS = [
    {"h": 0, "n": 2000, "p": 43}, {"h": 0, "n": 2200, "p": 55},
    {"h": 0, "n": 2400, "p": 70}, {"h": 0, "n": 2600, "p": 88},
    {"h": 4000, "n": 2000, "p": 41}, {"h": 4000, "n": 2200, "p": 50}, {"h": 4000, "n": 2400, "p": 63},
]  # fmt: skip


def chart() -> GridTable:
    """A power chart whose rows stop earlier at 4,000 ft."""
    table = GridTable.from_rows("power chart", (HEIGHT, RPM), "p", ROWS)
    assert table is not None
    return table


tenths = st.integers(-1000, 1000).map(lambda n: n / 10)  # as handbooks print
rising = st.lists(st.integers(0, 400), min_size=3, max_size=9, unique=True).map(sorted)


@given(rising, st.data())
def test_the_smooth_axis_is_the_reference_librarys_shape_preserving_cubic(xs: list[int], data: st.DataObject) -> None:
    """scipy.interpolate.PchipInterpolator is the outside reference."""
    from scipy.interpolate import PchipInterpolator

    ys = data.draw(st.lists(tenths, min_size=len(xs), max_size=len(xs)))
    x = data.draw(st.floats(xs[0], xs[-1]))
    ours = monotone_cubic(np.array(xs, dtype=float), np.array(ys), x)
    assert ours == pytest.approx(float(PchipInterpolator(xs, ys)(x)), abs=1e-9 * (1 + max(map(abs, ys))))


@given(rising, st.data())
def test_a_table_of_one_smooth_axis_is_that_cubic_too(xs: list[int], data: st.DataObject) -> None:
    """The table looks at no more than four neighbors; that must not change the curve."""
    from scipy.interpolate import PchipInterpolator

    ys = data.draw(st.lists(tenths, min_size=len(xs), max_size=len(xs)))
    table = GridTable.from_rows("t", (RPM,), "p", [{"n": x, "p": y} for x, y in zip(xs, ys, strict=True)])
    assert table is not None
    x = data.draw(st.integers(xs[0] * 10, xs[-1] * 10)) / 10
    assert table(x) == pytest.approx(float(PchipInterpolator(xs, ys)(x)), abs=1e-9 * (1 + max(map(abs, ys))))


@given(st.floats(0, 8000), st.floats(0, 40), st.floats(1500, 2300))
def test_straight_axes_are_the_reference_librarys_multilinear_interpolation(h: float, t: float, w: float) -> None:
    """scipy.interpolate.RegularGridInterpolator is the outside reference."""
    from scipy.interpolate import RegularGridInterpolator

    grid = (np.array([1500.0, 2000.0, 2300.0]), np.array([0.0, 2000.0, 8000.0]), np.array([0.0, 20.0, 40.0]))
    values = np.arange(27.0).reshape(3, 3, 3) ** 2
    rows = [
        {"w": a, "h": b, "t": c, "v": values[i, j, k]}
        for i, a in enumerate(grid[0]) for j, b in enumerate(grid[1]) for k, c in enumerate(grid[2])
    ]  # fmt: skip
    table = GridTable.from_rows("t", (Axis("w", "weight"), Axis("h", "height"), Axis("t", "temperature")), "v", rows)
    assert table is not None
    expected = RegularGridInterpolator(grid, values)((round(w, 6), round(h, 6), round(t, 6)))
    assert table(w, h, t) == pytest.approx(float(expected), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("row", ROWS)
def test_printed_rows_come_back_exactly(row: dict[str, float]) -> None:
    """Even when the inputs have been to SI and back."""
    assert chart()(row["h"] * 0.3048 / 0.3048, row["n"]) == row["p"]


@given(st.floats(0, 4000), st.floats(2000, 2400), st.floats(0, 50))
def test_what_rises_in_the_table_rises_between_its_rows(h: float, n: float, more: float) -> None:
    table = chart()
    assert table(h, min(n + more, 2400)) >= table(h, n) - 1e-9


def test_between_rows_of_unequal_length_the_edge_joins_their_ends() -> None:
    """At 2,000 ft the rows end at 2,600 and 2,400 RPM: the chart reaches to 2,500, and not beyond."""
    table = chart()
    assert table.span(2000) == (2000, 2500)
    assert table(2000, 2500) == pytest.approx((88 + 63) / 2)  # halfway along the edge
    with pytest.raises(OutOfRange, match=r"engine speed 2,501 RPM is outside the power chart at altitude 2,000 ft "):
        table(2000, 2501)


@given(st.floats(0, 4000), st.floats(2400, 2600))
def test_nothing_is_answered_outside_the_outline_of_the_rows(h: float, n: float) -> None:
    """The outline at height h runs from 2,600 RPM at 0 ft to 2,400 RPM at 4,000 ft."""
    table, edge = chart(), 2600 - 200 * h / 4000
    if n > edge + 0.01:
        with pytest.raises(OutOfRange):
            table(h, n)
    elif n < edge - 0.01:
        assert 41 <= table(h, n) <= 88


@pytest.mark.parametrize("asked", [(-1, 2200), (4001, 2200), (0, 1999), (0, 2601), (math.nan, 2200), (0, math.nan)])
def test_a_refusal_names_the_axis_and_its_range(asked: tuple[float, float]) -> None:
    with pytest.raises(OutOfRange, match="outside the power chart") as refused:
        chart()(*asked)
    assert refused.value.low < refused.value.high
    assert refused.value.what in {HEIGHT.what, RPM.what}


@given(st.floats(0, 4000), st.floats(0.0, 1.0))
def test_reading_a_rising_table_backwards_gives_the_input_back(h: float, share: float) -> None:
    table = chart()
    low, high = table.span(h)
    asked = low + share * (high - low)
    assert table(h, table.inverse(table(h, asked), h, what="power")) == pytest.approx(table(h, asked), abs=0.01)


def test_reading_backwards_refuses_what_the_rows_never_reach() -> None:
    with pytest.raises(OutOfRange, match="percent 95 is outside the power chart at altitude 0") as refused:
        chart().inverse(95, 0, what="percent")
    assert (refused.value.low, refused.value.high) == (43, 88)


def test_a_column_nobody_printed_is_no_table() -> None:
    assert GridTable.from_rows("t", (HEIGHT,), "missing", ROWS) is None
