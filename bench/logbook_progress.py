"""How far the logbook's trends can be trusted: made-up students of other makes than the model, with the truth known.

    python bench/logbook_progress.py [students per make]

For each make of student: how often the 90 % interval of the level holds the truth, how well the stated chance agrees
with the true one, how often "ready" and "slipped" are right, and how often a forecast's interval holds the lesson on
which the student truly gets there. Beside it two plain rules: the average of all attempts, and of the last three.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from airwork.logbook.thresholds import thresholds
from airwork.logbook.trend import Attempts, flights_to_standard, trend

Array = NDArray[np.float64]
LONGEST = 60
LIMITS = thresholds()


@dataclass
class Student:
    """The truth: a level for every flight, past and to come, and how attempts scatter about it."""

    level: Array
    scatter: float
    form: float
    wind_effect: float
    wild: float  # share of wild attempts


def steady_learner(rng: np.random.Generator) -> Student:
    start, end, rate = rng.uniform(1.1, 2.0), rng.uniform(0.35, 0.8), rng.uniform(2.0, 8.0)
    level = end + (start - end) * np.exp(-np.arange(LONGEST) / rate)
    return Student(level, rng.uniform(0.1, 0.25), 0.0, 0.0, 0.03)


def moody_learner(rng: np.random.Generator) -> Student:
    one = steady_learner(rng)
    return Student(one.level, one.scatter, rng.uniform(0.05, 0.2), rng.uniform(0.0, 0.05), 0.05)


def plateau(rng: np.random.Generator) -> Student:
    """Learns, then stands still for good at a level of chance's choosing."""
    start, end = rng.uniform(1.2, 1.9), rng.uniform(0.6, 1.3)
    level = np.maximum(start - rng.uniform(0.05, 0.2) * np.arange(LONGEST), end)
    return Student(level, rng.uniform(0.1, 0.3), 0.08, 0.02, 0.05)


def slips_back(rng: np.random.Generator) -> Student:
    """Ready early, worse after some flight."""
    level = np.full(LONGEST, rng.uniform(0.4, 0.65))
    level[rng.integers(4, 9) :] += rng.uniform(0.5, 1.0)
    return Student(level, rng.uniform(0.1, 0.2), 0.08, 0.02, 0.03)


def stays_ready(rng: np.random.Generator) -> Student:
    """Ready from the start and stays so."""
    return Student(np.full(LONGEST, rng.uniform(0.3, 0.6)), rng.uniform(0.1, 0.2), 0.08, 0.02, 0.03)


MAKES: dict[str, Callable[[np.random.Generator], Student]] = {
    "steady learner": steady_learner, "moody learner": moody_learner, "plateau": plateau, "slips back": slips_back,
    "stays ready": stays_ready,
}  # fmt: skip


@dataclass
class Score:
    """What was counted for one make."""

    inside: list[bool] = field(default_factory=list)
    error: list[float] = field(default_factory=list)
    average: list[float] = field(default_factory=list)
    last_three: list[float] = field(default_factory=list)
    stated: list[float] = field(default_factory=list)
    true_chance: list[float] = field(default_factory=list)
    ready: list[bool] = field(default_factory=list)
    truly_ready: list[bool] = field(default_factory=list)
    slipped: list[bool] = field(default_factory=list)
    forecasts: list[bool] = field(default_factory=list)
    asked: int = 0
    widths: list[float] = field(default_factory=list)


def fly(student: Student, flights: int, rng: np.random.Generator) -> Attempts:
    """Attempts over the first flights: one to three in each, in the day's wind."""
    number = np.repeat(np.arange(flights), rng.integers(1, 4, flights))
    wind = rng.gamma(3.0, 1.5, flights)[number]
    form = student.form * rng.standard_normal(flights)[number]
    y = (
        student.level[number]
        + student.wind_effect * (wind - 4.0)
        + form
        + student.scatter * rng.standard_normal(number.size)
    )
    y = np.where(rng.random(number.size) < student.wild, y + 0.8, y)
    ratio = np.round(np.maximum(y, 0.0) ** 2, 2)  # as a debrief prints it
    return Attempts(
        np.sqrt(np.minimum(ratio, 9.0)),
        np.ones(number.size),
        number,
        number * 4.0,
        wind,
        np.zeros(number.size, np.int64),
    )


