"""The words of what is said first: each root, its drill and its question, as an instructor would say them.

Roots and drills are common practice, no source; a drill is of the place where the error cost most.
"""

from __future__ import annotations

from collections.abc import Collection

from airwork.maneuvers import room
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Root
from airwork.maneuvers.grading.causes.arrival import BOUNCED

ROOTS: dict[Root, str] = {
    "late": "The next action came late",
    "too big": "The controls moved too far, too fast",
    "back pressure": "The back pressure did not go with the bank",
    "power": "The power was not moved when it was due",
    "target not set": "It settled beside the speed, bank or altitude wanted",
    "feet": "The feet were asleep",
    "wind": "The wind was not allowed for",
    "decision": "The decision was left open",
}
SETTLED = {"ias": "speed", "pattern_ias": "speed", "bank": "bank", "altitude": "altitude"}
DRILLS: dict[Root, str] = {
    "late": 'Say the next action aloud before it is due ("ten degrees to go, rolling out"); done when three leads in a '
    "row come within 5° or 50 ft.",
    "too big": "The same maneuver, entered and left half as fast: pressure on the controls, not movement; done when "
    "three stay between 0.7 and 1.3 g where it is flown straight.",
    "back pressure": "Half circles at 45°, the altitude called each 30°; nose low: take off bank first, then raise it; "
    "done when three stay within 50 ft.",
    "power": "Slow flight and steep turns with altitude and speed called every 15 s, the throttle moved at the first "
    "20 ft or 5 kt; done when two minutes with a turn in them stay within 50 ft.",
    "target not set": "Three speeds, flaps up and down, the throttle untouched for a minute at each; done when each "
    "stays within 3 kt hands off.",
    "feet": "Idle to full power and back with the nose on a point; then turns with the ball called; done when it stays "
    "inside its lines.",
    "wind": "One circle round a point, the ground speed called at each quarter; done when the quarters are the same "
    "distance from it.",
    "decision": 'Three approaches with the gate spoken ("stable" or "going around" at 300 ft), one of them a go-around '
    "asked for; done when the word comes before the height does.",
}
# The same root elsewhere: by where it cost most.
IN_STALLS: dict[Root, str] = {
    "late": 'Stalls again, "nose, power, rudder" said at the first sign and done as it is said; done when three in a '
    "row have full power within 3 s.",
    "too big": "Stalls again, recovered at the first warning: relax the pull until it stops, nose to the horizon and "
    "no lower, power, wait for the climb; done when three stay between 0.7 and 1.3 g and within 50 ft.",
}
BY_THE_GROUND: dict[Root, str] = {
    "wind": "The same figure again, the ground speed and what it asks for, bank or crab, said before each leg or "
    "quarter; done when two in a row keep the same distance from their mark.",
}
LANDING: dict[Root, str] = {
    "late": 'At 20 ft eyes to the far end of the runway and "rounding out" said; done when three in a row are soft.',
    "target not set": "Approaches with the speed and the aiming point called at the gate and at 100 ft; done when "
    "three in a row are within 5 kt and on the point.",
    "wind": "Crosswind landings with the drift called on final and the center line kept between the wheels; done when "
    "three touch and roll out within 30 ft of it.",
    "too big": "Flares with small pressures, held off a foot or two above the runway, ready to go around; done when "
    "three have no rise.",
}
TAKING_OFF: dict[Root, str] = {
    "target not set": "Takeoffs with the climb speed said as the wheels leave, the nose set for it and trimmed there; "
    "done when three climbs stay within 5 kt to 500 ft.",
    "power": 'Takeoffs with "full throttle, static RPM, airspeed alive" read aloud; done when three are read in time.',
    "too big": "Takeoffs with the nose raised gently at the speed and the airplane left to fly off; done when three "
    "leave within 3 kt of it.",
    "wind": "Takeoffs in a crosswind, a point far ahead on the runway's line chosen before, the nose turned into the "
    "wind as it flies; done when three stay over the line to 300 ft.",
}
AROUND: dict[Root, str] = {
    "late": 'Go-arounds high up: "power, nose" in one movement, then look; done when three lose less than 30 ft.',
    "too big": 'Go-arounds high up: power, nose, one notch, and the next only after "climbing" is said; done when '
    "three lose no height once the power is in.",
}
IN_PATTERN: dict[Root, str] = {
    "target not set": "Patterns with the runway kept at one mark on the wing along the downwind leg, the distance said "
    "abeam; done when three are between half a mile and a mile.",
    "wind": "Patterns with the wind on base said before the turn to final, and the turn begun earlier for it; done "
    "when three roll out on the line with 30° of bank at most.",
    "decision": 'Patterns with "bank 30, sink 1,000 at most" said before the turn to final and at 300 ft, going around '
    "where one of them won't do; done when three roll out on the line within both.",
}
GLIDING: dict[Root, str] = {
    "target not set": "The throttle closed unannounced: the speed pitched for and trimmed before anything else, then "
    "called every 500 ft; done when three in a row stay within 5 kt.",
    "decision": "The throttle closed unannounced, the height to break off at said before; power there whatever the "
    "field looks like; done when three in a row end at it.",
}
SETTLED_DRILLS = {
    "agl": "The elevation and the height wanted added aloud before each exercise near the ground, and that altitude "
    "flown; done when three begin within 50 ft of it.",
    "power": "Power-on stalls with the power set and read aloud before the nose comes up; done when three are at the "
    "power asked for.",
    "bank": "Roll to the bank wanted and say it; one look at the attitude indicator, then the picture outside held for "
    "half a circle; done when three each way stay within 3°.",
    "altitude": "Before each leg the altitude wanted said aloud, a tenth of the vertical speed as lead; done when "
    "three level-offs stay within 30 ft for a minute.",
}
SLOWLY = (
    "Slowed with the altitude held until the warning sounds, a few knots more, and that speed kept; done when a minute "
    "with a turn in it stays silent and within 5 kt."
)
WINGS = (
    "Slow flight straight at a point, the wing tips looked at in turn and leveled with aileron before the nose has "
    "moved; done when a minute stays within 5°.",
    "In {place}, what did you look at to see whether the wings were level?",
)
# Thin margins' names.
BROKEN_OFF_LOW, FLOWN_LOW, NEAR_STALL = "broken off low", "flown low", "near the stall"
# A fault whose drill and question are its own, whatever its root, where it is all that is drilled.
OF_ITS_OWN: dict[str, tuple[str, str]] = {
    "flap speed": (
        '"White arc" read off the dial aloud before each notch, "flaps up" before the nose goes down; done when a '
        "flight goes by without one out too fast.",
        "In {place}, what do you look at before a flap goes down, and before you speed up?",
    ),
    "turned fast": (
        '"Below maneuvering speed" read off the dial aloud before each steep turn and stall; done when a flight goes '
        "by without one faster.",
        "Before {place}, what speed did you want to be below, and when did you last read it?",
    ),
    "never exceeded": (
        "Descents with the fastest speed said aloud before the nose goes down and the dial called every 500 ft; done "
        "when the nose comes up 10 kt before it three times in a row.",
        "In {place}, which speed was the most you wanted to see, and what did you do when it came near?",
    ),
    "flaps left out": (
        'Go-arounds high up, said aloud: "power, first notch, climbing, next notch, up"; done when three in a row have '
        "the first notch up within 5 s of the power.",
        "In {place}, what came after the power, and what told you that it was time for the next thing?",
    ),
    "back pressure kept": (
        'Roll-outs from 45° with "pressure off" said as the bank comes off, the altimeter looked at with the wings '
        "level; done when three each way stay within 50 ft.",
        "In {place}, what did you feel in your hand as the wings came level, and where was the nose?",
    ),
    BROKEN_OFF_LOW: (
        GLIDING["decision"],
        "Before the throttle was closed, at which height was it to end, and what did you see there?",
    ),
    FLOWN_LOW: (
        "Passes with the lowest height and the speed said before each, power and nose up where it is reached; done "
        "when three stay above it and within 5 kt.",
        "Before {place}, how low and how fast did you mean to be, and what did you see at the lowest point?",
    ),
    "ended fast": (
        'Chandelles with "nose stays" said at 90° and the wings brought level against it; done when three end at 180° '
        "with the first sign of the stall near.",
        "In {place}, from 90° on what did you look at, and where was the nose?",
    ),
    NEAR_STALL: (
        "Level flight and climbs slowed on purpose to the first sign of the stall, nose down and power as it is seen, "
        "the speed called before each change of power or flaps; done when three lose less than 50 ft.",
        "In {place}, what told you how near the stall it was, and what did your hands do then?",
    ),
    BOUNCED: (
        'Landings with "second bounce: going around" said on final; after the first one the landing attitude held and '
        "a little power; done when three in a row touch once.",
        "After the first bounce in {place}, what did you see, and what made up your mind?",
    ),
    "turned away": WINGS,
    "wallowed": WINGS,
}
RECOVERING = (
    'Unusual attitudes from level flight, said aloud as it is done: high "power, nose, wings", low "throttle, wings, '
    'nose"; done when three in a row are in that order.',
    "In {place}, what told you which one it was, and what did your hands do first, second and third?",
)
LEVEL_DRILL = (
    "Level flight and gentle turns, the altitude called every 15 s and put right at the first 20 ft; done when "
    "minutes stay within 50 ft."
)
TOO_SOON = "In {place}, what told you that it was time to act?"
QUESTIONS: dict[Root, str] = {
    "late": "What were you waiting to see before you acted, in {place}?",
    "too big": "In {place}, what did you feel in your hand and in the seat, and what did you want the nose to do?",
    "back pressure": "In {place}, what did you see first: nose, altimeter or airspeed? What did you move first?",
    "power": "In {place}, what told you how much power it needed, and when did you look again?",
    "target not set": "What speed, bank and altitude did you have in mind for {place}, and how did you know you had "
    "them?",
    "feet": "In {place}, where was the ball, and what were your feet doing?",
    "wind": "Where was the wind in {place}, and what did you change for it?",
    "decision": "At 300 ft on final, what did you see, and what made up your mind?",
}


