"""Recorded tracks from GPX: what is read, what is refused, and in how much memory."""

from __future__ import annotations

import io
import tracemalloc

import numpy as np
import pytest

from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint
from pacewright.files import gpx_track
from pacewright.files.gpx_track import read_track, read_track_from

HEAD = b'<?xml version="1.0"?>\n<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">\n'
POINT = b'<trkpt lat="46.5" lon="9.0"><ele>512</ele><time>2026-05-14T09:00:00Z</time></trkpt>'
BOMB = (
    b'<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
    + b"".join(
        b'<!ENTITY %c "&%c;&%c;&%c;&%c;&%c;&%c;&%c;&%c;&%c;&%c;">' % (98 + i, *[97 + i] * 10)
        for i in range(12)
    )
    + b']><gpx version="1.1"><metadata><name>&m;</name></metadata></gpx>'
)


def points(*pairs, tag="trkpt", inside=""):
    return "".join(f'<{tag} lat="{a}" lon="{b}">{inside}</{tag}>' for a, b in pairs).encode()


def track_of(*pairs, **more):
    return HEAD + b"<trk><trkseg>" + points(*pairs, **more) + b"</trkseg></trk></gpx>"


def read(data):
    return read_track_from(io.BytesIO(data))


def test_points_come_in_order_out_of_all_segments():
    data = track_of((1, 2), (3, 4)).replace(
        b"</trkseg>", b"</trkseg><trkseg>" + points((5, 6)) + b"</trkseg>", 1
    )
    track = read(data)
    assert track.latitude_deg.tolist() == [1, 3, 5]
    assert track.longitude_deg.tolist() == [2, 4, 6]


def test_a_route_is_read_where_there_is_no_track():
    route = HEAD + b"<rte>" + points((1, 2), (3, 4), tag="rtept") + b"</rte>"
    assert read(route + b"</gpx>").latitude_deg.tolist() == [1, 3]
    both = route + b"<trk><trkseg>" + points((5, 6), (7, 8)) + b"</trkseg></trk></gpx>"
    assert read(both).latitude_deg.tolist() == [5, 7]


def test_times_are_seconds_of_universal_time_with_or_without_a_zone():
    # 2026-05-14T09:00:00Z is 1778749200 (date -u -d).
    for text in ("2026-05-14T09:00:00Z", "2026-05-14T11:00:00+02:00", "2026-05-14T09:00:00"):
        track = read(track_of((1, 2), (3, 4), inside=f"<time> {text} </time>"))
        assert track.time_s.tolist() == [1778749200] * 2
        assert track.has_times


def test_a_time_that_is_missing_or_none_makes_the_track_one_without_times():
    for text in ("", "<time></time>", "<time>noon</time>", "<time>99999-01-01T00:00:00Z</time>"):
        track = read(track_of((1, 2), (3, 4), inside=text))
        assert np.isnan(track.time_s).all() and not track.has_times


def test_other_encodings_and_other_namespaces_are_read():
    text = track_of((1, 2), (3, 4)).decode().replace('<?xml version="1.0"?>\n', "")
    assert read(text.encode("utf-16")).latitude_deg.tolist() == [1, 3]
    assert read(text.replace("/1/1", "/1/0").encode()).latitude_deg.tolist() == [1, 3]
    assert read(b"<gpx>" + points((1, 2), (3, 4)) + b"</gpx>").latitude_deg.tolist() == [1, 3]


