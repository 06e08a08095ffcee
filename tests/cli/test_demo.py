"""pacewright demo: the main job, from the page to the way back."""

from __future__ import annotations

from pacewright.answers.way import way_back
from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
from pacewright.files.log_csv import read_log
from pacewright.files.walker_toml import read_walker
from support.command import run


def test_the_demo_tells_the_way_back_and_leaves_its_files(tmp_path):
    folder = tmp_path / "a" / "demo"
    said = run("demo", "--into", folder)
    assert (said.code, said.err) == (0, "")
    way = way_back(read_log(bundled(DEMO_LOG)), read_walker(bundled(DEMO_WALKER)))
    assert f"\n{way.azimuth_deg:.0f} deg  {way.count} paces  3 lower beads + 92\n" in said.out
    assert f"From {way.from_name} to {way.to_name} (magnetic)." in said.out
    assert "Local rules and qualified instruction come first" in said.out
    begins = {path.name: path.read_bytes()[:4] for path in folder.iterdir()}
    assert set(begins) >= {DEMO_LOG, DEMO_WALKER, "cinder_fen.svg", "cinder_fen.png", "cinder_fen.pdf"}
    assert begins["cinder_fen.png"] == b"\x89PNG" and begins["cinder_fen.pdf"] == b"%PDF"


def test_the_demo_can_be_run_again_and_told_as_json(tmp_path):
    assert run("demo", "--into", tmp_path, "--json").code == 0
    answer = run("demo", "--into", tmp_path, "--json").json
    assert {"reckon", "back", "written"} <= set(answer)
    # What is left can be worked on: the same way back by the ordinary command.
    again = run("back", tmp_path / DEMO_LOG, "--walker", tmp_path / DEMO_WALKER, "--json").json
    assert again["azimuth_deg"] == answer["back"]["azimuth_deg"]


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path):
    (tmp_path / "file").write_text("mine")
    said = run("demo", "--into", tmp_path / "file")
    assert (said.code, said.out) == (2, "")
    assert (
        said.err == f"{tmp_path / 'file'}: this folder cannot be made (File exists). Give another --into.\n"
    )
