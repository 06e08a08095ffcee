"""Setting, printing, keying and grading a course from the command line."""

import csv
import io
import os

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.course.practice_walk import MadeUpLearner, walk_card
from pacewright.files.course_toml import read_course
from pacewright.files.log_csv import write_log
from support.command import run
from support.pdf_pages import opened, words

NAMES = ("Ada Quill", "Tam Rook", "Corin Ash", "Wren Moss")


@pytest.fixture
def field(tmp_path):
    path = tmp_path / "course.toml"
    said = run("course", "set", "field", "--learners", 4, "--out", path)
    assert said.code == 0, said.err
    return path


@pytest.fixture
def handed(field, tmp_path):
    course, rng = read_course(field.read_bytes()), np.random.default_rng(2)
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(["learner", "card", "log", "east_m", "north_m", "pace_count"])
    for number, name in enumerate(NAMES, start=1):
        learner = MadeUpLearner(Walker(name=name, per_100_m=62.5))
        walk = walk_card(course, number, learner, rng).handed
        (tmp_path / f"{number}.csv").write_bytes(write_log(walk.log))
        table.writerow([name, number, f"{number}.csv", *np.round(walk.finish_m, 2), 62.5])
    path = tmp_path / "handed.csv"
    path.write_text(text.getvalue(), encoding="utf-8")
    return path


def test_the_same_seed_sets_the_same_course(field, tmp_path):
    again = tmp_path / "again.toml"
    run("course", "set", "field", "--learners", 4, "--out", again)
    other = tmp_path / "other.toml"
    run("course", "set", "field", "--learners", 4, "--seed", 9, "--out", other)
    assert again.read_bytes() == field.read_bytes() != other.read_bytes()


def test_setting_says_how_often_a_perfect_counter_ends_at_a_wrong_stake(tmp_path):
    said = run("course", "set", "field", "--learners", 4, "--out", tmp_path / "c.toml", "--json")
    found = {fact["name"]: fact["value"] for fact in said.json["facts"]}
    assert 0.0 < found["wrong_stake_share_most"] <= 0.05
    plain = run("course", "set", "field", "--learners", 4, "--out", tmp_path / "d.toml")
    assert "a perfect counter still ends at a wrong stake" in plain.out
    assert "local rules and qualified instruction decide" in plain.out


def test_the_key_says_of_every_card_where_it_ends(field):
    course = read_course(field.read_bytes())
    told = run("course", "key", field, "--json").json["cards"]
    assert [(one["card"], one["ends"]) for one in told] == [(one.number, one.ends) for one in course.cards]
    only = run("course", "key", field, "--card", 2)
    assert course.card(2).ends in only.out


@pytest.mark.parametrize("kind", ["cards", "key", "labels", "marking", "safety", "plan"])
def test_every_sheet_is_printed(kind, field, tmp_path):
    out = tmp_path / f"{kind}.pdf"
    assert run("course", "sheet", kind, field, "--out", out).code == 0
    assert "Field course" in words(out.read_bytes())


def test_a_class_is_graded_with_a_mark_and_advice_for_each(field, handed, tmp_path):
    said = run("course", "grade", field, handed, "--target", tmp_path / "t.svg", "--out", tmp_path / "c.csv")
    assert said.code == 0, said.err
    for name in NAMES:
        assert f"{name}:" in said.out
        assert f"{name}, 1 walk:" in said.out
    assert "not that a learner is safe alone" in said.out
    assert (tmp_path / "t.svg").read_text(encoding="utf-8").startswith("<svg")
    with (tmp_path / "c.csv").open(encoding="utf-8", newline="") as table:
        assert {row["learner"] for row in csv.DictReader(table)} == set(NAMES)
    keys = run("course", "grade", field, handed, "--json").json
    assert {walk["learner"] for walk in keys["walks"]} == set(NAMES)
    assert all(walk["mark"] is not None for walk in keys["walks"])


