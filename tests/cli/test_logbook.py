"""The logbook's commands, as a person types them."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from airwork.cli import COULD_NOT, DONE, NOT_MET, logbook, main
from airwork.cli.logbook_add import WHAT
from airwork.cli.logbook_tools import counted
from logbook import school

RAW = b"time,altitude\n" + b"".join(b"%d,6500\n" % n for n in range(500))


class Shell:
    """Runs commands on one logbook and keeps what they printed."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys, self.data = folder, capsys, folder / "logbook.sqlite"

    def run(self, *words: str, data: bool = True) -> tuple[int, str, str]:
        code = main(["logbook", *words, *(("--data", str(self.data)) if data else ())])
        said = self.capsys.readouterr()
        return code, said.out, said.err

    def ok(self, *words: str) -> str:
        code, out, err = self.run(*words)
        assert code == DONE, err
        return out

    def refused(self, *words: str) -> str:
        """One line on stderr, exit code 2, no traceback."""
        code, _, err = self.run(*words)
        assert code == COULD_NOT
        assert err.count("\n") == 1, err
        assert "Traceback" not in err
        assert "a fault in airwork itself" not in err, err
        return err

    def signed(self, flight: str) -> None:
        """Ike's key made, and a flight signed with it, the password in a file."""
        guard = self.folder / "password"
        guard.write_text(school.PASSWORD + "\n", "utf-8")
        self.ok("key", "Ike", "--password-file", str(guard))
        self.ok("sign", flight, "--instructor", "Ike", "--password-file", str(guard))

    def json(self, *words: str) -> Any:
        return json.loads(self.ok(*words, "--json"))

    def debrief(self, day: int = 1, **more: Any) -> str:
        path = self.folder / f"debrief{day}.json"
        start = school.NOW - 3 * 86400.0 + day * 86400.0
        path.write_text(json.dumps(school.debrief_dict(start, **more)), "utf-8")
        return str(path)


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path, capsys)


@pytest.fixture(scope="module")
def engaged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a logbook with a student, an instructor, an airplane and two places; each test takes a copy."""
    folder, zone = tmp_path_factory.mktemp("engaged"), ("--zone", "America/Denver")
    for words in (
        ("student", "Ann Example", "--born", "1990-02-03", *zone), ("instructor", "Ike Teacher", *zone),
        ("airplane", "INV155", "--file", "larkmoor_155"),
        ("place", "HOME", "--lat", "40", "--lon", "-105", "--no-tower", *zone),
        ("place", "NEAR", "--lat", "40.4", "--lon", "-105", "--tower", *zone),
    ):  # fmt: skip
        assert main(["logbook", "add", *words, "--data", str(folder / "logbook.sqlite")]) == DONE
    return folder


@pytest.fixture
def staffed(shell: Shell, engaged: Path) -> Shell:
    """Somebody at such a logbook."""
    shutil.copytree(engaged, shell.folder, dirs_exist_ok=True)
    return shell


def test_a_first_flight_is_entered_shown_and_counted(staffed: Shell) -> None:
    said = staffed.ok(
        "add", "flight", "--student", "Ann", "--instructor", "Ike", "--airplane", "INV155",
        "--start", "2026-06-14 09:00", "--end", "2026-06-14 10:18", "--route", "HOME", "HOME", "--takeoffs", "4",
        "--landings", "3 full-stop", "--landings", "1",
    )  # fmt: skip
    assert "dual 1.3 h" in said
    shown = staffed.ok("show", "ann")
    assert "1.3 h in 1 flight," in shown
    assert "4 landings (0 at night)" in shown
    assert "38.7 h" in shown  # of 40
    assert "14 CFR 61.109(a)" in shown


def test_a_debrief_is_imported_once(staffed: Shell) -> None:
    (staffed.folder / "flight.csv").write_bytes(RAW)
    words = ("import", staffed.debrief(), "--student", "Ann", "--instructor", "Ike", "--route", "HOME", "HOME")
    assert "taken in: dual 1.3 h, 4 maneuvers" in staffed.ok(*words)
    again = staffed.ok(*words)
    assert "unchanged" in again
    assert "nothing was changed" in again
    assert len(staffed.json("list", "flights", "--student", "Ann")) == 1


def test_a_recording_is_imported_with_its_debrief_on_the_way(staffed: Shell) -> None:
    """The real open recording of another tool's documentation is not needed: a plain climb and descent will do."""
    import numpy as np
    import polars as pl

    t = np.arange(0.0, 1800.0, 1.0)
    flying = (t > 120) & (t < 1700)
    height = np.interp(t, [0, 120, 600, 1300, 1700, 1800], [5000, 5000, 7500, 7500, 5000, 5000])
    speed = np.where(flying, 95.0, np.where((t > 30) & (t < 1780), 8.0, 0.0))
    path = staffed.folder / "flight.csv"
    pl.DataFrame(
        {
            "UTC": [f"2026-06-14T15:{int(s) // 60:02d}:{int(s) % 60:02d}Z" for s in t],
            "latitude (deg)": 40.0 + np.cumsum(speed) / 3600.0 / 60.0 * np.where(t < 900, 1, -1),
            "longitude (deg)": np.full(t.size, -105.0),
            "altitude (ft)": height,
            "ground speed (kt)": speed,
            "IAS (kt)": np.where(flying, 90.0, 0.0),
        }
    ).write_csv(path)
    words = ("import", str(path), "--student", "Ann", "--instructor", "Ike", "--airplane", "INV155")
    assert "taken in: dual 0.5 h" in staffed.ok(*words)  # moving from 00:31 to 29:40
    assert "nothing was changed" in staffed.ok(*words)
    flight = staffed.json("list", "flights", "--student", "Ann")[0]["logged"]["flight"]
    page = staffed.json("flight", flight["id"])
    assert page["recording_kept"]
    assert page["standard"].startswith("Private pilot")
    assert page["airplane"]["registration"] == "INV155"


