"""An airplane file that exists already, gone on with: what it has is not asked again, what is asked is added to it.

Tables are the step: a table that stands in the file is never touched (it is mended in an editor or in the browser), one
that is missing is asked for and appended, so that every line and comment typed so far stays as it is.
"""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from airwork.airplane.file.errors import explain
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import read_printed
from airwork.airplane.writing.assemble import AS_THEY_ARE, assemble
from airwork.airplane.writing.progress import at
from airwork.airplane.writing.question import Answers
from airwork.airplane.writing.questions import questions
from airwork.airplane.writing.units_of_book import SUBJECTS

# What an answer's key begins with, where it stands in the file in another form: the table.
_BEGINS = {
    "fuel_kind": "engine", "propeller": "propeller", "selector": "fuel", "notches": "flaps",
    "calibration_": "airspeed_calibration", "v_": "v_speeds", "speeds_are": "v_speeds",
    "never_exceed": "limitations", "structural_cruise": "limitations", "flaps_extended": "limitations",
    "limits_are": "limitations", "arcs": "limitations", "crosswind": "limitations", "envelope_": "weight_and_balance",
    "to_climb": "performance.time_fuel_distance_to_climb", "power_chart": "performance.power_chart",
    **{key: f"performance.{key}" for key in ("stall", "climb", "cruise", "takeoff", "landing", "glide")},
}  # fmt: skip


def _table_of(key: str) -> str:
    """The table of the file that a question's answer stands in; empty for the units, which stand in none."""
    plain = (table.partition(".")[0] for table, keys in AS_THEY_ARE.items() if key in keys)
    return next(plain, "") or next((table for begins, table in _BEGINS.items() if key.startswith(begins)), "")


def answered_by(data: dict[str, Any]) -> dict[str, Any]:
    """What a file answers: the few answers that decide what else is asked, and nothing for the rest of its tables.

    Parameters
    ----------
    data : the file as typed, in its own units.
    """
    found, _ = read_printed(data, AirplaneFile)
    plain, engine, wing = found.get("airplane", {}), found.get("engine", {}), data.get("airplane", {})
    answers: dict[str, Any] = {
        "name": plain.get("name"), "id": plain.get("id"), "dial": plain.get("airspeed_indicator_unit") or "kt",
        "category": plain.get("category") or ["normal"], "units": _units(data),
        "takeoff_weight": next((wing[k] for k in wing if k.startswith("maximum_takeoff_weight")), None),
        "handbook_weight": next((wing[k] for k in wing if k.startswith("handbook_weight")), None),
        "fuel_system": engine.get("fuel_system"),
        "leaning": (engine.get("leaning") or {}).get("maximum_percent_power"),
        "propeller": str(found.get("propeller", {}).get("type") or "").replace("_", " "),
        "notches": [n for n in found.get("flaps", {}).get("notches", []) if n.get("notch")],
    }  # fmt: skip
    asked = True
    while asked:  # what is not asked for one table may be asked after another
        asked = False
        for question in questions(answers):
            table = _table_of(question.key)
            if question.key not in answers and table and at(data, table) is not None:
                answers[question.key] = None
                asked = True
                break
    return answers


def _units(data: dict[str, Any]) -> dict[str, str]:
    """The units the book prints, as far as the tables typed so far show them."""
    keys = set(keys_of(data))

    def ends(*endings: str) -> bool:
        return any(k.endswith(endings) for k in keys)

    units = {subject: options[0] for subject, options in SUBJECTS.items()}
    if ends("_weight_kg") or "weight_kg" in keys:
        units["weight"] = "kg"
    for subject, stem, options in (
        ("arm", "arm_", ("mm", "cm", "m")), ("runway", "ground_roll_", ("m",)), ("fuel", "usable_", ("l", "imp_gal")),
        ("power", "rated_power_", ("ps", "kw")), ("altitude", "pressure_altitude_", ("m",)),
        ("climb", "rate_of_climb_", ("mps",)),
    ):  # fmt: skip
        for option in options:
            if f"{stem}{option}" in keys or f"empty_{stem}{option}" in keys:
                units[subject] = {"l": "L", "imp_gal": "impgal", "ps": "PS", "kw": "kW", "mps": "m/s"}.get(
                    option, option
                )
    if "isa_deviation_c" in keys and "oat_c" not in keys:
        units["temperature"] = "ISA°C"
    elif "oat_f" in keys:
        units["temperature"] = "°F"
    pressures = {"hpa": "hPa", "kpa": "kPa", "mmhg": "mmHg"}
    units["pressure"] = next((u for end, u in pressures.items() if f"manifold_pressure_{end}" in keys), "inHg")
    return units


def keys_of(node: Any) -> list[str]:
    """Every key of the tables, and every column."""
    if isinstance(node, list):
        return [k for item in node for k in keys_of(item)]
    if not isinstance(node, dict):
        return []
    columns = (
        [c for c in node.get("columns", []) if isinstance(c, str)] if isinstance(node.get("columns"), list) else []
    )
    return [*node, *columns, *(k for value in node.values() for k in keys_of(value))]


def added(data: dict[str, Any], new: dict[str, Any]) -> dict[str, Any]:
    """The tables of `new` that `data` has not."""
    out = {key: value for key, value in new.items() if key != "performance" and key not in data}
    performance = {k: v for k, v in new.get("performance", {}).items() if k not in data.get("performance", {})}
    return out | ({"performance": performance} if performance else {})


def together(data: dict[str, Any], new: dict[str, Any]) -> dict[str, Any]:
    """The file's tables and those added."""
    more = added(data, new)
    out = {**data, **{k: v for k, v in more.items() if k != "performance"}}
    if performance := {**data.get("performance", {}), **more.get("performance", {})}:
        out["performance"] = performance
    return out


def problems(answers: Answers, base: dict[str, Any] | None = None) -> dict[str, list[str]]:
    """What in the answers so far can't stand in an airplane file, by table; what is only still missing is no problem.

    base : the tables of the file that is gone on with.
    """
    data, printed = read_printed(together(base or {}, assemble(answers)), AirplaneFile)
    found: dict[str, list[str]] = {}
    try:
        AirplaneFile.model_validate(data)
    except ValidationError as problem:
        for e in problem.errors(include_url=False):
            words = str(explain(e, AirplaneFile, {}, {}, printed))
            said = found.setdefault(str(e["loc"][0]) if e["loc"] else "", [])
            if e["type"] != "missing" and words not in said:
                said.append(words)
    return {table: said for table, said in found.items() if said}