def chance_of(student: Student, flight: int) -> float:
    """The true chance that an attempt in the usual wind is held."""
    sd = float(np.hypot(student.scatter, student.form))
    inside = float(ndtr((1.0 - student.level[flight]) / sd))
    return inside * (1.0 - student.wild)


def run(make: Callable[[np.random.Generator], Student], students: int, seed: int) -> Score:
    """Score one make of student."""
    rng, score = np.random.default_rng(seed), Score()
    for _ in range(students):
        student = make(rng)
        flights = int(rng.integers(3, 16))
        flown = fly(student, flights, rng)
        found = trend(flown, LIMITS.change_flights)
        now, true = flights - 1, chance_of(student, flights - 1)
        score.inside.append(abs(found.level_mean[-1] - student.level[now]) <= 1.645 * found.level_sd[-1])
        score.error.append(abs(found.level_mean[-1] - student.level[now]))
        score.average.append(abs(float(flown.y.mean()) - student.level[now]))
        score.last_three.append(abs(float(flown.y[-3:].mean()) - student.level[now]))
        score.stated.append(found.chance_next)
        score.true_chance.append(true)
        score.ready.append(found.chance_next >= LIMITS.ready_chance)
        score.truly_ready.append(true >= LIMITS.ready_chance)
        score.slipped.append(
            bool(found.chance[:-1].max() >= LIMITS.ready_chance)
            and found.chance_next < LIMITS.slipped_chance
            and found.worse_than_best >= LIMITS.slipped_sure
        )
        if found.chance_next < LIMITS.ready_chance and flights >= LIMITS.forecast_flights:
            score.asked += 1
            draws = flights_to_standard([found], LIMITS.ready_chance, longest=LIMITS.forecast_longest, draws=400)
            low, high = np.quantile(draws, [LIMITS.forecast_low, LIMITS.forecast_high], method="inverted_cdf")
            if np.isfinite(high):
                gets_there = [k for k in range(LONGEST - flights) if chance_of(student, now + k) >= LIMITS.ready_chance]
                truth = gets_there[0] if gets_there else np.inf
                score.forecasts.append(max(1, low) <= max(1, truth) <= max(1, high))
                score.widths.append(max(1.0, high) - max(1.0, low))
    return score


def share(values: list[bool]) -> str:
    """A share in per cent."""
    return f"{100.0 * float(np.mean(values)):.0f} %" if values else "–"


def main() -> None:
    """Print the table."""
    students = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(f"{students} made-up students of each make, 3 to 15 flights, 1 to 3 attempts in each\n")
    print(f"{'make':<16}{'90 % holds':>11}{'error':>8}{'average':>9}{'last 3':>8}{'chance off':>12}"
          f"{'ready right':>13}{'false ready':>13}{'slipped':>9}{'forecast':>10}{'holds':>7}{'width':>7}")  # fmt: skip
    stated: list[float] = []
    true: list[float] = []
    for n, (name, make) in enumerate(MAKES.items()):
        s = run(make, students, 100 + n)
        stated += s.stated
        true += s.true_chance
        right = [a == b for a, b in zip(s.ready, s.truly_ready, strict=True)]
        false = [a and t < 0.6 for a, t in zip(s.ready, s.true_chance, strict=True)]
        off = float(np.mean(np.abs(np.array(s.stated) - np.array(s.true_chance))))
        width = f"{np.median(s.widths):.0f}" if s.widths else "–"
        given = f"{100 * len(s.forecasts) / s.asked:.0f} %" if s.asked else "–"
        print(f"{name:<16}{share(s.inside):>11}{np.mean(s.error):>8.3f}{np.mean(s.average):>9.3f}"
              f"{np.mean(s.last_three):>8.3f}{off:>12.3f}{share(right):>13}{share(false):>13}{share(s.slipped):>9}"
              f"{given:>10}{share(s.forecasts):>7}{width:>7}")  # fmt: skip
    print("\nstated chance against the true one, all makes:")
    for low in np.arange(0.0, 1.0, 0.2):
        pick = [t for p, t in zip(stated, true, strict=True) if low <= p < low + 0.2 + 1e-9]
        if pick:
            print(f"  stated {low:.0%} to {low + 0.2:.0%}: truly {np.mean(pick):.0%} on average ({len(pick)} students)")


if __name__ == "__main__":
    main()
