"""All files or none: what is there after a fault is what was there before."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstpiece.errors import OutputError
from firstpiece.files.safe_write import check_writable, write_together


def contents_of(folder):
    return {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()
    }


def test_a_new_folder_is_made_with_its_parents(tmp_path):
    folder = tmp_path / "a" / "b"
    written = write_together(folder, {"one.txt": b"1", "two.txt": b"2"})
    assert written == (folder / "one.txt", folder / "two.txt")
    assert contents_of(tmp_path) == {"a/b/one.txt": b"1", "a/b/two.txt": b"2"}


def test_other_files_stay_and_older_ones_are_replaced(tmp_path):
    (tmp_path / "mine.txt").write_bytes(b"mine")
    (tmp_path / "one.txt").write_bytes(b"old")
    write_together(tmp_path, {"one.txt": b"new"})
    assert contents_of(tmp_path) == {"mine.txt": b"mine", "one.txt": b"new"}


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), KeyboardInterrupt()])
@pytest.mark.parametrize("existed", [True, False])
def test_a_fault_while_moving_leaves_everything_as_it_was(tmp_path, monkeypatch, fault, existed):
    folder = tmp_path / "job"
    if existed:
        folder.mkdir()
        (folder / "two.txt").write_bytes(b"old two")
        (folder / "mine.txt").write_bytes(b"mine")
    before = contents_of(tmp_path)
    real = Path.replace

    def fail_late(self, target):
        if Path(target).name == "three.txt" and self.parent.name == "new":
            raise fault
        return real(self, target)

    monkeypatch.setattr(Path, "replace", fail_late)
    files = {"one.txt": b"1", "two.txt": b"2", "three.txt": b"3"}
    with pytest.raises(OutputError if isinstance(fault, OSError) else KeyboardInterrupt):
        write_together(folder, files)
    assert contents_of(tmp_path) == before
    assert folder.exists() == existed


def test_a_fault_while_writing_leaves_nothing(tmp_path, monkeypatch):
    def full(self, data):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OutputError, match="no space left"):
        write_together(tmp_path / "job", {"one.txt": b"1"})
    assert not list(tmp_path.iterdir())


def test_a_folder_in_the_place_of_a_file_is_refused_before_anything_moves(tmp_path):
    (tmp_path / "two.txt").mkdir()
    with pytest.raises(OutputError):
        write_together(tmp_path, {"one.txt": b"1", "two.txt": b"2"})
    assert [p.name for p in tmp_path.iterdir()] == ["two.txt"]


@pytest.mark.parametrize("name", ["../up.txt", "deep/er.txt", "/abs.txt", ""])
def test_only_plain_names_are_written(tmp_path, name):
    with pytest.raises(ValueError, match="plain file name"):
        write_together(tmp_path, {name: b""})


def test_what_cannot_be_written_to_is_said_in_one_sentence(tmp_path):
    (tmp_path / "file").write_text("in the way")
    for place in (tmp_path / "file" / "out", Path("/proc/none/out")):
        with pytest.raises(OutputError) as caught:
            check_writable(place)
        assert str(place) in str(caught.value)
        assert "choose another folder" in str(caught.value)
        with pytest.raises(OutputError):
            write_together(place, {"one.txt": b"1"})


def test_the_check_leaves_nothing_behind(tmp_path):
    check_writable(tmp_path / "not" / "yet")
    assert not list(tmp_path.iterdir())
