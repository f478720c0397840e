"""One document for many holes: it says one thing, or nothing is published."""

import copy
import csv
import re
import shutil
from dataclasses import replace
from pathlib import Path

import nbformat
import pytest

import thread_repair as tr
from thread_repair import words
from thread_repair.case import part_file
from thread_repair.cli import main
from thread_repair.errors import InputError
from thread_repair.facts import Term
from thread_repair.report import consistency, index
from thread_repair.report.blocks import part
from thread_repair.report.blocks.conclusion import conclusion, criteria_table
from thread_repair.report.jobs import Job, Outcome, build
from thread_repair.report.results import part_results
from thread_repair.report.selection import select

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "reports" / "demo-part" / "submission.yaml"


@pytest.fixture(scope="module")
def found():
    given = part_file.load(DEMO)
    return tr.submission(given.shared, given.holes)


@pytest.fixture(scope="module")
def numbers(found):
    return part_results(found)


@pytest.fixture(scope="module")
def markdown(found):
    """What the notebook prints of the places that are compared."""
    pages = [
        f"::: {{.one-page}}\n### x {{#{part.anchor(found, holes[0])}}}\n"
        + conclusion(holes[0].study).data
        + part.preload_table(holes[0].study).markdown()
        + criteria_table(holes[0].study, of=part.title(holes)).markdown()
        for holes in found.joints.values()
    ]
    return "\n\n".join(
        [part.conclusion(found).data, part.matrix_tables(found)[0].markdown(),
         part.not_met(found).markdown(), *pages]
    )  # fmt: skip


def first(found, numbers, markdown):
    return next(consistency.part_contradictions(found, numbers, markdown, {}), None)


def test_the_section_of_the_holes_begins_on_the_page_of_the_first(found, monkeypatch):
    shown = []
    monkeypatch.setattr(part, "display", lambda *each: shown.extend(each))
    part.pages(found)
    texts = [each.data for each in shown if hasattr(each, "data")]
    at = texts.index("## Holes")
    assert texts[at - 1] == "::: {.one-page}" and texts[at + 2].startswith("### ")
    assert texts.count("## Holes") == 1 and sum(t.startswith("### ") for t in texts) > 1


def test_the_cover_names_who_accepts_what_and_for_which_holes():
    given, role = part_file.load(DEMO), "stress office | proof loaded to 30 kN, report 7"
    loaded = {**given.shared, "design_load": "29 kN", "accept_negative_margin": role}
    found = tr.submission(loaded, given.holes)
    studies = [each.study.evaluation.facts for each in found.holes]
    said = [[x for x in facts if x.id == "negative_margins_accepted"] for facts in studies]
    assert any(said)
    cover = part.conclusion(found).data
    for hole, facts in zip(found.holes, said, strict=True):
        told = [each for each in cover.split("\n\n") if hole.name in each or "All holes" in each]
        assert any("are accepted by stress office" in each for each in told) == bool(facts)


def test_the_demonstration_agrees(found, numbers, markdown):
    assert first(found, numbers, markdown) is None


CHANGES = {
    "the conclusion of the cover is supports": lambda n: n["conclusion"].update(id="supports"),
    "the matrix at hole H1, serial number 101 is supports": lambda n: n["matrix"][0].update(
        conclusion="supports"
    ),
    ", minimum margin is 9": lambda n: n["matrix"][3].update(minimum_margin=9),
    "criteria not met: edge_distance at hole H3, which only its hole has": lambda n: n.update(
        criteria_not_met=[c for c in n["criteria_not_met"] if c["criterion"] != "edge_distance"]
    ),
    "hole H2: states.repaired.pull_out_N": lambda n: n["holes"]["H2"]["states"]["repaired"].update(
        pull_out_N=1.0
    ),
    "results.json concludes 'x'": lambda n: n["conclusion"].update(text="x"),
}