def test_a_learner_whose_log_and_figures_name_two_walkers_is_asked_about(field, handed, tmp_path):
    (tmp_path / "bo.toml").write_text('name = "Bo Lind"\n[pace]\nper_100_m = 144\n', encoding="utf-8")
    log = tmp_path / "1.csv"
    log.write_bytes(b"# walker: Ines Rowe\n" + log.read_bytes())
    with handed.open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    text = io.StringIO()
    csv.writer(text).writerows([[*head, "walker"], *([*row, "bo.toml"] for row in rows)])
    handed.write_text(text.getvalue(), encoding="utf-8")
    asked = run("course", "grade", field, handed).err.splitlines()
    # The file is everybody's here, and is asked about once.
    assert [line.split(": ", 1)[1].split("?")[0] for line in asked] == [
        "Were steps counted",
        "Whose log is this",
    ]
    assert asked[1].startswith(
        f"{NAMES[0]}: Whose log is this? The heading names Ines Rowe as the walker, and "
    )


def test_a_rule_is_written_edited_and_used(field, handed, tmp_path):
    rule = tmp_path / "rule.toml"
    run("course", "grade", field, handed, "--marking", "nearest stake", "--write-rule", rule)
    rule.write_text(
        rule.read_text(encoding="utf-8").replace("full_marks = 10", "full_marks = 12"), encoding="utf-8"
    )
    keys = run("course", "grade", field, handed, "--rule-file", rule, "--json").json
    assert {walk["full_marks"] for walk in keys["walks"]} == {12.0}


def test_posts_on_the_map_become_lanes(tmp_path):
    rng = np.random.default_rng(3)
    rows = ["name,place,word"]
    for k in range(16):
        east, north = (
            295000 + 500 * (k % 4) + rng.uniform(-60, 60),
            4136500 + 500 * (k // 4) + rng.uniform(-60, 60),
        )
        rows.append(f"Post {k},11N {east:.0f} {north:.0f},W{k}")
    posts = tmp_path / "posts.csv"
    posts.write_text("\n".join(rows) + "\n", encoding="utf-8")
    barred = tmp_path / "barred.csv"
    barred.write_text(
        "name,kind,place\n"
        + "".join(
            f"Mire,area,11N {e} {n}\n" for e, n in ((295200, 4136700), (295300, 4136700), (295250, 4136800))
        ),
        encoding="utf-8",
    )
    out = tmp_path / "posts.toml"
    said = run(
        "course",
        "set",
        "posts",
        posts,
        "--learners",
        6,
        "--legs",
        4,
        "--date",
        "2026-05-14",
        "--barred",
        barred,
        "--lane-m",
        1200,
        6000,
        "--out",
        out,
    )
    assert said.code == 0, said.err
    course = read_course(out.read_bytes())
    assert len(course.cards) == 6
    assert len({tuple(leg.ends for leg in card.legs) for card in course.cards}) == 6
    assert all(card.legs[-1].ends == card.ends for card in course.cards)


def test_a_pace_course_is_set(tmp_path):
    out = tmp_path / "pace.toml"
    assert (
        run("course", "set", "pace", "--learners", 2, "--stretch", 120, "brush", "up", "--out", out).code == 0
    )
    assert {leg.ground for leg in read_course(out.read_bytes()).cards[0].legs} == {"brush"}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("set", "field", "--learners", 4, "--spacing-m", 2), "Set the stakes about"),
        (("set", "field", "--learners", 4, "--stakes", 1), "stakes"),
        (("set", "posts", "no.csv", "--learners", 4), "no.csv: this file cannot be read"),
        (("key", "no.toml"), "no.toml: this file cannot be read"),
        (("sheet", "cards", "no.toml"), "no.toml: this file cannot be read"),
        (("grade", "no.toml", "no.csv"), "no.toml: this file cannot be read"),
    ],
)
def test_bad_input_gets_one_sentence(arguments, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    answer = run("course", *arguments)
    assert answer.code == 2
    assert said in answer.err
    assert "Traceback" not in answer.err


def test_an_unknown_rule_names_the_known_ones(field, handed):
    answer = run("course", "grade", field, handed, "--marking", "luck")
    assert answer.code == 2
    assert "nearest stake" in answer.err


def test_a_table_of_the_class_holds_no_formula(field, tmp_path):
    """OWASP, CSV Injection (from memory): what begins with =, +, - or @ is run by a spreadsheet."""
    handed = tmp_path / "formula.csv"
    handed.write_text('learner,card,finished_at\n"=HYPERLINK(""x"")",1,Elm\n', encoding="utf-8")
    out = tmp_path / "class.csv"
    assert run("course", "grade", field, handed, "--out", out).code == 0
    assert "'=HYPERLINK" in out.read_text(encoding="utf-8")
    assert "\n=HYPERLINK" not in out.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["../ada.csv", "/dev/zero", "/etc/passwd", "way-out.csv", "pipe", "."])
