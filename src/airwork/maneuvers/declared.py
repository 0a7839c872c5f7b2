"""A maneuver as one declared value. Everybody who wants to know something of a kind asks its room.

Each module of this folder that is a room ends in `ROOM = Room(…)`; nobody else keeps a list of kinds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from airwork.maneuvers.brief_facts import NO_FACTS, BriefFacts
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.paths.flown_path import FlownPath
from airwork.maneuvers.paths.laying import Flown
from airwork.maneuvers.seeing.propose_tools import LEAST_SCORE
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace


class Family(Enum):
    """What a maneuver belongs to, as the handbook of flying sorts them."""

    FUNDAMENTAL = "fundamentals of flight"
    DEPARTURE = "takeoffs"
    ARRIVAL = "landings"
    CIRCUIT = "round the aerodrome"
    SLOW = "slow flight"
    STALL = "stalls"
    PERFORMANCE = "performance maneuvers"
    GROUND = "by marks on the ground"
    EMERGENCY = "emergencies"
    SLIP = "slips"
    COCKPIT = "in the cockpit"
    INSTRUMENT = "by reference to instruments"


class Role(Enum):
    """What part a kind has in the story of a flight."""

    EXERCISE = "practiced for its own sake"
    PASSAGE = "fills what the exercises leave"
    PATTERN = "a frame around runway work"
    RUNWAY = "on or just above a runway"
    EVENT = "a moment, beside anything else"


EXERCISE_SEEN_AT_S, SEEN_AT_S = 6.0, 12.0  # of most exercises; of climbs, patterns, take-offs and landings


@dataclass(frozen=True, slots=True)
class Room:
    """One maneuver: what it is, how it is set up, seen, judged and shown. Equal when every field is.

    What a person reads
        title; times : several of it are told as times it was flown, it has no plural; plots : shown beyond altitude,
        speed, bank and heading; plain : what lies between exercises, shown in its own section only when it was not held
        or something explains it; everyday : a flight's line in the logbook leaves it out; is_task : to be ready for,
        for a test.
    What it is
        family; role; tied_to_ground : by a mark and the wind, so its heading can't be chosen; needs_engine : can't be
        flown without one; idle_power : flown with the throttle closed; takes_off, lands : counted in the logbook;
        slow_on_purpose : comes near the stall by its nature: a small margin is none to warn of.
    Preparing
        heights : where it begins, what is the floor; may_set : names a lesson's exercise may give (`lesson.target`);
        facts : who may be aboard, what is said aloud, its recovery in words, the handbook's name for it; task : of the
        standard, where its name is not the kind; set_up(worksheet); ideal(set_up, order).
    Seeing
        propose(view) : None where no recording shows it. The arbiter asks: worth : what a second of the pattern says,
        against one that hardly happens by chance; accepted : not claimed below; by_chance : no reason for a pattern to
        begin later; on_the_way : any flight has some; wants_clear_sky before it; clears : makes the sky clear; holds :
        family that may lie inside; seen_every_s : slowest fixes it can be seen in; after_clearing, in_lesson : factors
        on the score right after a clearing turn, where the lesson asks for it; extent : from where to where it is
        taken, in words, as `propose` does and the benches' truth does from the exact state; usual : what tells it from
        the like, said where somebody takes another maneuver for it;
        unless : a maneuver of this family over it is what it was; flown_as(episode, evidence) : of one that is seen as
        another of its family, whether that one was flown so; True where nothing recorded tells.
    Judging
        grade(episode, evidence).
    Laying the ideal over what was flown (`paths.laying`)
        lay : None where there is none; asks : what the set-up is asked for; over_ground : the ideal by the mark that
        the flown path shows.
    """

    kind: str
    title: str
    family: Family
    set_up: Callable[[Worksheet], SetUp]
    ideal: Callable[[SetUp, Order], Trace]
    heights: Heights
    propose: Callable[[View], list[Episode]] | None = None
    grade: Callable[[Episode, Evidence], Grade] | None = None
    role: Role = Role.EXERCISE
    facts: BriefFacts = NO_FACTS
    task: str = ""
    may_set: tuple[str, ...] = ()
    tied_to_ground: bool = False
    needs_engine: bool = False
    idle_power: bool = False
    takes_off: bool = False
    lands: bool = False
    slow_on_purpose: bool = False
    plots: tuple[str, ...] = ()
    times: bool = False
    plain: bool = False
    everyday: bool = False
    is_task: bool = True
    worth: float = 1.0
    accepted: float = 0.45
    by_chance: bool = False
    on_the_way: bool = False
    wants_clear_sky: bool = False
    clears: bool = False
    holds: Family | None = None
    unless: Family | None = None
    flown_as: Callable[[Episode, Evidence], bool] | None = None
    seen_every_s: float | None = None
    after_clearing: float = 1.0
    in_lesson: float = 1.12
    extent: str = ""
    usual: str = ""
    lay: Callable[[Trace, Episode], Trace] | None = None
    asks: Callable[[Flown], Mapping[str, Any] | None] | None = None
    over_ground: Callable[[FlownPath, Episode], Trace | None] | None = None

    @property
    def named(self) -> str:
        """Its title within a sentence."""
        return self.title if self.title[1] == "-" else f"{self.title[0].lower()}{self.title[1:]}"

    @property
    def seen_at_s(self) -> float:
        """The slowest fixes it can be seen in: its own, else by what it is. [s]"""
        return self.seen_every_s or (EXERCISE_SEEN_AT_S if self.role is Role.EXERCISE else SEEN_AT_S)

    @property
    def at_field(self) -> bool:
        """Flown at the aerodrome, not in the practice area."""
        return self.heights.at_field_m is not None

    @property
    def wishes(self) -> frozenset[str]:
        """Names a lesson's exercise may give, in SI: its own, and in the practice area where it begins."""
        return frozenset(self.may_set) | (frozenset() if self.at_field else {"altitude_m", "height_agl_m"})

    @property
    def judged_by(self) -> str:
        """Name of the standard's task."""
        return self.task or self.kind

    def brief(self, order: Order) -> SetUp:
        """Numbers and steps for this order; NotPossible, InputError or OutOfRange says what stands against it."""
        return self.set_up(Worksheet(self.kind, self.title, self.heights, order, self.judged_by))

    def seen(self, view: View) -> list[Episode]:
        """Every stretch that could be it; empty where no recording shows it."""
        return [] if self.propose is None else [e for e in self.propose(view) if e.score >= LEAST_SCORE]
