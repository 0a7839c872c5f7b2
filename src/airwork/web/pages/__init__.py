"""The pages, one module each, each with a `router`."""

from __future__ import annotations

import importlib

from fastapi import APIRouter

PAGES = (
    "today",
    "day",
    "chair",
    "lessons",
    "entries",
    "columns",
    "debriefs",
    "airplane_new",
    "airplanes",
    "students",
    "school",
    "people",
    "persons",
    "maps",
    "login",
)


def routers() -> list[APIRouter]:
    """The routers of every page, in the order of the menu."""
    return [importlib.import_module(f"airwork.web.pages.{name}").router for name in PAGES]
