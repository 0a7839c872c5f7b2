"""Answers put together into the tables of an airplane file."""

from __future__ import annotations

from typing import Any

from airwork.airplane.file.printed import key_in
from airwork.airplane.writing import across
from airwork.airplane.writing.cells import parted
from airwork.airplane.writing.question import Answers, slug
from airwork.airplane.writing.questions import RED, SPEEDS, diameter_unit
from airwork.airplane.writing.tables import CHANGES, NONE, WARMER, stall_printed
from airwork.airplane.writing.units_of_book import Units, units_of

# Jet fuel weighs 0.775 to 0.840 kg/L at 15 °C ([ASTM D1655], from memory); the middle, rounded
_JET_FUEL = {
    "kg": {"fuel_grade": "jet fuel", "fuel_density_kg_per_l": 0.8},
    "lb": {"fuel_grade": "jet fuel", "fuel_density_lb_per_us_gal": 6.7},
}


# The answers that stand in the file as they are: the table; the question and the key, with the model's own unit.
AS_THEY_ARE: dict[str, dict[str, str]] = {
    "airplane": {
        "id": "id", "name": "name", "registration": "registration", "handbook": "handbook", "seats": "seats",
        "category": "category", "takeoff_weight": "maximum_takeoff_weight_lb",
        "landing_weight": "maximum_landing_weight_lb", "wing_area": "wing_area_ft2", "wing_span": "wing_span_ft",
        "handbook_weight": "handbook_weight_lb", "dial": "airspeed_indicator_unit",
    },
    "engine": {
        "rated_power": "rated_power_hp", "rated_rpm": "rated_rpm", "gear_ratio": "gear_ratio",
        "fuel_system": "fuel_system", "carburetor_heat": "carburetor_heat",
    },
    "engine.leaning": {
        "leaning": "maximum_percent_power", "best_power": "best_power", "best_economy": "best_economy"
    },
    "propeller": {
        "diameter": "diameter_in", "static_rpm": "static_rpm_full_throttle", "governing_rpm": "governing_rpm"
    },
    "fuel": {
        "tanks": "tanks", "switching": "switching_interval_min", "imbalance": "imbalance_limit_us_gal",
        "takeoff_tank": "takeoff_and_landing_position", "boost_pump": "boost_pump",
    },
    "flaps": {"flaps_operation": "operation"},
    "limitations": {
        "maximum_rpm": "maximum_rpm", "load_factors": "load_factor_flaps_up_g",
        "load_factors_down": "load_factor_flaps_down_g", "maximum_altitude": "maximum_operating_altitude_ft",
        "prohibited": "prohibited",
    },
    "weight_and_balance": {
        "datum": "datum", "empty_weight": "empty_weight_lb", "empty_arm": "empty_arm_in", "mac_length": "mac_length_in",
        "mac_leading_edge": "mac_leading_edge_in", "stations": "stations",
    },
}  # fmt: skip


def _as_they_are(answers: Answers, table: str, book: Units) -> dict[str, Any]:
    """The answers of a table under its keys, in the book's units."""
    metric = book["weight"] == "kg"
    units = {"lb": book["weight"], "hp": book["power"], "gal": book["fuel"], "in": book["arm"],
             "ft2": "m²" if metric else "ft²", "diameter_in": diameter_unit(book),
             "wing_span_ft": "m" if metric else "ft"}  # fmt: skip
    found = {}
    for question, key in AS_THEY_ARE[table].items():
        unit = units.get(key) or units.get(key.rpartition("_")[2], "")
        found[key_in(key, unit)] = answers.get(question)
    return _given(**found)


