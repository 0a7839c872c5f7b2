"""The lesson's airplane chosen anew on Today, and the lesson itself renamed, copied, taken out and put back."""

from __future__ import annotations

import re
import shutil
import tomllib
from pathlib import Path
from urllib.parse import urlencode

import airwork
from airwork.airplane import load_airplane
from airwork.lesson.again import misfits
from airwork.lesson.file import find_airplane

LESSON = "stalls_over_the_lake"
DEMO = Path(airwork.__file__).parent / "demo_files"
OTHER = {"lesson": LESSON, "airplane/file": "caldmere_200"}
DIPPED = {"fuel-of": "caldmere_200", "fuel/left wing": "20 gal", "fuel/right wing": "19 gal"}


def tanks(page: str) -> list[str]:
    return re.findall(r'name="fuel/[^"]*" value="([^"]*)"', page)


def stored(folder: Path) -> dict:
    return tomllib.loads((folder / "lessons" / f"{LESSON}.toml").read_text(encoding="utf-8"))


def test_another_airplanes_fuel_is_asked_anew_never_taken_over(alone) -> None:
    assert tanks(alone.get("/", params={"lesson": LESSON}).text) == ["18 gal", "16.5 gal"]
    # a form without scripts sends the old airplane's tanks along with the new airplane
    for sent in (OTHER, {**OTHER, "fuel/left wing": "18 gal", "fuel/right wing": "16.5 gal"}):
        page = alone.get("/", params=sent).text
        assert tanks(page) == ["", ""]
        assert "dip the tanks" in page
        assert 'class="verdict' not in page
    page = alone.get("/", params={**OTHER, **DIPPED}).text
    assert tanks(page) == ["20 gal", "19 gal"]
    assert 'class="verdict' in page
    back = {**OTHER, **DIPPED, "airplane/file": "larkmoor_155"}
    assert tanks(alone.get("/", params=back).text) == ["18 gal", "16.5 gal"]


def test_the_airplane_is_written_with_its_fuel_only_and_the_rest_stays(alone, tmp_path: Path) -> None:
    before = stored(tmp_path)
    held = alone.post("/today/save", {"lesson": LESSON, "query": urlencode(OTHER)})
    assert held.status_code == 422
    assert stored(tmp_path) == before
    assert alone.post("/today/save", {"lesson": LESSON, "query": urlencode({**OTHER, **DIPPED})}).status_code == 303
    after = stored(tmp_path)
    assert after["airplane"] == {"file": "caldmere_200"}
    assert after["fuel"] == {"left wing": "20 gal", "right wing": "19 gal"}
    assert {k: v for k, v in after.items() if k not in {"airplane", "fuel"}} == {
        k: v for k, v in before.items() if k not in {"airplane", "fuel"}
    }


def test_another_name_in_the_instructors_seat_is_the_instructor_everywhere(alone, tmp_path: Path) -> None:
    """Card, verdict and file name who sits there, not who sat there in the lesson before."""
    asked = {"lesson": LESSON, "people/1/name": "Petra Holm", "people/1/weight": "61 kg"}
    page = alone.get("/", params=asked).text
    assert "with Petra Holm" in page
    assert "with Emmett Dray" not in page
    assert alone.post("/today/save", {"lesson": LESSON, "query": urlencode(asked)}).status_code == 303
    after = stored(tmp_path)
    assert (after["instructor"]["name"], after["people"][1]["name"]) == ("Petra Holm", "Petra Holm")


def test_what_the_other_airplane_does_not_take_is_said(alone) -> None:
    page = alone.get("/", params={**OTHER, "airplane/file": "wrenbrook_108"}).text
    assert "Nora Whitlock: it has no “front seats”; it has seats" in page
    assert "is no file name" not in page
    lost = alone.get("/", params={**OTHER, "airplane/file": "no_such"}).text
    assert "no airplane file" in lost


def test_a_prohibited_exercise_and_a_notch_too_many_are_misfits_and_the_right_lesson_has_none(tmp_path: Path) -> None:
    text = (DEMO / "airplanes" / "caldmere_200.toml").read_text(encoding="utf-8")
    turns = 'name = "steep_turns"\npermitted_in = '
    assert turns in text
    strict = tmp_path / "strict.toml"
    strict.write_text(re.sub(re.escape(turns) + r"\[.*\]", f"{turns}[]", text), encoding="utf-8")
    plane = load_airplane(DEMO / "airplanes" / "caldmere_200.toml")
    name = plane.file.weight_and_balance.stations[0].name
    good = {"people": [{"name": "A", "station": name}], "exercises": [{"kind": "steep_turn"}]}
    assert misfits(good, plane) == ()
    assert misfits(good, load_airplane(strict)) == ("Steep turn: its handbook prohibits it",)
    notch = {"exercises": [{"kind": "slow_flight", "target": {"flaps": 9}}]}
    assert misfits(notch, plane) == (f"slow_flight: flap notch 9; it has {plane.flaps_full}",)


def test_an_airplane_of_ones_own_in_airplanes_is_found_from_a_lesson(tmp_path: Path) -> None:
    """What the pages write: airplanes/mine.toml and lessons/one.toml."""
    for place in ("airplanes", "lessons"):
        (tmp_path / place).mkdir()
    mine = tmp_path / "airplanes" / "mine.toml"
    shutil.copy(DEMO / "airplanes" / "larkmoor_155.toml", mine)
    assert find_airplane("mine", tmp_path / "lessons", "airplane") == mine
    assert find_airplane("mine", tmp_path, "airplane") == mine


def test_a_lesson_is_renamed_copied_taken_out_and_put_back(alone, tmp_path: Path) -> None:
    renamed = urlencode({"lesson": LESSON, "title": "Stalls, second go"})
    assert alone.post("/today/save", {"lesson": LESSON, "query": renamed}).status_code == 303
    assert re.search(r"Stalls, second go[^<]*</option>", alone.get("/").text)
    copied = alone.post("/lessons/copy", {"lesson": LESSON, "title": "For a windy day"}).headers["location"]
    key = copied.rsplit("=", 1)[1]
    assert "For a windy day" in alone.get(copied).text
    assert stored(tmp_path)["title"] == "Stalls, second go"
    out = alone.post("/lessons/take-out", {"lesson": key})
    word = re.search(r'name="word" value="([^"]+)"', out.text)[1]
    assert alone.get(copied).status_code == 404
    assert alone.post("/lessons/put-back", {"word": word}).headers["location"] == copied
    assert "For a windy day" in alone.get(copied).text
    assert alone.post("/lessons/put-back", {"word": "../../etc/passwd"}).status_code == 422


def test_an_invented_lesson_is_not_taken_out(alone, tmp_path: Path) -> None:
    shutil.rmtree(tmp_path / "lessons")
    assert alone.post("/lessons/take-out", {"lesson": LESSON}).status_code == 422
