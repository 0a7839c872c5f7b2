"""The fitted file beside a typed one: what was learned is taken up when the typed file is loaded."""

from __future__ import annotations

from pathlib import Path

from airwork.airplane.file.fitted import FITTED_FROM
from airwork.airplane.file.load import read_airplane_file
from airwork.airplane.file.model import AirplaneFile
from airwork.errors import InputError

ENDING = ".fitted.toml"


def fitted_path(typed: Path) -> Path:
    """NAME.fitted.toml beside NAME.toml; a fitted file is written over by its own next fit."""
    return typed.with_name(stem(typed) + ENDING)


def stem(typed: Path) -> str:
    """The airplane's part of a file name."""
    return typed.name.removesuffix(ENDING).removesuffix(".toml")


def with_learning(path: Path, file: AirplaneFile) -> AirplaneFile:
    """The typed file with what was learned of the airplane, where it was learned from these very tables and readings.

    A fitted file that can't be read, or was made from tables that have changed since, is left aside: the next fit or
    debrief makes it anew.
    """
    beside = fitted_path(path)
    if file.fitted is not None or path.name.endswith(ENDING) or not beside.is_file():
        return file
    try:
        learned = read_airplane_file(beside)
    except InputError:
        return file
    if _inputs(file) != _inputs(learned):
        return file
    return file.model_copy(update={"fitted": learned.fitted, "observations": learned.observations})


def _inputs(file: AirplaneFile) -> str:
    """What was typed of what a fit reads; which readings the fit left out is its own."""
    bare = [row.model_copy(update={"left_out": ""}) for row in file.observations]
    return file.model_copy(update={"observations": bare}).model_dump_json(include=set(FITTED_FROM))
