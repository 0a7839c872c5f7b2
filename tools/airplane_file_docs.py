"""Writes the reference part of docs/airplane-file.md from the models, so that it can't fall behind them.

    python tools/airplane_file_docs.py          rewrite the file
    python tools/airplane_file_docs.py --check  exit 1 if it is behind

The hand-written part stands above the marker line and is kept.
"""

from __future__ import annotations

import sys
import types
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import models_in, spellings
from airwork.web.airplane_kinds import words as label

PAGE = Path(__file__).parent.parent / "docs" / "airplane-file.md"
MARKER = "<!-- From here on made by tools/airplane_file_docs.py from the models. Don't edit. -->"


def kind(annotation: Any) -> str:
    """A type as a person says it."""
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin in {Union, types.UnionType}:
        return " or ".join(dict.fromkeys(kind(p) for p in parts if p is not type(None)))
    if origin is Literal:
        return ", ".join(f'"{p}"' if isinstance(p, str) else str(p) for p in parts)
    if origin is list:
        inner = kind(parts[0])
        return {"table": "rows", "number": "[low, high]"}.get(inner, f"list of {inner}")
    if origin is dict:
        return "table of numbers"
    if hasattr(annotation, "__metadata__"):
        return kind(parts[0])
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return "table"
    return {str: "text", float: "number", int: "whole number", bool: "true or false"}.get(annotation, "value")


def limits(field: FieldInfo) -> str:
    """The believable range of a number, if the model has one."""
    found: dict[str, Any] = {}
    pieces: list[Any] = [*field.metadata]
    for part in (field.annotation, *get_args(field.annotation)):
        pieces += list(getattr(part, "__metadata__", ()))
    for piece in pieces:
        for item in (piece, *getattr(piece, "metadata", ())):
            for name in ("gt", "ge", "lt", "le"):
                if isinstance(getattr(item, name, None), int | float):
                    found[name] = getattr(item, name)
    low = f"over {found['gt']:g}" if "gt" in found else (f"{found['ge']:g}" if "ge" in found else "")
    high = f"{found['le']:g}" if "le" in found else (f"under {found['lt']:g}" if "lt" in found else "")
    return f" ({low} to {high})" if low and high else (f" ({low})" if low else "")


def table_of(model: type[BaseModel], heading: str, out: list[str], seen: set[type[BaseModel]]) -> None:
    """One model as a table of its keys, then the models in it; a model that was shown is not shown again."""
    if model in seen:
        return
    seen.add(model)
    words = (model.__doc__ or "").strip().split("\n")[0]
    out += ["", f"### {heading}", "", words, "", "| key | value | needed | meaning |", "| --- | --- | --- | --- |"]
    inner: list[tuple[str, FieldInfo]] = []
    for name, field in model.model_fields.items():
        if name == "printed":
            continue
        needed = "yes" if field.is_required() else ""
        meaning = "; ".join(filter(None, [field.title, field.description])) or label(name)
        out.append(f"| `{name}` | {kind(field.annotation)}{limits(field)} | {needed} | {meaning} |")
        inner.append((name, field))
    for name, field in inner:
        for found in models_in(field.annotation):
            rows = get_origin(field.annotation) is list
            inside = f"{heading} {name}" if rows or "]]" in heading else f"{heading[:-2]}.{name}]`"
            table_of(found, inside, out, seen)


def other_units() -> list[str]:
    """How a key is written for a book that prints another unit."""
    out = ["A key's unit may be another one, here as in every key of its kind:", ""]
    for key in (
        "weight_lb", "arm_in", "ground_roll_ft", "total_over_50_ft", "wing_area_ft2", "usable_us_gal", "gph_full_rich",
        "kias", "kcas", "ktas", "maximum_demonstrated_crosswind_kt", "rate_of_climb_fpm", "distance_nm", "oat_c",
        "isa_deviation_c", "maximum_oil_temperature_f", "manifold_pressure_inhg", "minimum_oil_psi", "rated_power_hp",
        "fuel_density_lb_per_us_gal",
    ):  # fmt: skip
        out.append(f"- `{key}`: {', '.join(f'`{name}`' for name, _ in spellings(key))}")
    return out


def reference() -> str:
    """The whole reference part."""
    out = [
        "",
        "## Every key",
        "",
        "Tables of one kind (several calibrations, envelopes, distances) are described once.",
        "",
        *other_units(),
    ]
    seen: set[type[BaseModel]] = set()
    for name, field in AirplaneFile.model_fields.items():
        rows = get_origin(field.annotation) is list
        for model in models_in(field.annotation):
            table_of(model, f"`[[{name}]]`" if rows else f"`[{name}]`", out, seen)
    return "\n".join(out) + "\n"


def page() -> str:
    """The page with a fresh reference part."""
    head = PAGE.read_text().split(MARKER)[0]
    return head + MARKER + "\n" + reference()


def main() -> int:
    """Rewrite, or with --check compare."""
    fresh = page()
    if "--check" in sys.argv:
        return int(fresh != PAGE.read_text())
    PAGE.write_text(fresh)
    return 0


if __name__ == "__main__":
    sys.exit(main())
