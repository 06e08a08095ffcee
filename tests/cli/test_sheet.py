"""pacewright sheet: one PDF of each kind, and what is refused."""

from __future__ import annotations

import json

import pytest

from support.command import run
from support.pdf_pages import opened, smallest_type_mm, words

PAGE = (
    "# title: Cinder Fen\n# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
    "305,240,#panic(1) $x$\n38,185,[at Split oak] dry\n52,330,[box right 40] pond\n164,260,[at Heron post]\n"
)
WALKER = 'name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n'
TRIALS = "ground,slope,load_kg,distance_m,count\nheath,level,8,100,62\nheath,level,8,100,64\n"
PAPERS = ["a4", "letter", "a5", "pocket", "pocket-letter"]


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "walk.csv").write_text(PAGE, encoding="utf-8")
    (tmp_path / "ines.toml").write_text(WALKER, encoding="utf-8")
    (tmp_path / "trials.csv").write_text(TRIALS, encoding="utf-8")
    return tmp_path


KINDS = {
    "log": (),
    "trials": ("trials.csv",),
    "pace-card": ("--walker", "ines.toml"),
    "leg-card": ("walk.csv", "--walker", "ines.toml"),
    "way-back": ("walk.csv", "--line", "100", "--sighting-distance", "25"),
    "debrief": ("walk.csv", "--walker", "ines.toml"),
    "plotting": ("--walker", "ines.toml", "--scale", "10000"),
    "traverse-table": ("walk.csv",),
    "ranging": (),
    "north": ("37.5", "-119", "--date", "2026-05-14"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_printed_under_its_own_name(desk, kind):
    said = run("sheet", kind, *KINDS[kind])
    assert (said.code, said.err, said.out) == (0, "", f"Printed: {kind}.pdf\n")
    assert (desk / f"{kind}.pdf").read_bytes().startswith(b"%PDF-1.7")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_on_each_paper_is_a_pdf_ua_in_type_of_two_millimetres(desk, kind, paper):
    """ISO 14289-1; type of 2 mm and more, common practice for what is read on the way."""
    assert run("sheet", kind, *KINDS[kind], "--paper", paper).code == 0
    made = (desk / f"{kind}.pdf").read_bytes()
    assert "<pdfuaid:part>1</pdfuaid:part>" in opened(made).get_xml_metadata()
    assert smallest_type_mm(made) >= 1.995


def test_letters_of_no_font_are_told_of(desk):
    (desk / "far.csv").write_text(PAGE.replace("pond", "\U000f0000 pond"), encoding="utf-8")
    said = run("sheet", "leg-card", "far.csv", "walk.csv")
    note = (
        "Printed by its number, because no font at hand has it: U+F0000. "
        "Names in Latin letters print as they are."
    )
    assert (said.code, said.err) == (0, f"far.csv: {note}\n")
    told = run("sheet", "leg-card", "far.csv", "walk.csv", "--json", "--force").objects
    assert [one["notes"] for one in told] == [[note], []]
    made = words((desk / "leg-card.pdf").read_bytes())
    assert note in made and "‹U+F0000› pond" in made


@pytest.mark.parametrize("paper", PAPERS)
def test_each_paper_can_be_asked_for(desk, paper):
    assert run("sheet", "leg-card", "walk.csv", "--paper", paper, "--out", "card.pdf").code == 0
    assert "#panic(1) $x$" in words((desk / "card.pdf").read_bytes())


def test_the_figures_on_paper_are_those_of_the_json(desk):
    back = run("back", "walk.csv", "--walker", "ines.toml", "--json").json
    run("sheet", "way-back", "walk.csv", "--walker", "ines.toml")
    run("sheet", "leg-card", "walk.csv", "--walker", "ines.toml")
    for name in ("way-back.pdf", "leg-card.pdf"):
        told = words((desk / name).read_bytes())
        assert f"azimuth {back['azimuth_deg']:.0f} deg (magnetic), {back['count']} paces" in told
        near = f"within {back['along']:.0f} paces of Gate along your line and {back['across']:.0f} across ("
        assert near in told
        assert f"Look for it from {back['look_from']} on. Stop at {back['stop_at']}; do not walk on." in told


def test_the_sums_on_the_traverse_sheet_are_those_of_reckon(desk):
    last = run("reckon", "walk.csv", "--json", "--frame", "walker").json["stations"][-1]
    run("sheet", "traverse-table", "walk.csv")
    told = words((desk / "traverse-table.pdf").read_bytes())
    # Four legs of two or three digits: the table's rounding is a twentieth a hundred.
    north, east = (float(part) for part in told.partition(" sum ")[2].split()[:2])
    assert north == pytest.approx(last["north"], abs=0.5) and east == pytest.approx(last["east"], abs=0.5)


def test_from_and_to_are_stations_of_the_log(desk):
    assert run("sheet", "way-back", "walk.csv", "--from", "3", "--to", "Split oak").code == 0
    assert "Way back: station 3 to Split oak" in words((desk / "way-back.pdf").read_bytes())


def test_several_logs_make_one_document(desk):
    (desk / "other.csv").write_text(PAGE.replace("Cinder Fen", "Other walk"), encoding="utf-8")
    assert run("sheet", "leg-card", "walk.csv", "other.csv").code == 0
    made = (desk / "leg-card.pdf").read_bytes()
    assert "Leg card: Cinder Fen" in words(made) and "Leg card: Other walk" in words(made)
    assert opened(made).page_count == 2


def test_a_bad_log_among_others_is_named_and_the_rest_printed(desk):
    (desk / "bad.csv").write_text("azimuth,count,notes\n361,10,\n", encoding="utf-8")
    said = run("sheet", "leg-card", "bad.csv", "walk.csv")
    assert said.code == 2
    assert said.err == (
        "bad.csv, line 2, column azimuth: 361 is not an azimuth in degrees. Write a number from 0 to 360, a "
        "point such as NE, or a bearing such as S40W.\n"
    )
    assert "Leg card: Cinder Fen" in words((desk / "leg-card.pdf").read_bytes())


def test_one_bad_log_prints_nothing(desk):
    (desk / "bad.csv").write_text("azimuth,count,notes\n361,10,\n", encoding="utf-8")
    said = run("sheet", "leg-card", "bad.csv")
    assert (said.code, said.out) == (2, "") and said.err.startswith("bad.csv, line 2, column azimuth: 361")
    assert not (desk / "leg-card.pdf").exists()


def test_json_says_what_was_written(desk):
    said = run("sheet", "log", "--json", "--paper", "a5", "--out", "blank.pdf")
    assert said.keys == {"sheet": "blank.pdf", "kind": "log", "paper": "a5", "notes": []}


def test_json_of_several_logs_is_an_object_a_line(desk):
    said = run("sheet", "leg-card", "walk.csv", "missing.csv", "--json")
    told = [json.loads(line) for line in said.out.splitlines()]
    assert [one["file"] for one in told] == ["walk.csv", "missing.csv"]
    assert told[0]["sheet"] == "leg-card.pdf" and told[0]["title"] == "Leg card: Cinder Fen"
    assert "complaint" in told[1]
    assert said.code == 2
    alone = run("sheet", "leg-card", "missing.csv", "--json")
    assert alone.code == 2 and "complaint" in alone.json


def test_standard_output_takes_the_pdf_and_nothing_else(desk):
    said = run("sheet", "log", "--out", "-")
    assert said.raw.startswith(b"%PDF") and said.raw.rstrip().endswith(b"%%EOF")
    several = run("sheet", "leg-card", "walk.csv", "walk.csv", "--out", "-")
    assert several.raw.startswith(b"%PDF")


def test_a_sheet_is_not_written_over_unless_forced(desk):
    assert run("sheet", "log").code == 0
    again = run("sheet", "log")
    assert again.code == 2 and "--force" in again.err
    assert run("sheet", "log", "--force").code == 0


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("log", "--out", "log.txt"), "log.txt: a sheet is a PDF. End the file name in .pdf."),
        (("log", "walk.csv", "--pages", "2"), "--pages is for blank pages"),
        (("plotting", "--scale", "1e300"), "1:1e+300 is not a scale to plot a walk at"),
        (("plotting", "--scale", "nan"), "1:nan is not a scale to plot a walk at"),
        (("pace-card",), "Missing option '--walker'"),
        (("north", "37.5", "-119"), "Missing option '--date'"),
        (("north", "137.5", "-119", "--date", "2026"), "137.5"),
        (("north", "37.5", "-119", "--date", "1950"), "1950"),
        (("north", "37.5", "-119", "--date", "2026", "--nonsense"), "No such option: --nonsense"),
        (("way-back", "walk.csv", "--line", "xyz"), "--line: xyz is not an azimuth in degrees"),
        (("way-back", "walk.csv", "--sighting-distance", "-1"), "-1 is not a sighting distance"),
        (("way-back", "walk.csv", "--to", "Nowhere"), "the log has no station called Nowhere"),
        (("leg-card", "walk.csv", "--paper", "vellum"), "'vellum' is not one of"),
        (("trials", "missing.csv"), "missing.csv: this file cannot be read"),
        (("log", "--out", "-", "--json"), "both want standard output"),
    ],
)
def test_what_cannot_be_printed_is_refused_in_a_sentence(desk, arguments, says):
    said = run("sheet", *arguments)
    assert said.code == 2 and says in said.err and "Traceback" not in said.err
    assert not list(desk.glob("*.pdf"))


