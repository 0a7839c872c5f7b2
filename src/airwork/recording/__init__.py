"""Recordings: any honest file becomes one clean `Flight`: readers (one module per format) → clean → derive."""