def assemble(answers: Answers) -> dict[str, Any]:
    """The answers as the data of an airplane file, in the book's units; skipped questions leave their key out."""
    dial, book = answers.get("dial") or "kt", units_of(answers)
    data = {table: _as_they_are(answers, table, book) for table in AS_THEY_ARE}
    data["airplane"] = {"schema_version": 1} | data["airplane"]
    data["airplane"] |= {"category": answers.get("category") or ["normal"], "airspeed_indicator_unit": dial}
    data["engine"] |= _given(leaning=data.pop("engine.leaning"))
    if answers.get("fuel_kind") in {"jet fuel", "diesel"}:
        data["engine"] |= _JET_FUEL[book["weight"]]
    data["propeller"] = _given(type=(answers.get("propeller") or "").replace(" ", "_")) | data["propeller"]
    selector = [row if "feeds" in row else row["name"] for row in answers.get("selector") or []]
    data["fuel"] |= _given(selector_positions=selector)
    data["flaps"]["notches"] = _notches(answers, dial)
    said = [slug(words) for words in answers.get("prohibited") or () if len(words.split()) < 3]
    weighing = data.pop("weight_and_balance")
    return data | _given(
        airspeed_calibration=_calibration(answers, dial),
        v_speeds=_given(rows=_v_speeds(answers, dial, key_in("weight_lb", book["weight"]))),
        limitations=_limits(answers, dial) | data.pop("limitations"),
        weight_and_balance={} if answers.get("empty_weight") is None else weighing | _envelopes(answers, book),
        performance=_performance(answers, dial, book),
        maneuvers=[{"name": name, "permitted_in": []} for name in said if name[0].isalpha()],
    )


def _given(**items: Any) -> dict[str, Any]:
    return {key: value for key, value in items.items() if value not in (None, "", [], {})}


def _airspeed(stem: str, speed: Any, dial: str, kind: str = "indicated") -> dict[str, float]:
    """A speed under its key; "95 CAS printed" says itself which kind it is."""
    number, own = parted(speed, "")
    kind = {"CAS": "calibrated", "IAS": "indicated"}.get(own[:3], kind)
    return {stem + key_in("kcas" if kind == "calibrated" else "kias", dial): number}