def test_an_import_says_which_airplane_it_took_and_with_which_file_it_debriefed(staffed: Shell) -> None:
    """The shortest recording that flies: what it is debriefed into is the business of other tests."""
    import airwork

    recording = Path(airwork.__file__).parent / "demo_files" / "recordings" / "2025-09-18_pattern.gpx"
    words = ("import", str(recording), "--student", "Ann", "--instructor", "Ike")
    said = staffed.ok(*words)
    assert "debriefed against private, without an airplane file" in said
    assert "in no airplane; airwork logbook change flight" in said
    staffed.ok("remove", re.findall("flight ([0-9a-f]{8})", said)[0], "--yes")
    said = staffed.ok(*words, "--airplane", "INV155")
    assert ", in INV155" in said
    assert re.search(r"debriefed against private, with .*larkmoor_155\.toml", said)


def test_several_files_are_taken_in_each_by_itself(staffed: Shell) -> None:
    """One that can't be is named and stops nothing; what is said of one flight alone is refused."""
    words = (staffed.debrief(), "none.csv", staffed.debrief(2), "--student", "Ann", "--instructor", "Ike")
    code, out, _ = staffed.run("import", *words)
    assert (code, out.count("taken in: dual")) == (COULD_NOT, 2)
    assert "none.csv: not taken in: " in out
    assert len(staffed.json("list", "flights", "--student", "Ann")) == 2
    assert "goes with one flight alone" in staffed.refused("import", *words, "--hours", "1.0")


