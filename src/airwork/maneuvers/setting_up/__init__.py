"""How a set-up is worked out: the worksheet and the lines of power, stall, turn, wind, departure and arrival."""
