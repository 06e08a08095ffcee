"""Small files that would fill the memory of the machine: each is refused in a process of one gigabyte."""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest

from pacewright.files.backup_zip import KIND, MANIFEST
from support.limited import run_limited

READ_BACKUP = """
from pathlib import Path
from pacewright.files.backup_zip import read_backup
read_backup(Path({path!r}).read_bytes())
"""
READ_FILE = """
from pathlib import Path
from pacewright.files.{module} import {reader}
found = {reader}(Path({path!r}).read_bytes(){more})
print("read")
"""
GOOD = f'{{"kind": "{KIND}", "version": 1}}'


def lying_zip(path: Path) -> None:
    """An entry of 1.2 GB of zeros, deflated, that says of itself that it is 10 bytes long."""
    packer = zlib.compressobj(1, zlib.DEFLATED, -15)
    zeros = bytes(10_000_000)
    packed = b"".join([*(packer.compress(zeros) for _ in range(120)), packer.flush()])
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as made:
        made.writestr(MANIFEST, GOOD)
        made.writestr("logs/a.csv", packed)
    data = bytearray(path.read_bytes())
    for mark, method, size in ((b"PK\x03\x04", 8, 22), (b"PK\x01\x02", 10, 24)):
        at = data.rindex(mark)
        data[at + method] = zipfile.ZIP_DEFLATED
        data[at + size : at + size + 4] = (10).to_bytes(4, "little")
    path.write_bytes(data)


def manifest_of_nothings(path: Path) -> None:
    text = GOOD[:-1] + ', "logs": [' + "{}," * 20_000_000 + "{}]}"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(MANIFEST, text)


def manifest_of_short_texts(path: Path) -> None:
    text = GOOD[:-1] + ', "logs": [' + '"ab",' * 12_000_000 + '"ab"]}'
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(MANIFEST, text)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lying_zip, "complaint: this is no backup, or it is damaged"),
        (manifest_of_nothings, "complaint: the manifest.json of this backup "),
        (manifest_of_short_texts, "complaint: the manifest.json of this backup "),
    ],
)
def test_an_archive_takes_no_more_than_it_is_allowed(
    tmp_path: Path, make: Callable[[Path], None], says: str
) -> None:
    path = tmp_path / "bomb.zip"
    make(path)
    said = run_limited(READ_BACKUP.format(path=str(path)))
    assert said.code == 0, said.err
    assert said.out.startswith(says)


DOTS = b"a" + b".a" * 40_000 + b" = 1\n"
TOO_MANY_KEYS = b"".join(b"k%d=1\n" % k for k in range(3_000_000))
ROWS = b"azimuth,count,notes\n" + b"9,9,\n" * 12_000_000
BLANK_LINES = b"azimuth,count,notes\n9,9,\n" + b"\n" * 60_000_000
REMARKS = b"azimuth,count,notes\n9,9," + b"[time 1:11]" * 5_000_000 + b"\n"
NAMES = b"azimuth,count,notes\n" + (b"9,9," + b"[was 1]" * 250 + b"\n") * 30_000
CELLS = b"azimuth,count,notes\n9,9," + b"," * 60_000_000 + b"\n"
TABLE = b"learner,card\n" + b"a,1\n" * 15_000_000
RUNS = b"ground,slope,load_kg,distance_m,count\n" + b",up,,9,9\n" * 6_000_000


@pytest.mark.parametrize(
    ("module", "reader", "data", "more", "says"),
    [
        ("walker_toml", "read_walker", DOTS, "", "a name of this file is made of more than"),
        ("walker_toml", "read_walker", TOO_MANY_KEYS, "", "this file is larger than"),
        ("walker_toml", "read_walker", b"a = " + b"[" * 4_000_000, "", "this file is larger than"),
        ("course_toml", "read_course", b"[[a]]\n" * 600_000, "", "this file has more than"),
        ("log_csv", "read_log", ROWS, "", "this file is larger than"),
        ("log_csv", "read_log", ROWS[:12_000_000], "", "this file has more than"),
        ("log_csv", "read_log", BLANK_LINES[:15_000_000], "", "this file has more than"),
        ("log_csv", "read_log", REMARKS[:15_000_000], "", "this line is longer than"),
        ("log_csv", "read_log", NAMES, "", "this file is larger than"),
        ("log_csv", "read_log", CELLS[:15_000_000], "", "this line is longer than"),
        ("csv_table", "read_table", TABLE[:15_000_000], ", 'a table', ('learner', 'card')", "has more than"),
        ("trials_csv", "read_trials", RUNS[:15_000_000], "", "this file has more than"),
    ],
    ids=lambda value: value if isinstance(value, str) and len(value) < 12 else "",
)
def test_a_text_that_would_fill_the_memory_is_refused_before_anything_is_built(
    tmp_path: Path, module: str, reader: str, data: bytes, more: str, says: str
) -> None:
    path = tmp_path / "bomb"
    path.write_bytes(data)
    said = run_limited(READ_FILE.format(path=str(path), module=module, reader=reader, more=more))
    assert said.code == 0, said.err
    assert says in said.out and said.out.startswith("complaint: ")


LARGE_LOG = b"azimuth,count,notes\n" + (b"9,9," + b"[was 1]" * 21 + b"\n") * 99_990
LARGE_TOML = b"".join(b"[[card]]\nnumber=%d\n" % k for k in range(49_000))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("module", "reader", "data", "says"),
    [
        ("log_csv", "read_log", LARGE_LOG, "read\n"),
        ("course_toml", "read_course", LARGE_TOML, "complaint: column kind: kind is missing"),
    ],
)
def test_the_largest_text_that_is_taken_is_read_within_the_same_memory(
    tmp_path: Path, module: str, reader: str, data: bytes, says: str
) -> None:
    path = tmp_path / "large"
    path.write_bytes(data)
    said = run_limited(READ_FILE.format(path=str(path), module=module, reader=reader, more=""))
    assert said.code == 0, said.err
    assert said.out.startswith(says)


def test_the_largest_manifest_that_is_taken_is_read_within_the_same_memory(tmp_path: Path) -> None:
    row = '{"id":"r%d","azimuth":"%d","count":"%d","notes":"","struck":false}'
    rows = ",".join(row % (k, k % 360, k) for k in range(390_000))
    path = tmp_path / "large.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(MANIFEST, GOOD[:-1] + f', "logs": [{rows}]}}')
    said = run_limited(READ_BACKUP.format(path=str(path)) + '\nprint("read")')
    assert (said.code, said.out) == (0, "read\n"), said.err
