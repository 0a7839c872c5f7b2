"""Type an invented book through `airwork airplane new` and count: answers, keys, refusals, and what the file then says.

    python bench/book_typing.py

A script types what a person would, from the printed book (bench/books), with the table's left side given once (`grid`).
Keys are counted; minutes are keys at 120 a minute (two a second: reading a printed number and typing it), which is an
assumption, not a measurement of a person.
"""

from __future__ import annotations

import io
import sys
import tempfile
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from books.manners import MANNERS, NEWEST, UNREAD
from books.printer import make

from airwork.airplane.check import check_file
from airwork.airplane.writing.question import Question
from airwork.airplane.writing.questions import next_question
from airwork.cli import main as airwork

KEYS_A_MINUTE = 120
SPEED = ("kias", "indicated_mph", "indicated_kmh", "kcas", "calibrated_mph", "calibrated_kmh")


def rows_of(book: dict[str, Any], key: str) -> list[dict[str, Any]]:
    """The printed rows a question asks for."""
    table = {"to_climb": "time_fuel_distance_to_climb"}.get(key, key)
    if key.startswith("calibration_"):
        side = {"calibration_up": "flaps_up", "calibration_down": "flaps_down"}.get(key, "")
        return book.get("airspeed_calibration", {}).get(side, {}).get("rows", [])
    if key == "notches":
        return book["flaps"]["notches"][1:]
    if key == "tanks":
        return book["fuel"]["tanks"]
    if key == "stations":
        return book["weight_and_balance"]["stations"]
    if key == "envelope_normal":
        return book["weight_and_balance"]["envelope_normal"]["polygon"]
    if key.endswith("_corrections"):
        return book["performance"][key.removesuffix("_corrections")]["corrections"]
    return book["performance"].get(table, {}).get("rows", [])


def cell(row: dict[str, Any], key: str) -> str:
    """A printed cell; "-" where the book prints nothing."""
    if key in {"indicated", "calibrated"}:
        pair = [v for k, v in row.items() if k in SPEED]
        return f"{pair[key == 'calibrated']}"
    if key == "speed":
        return next((f"{v}" for k, v in row.items() if k in SPEED or k.startswith("maximum_speed")), "-")
    if key == "climb_speed":
        return next((f"{v}" for k, v in row.items() if k.startswith("climb_speed")), "-")
    if key == "headwind_kt":
        return f"{row.get(key, 0)}"
    if key == "on":
        words = {"ground_roll": "roll", "total": "whole", "share_of_total": "share"}
        return words.get(row.get("applies_to", ""), "-")
    if key == "cause" and row["cause"] == "above_standard_temperature":
        return "above_standard"
    if key == "per" and "per" in row:
        return f"{row['per']} {row['unit']}"
    return f"{row[key]}" if key in row else "-"


def typed(book: dict[str, Any], question: Question) -> list[str]:
    """The lines a person types at a question."""
    if question.columns:
        if question.key in {"selector", "v_more"}:
            return ["off, none", *(f"{t['name'].split()[0]}, {t['name']}" for t in book["fuel"]["tanks"]), ""] if (
                question.key == "selector") else [""]  # fmt: skip
        rows = rows_of(book, question.key)
        lines = []
        for row in rows:
            cells = [cell(row, c.key) for c in question.columns]
            while len(cells) > 1 and cells[-1] == "-":
                cells.pop()
            lines.append(", ".join(cells))
        return [*lines, ""]
    return [answer(book, question.key)]


def kinds(keys: list[str]) -> str:
    return "calibrated" if any("cas" in k or "calibrated" in k for k in keys) else ""


def left_of(book: dict[str, Any], table: str) -> str:
    """What stands at the left of a table; nothing where it is the usual."""
    rows = book["performance"][table]["rows"]
    wind = any("headwind_kt" in row for row in rows)
    return "weight wind altitude temperature" if wind else ""


def cruise_columns(book: dict[str, Any]) -> str:
    """The columns the cruise table prints."""
    row = max(book["performance"]["cruise"]["rows"], key=len)
    load = "load " if "rpm" not in row else ""
    words = {
        "isa_": "above", "percent": "percent", "ktas": "speed", "true": "speed", "full_rich": "rich",
        "best_power": "best_power", "best_economy": "economy",
    }  # fmt: skip
    return load + " ".join(
        word for end, word in words.items() if any(k.startswith(end) or k.endswith(end) for k in row)
    )


