"""Files that a crash cannot halve, and faults told in one line."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

import keysense.files as files
from keysense.errors import StudioError, TakeFileError
from keysense.files import read_whole, what_went_wrong, write_atomically


def test_the_new_file_stands_where_the_old_one_stood(tmp_path: Path) -> None:
    path = tmp_path / "a.mid"
    write_atomically(path, b"old")
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT])
def test_a_full_disk_is_one_line_and_leaves_the_old_file(
    code: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.mid"
    write_atomically(path, b"old")

    def full(_: int) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(files, "sync", full)
    with pytest.raises(TakeFileError, match=r"the disk is full, so a\.mid could not be written"):
        write_atomically(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_folder_is_one_line_of_the_error_asked_for(tmp_path: Path) -> None:
    with pytest.raises(StudioError, match="there is no"):
        write_atomically(tmp_path / "nowhere" / "a.mid", b"", error=StudioError)


def test_a_file_far_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "a.mid"
    path.write_bytes(bytes(100))
    assert read_whole(path, largest_bytes=100) == bytes(100)
    with pytest.raises(TakeFileError, match="far too large"):
        read_whole(path, largest_bytes=99)


@pytest.mark.parametrize("code", [errno.EACCES, errno.EROFS, errno.ENOENT, errno.EISDIR, errno.EIO, errno.ENOSPC])
def test_every_fault_of_a_file_is_one_line_with_its_name_and_a_remedy(code: int) -> None:
    line = what_went_wrong(OSError(code, os.strerror(code)), "lesson/a.mid")
    assert "a.mid" in line
    assert "\n" not in line
    assert ":" in line or "try again" in line
