"""A chart: curves over one axis, drawn here or by the page's script."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from airwork.output.drawing import HIGH, WIDE, Axis, Line, Mark, xy_svg


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart: curves over one axis, all on the same x values; None where a curve has no value."""

    key: str
    title: str
    x_name: str
    y_name: str
    x: list[float]
    curves: list[tuple[str, list[float | None]]]
    note: str = ""
    marks: tuple[Mark, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """For the page's script."""
        return {"x": self.x, "xName": self.x_name, "yName": self.y_name,
                "curves": [{"name": n, "y": y} for n, y in self.curves]}  # fmt: skip

    @property
    def svg(self) -> str:
        """The same without a script."""
        lines = [
            Line(name, [(x, math.nan if v is None else v) for x, v in zip(self.x, y, strict=True)], f"c{k % 6}")
            for k, (name, y) in enumerate(self.curves)
        ]
        return xy_svg(lines, self.marks, Axis(self.x_name), Axis(self.y_name), label=self.title, size=(WIDE, HIGH))
