"""The keys of --json."""

from __future__ import annotations

import json

import numpy as np
import pytest

from pacewright.answers.way import way_back
from pacewright.core.pace.tally import Tally
from pacewright.core.pace.walker import Walker
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.regions import station_region
from pacewright.files.log_csv import read_log
from pacewright.files.result_json import (
    encode,
    reckoning_keys,
    region_keys,
    tally_keys,
    way_back_keys,
)

SQUARE = read_log(b"# start: Gate\nazimuth,count,notes\n0,100,[at Oak]\n90,100,\n180,100,\n")


def plain(keys: object) -> object:
    return json.loads(encode(keys))


def test_what_is_not_finite_becomes_null():
    assert encode({"a": float("nan"), "b": [float("inf")]}) == b'{"a":null,"b":[null]}'


def test_arrays_become_lists_and_numpy_scalars_numbers():
    keys = {"a": np.eye(2), "b": np.float64(1.5), "c": np.int64(3), "d": np.bool_(True)}
    assert plain(keys) == {"a": [[1, 0], [0, 1]], "b": 1.5, "c": 3, "d": True}


def test_a_file_name_that_is_no_text_comes_back_as_it_was():
    name = b"\xff.csv".decode("utf-8", "surrogateescape")
    assert plain({"file": name, "covariance": np.eye(2)}) == {"file": name, "covariance": [[1, 0], [0, 1]]}


def test_what_has_no_place_in_json_is_a_fault_of_the_caller():
    with pytest.raises(TypeError):
        encode({"a": object()})


def test_a_reckoning_has_a_row_a_station():
    keys = plain(reckoning_keys(reckon(SQUARE, Walker())))
    assert list(keys) == ["frame", "unit", "azimuth_reference", "stations", "remarks"]
    assert [list(s) for s in keys["stations"]] == [
        ["index", "name", "leg", "east", "north", "covariance"]
    ] * 4
    assert [(s["index"], s["name"], s["leg"]) for s in keys["stations"]] == [
        (0, "Gate", None),
        (1, "Oak", 1),
        (2, None, 2),
        (3, None, 3),
    ]
    assert [(s["east"], s["north"]) for s in keys["stations"]] == [(0, 0), (0, 100), (100, 100), (100, 0)]
    assert keys["stations"][0]["covariance"] == [[0, 0], [0, 0]]


def test_a_way_back_without_names_tells_the_numbers():
    keys = plain(way_back_keys(way_back(SQUARE, from_station=3, to_station=2)))
    assert (keys["from"], keys["to"], keys["from_index"], keys["to_index"]) == (3, 2, 3, 2)
    assert (keys["azimuth_deg"], keys["count"], keys["unit"]) == (0, 100, "pace")
    assert keys["map"] is None
    assert keys["tally"] == tally_keys(Tally(0, 1, 0)) == {"thousands": 0, "hundreds": 1, "paces": 0}
    assert tally_keys(None) is None


def test_a_region_is_a_closed_outline():
    keys = plain(region_keys(station_region(reckon(SQUARE, Walker()), 3)))
    assert keys["probability"] == 0.95 and keys["shape"]
    assert keys["outline"][0] == pytest.approx(keys["outline"][-1])
