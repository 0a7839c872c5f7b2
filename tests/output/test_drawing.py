"""Names in a drawing: each beside its own line, none over another, none cut by the drawing's edge."""

from __future__ import annotations

import re

import pytest

from airwork.airplane.performance import Condition
from airwork.jobs.files import load_airplane
from airwork.output.chart import Chart
from airwork.output.drawing import APART, LETTER, Axis, Line, Mark, xy_svg
from airwork.output.performance_charts import power_curve


def _names(svg: str) -> list[tuple[str, float, float, float]]:
    """(text, left, right, baseline) of each line's and mark's name."""
    out = []
    for x, y, end, text in re.findall(
        r'<text(?: class="of-\w+")? x="([\d.]+)" y="([\d.]+)"( text-anchor="end")?>([^<]*)<', svg
    ):
        wide, at = LETTER * len(text), float(x)
        out.append((text, at - wide if end else at, at if end else at + wide, float(y)))
    return [one for one in out if not re.fullmatch(r"[-−\d.,]+", one[0])]


@pytest.mark.parametrize("size", [(620, 300), (440, 240)])
def test_names_of_lines_that_end_together_stand_under_one_another_inside(size: tuple[int, int]) -> None:
    lines = [Line(f"{k} thousand feet", [(0.0, 0.0), (100.0, 50.0 + 0.4 * k)]) for k in range(7)]
    svg = xy_svg([*lines, Line("short one", [(0.0, 10.0), (60.0, 20.0)])], [Mark("start", 10.0, 40.0)], Axis("x"),
                 Axis("y"), label="a drawing", size=size)  # fmt: skip
    found = _names(svg)
    assert {text for text, *_ in found} == {*(line.name for line in lines), "short one", "start"}
    for k, (text, left, right, y) in enumerate(found):
        assert left >= 0, text
        assert right <= size[0] + 1, text
        assert 0 < y < size[1], text
        for other, a, b, z in found[k + 1 :]:
            assert right < a or b < left or abs(y - z) >= APART - 1.01, (text, other)
    heights = [y for text, *_, y in found if "thousand" in text]
    assert heights == sorted(heights)  # in the order of the ends: the highest value first
    assert next(text for text, *_ in found if "thousand" in text).startswith("6")
    assert svg.rindex("<polyline") < svg.index("thousand feet</text>")  # no line goes through a name


def test_a_name_with_no_room_after_its_line_stands_before_it() -> None:
    """A line that ends short of the edge where another's name stands: its name ends at its own end, over no other."""
    edge = Line("a name at the edge", [(0.0, 0.0), (100.0, 50.0)])
    short = Line("a line that ends just before it", [(0.0, 20.0), (80.0, 50.0)])
    found = {text: at for text, *at in _names(xy_svg([edge, short], [], Axis("x"), Axis("y"), label="a drawing"))}
    (left, right, y), (begins, _, z) = found[short.name], found[edge.name]
    assert right < begins
    assert abs(y - z) < APART
    end = float(re.findall(r"([\d.]+),[\d.]+\"/>", xy_svg([edge, short], [], Axis("x"), Axis("y"), label=""))[1])
    assert end - 10 < right <= end
    assert left > 0


def test_a_curve_in_two_pieces_is_no_line_across_the_gap() -> None:
    """Marginal at both ends of the speeds: nothing is drawn where the other curve is."""
    chart = Chart("k", "t", "x", "y", [1.0, 2.0, 3.0, 4.0, 5.0], [("ends", [1.0, 2.0, None, 2.0, 1.0])])
    assert chart.svg.count("<polyline") == 2


def test_the_stall_stands_on_the_axis_of_the_power_curve() -> None:
    """Each flap setting's power-off stall is a tick left of its slow flight, at the lowest value drawn."""
    airplane = load_airplane("wrenbrook_108")
    (needed, _) = power_curve(airplane, Condition(airplane.max_takeoff_mass_kg, 0.0, 288.15))
    ticks = [m for m in needed.marks if m.sign == "|"]
    lowest = min(v for _, y in needed.curves for v in y if v is not None)
    assert len(ticks) == 2
    assert {m.y for m in ticks} == {lowest}
    slow = next(m for m in needed.marks if m.name == "slow flight")
    assert next(m for m in ticks if m.name == "stall").x == pytest.approx(
        slow.x / 1.2, rel=0.08
    )  # calibrated 1.2 times; the dial errs
