"""Tolerances as data: one file per authority and certificate, each value with its source."""