def test_a_text_too_long_for_a_pocket_card_is_refused_and_fits_larger_paper(desk):
    (desk / "long.csv").write_text(PAGE.replace("pond", "word " * 1500), encoding="utf-8")
    said = run("sheet", "leg-card", "long.csv", "--paper", "pocket")
    assert said.code == 2 and "too long for a panel of a pocket card" in said.err
    assert run("sheet", "leg-card", "long.csv").code == 0


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", ["log", "leg-card", "way-back", "traverse-table", "debrief"])
def test_awkward_texts_are_printed_to_the_letter_on_every_paper(desk, kind, paper):
    """Commands of the typesetter, names from right to left, marks upon letters, a word without end."""
    name, note = "Split $oak$ <b> \\u{41} #panic(1)", "e\u0301te\u0301 שער הצפון " + "endless" * 12
    odd = PAGE.replace("Split oak", name).replace("pond", note).replace("Heron post", "المعسكر")
    (desk / "odd.csv").write_text(odd, encoding="utf-8")
    said = run("sheet", kind, "odd.csv", "--paper", paper)
    assert (said.code, said.err) == (0, "")
    made = (desk / f"{kind}.pdf").read_bytes()
    told = words(made)
    if kind in ("log", "leg-card"):
        assert name in told and "endless" * 12 in told.replace(" ", "") and "שער" in told
    for page in opened(made):
        assert all(word[0] > 0 and word[2] < page.rect.width for word in page.get_text("words"))


def test_three_hundred_legs_are_printed(desk):
    rows = "".join(f"{i % 360},{100 + i},\n" for i in range(300))
    (desk / "many.csv").write_text(f"azimuth,count,notes\n{rows}", encoding="utf-8")
    for kind in ("log", "leg-card", "way-back", "traverse-table", "debrief"):
        assert run("sheet", kind, "many.csv").code == 0
