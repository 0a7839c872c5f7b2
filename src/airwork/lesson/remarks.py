"""What a report says beside its main groups, read once: remarks, recent weather, visual range, sectors, runway state.

Groups by ICAO Annex 3 and FMH-1, from memory. Each is kept as written; what it weighs is airwork's own caution.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NamedTuple

from airwork.lesson.runway_state import State, runway_states
from airwork.lesson.verdict import Level
from airwork.units import DEG_RAD, FT_M, KT_MPS, SM_M, from_unit

WAY = "(?:NE|NW|SE|SW|N|E|S|W)"  # a direction in a report


class Warned(NamedTuple):
    """What stands only in the remarks and is the weather's own warning: how it is written, what the verdict says."""

    pattern: re.Pattern[str]
    topic: str
    level: Level
    what: str
    change: str


_BRAKING = r"\b(?:RWYS? ?[\dLCR/]+ )?(?:BA|BRAKING(?: ACT(?:IO)?N)?|BRKG(?: ACTN)?)"
_TOLD = r"(?: (?:RPTD|RPRTD|BY|BLW|ABV|BTN|AND|\d{3}|\d{3}-\d{3}|FL\d{3}))*"  # who says so, between which heights
# [AWH] 24.4 has the words; what they mean is common practice.
_WARNED = (
    Warned(re.compile(rf"\b(?:TORNADO|FUNNEL CLOUD|WATERSPOUT)\w*(?: (?:[BE]\d+|DSNT|VC|{WAY}|\d+))*"), "tornado",
           "no-go", "tornado, funnel cloud or waterspout", "another day"),
    Warned(re.compile(r"\bGR (?:\d )?\d(?:/\d)?(?= |$)"), "hail", "no-go", "hail, its size in inches", "another time"),
    Warned(re.compile(r"\bGR LESS THAN 1/4|\bGS\b"), "hail", "think", "small hail", "wait until it is gone"),
    Warned(re.compile(r"\bFROIN\b"), "frost", "think", "frost forms on what stands outside",
           "a hand over the whole wing"),
    Warned(re.compile(r"(?<!\S)4/(?!000)\d{3}(?!\S)"), "snow on the ground", "think", "snow lies, its depth in inches",
           "the runway's own state: a report of it, or a look"),
    Warned(re.compile(r"\bSNINCR \d+/\d+"), "snow", "think", "snow grows quickly", "another time"),
    Warned(re.compile(r"\b(?:PATCHY |THN )*(?:ICE|SLUSH|SNOW|SN|FROST)(?: (?:ON|ALL))? (?:THE )?RWYS?\b"
                      r"|\b(?:IR|SLR|LSR|PSR)(?:\d\d|//)(?= |$)"), "runway state", "think",
           "ice, snow or slush on the runway", "another runway or day; the handbook's own words for it"),
    Warned(re.compile(rf"{_BRAKING} NIL(?= |$)"), "runway state: nil", "no-go", "no braking at all", "another runway"),
    Warned(re.compile(rf"{_BRAKING} (?:POOR|MED(?:IUM)?(?: TO POOR)?)(?= |$)"), "runway state", "think",
           "poor braking", "another runway or day"),
    Warned(re.compile(r"\bMICROBURST\w*(?: ALERT)?(?: RWYS? ?\d\d[LCR]?)?"), "wind shear: microburst", "no-go",
           "microburst", "another time, well after it is gone"),
    Warned(re.compile(rf"\b(?:MOD|SEV|EXTRM)(?: TO (?:SEV|EXTRM))? TURBC?\b{_TOLD}"), "turbulence reported", "think",
           "pilots met turbulence", "another height or hour"),
    Warned(re.compile(rf"\b(?:TRACE|LGT|MOD|SEV)(?: TO (?:MOD|SEV))? ICG(?:IC|ICIP|IP)?\b{_TOLD}"), "icing reported",
           "think", "pilots met ice", "keep out of cloud and rain below freezing"),
    Warned(re.compile(rf"\b(?:MTNS?|MT|RDGES?|HILLS?|PASS(?:ES)?) OBSCD?\b(?: (?:{WAY}(?:-{WAY})?|ALQDS))*"),
           "hidden heights", "think", "heights around are in cloud", "another way; the ceiling up there"),
    Warned(re.compile(rf"\b(?:SMOKE|FU|HAZE|DUST|ASH) (?:LYR|LAYER|ALOFT|PLUME)\b{_TOLD}"), "smoke aloft", "think",
           "smoke or haze aloft", "another height"),
    Warned(re.compile(rf"\bDUST DEVILS?\b(?: (?:VC|DSNT|OHD|ALQDS|{WAY}))*"), "dust whirls nearby", "think",
           "dust whirls", "none near the runway: each is a gust from any side; tie it down"),
    Warned(re.compile(r"\b(?:ACSL|CCSL|SCSL)\b[A-Z -]*|\bROTOR\b[A-Z -]*"), "mountain wave", "think",
           "standing lenticular cloud or rotor", "height and distance from the ridges; or another day"),
    Warned(re.compile(r"\bLLWS\b(?: (?:RY|RWY) ?\d\d[LCR]?)?|\bWS (?:ALL RWYS?|R(?:W?Y)? ?\d\d[LCR]?)(?= |$)"
                      r"|\bWS\d{3}/\d{5,6}(?:G\d{2,3})?KT\b"),
           "wind shear reported", "think", "low-level wind shear",
           "wait; ask those who landed"),
    Warned(re.compile(r"\bWSHFT(?: \d{2,4})?(?: FROPA)?|\bFROPA\b"), "wind shift", "think",
           "a front or wind shift has passed", "the wind after it settled: another report"),
    Warned(re.compile(r"\bPRESFR\b"), "falling pressure", "think", "pressure falling rapidly",
           "what comes behind it: forecast and radar"),
    Warned(re.compile(rf"\bVIRGA\b(?: (?:VC|DSNT|OHD|ALQDS|{WAY}))*"), "virga", "think",
           "rain that dries before it lands: downdrafts and sudden gusts below", "keep away from below it"),
)  # fmt: skip
_PEAK = re.compile(r"\bPK WND (\d{3})(\d{2,3})/\d{2,4}")
_LIGHTNING = re.compile(rf"\b(?:(?:OCNL|FRQ|CONS) )?LTG\w*(?: (?:VC|DSNT|OHD|ALQDS|{WAY}(?:-{WAY})?))*")
_FAR_CLOUD = re.compile(rf"\b(CBMAM|CB|TCU)(?: (?:VC|DSNT|OHD|ALQDS|MOV|AND|{WAY}(?:-{WAY})?))*")
_FAR_STORM = re.compile(rf"\bTS (?:OHD|VC|DSNT|ALQDS|MOV|{WAY}\b)[A-Z -]*")
_FRESH_MIN = 120.0  # an hour of day in the remarks longer past tells nothing of now; common practice, no source
_RAINED = re.compile(r"\b(?:RA|DZ|SN|UP)(?:B\d{2,4})?E\d{2,4}\w*|\bP0(?!000)\d{3}\b|\bRE(?:SH|TS)?(?:RA|DZ|SN)\w*")
_RECENT = re.compile(r"\bRE(?:TS|FZRA|FZDZ|GR|SQ|FC|SN|RA)\w*")
_PAST = re.compile(r"\bRE((?:TS|FZ|GR|SQ|FC)\w*)")
_RVR = re.compile(r"\bR(\d\d[LCR]?)/([MP]?)(\d{4})(?:V([MP]?)(\d{4}))?(FT)?/?[UDN]?(?= |$)")
_SECTOR_M = re.compile(rf"(?<= )(\d{{4}})({WAY})(?= |$)")
_MILES = r"(?:(\d+) )?(?:(\d)/(\d\d?)|(\d+))"
_SECTOR_SM = re.compile(rf"\bVIS ({WAY}(?:-{WAY})?) {_MILES}(?= |$)|\bVIS {_MILES} ({WAY}(?:-{WAY})?)(?= |$)")
_SEEN_FROM = re.compile(rf"\b(TWR|SFC) VIS {_MILES}(?= |$)")
_VARIES = re.compile(r"\b(VIS|CIG) ((?:\d+ )?[\dM/]+)V((?:\d+ )?[\d/P]+)(?= |$)")
_ELSEWHERE = re.compile(rf"\b(?:VIS {_MILES}|CIG (\d{{3}})) RWY ?(\d\d[LCR]?)(?= |$)")  # a second site's
_BANK = re.compile(
    rf"\b(?:FG|BR|ST|SC)(?: FG)? BANK(?: (?:DSNT|VC))?(?: {WAY}(?:-{WAY})?)*|\bFG (?:{WAY}(?:-{WAY})?)(?= |$)"
)
_STORM_ENDED = re.compile(r"\bTS(?:B\d{2,4})?E(\d{2,4})(?= |$)")
_ALOFT = re.compile(r"\bWI?ND (?:AT )?(\d{3,5}) ?FT (\d{3})(\d{2,3})(?:G\d{2,3})?KT\b")  # as in Norway, from memory
_SILENT = {
    "TSNO": "thunderstorms", "PWINO": "rain, snow and fog", "FZRANO": "freezing rain", "VISNO": "visibility",
    "CHINO": "cloud", "RVRNO": "runway visual range",
}  # fmt: skip
# Of no account to a flight, or said elsewhere: stations' marks, pressure and temperature groups, cloud by its kind
_PLAIN = re.compile(
    r"(?<!\S)(?:\$|AO\d|SLPNO|PNO|DENSITY ALT \S+|SLP\d*|TS?NO|LAST|RTD|FIRST|PRES[RF]R|QFE\S*|NOSIG"
    r"|[A-Z]{2,6}[BE]\d\S*|(?:[A-Z]{2}\d){1,4}|[A-Z]{1,2}?\d{4,}\S*|/+|[\d/]+)(?!\S)"
)


