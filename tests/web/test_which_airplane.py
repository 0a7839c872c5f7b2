"""Which airplane flew: taken from the recording where it says so, asked where it does not, always said on the page."""

from __future__ import annotations

import html
import json
import re
import time
from collections.abc import Iterator

import pytest

from airwork.logbook.fleet import add_airplane

MARK = "INV155"


@pytest.fixture
def fleet(school) -> Iterator[None]:
    """The school's logbook knows the airplane by its registration."""
    store = school.app.state.store
    with store.change() as connection:
        if not any(a for a in _airplanes(connection)):
            add_airplane(connection, MARK, now_utc_s=time.time(), make_model="Larkmoor 155",
                         airplane_file="larkmoor_155")  # fmt: skip
    yield
    for about in school.app.state.desk.all():
        if about.file_name.startswith("which"):
            school.app.state.desk.remove(about)


def _airplanes(connection):
    from airwork.logbook.fleet import airplanes

    return airplanes(connection)


def _named(csv: bytes, registration: str) -> bytes:
    """The recording with a column that names the airplane."""
    head, *rows = csv.decode().splitlines()
    return "\n".join([f"{head},Registration", *(f"{row},{registration}" for row in rows)]).encode()


def _igc(registration: str) -> bytes:
    """A glide of ten minutes north of KOGA, a fix a second."""
    lines = ["AXXX001", "HFDTE200925", f"HFGIDGLIDERID:{registration}"]
    for s in range(600):
        north = 7_200 + s * 25 // 1
        lines.append(
            f"B{14 + s // 3600:02d}{s // 60 % 60:02d}{s % 60:02d}41{north:05d}N10146000WA{2000 - s:05d}{2000 - s:05d}"
        )
    return "\r\n".join(lines).encode()


def _bring(browser, name: str, raw: bytes, **sent: str) -> str:
    answer = browser.post("/debriefs", sent, files={"recording": (name, raw)})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def _text(browser, address: str) -> str:
    return html.unescape(browser.get(address).text)


@pytest.mark.parametrize("written", ["INV155", "inv-155"])
def test_a_recording_that_names_its_airplane_is_debriefed_with_it(school, fleet, short_csv, written: str) -> None:
    teacher = school.as_("Emmett Dray")
    at = _bring(teacher, "which.csv", _named(short_csv, written))
    page = _text(teacher, at)
    assert "INV155, Larkmoor 155: the recording names it" in page
    assert "Which airplane flew?" not in page
    assert teacher.get(f"{at}.json").json()["flight"]["airplane"] == "Larkmoor 155"


def test_the_name_in_an_igc_file_is_understood_too(school, fleet) -> None:
    teacher = school.as_("Emmett Dray")
    assert "INV155, Larkmoor 155: the recording names it" in _text(
        teacher, _bring(teacher, "which.igc", _igc("INV155"))
    )


def test_where_the_recording_does_not_say_the_page_asks_and_says_what_was_chosen(school, fleet, short_csv) -> None:
    teacher = school.as_("Emmett Dray")
    at = _bring(teacher, "which.csv", short_csv)
    page = _text(teacher, at)
    assert "Which airplane flew?" in page
    assert "The recording does not say;" in page
    before = teacher.get(f"{at}.json").json()
    assert before["flight"]["airplane"] in {"", None}
    assert teacher.post(f"{at}/about", {"airplane": f"={MARK}"}).status_code == 303
    page = _text(teacher, at)
    assert "INV155, Larkmoor 155: chosen here" in page
    assert "Which airplane flew?" not in page
    after = teacher.get(f"{at}.json").json()
    assert after["flight"]["airplane"] == "Larkmoor 155"
    margins = [sum("min_stall_margin_kt" in e["measured"] for e in d["episodes"]) for d in (before, after)]
    assert margins[0] < margins[1]  # with its numbers more can be said


def test_the_airplane_the_student_flew_last_is_taken_until_somebody_says_which(school, fleet, short_csv) -> None:
    """Said as such and not learned from; a recording that names another airplane, or nobody's, is asked about."""
    teacher, desk = school.as_("Emmett Dray"), school.app.state.desk
    sent = {"student": school.nora}
    _bring(teacher, "which.csv", short_csv, airplane=f"={MARK}", **sent)
    at = _bring(teacher, "which2.csv", short_csv, **sent)
    about = desk.find(at.rsplit("/", 1)[1])
    assert (about.airplane, about.registration, about.airplane_from) == ("larkmoor_155", MARK, "last")
    assert not desk.is_to_teach(about)
    page = _text(teacher, at)
    assert f"{MARK}, Larkmoor 155: as Nora Whitlock flew last" in page
    assert f"Was it {MARK}?" in page
    assert teacher.get(f"{at}.json").json()["flight"]["airplane"] == "Larkmoor 155"
    assert teacher.post(f"{at}/about", {"airplane": f"={MARK}"}).status_code == 303
    assert f"{MARK}, Larkmoor 155: chosen here" in _text(teacher, at)
    early = _bring(teacher, "which0.csv", short_csv.replace(b"2025-09-20", b"2020-08-21"), **sent)
    assert "Which airplane flew?" in _text(teacher, early)  # before anything this student is known to have flown
    other = _bring(teacher, "which3.csv", _named(short_csv, "D-EABC"), **sent)
    assert "Which airplane flew?" in _text(teacher, other)
    assert "Which airplane flew?" in _text(teacher, _bring(teacher, "which4.csv", short_csv))