def question(
    root: Root, place: str, kind: str = "", *, early: bool = False, names: Collection[str] = ()
) -> str:  # fmt: skip
    """The one question, open, with no answer in it. names : of the faults it is about."""
    if own := _own(names, kind):
        return own[1].format(place=with_article(place))
    return (TOO_SOON if root == "late" and early else QUESTIONS[root]).format(place=with_article(place))


def with_article(place: str) -> str:
    """ "the left steep turn", "slow flight"."""
    return place if place.endswith(("flight", "level", "moment")) else f"the {place}"


def several(kind: str, n: int, of: int) -> str:
    """ "both steep turns", "3 of 5 landings"; every touchdown is a landing.

    >>> several("steep_turn", 2, 2), several("touch_and_go", 3, 5), several("s_turns", 2, 3)
    ('both steep turns', '3 of 5 landings', 'S-turns, 2 of 3 times')
    """
    one = room(kind)
    count = f"{n} of {of}" if n < of else "both" if n == 2 else f"all {n}"
    if one.lands:
        return f"{count} landings"
    return f"{one.named}, {count} times" if one.times else f"{count} {one.named}s"


def root_words(
    root: Root, quantities: Collection[str], kinds: Collection[str], *, early: bool = False,
    names: Collection[str] = (),
) -> str:  # fmt: skip
    """The root as it is said of these deviations in these maneuvers; early : some of what came late came early."""
    if set(names) == {"turned away"}:
        return "A wing was held low"
    if root == "late" and early:
        return "The next action did not come when it was due"
    things = {SETTLED.get(q, "") for q in quantities}
    if root == "target not set" and "power" in quantities:
        return "Less power was set than asked for"
    if root == "target not set" and len(things) == 1 and "" not in things:
        return f"It settled beside the {things.pop()} wanted"
    if root == "back pressure" and not any(_banked(kind) for kind in kinds):
        return "The altitude was let slip"
    return ROOTS[root] if root else ""


