"""The published schema is what the commands print: every key, with its type, and none made up."""

from __future__ import annotations

import json

import pytest
from options_page import every_option

from support.command import run
from support.json_keys import RUNS, printed_objects
from support.json_schema import keys_held, keys_told, schema_of, wrong_with

SCHEMA = json.loads(run("schema").out)


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    return printed_objects(tmp_path_factory.mktemp("keys"))


@pytest.mark.parametrize("command", SCHEMA["$defs"])
def test_what_a_command_prints_is_what_its_schema_tells_down_to_the_leaves(command, printed):
    for one in printed[command]:
        assert wrong_with(one, SCHEMA["$defs"][command]) == []


@pytest.mark.parametrize("command", SCHEMA["$defs"])
def test_no_key_is_told_that_no_output_carries(command, printed):
    held = set().union(*map(keys_held, printed[command]))
    assert keys_told(SCHEMA["$defs"][command]) - held == set()


@pytest.mark.parametrize("command", SCHEMA["$defs"])
def test_every_key_at_the_top_is_explained(command):
    told = SCHEMA["$defs"][command]["properties"]
    assert [key for key, one in told.items() if not one["description"]] == []


@pytest.mark.parametrize("command", [*RUNS, "read"])
def test_what_is_said_on_the_screen_stands_under_one_key(command, printed):
    assert all(isinstance(one["sentences"], list) for one in printed[command])


def test_the_check_of_a_schema_finds_what_is_missing_wrong_and_made_up():
    schema = schema_of([{"legs": [{"leg": 1, "name": None}]}, {"legs": [], "p_value": None}])
    assert wrong_with({"legs": [{"leg": 1, "name": "x"}]}, schema) == []
    assert wrong_with({"p_value": "x"}, schema) == [
        ".legs is missing",
        ".p_value: string is not ['null', 'number']",
    ]
    assert wrong_with({"legs": [{"leg": "1", "name": 1, "at": 2}]}, schema) == [
        ".legs[].leg: string is not number",
        ".legs[].at is not told",
    ]


def test_one_command_may_be_asked_for():
    assert json.loads(run("schema", "back").out) == SCHEMA["$defs"]["back"]
    assert "There is no schema called bak" in run("schema", "bak").err


def test_every_command_that_prints_json_is_told() -> None:
    takers = {command for command, option in every_option() if option.opts[0] == "--json"}
    assert {one for one in takers if not any(one.startswith(told) for told in RUNS)} == {"read"}
    assert set(RUNS) | {"read", "complaint"} == set(SCHEMA["$defs"])
