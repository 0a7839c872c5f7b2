"""What the user's own map gives to every page: lakes and roads from GeoJSON, and a PMTiles file in pieces."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import FileResponse, JSONResponse, Response
from starlette.exceptions import HTTPException

from airwork.errors import InputError
from airwork.web import land
from airwork.web.tiles import Tiles, picture_tile

router = APIRouter()
MOST_DEG = 20.0  # no lesson is wider
KEPT = {"Cache-Control": "private, max-age=3600"}


def _tiles(request: Request) -> Tiles:
    found: Tiles | None = request.app.state.settings.tiles
    if found is None:
        raise HTTPException(404)
    return found


@router.get("/map/own.json")
def own_map(request: Request) -> Response:
    """The user's own lakes and roads, and how their PMTiles file is drawn, for every map."""
    settings = request.app.state.settings
    tiles = None if settings.tiles is None else settings.tiles.as_json()
    return JSONResponse({**land.own_map(settings.folder), "tiles": tiles})


Degrees = Annotated[float, Query(ge=-180.0, le=180.0)]


@router.get("/map/around.json")
def around(request: Request, south: Degrees, west: Degrees, north: Degrees, east: Degrees) -> Response:
    """Land and airports around a box."""
    if not (south <= north <= south + MOST_DEG and west <= east <= west + MOST_DEG):
        raise InputError(f"south to north and west to east, at most {MOST_DEG:g}° each.", where="box")
    return JSONResponse(land.surroundings(south, west, north, east))


@router.get("/map/tiles.pmtiles", response_class=FileResponse)
def tiles(request: Request) -> Response:
    """The PMTiles file; pieces of it for a Range header."""
    return FileResponse(_tiles(request).path, media_type="application/vnd.pmtiles", headers=KEPT)


@router.get("/map/tiles/{zoom}/{x}/{y}", response_class=Response)
def picture(request: Request, zoom: int, x: int, y: int) -> Response:
    """One picture tile; nothing where the file has none."""
    found = _tiles(request)
    made = picture_tile(found, zoom, x, y) if found.picture else None
    return Response(status_code=204) if made is None else Response(made, media_type=found.picture, headers=KEPT)
