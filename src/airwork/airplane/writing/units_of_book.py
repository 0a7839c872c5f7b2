"""Which units a book prints: asked once, kept with the answers."""

from __future__ import annotations

import re
from collections.abc import Mapping

from airwork.errors import InputError
from airwork.unit_words import meant, nearest

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
KINDS = {
    "weight": "mass", "arm": "length", "runway": "length", "altitude": "length", "fuel": "volume",
    "temperature": "temperature", "power": "power", "climb": "vertical_speed", "pressure": "pressure",
}  # fmt: skip
Units = dict[str, str]


def defaults() -> Units:
    """What is taken if nothing is said."""
    return {subject: options[0] for subject, options in SUBJECTS.items()}


def units_of(answers: Mapping[str, object]) -> Units:
    """The book's units from the answers so far."""
    given = answers.get("units")
    return {**defaults(), **given} if isinstance(given, dict) else defaults()


def read_units(text: str, dial: str = "") -> Units:
    """ "kg mm m L ISA" or "weight kg, arm m" as units by subject.

    dial : the airspeed indicator's unit, answered before; named again it changes nothing.

    Raises
    ------
    InputError : a unit no subject is printed in, or one that fits several and names none.
    """
    found, told = defaults(), set[str]()
    text = re.sub(r"\b(imp(?:erial)?|uk|u\.?s)\.?\s*gal", r"\1gal", text, flags=re.IGNORECASE)
    text = re.sub(
        r"\b(in|mm)\.?\s+hg", r"\1hg", re.sub(r"\b(din|sae)\b", " ", text, flags=re.IGNORECASE), flags=re.IGNORECASE
    )
    words = re.sub(r"[,;=]", " ", text).split()
    subject = ""
    for word in words:
        plain = word.lower().rstrip("s") if word.lower().rstrip("s") in SUBJECTS else word
        if plain in SUBJECTS:
            subject = plain
            continue
        if not subject and (speed := meant(word, "speed")) in {"kt", "mph", "km/h"}:
            if speed != (dial or speed):
                raise InputError(f"{word!r}: the dial is in {dial}. Type a speed in {speed} with its unit, 66 {speed}.")
            continue
        unit = _unit(word, subject)
        fits = [s for s, options in SUBJECTS.items() if unit in options]
        if subject:
            if subject not in fits:
                raise InputError(f"{subject} {word!r}: one of {', '.join(SUBJECTS[subject])}.")
            found[subject] = unit
            told.add(subject)
            subject = ""
        elif unit in {"ft", "m"}:  # a runway's length; arms and altitudes in meters are named
            found["runway"] = unit
        elif len(fits) == 1:
            found[fits[0]] = unit
            told.add(fits[0])
        else:
            known = "; ".join(f"{s}: {', '.join(o)}" for s, o in SUBJECTS.items())
            near = next((n for kind in dict.fromkeys(KINDS.values()) if (n := nearest(word, kind))), None)
            raise InputError(f"{word!r} is none of them{f', did you mean {near}?' if near else '.'} {known}.")
    if found["weight"] == "kg" and "arm" not in told:
        raise InputError("weights in kg: and the arms? Add arm mm, arm cm, arm m or arm in.")
    return found


def _unit(word: str, subject: str) -> str:
    """The unit a word means; "ISA" and "above" are deviations from the standard temperature."""
    if m := re.fullmatch(r"isa[+±-]*\s*°?(c|f)?", word, flags=re.IGNORECASE):
        return f"ISA°{(m[1] or 'c').upper()}"
    kinds = [KINDS[subject]] if subject else dict.fromkeys(KINDS.values())
    return next((unit for kind in kinds if (unit := meant(word, kind))), "impgal" if word == "imperial" else word)


def said(found: Units) -> str:
    """The units in words, to be looked at."""
    return ", ".join(f"{subject} {unit}" for subject, unit in found.items())
