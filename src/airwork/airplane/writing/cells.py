"""Reading what a person types into one field: a quantity in any unit, a number, a word. Printed units out."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from airwork import units
from airwork.errors import InputError
from airwork.unit_words import meant as unit_meant

Reader = Callable[[str], object]
_FEET_AND_INCHES = re.compile(r"""(\d+)\s*(?:ft\.?|feet|['′])\s*(\d+(?:[.,]\d+)?)\s*(?:in\.?|inches|["″])?""")


_SOME_GALLON = re.compile(r"[\d.,']+\s*(?:gal\w*|gph)(?:\s*/\s*h\w*)?\.?", re.IGNORECASE)
_SPACE = "\u00a0\u202f "
_DECIMAL_COMMA = re.compile(r"([+\-−]?\d+),(\d{1,2}|\d{4,})(?!\d)")
_COMMA = re.compile(r"[+\-−]?(0|[1-9]\d{0,2}),\d{3}(?![\d.,])")
_EITHER = re.compile(r"[+\-−]?[1-9]\d{0,2}[.,]\d{3}(?![\d.,])")


def plain_number(text: str, most: float | None = None, least: float = 0.0) -> str:
    """A number as people in other countries write it, with a point for decimals and no marks between thousands.

    "16,3" is 16.3, "0,962" 0.962,
    "1.150,5" and "1'150.5" are 1150.5, "1,150" is 1150. What can be either ("1.150") is asked about,
    unless one of them can't be: an arm of 1,368 m (`most`), a weight of 1.15 kg (`least`).

    Raises
    ------
    InputError : both readings are possible.
    """
    out = units.halves_as_decimals(text.strip().replace("\u2019", "'"))
    out = re.sub(r"(?<=\d)'(?=\d{3}(?!\d))", "", out)
    if m := re.match(rf"([+\-−]?\d{{1,3}}(?:\.\d{{3}})+),(\d+)(?=$|[{_SPACE}A-Za-z°%²])", out):  # 1.150,5
        return m[1].replace(".", "") + "." + m[2] + out[m.end() :]
    if (m := _EITHER.match(out)) and "." in m[0]:
        one, other = m[0].replace(".", ""), m[0].rstrip("0").rstrip(".")
        if most is not None and abs(float(one.replace("−", "-"))) > most:
            return out
        if abs(float(other.replace("−", "-"))) < least:
            return one + out[m.end() :]
        raise InputError(f"{m[0]!r} can be {one} or {other}; write the one that is meant without a mark.")
    if m := _COMMA.match(out):  # 0,962 has no thousands; 1,368 has none where 1368 can't be
        thousands = float(m[0].replace(",", "").replace("−", "-"))
        if m[1] == "0" or (most is not None and abs(thousands) > most):
            return out.replace(",", ".", 1)
    return _DECIMAL_COMMA.sub(r"\1.\2", out, count=1)


def quantity(
    kind: units.Kind,
    unit: str,
    digits: int = 3,
    most: float | None = None,
    least: float = 0.0,
    top: float | None = None,
) -> Reader:
    """A quantity stored in `unit`; a bare number is taken in it as typed, any other unit of the kind is converted.

    most, least : what it can be at all, where a point may be a mark between thousands. top : in `unit`, where another
    may be typed ("1.460 m").
    """

    def read(text: str) -> float:
        other = kind == "length" and top is not None and re.fullmatch(r"\d[.,]\d{3}\s*m", text.strip())
        bare = text.strip().replace(",", ".") if other else text  # 1,460 m can't be meant
        if not other and not _FEET_AND_INCHES.fullmatch(text.strip()):
            bare = plain_number(text, most, least)
        if unit.startswith("impgal") and _SOME_GALLON.fullmatch(text.strip()):
            raise InputError(
                f"{text.strip()!r}: US or imperial gallons? The book's own need no unit; else write US gal."
            )
        if kind == "length" and (m := _FEET_AND_INCHES.fullmatch(text.strip())):
            value = units.from_unit(float(m[1]), "ft") + units.from_unit(float(m[2].replace(",", ".")), "in")
        else:
            value = units.parse(bare, kind, default_unit=unit)
        return tidy(_as_fine(units.to_unit(value, unit), digits, bare, kind == "temperature"))

    return read


def _as_fine(value: float, digits: int, typed: str, offset: bool) -> float:
    """A number rounded so that in the unit it was typed in it is still what was typed: 245.5 m stay 245.5."""
    m = re.search(r"\d[\d',]*(?:\.(\d+))?|\.(\d+)", typed)
    decimals = len((m and (m[1] or m[2])) or "")
    size = abs(float(re.sub(r"[',]", "", m[0]))) if m else 0.0
    step = 10.0**-decimals
    scale = 0.6 if offset else abs(value) / size if size else 0.0  # of a °F in °C, or of its unit in this one
    near = min(0.4 * step * scale, 0.005 * max(abs(value), 10.0 if offset else 0.0))
    return next((r for k in range(digits, 9) if abs((r := round(value, k)) - value) <= near), round(value, 9))


# How pilots mark what kind of airspeed a number is; KIAS, MIAS, IAS, CAS, TAS …
_KIND = re.compile(r"\b[KM]?(IAS|CAS|TAS|EAS)\b", re.IGNORECASE)
_KINDS = {"IAS": "indicated", "CAS": "calibrated", "TAS": "true", "EAS": "equivalent"}


def speed(unit: str, kind: str = "indicated", either: bool = False) -> Reader:
    """An airspeed of a kind, stored in a unit. One marked as another kind is a question back, never taken.

    either : the file has a place for both, so that "95 CAS printed" among indicated ones is kept as it is (see
    `parted`).
    """
    read_number = quantity("speed", unit, 1)

    def read(text: str) -> object:
        m = _KIND.search(text)
        other = _KINDS[m[1].upper()] if m else kind
        kept = either and {kind, other} == {"indicated", "calibrated"} and "printed" in text.lower()
        if m and other != kind and not kept:
            way = (
                f"If the book prints this one so, type: {text.strip()} printed. If all of them, say so in the question "
                "above, where there is one."
                if either and other in {"indicated", "calibrated"}
                else f"Does the book print another column? Type the {kind} one."
            )
            article = "an" if other[0] in "ie" else "a"
            raise InputError(f"{text.strip()!r} is {article} {other} airspeed, and the {kind} one is asked. {way}")
        bare = re.sub(r"\b(?:IAS|CAS|TAS|EAS|(?:as )?printed)\b", "", text, flags=re.IGNORECASE)
        bare = re.sub(r"^\s*([KM](?:I|C|T|E)AS)\s+(.*)$", r"\2 \1", bare, flags=re.IGNORECASE)
        value = read_number(bare.strip(" ,"))
        if not isinstance(value, int | float) or value <= 0:
            raise InputError(f"{text.strip()!r}: an airspeed is more than nothing.")
        return f"{value:g} {m[1].upper()} printed" if m and kept else value

    return read


def deviation(unit: str) -> Reader:
    """Degrees above standard: "+10", "ISA+10", "-20 °C"."""

    def read(text: str) -> float:
        bare = re.sub(r"^\s*ISA\s*", "", text.strip(), flags=re.IGNORECASE).replace("°", "").rstrip("CcFf ").strip()
        return number("degrees above standard")(bare or "0")  # type: ignore[return-value]

    return read


def ratio(text: str) -> float:
    """A glide ratio: "9.7", "9.7:1" or "1:9.7"."""
    parts = [p for p in re.split(r" to | in |[:/]", text) if p.strip()]
    found = [float(number()(p)) for p in parts]  # type: ignore[arg-type]
    if len(found) == 2 and min(found) == 1.0 < max(found):
        return tidy(max(found))
    if len(found) != 1:
        raise InputError(f"{text!r}: distance over height is wanted, e.g. 9.7 or 1:9.7.")
    return tidy(found[0])


def number(what: str = "a number") -> Reader:
    """A plain number; "%" and "percent" behind it may stand."""

    def read(text: str) -> float:
        bare = re.sub(r"(?:%|percent|pct\.?)\s*$", "", text.strip()).strip()
        bare = re.sub(r"^\+", "", plain_number(bare).replace("−", "-"))
        bare = re.sub(rf"(?<=\d)[,{_SPACE}](?=\d{{3}}(?!\d))", "", bare)
        try:
            value = float(bare)
        except ValueError:
            raise InputError(f"can't read {text!r}; {what} is wanted.") from None
        if not abs(value) < 1e9:
            raise InputError(f"{text!r} is out of all proportion.")
        return tidy(value)

    return read


def whole(text: str) -> int:
    """A whole number."""
    value = number("a whole number")(text)
    if not isinstance(value, int):
        raise InputError(f"{text!r} is not a whole number.")
    return value


def notch(answers: Mapping[str, Any]) -> Reader:
    """A flap notch by its number, or by its degrees among those typed: 2, or "25°", "25 deg"."""
    degrees = [row.get("deflection_deg") for row in answers.get("notches") or ()]

    def read(text: str) -> int:
        m = re.fullmatch(r"([\d.,]+)\s*(?:°|deg(?:rees?)?\.?)", text.strip())
        found = number()(m[1]) if m else None
        if found is None:
            return whole(text)
        if found != 0 and found not in degrees:
            there = ", ".join(f"{d:g}°" for d in degrees if d)
            raise InputError(
                f"{text.strip()!r}: {f'the flaps typed are {there}' if there else 'no flaps are typed yet'}."
            )
        return degrees.index(found) + 1 if found else 0

    return read


def rpm(text: str) -> float:
    """An engine speed; "2400" or "2400 rpm"."""
    value = units.parse(plain_number(text, least=100), "rotation", default_unit="rpm")
    return tidy(round(units.to_unit(value, "rpm"), 3))


def words(text: str) -> str:
    """Any text."""
    if not text.isprintable():
        raise InputError("only printable characters, please.")
    return text


@dataclass(frozen=True, slots=True)
class Choice:
    """One of some words; a beginning that fits only one of them is enough, "light sport" is light_sport.

    also : further ways to write one of them. kind : of the units they are, which may be written in any way.
    """

    options: tuple[str, ...]
    also: tuple[tuple[re.Pattern[str], str], ...] = ()
    kind: str = ""

    def __call__(self, text: str) -> str:
        """The word that is meant."""
        if meant := next((word for pattern, word in self.also if pattern.fullmatch(text.strip())), ""):
            return meant
        if self.kind and (unit := unit_meant(text, self.kind)) in self.options:
            return unit
        asked = _plain_word(text)
        plain = {o: _plain_word(o) for o in self.options}
        fits = [o for o in plain if plain[o] == asked] or [o for o in plain if plain[o].startswith(asked)]
        if not fits and len(asked) > 2:  # "inj" is fuel injection
            fits = [o for o in plain if any(word.startswith(asked) for word in plain[o].split("_"))]
        if len(fits) == 1:
            return fits[0]
        near = fits or [o for o in plain if asked in plain[o].split("_")] or list(plain)
        raise InputError(f"{text!r}: choose {', '.join(near[:-1])} or {near[-1]}." if near[1:] else f"{near[0]}?")


def choice(options: Sequence[str]) -> Choice:
    """A reader of one of some words."""
    return Choice(tuple(options))


def _plain_word(text: str) -> str:
    return re.sub(r"[\s_-]+", "_", text.strip().lower())


def in_a_unit(*kinds: str) -> Reader:
    """A number, bare or with a unit of some kinds behind it: 10, or "10 mph", kept with it."""

    def read(text: str) -> object:
        m = re.fullmatch(r"([+\-−]?[\d.,' ]*[\d.,'])\s*(.+)?", text.strip())
        if m is None or m[2] is None:
            return number()(text)
        unit = next((KEPT.get(u, u) for kind in kinds if (u := unit_meant(m[2], kind))), None)
        if unit not in UNITS_KEPT:
            raise InputError(f"{text!r}: a number with {', '.join(UNITS_KEPT)} is wanted.")
        return f"{number()(m[1])} {unit}"

    return read


UNITS_KEPT = ("kt", "mph", "km/h", "m/s", "C", "F", "percent")  # what a correction or a wind can be for
KEPT = {"°C": "C", "°F": "F", "K": "C", "%": "percent"}


def parted(value: object, unit: str) -> tuple[float, str]:
    """(number, unit) of what `in_a_unit` read; a bare number is in `unit`."""
    text, _, own = str(value).partition(" ")
    return tidy(float(text)), own or unit


dial_unit = Choice(("kt", "mph", "km/h"), kind="speed")  # the unit of an airspeed indicator, as people write it


def yes_no(text: str) -> bool:
    """Yes or no."""
    return choice(("yes", "no"))(text) == "yes"


def names(text: str) -> list[str]:
    """Some names joined by +: "left wing + right wing"; "none" for none."""
    if text.lower() == "none":
        return []
    return [part.strip() for part in text.split("+") if part.strip()]


def choices(options: Sequence[str]) -> Reader:
    """Some words of a list, separated by commas or blanks."""
    one = choice(options)

    def read(text: str) -> list[str]:
        for option in options:  # "light sport" is one word
            text = re.sub(option.replace("_", "[ _-]"), option, text, flags=re.IGNORECASE)
        return list(dict.fromkeys(one(part) for part in re.sub(r"[,+]", " ", text).split()))

    return read


def load_factors(text: str) -> list[float]:
    """Negative and positive; one number is the positive one, where the book prints no other."""
    bare = re.sub(r"(?<=\d)\s*g\b", "", text).strip().replace(",", ".")
    alone = float(bare) if re.fullmatch(r"\+?\d+(\.\d+)?", bare) else 0.0
    return [tidy(alone)] if alone > 1.0 else low_high(text)  # "0,2" is two numbers


def listed(text: str) -> list[str]:
    """Some words, commas or semicolons between; nothing for "none"."""
    found = [part.strip() for part in re.split(r"[,;+]", words(text)) if part.strip()]
    return [] if [w.lower() for w in found] == ["none"] else found


def low_high(text: str) -> list[float]:
    """Two numbers, low and high: "-1.52 3.8", "+3,8 -1,52", "3.8 g, -1.52 g"."""
    bare = re.sub(r"(?<=\d)\s*g\b", "", text)
    parts = [float(number()(part)) for part in re.split(r"[\s;/]+|,\s", bare) if part]  # type: ignore[arg-type]
    if len(parts) == 1 and "," in bare:  # 0,2: a border, not a decimal
        parts = [float(number()(part)) for part in bare.split(",")]  # type: ignore[arg-type]
    if len(parts) != 2:
        raise InputError(f"{text!r}: two numbers are wanted, a blank between.")
    return [tidy(x) for x in sorted(parts)]


def tidy(value: float) -> float:
    """A whole number without its .0, as a person would type it."""
    return int(value) if value == int(value) else value
