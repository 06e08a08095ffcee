"""The published schema is what the commands print: every key, with its type, and none made up."""

from __future__ import annotations

import json

import pytest
from options_page import every_option

from support.command import run
from support.json_keys import RUNS, printed_keys

SCHEMA = json.loads(run("schema").out)


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    return printed_keys(tmp_path_factory.mktemp("keys"))


@pytest.mark.parametrize("command", [*RUNS, "complaint"])
def test_every_key_is_told_and_no_other(command, printed):
    told = SCHEMA["$defs"][command]
    assert sorted(printed[command]) == sorted(told["properties"])
    left = {"file", "title"} if command == "sheet" else set()
    assert set(told["properties"]) - set(told["required"]) == left
    for key, kind in printed[command].items():
        allowed = told["properties"][key]["type"]
        assert kind in (allowed if isinstance(allowed, list) else [allowed]), key
        assert told["properties"][key]["description"], key


@pytest.mark.parametrize("command", RUNS)
def test_what_is_said_on_the_screen_stands_under_one_key(command, printed):
    assert printed[command]["sentences"] == "array"


def test_one_command_may_be_asked_for():
    assert json.loads(run("schema", "back").out) == SCHEMA["$defs"]["back"]
    assert "There is no schema called bak" in run("schema", "bak").err


def test_every_command_that_prints_json_is_told() -> None:
    takers = {command for command, option in every_option() if option.opts[0] == "--json"}
    assert {one for one in takers if not any(one.startswith(told) for told in RUNS)} == {"demo", "read"}
    assert set(RUNS) | {"complaint"} == set(SCHEMA["$defs"])
