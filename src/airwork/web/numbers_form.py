"""The questions to an airplane as a form: what a person types, in SI for the core."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from airwork import units
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.airplane.numbers import Question

# name -> (label, hint)
FIELDS: dict[str, tuple[str, str]] = {
    "altitude": ("altitude", "6,500 ft"),
    "altimeter": ("altimeter", "30.05 inHg"),
    "oat": ("temperature there", "24 °C"),
    "weight": ("weight", "2,200 lb"),
    "rpm": ("engine speed", "2400"),
    "mp": ("manifold pressure", "22 inHg"),
    "power": ("power to set", "65 %"),
    "flaps": ("flap notch", "0, 1, 2"),
    "bank": ("bank", "45 deg"),
    "speed": ("speed in the turn", "105 mph"),
    "elevation": ("field elevation", "1,200 ft"),
    "runway": ("runway length", "2,600 ft"),
    "headwind": ("headwind", "8 kt"),
}


def question(asked: Mapping[str, str], airplane: Airplane) -> Question:
    """The form as a question, SI.

    Raises
    ------
    InputError : names the field.
    """
    from airwork.airplane.numbers import Field, Question

    def read(name: str, kind: units.Kind, default_unit: str = "") -> float | None:
        text = asked.get(name, "").strip()
        return None if not text else units.parse(text, kind, where=name, default_unit=default_unit)

    rpm, bank, power = read("rpm", "rotation", "rpm"), read("bank", "angle", "deg"), read("power", "ratio")
    elevation, length = read("elevation", "altitude"), read("runway", "length")
    headwind = read("headwind", "speed", "kt")
    field = None
    if elevation is not None or length is not None or headwind is not None:
        field = Field(elevation_m=elevation or 0.0, length_m=length, headwind_mps=headwind or 0.0)
    return Question(
        altitude_m=read("altitude", "altitude"),
        setting_pa=read("altimeter", "pressure"),
        temperature_k=read("oat", "temperature"),
        mass_kg=read("weight", "mass"),
        rpm=None if rpm is None else round(units.to_unit(rpm, "rpm"), 6),
        manifold_pressure_pa=None if airplane.fixed_pitch else read("mp", "pressure", "inHg"),
        power_ratio=power,
        flap_notch=_notch(asked.get("flaps", "").strip()),
        bank_rad=None if bank is None else abs(bank),
        ias_mps=read("speed", "speed", airplane.dial_unit),
        field=field,
    )


def _notch(text: str) -> int | None:
    if not text:
        return None
    if text.lower() == "up":
        return 0
    if not text.isdecimal():
        raise InputError(f"{text!r} is no notch; write up, 0, 1, 2 ...", where="flaps")
    return int(text)