def answer(book: dict[str, Any], key: str) -> str:
    """The text for a single question; empty skips it."""
    a, wb, limits = book["airplane"], book["weight_and_balance"], book["limitations"]

    def first(table: dict[str, Any], stem: str) -> str:
        return next((f"{v}" for k, v in table.items() if k.startswith(stem)), "")

    if key.startswith("v_"):
        row = next((r for r in book["v_speeds"]["rows"] if r["name"] == key[2:]), {})
        return next((f"{v}" for k, v in row.items() if k in SPEED), "")
    if key == "units":
        w = "kg" if "maximum_takeoff_weight_kg" in a else "lb"
        words = [w, next(k.rpartition("_")[2] for k in wb if k.startswith("empty_arm"))]
        words[1] = "arm m" if words[1] == "m" else words[1]
        row = book["performance"]["takeoff"]["rows"][0]
        words.append("m" if "ground_roll_m" in row else "ft")
        words.append({"l": "L", "imp_gal": "impgal"}.get("l" if "usable_l" in book["fuel"]["tanks"][0] else "", "gal"))
        words.append("ISA" if "isa_deviation_c" in row else "°F" if "oat_f" in row else "°C")
        words.append({"rated_power_ps": "PS", "rated_power_kw": "kW"}.get(next(iter(book["engine"])), "hp"))
        return " ".join([*words, "hPa" if "manifold_pressure_hpa" in str(book) else "inHg"])
    simple = {
        "name": a["name"], "seats": f"{a['seats']}", "dial": a["airspeed_indicator_unit"],
        "takeoff_weight": first(a, "maximum_takeoff"), "wing_area": first(a, "wing_area"),
        "wing_span": first(a, "wing_span"),
        "rated_power": first(book["engine"], "rated_power"), "rated_rpm": f"{book['engine']['rated_rpm']}",
        "fuel_system": book["engine"]["fuel_system"],
        "fuel_kind": book["engine"].get("fuel_grade", ""), "propeller": book["propeller"]["type"].replace("_", " "),
        "diameter": next((f"{v} {k[9:]}" for k, v in book["propeller"].items() if k.startswith("diameter")), ""),
        "leaning": first(book["engine"].get("leaning", {}), "maximum"),
        "never_exceed": first(limits, "never"), "structural_cruise": first(limits, "maximum_structural"),
        "flaps_extended": first(limits, "maximum_flaps"), "maximum_rpm": f"{limits['maximum_rpm']}",
        "load_factors": "-1.52 3.8", "load_factors_down": "0 2", "crosswind": first(limits,
        "maximum_demonstrated") + " kt",
        "empty_weight": first(wb, "empty_weight"), "empty_arm": first(wb, "empty_arm"),
        "speeds_are": kinds([k for row in book["v_speeds"]["rows"] for k in row]),
        "limits_are": kinds([k for k in limits if k.startswith("never")]),
        "envelope_in": "mac" if "percent_mac" in wb["envelope_normal"]["polygon"][0] else "",
        "mac_length": first(wb, "mac_length"), "mac_leading_edge": first(wb, "mac_leading"),
        "takeoff_left": left_of(book, "takeoff"), "landing_left": left_of(book, "landing"),
        "climb_left": left_of(book, "climb"), "cruise_columns": cruise_columns(book),
        "stall_is": "calibrated" if any(k.endswith(("kcas",
        "calibrated_mph")) for k in book["performance"]["stall"]["rows"][0])
        else "",
        "takeoff_notch": f"{book['performance']['takeoff']['flap_notch']}",
        "takeoff_speed": first(book["performance"]["takeoff"], "liftoff"),
        "landing_notch": f"{book['performance']['landing']['flap_notch']}",
        "landing_speed": first(book["performance"]["landing"], "approach"),
        "glide_ratio": first(book["performance"]["glide"]["rows"][0], "glide"),
        "climb_rule": "-10 % per 10 C" if "temperature_correction" in book["performance"]["climb"] else "",
    }  # fmt: skip
    return simple.get(key, "")


def lines_for(book: dict[str, Any]) -> Iterator[str]:
    """Every line, question after question, as the program would ask."""
    answers: dict[str, Any] = {}
    while (question := next_question(answers)) is not None:
        lines = typed(book, question)
        yield from lines
        if question.columns:
            answers[question.key] = [question.read_row(line) for line in lines if line]
        else:
            text = lines[0] or question.default
            answers[question.key] = question.read(text) if text else None


def main() -> int:
    for name in ("sixties", "european", *(m.name for m in (*NEWEST, *UNREAD))):
        manner = next(m for m in (*MANNERS, *NEWEST, *UNREAD) if m.name == name)
        book = make(manner, 3)
        lines = list(lines_for(book))
        keys = sum(len(line) + 1 for line in lines)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "book.toml"
            said, wrong = io.StringIO(), io.StringIO()
            sys.stdin = io.StringIO("\n".join(lines) + "\n")
            with redirect_stdout(said), redirect_stderr(wrong):
                code = airwork(["airplane", "new", str(path)])
            refused = sum(
                text in line for line in said.getvalue().splitlines() for text in ("wanted:", "can't read", "is needed")
            )
            complaints = check_file(path)[1] if path.exists() else ()
        rows = sum(bool(line) and "," in line for line in lines)
        print(
            f"{name}: {len(lines)} lines, {rows} table rows, {keys} keys ({keys / KEYS_A_MINUTE:.0f} min at "
            f"{KEYS_A_MINUTE} a minute), {refused} lines refused, exit {code}, {len(complaints)} complaints"
        )
        print(wrong.getvalue()[:400], end="")
        for c in complaints:
            print("  ", c)
    return 0


if __name__ == "__main__":
    sys.exit(main())
