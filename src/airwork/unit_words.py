"""How pilots of several countries write a unit: by unit the words, as their books print them.

Words stand here without capitals, accents, dots and blanks (`plain`): "U.S. Gal." is usgal, "nœuds" noeuds, "m²" m2.
A speed or a flow is looked up by its two halves: "km/Std", "litri per ora", "ft min⁻¹".
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

# by dimension: airwork's unit, and the words for it. English, German, French, Italian, Spanish, Portuguese, Dutch,
# Czech, Polish, Nordic.
LENGTH = {
    "ft": "ft foot feet ' fuss fus pied pieds pi piede piedi pie pies pes voet voeten stop stopa stopy fot fod",
    "in": "in inch inches ins \" '' pouce pouces po zoll pollice pollici pulg pulgada pulgadas palec palce palcu tum "
    "tommer",
    "yd": "yd yds yard yards",
    "m": "m meter meters metre metres mtr mtrs metern metro metri metros metr metru metry",
    "cm": "cm centimeter centimeters centimetre centimetres zentimeter",
    "mm": "mm millimeter millimeters millimetre millimetres",
    "km": "km kms kilometer kilometers kilometre kilometres chilometri kilometros",
    "NM": "nm nmi nauticalmile nauticalmiles nautmile nautmiles nautmi seamile seamiles seemeile seemeilen mn "
    "millenautique millesnautiques nautiques migliamarine miglianautiche millasnauticas",
    "SM": "sm mi mile miles mls statutemile statutemiles stmi stmile stmiles landmile landmiles",
}
MASS = {
    "lb": "lb lbs pound pounds # lbm livre livres libbra libbre libra libras",
    "kg": "kg kgs kilo kilos kilogram kilograms kilogramm kilogramme kilogrammes chilogrammi kilogramos kgf kp",
}
VOLUME = {
    "gal": "gal gals gallon gallons usg usgal usgals usgallon usgallons galus galsus gallonus gallonsus gallonen "
    "galloni galones",
    "impgal": "impgal impgals impgallon impgallons imperialgal imperialgallon imperialgallons ig igal igals igallons "
    "impg galimp galsimp gallonimp gallonsimp gallonimperial"
    " gallonsimperiaux ukg ukgal ukgals ukgallon ukgallons galuk",
    "L": "l lt ltr ltrs liter liters litre litres litern litri litro litros litr litry litru dm3",
    "qt": "qt qts quart quarts usqt usquart usquarts",
}
TIME = {
    "s": "s sec secs second seconds seconde secondes sek sekunde sekunden secondi segundos",
    "min": "min mins mn mns minute minutes minuten minuto minuti minutos minut '",
    "h": "h hr hrs hour hours std stunde stunden heure heures ora ore hora horas hod hodin godz time timme timmar",
}
_PER_HOUR = {"u", "t", "st", "uur"}  # km/u, km/t: an hour behind a stroke alone
SPEED = {
    "kt": "kt kts kn knot knots knoten nd nds noeud noeuds nodo nodi nos nudo nudos uzel uzlu uzly wezly knop knob "
    "kias kcas ktas keas ktgs",
    "mph": "mph mias mcas mtas milesph",
    "km/h": "kmh kmph kph kmt",
    "m/s": "mps ms1 msec",
    "fpm": "fpm ftpm",
}
KINDS: dict[str, dict[str, str]] = {
    "speed": SPEED,
    "vertical_speed": SPEED,
    "length": LENGTH,
    "altitude": LENGTH,
    "distance": LENGTH,
    "mass": MASS,
    "volume": VOLUME,
    "volume_flow": {"gph": "gph usgph galph", "L/h": "lph ltrph", "impgal/h": "impgph igph ukgph"},
    "pressure": {
        "inHg": 'inhg inchhg incheshg "hg \'\'hg hg" pouceshg zollhg pollicihg polhg inchesofmercury in inch inches "',
        "hPa": "hpa mb mbar mbars millibar millibars hectopascal",
        "kPa": "kpa",
        "mmHg": "mmhg torr",
        "cmHg": "cmhg",
        "bar": "bar bars",
        "at": "at ata kp/cm2 kg/cm2 kgf/cm2",
        "psi": "psi lb/in2 lbs/in2 lbf/in2 lb/sqin lbs/sqin lbsqin",
        "Pa": "pa pascal",
    },
    "temperature": {
        "°C": "°c c degc degreec degreesc celsius degreescelsius gradc gradcelsius degrec degresc gradic",
        "°F": "°f f degf degreef degreesf fahrenheit degreesfahrenheit",
        "K": "k kelvin",
    },
    "angle": {
        "deg": "deg degs degree degrees ° grad degre degres grado gradi grados stupne stupnu",
        "rad": "rad radian radians",
    },
    "power": {
        "hp": "hp hps bhp shp horsepower",
        "PS": "ps ch cv hk pk km ks k kon koni pferdestarke pferdestarken chevaux cheval cavalli caballos metrichp"
    " metrichorsepower",
        "kW": "kw kilowatt kilowatts",
        "W": "w watt watts",
    },
    "rotation": {
        "rpm": "rpm revpermin revmin /min 1/min rev/min revs/min r/min u/min umin upm umdr/min tr/min trs/min "
        "tours/min t/min g/min giri/min rev rot/min ot/min o/min obr/min varv/min v/min omdr/min omw/min",
    },
    "time": TIME,
    "ratio": {"%": "% percent pct prozent vh pc pourcent percento procent"},
    "area": {
        "ft²": "ft2 sqft sqfeet sqfoot squarefeet squarefoot pi2 pieds2",
        "m²": "m2 qm sqm sqmeter sqmeters sqmetre sqmetres squaremeter squaremeters squaremetre squaremetres mq"
    " kvm mkw",
    },
}  # fmt: skip
KINDS["temperature_difference"] = KINDS["temperature"]
# two halves that airwork has a name for
_HALVES = {
    ("km", "h"): "km/h", ("SM", "h"): "mph", ("NM", "h"): "kt", ("m", "s"): "m/s", ("ft", "s"): "ft/s",
    ("ft", "min"): "fpm", ("m", "min"): "m/min", ("gal", "h"): "gph", ("impgal", "h"): "impgal/h",
    ("L", "h"): "L/h", ("L", "min"): "L/min",
}  # fmt: skip
_OF = {"speed": LENGTH, "vertical_speed": LENGTH, "volume_flow": VOLUME}


def plain(name: str) -> str:
    """A unit without what people write differently: capitals, accents, dots, blanks, kinds of marks, "per".

    >>> plain("Imp. Gal. per hr"), plain("nœuds"), plain("min⁻¹"), plain("ºC"), plain("m · s^-1")
    ('impgal/hr', 'noeuds', '/min', '°c', 'm/s')
    """
    text = folded(name).casefold().replace("−", "-")
    text = re.sub(r"[ ](?:per|pro|par|por|al|alla|je|a)[ ]", "/", text)
    text = re.sub(r"[ ·*.]*\b(min|mn|h|hr|s|sec)\^?[-]1$", r"/\1", text)
    return re.sub(r"[ ._^()·\u00ad-]", "", text)


def folded(text: str) -> str:
    """Text without accents, its letters as wide as Latin ones, marks of one kind.

    >>> folded("Höhe"), folded("Prędkość"), folded("（ｍ）"), folded("ºC")
    ('Hohe', 'Predkosc', '(m)', '°C')
    """
    if text.isascii():
        return text
    text = unicodedata.normalize("NFKD", text.translate(_MARKS))
    return "".join(c for c in text if not unicodedata.combining(c))


_MARKS = str.maketrans({
    "º": "°", "˚": "°", "∘": "°", "œ": "oe", "Œ": "oe", "ø": "o", "ł": "l", "ß": "ss",
    "’": "'", "‘": "'", "′": "'", "´": "'",
    "″": '"', "“": '"', "”": '"', "⁻": "-", "\u00a0": " ", "\u202f": " ", "⁄": "/", "∕": "/",
})  # fmt: skip


@lru_cache(maxsize=512)
def meant(name: str, kind: str) -> str | None:
    """airwork's unit that a person's word means, of a kind; None if it is no unit of that kind.

    >>> meant("Knoten", "speed"), meant("cv DIN", "power"), meant("ft/mn", "vertical_speed"), meant("IG", "volume")
    ('kt', 'PS', 'fpm', 'impgal')
    """
    word = plain(name)
    if kind == "power":
        word = re.sub(r"^(?:din|sae|iso)|(?:din|sae|iso)$", "", word)
    if kind == "pressure":
        word = re.sub(r"^''", '"', word)
    if kind == "rotation":
        word = re.sub(r"/(?:mn|minute|minuto|1?')$", "/min", word)
    if found := _unit(word, KINDS[kind]):
        return found
    over, stroke, under = word.partition("/")
    if not stroke or kind not in _OF:
        return None
    time = "h" if under in _PER_HOUR else _unit(under, TIME)
    return _HALVES.get((_unit(over, _OF[kind]) or "", time or ""))


def _unit(word: str, words: dict[str, str]) -> str | None:
    return next((unit for unit, spoken in words.items() if word in spoken.split()), None)


def nearest(name: str, kind: str) -> str | None:
    """The unit a word that means none comes nearest to."""
    import difflib  # late: only for what can't be read

    known = [w for spoken in KINDS[kind].values() for w in spoken.split() if len(w) > 1]
    known += [f"{w}/h" for w in ("km", "mi", "gal", "l")] + ["ft/min"] if kind in _OF else []
    near = difflib.get_close_matches(plain(name), known, 1, 0.66)
    return meant(near[0], kind) if near else None
