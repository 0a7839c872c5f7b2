"""Why it drifted: detectors an instructor would recognize, each with the stretch that shows it, none without evidence.

A detector takes the mark sheet of a maneuver and gives a `Cause` or None. Weights compare: 1 is a drift as large as the
tolerance. The rooms say which detectors look at them. Sentences are ours; techniques are the handbook's
([AFH] FAA-H-8083-3C chapters 3, 5, 7, 9, 10).
"""
