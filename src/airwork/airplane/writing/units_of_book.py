"""Which units a book prints: asked once, kept with the answers."""

from __future__ import annotations

import re
from collections.abc import Mapping

from airwork.errors import InputError

# subject: the units a book may print it in, as airwork writes them; the first is taken if nothing is said
SUBJECTS: dict[str, tuple[str, ...]] = {
    "weight": ("lb", "kg"),
    "arm": ("in", "mm", "cm", "m"),
    "runway": ("ft", "m"),
    "altitude": ("ft", "m"),
    "fuel": ("gal", "L", "impgal"),
    "temperature": ("°C", "°F", "ISA°C", "ISA°F"),
    "power": ("hp", "PS", "kW"),
    "climb": ("fpm", "m/s"),
    "pressure": ("inHg", "hPa", "kPa", "mmHg"),
}
DEFAULT = "lb in ft gal °C hp inHg"
_SAME = {
    "lbs": "lb", "kgs": "kg", "inches": "in", "feet": "ft", "meters": "m", "l": "L", "liter": "L", "liters": "L",
    "litres": "L", "c": "°C", "f": "°F", "isa": "ISA°C", "isac": "ISA°C", "isaf": "ISA°F", "ps": "PS", "kw": "kW",
    "inhg": "inHg", "hpa": "hPa", "mbar": "hPa", "mmhg": "mmHg", "gallons": "gal", "usgal": "gal", "imperial": "impgal",
    "mb": "hPa", "kpa": "kPa", "ft/min": "fpm", "degc": "°C", "degf": "°F", "bhp": "hp",
}  # fmt: skip
Units = dict[str, str]


def defaults() -> Units:
    """What is taken if nothing is said."""
    return {subject: options[0] for subject, options in SUBJECTS.items()}


def units_of(answers: Mapping[str, object]) -> Units:
    """The book's units from the answers so far."""
    given = answers.get("units")
    return {**defaults(), **given} if isinstance(given, dict) else defaults()


def read_units(text: str) -> Units:
    """ "kg mm m L ISA" or "weight kg, arm m" as units by subject.

    Raises
    ------
    InputError : a unit no subject is printed in, or one that fits several and names none.
    """
    found = defaults()
    text = re.sub(r"\b(?:imp(?:erial)?|uk)\.?\s*gal\w*", "impgal", text, flags=re.IGNORECASE)
    words = text.replace(",", " ").replace("=", " ").split()
    subject = ""
    for word in words:
        plain = word.strip().lower().rstrip("s") if word.lower().rstrip("s") in SUBJECTS else word
        if plain in SUBJECTS:
            subject = plain
            continue
        unit = _SAME.get(word.lower().replace("°", "").replace("+", "").replace("-", ""), word)
        unit = next((u for options in SUBJECTS.values() for u in options if u.lower() == unit.lower()), unit)
        unit = unit if any(unit in options for options in SUBJECTS.values()) else _SAME.get(word.lower(), word)
        fits = [s for s, options in SUBJECTS.items() if unit in options]
        if subject:
            if subject not in fits:
                raise InputError(f"{subject} {word!r}: one of {', '.join(SUBJECTS[subject])}.")
            found[subject], subject = unit, ""
        elif unit in {"ft", "m"}:  # a runway's length; arms and altitudes in meters are named
            found["runway"] = unit
        elif len(fits) == 1:
            found[fits[0]] = unit
        else:
            known = "; ".join(f"{s}: {', '.join(o)}" for s, o in SUBJECTS.items())
            raise InputError(f"{word!r} is none of them. {known}.")
    return found


def said(found: Units) -> str:
    """The units in words, to be looked at."""
    return ", ".join(f"{subject} {unit}" for subject, unit in found.items())
