"""Targets of an exercise as the lesson writes them (`bank = "45 deg"`), in SI with unit-bearing names."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from airwork import units
from airwork.airdata.angles import wrap_positive_rad
from airwork.errors import InputError, UnitError, Where

# word in the lesson -> (name inside, kind of quantity, how it is written)
WORDS: dict[str, tuple[str, units.Kind | str, str]] = {
    "speed": ("ias_mps", "speed", '"66 mph" or "57 kt", as on the dial'),
    "entry_speed": ("entry_ias_mps", "speed", '"100 mph"'),
    "bank": ("bank_rad", "angle", '"45 deg"'),
    "heading": ("heading_mag_rad", "direction", '"270 deg", magnetic'),
    "turn": ("turn_rad", "angle", '"360 deg"'),
    "altitude": ("altitude_m", "altitude", '"6,500 ft"'),
    "height": ("height_agl_m", "altitude", '"800 ft", above ground'),
    "radius": ("radius_m", "distance", '"1,500 ft"'),
    "descent": ("descent_mps", "vertical_speed", '"500 fpm"'),
    "altitude_change": ("altitude_change_m", "altitude", '"1,000 ft"'),
    "power": ("power_ratio", "ratio", '"65 %"'),
    "rpm": ("rpm", "plain", "2100"),
    "flaps": ("flap_notch", "count", "the notch: 0, 1, 2 ..."),
    "turns": ("turns", "count", "3"),
    "line": ("line_rad", "direction", '"180 deg", true direction of the road or line'),
    "direction": ("direction", "word", '"left", "right" or "both"'),
    "mixture": ("mixture", "word", '"full_rich", "best_power" or "best_economy"'),
    "tank": ("tank", "word", "the tank's name"),
    "stall": ("stall", "word", '"full" or "impending"'),
    "configuration": ("configuration", "word", '"takeoff", "approach" or "clean"'),
}


def read_target(target: Mapping[str, Any], where: Where) -> dict[str, float | str]:
    """Targets in SI: {"bank": "45 deg"} -> {"bank_rad": 0.785...}.

    Raises
    ------
    InputError : an unknown word, or a value that isn't what the word needs; names the field.
    """
    out: dict[str, float | str] = {}
    for word, value in target.items():
        field = where.at(word)
        if word not in WORDS:
            near = difflib.get_close_matches(word, WORDS, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(WORDS)}."
            raise InputError(f"no such target; {hint}", where=field)
        name, kind, said = WORDS[word]
        out[name] = _read(value, kind, said, field)
    return out


def _read(value: Any, kind: str, said: str, where: Where) -> float | str:
    if kind == "word":
        if isinstance(value, str) and value.strip():
            return value.strip()
        raise InputError(f"found {value!r}, expected {said}.", where=where)
    if kind in {"count", "plain"}:
        if isinstance(value, (int, float)) and not isinstance(value, bool) and 0 <= value <= 5000:
            return float(value)
        raise InputError(f"found {value!r}, expected a number: {said}.", where=where)
    if isinstance(value, (bool, list, dict)):
        raise InputError(f"found {value!r}, expected {said}.", where=where)
    try:
        number = units.parse(value, "angle" if kind == "direction" else kind)  # type: ignore[arg-type]
    except UnitError as problem:
        raise InputError(f"{problem.problem} Expected {said}.", where=where) from None
    return float(wrap_positive_rad(number)) if kind == "direction" else number
