"""A map file of the user's own: looked into before the server starts, served in pieces, drawn under every map."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from pmtiles.reader import Reader, all_tiles
from starlette.testclient import TestClient

from airwork.errors import InputError
from airwork.web.settings import Settings
from airwork.web.tiles import open_tiles
from web.conftest import new_app
from web.tilemaker import LAYERS, make_tiles


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_tiles(tmp_path_factory.mktemp("tiles") / "county.pmtiles")


def _client(path: Path, folder: Path) -> TestClient:
    return TestClient(new_app(Settings(folder=folder, tiles=open_tiles(path))), base_url="http://localhost")


def test_a_file_says_its_layers_its_box_and_its_makers(file: Path) -> None:
    found = open_tiles(file)
    assert dict(found.layers) == {"earth": "ground", "water": "water", "roads": "roads", "places": "words"}
    assert [name for name, _ in found.layers] == list(LAYERS)
    assert found.credit == "drawn for a test & nothing else"  # text, whatever markup the file holds
    assert found.box_deg == pytest.approx((40.8, -102.4, 41.9, -101.2))
    assert (found.least_zoom, found.most_zoom, found.picture) == (0, 10, "")


def test_pieces_are_served_so_that_the_formats_own_reader_finds_every_tile(file: Path, tmp_path: Path) -> None:
    """The public reader of the format, fed over HTTP ranges, sees what it sees in the file."""
    client = _client(file, tmp_path)

    def over_http(offset: int, length: int) -> bytes:
        got = client.get("/map/tiles.pmtiles", headers={"range": f"bytes={offset}-{offset + length - 1}"})
        assert got.status_code == 206
        assert got.headers["content-range"].startswith(f"bytes {offset}-")
        assert "content-encoding" not in got.headers
        return got.content

    raw = file.read_bytes()
    from_file = dict(all_tiles(lambda offset, length: raw[offset : offset + length]))
    reader = Reader(over_http)
    assert reader.header() == Reader(lambda o, n: raw[o : o + n]).header()
    assert len(from_file) > 20
    for place in list(from_file)[::7]:
        assert reader.get(*place) == from_file[place]
    assert client.get("/map/tiles.pmtiles", headers={"range": f"bytes={len(raw) + 5}-"}).status_code == 416


def test_the_maps_are_told_of_the_file(file: Path, tmp_path: Path) -> None:
    told = _client(file, tmp_path).get("/map/own.json").json()["tiles"]
    assert told["url"] == "/map/tiles.pmtiles"
    assert told["most"] == 10
    without = TestClient(new_app(Settings(folder=tmp_path)), base_url="http://localhost")
    assert without.get("/map/own.json").json()["tiles"] is None
    assert without.get("/map/tiles.pmtiles").status_code == 404


def test_picture_tiles_are_taken_out_of_the_file(tmp_path: Path) -> None:
    client = _client(make_tiles(tmp_path / "photo.pmtiles", pictures=True, zooms=range(5, 8)), tmp_path)
    told = client.get("/map/own.json").json()["tiles"]
    assert told["picture"]
    got = client.get("/map/tiles/7/27/47")
    assert got.headers["content-type"] == "image/png"
    assert got.content.startswith(b"\x89PNG")
    assert client.get("/map/tiles/7/1/1").status_code == 204
    assert client.get("/map/tiles/9/27/47").status_code == 204


def test_a_bad_file_is_one_clear_line(file: Path, tmp_path: Path) -> None:
    raw = file.read_bytes()
    bad = {
        "is no PMTiles file": b"something else entirely, long enough to be looked at",
        "PMTiles of version 2": raw[:7] + b"\x02" + raw[8:],
        "is cut short": raw[:-500],
        "list of contents is damaged": raw[:300] + b"\x00" * 200 + raw[500:],
        "neither vector tiles": raw[:99] + b"\x00" + raw[100:],
    }
    for words, content in bad.items():
        path = tmp_path / "bad.pmtiles"
        path.write_bytes(content)
        with pytest.raises(InputError, match=re.escape(words)) as found:
            open_tiles(path)
        assert str(found.value).startswith(str(path))
        assert "\n" not in str(found.value)
    with pytest.raises(InputError, match="can't be opened"):
        open_tiles(tmp_path / "none.pmtiles")
    with pytest.raises(InputError, match="names no layers"):
        open_tiles(make_tiles(tmp_path / "plain.pmtiles", zooms=range(2), vector_layers=[]))


def test_the_command_refuses_a_bad_file_with_2(tmp_path: Path) -> None:
    path = tmp_path / "bad.pmtiles"
    path.write_text("no map")
    done = subprocess.run(
        [sys.executable, "-m", "airwork", "serve", "--folder", str(tmp_path), "--tiles", str(path), "--port", "0"],
        capture_output=True, text=True, timeout=600, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.strip().splitlines() == [f"airwork serve: {path}: is no PMTiles file."]


def test_a_student_sees_the_map_too_and_a_stranger_does_not(school, file: Path) -> None:
    import dataclasses

    kept = school.app.state.settings
    school.app.state.settings = dataclasses.replace(kept, tiles=open_tiles(file))
    try:
        assert school.as_("Nora Whitlock").get("/map/tiles.pmtiles").status_code == 200
        stranger = TestClient(school.app, base_url="http://localhost", follow_redirects=False)
        assert stranger.get("/map/tiles.pmtiles").status_code == 303
        assert json.loads(school.as_("Nora Whitlock").get("/map/own.json").text)["tiles"]
    finally:
        school.app.state.settings = kept
