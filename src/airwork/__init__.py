"""airwork: the flight instructor's job with real computation: prepare, brief, fly, debrief, record.

Floors, ground first: `units`, `airdata`, `airplane`, `standards`, `recording`, `maneuvers`, `lesson`, `debrief`,
`logbook`; the faces `output`, `web` and `cli` on top. Imports only go down (checked by the import contract in
`pyproject.toml`). Not for navigation; the airplane's handbook and the instructor decide.
"""

__version__ = "0.1.0"
