"""The followed flight on a terminal: the maneuver, three numbers beside it at most, what was said; nothing blinks."""

from __future__ import annotations

import textwrap

from airwork.live.follower import Screen

WIDTH, LABEL = 72, 20
STEPS_BEFORE = 2  # before, and the entry: what is done until it is in hand
HOME, CLEAR_REST, CLEAR_LINE = "\x1b[H", "\x1b[J", "\x1b[K"
RED, GRAY, BOLD, PLAIN = "\x1b[31m", "\x1b[90m", "\x1b[1m", "\x1b[0m"
SIGNS = {"act": "!", "look": "▸", "plain": " "}


def screen_text(screen: Screen, *, night: bool = False, colors: bool = True) -> str:
    """The whole screen as lines. night : dim red on black, for eyes that are used to the dark."""

    def dyed(text: str, how: str) -> str:
        return f"{how}{text}{PLAIN}{RED if night else ''}" if colors else text

    head = {"in hand": "IN HAND", "next": "NEXT"}.get(screen.state, "")
    out = [f"{screen.clock}   {head} {screen.title} {screen.sure}".rstrip()]
    out += textwrap.wrap(screen.line, WIDTH, initial_indent="  ", subsequent_indent="  ")
    for number, step in _steps(screen):
        out += textwrap.wrap(step, WIDTH, initial_indent=f"  {number}  ", subsequent_indent="     ")
    out.append("")
    for item in screen.numbers:
        line = f"{SIGNS[item.level]} {item.label:<{LABEL}}{item.text}"
        out.append(dyed(line, BOLD) if item.level != "plain" else line)
        out += [
            dyed(w, GRAY)
            for w in textwrap.wrap(
                item.why, WIDTH, initial_indent=" " * (LABEL + 2), subsequent_indent=" " * (LABEL + 2)
            )
        ]
    out.append("")
    out += [f"  {item.label:<{LABEL}}{item.text}" for item in screen.more]
    if screen.left[1:]:
        titles = ", ".join(title for _, title in screen.left)
        out += textwrap.wrap(titles, WIDTH, initial_indent="  to fly: ", subsequent_indent="          ")
    if screen.ended:
        out.append("")
        out += [f"  {t.title}: {t.verdict or 'not judged'}{t.missed and f': {t.missed}'}" for t in screen.ended[-3:]]
    if screen.said:
        out += ["", f"  said: {screen.said[-1].text}"]
    if screen.data:
        out += ["", *(dyed(f"! {trouble}", BOLD) for trouble in screen.data)]
    sources = ", ".join(f"{name} {age:.0f} s ago" for name, age in screen.ages.items())
    out += ["", f"  {sources or 'waiting for data'} · {screen.recorded:,} rows recorded · {screen.marks} marks"]
    if screen.gray:
        out = [dyed(line, GRAY) for line in out]
    out += textwrap.wrap(screen.caution, WIDTH)
    return "\n".join(out)


def _steps(screen: Screen) -> list[tuple[int, str]]:
    """How it is begun while it comes next; what follows once it is in hand."""
    numbered = list(enumerate(screen.steps, 1))
    return numbered[1:] if screen.state == "in hand" else numbered[:STEPS_BEFORE]


def redrawn(text: str, *, night: bool = False) -> str:
    """The text over what stood there before, without flicker."""
    lines = "\n".join(line + CLEAR_LINE for line in text.split("\n"))
    return f"{HOME}{RED if night else ''}{lines}\n{CLEAR_REST}"
