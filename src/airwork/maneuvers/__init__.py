"""One room per maneuver: set-up, ideal trace, propose, grade. The list of rooms is the only place that names them."""
