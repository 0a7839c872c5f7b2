"""What the verdict says of the instructor's own notes: quoted as written, and no go over a word of alarm in one.

airwork judges none of it. A plain note is quoted and changes nothing; one with a word of something that doesn't work,
is out of date, or of wake, soft ground, frost or an unfit pilot is quoted as worth a thought. The words are our own
choice (common practice, no source); what is taught, and what is said to be settled, is no alarm.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from airwork.lesson.case import Case
from airwork.lesson.verdict import OWN, Reason

_PART = (
    r"(?:alternator|battery|brakes?|compass|engine|flaps?|fuel pump|gauge|gear|gyro|heater|horn|indicator|instruments?|"
    r"lights?|magnetos?|mags?|pump|radios?|starter|strut|tires?|tyres?|transponder|trim|vacuum)"
)
_ALARM = re.compile(
    # something doesn't work
    r"\binop(?:erative)?\b|\bunserviceable\b|\bplacarded\b|\bdefect(?:ive|s)?\b|\bsquawk(?:s|ed)?\b|\bgrounded\b"
    r"|\bbroken?\b(?! up| the)|\bcrack(?:s|ed)?\b|\bleak(?:s|ed|ing)?\b|\bjammed\b|\bmisfir\w+|\bvibrat\w+"
    r"|\bout of (?:order|service|date|annual|limits?)\b|\bnot work(?:s|ing)?\b|\b(?:does|do|did)n['’]t work\b"
    r"|\bspongy\b|\b(?:nobody|no one|not|never) (?:wrote|written|writing)\b[^.;]{0,12}\bup\b"
    r"|\breads? (?:too|\d+ ?\w+(?: too)?) (?:high|low)\b"
    r"|\bshimm\w+|\bflicker\w*|\bpop(?:s|ped) open\b|\breads? (?:empty|zero|nothing)\b"
    r"|\b(?:landing|taxi|position|nav|strobe|beacon|panel) lights? (?:is |are )?out\b"
    r"|\b(?:runs?|running|ran) rough\w*|\b(?:flat|dead) (?:battery|tire|tyre|strut)\b"
    rf"|\b{_PART}\b(?:\s+\w+){{0,3}}?\s+(?:drop(?:s|ped)|fail(?:s|ed)|dead|weak|stuck|stick(?:s|ing)|erratic)\b"
    # out of date
    r"|\bexpire[sd]?\b|\bran out\b(?! of)|\boverdue\b|\blapsed\b|\bpast due\b|\bno longer valid\b"
    # wake, ground, ice
    r"|\bwake\b(?! up)|\bheav(?:y|ies) (?:jets?|\d{3}|airbus|boeing|airliners?|helicopters?)\b"
    r"|\bsoaked\b|\bwaterlogged\b|\bmud(?:dy)?\b|\bboggy\b|\bsinks? in\b|\bslush\w*"
    r"|\bsoft (?:after|grass|ground|in places|runway|spots?|strip|surface|turf)\b"
    r"|\b(?:grass|ground|is|runway|still|strip|too|very) soft\b"
    r"|\bfrost\w*|\bsnow\w*|(?<!carb )(?<!carburetor )\b(?:ice|icy|icing)\b"
    # what others do there, and what shows something wrong
    r"|\bjump (?:planes?|ships?|zone|run)\b|\bPJE\b|\bhang ?gliders?\b"
    r"|\b(?:gliders?|sailplanes?)\b[^.;,]{0,20}\b(?:contest|launch\w*|op(?:eration)?s|meet|over|active|towing)\b"
    r"|\baerobatics?\b (?:box|area|zone|contest|display|practice|training|active|over|near|at|north|south|east|west)\b"
    r"|\bmodel (?:air)?(?:planes?|craft|flyers?|flying|field)\b|\bfly-?ins?\b|\bballoon (?:meet|festival|launch)\w*"
    r"|\b(?:area|range|MOA|zone|box|R-?\d+\w*)\b[^.;]{0,12}\b(?:hot|active)\b"
    r"|\bTFRs?\b|\brestricted area\b|\bparachut\w+|\bskydiv\w+|\bjumpers?\b|\bwinch\b|\bair ?show\b|\bair display\b"
    r"|\bcrop ?dust\w*|\bspray plane\w*|\bdrones?\b|\bwild ?fires?\b|\bwasps?\b|\bbird(?:s| activity)\b|\bgeese\b"
    rf"|\bintermittent\w*|\b{_PART}(?:\s+\w+)?\s+(?:came|comes) on\b|\bmissing\b"
    r"|\bno (?:oil|fuel|vacuum|suction|brake) \w+|\bno (?:indication|reading)\b"
    # the pilots
    r"|\b(?:have|has|had|with) a cold\b|\btired\b|\bshort night\b|\bslept (?:badly|little|poorly)\b"
    r"|\bnight ?shift\b|\bNachtschicht\b"
    r"|\bunwell\b|\bfever\w*|\bmedication\b|\bhung ?over\b|\bnot slept\b|\bexhausted\b"
    # the same in German, as notes are written at fields of central Europe
    r"|\bzeigt (?:nicht|nichts|falsch)\b|\bzeigt\b[^.;,]{0,20}\bzu (?:viel|wenig|hoch|tief|niedrig)\b"
    r"|\b(?:geht|funktioniert|arbeitet) nicht\b"
    r"|\bdefekt\w*|\bkaputt\w*|\bau(?:ß|ss)er Betrieb\b|\bausgefallen\b|\bklemmt\b|\bleckt?\b|\babgelaufen\b"
    r"|\bWirbelschleppe\w*|\baufgeweicht\w*|\bmatschig\w*|\bvereis\w*|\bEis(?:ansatz)?\b|\bRaureif\b|\bSchnee\w*"
    r"|\bFallschirm\w*|\bSegelflug\w*|\bWinden(?:start|betrieb)\w*|\bModellflug\w*|\bDrohne\w*|\bV(?:ö|oe)gel\b"
    r"|\bVogel(?:schwarm|zug)\w*|\bFlugbeschr(?:ä|ae)nkung\w*|\bm(?:ü|ue)de\b|\berk(?:ä|ae)ltet\b|\bkrank\b"
    r"|\bFieber\w*",
    re.IGNORECASE,
)
# What an outlook tells of the hours to come, in the place of a forecast; a lesson's note teaches such words
_WEATHER = re.compile(
    r"\bthunder\w*|\bt-?storms?\b|\b(?:dust|sand|snow|ice)?storms?\b|\bcumulonimbus\b|\bCBs?\b|\bsqualls?\w*|\blightning\b"
    r"|\b(?:freezing )?fog\w*|\bhail\w*|\bgust(?:s|y)?\b|\bgales?\b|\btornado\w*|\bmicrobursts?\b|\b(?:wind )?shear\b"
    r"|\blow (?:cloud|stratus|ceiling)\w*|\bfreezing (?:rain|drizzle)\b|\bheavy (?:rain|showers?)\b|\bcold front\b"
    r"|\bGewitter\w*|\bNebel\w*|\bHagel\w*|\bB(?:ö|oe)\w*|\bSturm\w*|\bHochnebel\b|\bKaltfront\b|\bF(?:ö|oe)hn\w*",
    re.IGNORECASE,
)
_TAUGHT = re.compile(
    r"\b(?:simulat\w*|practi[cs]\w*|pretend\w*|imagine\w*|discuss\w*|brief|explain\w*|talk\w*|review\w*|what if|"
    r"drill\w*|scenario|techniques?|procedures?|avoid\w*|ground school|simulier\w*|(?:ü|ue)ben|besprech\w*|"
    r"erkl(?:ä|ae)r\w*)\b",
    re.IGNORECASE,
)
_SETTLED = re.compile(
    r"(?<!not )(?<!not yet )(?<!not been )(?<!n['’]t )\b(?:fixed|repaired|replaced|signed off|renewed|gone|melted|"
    r"cleaned|cleared|removed|dried|works again|behoben|repariert|ersetzt|erneuert)\b",
    re.IGNORECASE,
)
_NONE = re.compile(
    r"\b(?:no|not|never|without|free of|clear of|neither|nor|kein\w*|nicht|ohne)(?:\s+[\w-]+){0,2}\s*$", re.IGNORECASE
)
CHANGE = "settle it before the flight; airworthy, legal and safe is yours to say"


def alarming(words: str, *, outlook: bool = False) -> bool:
    """Does somebody's text speak of something that should be settled before the flight?

    outlook : it tells what weather is to come; that counts too.

    >>> alarming("stall horn placarded inoperative"), alarming("simulated engine failure; look out first")
    (True, False)
    >>> alarming("Segelflugbetrieb, Windenstart bis 600 m"), alarming("kein Schnee, Platz trocken")
    (True, False)
    >>> alarming("thunderstorms expected from 10 o'clock", outlook=True), alarming("keine Gewitter", outlook=True)
    (True, False)
    >>> alarming("frost on the wing at seven"), alarming("no frost, the wing is dry"), alarming("soft-field technique")
    (True, False, False)
    """
    for clause in (part for said in re.split(r"[.;!?\n]+(?:\s|$)", words) for part in _parts(said)):
        if _TAUGHT.search(clause) or _SETTLED.search(clause):
            continue
        told = [*_ALARM.finditer(clause), *(_WEATHER.finditer(clause) if outlook else ())]
        if any(not _NONE.search(clause[: found.start()]) for found in told):
            return True
    return False


def _parts(said: str) -> tuple[str, ...]:
    """A sentence in two at its colon; "Discuss: wake, frost" stays one."""
    head, _, rest = said.partition(": ")
    return (head, rest) if len(head.split()) > 2 else (said,)


def note_reasons(case: Case) -> Iterator[Reason]:
    """Each exercise's note, in its own words."""
    titles = {run.exercise: run.title for run in reversed(case.flight.runs)}
    for index, exercise in enumerate(case.lesson.exercises):
        if exercise.note:
            said = f"your words, not judged: “{exercise.note}” ({titles.get(index, exercise.kind)})"
            if alarming(exercise.note):
                yield Reason(f"note {index + 1}", "think", said, OWN, CHANGE)
            else:
                yield Reason(f"note {index + 1}", "not checked", said, "lesson")
