"""Files written whole: nothing half-written, and one clear line where a place can't be written to."""

from __future__ import annotations

from pathlib import Path

import pytest

from airwork.cli import main
from airwork.files import write_whole


def test_the_old_file_stands_until_the_new_one_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.txt"
    write_whole(path, "old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr("os.fsync", full)
        with pytest.raises(OSError, match="No space"):
            write_whole(path, "half")
    assert path.read_text() == "old"
    write_whole(path, "new")
    assert path.read_text() == "new"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


@pytest.mark.parametrize(("place", "said"), [("missing/x.toml", "make it first"), ("", "is a folder; name a file")])
def test_a_place_that_cant_be_written_is_named(
    tmp_path: Path, place: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / place
    with pytest.raises(OSError, match=said) as found:
        write_whole(path, "x")
    assert found.value.filename == str(path)
    assert main(["lesson", "new", str(path), "--airplane", "larkmoor_155", "--airport", "KOGA", "--zone", "UTC"]) == 2
    assert str(path) in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
