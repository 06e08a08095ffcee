"""Reading and writing whole files."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from pacewright.exceptions import FormatComplaint, OutputComplaint
from pacewright.files import disk
from pacewright.files.disk import read_bytes, write_bytes


def test_a_written_file_reads_back_and_leaves_no_draft(tmp_path):
    path = tmp_path / "a.csv"
    write_bytes(str(path), b"\0\xff\r\n")
    assert read_bytes(str(path)) == b"\0\xff\r\n"
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]


def test_a_new_file_is_readable_as_the_umask_says(tmp_path):
    before = os.umask(0o027)
    try:
        write_bytes(str(tmp_path / "a"), b"x")
    finally:
        os.umask(before)
    assert (tmp_path / "a").stat().st_mode & 0o777 == 0o640


def test_a_file_that_is_there_stays_unless_forced(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"mine")
    with pytest.raises(OutputComplaint) as raised:
        write_bytes(str(path), b"yours")
    assert str(raised.value) == (
        f"{path}: a file of this name is already there. Give another name, or --force to write over it."
    )
    assert path.read_bytes() == b"mine"
    write_bytes(str(path), b"yours", force=True)
    assert path.read_bytes() == b"yours"


def test_a_write_that_fails_midway_leaves_the_old_file_whole(tmp_path, monkeypatch):
    path = tmp_path / "a"
    path.write_bytes(b"mine")

    def refuse(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(OutputComplaint, match=r"cannot be written \(No space left on device\)"):
        write_bytes(str(path), b"yours", force=True)
    assert path.read_bytes() == b"mine"
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


@pytest.mark.parametrize("name", ["no/such/folder/a.csv", "x" * 300 + ".csv", "file/a.csv"])
def test_a_place_that_cannot_be_written_is_one_complaint(tmp_path, name):
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputComplaint) as raised:
        write_bytes(str(tmp_path / name), b"x")
    assert "this file cannot be written (" in str(raised.value)
    assert str(raised.value).endswith("). Check the folder and that you may write there.")


def test_a_folder_is_not_written_over(tmp_path):
    with pytest.raises(OutputComplaint):
        write_bytes(str(tmp_path), b"x")
    with pytest.raises(OutputComplaint, match="Is a directory"):
        write_bytes(str(tmp_path), b"x", force=True)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
def test_a_full_device_is_one_complaint():
    with pytest.raises(
        OutputComplaint, match=r"^/dev/full: this file cannot be written \(No space left on device\)"
    ):
        write_bytes("/dev/full", b"x", force=True)


@pytest.mark.parametrize(
    ("name", "reason"), [("none.csv", "No such file or directory"), (".", "Is a directory")]
)
def test_a_file_that_cannot_be_read_is_one_complaint(tmp_path, name, reason):
    path = str(tmp_path / name)
    with pytest.raises(FormatComplaint) as raised:
        read_bytes(path)
    assert str(raised.value) == (
        f"{path}: this file cannot be read ({reason}). Check the name and that you may read it."
    )


def test_a_closed_standard_input_is_one_complaint(monkeypatch):
    monkeypatch.setattr("sys.stdin", None)
    with pytest.raises(FormatComplaint, match=r"cannot be read \(standard input is closed\)"):
        read_bytes("-")


def test_a_file_larger_than_any_notebook_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(disk, "LARGEST_BYTES", 2**20)
    path = tmp_path / "big"
    path.write_bytes(b"x" * (2**20 + 1))
    with pytest.raises(
        FormatComplaint, match=r"this file is larger than 1 MB\. Give one travel log, not an archive"
    ):
        read_bytes(str(path))


@pytest.mark.skipif(os.name != "posix", reason="modes and links of another system")
def test_what_is_written_over_keeps_its_mode_and_a_link_stays_a_link(tmp_path):
    (tmp_path / "far").mkdir()
    target, link = tmp_path / "far" / "a", tmp_path / "a"
    target.write_bytes(b"mine")
    target.chmod(0o604)
    link.symlink_to(Path("far") / "a")
    write_bytes(str(link), b"yours", force=True)
    assert link.is_symlink() and target.read_bytes() == b"yours"
    assert target.stat().st_mode & 0o777 == 0o604
    assert sorted(p.name for p in tmp_path.rglob("*")) == ["a", "a", "far"]


def test_what_is_written_is_on_the_disk_before_it_takes_the_name(tmp_path, monkeypatch):
    done: list[str] = []
    fsync, replace = os.fsync, Path.replace
    monkeypatch.setattr("os.fsync", lambda handle: (done.append("sync"), fsync(handle))[1])
    monkeypatch.setattr(Path, "replace", lambda self, to: (done.append("rename"), replace(self, to))[1])
    write_bytes(str(tmp_path / "a"), b"x")
    assert done[:2] == ["sync", "rename"]


def test_an_input_is_never_written_over_under_any_of_its_names(tmp_path):
    path, other = tmp_path / "a", tmp_path / "b"
    path.write_bytes(b"mine")
    other.hardlink_to(path)
    disk.watch_inputs()
    read_bytes(str(path))
    for name in (path, other, tmp_path / "." / "a"):
        with pytest.raises(OutputComplaint, match="was read as input, and an input is never written over"):
            write_bytes(str(name), b"yours", force=True)
    disk.watch_inputs()
    write_bytes(str(other), b"yours", force=True)
    assert path.read_bytes() == b"mine"
