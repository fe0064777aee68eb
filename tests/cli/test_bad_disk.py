"""A folder that may not be written, a full disk: one clear line, and what was kept stays."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from keysense.studio import Studio


def test_a_folder_that_may_not_be_written(say, files, monkeypatch, tmp_path):
    def refuse(self, *_, **__):
        raise PermissionError(errno.EACCES, "Permission denied", str(self))

    monkeypatch.setattr(Path, "mkdir", refuse)
    said = say("bring", files / "sleepy.mid")
    assert said.is_one_clear_line
    assert "cannot be written" in said.err


@pytest.mark.skipif(not Path("/sys/kernel").is_dir(), reason="needs a file system that is read-only even for root")
def test_a_folder_that_really_is_read_only(say, tmp_path):
    if os.geteuid() == 0:
        locked = Path("/sys/kernel")
    else:
        locked = tmp_path / "locked"
        locked.mkdir(mode=0o555)
    said = say("--studio", locked / "studio", "pupil", "add", "Pip", "--agreed-by", "x", "--on", "2026-09-01")
    assert said.is_one_clear_line, said
    assert "cannot be written" in said.err


def test_a_studio_whose_file_may_only_be_read(lesson, files, tmp_path):
    """The folder was copied from a read-only disk: looking works, keeping says plainly that it cannot."""
    from sqlalchemy import event

    from keysense.studio import store

    made = store._sqlite

    def read_only(url):
        engine = made(url)
        event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("PRAGMA query_only = ON"))
        return engine

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(store, "_sqlite", read_only)
        said = lesson("bring", files / "sleepy.mid")
    assert said.is_one_clear_line, said
    assert "cannot be written" in said.err


def test_a_full_disk_is_one_line_and_what_was_kept_stays(lesson, files, monkeypatch):
    lesson("bring", files / "sleepy.mid", "--for", "pip cat")
    import sqlite3

    from sqlalchemy import exc
    from sqlalchemy.orm import Session

    def full(self, *_, **__):
        raise exc.OperationalError("INSERT", {}, sqlite3.OperationalError("database or disk is full"))

    with monkeypatch.context() as patched:
        patched.setattr(Session, "flush", full)
        said = lesson("bring", files / "proud.mid")
    assert said.is_one_clear_line
    assert "disk is full" in said.err
    with Studio.open() as studio:
        assert len(studio.takes()) == 1


def test_a_full_disk_under_any_other_file(say, files, monkeypatch, tmp_path):
    def full(*_, **__):
        raise OSError(errno.ENOSPC, "No space left on device", str(tmp_path / "out.json"))

    monkeypatch.setattr("keysense.cli.looking.print_json", full)
    said = say("look", files / "sleepy.mid", "--target", files / "tune.mid", "--json")
    assert said.is_one_clear_line
    assert "disk is full" in said.err


def test_where_the_second_of_two_files_cannot_be_kept_neither_is(lesson, files, monkeypatch):
    from keysense.errors import StudioError

    named = Studio.name_line

    def fail_for_the_second(self, ref, text, *, accept=False):
        if len(self.takes()) == 2:
            raise StudioError("the disk is full (studio.sqlite): free some room and try again")
        return named(self, ref, text, accept=accept)

    monkeypatch.setattr(Studio, "name_line", fail_for_the_second)
    assert lesson("bring", files / "sleepy.mid", files / "proud.mid", "--for", "pip cat").is_one_clear_line
    with Studio.open() as studio:
        assert studio.takes() == []
