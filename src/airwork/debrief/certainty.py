"""How sure a claim is, as a probability: of claims said 0.9 sure, nine in ten are right.

A logistic per kind with a shared part: ln(p / (1 − p)) = (shared + kind) · features. What speaks for a claim is its own
score, the competition (what the best story of another kind for the same minutes is worth), that it lasted, and what
else is practiced in the flight. The weights are data (`certainty.json`), made by `python bench/certainty.py` from
flights with known truth, lessons and flights that are none. They know no lesson plan: what one asks for is at least as
sure as its room says. A kind seen wrong too seldom to be judged is never surer than its room's own score.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.debrief.weighing import COUNTS_S, alone, clash, cleared_for, holds, just_cleared, overlap_s, worth
from airwork.maneuvers import room
from airwork.maneuvers.declared import Role
from airwork.maneuvers.episode import Episode

Array = NDArray[np.float64]
FEATURES = ("always", "score", "competition", "cleared", "followed", "alone", "length", "position", "coarse")
OF_THE_KIND = ("always", "score", "alone")
MOST = 4.0  # of a logarithm; beyond it nothing more is learned
MOST_SURE = 0.99  # some hundred claims of a kind can't teach more
RATHER_WRONG, ROOM_DOUBTS, HARDLY = 0.5, 0.7, 0.1
SURE_ENOUGH = 0.8  # below, the second-best story is told too
LEAST_RIVAL = 0.05  # a story less likely than this is not worth telling
UNJUDGED = (Role.PASSAGE, Role.EVENT)  # claimed wherever they happen


@dataclass(frozen=True, slots=True)
class Given:
    """What makes claims more or less sure. position : no airspeed recorded; lesson : kinds that were to be flown."""

    position: bool = False
    step_s: float = 1.0
    lesson: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Weights:
    """The data file. seldom_wrong : kinds with too few wrong claims in training to be judged by it."""

    shared: Mapping[str, float]
    kinds: Mapping[str, Mapping[str, float]]
    seldom_wrong: frozenset[str]


@cache
def trained() -> Weights:
    """The weights as they ship."""
    return weights_of(json.loads(resources.files("airwork.debrief").joinpath("certainty.json").read_text("utf-8")))


def weights_of(data: Mapping[str, Any]) -> Weights:
    """From the data file's content."""
    return Weights(data["shared"], data["kinds"], frozenset(data["seldom_wrong"]))


def rival(e: Episode, fitting: Sequence[Episode], story: Sequence[Episode] = ()) -> Episode | None:
    """The best story of another kind for the same minutes; of what the story has around the claim only those count."""
    around = {s.kind for s in story if holds(s, e) and s.start_s <= e.start_s < s.end_s}
    others = [o for o in fitting if o.kind != e.kind and room(o.kind).role not in UNJUDGED and _same_minutes(e, o)]
    within = [
        replace(o, start_s=max(o.start_s, e.start_s), end_s=min(o.end_s, e.end_s)) if o.kind in around else o
        for o in others
    ]
    return max(within, key=worth, default=None)


def _same_minutes(e: Episode, other: Episode) -> bool:
    """Both can't be, and the one is nearly as much in the other's time as out of it: a frame or a neighbor is none."""
    shorter = min(e.end_s - e.start_s, other.end_s - other.start_s)
    return overlap_s(e, other) >= 0.5 * shorter and clash(e, other) and not _framed(e, other)


def _fits(other: Episode, e: Episode, story: Sequence[Episode]) -> bool:
    """It can stand where the claim stood."""
    alike = room(other.kind).role is room(e.kind).role
    return alike and not any(clash(other, s) for s in story if s is not e)


def _framed(e: Episode, other: Episode) -> bool:
    one, two = room(e.kind), room(other.kind)
    frames = Role.PATTERN in (one.role, two.role) and (one.at_field and two.at_field)
    return frames or holds(e, other)  # but slow flight is what a stall inside it may be instead


def features(e: Episode, fitting: Sequence[Episode], given: Given, story: Sequence[Episode] = ()) -> Array:
    """shape (len(FEATURES),): what the claim's certainty hangs on.

    fitting : all proposals, weighed; story : those chosen.
    """
    best, cleared = rival(e, fitting, story), just_cleared(e, fitting) and room(e.kind).wants_clear_sky
    against = MOST if best is None else _log(worth(e)) - _log(worth(best))
    followed = room(e.kind).clears and any(cleared_for(e, s) for s in story)
    return np.array([
        1.0, _clipped(_log(e.score) - _log(1.0 - e.score)), _clipped(against), float(cleared), float(followed),
        alone(e, story, fitting), _log(min(e.end_s - e.start_s, COUNTS_S) / COUNTS_S), float(given.position),
        _clipped(math.log(max(given.step_s, 1.0))),
    ])  # fmt: skip


def _log(value: float) -> float:
    return math.log(value) if value > 0.0 else -math.inf


def _clipped(value: float) -> float:
    return max(-MOST, min(MOST, value))


def probability(kind: str, x: Array, score: float, weights: Weights) -> float:
    """Of one claim by its features; never above its score where wrong ones were too few to learn from. Of a kind that
    nothing was learned of, the score, never quite sure.
    """
    if kind not in weights.kinds:
        return min(score, SURE_ENOUGH)
    own = weights.kinds[kind]
    w = np.array([weights.shared[name] + own.get(name, 0.0) for name in FEATURES])
    p = min(1.0 / (1.0 + math.exp(-float(w @ x))), MOST_SURE)
    return min(p, score) if kind in weights.seldom_wrong else p


def doubted(p: float, score: float, x: Array, *, inside: bool = False) -> bool:
    """Rather wrong by one and doubted by the other, or hardly likely by positions; the air not cleared: not claimed.

    inside : it lies in what may hold it, which is told as well: the stall that ends slow flight looks least likely.
    """
    rather = min(p, score) < RATHER_WRONG and max(p, score) < ROOM_DOUBTS
    hardly = p < HARDLY and bool(x[FEATURES.index("position")] > 0.0) and not inside
    return (rather or hardly) and not x[FEATURES.index("cleared")]


def sure(
    story: Sequence[Episode], fitting: Sequence[Episode], given: Given, weights: Weights | None = None
) -> list[Episode]:
    """The story: each claim with its probability as score, the unlikely left out, the second-best where not sure."""
    weights = trained() if weights is None else weights
    out = []
    for e in story:
        if room(e.kind).role in UNJUDGED:
            out.append(e)
            continue
        x = features(e, fitting, given, story)
        p = probability(e.kind, x, e.score, weights)
        p = min(max(p, e.score), MOST_SURE) if e.kind in given.lesson else p
        other = rival(e, fitting, story) if p < SURE_ENOUGH else None
        q = 0.0
        if other is not None:
            q = probability(other.kind, features(other, fitting, given, story), other.score, weights)
        inside = any(s is not e and holds(s, e) for s in story)
        if doubted(p, e.score, x, inside=inside):
            if other is None or q < RATHER_WRONG or other.score < ROOM_DOUBTS or not _fits(other, e, story):
                continue
            e, other, p, q = other, e, q, p  # the second-best is the likelier
        second = min(q, 1.0 - p)
        instead = replace(other, score=second) if other is not None and second >= LEAST_RIVAL else None
        out.append(replace(e, score=p, instead=instead))
    return out
