"""The public names: a log from a path or bytes, and its standing."""

from __future__ import annotations

import pandas as pd

from pacewright.api import Standing, read_log, read_walker
from pacewright.files.bundled import bundled
from support.command import run


def test_a_standing_says_what_the_command_says_and_gives_rows_for_pandas(tmp_path) -> None:
    path, walker = tmp_path / "fen.csv", tmp_path / "ines.toml"
    path.write_bytes(bundled("cinder_fen.csv"))
    walker.write_bytes(bundled("ines_rowe.toml"))
    assert read_log(path) == read_log(str(path)) == read_log(path.read_bytes())
    standing = Standing(path, read_walker(walker.read_bytes()))
    assert standing.say() == run("back", path, "--walker", walker).out.splitlines()
    table = pd.DataFrame(standing.to_rows())
    assert list(table["name"])[-1] == "Heron post" and len(table) == 6
    assert standing._repr_svg_().startswith("<svg") and len(repr(standing)) < 100
