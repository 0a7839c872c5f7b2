"""Other hands on the driven airplane: how errors arise and how a bank is flown, by make of flight.

A recognizer tuned on one law of errors learns the law. The makes share nothing but the tasks:
`waves`  smooth wandering, a soft lag (the first make).
`late`   an error stays until it is noticed, then jumps to another; nothing happens for a reaction time; the bank is
         rolled at one rate or not at all.
`loose`  errors wander at random and come back (Ornstein-Uhlenbeck); the bank swings in past its mark; bank not paid for
         with back pressure costs height.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable
from typing import Protocol

import numpy as np

Wander = Callable[[float], float]


class Hands(Protocol):
    """One make: a wandering error of about unit size, and commands turned into a rate of roll and a climb.

    restless : how much more height and speed are traded, and the bank strays, than in the first make.
    """

    restless: float

    def wander(self, rng: np.random.Generator, shortest_s: float, longest_s: float) -> Wander: ...
    def roll_rate(
        self, meant_rad: float, bank_rad: float, rate_radps: float, limit_radps: float, step_s: float
    ) -> float: ...
    def climb(self, meant_mps: float, bank_rad: float, step_s: float) -> float: ...


class Waves:
    """A smooth wandering of about unit size: three sines of random period and phase."""

    def __init__(self, rng: np.random.Generator, shortest_s: float, longest_s: float) -> None:
        self._parts = [
            (2.0 * math.pi / float(rng.uniform(shortest_s, longest_s)), float(rng.uniform(0.0, 6.3)), share)
            for share in (0.8, 0.6, 0.5)
        ]

    def __call__(self, time_s: float) -> float:
        return sum(share * math.sin(rate * time_s + phase) for rate, phase, share in self._parts)


class SoftHands:
    """The first make."""

    restless = 1.0

    def wander(self, rng: np.random.Generator, shortest_s: float, longest_s: float) -> Wander:
        return Waves(rng, shortest_s, longest_s)

    def roll_rate(
        self, meant_rad: float, bank_rad: float, rate_radps: float, limit_radps: float, step_s: float
    ) -> float:
        wanted = max(-limit_radps, min(limit_radps, 1.1 * (meant_rad - bank_rad)))
        return rate_radps + (wanted - rate_radps) * step_s / 0.35

    def climb(self, meant_mps: float, bank_rad: float, step_s: float) -> float:
        return meant_mps


class LateHands:
    """Nothing for a reaction time, then at one rate; an error is held until it is noticed."""

    restless = 1.9

    def __init__(self, rng: np.random.Generator, lack: float) -> None:
        self._reaction_s = 0.2 + float(rng.uniform(0.2, 0.9)) * (0.4 + lack)
        self._band_rad = math.radians(0.8 + 2.5 * lack * float(rng.uniform(0.5, 1.5)))
        self._seen: deque[float] = deque()
        self._heard: deque[float] = deque()

    def wander(self, rng: np.random.Generator, shortest_s: float, longest_s: float) -> Wander:
        held = {"until": 0.0, "value": float(rng.normal())}

        def error(time_s: float) -> float:
            if time_s >= held["until"]:
                held["until"] = time_s + float(rng.uniform(0.3 * shortest_s, 0.7 * longest_s))
                held["value"] = 0.9 * float(rng.normal())
            return held["value"]

        return error

    def _late(self, line: deque[float], value: float, step_s: float) -> float:
        line.append(value)
        return line.popleft() if len(line) > self._reaction_s / step_s else line[0]

    def roll_rate(
        self, meant_rad: float, bank_rad: float, rate_radps: float, limit_radps: float, step_s: float
    ) -> float:
        off = self._late(self._seen, meant_rad, step_s) - bank_rad
        wanted = 0.0 if abs(off) < self._band_rad else math.copysign(limit_radps, off)
        slow = min(1.0, abs(off) / math.radians(2.5))  # stopped late: past its mark and back
        return rate_radps + (wanted * slow - rate_radps) * step_s / 0.15

    def climb(self, meant_mps: float, bank_rad: float, step_s: float) -> float:
        return self._late(self._heard, meant_mps, step_s)


class LooseHands:
    """A bank that swings in; errors that drift; height paid for bank."""

    restless = 1.6

    def __init__(self, rng: np.random.Generator, lack: float) -> None:
        self._quick, self._damping = float(rng.uniform(1.3, 2.2)), 0.75 - 0.45 * lack * float(rng.uniform(0.6, 1.0))
        self._unpaid_mps = 3.0 * lack * float(rng.uniform(0.0, 1.0))

    def wander(self, rng: np.random.Generator, shortest_s: float, longest_s: float) -> Wander:
        forget_s, state = 0.35 * float(rng.uniform(shortest_s, longest_s)), {"at": 0.0, "value": float(rng.normal())}

        def error(time_s: float) -> float:
            keep = math.exp(-max(time_s - state["at"], 0.0) / forget_s)
            state["value"] = keep * state["value"] + math.sqrt(1.0 - keep * keep) * 0.8 * float(rng.normal())
            state["at"] = time_s
            return state["value"]

        return error

    def roll_rate(
        self, meant_rad: float, bank_rad: float, rate_radps: float, limit_radps: float, step_s: float
    ) -> float:
        push = self._quick**2 * (meant_rad - bank_rad) - 2.0 * self._damping * self._quick * rate_radps
        return max(-1.3 * limit_radps, min(1.3 * limit_radps, rate_radps + push * step_s))

    def climb(self, meant_mps: float, bank_rad: float, step_s: float) -> float:
        return meant_mps - self._unpaid_mps * (1.0 / math.cos(min(abs(bank_rad), 1.2)) - 1.0)


def hands(make: str, rng: np.random.Generator, lack: float) -> Hands:
    """The hands of a make."""
    if make == "late":
        return LateHands(rng, lack)
    return LooseHands(rng, lack) if make == "loose" else SoftHands()