def test_a_log_that_a_table_names_lies_beside_it_and_is_a_plain_file(field, tmp_path, name):
    folder = tmp_path / "class"
    folder.mkdir()
    (tmp_path / "ada.csv").write_text("azimuth,count,notes\n90,100,\n", encoding="utf-8")
    (folder / "way-out.csv").symlink_to(tmp_path / "ada.csv")
    os.mkfifo(folder / "pipe")
    handed = folder / "handed.csv"
    handed.write_text(f"learner,card,log\nAda,1,{name}\n", encoding="utf-8")
    said = run("course", "grade", field, handed)
    assert said.code == 2
    assert f"{handed}, line 2, column log: {name} is no plain file in the folder of this table" in said.err


def test_one_bad_row_does_not_stop_the_class_and_who_handed_in_nothing_is_listed(field, tmp_path):
    ends = {card.number: card.ends for card in read_course(field.read_bytes()).cards}
    table = tmp_path / "some.csv"
    table.write_text(
        "learner,card,finished_at,minutes\n"
        f"Ada Quill,1,{ends[1]},12\nCorin Ash,77,{ends[1]},9\nInes Rowe,3,,\nTam Orrin,2,The moon,9\n",
        encoding="utf-8",
    )
    said = run("course", "grade", field, table)
    assert said.code == 1
    assert "Ada Quill:" in said.out
    assert "Handed in nothing: Ines Rowe." in said.out
    assert "line 3, column card: the course has no card 77" in said.out
    assert "line 5, column finished_at: the course has no post called The moon" in said.out
    keys = run("course", "grade", field, table, "--json").json
    assert keys["nothing"] == ["Ines Rowe"] and len(keys["refused"]) == 2
    assert [walk["learner"] for walk in keys["walks"]] == ["Ada Quill"]


def test_a_pace_course_gives_each_learner_a_walker_and_stops_for_nobody(tmp_path):
    path, table = tmp_path / "pace.toml", tmp_path / "counts.csv"
    run("course", "set", "pace", "--learners", 3, "--out", path)
    table.write_text("learner,card,counts\nAda Quill,1,62 64 63 61 65\nTam Rook,2,\nBo Lind,3,6200\n")
    said = run("course", "grade", path, table, "--walkers", tmp_path / "walkers", "--json")
    assert said.code == 1
    assert said.json["nothing"] == ["Tam Rook"]
    assert "Bo Lind, pass 1" in said.json["refused"][0]
    (ada,) = said.json["learners"]
    assert (ada["learner"], ada["walker"]["per_100_m"]) == ("Ada Quill", 63.0)
    assert "per_100_m = 63.0" in (tmp_path / "walkers" / "ada-quill.toml").read_text(encoding="utf-8")
    assert (
        "Ada Quill: ordinary ground, level counts as ordinary: 63.0"
        in run("course", "grade", path, table).out
    )


