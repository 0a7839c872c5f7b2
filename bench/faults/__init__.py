"""Recorder faults: a clean flight written as real recorders write it, each file with the truth it must come back to.

`clean` reads a flight of bench/fly.py; `recorders` draws what a phone, tracker, logger, ADS-B receiver or panel
makes of it (columns, names, units, rates, holes); `clocks` its times; `writing` its file. Nothing here uses airwork's
readers, so that a fault of theirs can't hide here.
"""
