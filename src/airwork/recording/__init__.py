"""Recordings: any honest file becomes one clean `Flight`: readers (one module per format) → clean → derive."""

from airwork.recording.flight import COLUMNS, Column, Flight, GroundContact, Mend
from airwork.recording.read import read_flight

__all__ = ["COLUMNS", "Column", "Flight", "GroundContact", "Mend", "read_flight"]
