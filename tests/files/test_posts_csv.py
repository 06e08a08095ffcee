import math

import pytest

from pacewright.exceptions import Complaint
from pacewright.files.course_land import origin_for
from pacewright.files.posts_csv import read_barred, read_posts

GRID = origin_for("grid", None)


def posts_of(text: str, lay=GRID):
    return read_posts(text.encode(), "posts.csv", lay=lay)


def test_posts_told_in_metres_lie_on_no_map():
    posts, origin = posts_of(
        "name,east_m,north_m,sd_m,word,note\nElm,10,-20,0.5,MLT,by the gate\nFir,0,1,,,\n"
    )
    assert origin is None
    assert [(p.name, p.place_m, p.sd_m, p.word, p.note) for p in posts] == [
        ("Elm", (10.0, -20.0), 0.5, "MLT", "by the gate"),
        ("Fir", (0.0, 1.0), 1.0, "", ""),
    ]


def test_posts_told_by_places_are_measured_on_the_ground_from_the_first():
    # Scale and convergence of the zone's edge, from the geodesic of an independent library.
    from geographiclib.geodesic import Geodesic

    text = "name,place\nElm,37.4 -119.3\nFir,37.41 -119.29\n"
    posts, origin = posts_of(text, origin_for("true", None))
    line = Geodesic.WGS84.Inverse(37.4, -119.3, 37.41, -119.29)
    east, north = posts[1].place_m
    assert posts[0].place_m == (0.0, 0.0)
    assert math.hypot(east, north) == pytest.approx(line["s12"], abs=0.05)
    assert math.degrees(math.atan2(east, north)) == pytest.approx(line["azi1"], abs=0.02)
    assert origin is not None and origin.zone.number == 11


def test_magnetic_azimuths_from_a_map_need_the_day():
    with pytest.raises(Complaint, match="only on a stated day"):
        posts_of("name,place\nElm,37.4 -119.3\n", origin_for("magnetic", None))


def test_rows_of_one_name_make_one_area_or_line():
    text = "name,kind,east_m,north_m\nMire,area,0,0\nMire,area,10,0\nMire,area,0,10\n"
    text += "Beck,line,5,5\nBeck,line,9,9\n"
    mire, beck = read_barred(text.encode(), "barred.csv", origin=None)
    assert (mire.name, mire.corners_m, mire.is_line) == (
        "Mire",
        ((0.0, 0.0), (10.0, 0.0), (0.0, 10.0)),
        False,
    )
    assert (beck.name, beck.is_line) == ("Beck", True)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("name,east_m\nElm,1\n", "posts.csv, line 2, column east_m: this row does not tell where it is"),
        ("name,place\nElm,nowhere\n", "posts.csv, line 2, column place: "),
        ("name,place\nElm,37.4 -119.3\nFir,\n", "line 3, column place: this row tells no place"),
        (
            "name,east_m,north_m,place\nElm,1,2,\nFir,,,37.4 -119.3\n",
            "line 3, column place: this row tells a place",
        ),
        (
            "name,east_m,north_m,place\nElm,1,2,37.4 -119.3\n",
            "line 2: this row has a place and metres as well",
        ),
        ("name,east_m,north_m,sd_m\nElm,1,2,-1\n", "line 2: -1 m is not how well the place of Elm is known"),
        ("name,east_m,north_m\n,1,2\n", "line 2, column name: the name of this row is empty"),
    ],
)
def test_bad_posts_get_one_sentence_with_their_place(text, said):
    with pytest.raises(Complaint) as caught:
        posts_of(text)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "name,kind,east_m,north_m\nMire,bog,0,0\n",
            "barred.csv, line 2, column kind: Mire is neither an area nor a line",
        ),
        (
            "name,kind,east_m,north_m\nMire,area,0,0\nMire,area,1,1\n",
            "barred.csv, line 2: Mire has 2 different corners",
        ),
        ("name,kind\nMire,area\n", "column east_m: this row does not tell where it is"),
    ],
)
def test_bad_barred_land_gets_one_sentence_with_its_place(text, said):
    with pytest.raises(Complaint) as caught:
        read_barred(text.encode(), "barred.csv", origin=None)
    assert said in str(caught.value)
