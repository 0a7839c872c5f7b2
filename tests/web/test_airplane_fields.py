"""An airplane edited field by field: what is typed comes into the file, complaints stand beside the field they name."""

from __future__ import annotations

import html
import re
import tomllib
from functools import cache
from pathlib import Path

import pytest
import tomlkit

from airwork.airplane import find_airplane_file
from airwork.web.airplane_form import Said, parts_of, sections
from airwork.web.airplane_kinds import in_the_book
from airwork.web.airplane_write import changed_rows, written

KEYS = ("larkmoor_155", "wrenbrook_108", "caldmere_200")


def _text(key: str) -> str:
    return find_airplane_file(key).read_text(encoding="utf-8")


def _shown(text: str, part: str) -> dict[str, str]:
    """The form as a browser would send it untouched."""
    out: dict[str, str] = {}
    for s in sections(text, part, Said(())):
        out |= {c.name: c.shown for c in (*s.cells, *s.missing)}
        out |= {f"unit:{c.name}": c.key for c in (*s.cells, *s.missing) if len(c.about.units) > 1}
        for g in s.grids:
            out[f"columns:{g.path}"] = ",".join(key for key, _, _ in g.columns)
            out |= {f"unit:{g.path}/{key}": written for key, written, about in g.columns if len(about.units) > 1}
            out[f"order:{g.path}"] = ",".join(str(n) for n, _, _ in g.rows)
            out |= {c.name: c.shown for _, cells, _ in g.rows for c in cells}
    return out


@pytest.mark.parametrize("key", KEYS)
def test_no_two_fields_of_a_table_or_row_have_one_label(key: str) -> None:
    """A speed printed in knots and in mph is two fields: who hears the labels alone has to tell them apart."""
    for part in parts_of(_text(key)):
        for s in sections(_text(key), part, Said(())):
            for cells in (s.cells, *(cells for g in s.grids for _, cells, _ in g.rows)):
                labels = [c.label for c in cells]
                assert len(set(labels)) == len(labels), (part, labels)


@pytest.mark.parametrize("key", KEYS)
def test_a_form_sent_untouched_leaves_the_file_as_it_is_byte_for_byte(key: str, monkeypatch) -> None:
    """The file is read once for all its parts: a part that changed it would fail itself and those after it."""
    text = _text(key)
    monkeypatch.setattr(tomlkit, "parse", cache(tomlkit.parse))
    for part in parts_of(text):
        assert written(text, part, _shown(text, part)) == text, part


@pytest.mark.parametrize("key", KEYS)
def test_every_value_of_the_file_stands_in_some_field(key: str) -> None:
    text = _text(key)
    data = tomllib.loads(text)
    shown = {v for part in parts_of(text) for v in _shown(text, part).values()}
    numbers = {float(s) for s in shown if re.fullmatch(r"-?[\d.]+(e.*)?", s)}

    def leaves(node: object):
        if isinstance(node, dict):
            for inner in node.values():
                yield from leaves(inner)
        elif isinstance(node, list) and node and all(isinstance(row, dict) for row in node):
            for row in node:
                yield from leaves(row)
        else:
            yield node

    del data["airplane"]["schema_version"]  # the same in every file: nobody types it
    for leaf in leaves(data):
        if isinstance(leaf, bool):
            assert str(leaf).lower() in shown
        elif isinstance(leaf, (int, float)):
            assert leaf in numbers
        elif isinstance(leaf, str):
            assert leaf in shown


def _send(alone, part: str, *, what: str = "save", key: str = "larkmoor_155", do: str = "", **changed: str):
    sent = _shown(alone_text(alone, key), part)
    sent |= {k.replace("__", "."): v for k, v in changed.items()}
    return alone.post(f"/airplanes/{key}/fields", {**sent, "part": part, "what": what, **({"do": do} if do else {})})


def alone_text(alone, key: str) -> str:
    return alone.client.app.state.folder.find("airplane", key).read()


