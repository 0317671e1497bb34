"""Files are written whole or not at all, and none of the user's own is lost by it."""

import os
import stat
import time

import pytest

from analytics.errors import BadInput, Refused
from analytics.files import new_files
from analytics.files.new_files import LEFT_AFTER_SECONDS, UNFINISHED, write_new, write_whole

FILES = {"a.csv": b"a" * 100, "b.csv": b"b" * 100}


def names(folder) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


@pytest.fixture
def full_after_one(monkeypatch):
    """A disk that takes one file and half of the next."""
    real, written = new_files._write, []

    def write(path, content: bytes) -> None:
        written.append(path)
        real(path, content[: len(content) // (2 if len(written) > 1 else 1)])
        if len(written) > 1:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(new_files, "_write", write)


def test_a_full_disk_leaves_the_folder_as_it_was_and_usable(tmp_path, full_after_one, monkeypatch):
    """Cut files stood there under their names before, and the next export refused the folder."""
    with pytest.raises(Refused, match="Nothing was written"):
        write_new(tmp_path / "out", FILES)
    assert names(tmp_path / "out") == []
    monkeypatch.undo()
    assert [path.read_bytes() for path in write_new(tmp_path / "out", FILES)] == list(FILES.values())


def test_what_fails_at_the_second_name_takes_the_first_back(tmp_path, monkeypatch):
    real = new_files.Path.rename

    def rename(path, to):
        if to.name == "b.csv":
            raise OSError(5, "Input/output error")
        return real(path, to)

    monkeypatch.setattr(new_files.Path, "rename", rename)
    with pytest.raises(Refused):
        write_new(tmp_path, FILES)
    assert names(tmp_path) == []


def test_a_file_that_cannot_be_written_whole_leaves_the_one_that_was_there(tmp_path, full_after_one):
    path = tmp_path / "sheet.pdf"
    write_whole(path, b"good")
    with pytest.raises(Refused, match="What was there is as it was"):
        write_whole(path, b"new" * 100)
    assert (path.read_bytes(), names(tmp_path)) == (b"good", ["sheet.pdf"])


def test_what_a_killed_program_left_goes_with_the_next_writing(tmp_path):
    left = tmp_path / f"{UNFINISHED}1"
    left.mkdir()
    (left / "a.csv").write_bytes(b"half")
    long_ago = time.time() - LEFT_AFTER_SECONDS - 1
    os.utime(left, (long_ago, long_ago))
    write_new(tmp_path, FILES)
    assert names(tmp_path) == ["a.csv", "b.csv"]


def test_two_programs_that_write_into_one_folder_do_not_clear_each_others_work_away(tmp_path, monkeypatch):
    """The second took the first one's folder for that of a killed program."""
    real = new_files._write

    def write(path, content: bytes) -> None:
        if path.name == "sheet.pdf":
            write_new(tmp_path, FILES)
        real(path, content)

    monkeypatch.setattr(new_files, "_write", write)
    write_whole(tmp_path / "sheet.pdf", b"good")
    assert names(tmp_path) == ["a.csv", "b.csv", "sheet.pdf"]


def test_files_of_the_user_are_not_replaced_and_a_link_and_its_rights_stay(tmp_path):
    write_new(tmp_path, FILES)
    with pytest.raises(BadInput, match=r"holds a\.csv, b\.csv already"):
        write_new(tmp_path, FILES)
    (tmp_path / "a.csv").chmod(0o644)
    (tmp_path / "link.csv").symlink_to(tmp_path / "a.csv")
    write_whole(tmp_path / "link.csv", b"new")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "a.csv").read_bytes() == b"new"
    assert stat.S_IMODE((tmp_path / "a.csv").stat().st_mode) == 0o644


@pytest.mark.skipif(not os.path.exists("/dev/null"), reason="no device to write to")
def test_a_device_is_written_to_and_not_replaced(tmp_path):
    link = tmp_path / "nowhere.pdf"
    link.symlink_to("/dev/null")
    write_whole(link, b"x")
    assert not os.path.isfile("/dev/null")
