"""The debrief: one consistent story of the flight, grades, causes, summary."""
