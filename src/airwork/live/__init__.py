"""Live: a flight followed as it is flown: lines in, a card that keeps time, calls, a recording out.

Core without clock, network or screen: `reading` (a line → samples), `watch` (what is known now, how old, how sure),
`recorder` (crash-safe rows), `seeing` (maneuvers as they happen), `card` (numbers for the moment), `calls` (what is
said), `follower` (all of it together). Around it `sources` (UDP, TCP, serial, a file replayed), `page` and `terminal`.
A training aid: not for navigation, no primary instrument.
"""