def test_ones_own_airplane_file_is_found_beside_the_recording(staffed: Shell) -> None:
    import shutil

    import airwork

    demo = Path(airwork.__file__).parent / "demo_files"
    shutil.copy(demo / "recordings" / "2025-09-18_pattern.gpx", staffed.folder)
    own = staffed.folder / "our_airplane.toml"
    text = (demo / "airplanes" / "larkmoor_155.toml").read_text().replace('id = "larkmoor_155"', 'id = "ours"', 1)
    own.write_text(text)
    own.with_suffix(".fitted.toml").write_text(text)  # beside it, as `airwork airplane fit` leaves it
    staffed.ok("add", "airplane", "N1", "--file", str(own), "--model", "Ours")
    recording = str(staffed.folder / "2025-09-18_pattern.gpx")
    words = ("import", recording, "--student", "Ann", "--instructor", "Ike", "--airplane", "N1")
    said = staffed.ok(*words)
    assert f"with {own}" in said
    staffed.ok("remove", re.findall("flight ([0-9a-f]{8})", said)[0], "--yes")
    other = staffed.folder / "mistyped.toml"
    other.write_text(text)
    assert "are both ours; say which: --airplane-file" in staffed.refused(*words)
    assert f"with {own}" in staffed.ok(*words, "--airplane-file", str(own))
    staffed.ok("remove", staffed.json("list", "flights", "--student", "Ann")[0]["logged"]["flight"]["id"], "--yes")
    other.unlink()
    own.unlink()
    assert "without the file of N1, ours: not found here (--airplane-file FILE)" in staffed.ok(*words)


def test_of_two_airplanes_alike_an_import_asks_which(staffed: Shell) -> None:
    assert "INV155 taken: the only Larkmoor 155 entered" in staffed.ok(
        "import", staffed.debrief(), "--student", "Ann", "--instructor", "Ike"
    )
    staffed.ok("add", "airplane", "N156LM", "--file", "larkmoor_155")
    words = ("import", staffed.debrief(2), "--student", "Ann", "--instructor", "Ike")
    assert "INV155, N156LM are entered; say which" in staffed.refused(*words)


def test_a_flights_airplane_is_put_right_until_it_is_signed(staffed: Shell) -> None:
    said = staffed.ok("import", staffed.debrief(), "--student", "Ann", "--instructor", "Ike")
    number = re.findall("flight ([0-9a-f]{8})", said)[0]
    staffed.ok("add", "airplane", "N156LM", "--file", "larkmoor_155")
    staffed.ok("change", "flight", number, "--airplane", "N156LM", "--remarks", "hot day")
    page = staffed.json("flight", number)
    assert page["airplane"]["registration"] == "N156LM"
    assert page["flight"]["remarks"] == "hot day"
    guard = staffed.folder / "wrong"
    guard.write_text("a wrong password\n", "utf-8")
    assert "no signing key yet; make one" in staffed.refused(
        "sign", number, "--instructor", "Ike", "--password-file", str(guard)
    )
    staffed.signed(number)
    assert "a signed entry stays" in staffed.refused("remove", number, "--yes")
    told = [one["told"] for one in staffed.json("history", staffed.json("flight", number)["flight"]["id"])]
    assert any("remarks nothing → hot day" in line for line in told)
    said = staffed.ok("add", "flight", "--student", "Ann", "--instructor", "Ike", "--corrects", number,
                      "--date", "2026-06-13", "--hours", "1.4")  # fmt: skip
    assert "entered" in said
    assert "is to count in its place once it is signed" in staffed.ok("flight", number)
    assert f"corrects {number}, signed" in staffed.ok("list", "flights", "--student", "Ann")
    assert "INV155" in staffed.ok("list", "airplanes")
    assert "a signed entry stays" in staffed.refused("change", "flight", number, "--remarks", "cold day")


def test_an_import_says_who_was_in_charge(staffed: Shell) -> None:
    assert "say who was in charge" in staffed.refused("import", staffed.debrief(), "--student", "Ann")


def test_marks_stand_side_by_side_on_the_flights_page(staffed: Shell) -> None:
    said = staffed.ok("import", staffed.debrief(), "--student", "Ann", "--instructor", "Ike")
    flight = re.search(r"flight (\w{8})", said)
    assert flight is not None
    staffed.ok(
        "mark", "practice", "--flight", flight[1], "--episode", "2", "--instructor", "Ike", "--remark", "look out"
    )
    staffed.ok("mark", "perform", "--flight", flight[1], "--episode", "2", "--student", "Ann")
    staffed.signed(flight[1])
    page = staffed.ok("flight", flight[1])
    line = next(text for text in page.splitlines() if "Steep turn" in text)
    assert re.search(r"2 +Steep turn +not held +practice \(look out\) +perform +practice +altitude", line)
    assert "signed by its instructor, signature verified" in page


