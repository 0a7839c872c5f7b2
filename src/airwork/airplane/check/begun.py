"""An airplane file that is begun and can't be read yet: what can be asked about the tables that are whole."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomli_w

from airwork.airplane.airplane import Airplane
from airwork.airplane.check import Complaint, check_airplane
from airwork.airplane.file.load import parse_airplane_file
from airwork.errors import InputError
from airwork.typed_file import FILL_IN

# What every file needs and this one may not have yet, twice: a small and a large light single. What is asked of both
# alike is asked of what was typed.
STAND_INS: tuple[dict[str, dict[str, Any]], ...] = tuple(
    {
        "airplane": {"schema_version": 1, "id": "begun", "name": "begun", "maximum_takeoff_weight_lb": weight_lb,
                     "airspeed_indicator_unit": "kt"},
        "engine": {"rated_power_hp": power_hp, "rated_rpm": rpm, "fuel_system": "carburetor"},
        "propeller": {"type": "fixed_pitch"},
        "flaps": {"notches": [{"notch": n} for n in range(notches)]},
    }
    for weight_lb, power_hp, rpm, notches in ((1300, 65, 2300, 2), (3800, 300, 2850, 6))
)  # fmt: skip
MOST_TABLES = 12  # left out one after another, because they can't be read


def check_begun(data: Mapping[str, Any]) -> tuple[Complaint, ...]:
    """Complaints about what is typed that stand whatever the rest will be; data : the file as plain data.

    Tables that can't be read yet are left out, and nothing is said of what isn't there.
    """
    typed = _typed(data)
    found = [_of(typed, stand_in) for stand_in in STAND_INS]
    alike = {(c.where, c.what, c.why) for c in found[1]}
    return tuple(
        c for c in found[0]
        if (c.where, c.what, c.why) in alike and c.table.partition(".")[0] in typed and not c.what.startswith("no ")
    )  # fmt: skip


def _typed(node: Any) -> Any:
    """Without what is still to be filled in."""
    if isinstance(node, Mapping):
        return {k: _typed(v) for k, v in node.items() if v != FILL_IN}
    return [_typed(v) for v in node if v != FILL_IN] if isinstance(node, list) else node


def _of(data: Mapping[str, Any], stand_in: Mapping[str, Mapping[str, Any]]) -> tuple[Complaint, ...]:
    whole: dict[str, Any] = {name: table for name, table in data.items() if isinstance(table, dict)}
    for _ in range(MOST_TABLES):
        filled = whole | {name: {**table, **whole.get(name, {})} for name, table in stand_in.items()}
        try:
            return check_airplane(Airplane(parse_airplane_file(tomli_w.dumps(filled), where="begun")))
        except InputError as problem:
            before = repr(whole)
            for one in problem.each:
                whole = _without(whole, [str(part) for part in one.where.path[:2]])
            if repr(whole) == before:
                return ()
    return ()


def _without(whole: dict[str, Any], path: list[str]) -> dict[str, Any]:
    """The tables without the one at a path: one of the performance, else a whole one."""
    if path[:1] == ["performance"] and len(path) > 1:
        inside = {k: v for k, v in whole.get("performance", {}).items() if k != path[1]}
        return {**whole, "performance": inside}
    return {k: v for k, v in whole.items() if k not in path[:1]}