BAD = {
    "an entity bomb": (
        BOMB,
        "line 1: this file declares a document type, as no GPX does. Give a GPX 1.1 file.",
    ),
    "an outside entity": (
        b'<!DOCTYPE gpx SYSTEM "file:///etc/passwd"><gpx/>',
        "line 1: this file declares a document type, as no GPX does. Give a GPX 1.1 file.",
    ),
    "half a file": (
        track_of((1, 2), (3, 4))[:-12],
        "line 3: this is not a whole XML file (no element found). Give a GPX 1.1 file.",
    ),
    "no XML": (b"46.5,9.0\n", "line 1: this is not a whole XML file (syntax error). Give a GPX 1.1 file."),
    "nothing": (b"", "line 1: this is not a whole XML file (no element found). Give a GPX 1.1 file."),
    "other XML": (b"<kml/>", "line 1: this is XML, but no GPX (it begins with kml). Give a GPX 1.1 file."),
    "one point": (
        track_of((1, 2)),
        "this file holds no track of two points or more. Give the recorded track of the walk.",
    ),
    "waypoints only": (
        HEAD + points((1, 2), (3, 4), tag="wpt") + b"</gpx>",
        "this file holds no track of two points or more. Give the recorded track of the walk.",
    ),
    "swapped": (
        track_of((119.3, 37.45), (119.3, 37.46)),
        "line 3: a point lies off the Earth (lat 119.3, lon 37.45). "
        "Latitude and longitude are swapped: lat goes to 90 only.",
    ),
    "off the Earth": (
        track_of((1, 2), (91, 181)),
        "line 3: a point lies off the Earth (lat 91, lon 181). Check lat and lon.",
    ),
    "no number": (
        track_of(("nan", 2)),
        "line 3: a point lies off the Earth (lat nan, lon 2). Check lat and lon.",
    ),
    "no place": (HEAD + b"<trkpt/>", "line 3: a point has no readable lat and lon. Give a GPX 1.1 file."),
    "an unknown encoding": (
        b'<?xml version="1.0" encoding="utf-7000"?><gpx/>',
        "this file is in an encoding that cannot be read. Save it in UTF-8.",
    ),
}


@pytest.mark.parametrize("what", BAD)
def test_what_is_no_track_is_refused_in_one_sentence(what):
    data, says = BAD[what]
    with pytest.raises(Complaint) as refused:
        read(data)
    assert str(refused.value) == says


def test_a_file_that_cannot_be_read_is_named(tmp_path):
    for path in (tmp_path / "none.gpx", tmp_path, "a\0b"):
        with pytest.raises(FormatComplaint, match="cannot be read") as refused:
            read_track(str(path))
        assert refused.value.where.file == str(path)
    short = tmp_path / "short.gpx"
    short.write_bytes(track_of((1, 2)))
    with pytest.raises(MissingComplaint, match=f"^{short}: this file holds no track"):
        read_track(str(short))


class Endless:
    """A file of a head and one piece over and over, which is never held whole."""

    def __init__(self, head, piece, size):
        self.waiting, self.piece, self.left = head, piece, size
        self.given = 0

    def read(self, size):
        while len(self.waiting) < size and self.left > 0:
            self.waiting += self.piece
            self.left -= len(self.piece)
        given, self.waiting = self.waiting[:size], self.waiting[size:]
        self.given += len(given)
        return given


HUGE = {
    "points": (HEAD + b"<trk><trkseg>", POINT * 500, "holds more than 50000 points"),
    "elements in elements": (HEAD, b"<a>" * 10_000, "is built as no track is"),
    "one attribute": (HEAD + b'<a b="', b"c" * 50_000, "one element of this file is longer"),
    "one comment": (HEAD + b"<!--", b"c" * 50_000, "one element of this file is longer"),
    "names": (HEAD, b"".join(b"<a%d/>" % i for i in range(5_000)), "is built as no track is"),
    "prose": (HEAD + b"<metadata><desc>", b"c " * 25_000, "not a whole XML file"),
    "times": (HEAD + b"<trkpt lat='1' lon='2'><time>", b"1" * 50_000, "not a whole XML file"),
}


@pytest.mark.parametrize("kind", HUGE)
def test_a_file_of_200_megabytes_is_refused_in_a_few_megabytes_of_memory(kind, monkeypatch):
    """20 MB stand for 200: points are counted to a twentieth as far; what is held is measured."""
    monkeypatch.setattr(gpx_track, "MOST_POINTS", 50_000)
    head, piece, says = HUGE[kind]
    file = Endless(head, piece, 20_000_000)
    tracemalloc.start()
    try:
        with pytest.raises(Complaint, match=says):
            read_track_from(file)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert most < 8_000_000
    assert len(piece) < file.given


def test_a_million_points_take_24_bytes_each(monkeypatch):
    """Measured on 40,000: two coordinates and a time, and what growing an array leaves spare."""
    file = Endless(HEAD + b"<trk><trkseg>", POINT * 1_000, 40_000 * len(POINT))
    file_end = b"</trkseg></trk></gpx>"
    read_on = file.read
    file.read = lambda size: read_on(size) or (file.__dict__.pop("read"), file_end)[1]
    tracemalloc.start()
    try:
        track = read_track_from(file)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert len(track.latitude_deg) == 40_000
    assert most < 40_000 * 100