def test_solo_is_forbidden_until_it_is_endorsed(staffed: Shell) -> None:
    ask = (
        "standing",
        "Ann",
        "--start",
        "2026-06-16 09:00",
        "--role",
        "solo",
        "--airplane",
        "INV155",
        "--route",
        "HOME",
    )
    staffed.ok("add", "date", "--person", "Ann", "--kind", "medical.third", "--on", "2026-01-05")
    before = staffed.json(*ask)
    assert before["answer"] == "forbidden"
    for kind in ("presolo_test", "presolo_training", "endorsement.solo"):
        staffed.ok(
            "add", "endorsement", "--student", "Ann", "--instructor", "Ike", "--kind", kind, "--airplane", "INV155",
            "--on", "2026-06-10",
        )  # fmt: skip
    assert staffed.json(*ask)["answer"] == "allowed"
    trip = staffed.json(*ask, "NEAR", "HOME")
    assert trip["answer"] == "forbidden"  # Q19: a landing 24 NM away needs 61.93(b)(1)
    assert any(f["rule_id"] == "us.need.solo_landing_within_25" for f in trip["findings"])
    code, _, _ = staffed.run(*ask, "NEAR", "HOME", "--strict")
    assert code == NOT_MET


def test_left_is_a_table_with_sources_and_labels(staffed: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "120")  # a narrow screen breaks the words within their column
    said = staffed.ok("left", "Ann")
    assert "61.109(a)(5)(ii)" in said
    assert "from memory, not verified" in said
    assert "regulation in force decides" in said


def test_progress_is_drawn_on_one_page(staffed: Shell) -> None:
    for day in range(1, 4):
        staffed.ok("import", staffed.debrief(day), "--student", "Ann", "--instructor", "Ike")
    for kind, magic in (("png", b"\x89PNG"), ("pdf", b"%PDF"), ("svg", b"<svg")):
        out = staffed.folder / f"progress.{kind}"
        said = staffed.ok("progress", "Ann", "--out", str(out))
        assert "Fly next" in said
        assert out.read_bytes().startswith(magic)
        if kind == "pdf":
            assert len(re.findall(rb"/Type ?/Page\b(?!s)", out.read_bytes())) == 1
    assert ".png, .pdf or .svg" in staffed.refused("progress", "Ann", "--out", str(staffed.folder / "p.docx"))


def test_hours_are_printed_with_their_sums(staffed: Shell) -> None:
    for day in (1, 2):
        staffed.ok("import", staffed.debrief(day), "--student", "Ann", "--instructor", "Ike", "--airplane", "INV155")
    said = staffed.ok("hours", "Ann", "--pdf", str(staffed.folder / "hours.pdf"))
    total = next(text for text in said.splitlines() if text.startswith("sum"))
    assert re.search(r"2\.6 +2\.6 .* 2 flights", total)
    assert (staffed.folder / "hours.pdf").read_bytes().startswith(b"%PDF")
    data = staffed.json("hours", "Ann", "--from", "2026-06-14")
    assert data["totals"]["flights"] == 1


def test_hours_by_the_minute_add_up_as_they_stand(staffed: Shell) -> None:
    """0:55, 1:15, 1:00 dual and 0:45 solo are 3:10 and 3:55, as lines and as sums."""
    pages = staffed.folder / "old.csv"
    rows = [f"2026-05-0{k},{h},{who}" for k, (h, who) in enumerate(
        (("0:55", "dual,Ike"), ("1:15", "dual,Ike"), ("1:00", "dual,Ike"), ("0:45", "solo,")), 1)]  # fmt: skip
    pages.write_text("\n".join(["date,hours,role,instructor", *rows]), "utf-8")
    staffed.ok("add", "flights", str(pages), "--student", "Ann")
    data = staffed.json("hours", "Ann")
    times = dict(data["totals"]["times_s"])
    assert [times[kind] / 60.0 for kind in ("total", "dual", "solo")] == [235.0, 190.0, 45.0]
    told = staffed.ok("hours", "Ann")
    assert all(text in told for text in ("0:55", "1:15", "1.0", "0:45", "3:10", "3:55"))


