"""What comes next of a lesson flown in another order than it was planned. Common practice, no source."""

from __future__ import annotations

from airwork.live.order import Order

LESSON = ("slow_flight", "power_off_stall", "power_off_stall", "steep_turn", "emergency_descent")


def test_what_was_passed_over_stays_to_be_flown() -> None:
    order = Order(LESSON)
    order.flown("steep_turn")
    assert (order.next, order.left) == (0, (0, 1, 2, 4))
    order.flown("power_off_stall")
    assert (order.next, order.left) == (0, (0, 2, 4))
    for kind in ("slow_flight", "power_off_stall", "emergency_descent"):
        order.flown(kind)
    assert order.next is None


def test_the_instructor_chooses_what_comes_next() -> None:
    order = Order(LESSON)
    order.choose(4)
    assert order.left == (4, 0, 1, 2, 3)
    order.flown("emergency_descent")
    assert order.next == 0
    order.choose(4)  # flown already
    order.choose(17)
    assert order.next == 0


def test_another_try_beyond_the_plan_has_the_numbers_of_the_last() -> None:
    order = Order(LESSON)
    order.flown("steep_turn")
    order.flown("steep_turn")
    assert order.place("steep_turn") == 3
    assert order.place("chandelle") is None
    assert order.left == (0, 1, 2, 4)
