"""An option means one thing: the same kind of value everywhere; and the page of all options is true."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

from options_page import every_option, options_page

PAGE = Path(__file__).parents[2] / "docs" / "options.md"
KINDS = {
    "azimuth": "text",
    "datetime": "text",
    "path": "text",
    "float range": "number",
    "integer range": "number",
    "float": "number",
    "integer": "number",
    "metres": "metres",
}


def kind_of(option) -> str:
    if option.is_flag:
        return "flag"
    name = option.type.name
    return "one of some words" if name == "choice" else KINDS.get(name, name)


def test_an_option_takes_the_same_kind_of_value_in_every_command() -> None:
    kinds = defaultdict(lambda: defaultdict(list))
    for command, option in every_option():
        kinds[option.opts[0]][kind_of(option)].append(command)
    assert {name: dict(found) for name, found in kinds.items() if len(found) > 1} == {}


def test_a_metavar_that_names_a_file_a_place_or_an_azimuth_is_the_same_everywhere() -> None:
    named = defaultdict(set)
    for _, option in every_option():
        if option.metavar in ("FILE", "AZIMUTH", "PLACE", "NAME", "DATE"):
            named[option.opts[0]].add(option.metavar)
    assert {name: found for name, found in named.items() if len(found) > 1} == {}


def test_every_option_is_explained() -> None:
    assert [(command, option.opts[0]) for command, option in every_option() if not option.help] == []


def test_the_page_of_all_options_is_what_the_commands_take() -> None:
    assert PAGE.read_text(encoding="utf-8") == options_page(), (
        "run `make docs`: it writes docs/options.md anew"
    )
