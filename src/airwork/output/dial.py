"""A standard's knots in the unit of the airplane's airspeed indicator."""

from __future__ import annotations

import re

from airwork import units

_KNOTS = re.compile(r"([+\-−±]?)(\d+)(?:(/[+\-−])(\d+))? kt")


def on_dial(text: str, unit: str, digits: int = 0) -> str:
    """A standard's tolerance in knots in the dial's unit: as it can be read there, or beside what was measured.

    >>> on_dial("+10/−0 kt", "mph"), on_dial("+10/−0 kt", "mph", 1), on_dial("±10 kt", "kt")
    ('+12/−0 mph', '+11.5/−0 mph', '±10 kt')
    """
    if unit == "kt":
        return text

    def turned(found: re.Match[str]) -> str:
        first, second = (None if n is None else _written(float(n), unit, digits) for n in (found[2], found[4]))
        return f"{found[1]}{first}{'' if second is None else f'{found[3]}{second}'} {unit}"

    return _KNOTS.sub(turned, text)


def _written(knots: float, unit: str, digits: int) -> str:
    text = f"{units.to_unit(units.from_unit(knots, 'kt'), unit) + 1e-9:.{digits}f}"
    return text.removesuffix(".0")
