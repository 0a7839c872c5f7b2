"""Answers put together into the tables of an airplane file."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from airwork.airplane.file.errors import explain
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.writing.questions import SPEEDS, Answers


def assemble(answers: Answers) -> dict[str, Any]:
    """The answers as the data of an airplane file; skipped questions leave their key out."""
    dial = answers.get("dial") or "kt"
    suffix = "kias" if dial == "kt" else "indicated_mph"
    get = answers.get
    data: dict[str, Any] = {
        "airplane": _given(
            schema_version=1,
            id=get("id"),
            name=get("name"),
            registration=get("registration"),
            handbook=get("handbook"),
            seats=get("seats"),
            category=get("category") or ["normal"],
            maximum_takeoff_weight_lb=get("takeoff_weight"),
            maximum_landing_weight_lb=get("landing_weight"),
            wing_area_ft2=get("wing_area"),
            wing_span_ft=get("wing_span"),
            airspeed_indicator_unit=dial,
            handbook_weight_lb=get("handbook_weight"),
        ),
        "engine": _given(
            rated_power_hp=get("rated_power"),
            rated_rpm=get("rated_rpm"),
            fuel_system=get("fuel_system"),
            carburetor_heat=get("carburetor_heat"),
        ),
        "propeller": _given(type=(get("propeller") or "").replace(" ", "_"), diameter_in=get("diameter")),
        "fuel": _given(
            tanks=get("tanks"),
            selector_positions=[{"name": row["name"], "feeds": row["feeds"]} for row in get("selector") or []],
            switching_interval_min=get("switching"),
            imbalance_limit_us_gal=get("imbalance"),
            takeoff_and_landing_position=get("takeoff_tank"),
            boost_pump=get("boost_pump"),
        ),
        "flaps": _given(operation=get("flaps_operation"), notches=_notches(answers, suffix)),
    }
    if get("leaning") is not None:
        data["engine"]["leaning"] = _given(
            maximum_percent_power=get("leaning"), best_power=get("best_power"), best_economy=get("best_economy")
        )
    _put(data, "airspeed_calibration", _calibration(answers, dial))
    rows = _v_speeds(answers, suffix)
    _put(data, "v_speeds", {"rows": rows} if rows else {})
    _put(data, "limitations", _limits(answers, suffix))
    _put(data, "weight_and_balance", _weight_and_balance(answers))
    _put(data, "performance", _performance(answers, suffix))
    return data


def problems(answers: Answers) -> list[str]:
    """What in the answers so far can't stand in an airplane file; what is only still missing is no problem."""
    try:
        AirplaneFile.model_validate(assemble(answers))
    except ValidationError as found:
        details = [e for e in found.errors(include_url=False) if e["type"] != "missing"]
        return list(dict.fromkeys(str(explain(e, AirplaneFile, {}, {})) for e in details))
    return []


def _given(**items: Any) -> dict[str, Any]:
    return {key: value for key, value in items.items() if value not in (None, "", [])}


def _put(data: dict[str, Any], key: str, table: dict[str, Any]) -> None:
    if table:
        data[key] = table


def _notches(answers: Answers, suffix: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = [{"notch": 0, "deflection_deg": 0}]
    for number, row in enumerate(answers.get("notches") or [], start=1):
        speed = {f"maximum_speed_{suffix}": row["speed"]} if "speed" in row else {}
        rows.append({"notch": number, "deflection_deg": row["deflection_deg"], **speed})
    return rows


def _calibration(answers: Answers, dial: str) -> dict[str, Any]:
    out: dict[str, Any] = {}
    name, keys = ("rows", ("kias", "kcas")) if dial == "kt" else ("rows_mph", ("indicated_mph", "calibrated_mph"))
    for key, table in (("calibration_up", "flaps_up"), ("calibration_down", "flaps_down")):
        rows = answers.get(key) or []
        if len(rows) >= 2:
            out[table] = {name: [{keys[0]: r["indicated"], keys[1]: r["calibrated"]} for r in rows]}
    return out


def _v_speeds(answers: Answers, suffix: str) -> list[dict[str, Any]]:
    weight = answers.get("takeoff_weight")
    rows = [
        {"name": key, "weight_lb": weight, suffix: answers[f"v_{key}"]}
        for key, _ in SPEEDS
        if answers.get(f"v_{key}") is not None
    ]
    for row in answers.get("v_more") or []:
        rows.append({"name": row["name"], "weight_lb": row["weight_lb"], suffix: row["speed"]})
    return rows


def _limits(answers: Answers, suffix: str) -> dict[str, Any]:
    return _given(
        **{
            f"never_exceed_{suffix}": answers.get("never_exceed"),
            f"maximum_structural_cruise_{suffix}": answers.get("structural_cruise"),
            f"maximum_flaps_extended_{suffix}": answers.get("flaps_extended"),
        },
        maximum_rpm=answers.get("maximum_rpm"),
        load_factor_flaps_up_g=answers.get("load_factors"),
        load_factor_flaps_down_g=answers.get("load_factors_down"),
        maximum_demonstrated_crosswind_kt=answers.get("crosswind"),
        maximum_operating_altitude_ft=answers.get("maximum_altitude"),
    )


def _weight_and_balance(answers: Answers) -> dict[str, Any]:
    if answers.get("empty_weight") is None:
        return {}
    out = _given(
        datum=answers.get("datum"),
        empty_weight_lb=answers.get("empty_weight"),
        empty_arm_in=answers.get("empty_arm"),
        stations=answers.get("stations"),
    )
    for category in answers.get("category") or ["normal"]:
        corners = answers.get(f"envelope_{category}") or []
        if len(corners) >= 3:
            out[f"envelope_{category}"] = {"polygon": corners}
    return out


def _performance(answers: Answers, suffix: str) -> dict[str, Any]:
    out: dict[str, Any] = {}
    stall = answers.get("stall") or []
    if stall:
        columns = ("weight_lb", "flap_notch")
        out["stall"] = {"rows": [{**{k: r[k] for k in columns}, suffix: r["speed"]} for r in stall]}
    weight = answers.get("handbook_weight")
    for key in ("power_chart", "cruise"):
        if rows := answers.get(key):
            out[key] = {**_given(weight_lb=weight), "rows": rows}
    if rows := answers.get("climb"):
        out["climb"] = {"rows": rows}
    for kind in ("takeoff", "landing"):
        if rows := answers.get(kind):
            corrections = [_correction(row) for row in answers.get(f"{kind}_corrections") or []]
            out[kind] = _given(flap_notch=answers.get(f"{kind}_notch"), rows=rows, corrections=corrections)
    ratio = answers.get("glide_ratio")
    if ratio is not None:
        out["glide"] = {"rows": [_given(weight_lb=answers.get("takeoff_weight"), glide_ratio=ratio)]}
    return out


def _correction(row: dict[str, Any]) -> dict[str, Any]:
    """Surface and slope change the ground roll in most handbooks; wind the whole distance."""
    wind, slope = row["cause"] in {"headwind", "tailwind"}, row["cause"] in {"upslope", "downslope"}
    out = {"cause": row["cause"], "change_percent": row["change_percent"]}
    if row["cause"] in {"above_standard_f", "above_standard_c"}:
        per = {"per": row["per"]} if "per" in row else {}  # without it the file's own check speaks
        return {**out, "cause": "above_standard_temperature", **per, "unit": row["cause"][-1].upper()}
    if wind or slope:
        out |= {"per": row.get("per", 1), "unit": "kt" if wind else "percent"}
    return out if wind else {**out, "applies_to": "ground_roll"}
