"""A raster opens by its format, not by what its text says; it reads no other file and asks nobody."""

from __future__ import annotations

import random
import socket
import threading
from importlib import resources
from pathlib import Path

import pytest

from pacewright.exceptions import Complaint, FormatComplaint
from pacewright.files.elevation import DEMO_GROUND, read_terrain

pytest.importorskip("rasterio")

VRT = """<VRTDataset rasterXSize="{side}" rasterYSize="{side}"><SRS>EPSG:32611</SRS>
<GeoTransform>300000, 30, 0, 4100000, 0, -30</GeoTransform>
<VRTRasterBand dataType="Float32" band="1"><SimpleSource><SourceFilename>{source}</SourceFilename>
<SourceBand>1</SourceBand></SimpleSource></VRTRasterBand></VRTDataset>"""


def demo_bytes() -> bytes:
    return resources.files("pacewright").joinpath("data", DEMO_GROUND).read_bytes()


@pytest.mark.parametrize("before", ["", " " * 64, "\n" * 200, "\ufeff"])
def test_a_list_that_names_another_file_is_not_followed(tmp_path: Path, before: str) -> None:
    """GDAL's own reader of such lists follows it: asked without a list of formats, it gives the heights."""
    import rasterio

    (tmp_path / "secret.tif").write_bytes(demo_bytes())
    text = before + VRT.format(side=20, source=tmp_path / "secret.tif")
    path = tmp_path / "land.tif"
    path.write_text(text, encoding="utf-8")
    if not before.startswith("\ufeff"):
        with rasterio.open(path) as followed:
            assert followed.driver == "VRT"
    with pytest.raises(FormatComplaint, match="no raster that can be read"):
        read_terrain(str(path))


def test_nothing_is_fetched_from_the_net(tmp_path: Path) -> None:
    asked: list[bytes] = []
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        server.settimeout(0.5)

        def listen() -> None:
            for _ in range(4):
                try:
                    line, _ = server.accept()
                except OSError:
                    return
                with line:
                    asked.append(line.recv(100))

        listening = threading.Thread(target=listen)
        listening.start()
        address = f"http://127.0.0.1:{port}/land.tif"
        path = tmp_path / "land.tif"
        path.write_text(" " * 64 + VRT.format(side=20, source=f"/vsicurl/{address}"), encoding="utf-8")
        for name in (str(path), f"/vsicurl/{address}", address, f"/vsizip//vsicurl/{address}", "/vsistdin/"):
            with pytest.raises(Complaint):
                read_terrain(name)
        listening.join()
    assert asked == []


def test_a_damaged_raster_is_a_complaint_whatever_the_library_says(tmp_path: Path) -> None:
    """Bytes turned at random in the heads of good files: each is read or refused with a sentence."""
    chance = random.Random(5)
    good = demo_bytes()
    for _ in range(300):
        data = bytearray(good)
        for _ in range(chance.randint(1, 6)):
            data[chance.randrange(0, min(600, len(data)))] = chance.randrange(256)
        tail = len(data) - chance.choice([0, 0, chance.randrange(len(data))])
        path = tmp_path / "land.tif"
        path.write_bytes(bytes(data[:tail]))
        try:
            read_terrain(str(path), most_cells=4_000_000)
        except Complaint:
            continue