class Range(NamedTuple):
    """A runway visual range at its least. [m]"""

    runway: str
    least_m: float
    words: str


class Sector(NamedTuple):
    """A visibility to one side ("NE"), or seen from elsewhere ("the tower"). [m]"""

    visibility_m: float
    whence: str
    words: str


class HeightWind(NamedTuple):
    """A wind at a height, as fields below hills report it."""

    altitude_m: float
    from_rad: float
    speed_mps: float
    words: str


@dataclass(frozen=True, slots=True)
class Remarks:
    """Each thing as written; empty where the report says nothing of it.

    peak : (direction from [degrees], speed [kt]) of the peak wind. rained : rain, drizzle or snow of the past hour that
    is still told. cloud : ("CB" or "TCU", as written) in the distance. past : codes of recent weather. ranges, sectors,
    seen_from : visibility. varies : ("VIS" or "CIG", least, most). ended : (minute, words) of a storm's end over the
    field. silent : what the station can't report. unread : words of the remarks that nothing here reads.
    """

    peak: tuple[float, float] | None = None
    lightning: str = ""
    cloud: tuple[str, str] = ("", "")
    rained: str = ""
    warned: tuple[tuple[Warned, str], ...] = ()
    past: tuple[str, ...] = ()
    ranges: tuple[Range, ...] = ()
    sectors: tuple[Sector, ...] = ()
    seen_from: tuple[Sector, ...] = ()
    bank: str = ""
    varies: tuple[tuple[str, str, str], ...] = ()
    ended: tuple[float, str] | None = None
    aloft: HeightWind | None = None
    states: tuple[State, ...] = ()
    silent: tuple[str, ...] = ()
    unread: str = ""


