"""Suspicions about weights, arms and envelopes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from airwork.airplane.check.book import Book, Complaint, guess
from airwork.airplane.file.base import CATEGORIES
from airwork.airplane.file.loading import Corner, Envelope, WeightAndBalance
from airwork.airplane.loading import arm_limits_in, station_kind
from airwork.units import IN_M

FAR_IN = 130.0  # no seat, tank or locker of a light single lies further from the envelope
WB = "weight_and_balance"
CM_PER_IN = 100.0 * IN_M


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about loading."""
    yield from _weights(book)
    wb = book.file.weight_and_balance
    if wb is None:
        return
    yield from _stations(book, wb)
    for category in CATEGORIES:
        envelope: Envelope | None = getattr(wb, f"envelope_{category}")
        table = f"{WB}.envelope_{category}"
        if envelope is None:
            if category in book.airplane.categories:
                yield book.doubt(WB, f"no envelope_{category}", f"[airplane] names the {category} category.")
            continue
        if category not in book.airplane.categories:
            what = f"envelope_{category}"
            yield book.doubt(table, what, f"[airplane] category doesn't name {category}.")
        yield from _polygon(book, table, envelope, category)
        yield from _empty(book, table, wb, envelope)
        for name in envelope.station_maximum_lb:
            if name not in {s.name for s in wb.stations}:
                yield book.doubt(table, f"station_maximum_lb names {name!r}", "There is no such station.")


def _weights(book: Book) -> Iterator[Complaint]:
    a = book.file.airplane
    top = a.maximum_takeoff_weight_lb
    for key in ("maximum_landing_weight_lb", "handbook_weight_lb"):
        weight = getattr(a, key)
        if weight is not None and weight > top:
            what = book.weight(weight)
            yield book.doubt("airplane", what, f"The maximum takeoff weight is {book.weight(top)}.", key=key)
    if a.maximum_ramp_weight_lb is not None and a.maximum_ramp_weight_lb < top:
        what = book.weight(a.maximum_ramp_weight_lb)
        why = f"The ramp weight is not below the takeoff weight, {book.weight(top)}."
        yield book.doubt("airplane", what, why, key="maximum_ramp_weight_lb")


def _stations(book: Book, wb: WeightAndBalance) -> Iterator[Complaint]:
    corners = [
        c.arm_in for category in CATEGORIES if (e := getattr(wb, f"envelope_{category}")) is not None for c in e.polygon
    ]
    names = [s.name.lower() for s in wb.stations]
    envelopes = tuple(f"{WB}.envelope_{c}" for c in CATEGORIES if getattr(wb, f"envelope_{c}") is not None)
    for i, station in enumerate(wb.stations):
        say = partial(book.doubt, WB, row=i, of="stations")
        if names.index(station.name.lower()) != i:
            yield say(f"{station.name!r} again", "Two stations of one name can't be told apart.")
        if corners and not min(corners) - FAR_IN <= station.arm_in <= max(corners) + FAR_IN:
            yield say(
                f"{station.name} at {book.arm(station.arm_in)}",
                f"The envelope lies between {book.arm(min(corners))} and {book.arm(max(corners))}; a moment typed as "
                "an arm, or another datum?",
                leans=envelopes,
            )
        if station_kind(station) == "fuel" and station.usable_us_gal is not None and book.file.fuel:
            here = [t for t in book.file.fuel.tanks if t.station in {None, station.name}]
            total = sum(t.usable_us_gal for t in here)
            only = sum(station_kind(s) == "fuel" for s in wb.stations) == 1
            if (only or any(t.station for t in here)) and abs(total - station.usable_us_gal) > 0.3:
                said = (
                    book.number(f"{WB}.stations", "usable_us_gal", station.usable_us_gal),
                    book.number("fuel.tanks", "usable_us_gal", total),
                )
                what = f"{said[0]} usable, its tanks have {said[1]}"
                yield book.doubt(
                    "fuel",
                    f"{station.name}, the station, has {what}",
                    f"The station and [fuel] disagree.{guess(total, station.usable_us_gal, 'usable_us_gal')}",
                    leans=(WB,),
                    whole=True,
                )


def _polygon(book: Book, table: str, envelope: Envelope, category: str) -> Iterator[Complaint]:
    corners = envelope.polygon
    crossing = _crossing(corners)
    if crossing is not None:
        a, b = crossing
        yield book.doubt(
            table,
            f"the side after corner {a + 1} crosses the side after corner {b + 1}",
            "An envelope's outline does not cross itself: are the corners in order round it?",
            key="polygon",
        )
    elif abs(_area(corners)) < 1.0:
        yield book.doubt(table, "encloses nothing", "The corners lie on one line.", key="polygon")
    heaviest = max(c.weight_lb for c in corners)
    top = book.file.airplane.maximum_takeoff_weight_lb
    if heaviest > top + 0.5:
        what = f"reaches {book.weight(heaviest)}"
        said = f"The maximum takeoff weight is {book.weight(top)}."
        yield book.doubt(table, what, said, key="polygon", leans=("airplane",))
    if category == "normal" and heaviest < top - 0.5:
        what = f"ends at {book.weight(heaviest)}"
        said = f"The maximum takeoff weight is {book.weight(top)}."
        yield book.doubt(table, what, said, key="polygon", leans=("airplane",))


def _area(corners: list[Corner]) -> float:
    return 0.5 * sum(
        a.arm_in * b.weight_lb - b.arm_in * a.weight_lb for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
    )


def _crossing(corners: list[Corner]) -> tuple[int, int] | None:
    """Two sides of the outline that cross, by their first corners; None if none do."""
    n = len(corners)

    def side(p: Corner, q: Corner, r: Corner) -> float:
        across = (q.arm_in - p.arm_in) * (r.weight_lb - p.weight_lb) - (q.weight_lb - p.weight_lb) * (
            r.arm_in - p.arm_in
        )
        return (across > 1e-9) - (across < -1e-9)

    for i in range(n):
        for k in range(i + 2, n):
            if i == 0 and k == n - 1:
                continue  # neighbors
            a, b, c, d = corners[i], corners[i + 1], corners[k], corners[(k + 1) % n]
            if side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0:
                return i, k
    return None


def in_centimeters(arm_in: float, limits_in: tuple[float, float]) -> str:
    """What to say where the arm would fit if it were typed in centimeters: 218 cm is 85.8 in; "" else."""
    would = arm_in / CM_PER_IN
    return f" {arm_in:g} cm would be {would:.1f} in." if limits_in[0] <= would <= limits_in[1] else ""


def _empty(book: Book, table: str, wb: WeightAndBalance, envelope: Envelope) -> Iterator[Complaint]:
    """The empty center of gravity should lie within the arms of the envelope's lightest weight."""
    lightest = min(c.weight_lb for c in envelope.polygon)
    edges = arm_limits_in(envelope, max(wb.empty_weight_lb, lightest))
    if edges is None:
        return
    if not edges[0] - 0.05 <= wb.empty_arm_in <= edges[1] + 0.05:
        side = "ahead of" if wb.empty_arm_in < edges[0] else "behind"
        envelope_name = table.rsplit("_", 1)[-1]
        yield book.doubt(
            WB,
            f"{book.arm(wb.empty_arm_in)}, empty, is {side} the {envelope_name} envelope "
            f"({book.arm(edges[0])} to {book.arm(edges[1])})",
            "A light single's empty center of gravity lies inside it; is the datum the same in both, or a digit wrong?"
            + in_centimeters(wb.empty_arm_in, edges),
            key="empty_arm_in",
            leans=(table,),
        )