@pytest.mark.parametrize("said", CHANGES)
def test_results_that_contradict_each_other(found, numbers, markdown, said):
    changed = copy.deepcopy(numbers)
    CHANGES[said](changed)
    assert said in first(found, changed, markdown)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("NOT SUPPORTED, −0.36", "conditions, −0.36", "the table 'Conclusion and minimum margin"),
        ("at least 12.1 kN", "at least 12.2 kN", "the table 'Criteria that are not met"),
        ("The calculation does not support the repair of 2 holes", "All is well with 2 holes", "another conclusion"),
    ],
)  # fmt: skip
def test_a_notebook_with_other_values(found, numbers, markdown, old, new, said):
    from thread_repair.report import escape

    old = escape.markdown(old) if escape.markdown(old) in markdown else old
    assert old in markdown
    assert said in first(found, numbers, markdown.replace(old, new, 1))


def test_a_page_with_another_conclusion(found, numbers, markdown):
    text = conclusion(found.studies[1]).data
    changed = markdown.replace(text, "x", 1)
    assert first(found, numbers, changed).startswith("the page of hole H3 has another conclusion")


def test_holes_are_named_in_their_own_order_and_as_many_as_they_are(monkeypatch):
    given = part_file.load(DEMO)
    joint = {"thread": "M8x1.25", "boss_diameter": "24 mm"}
    holes = [
        {"name": "P1", **joint},
        {"name": "P2", **joint, "insert_length": "1 D", "serials": "101, 103"},
        {"name": "P3", **joint},
        {"name": "P2", **joint, "boss_diameter": "", "serials": "102"},
    ]
    found = tr.submission(given.shared, holes)
    rows = {row[0]: row[1] for row in part.inputs_table(found).rows}
    assert rows["Boss diameter"] == "P1, P2 (101, 103), P3"
    assert "(hole P2 (101, 103))" in part.notices(found).data.replace("\\", "")
    assert part.title(found.joints["P2 (101, 103)"]) == "hole P2 (101, 103)"
    shown = []
    monkeypatch.setattr(part, "display", lambda *each: shown.extend(each))
    part.sheets(found)
    said = [each.data.replace("\\", "") for each in shown if hasattr(each, "data")]
    assert "Copy this record: 6 holes require 2 of it." in said


def test_the_columns_of_a_record_have_the_names_of_their_holes(monkeypatch):
    """They were "Hole 1" to "Hole 4", and of a page to be copied nobody could tell which."""
    given, records = part_file.load(DEMO), []
    monkeypatch.setattr(part, "display", lambda *each: records.extend(
        x for x in each if "Inspect" in getattr(x, "header", ())))  # fmt: skip
    for serials in ("7, 8", "7 to 9"):
        part.sheets(tr.submission({**given.shared, "serials": serials}, given.holes[:2]))
    part.sheets(tr.submission({**given.shared, "serials": "7"}, given.holes[:1]))
    few, many, one = records
    assert few.header[2:-1] == ["H1 on 7", "H1 on 8", "H2 on 7", "H2 on 8"]
    assert few.rows[0][0] == "Drawing and issue"
    assert many.rows[0] == ("Name of the hole, serial number", *[""] * 6)
    assert one.header[2:-1] == ["Reading"]


def test_a_sheet_of_holes_on_different_parts_says_on_which_each_is(monkeypatch):
    """H2 on part 2 alone shared the sheet of H1: "holes H1, H2, serial numbers 1 to 9"."""
    given, shown = part_file.load(DEMO), []
    monkeypatch.setattr(part, "display", lambda *each: shown.extend(each))
    one, other = ({"name": name, "serials": on} for name, on in (("H1", "1 to 9"), ("H2", "2")))
    found = tr.submission({**given.shared, "serials": "1 to 9"}, [one, other])
    part.sheets(found)
    part.pages(found)
    said = [each.data.replace("\\", "") for each in shown if hasattr(each, "data")]
    for applies in ("This sheet", "This calculation"):
        assert any(f"{applies} applies to holes H1 (1 to 9) and H2 (2)" in each for each in said)


