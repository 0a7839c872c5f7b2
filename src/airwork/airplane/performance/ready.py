"""Ready to brief? Flap setting by flap setting: is the RPM (or power) of slow flight known as well as a card needs.

"Ready" is a 90 % half-width that a tachometer and a hand on the throttle make up for anyway; what is wider says which
one reading would bring it there. A setting known from readings that nothing checks is not ready, narrow as it looks.
"""

from __future__ import annotations

from collections.abc import Iterator

from airwork.airplane.performance import advice
from airwork.airplane.performance.model import Performance

READY_RPM, READY_SHARE = 50.0, 0.05  # 90 % half-width: RPM, share of rated power (our choice)
_MOST_READINGS = 4


def ready_to_brief(performance: Performance) -> tuple[str, ...]:
    """One phrase for each flap setting, flaps up first."""
    return tuple(_words(performance))


def _words(performance: Performance) -> Iterator[str]:
    candidates = list(advice.candidates(performance))
    for notch, answer in advice.slow_answers(performance):
        flaps = "flaps up" if notch == 0 else f"flaps {notch}"
        limit = 100.0 * READY_SHARE if performance.engine.governed else READY_RPM
        cov = performance.learned.own.cov
        half = answer.half_width_90(cov)
        if half <= limit and _unchecked(performance, notch):
            yield f"{flaps}: after a second reading there, nothing checks the first (± {half:.0f} {_unit(performance)})"
            continue
        if half <= limit:
            yield f"{flaps}: yes (± {half:.0f} {_unit(performance)})"
            continue
        flown: list[str] = []
        after = half
        while after > limit and len(flown) < _MOST_READINGS:
            best = min(candidates, key=lambda c: answer.half_width_90(advice.narrowed(cov, c[1], c[2])), default=None)
            if best is None:
                break
            cov = advice.narrowed(cov, best[1], best[2])
            now = answer.half_width_90(cov)
            if now > 0.97 * after:
                break
            after = now
            flown.append(best[0].words)
        if after > limit or not flown:
            helps = "a recorded flight with this flap setting helps most"
            yield f"{flaps}: not yet (± {half:.0f} {_unit(performance)}); {helps}"
            continue
        count = {1: "one more reading", 2: "two more readings"}.get(len(flown), f"{len(flown)} more readings")
        yield f"{flaps}: after {count} (± {half:.0f} now): {'; '.join(dict.fromkeys(flown))}"


def _unchecked(performance: Performance, notch: int) -> bool:
    """Does what is known of a flap setting rest on readings that nothing else would find wrong?"""
    there = [r for r in performance.learned.residuals if r.used and r.reading.flap_notch == notch]
    level = [r for r in there if r.reading.kind == "level"]
    return bool(level) and not any(r.checked for r in level)


def _unit(performance: Performance) -> str:
    return "% of power" if performance.engine.governed else "RPM"