def test_a_pace_course_prints_one_card_for_each_way_and_a_key_of_one_page(tmp_path):
    path = tmp_path / "pace.toml"
    run("course", "set", "pace", "--learners", 14, "--stretch", 100, "heath", "level", "--out", path)
    for kind in ("cards", "key"):
        run("course", "sheet", kind, path, "--out", tmp_path / f"{kind}.pdf")
    cards, key = ((tmp_path / f"{kind}.pdf").read_bytes() for kind in ("cards", "key"))
    assert words(cards).count("my pace count") == 2
    assert "cards 2, 4, 6, 8, 10, 12, 14" in " ".join(words(cards).split())
    assert len(opened(key)) == 1


def test_debriefs_to_cut_and_the_class_table_are_printed(field, handed, tmp_path):
    said = run(
        *("course", "grade", field, handed, "--debriefs", tmp_path / "d.pdf"),
        *("--class-sheet", tmp_path / "c.pdf", "--paper", "a5"),
    )
    assert said.code == 0, said.err
    debriefs, table = ((tmp_path / name).read_bytes() for name in ("d.pdf", "c.pdf"))
    for name in NAMES:
        assert f"{name}: Field course, card" in words(debriefs)
        assert name.split()[1] in words(table)
    refused = run("course", "grade", field, handed, "--debriefs", tmp_path / "d.txt")
    assert (refused.code, "End the file name in .pdf" in refused.err) == (2, True)


def test_a_paper_drill_is_shown_printed_and_keyed(tmp_path):
    said = run(
        "course", "drill", "slip", "--level", 2, "--out", tmp_path / "w.pdf", "--key", tmp_path / "k.pdf"
    )
    assert said.code == 0, said.err
    assert "One row holds a slip" in said.out
    keys = run("course", "drill", "slip", "--level", 2, "--json").json
    leg = keys["problems"][0]["answers"][0]
    assert (leg["asks"], leg["within"]) == ("leg", 0.0)
    assert "For the instructor alone." in words((tmp_path / "k.pdf").read_bytes())
    assert "For the instructor" not in words((tmp_path / "w.pdf").read_bytes())
    assert run("course", "drill", "slip", "--level", 2, "--json").json == keys
    assert run("course", "drill", "aim-off", "--problems", 3, "--json").json["problems"][2]["answers"]


def test_every_paper_drill_has_its_command():
    from pacewright.cli.course_drill import KINDS
    from pacewright.course.drills.problem import PAPER_DRILLS

    assert KINDS == PAPER_DRILLS


def test_a_learner_over_weeks_is_told_by_date_and_printed(field, handed, tmp_path):
    days = [part for date in ("2026-05-14", "2026-06-02") for part in ("--day", date, field, handed)]
    said = run("course", "progress", NAMES[0], *days, "--out", tmp_path / "p.pdf")
    assert said.code == 0, said.err
    assert "2026-06-02" in said.out
    assert "no change that is sure yet" in said.out
    assert f"{NAMES[0]} over time" in words((tmp_path / "p.pdf").read_bytes())
    keys = run("course", "progress", NAMES[0], *days, "--json").json
    assert [day["date"] for day in keys["days"]] == ["2026-05-14", "2026-06-02"]
    assert {one["change"] for one in keys["changes"]} == {"not sure"}
    nobody = run("course", "progress", "Nobody", *days)
    assert (nobody.code, "nothing of Nobody was handed in" in nobody.err) == (2, True)


def test_setting_says_what_the_course_can_show_of_a_learner(tmp_path):
    said = run("course", "set", "field", "--learners", 8, "--drill", "bias", "--out", tmp_path / "c.toml")
    assert "cards for the compass" in said.out
    assert "A learner who is off by so much" in said.out
    keys = run("course", "set", "field", "--learners", 8, "--out", tmp_path / "d.toml", "--json").json
    assert [(one["drill"], one["walks"]) for one in keys["shows"]] == [("", 1), ("", 2), ("", 4)]
