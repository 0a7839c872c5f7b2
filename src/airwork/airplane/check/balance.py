"""Suspicions about loading that need more than one number: arms by kind and order, edges, usual loadings inside.

Arms are held against the wing's mean chord (area over span): seats, tanks and lockers stand where the wing can carry
them. Ranges are common practice, from memory, wide.
"""

from __future__ import annotations

from collections.abc import Iterator

from airwork.airplane.check.book import Book, Complaint
from airwork.airplane.check.loading import in_centimeters
from airwork.airplane.file.base import CATEGORIES
from airwork.airplane.file.loading import Envelope, WeightAndBalance
from airwork.airplane.loading import arm_limits_in, station_kind

WB = "weight_and_balance"
CHORD_IN = 58.0  # where the file gives no wing
# Percent of the chord: ahead of the wing's quarter by some, and short of the neutral point, 40 to 50 %, by 5 % at least
FORE_PERCENT, AFT_PERCENT = (2.0, 28.0), (23.0, 41.0)
WIDTH = (0.06, 0.34)  # of the envelope, in chords
# Place of a station against the envelope's middle, in chords
PLACES = {"front_seats": (-0.55, 0.5), "fuel": (-0.65, 1.1), "rear_seats": (0.2, 1.4), "baggage": (-0.8, 2.4)}
PERSON_LB = 170.0
LEVEL = 0.06  # of the envelope's height: its two highest corners lie at one weight
ENVELOPES = tuple(f"envelope_{name}" for name in CATEGORIES)
SEATS_LB, BAGGAGE_LB = (180.0, 900.0), (15.0, 450.0)  # most allowed at a row of seats, in a locker


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about arms, edges and usual loadings."""
    wb = book.file.weight_and_balance
    if wb is None:
        return
    envelopes = {f"{WB}.{n}": e for n in ENVELOPES if (e := getattr(wb, n)) is not None}
    if not envelopes:
        return
    path, envelope = next(iter(envelopes.items()))
    a = book.file.airplane
    chord = 12.0 * a.wing_area_ft2 / a.wing_span_ft if a.wing_area_ft2 and a.wing_span_ft else CHORD_IN
    chord = chord if 25 < chord < 110 else CHORD_IN
    edges = next((found for p, e in envelopes.items() if (found := list(_edges(book, p, e, chord)))), [])
    yield from edges
    yield from _places(book, wb, path, envelope, chord)
    yield from _most(book, wb)
    for where, e in envelopes.items():
        yield from _percents(where, e, book)
    if not edges:
        yield from _usual(book, wb, path, envelope)


def _edges(book: Book, path: str, envelope: Envelope, chord: float) -> Iterator[Complaint]:
    corners = envelope.polygon
    arms, weights = [c.arm_in for c in corners], [c.weight_lb for c in corners]
    width = (max(arms) - min(arms)) / chord

    def say(row: int, what: str, why: str, *, whole: bool = False) -> Complaint:
        return book.doubt(path, what, why, row=row, of="polygon", whole=whole)

    def arm(x: float) -> str:
        return book.number(f"{path}.polygon", "arm_in", x)

    if not WIDTH[0] <= width <= WIDTH[1]:
        odd = max(range(len(arms)), key=lambda i: abs(arms[i] - sorted(arms)[len(arms) // 2]))
        yield say(
            odd,
            f"the envelope is {arm(max(arms) - min(arms))} wide, {100 * width:.0f} % of the wing's chord",
            f"{100 * WIDTH[0]:.0f} to {100 * WIDTH[1]:.0f} % is usual; a digit of a corner, or another unit?",
            whole=True,
        )
        return
    low, top = min(weights), max(weights)
    lightest = [i for i, w in enumerate(weights) if w < low + 0.12 * (top - low)]
    if len({round(weights[i], 1) for i in lightest}) > 1 or len(lightest) == 1:
        spread = sorted(range(len(weights)), key=lambda i: weights[i])[:2]
        odd = min(spread, key=lambda i: abs(weights[i] - low))
        said = " and ".join(book.number(f"{path}.polygon", "weight_lb", weights[i]) for i in spread)
        yield say(odd, f"its lowest corners lie at {said}", "The bottom of an envelope is level; a digit is wrong.")
    second = sorted(weights)[-2]
    if top - second > LEVEL * (top - low):
        said = " and ".join(book.number(f"{path}.polygon", "weight_lb", w) for w in (top, second))
        yield say(
            weights.index(second), f"its highest corners lie at {said}", "The top of one is level; a digit is wrong."
        )
    middle = 0.5 * (min(arms) + max(arms))
    aft = [i for i in range(len(arms)) if arms[i] > middle]
    bent = [i for i in aft if abs(arms[i] - max(arms)) > 0.02 * chord / 10]
    tall = max(weights[i] for i in aft) - min(weights[i] for i in aft) > 0.2 * (top - low) if aft else False
    at_low = [i for i in aft if weights[i] == low]
    if bent and tall and at_low and len(aft) == 2:
        i = bent[0]
        yield say(
            i,
            f"its aft edge runs from {arm(arms[aft[0]])} to {arm(arms[aft[1]])}",
            "Nearly every aft limit is one arm at all weights; a digit of a corner?",
        )
    least, most = min(arms), max(arms)
    lowest = {w: min(x for x, v in zip(arms, weights, strict=True) if v == w) for w in weights}
    front = [i for i in range(len(arms)) if arms[i] == lowest[weights[i]] <= most - 0.25 * (most - least)]
    front.sort(key=lambda i: weights[i])
    for a, b, c in zip(front, front[1:], front[2:], strict=False):
        below, above = ((arms[j] - arms[i]) / max(weights[j] - weights[i], 1.0) for i, j in ((a, b), (b, c)))
        if below > above + 0.01 * chord / (top - low):
            yield say(
                a,
                f"its forward limit moves aft faster up to {book.number(f'{path}.polygon', 'weight_lb', weights[b])} "
                "than above",
                "A forward limit is one arm up to some weight and moves aft from there; a digit of a corner?",
            )
            break


def _places(book: Book, wb: WeightAndBalance, path: str, envelope: Envelope, chord: float) -> Iterator[Complaint]:
    arms = [c.arm_in for c in envelope.polygon]
    middle = 0.5 * (min(arms) + max(arms))
    where = [(i, s, station_kind(s), (s.arm_in - middle) / chord) for i, s in enumerate(wb.stations)]
    off = [(i, s, k, x) for i, s, k, x in where if k in PLACES and not PLACES[k][0] <= x <= PLACES[k][1]]
    for i, s, kind, x in off[:1]:
        fits = (middle + PLACES[kind][0] * chord, middle + PLACES[kind][1] * chord)
        side = "behind" if x > 0 else "ahead of"
        more = f" So with {len(off) - 1} more." if len(off) > 1 else ""
        said = book.number(f"{WB}.stations", "arm_in", s.arm_in)
        yield book.doubt(
            WB,
            f"{s.name} at {said}, {abs(x):.1f} wing chords {side} the envelope's middle",
            f"It can hardly be there; a digit, a moment typed as an arm, or another datum or unit?"
            f"{in_centimeters(s.arm_in, fits)}{more}",
            row=i,
            of="stations",
            column="arm_in",
            rows=tuple(o[0] for o in off),
            leans=(path,),
            whole=len(off) > 1,
        )


def _most(book: Book, wb: WeightAndBalance) -> Iterator[Complaint]:
    useful = book.file.airplane.maximum_takeoff_weight_lb - wb.empty_weight_lb
    for i, s in enumerate(wb.stations):
        limits = {"front_seats": SEATS_LB, "rear_seats": SEATS_LB, "baggage": BAGGAGE_LB}.get(station_kind(s))
        if limits is None or s.maximum_lb is None:
            continue
        high = min(limits[1], 1.25 * useful) if useful > 0 else limits[1]
        if not limits[0] <= s.maximum_lb <= high:
            said = book.number(f"{WB}.stations", "maximum_lb", s.maximum_lb)
            yield book.doubt(
                WB,
                f"{s.name}: {said} at most",
                "Too little or too much for such a place in this airplane; a digit, or kg and lb?",
                row=i,
                of="stations",
                column="maximum_lb",
            )


def _percents(path: str, envelope: Envelope, book: Book) -> Iterator[Complaint]:
    """Where a book prints percent of the chord: the forward and the aft limit lie where a stable airplane has them."""
    percents = [c.percent_mac for c in envelope.polygon if c.percent_mac is not None]
    if len(percents) < len(envelope.polygon):
        return
    for words, found, (least, most) in (
        ("forward", min(percents), FORE_PERCENT), ("aft", max(percents), AFT_PERCENT),
    ):  # fmt: skip
        if not least <= found <= most:
            row = percents.index(found)
            yield book.doubt(
                path,
                f"its {words} limit lies at {found:g} % of the chord",
                f"{least:g} to {most:g} % is usual; a digit of the corners?",
                row=row,
                of="polygon",
            )


def _usual(book: Book, wb: WeightAndBalance, path: str, envelope: Envelope) -> Iterator[Complaint]:
    """One and two people with half fuel lie inside the envelope of every light single."""
    top = book.file.airplane.maximum_takeoff_weight_lb
    front = next((s for s in wb.stations if station_kind(s) == "front_seats"), None)
    tanks = [s for s in wb.stations if station_kind(s) == "fuel"]
    if front is None or not tanks:
        return
    density = book.file.engine.fuel_density_lb_per_us_gal
    gallons = sum(t.usable_us_gal for t in book.file.fuel.tanks) if book.file.fuel else 0.0
    off = []
    for people in (1, 2):
        parts = [(wb.empty_weight_lb, wb.empty_arm_in), (PERSON_LB * people, front.arm_in)]
        parts += [(0.5 * gallons * density / len(tanks), s.arm_in) for s in tanks]
        weight = sum(w for w, _ in parts)
        arm = sum(w * x for w, x in parts) / weight
        edges = arm_limits_in(envelope, min(max(weight, min(c.weight_lb for c in envelope.polygon)), top))
        if weight < top and edges is not None and not edges[0] - 0.05 <= arm <= edges[1] + 0.05:
            off.append((people, arm, edges))
    for people, arm, edges in off[:1]:
        arms = f"{WB}.stations"
        low, high = (book.number(arms, "arm_in", e) for e in edges)
        who = "one person" if people == 1 else "two people"
        yield book.doubt(
            WB,
            f"{who} in front, half fuel: balance at {book.number(arms, 'arm_in', arm)}, allowed {low} to {high}",
            "Every light single may be flown so; is an arm, the empty weight or a corner mistyped?",
            leans=(path,),
        )