class _Text:
    """The remarks being read: what a pattern is looked for is no longer unread."""

    def __init__(self, text: str, unread: str) -> None:
        self.whole, self.unread = text, unread
        self.main, _, rest = text.partition(" RMK")
        self.rest = f"{rest} {' '.join(_RECENT.findall(self.main))}".strip()

    def all(self, pattern: re.Pattern[str], text: str | None = None) -> list[re.Match[str]]:
        self.unread = " ".join(pattern.sub(" ", self.unread).split())
        return list(pattern.finditer(self.rest if text is None else text))

    def first(self, pattern: re.Pattern[str], text: str | None = None) -> re.Match[str] | None:
        return next(iter(self.all(pattern, text)), None)

    def words(self, pattern: re.Pattern[str], text: str | None = None) -> str:
        found = self.first(pattern, text)
        return "" if found is None else found[0].strip()

    def old(self, words: str) -> bool:
        """Is the last hour and minute they name long past at the time of the report?"""
        at, named = re.search(r"\b\d\d(\d\d)(\d\d)Z", self.main), re.findall(r"(?:E| )(\d\d)(\d\d)(?!\d)", words)
        if at is None or not named:
            return False
        of_report, then = (60.0 * int(h) + int(m) for h, m in (at.groups(), named[-1]))
        return (of_report - then) % 1440.0 > _FRESH_MIN

    def left(self) -> str:
        """What is unread, and of some account."""
        self.all(_PLAIN)
        return self.unread


