"""Invented airplanes and the books about them, for the bench of slips. Knows nothing of `airwork.airplane.check`."""