def test_a_csv_of_old_pages_is_entered_whole_or_not_at_all(staffed: Shell) -> None:
    pages = staffed.folder / "old.csv"
    head = "date,hours,role,instructor,airplane,route,takeoffs,landings,night,remarks\n"
    good = '2026-05-01,1.3,dual,Ike,INV155,HOME-HOME,3,"3 full-stop",,first\n2026-05-02,0:54,solo,,INV155,HOME,3,3,,\n'
    pages.write_text(head + good + "2026-05-03,1.0,captain,,,,,,,\n", "utf-8")
    said = staffed.refused("add", "flights", str(pages), "--student", "Ann")
    assert "line 4" in said
    assert "captain" in said
    assert staffed.json("list", "flights", "--student", "Ann") == []
    pages.write_text(head + good, "utf-8")
    assert "2 flights of Ann Example entered, 2.2 h" in staffed.ok("add", "flights", str(pages), "--student", "Ann")
    # The same file again, a line twice, days that can't be: refused whole; what else is odd is said.
    words = ("add", "flights", str(pages), "--student", "Ann")
    assert "is on record with 1.3 h dual in INV155, 3 landings" in staffed.refused(*words)
    by_hand = ("add", "flight", "--student", "Ann", "--instructor", "Ike", "--airplane", "INV155", "--landings", "3")
    assert "--overlap" in staffed.refused(*by_hand, "--date", "2026-05-01", "--hours", "1.3")
    assert "is still to come" in staffed.refused(*by_hand, "--date", "2100-05-01", "--hours", "1.3")
    for lines, wrong in {
        ("2026-05-04,1.0,solo,,,,,3,,", "2026-05-04,1.0,solo,,,,,3,,"): "line 3",
        ("2100-05-04,1.0,solo,,,,,3,,",): "is still to come",
        ("1989-05-04,1.0,solo,,,,,3,,",): "before Ann Example was born",
        ("2026-05-04,13,dual,Ike,,,,3,,", "2026-05-04,14,dual,Ike,,,,5,,"): "27.0 h on 2026-05-04",
        (): "is empty: its first line names the columns",
    }.items():  # fmt: skip
        pages.write_text(head * bool(lines) + "\n".join(lines), "utf-8")
        assert wrong in staffed.refused(*words), lines
    pages.write_text(f"{head.strip()},cross_country\n2026-05-05,1.0,solo,,,HOME-HOME,,3,,,1.0\n", "utf-8")
    said = staffed.ok(*words)
    assert "1 flight of Ann Example entered, 1.0 h" in said
    assert "look at line 2, 2026-05-05: cross-country 1.0 h, and its farthest landing is 0 NM away" in said
    pages.write_text(head + good, "utf-8")
    assert "2 flights of Ann Example entered" in staffed.ok(*words, "--overlap")
    assert len(staffed.json("list", "flights", "--student", "Ann")) == 5


def test_backup_restore_export_forget_and_merge(staffed: Shell) -> None:
    (staffed.folder / "flight.csv").write_bytes(RAW)
    staffed.ok("import", staffed.debrief(), "--student", "Ann", "--instructor", "Ike")
    folder = staffed.folder
    assert "checked" in staffed.ok("backup", str(folder / "b.sqlite"))
    assert "1 flight" in staffed.ok("export", "Ann", str(folder / "ann.zip"))
    assert "add --yes" in staffed.refused("forget", "Ann")
    assert "forgotten" in staffed.ok("forget", "Ann", "--yes")
    assert staffed.json("list", "students") == []
    assert "nothing was changed" in staffed.ok("merge", str(folder / "b.sqlite"))  # doesn't bring the student back
    assert "--replace" in staffed.refused("restore", str(folder / "b.sqlite"))
    staffed.ok("restore", str(folder / "b.sqlite"), "--replace")
    assert [row["student"]["name"] for row in staffed.json("list", "students")] == ["Ann Example"]
    assert "the logbook is whole" in staffed.ok("check")


