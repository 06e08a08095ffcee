"""The command group: help, exit codes, streams that are closed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from pacewright import __version__
from pacewright.cli import main as front
from pacewright.files.log_csv import read_log
from support.command import run

SOURCE = Path(front.__file__).parents[2]
PAGE = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n0,100,\n90,100,\n"


def spawn(*command: str, **more: object) -> subprocess.Popen[bytes]:
    # Unbuffered, Python itself lets the rest of a half-written line go without a word.
    environment = {**os.environ, "PYTHONPATH": str(SOURCE), "PYTHONUNBUFFERED": ""}
    return subprocess.Popen([sys.executable, *command], env=environment, stderr=subprocess.PIPE, **more)


def test_help_imports_neither_numpy_nor_any_command():
    ask = (
        "import sys; sys.argv = ['pacewright', '--help']\n"
        "from pacewright.cli.main import main\n"
        "try: main()\n"
        "except SystemExit as done: assert not done.code\n"
        "print([m for m in sys.modules if m == 'numpy' or m.startswith('pacewright.c')])\n"
    )
    out, err = spawn("-c", ask, stdout=subprocess.PIPE).communicate()
    assert err == b""
    assert out.decode().splitlines()[-1] == "['pacewright.cli', 'pacewright.cli.main']"


def test_help_lists_every_command_and_every_command_has_its_own():
    told = run("--help").out
    for name, (_, line) in front.COMMANDS.items():
        assert f"\n  {name} " in told and line[:30] in told
        own = run(name, "--help")
        assert (own.code, own.err) == (0, "") and own.out.startswith(f"Usage: pacewright {name} ")


def test_the_version_is_told():
    assert run("--version").out == f"pacewright, version {__version__}\n"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["reckn"], "There is no command called reckn. Did you mean reckon?"),
        (["reckon"], "Missing argument 'FILE...'."),
        (["reckon", "a.csv", "--jsn"], "No such option"),
        (["reckon", "a.csv", "--frame", "moon"], "'moon' is not one of 'walker', 'map'."),
        (["reckon", "a.csv", "--probability", "2"], "2"),
        (["back", "a.csv", "--wrong-side", "x"], "'x' is not a number. Write digits, such as 12.5."),
    ],
)
def test_a_slip_in_the_command_is_told_with_exit_code_2(arguments, says):
    said = run(*arguments)
    assert (said.code, said.out) == (2, "")
    assert says in said.err and "Traceback" not in said.err


def test_a_fault_of_the_tool_is_one_sentence_and_its_own_exit_code(monkeypatch, tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(PAGE)
    monkeypatch.delenv("PACEWRIGHT_DEBUG", raising=False)
    monkeypatch.setattr("pacewright.cli.reckon.open_log", lambda file: 1 / 0)
    said = run("reckon", path)
    assert (said.code, said.out) == (3, "")
    assert said.err.startswith(
        "pacewright met something it did not expect (ZeroDivisionError: division by zero)."
    )
    assert len(said.err.splitlines()) == 1


def test_a_reader_that_stops_early_is_met_with_silence(tmp_path):
    path = tmp_path / "long.csv"
    path.write_text(PAGE + "5,100,[at Oak]\n" * 3000)
    for more in ([], ["--json"]):
        running = spawn("-m", "pacewright", "reckon", str(path), *more, stdout=subprocess.PIPE)
        assert running.stdout is not None
        assert running.stdout.read(3)
        running.stdout.close()
        assert running.stderr is not None and running.stderr.read() == b""
        assert running.wait() == front.CLOSED_PIPE


def test_a_reader_that_never_came_is_met_with_silence(tmp_path):
    read_end, write_end = os.pipe()
    os.close(read_end)
    running = spawn("-m", "pacewright", "--help", stdout=write_end)
    os.close(write_end)
    _, err = running.communicate()
    assert (running.returncode, err) == (front.CLOSED_PIPE, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
def test_a_full_disk_under_standard_output_is_one_sentence():
    with open("/dev/full", "wb") as full:  # noqa: PTH123
        running = spawn("-m", "pacewright", "--help", stdout=full)
        _, err = running.communicate()
    assert running.returncode == 2
    assert err.decode() == (
        "standard output cannot be written (No space left on device). Check where it goes.\n"
    )


@pytest.mark.skipif(os.name != "posix", reason="needs a shell that closes streams")
@pytest.mark.parametrize(
    ("streams", "says"),
    [
        (">&-", "standard output cannot be written (Bad file descriptor). Check where it goes.\n"),
        (
            "<&-",
            "-: this file cannot be read (standard input is closed). "
            "Check the name and that you may read it.\n",
        ),
        (">&- 2>&-", ""),
    ],
)
def test_a_stream_that_the_caller_closed_is_one_sentence(streams, says):
    done = subprocess.run(
        ["sh", "-c", f'"{sys.executable}" -m pacewright reckon - {streams}'],
        input=b"" if "<" in streams else PAGE.encode(),
        env={**os.environ, "PYTHONPATH": str(SOURCE)},
        capture_output=True,
    )
    assert (done.returncode, done.stderr.decode(), done.stdout) == (2, says, b"")


def test_a_console_that_cannot_show_a_letter_gets_an_escape(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(PAGE + "5,100,[at שער]\n", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "pacewright", "reckon", str(path)],
        env={**os.environ, "PYTHONPATH": str(SOURCE), "PYTHONIOENCODING": "latin-1"},
        capture_output=True,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert rb"\u05e9\u05e2\u05e8" in done.stdout


def test_a_log_from_standard_input_is_read_as_from_a_file():
    said = run("reckon", "-", "--json", stdin=PAGE.encode())
    assert (said.code, said.json["file"], len(said.json["stations"])) == (
        0,
        "-",
        len(read_log(PAGE.encode()).legs) + 1,
    )