def test_a_value_is_changed_in_the_file_and_nothing_else(alone, tmp_path: Path) -> None:
    path = tmp_path / "airplanes" / "larkmoor_155.toml"
    before = path.read_text(encoding="utf-8").splitlines()
    answer = _send(alone, "airplane", **{"airplane:maximum_takeoff_weight_lb": "2,250", "airplane:name": "Larkmoor II"})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/airplanes/larkmoor_155/fields?part=airplane&saved=true"
    after = path.read_text(encoding="utf-8").splitlines()
    differs = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert differs == [
        ('name = "Larkmoor 155"', 'name = "Larkmoor II"'),
        ("maximum_takeoff_weight_lb = 2300", "maximum_takeoff_weight_lb = 2250"),
    ]


def test_what_the_file_can_not_mean_is_said_beside_its_field_and_not_saved(alone, tmp_path: Path) -> None:
    path = tmp_path / "airplanes" / "larkmoor_155.toml"
    before = path.read_bytes()
    answer = _send(alone, "performance.stall", **{"performance.stall.rows/2/kcas": "fifty"})
    assert answer.status_code == 422
    assert path.read_bytes() == before
    page = html.unescape(answer.text)
    assert 'value="fifty"' in page
    at = page.index('name="performance.stall.rows/2/kcas"')
    assert 'aria-invalid="true"' in page[at : at + 200]
    row = page[at : page.index("</tr>", page.index("</tr>", at) + 1)]
    assert "calibrated: found 'fifty', expected a number" in row


def test_what_the_check_asks_about_stands_beside_its_row(alone, tmp_path: Path) -> None:
    """A digit left out: 54 knots typed as 5.4 can be read, but the check asks."""
    answer = _send(alone, "performance.stall", what="check", **{"performance.stall.rows/1/kcas": "85"})
    assert answer.status_code == 200
    page = html.unescape(answer.text)
    said = re.findall(r'<p class="said">([^<]*)', page)
    assert said
    nav = page[page.index('aria-label="parts of the file"') : page.index("</nav>", page.index("parts of the file"))]
    assert re.search(r"Stall speeds <span[^>]*>\d+ to ask about", nav)


def test_a_row_is_added_like_the_last_and_one_taken_out(alone, tmp_path: Path) -> None:
    part, path = "performance.glide", tmp_path / "airplanes" / "larkmoor_155.toml"
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["performance"]["glide"]["rows"]
    page = _send(alone, part, do=f"{part}.rows/add")
    assert page.status_code == 200
    sent = {n: html.unescape(v) for n, v in re.findall(r'<input name="([^"]+)" value="([^"]*)"', page.text)}
    sent |= dict(re.findall(r'name="(order:[^"]+)" value="([^"]*)"', page.text))
    assert sent[f"order:{part}.rows"] == f"{','.join(str(k) for k in range(len(rows)))},{len(rows)}"
    assert tomllib.loads(path.read_text(encoding="utf-8"))["performance"]["glide"]["rows"] == rows  # not saved yet
    sent[f"order:{part}.rows"] = f"1,2,{len(rows)}"
    sent[f"{part}.rows/{len(rows)}/weight_lb"] = "1600"
    assert alone.post("/airplanes/larkmoor_155/fields", {**sent, "part": part, "what": "save"}).status_code == 303
    after = tomllib.loads(path.read_text(encoding="utf-8"))["performance"]["glide"]["rows"]
    assert after == [rows[1], rows[2], {**rows[-1], "weight_lb": 1600}]
    assert "# Invented airplane" in path.read_text(encoding="utf-8")


def test_a_whole_table_keeps_its_shape_when_a_row_goes() -> None:
    """Rows stay one to a line, as a person typed them."""
    text = _text("caldmere_200")
    sent = _shown(text, "v_speeds")
    sent["order:v_speeds.rows"] = ",".join(sent["order:v_speeds.rows"].split(",")[1:])
    after = written(text, "v_speeds", sent)
    rows = tomllib.loads(text)["v_speeds"]["rows"]
    assert tomllib.loads(after)["v_speeds"]["rows"] == rows[1:]
    assert len(after.splitlines()) == len(text.splitlines()) - 1


