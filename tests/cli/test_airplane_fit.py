"""`airwork airplane fit` and `airwork airplane plot` as a person types them."""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from pathlib import Path

import numpy as np
import polars as pl
import pytest
import tomli_w

from airwork.airplane import load_airplane
from airwork.airplane.performance import performance
from airwork.airplane.performance.knowledge import read_knowledge
from airwork.airplane.performance.learn import learn
from airwork.cli import main
from flown_flights import write_flight
from invented_truth import truths


@pytest.fixture
def typed(tmp_path: Path, airplane_folder: Path) -> Path:
    """A typed airplane file of one's own."""
    path = tmp_path / "mine.toml"
    shutil.copy(airplane_folder / "larkmoor_155.toml", path)
    return path


def test_it_reports_and_writes_beside_the_typed_file(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = typed.read_bytes()
    assert main(["airplane", "fit", str(typed)]) == 0
    out = capsys.readouterr().out
    for heading in ("Readings used", "How this airplane differs from its book", "What is known"):
        assert heading in out
    assert "Not for navigation" in out
    assert typed.read_bytes() == before
    fitted = typed.with_name("mine.fitted.toml")
    kept, plain = performance(load_airplane(fitted)), performance(load_airplane(typed))
    assert np.allclose(kept.theta, plain.theta, rtol=1e-6)
    assert main(["airplane", "fit", str(fitted)]) == 0  # again, over its own earlier result
    assert fitted.exists()
    assert not typed.with_name("mine.fitted.fitted.toml").exists()


def test_it_refuses_to_write_over_the_typed_file(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["airplane", "fit", str(typed), "--out", str(typed)]) == 2
    assert "mine.fitted.toml" in capsys.readouterr().err
    assert main(["airplane", "fit", str(typed), "--out", str(typed.parent / "none" / "x.toml")]) == 2


def test_json_gives_the_same_facts_with_units(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["airplane", "fit", str(typed), "--json", "--dry-run", "--against-book"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["written"] is None
    report, first = data["report"], data["report"]["known"][0]
    assert (first["answer"], first["unit"]) == ("slow flight, flaps up", "rpm")
    assert first["readings_90"] < first["handbook_90"] < first["general_90"]
    assert len(report["used"]) == 11
    assert len(report["against_book"]) > 150
    assert {"table", "conditions", "unit", "printed", "model"} <= set(report["against_book"][0])
    assert not typed.with_name("mine.fitted.toml").exists()


def test_against_book_prints_every_row(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["airplane", "fit", "wrenbrook_108", "--against-book", "--dry-run"]) == 0
    out = capsys.readouterr().out
    assert "climb, rate" in out
    assert "V-speeds, best rate of climb" in out
    assert len(out.splitlines()) > 300


def test_an_outlier_is_shown_before_it_is_left_out(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = tomllib.loads(typed.read_text())
    document["observations"][2]["rpm"] = 2460
    typed.write_text(tomli_w.dumps(document))
    assert main(["airplane", "fit", str(typed), "--dry-run"]) == 0
    out = capsys.readouterr().out
    assert out.index("Left out") < out.index("What is known")
    assert "2,460 RPM" in out
    assert "the fit says 2,0" in out
    assert main(["airplane", "fit", str(typed), "--dry-run", "--keep-outliers"]) == 0
    assert "Left out" not in capsys.readouterr().out


def recording(path: Path, seed: int = 0, rate_hz: float = 1.0) -> Path:
    """Eight minutes of a lesson as a recorder writes it."""
    return write_flight(path, truths()["larkmoor_155"], seed, minutes=8, weight_lb=2100.0, rate_hz=rate_hz)


def test_a_flight_is_learned_once_however_often_it_is_fitted(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The fitted file says from what it was made; the second fit forgets nothing and counts nothing twice."""
    flown = recording(typed.parent / "monday.csv")
    assert main(["airplane", "fit", str(typed), str(flown), "--weight", "2100lb"]) == 0
    assert "monday.csv, 2026-05-04" in capsys.readouterr().out
    first = tomllib.loads(typed.with_name("mine.fitted.toml").read_text())["fitted"]
    assert [row["recording"] for row in first["flights"]] == ["monday.csv"]
    again = recording(typed.parent / "same_at_ten.csv", rate_hz=10.0)
    assert main(["airplane", "fit", str(typed), str(again), str(flown), "--weight", "2100lb"]) == 0
    assert capsys.readouterr().out.count("counted once") == 2
    assert main(["airplane", "fit", str(typed)]) == 0  # without recordings: what was learned stays
    third = tomllib.loads(typed.with_name("mine.fitted.toml").read_text())["fitted"]
    assert np.allclose(third["values"], first["values"], rtol=1e-3)  # kept rows are rounded
    tuesday = recording(typed.parent / "tuesday.csv", seed=1)
    assert main(["airplane", "fit", str(typed), str(tuesday)]) == 0
    assert "not noted, assumed" in capsys.readouterr().out
    both = tomllib.loads(typed.with_name("mine.fitted.toml").read_text())["fitted"]
    assert {row["recording"] for row in both["flights"]} == {"monday.csv", "tuesday.csv"}
    assert main(["airplane", "fit", str(typed), "--forget", "tuesday.csv"]) == 0
    last = tomllib.loads(typed.with_name("mine.fitted.toml").read_text())["fitted"]
    assert np.allclose(last["values"], first["values"], rtol=1e-3)
    capsys.readouterr()
    assert main(["airplane", "fit", str(typed), "--history"]) == 0
    told = capsys.readouterr().out
    assert (
        told.index("learned from monday.csv") < told.index("learned from tuesday.csv") < told.index("removed tuesday")
    )


def test_a_recording_with_rpm_takes_the_place_of_one_without(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The track of a lesson came first, the panel's recording of the same lesson later: one flight, with its RPM."""
    data = tomllib.loads(typed.read_text())
    for table in [t for t in data["performance"] if t != "stall"]:  # where no table prints powers, climbs alone teach
        del data["performance"][table]
    data.pop("observations", None)
    typed.write_text(tomli_w.dumps(data))
    track, panel = (
        write_flight(typed.with_name(f"{name}.csv"), truths()["larkmoor_155"], 4, minutes=18, rpm_recorded=rpm)
        for name, rpm in (("track", False), ("panel", True))
    )
    assert main(["airplane", "fit", str(typed), str(track), "--weight", "2050lb"]) == 0
    assert [f.name for f in read_knowledge(typed).flights] == ["track.csv"]
    assert main(["airplane", "fit", str(typed), str(panel)]) == 0
    kept = read_knowledge(typed)
    assert [(f.name, f.weight_from) for f in kept.flights] == [("panel.csv", "typed")]
    assert [e.kind for e in kept.history] == ["learned", "removed", "learned"]
    assert main(["airplane", "fit", str(typed), str(track)]) == 0
    assert "learned already (as panel.csv)" in capsys.readouterr().out
    assert len(read_knowledge(typed).history) == 3


def test_the_typed_file_answers_with_what_was_learned(typed: Path) -> None:
    """Loading mine.toml takes up mine.fitted.toml beside it, until a table it was learned from changes."""
    plain = performance(load_airplane(typed))
    flown = recording(typed.parent / "monday.csv")
    assert main(["airplane", "fit", str(typed), str(flown), "--weight", "2100lb"]) == 0
    learned = performance(load_airplane(typed))
    assert not np.allclose(learned.theta, plain.theta, rtol=1e-4)
    assert np.array_equal(learned.theta, performance(load_airplane(typed.with_name("mine.fitted.toml"))).theta)
    text = typed.read_text()
    typed.write_text(text + '\n[[checklists]]\nname = "before takeoff"\nitems = ["controls free"]\n')
    assert np.array_equal(performance(load_airplane(typed)).theta, learned.theta)
    assert load_airplane(typed).file.checklists[-1].name == "before takeoff"
    typed.write_text(text.replace("rated_power_hp = 155", "rated_power_hp = 150"))
    assert load_airplane(typed).file.fitted is None


def test_a_debrief_teaches_by_itself(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    flown = recording(typed.parent / "monday.csv")
    shown = ["debrief", str(flown), "--airplane", str(typed), "--weight", "2100lb"]
    assert main([*shown, "--no-learning"]) == 0
    assert not typed.with_name("mine.learning.jsonl").exists()
    capsys.readouterr()
    assert main(shown) == 0
    assert "learned from 1 flight" in capsys.readouterr().err
    kept = typed.with_name("mine.learning.jsonl").read_text()
    assert main(shown) == 0
    assert "learned" not in capsys.readouterr().err
    assert typed.with_name("mine.learning.jsonl").read_text() == kept
    assert performance(load_airplane(typed)).learned.own.residuals.size == 0


def test_a_spoiled_history_is_one_line_and_exit_2(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["airplane", "fit", str(typed), str(recording(typed.parent / "monday.csv"))]) == 0
    history = typed.with_name("mine.learning.jsonl")
    history.write_text(history.read_text()[:-200])
    capsys.readouterr()
    assert main(["airplane", "fit", str(typed)]) == 2
    err = capsys.readouterr().err
    assert "line 1" in err
    assert "Traceback" not in err
    assert main(["airplane", "fit", str(typed), "--forget", "sunday.csv"]) == 2


def test_bad_input_is_one_line_and_exit_2(typed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = (
        ["airplane", "fit", "no_such_airplane"],
        ["airplane", "fit", str(typed), str(tmp_path / "none.csv")],
        ["airplane", "fit", str(typed), str(recording(tmp_path / "f.csv")), "--weight", "2200"],
        ["airplane", "fit", str(typed), str(tmp_path / "f.csv"), "--weight", "9000lb"],
        ["airplane", "plot", "larkmoor_155", "--out", str(tmp_path / "x.gif")],
        ["airplane", "plot", "larkmoor_155", "--out", str(tmp_path / "x.png"), "--weight", "5000lb"],
        ["airplane", "plot", "larkmoor_155", "--out", str(tmp_path / "x.png"), "--altitude", "30000ft"],
        ["airplane", "plot", "larkmoor_155", "--out", str(tmp_path / "x.png"), "--oat", "90C"],
    )
    for arguments in bad:
        assert main(arguments) == 2, arguments
        err = capsys.readouterr().err
        assert "Traceback" not in err
        assert "fault in airwork" not in err


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_a_picture_names_its_curves(name: str, tmp_path: Path) -> None:
    """SVG text holds the axes' names, flap names and the caution."""
    path = tmp_path / "all.svg"
    assert main(["airplane", "plot", name, "--altitude", "3000ft", "--oat", "14C", "--out", str(path)]) == 0
    text = path.read_text()
    for words in ("flaps up", "flaps full", "indicated, ", "pressure altitude", "Not for navigation", "cruise"):
        assert words in text


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_one_panel_drawn_twice_is_the_same_to_the_byte(ending: str, tmp_path: Path) -> None:
    one, two = tmp_path / f"one.{ending}", tmp_path / f"two.{ending}"
    for path in (one, two):
        arguments = ["airplane", "plot", "larkmoor_155", "--panel", "rpm", "--speed-unit", "kt", "--out", str(path)]
        assert main(arguments) == 0
    assert one.read_bytes() == two.read_bytes()
    assert one.read_bytes().startswith({"png": b"\x89PNG", "svg": b"<svg"}[ending])


def test_a_hot_high_heavy_day_still_draws(tmp_path: Path) -> None:
    """Full flaps that can't hold level, no cruise at 65 %: curves are cut, nothing breaks."""
    path = tmp_path / "hot.svg"
    arguments = ["airplane", "plot", "wrenbrook_108", "--altitude", "11000ft", "--oat", "20C", "--weight", "1600lb"]
    assert main([*arguments, "--out", str(path)]) == 0
    assert path.stat().st_size > 10_000


def test_the_answers_behind_the_pictures_as_text_and_json(capsys: pytest.CaptureFixture[str]) -> None:
    day = ["numbers", "larkmoor_155", "--altitude", "6500ft", "--oat", "28C", "--weight", "1965lb"]
    assert main([*day, "--model"]) == 0
    out = capsys.readouterr().out
    assert "Slow flight, full flaps" in out
    assert re.search(r"RPM +2,2\d\d ± \d+ +estimate", out)
    assert main([*day, "--model", "--json"]) == 0
    sections = json.loads(capsys.readouterr().out)["sections"]
    (rpm,) = (n for s in sections if s["title"].startswith("slow flight, full flaps") for n in s["numbers"]
              if n["key"] == "RPM")  # fmt: skip
    assert rpm["how"] == "fitted model"
    assert rpm["uncertainty_90"] > 0.0
    assert main(day) == 0
    assert "±" not in capsys.readouterr().out


def test_an_airplane_that_prints_nothing_is_not_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import tomllib

    import tomli_w

    from airwork.airplane import find_airplane_file

    data = tomllib.loads(find_airplane_file("wrenbrook_108").read_text(encoding="utf-8"))
    kept = ("airplane", "engine", "propeller", "flaps", "airspeed_calibration", "v_speeds", "limitations")
    bare = {key: data[key] for key in kept} | {"performance": {"stall": data["performance"]["stall"]}}
    (tmp_path / "bare.toml").write_text(tomli_w.dumps(bare), encoding="utf-8")
    out = tmp_path / "x.png"
    assert main(["airplane", "plot", str(tmp_path / "bare.toml"), "--out", str(out)]) == 2
    assert "prints no power chart, cruise or climb table" in capsys.readouterr().err
    assert not out.exists()


def test_flights_alone_are_enough_to_draw(typed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No table, no reading; what full throttle gives is as surely known from the fitted file as when it was learned."""
    data = tomllib.loads(typed.read_text(encoding="utf-8"))
    data["observations"], data["performance"] = [], {"stall": data["performance"]["stall"]}
    typed.write_text(tomli_w.dumps(data), encoding="utf-8")
    assert main(["airplane", "fit", str(typed), str(recording(typed.parent / "monday.csv")), "--weight", "2100lb"]) == 0
    fitted = typed.with_name("mine.fitted.toml")
    kept, general = (performance(load_airplane(f)).fixed for f in (fitted, _without_flights(typed)))
    learned = learn(load_airplane(typed), [], read_knowledge(typed).flights).engine
    assert np.allclose(kept.cov, learned.cov, rtol=1e-3)
    assert (np.sqrt(np.diag(kept.cov)) < np.sqrt(np.diag(general.cov))).all()
    capsys.readouterr()
    assert main(["numbers", str(fitted), "--model"]) == 0
    assert "Full-throttle climb, best rate" in capsys.readouterr().out


def _without_flights(typed: Path) -> Path:
    path = typed.with_name("other.toml")
    shutil.copy(typed, path)
    return path


@pytest.mark.parametrize(("turns", "learned"), [(1.0, True), (1.25, False)])
def test_a_flight_that_airplane_could_not_have_flown_teaches_it_nothing(
    typed: Path, capsys: pytest.CaptureFixture[str], turns: float, learned: bool
) -> None:
    """The same lesson with the engine a quarter faster: another airplane's, and how to learn it anyway."""
    flown = recording(typed.parent / "monday.csv")
    if turns != 1.0:
        table = pl.read_csv(flown)
        (rpm,) = [c for c in table.columns if "rpm" in c.lower()]
        table.with_columns(pl.col(rpm) * turns).write_csv(flown)
    assert main(["debrief", str(flown), "--airplane", str(typed), "--weight", "2100lb"]) == 0
    said = capsys.readouterr().err
    assert ("learned nothing from this flight" in said) == (not learned)
    assert ("airwork airplane fit mine.toml RECORDING" in said) == (not learned)
    assert bool(read_knowledge(typed).flights) == learned