def test_a_damaged_logbook_is_found_by_check(staffed: Shell) -> None:
    import sqlite3

    raw = sqlite3.connect(staffed.data)
    raw.execute("PRAGMA foreign_keys = OFF")
    raw.execute("INSERT INTO stop VALUES ('nowhere', 0, 'nothing')")
    raw.commit()
    raw.close()
    code, out, _ = staffed.run("check")
    assert code == COULD_NOT
    assert "WRONG" in out


@pytest.mark.parametrize("damage", ["cut", "middle", "head"])
def test_a_backup_takes_the_place_of_a_damaged_logbook_which_is_kept(staffed: Shell, damage: str) -> None:
    (staffed.folder / "flight.csv").write_bytes(RAW)
    staffed.ok("import", staffed.debrief(), "--student", "Ann", "--instructor", "Ike")
    backup = staffed.folder / "b.sqlite"
    staffed.ok("backup", str(backup))
    raw = bytearray(staffed.data.read_bytes())
    if damage == "cut":
        del raw[len(raw) // 2 :]
    else:
        at = 0 if damage == "head" else 16384
        raw[at : at + 120_000] = b"\x55" * 120_000
    staffed.data.write_bytes(raw)
    for words in (("check",), ("list", "students"), ("restore", str(backup))):
        assert "damaged" in staffed.refused(*words)
    (staffed.folder / "bad.sqlite").write_bytes(raw)
    staffed.refused("restore", str(staffed.folder / "bad.sqlite"), "--replace")
    assert staffed.data.read_bytes() == raw  # a backup that is damaged too moves nothing
    assert "kept as" in staffed.ok("restore", str(backup), "--replace")
    assert "the logbook is whole" in staffed.ok("check")
    (aside,) = staffed.folder.glob("logbook.sqlite.damaged-*")
    assert aside.read_bytes() == raw


def test_backups_named_by_their_moment_are_rotated(staffed: Shell) -> None:
    folder = staffed.folder / "backups"
    folder.mkdir()
    old = [folder / f"logbook-2026010{n}T030000Z.sqlite" for n in range(1, 5)]
    for path in (*old, folder / "logbook.sqlite", folder / "thesis.txt"):
        path.write_bytes(b"x")
    said = staffed.ok("backup", "--into", str(folder), "--keep", "3")
    assert "checked" in said
    assert said.count("taken away") == 2
    assert [p.exists() for p in old] == [False, False, True, True]
    assert (folder / "thesis.txt").exists()
    assert (folder / "logbook.sqlite").exists()
    assert "--into" in staffed.refused("backup")
    assert "--keep" in staffed.refused("backup", "--into", str(folder), "--keep", "0")


def test_a_full_stick_is_one_line_and_leaves_nothing(staffed: Shell) -> None:
    """A limit on the size of files stands in for the stick: SQLite is refused the write in the same place."""
    import resource

    stick = staffed.folder / "stick"
    stick.mkdir()
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    for words in (
        ("backup", str(stick / "b.sqlite")),
        ("backup", "--into", str(stick)),
        ("export", "Ann", str(stick / "a.zip")),
    ):
        resource.setrlimit(resource.RLIMIT_FSIZE, (60_000 if words[0] == "backup" else 100, hard))
        try:
            code = main(["logbook", *words, "--data", str(staffed.data)])
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        said = staffed.capsys.readouterr().err
        assert code == COULD_NOT
        assert said.count("\n") == 1
        assert "a fault in airwork itself" not in said
        assert list(stick.iterdir()) == []


def test_a_change_is_made_and_said(staffed: Shell) -> None:
    assert "certificate_held" in staffed.ok("change", "person", "Ann", "--held", "private")
    assert staffed.json("show", "Ann")["student"]["certificate_held"] == "private"
    assert "towered" in staffed.ok("change", "place", "HOME", "--tower", "yes")
    assert "complex" in staffed.ok("change", "airplane", "INV155", "--complex", "yes")
    assert "nothing to change" in staffed.refused("change", "person", "Ann")


def test_a_note_for_instructors_is_kept(staffed: Shell) -> None:
    staffed.ok("add", "note", "flares high", "--student", "Ann", "--by", "Ike", "--for-instructors")
    assert "Ike Teacher (instructors only): flares high" in staffed.ok("show", "Ann")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("endorse", "Ann"), "no command 'endorse'; perhaps add, sign, list?"),
        (("ad", "student"), "did you mean add?"),
        (("show", "Zoe"), "no person 'Zoe'"),
        (("add", "student", "ann example"), "entered already"),
        (("add", "student", "X", "--born", "yesterday"), "no date"),
        (("add", "student", "X", "--zone", "Mars/Base"), "no time zone"),
        (("add", "student", "X", "--authority", "moon"), "no rules"),
        (("add", "airplane", "N1"), "make and model"),
        (("add", "place", "STRIP", "--lat", "40"), "both --lat and --lon"),
        (("add", "flight", "--student", "Ann", "--date", "2026-05-01"), "hours"),
        (
            ("add", "flight", "--student", "Ann", "--date", "2026-05-01", "--hours", "1", "--landings", "few"),
            "number first",
        ),
        (("add", "endorsement", "--student", "Ann", "--instructor", "Ike", "--kind", "magic"), "no endorsement"),
        (("import", "no_such_file.json", "--student", "Ann"), "No such file"),
        (("flight", "zzzzzz"), "no flight"),
        (("list", "flights"), "say whose"),
        (("restore", "no_such_backup"), "no such file"),
        (("merge", "no_such.sqlite"), "no logbook here"),
        (("mark", "great", "--flight", "zzzzzz", "--task", "x", "--student", "Ann"), "no flight"),
        (("standing", "Ann", "--start", "2026-03-08 02:30"), "does not exist"),
        (("progress", "Ann", "--thresholds", "no_such.toml"), "no such file"),
    ],
)
def test_what_can_not_be_done_is_one_line(staffed: Shell, words: tuple[str, ...], said: str) -> None:
    assert said in staffed.refused(*words)