def test_a_value_that_was_not_given_is_given_and_one_taken_out(alone, tmp_path: Path) -> None:
    path = tmp_path / "airplanes" / "larkmoor_155.toml"
    missing = sections(path.read_text(encoding="utf-8"), "propeller", Said(()))[0].missing[0]
    assert missing.shown == ""
    answer = _send(alone, "airplane", **{"airplane:maximum_landing_weight_lb": ""})
    assert answer.status_code == 303
    assert "maximum_landing_weight_lb" not in tomllib.loads(path.read_text(encoding="utf-8"))["airplane"]


def test_a_yes_or_no_that_is_not_given_stays_so() -> None:
    """A browser sends a list's first choice: saving a part untouched made rear seats empty and airplanes invented."""
    text = _text("larkmoor_155").replace("invented = true\n", "")
    parts = [s for part in ("airplane", "weight_and_balance") for s in sections(text, part, Said(()), None)]
    asked = [c for s in parts for c in s.missing if c.choices]
    assert {c.name.rpartition(":")[2] for c in asked} >= {"invented", "rear_seats_empty"}
    assert all(c.choices[0] == c.shown == "" for c in asked)


@pytest.mark.parametrize("order", ["a", "0,0", "9999", ",".join(str(k) for k in range(500))])
def test_rows_numbered_wrongly_are_refused_in_words(alone, order: str) -> None:
    answer = _send(alone, "performance.glide", **{"order:performance.glide.rows": order})
    assert answer.status_code == 422
    assert "fault in airwork" not in answer.text


def test_no_such_part_button_or_airplane(alone) -> None:
    refused = alone.post("/airplanes/larkmoor_155/fields", {"part": "x", "what": "save"})
    assert refused.status_code == 422
    assert "no such part" in refused.text
    assert alone.get("/airplanes/none/fields").status_code == 404
    assert alone.get("/airplanes/larkmoor_155/fields?part=nowhere").status_code == 200
    grids = [g for s in sections(_text("larkmoor_155"), "fuel", Said(())) for g in s.grids]
    assert changed_rows({"a": "b"}, grids, "elsewhere/add") == {"a": "b"}


def test_a_students_account_can_not_edit(school) -> None:
    nora = school.as_("Nora Whitlock")
    assert nora.get("/airplanes/larkmoor_155/fields").status_code == 403
    assert nora.post("/airplanes/larkmoor_155/fields", {"part": "airplane", "airplane:name": "x"}).status_code == 403


def test_text_in_a_field_is_words_not_markup(alone) -> None:
    answer = _send(alone, "airplane", what="check", **{"airplane:name": '"><script>alert(1)</script>'})
    assert "<script>alert" not in answer.text


def test_several_of_some_words_are_written_as_a_list() -> None:
    """A choice of one wrote one word where the file wants a list, and nothing could be saved."""
    part = "performance.landing"
    form = _shown(_text("larkmoor_155"), part) | {f"{part}:not_printed": "dry_grass | soft_ground"}
    found = tomllib.loads(written(_text("larkmoor_155"), part, form))
    assert found["performance"]["landing"]["not_printed"] == ["dry_grass", "soft_ground"]
    limits = _shown(_text("wrenbrook_108"), "limitations") | {"limitations:load_factor_utility_g": "-1.76 | 4.4"}
    found = tomllib.loads(written(_text("wrenbrook_108"), "limitations", limits))
    assert found["limitations"]["load_factor_utility_g"] == [-1.76, 4.4]


def test_of_two_windows_on_one_part_the_later_overwrites_nothing_unseen(alone, tmp_path: Path) -> None:
    """A handbook typed by two people in an evening: both opened the part before either saved it. Another part's change
    stands in nobody's way.
    """
    page = alone.get("/airplanes/larkmoor_155/fields?part=fuel").text
    read = re.search(r'name="read" value="(\w+)"', page)[1]  # type: ignore[index]
    assert _send(alone, "fuel", **{"fuel:switching_interval_min": "25", "read": read}).status_code == 303
    later = {"fuel:switching_interval_min": "30", "fuel:imbalance_limit_us_gal": "8"}
    refused = _send(alone, "fuel", **later, read=read)
    assert refused.status_code == 409
    assert "changed meanwhile" in refused.text
    at = tmp_path / "airplanes" / "larkmoor_155.toml"
    data = tomllib.loads(at.read_text(encoding="utf-8"))["fuel"]
    assert (data["switching_interval_min"], data["imbalance_limit_us_gal"]) == (25, 10)
    again = re.search(r'name="read" value="(\w+)"', refused.text)[1]  # type: ignore[index]
    assert _send(alone, "airplane", **{"airplane:name": "Larkmoor II"}).status_code == 303  # another part
    assert _send(alone, "fuel", **later, read=again).status_code == 303