def _banked(kind: str) -> bool:
    """Flown in a bank that asks for a pull; by marks on the ground, in medium turns, it is hardly felt."""
    return room(kind).family is Family.PERFORMANCE or room(kind).on_the_way


def _own(names: Collection[str], kind: str) -> tuple[str, str] | None:
    family = room(kind).family if kind else None
    if family is Family.INSTRUMENT:
        return RECOVERING
    name = next(iter(names)) if len(set(names)) == 1 else ""
    return None if name == NEAR_STALL and family is Family.SLOW else OF_ITS_OWN.get(name)


def drill(root: Root, quantities: Collection[str], kind: str, names: Collection[str] = ()) -> str:
    """One drill for a root, of the maneuver in which it cost most; "" where it was in none.

    names : of the faults it is for.
    """
    if own := _own(names, kind):
        return own[0]
    if kind and (special := _of_the_room(root, set(quantities), room(kind))):
        return special
    if root == "target not set":
        return SETTLED_DRILLS.get(next(iter(quantities)), DRILLS[root]) if len(quantities) == 1 else DRILLS[root]
    if root == "back pressure" and kind and not _banked(kind):
        return LEVEL_DRILL
    return _of_the_role(room(kind)).get(root, DRILLS[root]) if kind else DRILLS[root]


def _of_the_room(root: Root, quantities: set[str], one: Room) -> str:
    """What is set, and what is decided, is drilled where it is flown; "" where any place does."""
    if one.lands:
        return LANDING.get("target not set" if quantities == {"ias"} else root, "")
    if one.role is Role.PATTERN:
        return "" if any(quantities) else IN_PATTERN.get(root, "")
    if one.family is Family.EMERGENCY:
        return GLIDING.get(root, "") if quantities <= {"ias", ""} else ""
    if root != "target not set":
        return ""
    if one.takes_off:
        return TAKING_OFF[root]
    if one.family is Family.STALL and "power" in quantities:
        return SETTLED_DRILLS["power"]
    return SLOWLY if one.family is Family.SLOW and quantities <= {"ias", "stall_warning", ""} else ""


def _of_the_role(one: Room) -> dict[Root, str]:
    if one.family is Family.STALL:
        return IN_STALLS
    if one.family is Family.GROUND:
        return BY_THE_GROUND
    if one.role is Role.PATTERN:
        return IN_PATTERN
    if one.role is Role.RUNWAY:
        return TAKING_OFF if one.takes_off else AROUND
    return {}