def read_remarks(text: str, unread: str = "") -> Remarks:
    """What a report says beside its main groups. unread : the words of its remarks that no code is known for.

    >>> read_remarks("KXYZ 201455Z 14/12 A2990 RMK AO2 RAE42 P0008").rained
    'RAE42'
    >>> [read_remarks(f"KXYZ 201353Z 14/12 RMK RAB0610{x}").rained for x in ("E0755", "E1340")]
    ['', 'RAB0610E1340']
    >>> [read_remarks(f"14/12 {x}").rained for x in ("RMK AO2 P0000 RAB10E55", "RESHRA", "RMK AO2 T01440044")]
    ['RAB10E55', 'RESHRA', '']
    >>> [(r.runway, round(r.least_m)) for r in read_remarks("7SM R26/0800V1600FT R08/P6000FT BCFG 12/12").ranges]
    [('26', 244), ('08', 1829)]
    >>> [(r.runway, r.least_m) for r in read_remarks("R04/P1500N R22/P1500U R04L/0450U +SN").ranges]
    [('04', 1500.0), ('22', 1500.0), ('04L', 450.0)]
    >>> [read_remarks("", x).unread for x in ("FROIN RWY 14/32 BA POOR GRASS MOWED", "LTG DSNT W CB DSNT W MOV E")]
    ['GRASS MOWED', '']
    """
    of = _Text(text, unread)
    warned = tuple(
        (w, words)
        for w in _WARNED
        if (words := of.words(w.pattern)) and not (w.topic == "wind shift" and of.old(words))
    )
    peak, cloud, aloft, ended = (of.first(p) for p in (_PEAK, _FAR_CLOUD, _ALOFT, _STORM_ENDED))
    lightning, storm = of.words(_LIGHTNING), of.words(_FAR_STORM)
    rained = next((words for found in of.all(_RAINED, text) if not of.old(words := found[0].strip())), "")
    ranges = [Range(f[1], float(f[3]) * (FT_M if f[6] else 1.0), f[0]) for f in of.all(_RVR, of.main)]
    sectors = [Sector(float(f[1]), f[2], f[0]) for f in of.all(_SECTOR_M, of.main)]
    for f in of.all(_SECTOR_SM):
        sectors.append(Sector(_miles_m(*(f.groups()[1:5] if f[1] else f.groups()[5:9])), f[1] or f[10], f[0]))
    second = of.all(_ELSEWHERE)
    places = {"TWR": "the tower", "SFC": "the ground"}
    silent = {words: of.first(re.compile(rf"\b{code}\b"), text) for code, words in _SILENT.items()}
    return Remarks(
        peak=None if peak is None else (float(peak[1]), float(peak[2])), lightning=lightning or storm,
        cloud=("", "") if cloud is None else ("TCU" if cloud[1] == "TCU" else "CB", cloud[0].strip()),
        rained=rained, warned=warned, past=tuple(f[1] for f in of.all(_PAST)), ranges=tuple(ranges),
        sectors=tuple(sectors),
        seen_from=(
            *(Sector(_miles_m(*f.groups()[1:]), places[f[1]], f[0]) for f in of.all(_SEEN_FROM)),
            *(Sector(_miles_m(*f.groups()[:4]), f"runway {f[6]}", f[0]) for f in second if not f[5]),
        ),
        bank=of.words(_BANK),
        varies=(*((f[1], f[2], f[3]) for f in of.all(_VARIES)), *(("CIG", f[5], f[5]) for f in second if f[5])),
        ended=None if ended is None else (float(ended[1][-2:]), ended[0]),
        aloft=None if aloft is None else HeightWind(
            from_unit(float(aloft[1]), "ft"), int(aloft[2]) * DEG_RAD, int(aloft[3]) * KT_MPS, aloft[0]
        ),
        states=tuple(runway_states(of.main)), silent=tuple(words for words, found in silent.items() if found),
        unread=of.left(),
    )  # fmt: skip


def _miles_m(whole: str | None, part: str | None, of: str | None, alone: str | None) -> float:
    """Statute miles as printed, "1 1/2", "3/4" or "2". [m]"""
    fraction = float(part) / float(of) if part and of else 0.0
    return (float(whole or alone or 0.0) + fraction) * SM_M
