"""A drawing under a table of rows: each printed column along its last input, where a slip is a kink."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from airwork.output.drawing import Axis, Line, Mark, xy_svg
from airwork.web.airplane_form import Grid, words
from airwork.web.airplane_form import Grid