@pytest.mark.parametrize(
    ("key", "used", "written"),
    [
        ("gph_best_power", ("rated_power_hp", "maximum_rpm", "lean_maximum_percent_power"), "gph_best_power"),
        ("imbalance_limit_us_gal", ("capacity_us_gal", "unusable_us_gal"), "imbalance_limit_us_gal"),
        ("gph_best_power", ("capacity_us_gal", "best_power"), "gph_best_power"),
        ("usable_us_gal", ("capacity_imp_gal",), "usable_imp_gal"),
        ("gph_full_rich", ("capacity_imp_gal",), "imp_gph_full_rich"),
        ("gph_full_rich", ("capacity_l",), "lph_full_rich"),
        ("gph_full_rich", ("capacity_l", "gph_best_power"), "gph_full_rich"),
        ("usable_us_gal", ("capacity_imp_gal", "unusable_us_gal"), "usable_us_gal"),
        ("oat_c", ("maximum_oil_temperature_f", "empty_lb"), "oat_c"), ("oat_c", ("isa_deviation_f",), "oat_f"),
        ("maximum_lb", ("empty_kg",), "maximum_kg"), ("wingspan_ft", ("height_m",), "wingspan_m"),
        ("pressure_altitude_ft", ("empty_kg", "wing_area_m2"), "pressure_altitude_ft"),
        ("pressure_altitude_ft", ("empty_lb", "pressure_altitude_m"), "pressure_altitude_m"),
    ],
)  # fmt: skip
def test_nobody_gets_a_unit_they_have_not_used(key: str, used: tuple[str, ...], written: str) -> None:
    """A gallon that is a fifth larger than the book's, preset since a key ends alike, makes the burn 20 % wrong."""
    assert in_the_book(key, used, "kt") == written


@pytest.mark.parametrize(
    ("cells", "written"),
    [
        (("80 l", "79 L"), ("usable_l = 80", "usable_l = 79")),
        (("80 l", "20"), ()),
        (("80 IG", "79 IG"), ("usable_imp_gal",)),
    ],
)
def test_a_unit_behind_every_number_of_a_column_is_the_column_s(cells, written, alone, tmp_path: Path) -> None:
    """Behind one of them it is asked about: the others would be read in it too."""
    names = (f"fuel.tanks/{n}/usable_us_gal" for n in range(2))
    answer = _send(alone, "fuel", **dict(zip(names, cells, strict=True)))
    assert answer.status_code == (303 if written else 422)
    text = (tmp_path / "airplanes" / "larkmoor_155.toml").read_text(encoding="utf-8")
    assert all(words in text for words in written or ("usable_us_gal = 20.0",))


def test_what_stands_so_in_the_handbook_is_answered_on_the_airplanes_page(alone, tmp_path: Path) -> None:
    _send(alone, "performance.climb", **{"performance.climb.rows/13/rate_of_climb_fpm": "100"})
    page = html.unescape(alone.get("/airplanes/larkmoor_155").text)
    (asked,) = re.findall('name="asked" value="([^"]*)"', page)
    answer = alone.post("/airplanes/larkmoor_155/stands-so", {"asked": asked, "by": "Ann <b>Bo"})
    assert answer.headers["location"] == "/airplanes/larkmoor_155"
    page = alone.get("/airplanes/larkmoor_155").text
    assert "The check finds nothing to ask about" in page
    assert "Stands so in the handbook (Ann &lt;b&gt;Bo, " in page
    alone.post("/airplanes/larkmoor_155/stands-so", {"asked": "something else", "by": "Ann Bo"})
    assert alone_text(alone, "larkmoor_155").count("[[printed_so]]") == 1
