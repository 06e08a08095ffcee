"""Layers of a land kept beside its file, or in the cache folder."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.files.layer_keeping import LEAST_CELLS, keeper_beside, throw_layers
from pacewright.ground.locate.layers import build_layers
from support.made_land_walks import hilly_land
from support.searches import terrain_of

LAND = terrain_of(hilly_land(60, 0.16, seed=8))


@pytest.fixture
def cache(tmp_path, monkeypatch):
    """A cache folder of the test's own."""
    folder = tmp_path / "cache"
    monkeypatch.setattr("platformdirs.user_cache_path", lambda name: folder / name)
    return folder / "pacewright"


@pytest.fixture
def kept(tmp_path, cache):
    """`kept(land, streams=None)`: the layers by a keeper of a file, and whether they had to be made."""

    def layers(land, streams=None, least_cells=0):
        made = []

        def make():
            made.append(True)
            return build_layers(land, streams)

        found = keeper_beside(str(tmp_path / "land.tif"), least_cells)(land, streams, make)
        return found, bool(made)

    return layers


def test_layers_are_made_once_and_then_read_beside_the_file(kept, tmp_path):
    first, was_made = kept(LAND)
    again, is_made = kept(LAND)
    assert was_made and not is_made
    for name in ("height_m", "kind", "stream", "west_m", "relief_m"):
        assert np.array_equal(getattr(first, name), getattr(again, name)), name
    assert len(list((tmp_path / "land.tif.layers").glob("*.npz"))) == 1


def test_another_content_has_layers_of_its_own(kept):
    kept(LAND)
    higher = LAND.elevation_m.copy()
    higher[3, 3] += 1.0
    assert kept(replace(LAND, elevation_m=higher))[1]
    assert kept(LAND, np.eye(60, dtype=bool))[1]
    assert not kept(LAND)[1]


def test_where_the_folder_cannot_be_written_the_cache_folder_holds_them(kept, tmp_path, cache):
    (tmp_path / "land.tif.layers").write_text("a file where the folder would be", encoding="utf-8")
    assert kept(LAND)[1]
    assert not kept(LAND)[1]
    assert len(list((cache / "land.tif.layers").glob("*.npz"))) == 1


def test_where_nothing_can_be_written_they_are_made_each_time(kept, tmp_path, cache):
    (tmp_path / "land.tif.layers").write_text("", encoding="utf-8")
    cache.parent.write_text("", encoding="utf-8")
    assert kept(LAND)[1] and kept(LAND)[1]


def test_what_is_damaged_is_made_again(kept, tmp_path):
    kept(LAND)
    (file,) = (tmp_path / "land.tif.layers").glob("*.npz")
    file.write_bytes(file.read_bytes()[:500])
    assert kept(LAND)[1]
    assert not kept(LAND)[1]


def test_a_small_land_leaves_no_folder_behind(kept, tmp_path):
    assert LAND.elevation_m.size < LEAST_CELLS
    assert kept(LAND, least_cells=LEAST_CELLS)[1]
    assert not (tmp_path / "land.tif.layers").exists()


def test_what_is_thrown_away_is_gone_from_wherever_it_was_kept(kept, tmp_path, cache):
    kept(LAND)
    (cache / "land.tif.layers").mkdir(parents=True)
    other = tmp_path / "other.tif.layers"
    other.mkdir()
    throw_layers(str(tmp_path / "land.tif"))
    assert not (tmp_path / "land.tif.layers").exists() and not (cache / "land.tif.layers").exists()
    assert other.exists()
    throw_layers(str(tmp_path / "land.tif"))
