"""Files are there whole or not at all, on the disk, and no link that somebody laid is written through."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import pytest

from auditor.core import whole_files
from auditor.core.whole_files import PRIVATE, make_private_folder, write_together, write_whole, written_whole


def test_a_file_gets_its_name_when_it_is_whole(tmp_path: Path) -> None:
    """A fault while it is written leaves what was there, and nothing beside it."""
    path = write_whole(tmp_path / "a.txt", "before")

    def fail() -> None:
        with written_whole(path) as file:
            file.write(b"half")
            assert path.read_text() == "before"
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    assert path.read_text() == "before"
    assert list(tmp_path.iterdir()) == [path]


def test_it_is_on_the_disk_before_it_has_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file first, then its name, then the folder's list of names."""
    done: list[str] = []
    fsync, replace = os.fsync, Path.replace

    def synced(handle: int) -> None:
        done.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        fsync(handle)

    def named(self: Path, target: Path) -> Path:
        done.append("name")
        return replace(self, target)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(Path, "replace", named)
    write_whole(tmp_path / "a.txt", b"x")
    assert done == ["file", "name", "folder"]


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right there")
def test_no_link_is_followed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither one at the file's name, which is replaced, nor one laid at the name it is written under."""
    victim = write_whole(tmp_path / "victim", "mine")
    (tmp_path / "report.html").symlink_to(victim)
    write_whole(tmp_path / "report.html", "new")
    write_together(tmp_path, {"report.html": "newer"})
    assert not (tmp_path / "report.html").is_symlink()
    monkeypatch.setattr(whole_files, "fresh", lambda path: path.with_name(".known"))
    (tmp_path / ".known").symlink_to(victim)
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "report.html", "other")
    assert victim.read_text() == "mine"


def test_files_written_together_are_all_new_or_all_as_they_were(tmp_path: Path) -> None:
    """Where the third cannot be replaced, the first two are put back, and one that was not there is not there."""
    before = {"a": "old a", "c": "old c"}
    write_together(tmp_path, before)
    (tmp_path / "d").mkdir()
    with pytest.raises(IsADirectoryError):
        write_together(tmp_path, dict.fromkeys("abcd", "new"))
    assert {path.name: path.read_text() for path in tmp_path.iterdir() if path.is_file()} == before
    (tmp_path / "d").rmdir()
    write_together(tmp_path, dict.fromkeys("abcd", "new"))
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == dict.fromkeys("abcd", "new")


def test_files_are_put_back_without_second_names_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On systems of files that have no links."""

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "link", refuse)
    test_files_written_together_are_all_new_or_all_as_they_were(tmp_path)


@pytest.mark.skipif(sys.platform == "win32", reason="modes are POSIX's")
@pytest.mark.parametrize("umask", [0o000, 0o022, 0o777])
def test_what_is_private_is_so_whatever_the_umask(tmp_path: Path, umask: int) -> None:
    """0600 and 0700."""
    before = os.umask(umask)
    try:
        make_private_folder(tmp_path / "folder")
        with written_whole(tmp_path / "folder" / "file", PRIVATE) as file:
            file.write(b"x")
    finally:
        os.umask(before)
    assert (tmp_path / "folder").stat().st_mode & 0o777 == 0o700
    assert (tmp_path / "folder" / "file").stat().st_mode & 0o777 == 0o600