def test_of_two_aircraft_in_one_recording_one_is_chosen_then_the_other(school, short_csv) -> None:
    """The second flies 1,000 ft above the first; which one is asked, and each has its own altitudes."""
    teacher = school.as_("Emmett Dray")
    head, *rows = short_csv.decode().splitlines()
    names = head.split(",")
    high = [k for k, name in enumerate(names) if "alt" in name.lower() and "setting" not in name.lower()]

    def raised(row: str) -> str:
        cells = row.split(",")
        return ",".join(f"{float(c) + 1000:.0f}" if k in high and c.strip() else c for k, c in enumerate(cells))

    both = [f"{row},{name}" for r in rows for row, name in ((r, "abc123"), (raised(r), "def456"))]
    at = _bring(teacher, "which.csv", "\n".join([f"{head},icao24", *both]).encode(), airplane="none")
    assert teacher.get(at).headers["location"] == f"{at}/aircraft"
    page = _text(teacher, f"{at}/aircraft")
    assert "debrief ABC123" in page
    assert "debrief DEF456" in page
    assert teacher.post(f"{at}/aircraft", {"aircraft": "nobody"}).status_code == 422
    top = {}
    for name in ("abc123", "def456"):
        assert teacher.post(f"{at}/aircraft", {"aircraft": name}).status_code == 303
        assert "another of its 2 aircraft" in _text(teacher, at)
        shown = re.search(r'id="flight-data">(.*?)</script>', teacher.get(at).text, re.S)[1]
        top[name] = max(v for v in json.loads(shown)["series"]["altitude"] if v is not None)
    assert top["def456"] - top["abc123"] == pytest.approx(1000.0, abs=5.0)


def test_to_judge_without_an_airplane_is_a_choice_too(school, short_csv) -> None:
    teacher = school.as_("Emmett Dray")
    at = _bring(teacher, "which.csv", short_csv, airplane="none")
    page = _text(teacher, at)
    assert "judged without an airplane" in page
    assert "Which airplane flew?" not in page


def test_the_flight_is_entered_under_the_registration_that_was_chosen(school, fleet, short_csv) -> None:
    store = school.app.state.store
    with store.change() as connection:
        if len(_airplanes(connection)) == 1:  # a second one of the same model: the model alone would not tell
            add_airplane(connection, "N156LK", now_utc_s=time.time(), make_model="Larkmoor 155",
                         airplane_file="larkmoor_155")  # fmt: skip
    teacher = school.as_("Emmett Dray")
    late = short_csv.replace(b"2025-09-20", b"2025-09-21")
    at = _bring(teacher, "which.csv", late, airplane="=N156LK", student=school.jan)
    form = teacher.get(f"{at}/enter").text
    assert '<option value="N156LK" selected' in form  # as it was chosen
    sent = {"student": school.jan, "instructor": school.emmett, "role": "dual", "airplane": "N156LK", "sure": "yes"}
    assert teacher.post(f"{at}/enter", sent).status_code == 303
    about = school.app.state.desk.find(at.rsplit("/", 1)[1])
    assert "N156LK" in teacher.get(f"/flights/{about.flight_id}").text


@pytest.mark.parametrize("airplane", ["=N0NE", "no_such_file", "=", "../x"])
def test_an_airplane_there_is_not_is_said_and_nothing_changes(school, short_csv, airplane: str) -> None:
    teacher = school.as_("Emmett Dray")
    at = _bring(teacher, "which.csv", short_csv)
    answer = teacher.post(f"{at}/about", {"airplane": airplane})
    assert answer.status_code == 422
    assert 'class="problem"' in answer.text
    assert "Which airplane flew?" in _text(teacher, at)


def test_standard_and_zone_are_changed_in_place_and_graded_anew(school, short_csv) -> None:
    teacher = school.as_("Emmett Dray")
    at = _bring(teacher, "which.csv", short_csv, airplane="larkmoor_155")
    sent = {"airplane": "larkmoor_155", "standard": "commercial", "zone": "America/Denver"}
    assert teacher.post(f"{at}/about", sent).status_code == 303
    assert teacher.get(f"{at}.json").json()["flight"]["standard"]["id"] == "us_commercial"
    assert teacher.post(f"{at}/about", {**sent, "zone": "Mars/Base"}).status_code == 422


def test_a_student_names_the_airplane_of_their_own_flight_until_it_is_entered(school, fleet, short_csv) -> None:
    nora = school.as_("Nora Whitlock")
    at = _bring(nora, "which.csv", short_csv)
    assert nora.post(f"{at}/about", {"airplane": f"={MARK}", "lesson": "stalls_over_the_lake"}).status_code == 303
    about = school.app.state.desk.find(at.rsplit("/", 1)[1])
    assert about.registration == MARK
    assert about.lesson == ""
    entered = f"/debriefs/{school.debriefs['nora']}"
    assert nora.post(f"{entered}/about", {"airplane": "none"}).status_code == 403


def test_a_recording_that_is_another_airplanes_is_an_alarm_above_everything(school, short_csv) -> None:
    """Twenty minutes of 2,950 RPM by an airplane whose limit is 2,600; by the one that flew it nothing is said."""
    teacher = school.as_("Emmett Dray")
    head, *rows = short_csv.decode().splitlines()
    where = next(k for k, name in enumerate(head.split(",")) if "rpm" in name.lower())
    fast = [",".join("2950" if k == where else cell for k, cell in enumerate(r.split(","))) for r in rows]
    at = _bring(teacher, "fast.csv", "\n".join([head, *fast]).encode(), airplane="wrenbrook_108")
    page = _text(teacher, at)
    assert page.index("does not fit the airplane") < page.index("judged with its numbers")
    assert "2,950 RPM for" in page
    plain = _text(teacher, _bring(teacher, "own.csv", short_csv, airplane="larkmoor_155"))
    assert "does not fit the airplane" not in plain
