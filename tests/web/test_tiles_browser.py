"""The user's own PMTiles file seen in real Chromium: its colors are on the map, and nothing is asked of elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from airwork.web.settings import Settings
from airwork.web.tiles import open_tiles
from web.browsing import CHROMIUM, REQUIRED, Watched, serving
from web.tilemaker import make_tiles

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
PICTURE_COLOR = (0xC0, 0x20, 0x20)  # of the picture tiles made for this test
# How many pixels of a color the tiles' canvases or pictures hold.
COUNT = """([color, kind]) => {
  let found = 0;
  for (const tile of document.querySelectorAll(`.leaflet-tiles-pane ${kind}`)) {
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = 256;
    const ink = canvas.getContext("2d");
    ink.drawImage(tile, 0, 0, 256, 256);
    const data = ink.getImageData(0, 0, 256, 256).data;
    for (let i = 0; i < data.length; i += 4)
      if (data[i + 3] > 200 && color.every((c, k) => Math.abs(data[i + k] - c) <= 2)) found += 1;
  }
  return found;
}"""


@pytest.fixture(params=["vector", "picture"])
def mapped(request, tmp_path: Path, make_folder) -> Iterator[tuple[str, str]]:
    """(kind of tiles, address of a server that was given such a file)."""
    make_folder(tmp_path)
    file = make_tiles(tmp_path / "county.pmtiles", pictures=request.param == "picture", zooms=range(4, 11))
    with serving(Settings(folder=tmp_path, tiles=open_tiles(file))) as address:
        yield request.param, address


def _water(page) -> list[int]:
    text = page.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--water').trim()")
    return [int(text[k : k + 2], 16) for k in (1, 3, 5)]


def test_the_file_is_drawn_under_the_lesson(mapped: tuple[str, str], chromium) -> None:
    kind, server = mapped
    with Watched.on(chromium, server) as watched:
        page = watched.page
        page.goto("/")
        color, tag = (list(PICTURE_COLOR), "img") if kind == "picture" else (_water(page), "canvas")
        page.wait_for_function(f"a => ({COUNT})(a) > 500", arg=[color, tag], polling=200)  # every tile is read
        credit = page.locator(".credit", has_text="drawn for a test & nothing else")
        expect(credit).to_be_visible()  # beside the map's own
        if kind == "vector":  # pieces, not the whole file
            assert any(a.endswith("/map/tiles.pmtiles") for a in watched.asked)