def test_without_a_logbook_the_first_step_is_named(shell: Shell) -> None:
    assert "airwork logbook add student" in shell.refused("list", "students")
    assert not shell.data.exists()


def test_the_kinds_of_endorsements_are_listed_with_their_duration(
    shell: Shell, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = shell.run("list", "kinds")
    assert code == DONE
    assert re.search(r"us\.endorsement\.solo +endorsement +90 days", out)
    assert re.search(r"us\.medical\.third +date +60 calendar months, 24 from 40", out)
    assert shell.run("list", "kinds", "--authority", "eu")[0] == DONE


def test_every_command_has_help_with_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    for name in logbook.COMMANDS:
        with pytest.raises(SystemExit) as stopped:
            main(["logbook", name, "--help"])
        assert stopped.value.code == 0
        assert f"airwork logbook {name}" in capsys.readouterr().out
    for what in WHAT:
        with pytest.raises(SystemExit):
            main(["logbook", "add", what, "--help"])
        assert f"airwork logbook add {what}" in capsys.readouterr().out


def test_every_command_and_threshold_is_in_the_documentation() -> None:
    from dataclasses import fields

    from airwork.logbook.thresholds import Thresholds

    text = (Path(__file__).parents[2] / "docs" / "logbook.md").read_text("utf-8")
    for name in logbook.COMMANDS:
        assert f"`airwork logbook {name}" in text, name
    for what in WHAT:
        assert f"add {what}" in text, what
    for field in fields(Thresholds):
        assert f"`{field.name}`" in text, field.name


def test_things_are_counted_in_words() -> None:
    assert [counted(n, "flight") for n in (0, 1, 1200)] == ["0 flights", "1 flight", "1,200 flights"]
    assert [counted(n, "person") for n in (1, 2)] == ["1 person", "2 people"]
    assert counted(27, "episode") == "27 maneuvers"
    assert [counted(4, name) for name in ("history", "recording_bytes")] == [
        "4 entries of the history",
        "4 recordings' bytes",
    ]
