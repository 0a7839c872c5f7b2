"""A flight followed: samples in; a screen, calls and a recording out. Told the time, never asks for it."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from airwork.airdata.wind import wind_from_vector
from airwork.days import clock_text
from airwork.debrief import plan_of
from airwork.debrief.weighing import is_practiced
from airwork.lesson.plan import Planned
from airwork.live.calls import Call, Calls
from airwork.live.card import Card, dial_targets
from airwork.live.now import Item, Moment, altitude_m
from airwork.live.order import Order
from airwork.live.reading import Clocks, Sample
from airwork.live.recorder import Recorder
from airwork.live.seeing import InHand, Seeing, Seen
from airwork.live.watch import LATE_S, Event, Watch, word
from airwork.live.whereabouts import FLOOR_NEAR_M
from airwork.maneuvers import room
from airwork.maneuvers.declared import Family
from airwork.maneuvers.setup import NEAR_STALL_MPS
from airwork.recording.marks import Mark, keep_mark
from airwork.units import FT_M, to_unit

QUIET_BELOW_M = 500 * FT_M
FLARE_M = 100 * FT_M  # lower, a small margin to the stall is a landing
WARNED_S = 10.0  # after the stall warning nothing but what is urgent is said
WIND_S, WIND_LEAST, WIND_BANK_RAD = 30.0, 10, math.radians(15.0)
RUNNING_RPM = 500.0
LONGEST_STEP_S = 5.0  # burned fuel isn't added up over a longer silence than this at once
FLYING_MPS = 20.0
LATE_LINE_S = 1.0  # sources may shuffle their lines within so much
TANK_SAFE_M = 1000 * FT_M  # no change of tank below; common practice, no source
GLIDE_S = 20.0  # a landing place must be out of reach, or in it again, for so long before it is said
NUMBERS = 3  # beside the maneuver in hand
FIRST = ("home", "tank", "power", "edge", "glide", "floor", "wind", "margin")
SLOW_FIRST = ("margin", "floor", "power", "edge", "home", "tank", "glide", "wind")
SLOW = (Family.SLOW, Family.STALL)
OF_THE_AREA = {"edge", "floor", "glide"}
SAID_S = 60.0  # a call stays in sight so long: what it was about is over by then
CAUTION = "Training aid. Not for navigation, no primary instrument: look outside, fly by the airplane's own dials."


@dataclass(frozen=True, slots=True)
class Told:
    """A maneuver that has ended, in words."""

    title: str
    verdict: str
    missed: str


@dataclass(frozen=True, slots=True)
class Screen:
    """All that page and terminal show at a moment. numbers : the few that count now; more : the rest."""

    clock: str  # as on the card, and UTC
    state: str  # "in hand", "next", "" when the lesson is over
    title: str
    line: str
    sure: str
    targets: Mapping[str, str]
    steps: tuple[str, ...]  # how it is flown, as on the card
    left: tuple[tuple[int, str], ...]  # exercises of the lesson not flown yet, the next first: place, title
    numbers: tuple[Item, ...]
    more: tuple[Item, ...]
    said: tuple[Call, ...]
    ended: tuple[Told, ...]
    data: tuple[str, ...]  # what is wrong with the data, worst first; empty: all well
    ages: Mapping[str, float]  # source -> seconds since its last sample
    gray: bool  # nothing fresh: everything shown is old
    marks: int
    silenced: tuple[str, ...]
    recorded: int
    caution: str = CAUTION

    def as_json(self) -> dict[str, Any]:
        """Plain data."""
        return asdict(self)


@dataclass
class Follower:
    """State of one followed flight. Not safe for several threads but for `seeing.look` on a snapshot."""

    plan: Planned
    recording: Path
    start_utc_s: float
    watch: Watch = field(default_factory=Watch)
    calls: Calls = field(default_factory=Calls)
    marks: list[Mark] = field(default_factory=list)
    _events: deque[tuple[float, Event]] = field(default_factory=lambda: deque(maxlen=40))
    _air: deque[tuple[float, float, float]] = field(default_factory=lambda: deque(maxlen=400))
    late: int = 0  # samples older than what came before
    _newest: dict[str, float] = field(default_factory=dict)
    _seen_s: dict[str, float] = field(default_factory=dict)
    _begun_s: float = math.nan
    _running_s: float = math.nan
    _burned_m3: float = 0.0
    _ticked_s: float = math.nan
    _warned_s: float = -math.inf
    _in_glide: bool = True
    _was_above: bool = False  # above the area's floor since it was last on its way there
    _told_next: int = -1
    _glide_since_s: float = -math.inf
    _worked: bool = False  # inside the area and well above its floor, since the lesson began

    def __post_init__(self) -> None:
        """What follows from the plan."""
        self.clocks = Clocks(self.start_utc_s)
        self.recorder = Recorder(self.recording)
        self.card = Card(self.plan)
        lesson = plan_of(self.plan.briefing)
        self.order = Order(lesson.order)
        self.seeing = Seeing(self.plan.standard, self.plan.airplane, lesson.mass_kg, lesson)

    # --- in ---

    def take(self, sample: Sample) -> None:
        """A sample as it comes; one that is older than what its source sent before is counted, not shown."""
        utc = self.clocks.utc_s(sample)
        if utc < self._newest.get(sample.source, -math.inf) - LATE_LINE_S:
            self.late += 1
            self._note([Event("order", sample.source, f"{sample.source} sends old lines")], sample.received_s)
            return
        self._newest[sample.source] = utc
        good, events = self.watch.take(sample)
        self._note(events, sample.received_s)
        self._seen_s[sample.source] = sample.received_s
        if not math.isfinite(self._begun_s):
            self._begun_s = sample.received_s
        self.recorder.take(utc, good, sample.received_s)
        self.seeing.take(utc, good)
        if good.get("rpm", 0.0) > RUNNING_RPM and not math.isfinite(self._running_s):
            self._running_s = sample.received_s
        if good.get("stall_warning", 0.0) > 0.5:
            self._warned_s = sample.received_s

    def mark(self, words: str, now_s: float) -> None:
        """The instructor's "mark this": kept beside the recording at once."""
        mark = Mark(self.clocks.now_s(now_s), words[:300])
        self.marks.append(mark)
        keep_mark(self.recording, mark)

    def looked(self, new: Sequence[Seen], now_s: float) -> None:
        """What a look has found ended."""
        for seen in new:
            self.order.flown(seen.kind)
            if seen.kind in self.order.kinds or is_practiced(room(seen.kind)):
                told = self._told(seen)
                if told.verdict:
                    self.calls.want(
                        "graded", f"{told.title}: {told.verdict}{': ' if told.missed else ''}{told.missed}", now_s
                    )

    def _say_next(self, at: Moment) -> None:
        """The next exercise with its line, once, when it has become the next."""
        index = self.order.next
        if index is None or index == self._told_next:
            return
        planned, told = self.plan.briefing.exercises[index], self._told_next
        # its numbers were said a try ago
        again = told >= 0 and planned.kind == self.plan.briefing.exercises[told].kind
        set_up = None if again else self.card.set_up(index, at)
        line = f", {set_up.card_line}" if set_up is not None else ""
        self.calls.want("next", f"{'Again' if again else 'Next'}: {planned.title}{line}", at.now_s)
        self._told_next = index

    def take_next(self, index: int) -> None:
        """The instructor has this exercise flown next, in place of the plan's order."""
        self.order.choose(index)

    def fault(self, what: str, problem: Exception, now_s: float) -> None:
        """A part failed: it is said, and the rest, the recording first of all, goes on."""
        text = f"{what} failed ({type(problem).__name__}); the recording goes on"
        self._note([Event("fault", what, text)], now_s)

    def close(self) -> None:
        """The recording's end."""
        self.recorder.close()

    # --- out ---

    def moment(self, now_s: float) -> Moment:
        """What is known of the flight now."""
        began = self._running_s if math.isfinite(self._running_s) else self._begun_s
        elapsed = now_s - began if math.isfinite(began) else 0.0
        utc, (from_rad, speed, how) = self.clocks.now_s(now_s), self._wind(now_s)
        return Moment(self.watch, now_s, utc, elapsed, from_rad, speed, how, self._burned_m3, self._exercise())

    def _exercise(self) -> int | None:
        """The place of the lesson's exercise in hand, else of its next; None when the lesson is flown."""
        return self.order.next if self._hand is None else self.order.place(self._hand.kind)

    @property
    def _hand(self) -> InHand | None:
        """The maneuver in hand, where it is the lesson's or an exercise of itself."""
        hand = self.seeing.in_hand
        mine = hand is not None and (hand.kind in self.order.kinds or is_practiced(room(hand.kind)))
        return hand if mine else None

    def tick(self, now_s: float) -> Screen:
        """About once a second: the numbers of the moment, what is to be said, the whole screen."""
        self._note(self.watch.tick(now_s), now_s)
        self._sample_air(now_s)
        at = self.moment(now_s)
        self._burn(at)
        items = [self._on_the_way(item, at) for item in self.card.items(at)]
        self._wish(items, at)
        self.calls.next(now_s, quiet=self.quiet(at))
        self.recorder.sync_if_due(now_s)
        self._ticked_s = now_s
        return self._screen(items, at)

    def readings(self, now_s: float) -> dict[str, Any]:
        """The dials as received, for a small line: value, or None where it is not fresh."""
        value, dial = self.watch.value, self.plan.airplane.dial_unit
        shown = {
            "altitude_ft": to_unit(value("indicated_altitude_m", now_s), "ft"),
            f"ias_{dial}": to_unit(value("ias_mps", now_s), dial), "bank_deg": math.degrees(value("bank_rad", now_s)),
            "rpm": value("rpm", now_s),
        }  # fmt: skip
        return {name: round(v) if math.isfinite(v) else None for name, v in shown.items()}

    def quiet(self, at: Moment) -> bool:
        """Only what is urgent may be said: low, or in a stall and its recovery."""
        if at.now_s - self._warned_s < WARNED_S:
            return True
        hand = self.seeing.in_hand
        if hand is not None and room(hand.kind).family is Family.STALL:
            return True
        return self._flying(at) and self.height_m(at) < QUIET_BELOW_M

    def height_m(self, at: Moment) -> float:
        """Height above ground: as received, else above the ground of the area or field; NaN not known. [m]"""
        received = at.value("agl_m")
        if math.isfinite(received):
            return received
        lesson = self.plan.lesson
        field_m = lesson.field_m
        area = self.card.where.area_m(at)
        ground = lesson.area.ground_m if lesson.area and area is not None and area[0] > 0.0 else field_m
        return altitude_m(at) - ground

    # --- inside ---

    def _on_the_way(self, item: Item, at: Moment) -> Item:
        """The area's edge and floor and a place to glide to are no matter before one works there, nor after the last
        exercise: what is red on the ramp is overlooked in the air."""
        if item.key not in OF_THE_AREA or self.plan.flight.area is None:
            return item
        edge = self.card.where.area_m(at)
        self._worked = self._worked or (edge is not None and edge[0] > 0.0 and edge[2] > FLOOR_NEAR_M)
        return item if self._worked and self.order.left else replace(item, level="plain")

    def _flying(self, at: Moment) -> bool:
        speeds = [at.value(n) for n in ("ias_mps", "groundspeed_mps")]
        return any(s > FLYING_MPS for s in speeds)

    def _note(self, events: Sequence[Event], now_s: float) -> None:
        for event in events:
            self._events.append((now_s, event))
            if event.kind in {"gone", "back", "dispute"} or event.about in {
                "latitude_rad",
                "indicated_altitude_m",
                "ias_mps",
            }:
                self.calls.want("data", event.text, now_s)

    def _burn(self, at: Moment) -> None:
        step = at.now_s - self._ticked_s
        rpm = self.watch.get("rpm", at.now_s)
        running = rpm.value > RUNNING_RPM if rpm is not None else self._flying(at)
        if math.isfinite(step) and step > 0.0 and running:
            self._burned_m3 += min(step, LONGEST_STEP_S) * self.card.flow_m3ps(at)[0]

    def _sample_air(self, now_s: float) -> None:
        """A sample of the wind where heading, airspeed, track and ground speed are there and the wings about level."""
        value = self.watch.value
        tas, speed, track = (value(n, now_s) for n in ("tas_mps", "groundspeed_mps", "track_rad"))
        heading, bank = value("heading_rad", now_s), value("bank_rad", now_s)
        if not math.isfinite(heading) and self.plan.day.variation_rad is not None:
            heading = value("heading_mag_rad", now_s) + self.plan.day.variation_rad
        if not math.isfinite(tas + speed + track + heading) or abs(bank) > WIND_BANK_RAD or tas < FLYING_MPS:
            return
        east = speed * math.sin(track) - tas * math.sin(heading)
        north = speed * math.cos(track) - tas * math.cos(heading)
        self._air.append((now_s, east, north))

    def _wind(self, now_s: float) -> tuple[float, float, str]:
        """(from [rad, true], speed [m/s], how) of the wind now; NaN where it can't be told."""
        received = self.watch.value("wind_from_rad", now_s), self.watch.value("wind_mps", now_s)
        if all(map(math.isfinite, received)):
            return *received, "as received"
        near = [(e, n) for t, e, n in self._air if now_s - t <= WIND_S]
        if len(near) >= WIND_LEAST:
            east, north = np.mean(near, axis=0)
            found = wind_from_vector(float(east), float(north))
            return float(found[0]), float(found[1]), "from heading, airspeed and track of the last half minute"
        flight = self.seeing.flight
        if flight is not None and flight.has("wind_mps", "wind_from_rad"):
            good = np.flatnonzero(np.isfinite(flight["wind_mps"]) & np.isfinite(flight["wind_from_rad"]))
            if good.size:
                return (
                    float(flight["wind_from_rad"][good[-1]]),
                    float(flight["wind_mps"][good[-1]]),
                    "from the path flown",
                )
        return math.nan, math.nan, ""

    def _wish(self, items: Sequence[Item], at: Moment) -> None:  # noqa: C901, PLR0912
        """What the numbers of the moment ask to be said."""
        found, now, want = {i.key: i for i in items}, at.now_s, self.calls.want
        if not self._flying(at):
            return
        if self.height_m(at) > QUIET_BELOW_M:
            self._say_next(at)
        slow = self._slow_work()
        margin = self.card.margin_mps(at)
        if margin < NEAR_STALL_MPS and not slow and self.height_m(at) > FLARE_M:
            want("speed", f"Speed. {max(to_unit(margin, self.plan.airplane.dial_unit), 0.0):.0f} above the stall.", now)
        home = self.card.home_s(at)
        if home is not None:
            left, way = home[0], f"{home[1] / 60.0:.0f} minutes home."
            if left <= 0.0:
                want("fuel", f"Turn for home now, by {home[3]}. {way}", now)
            elif left <= 120.0 or 540.0 < left <= 600.0:
                minutes = math.ceil(left / 60.0)
                want(
                    "home",
                    f"Turn for home in {minutes} {'minute' if minutes == 1 else 'minutes'}, by {home[3]}. {way}",
                    now,
                )
        floor, edge = found.get("floor"), self.card.where.area_m(at)
        sinking = self.watch.value("vertical_speed_mps", now) < -1.0
        working = edge is not None and edge[0] > 0.0 and bool(self.order.left)
        if self.height_m(at) < QUIET_BELOW_M or not working:  # on the way up, on the way home: the floor is no matter
            self._was_above = False
        elif edge is not None and edge[2] > FLOOR_NEAR_M:
            self._was_above = True
        if floor is not None and self._was_above and (floor.level == "act" or (floor.level == "look" and sinking)):
            want("floor", f"{floor.text} {floor.label}.", now)
        if edge is not None and bool(self.order.left) and edge[0] > 0.0 > edge[1]:
            want("area", "Edge of the area in less than a minute.", now)
        due = self.card.tank_due_s(at)
        if due is not None and due <= 120.0 and self.height_m(at) > TANK_SAFE_M:
            soon = "now" if due <= 0.0 else "in two minutes"
            want("tank", f"Change tank {soon}: {self.card.next_tank(at)}.", now)
        power = found.get("power")
        if power is not None and power.level == "act":
            want("mixture", "Above the leaning limit: full rich.", now)
        glide = found.get("glide")
        if glide is not None:
            reach = glide.level == "plain"
            if reach == self._in_glide:
                self._glide_since_s = now
            elif now - self._glide_since_s >= GLIDE_S:
                if not reach and edge is not None and edge[0] > 0.0:
                    want("glide", "No landing place in glide.", now)
                self._in_glide = reach

    def _slow_work(self) -> bool:
        """Slow flight or a stall is in hand, was just flown, or is what comes next."""
        hand = self.seeing.in_hand
        if hand is not None and is_practiced(room(hand.kind)):
            return room(hand.kind).family in SLOW
        kinds = [one.kind for one in self.seeing.ended[-1:]]
        if self.order.next is not None:
            kinds.append(self.order.kinds[self.order.next])
        return any(room(kind).family in SLOW for kind in kinds)

    def _told(self, seen: Seen) -> Told:
        missed = ", ".join(f.name for f in seen.graded.grade.findings if f.verdict == "not held")
        verdict = seen.graded.verdict if seen.graded.verdict != "can't be judged" else ""
        return Told(room(seen.kind).title, verdict, missed)

    def _screen(self, items: Sequence[Item], at: Moment) -> Screen:
        hand, index, exercises = self._hand, at.exercise, self.plan.briefing.exercises
        state, title, sure = ("", "lesson flown", "") if index is None else ("next", exercises[index].title, "")
        if hand is not None:
            state, title, sure = "in hand", hand.title, f"{hand.sure:.0%}"
        set_up = None if index is None else self.card.set_up(index, at)
        first = SLOW_FIRST if self._slow_work() else FIRST
        rank = {"act": 0, "look": 1, "plain": 2}
        ordered = sorted(
            items, key=lambda i: (i.text == "–", rank[i.level], first.index(i.key) if i.key in first else 99)
        )
        home = next((k for k, item in enumerate(ordered) if item.key == "home"), 0)
        if home >= NUMBERS:  # whatever else there is, it is always in view
            ordered.insert(NUMBERS - 1, ordered.pop(home))
        ages = {source: round(at.now_s - seen, 1) for source, seen in self._seen_s.items()}
        return Screen(
            clock=clock_text(at.utc_s, self.plan.lesson.zone), state=state, title=title,
            line="" if set_up is None else set_up.card_line, sure=sure,
            targets={} if set_up is None else dict(dial_targets(set_up, self.plan.airplane)),
            steps=() if set_up is None else set_up.steps, left=tuple((k, exercises[k].title) for k in self.order.left),
            numbers=tuple(ordered[:NUMBERS]), more=tuple(ordered[NUMBERS:]),
            said=tuple(c for c in self.calls.said[-4:] if at.now_s - c.at_s <= SAID_S),
            ended=tuple(self._told(s) for s in self.seeing.ended[-12:]),
            data=tuple(self._trouble(at.now_s)), ages=ages, gray=not ages or min(ages.values()) > LATE_S,
            marks=len(self.marks), silenced=tuple(sorted(self.calls.silenced)), recorded=self.recorder.rows,
        )  # fmt: skip

    def _trouble(self, now_s: float) -> list[str]:
        out = []
        for name in sorted(self.watch.names()):
            found = self.watch.get(name, now_s)
            if found is not None and found.state != "fresh" and name != "longitude_rad":
                out.append(f"{word(name)}: {found.age_s:.0f} s old" if found.state == "late" else f"{word(name)}: gone")
        out += [
            e.text for t, e in self._events if now_s - t < 20.0 and e.kind in {"absurd", "dispute", "order", "fault"}
        ]
        return list(dict.fromkeys(out))[:8]
