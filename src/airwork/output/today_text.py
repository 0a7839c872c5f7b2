"""Today's performance answers as text for the terminal."""

from __future__ import annotations

import textwrap

from airwork.airplane.performance.today import Line

_WIDTH = 110


def today_text(lines: list[Line], title: str) -> str:
    """The answers as text, subject by subject."""
    out, subject = [title], ""
    for line in lines:
        if line.subject != subject:
            subject = line.subject
            out += ["", subject]
        if line.value is None:
            words = f"{line.name}: {line.note}"
            out.append(textwrap.fill(words, _WIDTH, initial_indent="  ", subsequent_indent="    "))
            continue
        digits = 1 if line.unit in {"inHg", "kPa", "gph", "L/h", "impgal/h", "m/s", ""} else 0
        half = "" if line.half_width_90 is None else f" ± {line.half_width_90:,.{digits}f}"
        space = "" if line.unit in {"%", "°"} else " "
        unit = "" if line.unit in {"", "rpm"} else f"{space}{line.unit}"
        note = f"   {line.note}" if line.note else ""
        out.append(f"  {line.name}: {line.value:,.{digits}f}{half}{unit}" + note)
    return "\n".join(out)
