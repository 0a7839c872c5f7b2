"""Every kind of slip of a typist, by name, and one planted at random into a book's data."""

from __future__ import annotations

import copy
import random
from typing import Any

from books.slips_cells import (
    Data,
    Slip,
    cell_in_other_unit,
    cell_slip,
    column_shifted,
    columns_exchanged,
    digit_doubled,
    digit_dropped,
    digit_wrong,
    digits_exchanged,
    neighbors_exchanged,
    other_unit,
    point_moved,
    row_left_out,
    row_repeated,
    rows_exchanged,
    sign_lost,
    zero_dropped,
)
from books.slips_subjects import (
    correction_digit,
    correction_exchanged,
    correction_missing,
    correction_sign,
    flap_speed_digit,
    flap_speeds_exchanged,
    loading_number,
    scalar,
    speed_names_exchanged,
    tanks_differ,
)
from books.slips_units import (
    climb_rates,
    flows,
    heats_in_other_unit,
    height_factor,
    heights,
    lengths,
    liters,
    scaled,
    speeds,
    us_to_imperial,
)

SINGLE: dict[str, Slip] = {
    "digits exchanged": cell_slip(digits_exchanged),
    "digit wrong": cell_slip(digit_wrong),
    "digit dropped": cell_slip(digit_dropped),
    "digit doubled": cell_slip(digit_doubled),
    "zero dropped": cell_slip(zero_dropped),
    "decimal point moved": cell_slip(point_moved),
    "input: digits exchanged": cell_slip(digits_exchanged, inputs=True),
    "input: digit wrong": cell_slip(digit_wrong, inputs=True),
    "input: zero dropped": cell_slip(zero_dropped, inputs=True),
    "one cell in another unit": cell_in_other_unit,
    "two cells of a row exchanged": neighbors_exchanged,
    "two rows exchanged": rows_exchanged,
    "column shifted by a row": column_shifted,
    "row typed twice": row_repeated,
    "row left out": row_left_out,
    "sign lost": sign_lost,
    "columns exchanged": columns_exchanged,
    "left tank unlike right": tanks_differ,
    "correction: sign": correction_sign,
    "correction: digit": correction_digit,
    "correction missing": correction_missing,
    "correction: percent and per exchanged": correction_exchanged,
    "flap speeds exchanged": flap_speeds_exchanged,
    "flap speed: digit": flap_speed_digit,
    "speed names exchanged": speed_names_exchanged,
    "loading: digit": loading_number,
    "limit: digit": scalar("limitations", lambda k: "arc" not in k and "load" not in k),
    "arc: digit": scalar("limitations", lambda k: "arc" in k),
    "airplane: digit": scalar("airplane", lambda k: k.startswith(("maximum", "wing_area"))),
    "engine: digit": scalar("engine", lambda k: k.startswith("rated")),
    "glide: digit": lambda d, r: (
        "performance.glide" if _scalar_row(d["performance"]["glide"]["rows"][0], "glide_ratio", r) else None
    ),
}


def _scalar_row(row: dict[str, Any], key: str, draw: random.Random) -> bool:
    new = draw.choice((digits_exchanged, digit_wrong, digit_dropped, point_moved))(row[key], draw)
    if not new or new == row[key]:
        return False
    row[key] = new
    return True


WHOLE: dict[str, Slip] = {
    "takeoff: m and ft": scaled("performance.takeoff", lengths, other_unit),
    "landing: m and ft": scaled("performance.landing", lengths, other_unit),
    "takeoff ten times too short": scaled("performance.takeoff", lengths, 0.1),
    "landing ten times too short": scaled("performance.landing", lengths, 0.1),
    "takeoff weights in the other unit": scaled("performance.takeoff", lambda k: k.startswith("weight"), other_unit),
    "climb weights in the other unit": scaled("performance.climb", lambda k: k.startswith("weight"), other_unit),
    "stall weights in the other unit": scaled("performance.stall", lambda k: k.startswith("weight"), other_unit),
    "stall speeds: mph and kt": scaled("performance.stall", speeds, other_unit),
    "V-speeds: mph and kt": scaled("v_speeds", speeds, other_unit),
    "limits and arcs: mph and kt": scaled("limitations", lambda k: speeds(k) and "crosswind" not in k, other_unit),
    "flap speeds: mph and kt": scaled("flaps", speeds, other_unit),
    "calibration, one column: mph and kt": scaled(
        "airspeed_calibration", lambda k: k in {"kcas", "calibrated_mph", "calibrated_kmh"}, other_unit
    ),
    "cruise speeds: mph and kt": scaled("performance.cruise", speeds, other_unit),
    "fuel flow: L and gal": scaled("performance.cruise", flows, liters),
    "fuel flow: imperial": scaled("performance.cruise", flows, us_to_imperial),
    "tanks: L and gal": scaled("fuel", lambda k: k.startswith(("usable", "capacity", "unusable")), liters),
    "tanks: imperial": scaled("fuel", lambda k: k.startswith(("usable", "capacity", "unusable")), us_to_imperial),
    "climb: m/s and ft/min": scaled("performance.climb", climb_rates, 0.00508),
    "climb altitudes: m and ft": scaled("performance.climb", heights, height_factor),
    "takeoff altitudes: m and ft": scaled("performance.takeoff", heights, height_factor),
    "temperatures: F and C": heats_in_other_unit,
    "loading weights: kg and lb": scaled(
        "weight_and_balance", lambda k: k.endswith(("_kg", "_lb")) or k.startswith("weight"), other_unit
    ),
    "envelope weights: kg and lb": scaled(
        "weight_and_balance.envelope_normal", lambda k: k.startswith("weight"), other_unit
    ),
    "maximum weight: kg and lb": scaled("airplane", lambda k: k.startswith("maximum"), other_unit),
    "wing area: m² and ft²": scaled(
        "airplane", lambda k: k.startswith("wing_area"), lambda k: 10.7639 if k.endswith("m2") else 1 / 10.7639
    ),
    "envelope arms: mm and in": scaled(
        "weight_and_balance.envelope_normal",
        lambda k: k.startswith("arm"),
        lambda k: 25.4 if k.endswith("_in") else 1 / 25.4 if k.endswith("mm") else 39.37,
    ),
    "station arms: mm and in": scaled(
        "weight_and_balance.stations",
        lambda k: k.startswith("arm"),
        lambda k: 25.4 if k.endswith("_in") else 1 / 25.4 if k.endswith("mm") else 39.37,
    ),
}


def planted(data: Data, kind: str, seed: str) -> tuple[Data, str] | None:
    """The book with one slip of a kind, and the table it is in; None where the book has no place for it."""
    draw = random.Random(seed)
    slip = SINGLE.get(kind) or WHOLE[kind]
    for _ in range(12):
        spoiled = copy.deepcopy(data)
        try:
            table = slip(spoiled, draw)
        except (KeyError, IndexError, StopIteration):
            return None  # the book prints no such thing
        if table is not None and spoiled != data:
            return spoiled, table
    return None
