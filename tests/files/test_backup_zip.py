"""Archives that anybody may have made: what is no backup is refused with a sentence."""

from __future__ import annotations

import io
import json
import zipfile

import pytest

from pacewright.exceptions import FormatComplaint
from pacewright.files import backup_zip
from pacewright.files.backup_zip import MANIFEST, Draft, read_backup

GOOD = json.dumps({"kind": backup_zip.KIND, "version": 1})


def archive(*files: tuple[str, str | bytes], compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", compression) as made:
        for name, data in files:
            made.writestr(zipfile.ZipInfo(name), data, compression)
    return out.getvalue()


def written() -> bytes:
    draft = Draft()
    assert draft.add_record("logs", {"title": "Fen – 沼"})
    assert draft.add_file("logs/0001-fen.csv", b"\x00\xff")
    return draft.finish(left_out=["x"])


def test_what_is_written_is_read() -> None:
    data = written()
    back = read_backup(data)
    assert back.manifest["logs"] == [{"title": "Fen – 沼"}] and back.manifest["left_out"] == ["x"]
    assert dict(back.files) == {"logs/0001-fen.csv": b"\x00\xff"}
    assert data == written()


def test_what_has_no_room_is_told_of() -> None:
    draft = Draft(most_manifest_bytes=12_000)
    assert draft.add_record("logs", {"title": "x" * 1_000})
    assert not draft.add_record("logs", {"title": "x" * 1_000})
    assert draft.add_record("logs", {"title": "x" * 100})
    assert not draft.add_file("logs/a.csv", bytes(9_000), most_bytes=20_000)
    assert draft.add_file("logs/a.csv", bytes(8_000), most_bytes=20_000)
    back = read_backup(draft.finish(), most_manifest_bytes=12_000)
    assert [len(one["title"]) for one in back.manifest["logs"]] == [1_000, 100]
    assert list(back.files) == ["logs/a.csv"]


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/cron.d/x",
        "/etc/passwd",
        "logs/../x",
        "C:x",
        "a\\b",
        "logs//x",
        "LOGS/x",
        "logs/a/b",
        ".x",
        "é",
    ],
)
def test_a_name_that_leads_elsewhere_is_refused(name: str) -> None:
    with pytest.raises(FormatComplaint, match="a name that no backup has"):
        read_backup(archive((MANIFEST, GOOD), (name, b"x")))


@pytest.mark.parametrize("data", [b"", b"x", b"PK\x03\x04", archive((MANIFEST, GOOD))[:-30]])
def test_what_is_no_archive_is_refused(data: bytes) -> None:
    with pytest.raises(FormatComplaint, match="no backup, or it is damaged"):
        read_backup(data)


def test_an_archive_with_a_flipped_bit_is_refused() -> None:
    data = bytearray(archive((MANIFEST, GOOD), ("logs/a.csv", b"305,240," * 50)))
    at = data.index(b"logs/a.csv") + len(b"logs/a.csv") + 3
    data[at] ^= 0x40
    with pytest.raises(FormatComplaint, match="damaged"):
        read_backup(bytes(data))


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    data = archive((MANIFEST, GOOD), ("logs/a.csv", bytes(backup_zip.MOST_BYTES + 1)))
    assert len(data) < 1_000_000
    with pytest.raises(FormatComplaint, match="unpacks to more than 300 MB"):
        read_backup(data)


def test_a_bomb_that_lies_about_its_size_is_refused() -> None:
    data = archive((MANIFEST, GOOD), ("logs/a.csv", bytes(1_000_000)))
    lied = data.replace((1_000_000).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    assert lied != data
    with pytest.raises(FormatComplaint, match="damaged"):
        read_backup(lied)


def test_too_many_files_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(backup_zip, "MOST_ENTRIES", 3)
    files = [(f"logs/{at}.csv", b"x") for at in range(3)]
    with pytest.raises(FormatComplaint, match="more than 3 files"):
        read_backup(archive((MANIFEST, GOOD), *files))
    with pytest.raises(FormatComplaint, match="more than 3 files"):
        read_backup(archive((MANIFEST, GOOD), *[(f"logs/{at}.csv", b"x") for at in range(20)]))


def test_a_name_twice_is_refused() -> None:
    with pytest.warns(UserWarning, match="Duplicate"):
        data = archive((MANIFEST, GOOD), (MANIFEST, GOOD))
    with pytest.raises(FormatComplaint, match="a name twice"):
        read_backup(data)


def test_a_locked_archive_is_refused() -> None:
    data = bytearray(archive((MANIFEST, GOOD)))
    data[data.index(b"PK\x01\x02") + 8] |= 1
    with pytest.raises(FormatComplaint, match="locked with a password"):
        read_backup(bytes(data))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{", "cannot be read"),
        ("[" * 100_000, "cannot be read"),
        ('{"kind": NaN}', "cannot be read"),
        ('{"kind": "\\ud800"}', "cannot be read"),
        ("[]", "is none of a backup"),
        ("{}", "is none of a backup"),
        ('{"kind": "pacewright backup", "version": 99}', "another version"),
    ],
)
def test_a_manifest_that_is_none_is_refused(text: str, says: str) -> None:
    with pytest.raises(FormatComplaint, match=says):
        read_backup(archive((MANIFEST, text)))


def test_an_archive_without_a_manifest_is_refused() -> None:
    with pytest.raises(FormatComplaint, match=r"holds no manifest\.json"):
        read_backup(archive(("logs/a.csv", b"x")))


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_an_archive_packed_otherwise_is_refused(method: int) -> None:
    with pytest.raises(FormatComplaint, match="packed in a way that no backup is"):
        read_backup(archive((MANIFEST, GOOD), ("logs/a.csv", b"x" * 1000), compression=method))


def test_a_guest_gives_a_small_manifest() -> None:
    data = archive((MANIFEST, GOOD[:-1] + ', "logs": "' + "x" * 5_000 + '"}'))
    assert read_backup(data).manifest["logs"]
    with pytest.raises(FormatComplaint, match=r"the manifest\.json of this backup is too large"):
        read_backup(data, most_manifest_bytes=5_000)