def test_a_cover_without_the_matrix_says_why(found, monkeypatch):
    monkeypatch.setattr(part, "_ROWS", 3)
    assert part.cover_matrix(found).data.endswith("after this page, which has room for 14 holes.")
    monkeypatch.setattr(part, "_ROWS", 4)  # just as many as there are
    assert part.cover_matrix(found).rows == part.matrix_tables(found)[0].rows


def test_the_cover_says_which_criterion_refuses_each_hole(found):
    """Of 60 holes it named the one; of a negative margin the matrix hid a near edge beside it."""
    given = part_file.load(DEMO)
    loaded = [{**each, "edge_distance": "9 mm", "design_load": "90 kN"} for each in given.holes[:1]]
    for some in (found, tr.submission(given.shared, loaded)):
        said = part.conclusion(some).data.replace("\\", "")
        for hole in some.holes:
            for _, id_ in hole.study.conclusion.failed:
                name = re.escape(words.term(Term("criterion", id_)))
                assert re.search(
                    rf"Not met at [^:]*{re.escape(hole.label)}[^:]*: [^.]*{name}", said
                )
    assert "edge distance" in said and "parent-thread margin" in said


def test_nobody_signs_for_a_hole_whose_sheet_is_not_released(found, monkeypatch):
    shown = []
    monkeypatch.setattr(part, "display", lambda *each: shown.extend(each))
    part.sign_off(found)
    told, room = shown
    said = told.data.replace("\\", "")
    refused = [each.label for each in found.holes if not each.study.sheet_released]
    signed = [each.label for each in found.holes if each.study.sheet_released]
    assert refused and room.rows
    assert all(each in said for each in signed) and not any(x in said for x in refused)
    shown.clear()
    part.sign_off(replace(found, holes=tuple(x for x in found.holes if x.label in signed)))
    assert [hasattr(each, "rows") for each in shown] == [True]
    shown.clear()
    part.sign_off(replace(found, holes=tuple(x for x in found.holes if x.label in refused)))
    assert [hasattr(each, "rows") for each in shown] == [False]


def test_each_condition_has_its_own_preload_and_torque_on_the_page_of_a_hole():
    locking = {"insert_kind": "locking", "prevailing_torque": "2 N·m"}
    one = tr.submission({**part_file.load(DEMO).shared, **locking}, [{"name": "A"}]).studies[0]
    rows = {str(row[0]).split(",")[0]: row[1:] for row in part.preload_table(one).rows}
    for name in ("Preload in service", "Permissible tightening torque"):
        assert rows[name][0] != rows[name][1], name
    asked, given = one.preloads.states["repaired"].window, rows["Permissible tightening torque"][1]
    assert words.limits(asked, system="SI") == str(given)


def test_the_list_of_a_batch_tells_of_a_part(found, numbers, tmp_path):
    job = Job(case=DEMO, name="a", notebook=Path(), out=tmp_path / "a", formats=())
    outcome = Outcome(job=job, files={"pdf": tmp_path / "a" / "submission.pdf"}, numbers=numbers)
    page, table = index.page_text([outcome], tmp_path), index.table_text([outcome], tmp_path)
    head, row = csv.reader(table.splitlines())
    said = dict(zip(head, row, strict=True))
    assert said["conclusion"] == "does not support the repair" and said["document"] == "DEMO-002"
    assert "edge distance" in said["criteria_failed"]
    lowest = found.lowest.margin.repaired.value
    assert float(said["least_margin"]) == pytest.approx(lowest, rel=1e-5)
    assert f"{lowest:+.2f}, parent thread, stripping" in page.replace("\u2212", "-")


def test_a_notebook_of_one_hole_is_refused_for_a_part_and_the_other_way(tmp_path, capsys):
    assert main(["report", str(DEMO), "--notebook", "design_review", "--out", str(tmp_path)]) == 2
    assert "notebook design_review.ipynb is about one hole" in capsys.readouterr().err
    case = ROOT / "reports" / "demo-rig-plate"
    assert main(["report", str(case), "--notebook", "submission", "--out", str(tmp_path)]) == 2
    assert "is about a part with several holes" in capsys.readouterr().err
    assert not list(tmp_path.rglob("*.*"))


