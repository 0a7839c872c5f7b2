"""The face in a browser."""
