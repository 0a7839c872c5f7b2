"""Suspicions about tanks and the fuel selector."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from airwork.airplane.check.book import Book, Complaint
from airwork.airplane.file.identity import Fuel

GALLON = 0.26  # amounts are printed to the half gallon


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about the fuel system."""
    if book.file.fuel is None:
        return
    yield from _amounts(book, book.file.fuel)
    yield from _pairs(book)
    yield from _feeds(book, book.file.fuel)
    yield from _imbalance(book, book.file.fuel)


def _amounts(book: Book, fuel: Fuel) -> Iterator[Complaint]:
    """Usable, unusable and capacity of each tank belong together; its station is one of the loading's."""
    wb = book.file.weight_and_balance
    for i, tank in enumerate(fuel.tanks):
        say = partial(book.doubt, "fuel", row=i, of="tanks")
        if tank.usable_us_gal > tank.capacity_us_gal:
            of = book.number("fuel.tanks", "capacity_us_gal", tank.capacity_us_gal)
            what = f"{tank.name}: {book.number('fuel.tanks', 'usable_us_gal', tank.usable_us_gal)} usable of {of}"
            yield say(what, "More usable fuel than the tank holds; are the two exchanged?")
        elif tank.unusable_us_gal is not None:
            total = tank.usable_us_gal + tank.unusable_us_gal
            if abs(total - tank.capacity_us_gal) > GALLON:
                said = [book.number("fuel.tanks", "capacity_us_gal", x) for x in (total, tank.capacity_us_gal)]
                what = f"{tank.name}: usable and unusable make {said[0]}, capacity {said[1]}"
                yield say(what, "Usable and unusable fuel make up the capacity.")
        elif tank.usable_us_gal == tank.capacity_us_gal:
            of = book.number("fuel.tanks", "capacity_us_gal", tank.capacity_us_gal)
            what = f"{tank.name}: all {of} it holds are usable, and no unusable fuel is typed"
            yield say(what, "Some stays in nearly every tank: does the book print it?")
        if tank.station is not None and wb is not None and tank.station not in {s.name for s in wb.stations}:
            yield say(f"station {tank.station!r}", "There is no such station in [weight_and_balance].")


def _feeds(book: Book, fuel: Fuel) -> Iterator[Complaint]:
    """Which tanks each selector position feeds from; a tank that none does."""
    positions = book.airplane.selector_positions
    say = partial(book.doubt, "fuel", key="selector_positions")
    unknown = [position for position in positions if position.feeds is None]
    for position in unknown:
        yield say(f"{position.name!r}", "Which tanks does it feed from? Write { name = ..., feeds = [ ... ] }.")
    fed = {tank for position in positions for tank in position.feeds or ()}
    for tank in fuel.tanks if positions and not unknown else ():
        if tank.name not in fed:
            why = "No selector position feeds from this tank, so its fuel is not usable."
            yield say(f"{tank.name} is never fed from", why)


def _imbalance(book: Book, fuel: Fuel) -> Iterator[Complaint]:
    """The limit is no more than all tanks hold."""
    total = sum(tank.usable_us_gal for tank in fuel.tanks)
    if fuel.imbalance_limit_us_gal is not None and fuel.imbalance_limit_us_gal > total:
        what = book.number("fuel", "imbalance_limit_us_gal", fuel.imbalance_limit_us_gal)
        why = f"All tanks together hold {book.number('fuel.tanks', 'usable_us_gal', total)}."
        yield book.doubt("fuel", what, why, key="imbalance_limit_us_gal")


def _pairs(book: Book) -> Iterator[Complaint]:
    """The left tank holds what the right one holds."""
    fuel = book.file.fuel
    by_name = {tank.name.lower(): i for i, tank in enumerate(fuel.tanks if fuel else [])}
    for name, i in by_name.items():
        k = by_name.get(name.replace("left", "right")) if "left" in name else None
        if fuel is None or k is None:
            continue
        left, right = fuel.tanks[i], fuel.tanks[k]
        for key in ("usable_us_gal", "capacity_us_gal", "unusable_us_gal"):
            a, b = getattr(left, key), getattr(right, key)
            if a is not None and b is not None and abs(a - b) > 0.05:
                said = book.number("fuel.tanks", key, a), book.number("fuel.tanks", key, b)
                word = key.partition("_")[0]
                yield book.doubt(
                    "fuel",
                    f"{left.name}: {said[0]} {word}, {right.name}: {said[1]}",
                    "The tanks of a pair are alike; a digit of one of them?",
                    row=i,
                    of="tanks",
                    rows=(i, k),
                )
                return
