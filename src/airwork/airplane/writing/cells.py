"""Reading what a person types into one field: a quantity in any unit, a number, a word. Printed units out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from airwork import units
from airwork.errors import InputError

Reader = Callable[[str], object]


def quantity(kind: units.Kind, unit: str, digits: int = 3) -> Reader:
    """A quantity stored in `unit`; a bare number is taken in it, any other unit of the kind is converted."""

    def read(text: str) -> float:
        return tidy(round(units.to_unit(units.parse(text, kind, default_unit=unit), unit), digits))

    return read


def speed(unit: str) -> Reader:
    """An airspeed stored in the dial's unit."""
    return quantity("speed", unit, 1)


def number(what: str = "a number") -> Reader:
    """A plain number."""

    def read(text: str) -> float:
        try:
            value = float(text.replace("−", "-").replace(",", "").rstrip("%").strip())
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


def rpm(text: str) -> float:
    """An engine speed; "2400" or "2400 rpm"."""
    return tidy(round(units.to_unit(units.parse(text, "rotation", default_unit="rpm"), "rpm"), 3))


def words(text: str) -> str:
    """Any text."""
    if not text.isprintable():
        raise InputError("only printable characters, please.")
    return text


def choice(options: Sequence[str]) -> Reader:
    """One of some words; a beginning that fits only one of them is enough."""

    def read(text: str) -> str:
        fits = [o for o in options if o.lower() == text.lower()] or [
            o for o in options if o.lower().startswith(text.lower())
        ]
        if len(fits) != 1:
            raise InputError(f"{text!r}: choose {', '.join(options[:-1])} or {options[-1]}.")
        return fits[0]

    return read


def dial_unit(text: str) -> str:
    """The unit of an airspeed indicator, as people write it."""
    plain = text.strip().lower()
    return str(choice(("kt", "mph"))("kt" if plain in {"kts", "kn", "knot", "knots"} else plain))


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
        return list(dict.fromkeys(str(one(part)) for part in text.replace(",", " ").split()))

    return read


def low_high(text: str) -> list[float]:
    """Two numbers, low and high: "-1.52 3.8"."""
    parts = [number()(part) for part in text.replace(",", " ").split()]
    if len(parts) != 2 or parts[0] > parts[1]:  # type: ignore[operator]
        raise InputError(f"{text!r}: two numbers are wanted, the lower first.")
    return parts  # type: ignore[return-value]


def tidy(value: float) -> float:
    """A whole number without its .0, as a person would type it."""
    return int(value) if value == int(value) else value
