"""An airplane's charts are read from its tables; its file is edited with the complaints beside it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from airwork import units
from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.performance import Condition
from airwork.output.chart import Chart
from airwork.output.handbook_charts import charts_of as drawn_of
from airwork.output.performance_charts import own_against_book, power_curve
from airwork.web.airplane_tables import tables_of

IDS = ("larkmoor_155", "wrenbrook_108", "caldmere_200")


@cache
def charts_of(airplane: Airplane) -> list[Chart]:
    """Drawn once for all these tests: each is two thousand readings of the tables."""
    return drawn_of(airplane)


def _value(chart, curve: str, x: float) -> float | None:
    return dict(chart.curves)[curve][chart.x.index(x)]


def test_a_chart_reads_what_the_table_prints() -> None:
    """Larkmoor 155 power chart: 2,400 rpm at sea level density altitude is 70 % (its file, invented)."""
    airplane = load_airplane(find_airplane_file("larkmoor_155"))
    chart = next(c for c in charts_of(airplane) if c.key == "power0")
    rows = [r for r in airplane.file.performance.power_chart.rows if r.density_altitude_ft == 0]
    ends = [(r.rpm, r.percent_power) for r in rows if r.rpm in {rows[0].rpm, rows[-1].rpm}]
    for rpm, percent in ends:
        assert _value(chart, "0 ft", rpm) == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize("name", IDS)
def test_no_curve_goes_on_beyond_its_rows(name: str) -> None:
    airplane = load_airplane(find_airplane_file(name))
    climb = next(c for c in charts_of(airplane) if c.key == "climb0")
    weight = max(r.weight_lb for r in airplane.file.performance.climb.rows)
    assert climb.curves
    for curve, values in climb.curves:
        feet = float(curve.removesuffix(" ft").replace(",", ""))
        temps = [
            r.oat_c
            for r in airplane.file.performance.climb.rows
            if (r.weight_lb, r.pressure_altitude_ft) == (weight, feet)
        ]
        for x, y in zip(climb.x, values, strict=True):
            assert (y is not None) == (min(temps) <= x <= max(temps))


@pytest.mark.parametrize("word", ["takeoff", "landing"])
@pytest.mark.parametrize("name", IDS)
def test_runway_charts_read_what_the_table_prints(name: str, word: str) -> None:
    """At every printed temperature and altitude of the heaviest weight the curve is the printed total over 50 ft."""
    airplane = load_airplane(find_airplane_file(name))
    table = getattr(airplane.file.performance, word)
    chart = next(c for c in charts_of(airplane) if c.key == f"{word}0")
    heaviest = max(r.weight_lb for r in table.rows)
    met = 0
    for curve, values in chart.curves:
        feet = float(curve.removesuffix(" ft").replace(",", ""))
        at = dict(zip(chart.x, values, strict=True))
        for row in table.rows:
            if (row.weight_lb, row.pressure_altitude_ft) == (heaviest, feet) and row.oat_c in at:
                assert at[row.oat_c] == pytest.approx(row.total_over_50_ft, abs=1.0)
                met += 1
    assert met >= 8


@pytest.mark.parametrize("name", IDS)
def test_every_row_of_the_file_stands_in_a_table(name: str) -> None:
    path = find_airplane_file(name)
    shown = {t.key: t for t in tables_of(path.read_text(encoding="utf-8"))}
    climb = load_airplane(path).file.performance.climb.rows
    assert len(shown["performance.climb.rows"].rows) == len(climb)


def test_the_power_curve_is_the_models() -> None:
    from airwork.airplane.performance import Condition, performance
    from airwork.airplane.performance.level import level_flight

    airplane = load_airplane(find_airplane_file("larkmoor_155"))
    mass = airplane.max_takeoff_mass_kg
    chart = power_curve(airplane, Condition(mass, 1000.0, 285.0))[0]
    cas = float(airplane.cas_from_ias_mps(units.from_unit(100.0, "mph")))
    level = level_flight(performance(airplane), cas, Condition(mass, 1000.0, 285.0))
    assert _value(chart, "flaps up", 100.0) == pytest.approx(100.0 * float(level.power_ratio), abs=0.06)


def test_the_power_curve_says_where_level_flight_is_marginal() -> None:
    """High up full throttle may or may not hold it: a curve of its own, which meets the sure one."""
    airplane = load_airplane(find_airplane_file("larkmoor_155"))
    mass, high = airplane.max_takeoff_mass_kg, 13000 * 0.3048
    low, above = (power_curve(airplane, Condition(mass, h, 288.15 - 0.0065 * h))[0] for h in (300.0, high))
    names = [name for name, _ in above.curves]
    assert "flaps up, marginal" in names
    sure, maybe = (dict(above.curves)[n] for n in ("flaps up", "flaps up, marginal"))
    both = [a is not None and b is not None for a, b in zip(sure, maybe, strict=True)]
    assert any(both)
    assert sum(v is not None for v in maybe) > sum(both)
    assert len(low.x) > 0


@pytest.mark.parametrize("name", IDS)
def test_the_page_shows_the_answer_of_numbers(alone, name: str) -> None:
    asked = {"altitude": "5,000 ft", "oat": "12 °C", "flaps": "0", "bank": "45 deg"}
    data = alone.get(f"/airplanes/{name}.json", params=asked).json()
    page = alone.get(f"/airplanes/{name}", params=asked)
    assert page.status_code == 200
    assert data["sections"][0]["numbers"]
    assert "45" in page.text


def test_a_wrong_number_is_said_and_the_rest_of_the_page_stays(alone) -> None:
    page = alone.get("/airplanes/larkmoor_155", params={"altitude": "high"})
    assert page.status_code == 200
    assert 'role="alert"' in page.text
    assert "As typed from the handbook" in page.text


def test_a_shipped_airplane_is_saved_as_a_copy_of_ones_own(tmp_path: Path) -> None:
    from airwork.web.folder import Folder

    folder = Folder(tmp_path)
    entry = folder.find("airplane", "wrenbrook_108")
    assert entry.shipped
    folder.save("airplane", entry.key, entry.read())
    assert not folder.find("airplane", "wrenbrook_108").shipped
    assert (tmp_path / "airplanes" / "wrenbrook_108.toml").read_text() == entry.read()


def test_what_was_fitted_is_told_from_the_typed_file(tmp_path: Path) -> None:
    from airwork.web.folder import Folder

    text = find_airplane_file("larkmoor_155").read_text(encoding="utf-8")
    for name in ("ours.toml", "ours.fitted.toml"):
        (tmp_path / name).write_text(text, encoding="utf-8")
    own = {e.key: e.title for e in Folder(tmp_path).entries("airplane") if not e.shipped}
    assert own == {"ours": "Larkmoor 155", "ours.fitted": "Larkmoor 155, fitted"}


def test_the_airplanes_own_curve_stands_beside_its_books() -> None:
    """Readings, band and handbook in one chart; at 80 mph indicated both are near, and the band holds the own curve."""
    airplane = load_airplane(find_airplane_file("larkmoor_155"))
    at = Condition(2200.0 * units.LB_KG, 3000.0 * units.FT_M, 282.2)
    (chart,) = own_against_book(airplane, at)
    assert [name for name, _ in chart.curves] == ["this airplane", "90 % low", "90 % high", "its handbook"]
    own, low, high, book = (_value(chart, name, 80.0) for name, _ in chart.curves)
    assert low < own < high
    assert abs(own - book) < 60
    bare = airplane.file.model_copy(update={"observations": []})
    assert own_against_book(Airplane(bare), at) == []


def test_what_was_fitted_is_explained_and_nowhere_to_be_chosen_beside_its_typed_file(alone, tmp_path: Path) -> None:
    """Alone, without the typed file, it is an airplane as any other."""
    text = find_airplane_file("larkmoor_155").read_text(encoding="utf-8")
    at = tmp_path / "airplanes"
    at.mkdir(exist_ok=True)
    for name in ("ours.toml", "ours.fitted.toml", "lone.fitted.toml"):
        (at / name).write_text(text, encoding="utf-8")
    assert "there is nothing to choose" in alone.get("/airplanes").text
    assert 'href="/airplanes/ours.fitted"' in alone.get("/airplanes").text
    for where in ("/", "/lessons/new", "/debriefs"):
        page = alone.get(where).text
        assert 'value="ours"' in page, where
        assert 'value="lone.fitted"' in page, where
        assert 'value="ours.fitted"' not in page, where
    (at / "ours.toml").unlink()
    (at / "lone.fitted.toml").unlink()
    assert "there is nothing to choose" not in alone.get("/airplanes").text
