"""What a person asks of an airplane, as typed at a command or in a form → the question in SI."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from airwork import units
from airwork.airdata.wind import crosswind_mps, headwind_mps
from airwork.airplane import Airplane
from airwork.airplane.numbers import Field, Question
from airwork.errors import InputError
from airwork.jobs.files import plausible_weight
from airwork.lesson.wind_text import parse_wind

_RUNWAY_NUMBER = re.compile(r"^\s*(\d{1,2})\s*[LCRlcr]?\s*$")
# What can be asked, by its name at a command and in a form: (what it is, an example), in groups.
ASKED: dict[str, dict[str, tuple[str, str]]] = {
    "the day": {
        "altitude": ("altitude the altimeter shows", "6,500 ft"), "altimeter": ("altimeter setting", "30.05 inHg"),
        "oat": ("temperature at that altitude", "24 °C"), "dewpoint": ("dew point there", "12 °C"),
    },
    "the airplane's state": {
        "weight": ("weight now", "2,200 lb"), "rpm": ("engine speed", "2400"),
        "mp": ("manifold pressure (constant-speed propeller)", "22 inHg"), "power": ("power to set", "65 %"),
        "flaps": ("flap notch", "up, 1, 2, full"), "bank": ("bank", "45 deg"),
        "speed": ("indicated speed in the turn", "105 mph"),
    },
    "takeoff and landing": {
        "elevation": ("field elevation", "1,200 ft"), "field_oat": ("temperature at the field", "26 °C"),
        "runway": ("runway length available", "2,600 ft"),
        "runway_heading": ("runway number or direction", "27, 268 deg"),
        "wind": ("wind, in the runway's reference", "240/12 kt"),
        "headwind": ("headwind along the runway; a tailwind is negative", "8 kt, -3 kt"),
        "surface": ("surface", "paved_dry, paved_wet, dry_grass, wet_grass, soft_ground, snow"),
        "slope": ("rise in the direction of takeoff and landing", "1 %, -0.5 %"),
        "factor": ("safety factor; 1.33 for takeoff, 1.43 for landing if not given", "1.5"),
    },
}  # fmt: skip
_FIELD = "takeoff and landing"


def question(
    asked: Mapping[str, str | None], airplane: Airplane, *, loads: Sequence[str] = (), fuel: Sequence[str] = (),
    mark: str = "",
) -> Question:  # fmt: skip
    """The question that texts ask; what is missing or empty is not asked.

    Parameters
    ----------
    asked : by the names of `ASKED`, each with its unit.
    loads : "STATION=WEIGHT". fuel : "TANK=VOLUME" for each, or one amount for all.
    mark : stands before a name where a message names it: "--" at a command.

    Raises
    ------
    InputError : a text that can't be read; names it.
    """
    return _Asked(asked, airplane, mark).question(loads, fuel)


class _Asked:
    """The texts, and how a message calls them."""

    def __init__(self, asked: Mapping[str, str | None], airplane: Airplane, mark: str) -> None:
        self.texts = {name: text.strip() for name, text in asked.items() if text and text.strip()}
        self.airplane, self.mark = airplane, mark

    def where(self, name: str) -> str:
        return f"{self.mark}{name.replace('_', '-') if self.mark else name}"

    def read(self, name: str, kind: units.Kind, default_unit: str = "") -> float | None:
        text = self.texts.get(name)
        return None if text is None else units.parse(text, kind, where=self.where(name), default_unit=default_unit)

    def question(self, loads: Sequence[str], fuel: Sequence[str]) -> Question:
        read = self.read
        rpm, bank, mass_kg = read("rpm", "rotation", "rpm"), read("bank", "angle", "deg"), read("weight", "mass")
        plausible_weight(mass_kg, self.airplane)
        return Question(
            altitude_m=read("altitude", "altitude"), setting_pa=read("altimeter", "pressure"),
            temperature_k=read("oat", "temperature"), dewpoint_k=read("dewpoint", "temperature"), mass_kg=mass_kg,
            rpm=None if rpm is None else round(units.to_unit(rpm, "rpm"), 6),
            manifold_pressure_pa=read("mp", "pressure", "inHg"),
            power_ratio=self._share("power", 1.5), flap_notch=self._notch(),
            bank_rad=None if bank is None else abs(bank),  # a left bank is as steep as a right one
            ias_mps=read("speed", "speed", self.airplane.dial_unit),
            station_mass_kg=self._pairs(loads, "mass", "load"), tank_m3=self._fuel(fuel), field=self._field(),
        )  # fmt: skip

    def _share(self, name: str, most: float) -> float | None:
        """A ratio; a bare number too large to be one is in percent: "65" is 65 %."""
        value = self.read(name, "ratio")
        bare = re.search(r"[%a-z]", self.texts.get(name, ""), re.IGNORECASE) is None
        return value / 100.0 if value is not None and bare and abs(value) >= most else value

    def _notch(self) -> int | None:
        if (text := self.texts.get("flaps")) is None:
            return None
        word, full = text.lower(), self.airplane.flaps_full
        named = {n.name.lower(): n.notch for n in self.airplane.flap_notches if n.name}
        named = {"up": 0, "full": full, "down": full, "landing": full} | named
        if word in named:
            return named[word]
        if word.isdecimal():
            return int(word)
        raise InputError(f"{text!r} is no flap position; write up, 1 to {full}, or full.", where=self.where("flaps"))

    def _pairs(self, texts: Sequence[str], kind: units.Kind, name: str) -> dict[str, float]:
        out: dict[str, float] = {}
        for text in texts:
            place, equals, amount = text.rpartition("=")
            if not equals or not place.strip():
                raise InputError(f'{text!r}: write NAME=AMOUNT, e.g. "front seats=340lb".', where=self.where(name))
            out[place.strip()] = out.get(place.strip(), 0.0) + units.parse(amount, kind, where=self.where(name))
        return out

    def _fuel(self, texts: Sequence[str]) -> dict[str, float]:
        """Fuel by tank; an amount without a tank is shared evenly among all."""
        tanks = self.airplane.tanks
        bare = [text for text in texts if "=" not in text]
        if bare and (len(texts) > 1 or not tanks):
            raise InputError("give one amount for all tanks, or TANK=VOLUME for each.", where=self.where("fuel"))
        if bare:
            share = units.parse(bare[0], "volume", where=self.where("fuel")) / len(tanks)
            return {tank.name: share for tank in tanks}
        return self._pairs(texts, "volume", "fuel")

    def _field(self) -> Field | None:
        if not any(name in self.texts for name in ASKED[_FIELD]):
            return None
        ahead, across = self._wind()
        return Field(
            elevation_m=self.read("elevation", "altitude") or 0.0, temperature_k=self.read("field_oat", "temperature"),
            length_m=self.read("runway", "length"), headwind_mps=ahead, crosswind_mps=across,
            surface=self.texts.get("surface", "paved_dry").lower().replace(" ", "_").replace("-", "_"),
            slope=self._share("slope", 0.15) or 0.0, factor=self.read("factor", "ratio"),
        )  # fmt: skip

    def _wind(self) -> tuple[float, float]:
        """(headwind, crosswind from the right). [m/s]"""
        wind, heading, where = self.texts.get("wind"), self.texts.get("runway_heading"), self.where("wind")
        ahead = self.read("headwind", "speed", "kt")
        if wind is None:
            return ahead or 0.0, 0.0
        if ahead is not None:
            raise InputError(
                f"give either {where} with {self.where('runway_heading')}, or {self.where('headwind')}.", where=where
            )
        if heading is None:
            raise InputError(
                f"a wind needs {self.where('runway_heading')}, or give {self.where('headwind')}.", where=where
            )
        found = parse_wind(wind, where=where)
        if found.magnetic:
            what = f"a magnetic wind needs a variation; write it true, as {self.where('runway_heading')} is."
            raise InputError(what, where=where)
        number = _RUNWAY_NUMBER.match(heading)
        if number is not None and 1 <= int(number[1]) <= 36:
            runway = units.from_unit(10.0 * int(number[1]), "deg")
        else:
            runway = units.parse(heading, "angle", where=self.where("runway_heading"), default_unit="deg")
        if found.from_rad is None:  # without a direction: none of it ahead, all of it across
            return 0.0, found.peak_mps
        along = float(headwind_mps(found.from_rad, found.speed_mps, runway))
        return along, float(crosswind_mps(found.from_rad, found.peak_mps, runway))