def test_a_fault_of_one_hole_publishes_nothing(tmp_path, capsys):
    text = DEMO.read_text("utf-8").replace("engagement: 9 mm", "engagement: 9 kN")
    (tmp_path / "submission.yaml").write_text(text, encoding="utf-8")
    assert main(["report", str(tmp_path)]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "hole H3: engagement: '9 kN'" in line
    assert [file.name for file in tmp_path.iterdir()] == ["submission.yaml"]


def test_no_hole_of_a_part_takes_the_place_of_another_of_its_name(tmp_path):
    for name in ("a-b/c", "a/b-c"):
        (tmp_path / name).mkdir(parents=True)
        (tmp_path / name / "case.yaml").touch()
    with pytest.raises(InputError, match=r"2 cases below .* hole a-b-c; rename a folder"):
        select([tmp_path], formats=("html",), as_one=True)


def test_cases_below_a_folder_make_one_job_or_one_each(tmp_path):
    plate = tmp_path / "plate"
    files = [plate / "a" / "h1" / "case.yaml", plate / "h2" / "case.yaml"]
    for file in files:
        file.parent.mkdir(parents=True)
        file.touch()
    (job,) = select([plate], formats=("html",), as_one=True, out=tmp_path / "out")
    assert job.holes == dict(zip(("a-h1", "h2"), files, strict=True))
    assert job.out == tmp_path / "out" / "plate"
    (job,) = select([plate / "h2"], formats=("html",), as_one=True)
    assert [*job.holes] == ["h2"] and job.out == plate / "h2"
    found = select([plate], formats=("html",), out=tmp_path / "out")
    assert [(each.case, each.name, each.is_part) for each in found] == [
        (files[0], "a/h1", False), (files[1], "h2", False),
    ]  # fmt: skip
    assert [each.out for each in found] == [tmp_path / "out" / "a" / "h1", tmp_path / "out" / "h2"]


def test_cases_below_a_folder_come_as_one_counts(tmp_path):
    names = ["H1", "H2", "H9", "H10", "H10a", "plate2"]
    for name in names:
        (tmp_path / name).mkdir()
        (tmp_path / name / "case.yaml").touch()
    (job,) = select([tmp_path], formats=("html",), as_one=True)
    assert [*job.holes] == names
    assert [each.name for each in select([tmp_path], formats=("html",))] == names


@pytest.mark.slow
@pytest.mark.usefixtures("at_once")
def test_cases_below_a_folder_as_one_part(tmp_path):
    for name in ("h1", "h2"):
        (tmp_path / "plate" / name).mkdir(parents=True)
        shutil.copy(ROOT / "reports" / "demo-rig-plate" / "case.yaml", tmp_path / "plate" / name)
    (job,) = select([tmp_path / "plate"], formats=("html",), as_one=True)
    assert job.is_part and job.notebook.stem == "submission" and job.out == tmp_path / "plate"
    assert [*job.holes] == ["h1", "h2"]
    # The whole document is built of the four holes of tests/jobs; here its conclusion will do.
    node = nbformat.read(job.notebook, as_version=4)
    node.cells = node.cells[:5]
    nbformat.write(node, tmp_path / "submission.ipynb")
    job = replace(job, notebook=tmp_path / "submission.ipynb")
    done = build(job)
    assert done.faults == () and {file.name for file in done.files.values()} == {
        "submission.html", "submission.ipynb", "results.json",
    }  # fmt: skip
    assert done.numbers["equal_holes"] == [["h1", "h2"]]
    assert build(job).unchanged
    text = (tmp_path / "plate" / "h2" / "case.yaml").read_text().replace("9 kN", "8 kN")
    (tmp_path / "plate" / "h2" / "case.yaml").write_text(text)
    again = build(job)
    assert not again.unchanged and len(again.numbers["equal_holes"]) == 2


def test_what_refuses_stands_before_what_is_a_condition(found):
    conditions = ["condition" in row[-1] for row in part.not_met(found).rows]
    assert conditions == sorted(conditions) and {*conditions} == {False, True}