def _notches(answers: Answers, dial: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = [{"notch": 0, "deflection_deg": 0}]
    for number, row in enumerate(answers.get("notches") or [], start=1):
        speed = _airspeed("maximum_speed_", row["speed"], dial) if "speed" in row else {}
        rows.append({"notch": number, "deflection_deg": row["deflection_deg"], **speed})
    return rows


def _calibration(answers: Answers, dial: str) -> dict[str, Any]:
    out: dict[str, Any] = {}
    tables = {"calibration_up": "flaps_up", "calibration_down": "flaps_down"}
    tables |= {f"calibration_{n}": f"notch_{n}" for n in range(1, 5)}
    for key, table in tables.items():
        rows = answers.get(key) or []
        if len(rows) >= 2:
            dialed, true = key_in("kias", dial), key_in("kcas", dial)
            out[table] = {"rows": [{dialed: r["indicated"], true: r["calibrated"]} for r in rows]}
    return out


def _v_speeds(answers: Answers, dial: str, weight_key: str) -> list[dict[str, Any]]:
    kind = answers.get("speeds_are") or "indicated"
    weight = answers.get("takeoff_weight")
    rows = [
        {"name": key, weight_key: weight, **_airspeed("", answers[f"v_{key}"], dial, kind)}
        for key, _ in SPEEDS
        if answers.get(f"v_{key}") is not None
    ]
    for row in answers.get("v_more") or []:
        rows.append({"name": row["name"], weight_key: row[weight_key], **_airspeed("", row["speed"], dial, kind)})
    return rows


def _limits(answers: Answers, dial: str) -> dict[str, Any]:
    crosswind, unit = answers.get("crosswind"), dial
    if crosswind is not None:
        crosswind, unit = parted(crosswind, dial)
    kind, found = answers.get("limits_are") or "indicated", dict[str, Any]()
    limits = {"never_exceed": "never_exceed", "structural_cruise": "maximum_structural_cruise",
              "flaps_extended": "maximum_flaps_extended"}  # fmt: skip
    for key, name in limits.items():
        if answers.get(key) is not None:
            found |= _airspeed(f"{name}_", answers[key], dial, kind)
    for row in answers.get("arcs") or ():
        if row["color"] == RED:
            found.setdefault(key_in("never_exceed_kias", dial), row["low"])
            continue
        found[key_in(f"{row['color']}_arc_kias", dial)] = [row["low"], row["high"]]
    return _given(
        **found,
        **{key_in("maximum_demonstrated_crosswind_kt", unit): crosswind},
    )


def _envelopes(answers: Answers, book: Units) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for category in answers.get("category") or ["normal"]:
        corners = answers.get(f"envelope_{category}") or []
        if len(corners) >= 3:
            empty = answers.get(f"envelope_{category}_rear_empty") or None  # False is what the file means without it
            most = {key_in("baggage_maximum_lb", book["weight"]): answers.get(f"envelope_{category}_baggage")}
            out[f"envelope_{category}"] = {"polygon": corners, **_given(rear_seats_empty=empty, **most)}
    return out


def _performance(answers: Answers, dial: str, book: Units) -> dict[str, Any]:
    out: dict[str, Any] = {}
    suffix, weight_key = key_in("kias", dial), key_in("weight_lb", book["weight"])

    def rows_of(key: str) -> list[dict[str, Any]]:
        return [row for _, row in across.places(answers.get(key) or (), answers.get(f"{key}_across"))]

    if stall := rows_of("stall"):
        printed, unit = stall_printed(answers, dial)
        columns = (weight_key, "flap_notch", "bank_deg")
        out["stall"] = _laid_out(
            [{**{k: r[k] for k in columns if k in r}, **_airspeed("", r["speed"], unit, printed)} for r in stall]
        )
    weight = answers.get("handbook_weight")
    for key, rows in (("power_chart", answers.get("power_chart")), ("cruise", rows_of("cruise"))):
        if rows:
            out[key] = {**_given(**{weight_key: weight}), **_laid_out(rows)}
    if rows := rows_of("climb"):
        rows = _whole_rows(rows, answers, "climb", weight_key)
        renamed = [{f"climb_speed_{suffix}" if k == "climb_speed" else k: v for k, v in r.items()} for r in rows]
        out["climb"] = _given(temperature_correction=answers.get("climb_rule")) | _laid_out(renamed)
    if rows := answers.get("to_climb"):
        out["time_fuel_distance_to_climb"] = {**_given(**{weight_key: weight}), **_laid_out(rows)}
    for kind in ("takeoff", "landing"):
        if rows := rows_of(kind):
            speed = "liftoff" if kind == "takeoff" else "approach"
            out[kind] = _given(
                flap_notch=answers.get(f"{kind}_notch"), **{f"{speed}_{suffix}": answers.get(f"{kind}_speed")}
            )
            out[kind] |= _laid_out(_whole_rows(rows, answers, kind, weight_key))
            rules = answers.get(f"{kind}_corrections") or []
            out[kind] |= _given(
                not_printed=[row["cause"] for row in rules if row["change_percent"] == NONE],
                corrections=[_correction(row) for row in rules if row["change_percent"] != NONE],
            )
    ratio = answers.get("glide_ratio")
    if ratio is not None:
        out["glide"] = {"rows": [_given(**{weight_key: answers.get("takeoff_weight")}, glide_ratio=ratio)]}
    return out


def _whole_rows(rows: list[dict[str, Any]], answers: Answers, table: str, weight_key: str) -> list[dict[str, Any]]:
    """Rows with what the book says once for the whole table: its weight, the standard temperature."""
    weight = answers.get("takeoff_weight")
    if table == "landing":
        weight = answers.get("landing_weight") or weight
    out = []
    for row in rows:
        left = {} if weight_key in row or weight is None else {weight_key: weight}
        heat = {} if any(k.startswith(("oat_", "isa_")) for k in row) else {"isa_deviation_c": 0}
        out.append({**left, **heat, **row})
    return out


def _laid_out(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """A table as printed: its columns once, then bare rows, "-" where the book prints nothing."""
    columns = list(dict.fromkeys(key for row in rows for key in row))
    return {"columns": columns, "rows": [[row.get(key, "-") for key in columns] for row in rows]}


def _correction(row: dict[str, Any]) -> dict[str, Any]:
    """A correction of the file; what it changes was asked for."""
    cause = row["cause"]
    out = {"cause": cause, "change_percent": row["change_percent"]}
    on = {"applies_to": CHANGES[row["on"]]} if "on" in row else {}
    if cause == WARMER:
        per, unit = parted(row["per"], "")
        return {**out, "per": per, "unit": unit, **on}
    if cause in {"headwind", "tailwind"}:
        per, unit = parted(row["per"], "kt")
        return {**out, "per": per, "unit": unit, **on}
    if cause in {"upslope", "downslope"}:
        per, _ = parted(row.get("per", 1), "percent")
        return {**out, "per": per, "unit": "percent", **on}
    return {**out, **on}
