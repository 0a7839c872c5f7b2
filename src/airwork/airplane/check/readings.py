"""Suspicions about readings noted in flight."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from airwork.airplane.check.book import Book, Complaint


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about `[[observations]]`."""
    limits, a = book.file.limitations, book.file.airplane
    top = limits.maximum_rpm if limits else None
    for i, row in enumerate(book.file.observations):
        say = partial(book.doubt, "observations", row=i, of="")
        if row.flap_notch > book.airplane.flaps_full:
            what = f"flap notch {row.flap_notch}"
            yield say(what, f"The file's flaps end at notch {book.airplane.flaps_full}.")
            continue
        cas, stall = book.cas_kt(row, row.flap_notch), book.stall_kt(row.weight_lb, row.flap_notch)
        if cas is None:
            yield say("the speed lies outside the airspeed calibration", "A digit or the unit is wrong.")
        elif stall is not None and cas < 0.97 * stall:
            what = f"{book.speed(cas)} calibrated, the stall there is {book.speed(stall)}"
            yield say(what, "Nobody flies steadily below the stall; is the speed in the other unit?")
        if row.weight_lb > a.maximum_takeoff_weight_lb:
            what = book.weight(row.weight_lb)
            yield say(what, "Heavier than the maximum takeoff weight.")
        if top is not None and row.rpm is not None and row.rpm > top:
            yield say(f"{row.rpm:,.0f} RPM", f"The maximum is {top:,.0f} RPM.")
        if row.kind == "level" and row.rpm is None:
            yield say("a level reading without rpm", "It says nothing about power; add the RPM.")
        if row.kind == "level" and not book.airplane.fixed_pitch and row.manifold_pressure_inhg is None:
            yield say("no manifold_pressure_inhg", "With constant speed, RPM alone says little.")
        if row.kind == "full_throttle_climb" and row.rate_of_climb_fpm is None:
            yield say("a climb without rate_of_climb_fpm", "Add the rate of climb.")
        if row.kind == "idle_glide" and row.rate_of_descent_fpm is None:
            yield say("a glide without rate_of_descent_fpm", "Add the rate of descent, positive.")
