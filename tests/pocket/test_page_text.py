"""The pocket page as a file: small, whole, and asking nobody for anything."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.exceptions import ValueComplaint
from pacewright.pocket.carried import carry
from pacewright.pocket.page_text import LARGEST_PAGE_BYTES, page_text
from support.command import run


def carried_by(out: Path) -> dict[str, Any]:
    """What the page in a file carries."""
    found = re.search(r'id="carried">(.*?)</script>', out.read_text(encoding="utf-8"), re.DOTALL)
    assert found
    told: dict[str, Any] = json.loads(found[1])
    return told


DEMO = Path(__file__).parents[2] / "src" / "pacewright" / "data" / "cinder_fen.csv"


def test_the_page_is_one_small_file_that_asks_nobody() -> None:
    page = page_text(carry(Walker(per_100_m=62.5), [DEMO.read_text(encoding="utf-8")]))
    assert len(page.encode("utf-8")) < LARGEST_PAGE_BYTES
    assert "default-src 'none'" in page
    # The one address in it names the language of the drawing, and is never asked.
    assert set(re.findall(r"[a-z]+://[^\"'` ]*", page)) == {"http://www.w3.org/2000/svg"}
    assert not re.search(r"\b(?:src|href)=", page.partition("<script")[0])


def test_what_a_log_holds_cannot_leave_its_place_in_the_page() -> None:
    page = page_text(carry(Walker(), ["azimuth,count,notes\n305,240,</script><script>alert(1)</script>\n"]))
    assert "<script>alert" not in page
    assert page.count("</script>") == 2


def test_a_log_too_large_for_the_page_is_refused() -> None:
    rows = "305,240,a long note about nothing at all\n" * 4000
    with pytest.raises(ValueComplaint, match="must stay under 200 kB"):
        page_text(carry(Walker(), [f"azimuth,count,notes\n{rows}"]))


def test_the_pace_tables_and_classes_travel_inside() -> None:
    walker = Walker("Ines Rowe", 62.5, classes=(PaceClass("brush", "up", None, 71.0, runs=4),))
    carried = carry(walker)
    assert carried["classes"] == [["ground, slope", "paces to 100 m", "runs"], [["brush, up", "71", "4"]]]
    first = carried["tables"][0]
    assert first["heading"] == ["metres", "ordinary", "brush, up"]
    assert ["1000", "625", "710"] in first["rows"]


def test_the_command_writes_the_page_and_says_what_is_inside(tmp_path: Path) -> None:
    out = tmp_path / "pocket.html"
    done = run("pocket", str(DEMO), "--out", str(out))
    assert done.code == 0
    assert "all in one file" in done.out
    assert "No pace count is inside" in done.out
    assert "Cinder Fen, first crossing" in out.read_text(encoding="utf-8")
    assert run("pocket", "--out", str(out)).code == 2


def test_the_sun_of_the_next_days_travels_inside(tmp_path: Path) -> None:
    # Rise and set of 2026-05-14 at 47 N 8 E as `pacewright sun` has them.
    out = tmp_path / "pocket.html"
    done = run("pocket", DEMO, "--sun", "47 8", "--days", "2", "--zone", "+02:00", "--out", out)
    assert done.code == 0
    page = out.read_text(encoding="utf-8")
    assert "Sun, 2026-05-14" in page
    assert "Sun, 2026-05-15" in page
    told = run("sun", "47", "8", "--date", "2026-05-14", "--zone", "+02:00").out.splitlines()[0]
    assert told in page


def test_the_norths_of_a_place_travel_inside(tmp_path: Path) -> None:
    out = tmp_path / "pocket.html"
    assert run("pocket", DEMO, "--norths-at", "47 8", "--out", out).code == 0
    titles = {one["title"]: one for one in carried_by(out)["tables"]}
    told = run("north", "47", "8", "--date", "2026-05-14").out
    for sentence in titles["Norths, 2026-05-14"]["says"][:2]:
        assert sentence in " ".join(told.split())
    turned = run(
        "north", "47", "8", "--date", "2026-05-14", "--azimuth", "300", "--to-north", "grid", "--json"
    ).out
    (row,) = (row for row in titles["Azimuth by azimuth"]["rows"] if row[0] == "300")
    assert float(row[1]) == pytest.approx(json.loads(turned)["azimuth"]["to"]["azimuth_deg"], abs=0.05)


def test_the_places_of_a_map_travel_inside_with_the_ways_between(tmp_path: Path) -> None:
    places, out = tmp_path / "places.csv", tmp_path / "pocket.html"
    places.write_text("name,place\nGate,47.01 8.01\nByre,47.02 8.03\nFord,47 8\n", encoding="utf-8")
    assert run("pocket", DEMO, "--places", places, "--out", out).code == 0
    titles = {one["title"]: one for one in carried_by(out)["tables"]}
    assert titles["Places on the map"]["rows"][1] == ["Byre", "47.02 8.03"]
    (row,) = (row for row in titles["By map from Gate"]["rows"] if row[0] == "Byre")
    # As the command reckons it, which is held to published geodesics by its own tests.
    leg = json.loads(run("leg", "47.01 8.01", "47.02 8.03", "--date", "2026-05-14", "--json").out)
    assert row[1] == f"{leg['azimuth_deg']:.0f} deg" and row[4] == f"{leg['metres']:.0f}"


def test_too_many_places_are_refused_before_anything_is_written(tmp_path: Path) -> None:
    places, out = tmp_path / "places.csv", tmp_path / "pocket.html"
    rows = "".join(f"Post {k},47.{k:02d} 8\n" for k in range(13))
    places.write_text(f"name,place\n{rows}", encoding="utf-8")
    done = run("pocket", DEMO, "--places", places, "--out", out)
    assert done.code == 2 and "13 places are more than the pocket page holds" in done.err
    assert not out.exists()


def test_the_ranging_card_travels_inside_digit_for_digit() -> None:
    tables = {one["title"]: one for one in carry(Walker())["tables"]}
    # At 45 degrees the width is what was walked, at 30 the root of three times it.
    rows = dict(tables["How far: by a right angle"]["rows"])
    assert rows["45"] == "1.00" and rows["30"] == "1.73"
    assert any("fist" in row[0] for row in tables["Angles by hand"]["rows"])


def test_a_day_of_sun_needs_a_place_and_a_date(tmp_path: Path) -> None:
    out = tmp_path / "pocket.html"
    assert "add --sun PLACE" in run("pocket", "--zone", "+02:00", "--out", out).err
    assert "there is no date" in run("pocket", "--sun", "47 8", "--out", out).err
    assert not out.exists()


def test_a_page_needs_a_file_to_go_to() -> None:
    done = run("pocket")
    assert done.code == 2
    assert "add --out pocket.html" in done.err


def test_a_log_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text("azimuth,count,notes\n361,240,\n", encoding="utf-8")
    done = run("pocket", str(bad), "--out", str(tmp_path / "pocket.html"))
    assert done.code == 2
    assert "361 is not an azimuth" in done.err
