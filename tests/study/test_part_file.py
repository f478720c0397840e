"""A part with many holes: what is said once, rows, serial numbers, and one sentence a fault."""

import nbformat
import openpyxl
import pytest

import thread_repair as tr
from tests.calls import ROOT
from thread_repair.case import part_file
from thread_repair.case.part_file import serial_numbers
from thread_repair.errors import InputError, InputErrors
from thread_repair.report.blocks import part
from thread_repair.study import evaluation

SHARED = {
    "item": "cover", "thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6",
    "engagement": "12 mm", "insert_length": "1.5 D", "serials": "1 to 3",
}  # fmt: skip


def faults(shared, *holes):
    with pytest.raises(InputErrors) as caught:
        tr.submission(shared, holes)
    return caught.value.faults


def test_each_fault_is_one_sentence_with_hole_and_key():
    found = faults(
        SHARED,
        {"name": "A", "engagement": "12 kN"},
        {"name": "B", "engagment": "12 mm"},
        {"name": "C", "parent": "6061-T9"},
        {"name": "A", "serials": "2"},
        {"serials": "7", "title": "x"},
    )
    assert [line.partition(": ")[0] for line in found] == [
        "hole A (1 to 3)", "hole B", "hole C", "hole A (2)", *["hole number 5"] * 3,
    ]  # fmt: skip
    assert "engagement: '12 kN'" in found[0]
    assert "engagment: unknown key; did you mean 'engagement'?" in found[1]
    assert "did you mean '6061-T6'" in found[2]
    assert "given to an earlier hole on serial number 2" in found[3]
    many = faults(SHARED, {"name": "A"}, {"name": "A", "serials": "2 to 90"})
    assert many == (
        "hole A (2 to 90): serials: '4 to 90' is none of the part's",
        "hole A (2 to 90): name: 'A' is given to an earlier hole on serial number 2, 3",
    )
    (twin,) = faults(SHARED, {"name": "A", "serials": "1, 2"},
                     {"name": "A", "serials": "3", "engagement": "12 kN"})  # fmt: skip
    assert twin.startswith("hole A (3): engagement: ")
    assert any("'7' is none of the part's" in line for line in found)
    assert any("title: said of the whole document" in line for line in found)


def test_a_key_in_the_wrong_place_is_told_where_it_goes():
    found = faults({**SHARED, "joint": "M8"}, {"name": "A", "part": "x"})
    assert found == (
        "all holes: joint: said of one hole, not of all; move it to the holes that it holds for",
        "hole A: part: said of the whole document, not of one hole; move it above the holes",
    )
    renamed = {"part" if key == "item" else key: value for key, value in SHARED.items()}
    assert tr.submission(renamed, [{"name": "A"}]).case.item == "cover"
    assert "did you mean 'case'" not in faults(SHARED, {"name": "A", "case": "x"})[0]
    pulled = faults(SHARED, {"name": "A", "pull_tests": "t.csv"})
    assert any(each.startswith("hole A: pull_tests: no document of several") for each in pulled)


def test_a_fault_that_all_share_is_told_once():
    found = faults({**SHARED, "parent": "6061-T9"}, {"name": "A"}, {"name": "B"})
    assert len(found) == 1 and found[0].startswith("all holes: parent: ")


def test_what_cannot_be_judged_names_its_hole():
    final = {**SHARED, "status": "final", "date": "2026-11-25", "prepared_by": "x", "revision": "A",
             "changes": "A | 2026-11-25 | first"}  # fmt: skip
    found = faults(final, {"name": "A", "parent": "EN-AC-42100-T6"}, {"name": "B"})
    assert found and all(line.startswith(("hole A: status", "all holes: status")) for line in found)


def test_a_hole_may_give_its_joint_in_one_line_under_its_own_keys(tmp_path):
    file = tmp_path / part_file.FILE
    file.write_text(
        "part: cover\nparent: 6061-T6\nscrew: 8.8\nholes:\n"
        "  - name: A\n    joint: M8 2D blind 30 engaged 16 mm\n    hole_depth: 31 mm\n"
        "  - name: B\n    joint: M6 insert 1.5D engaged 9 boss 13 7075-T6\n"
    )
    found = part_file.load(file)
    one, other = (each.case for each in part_file.understand(found.shared, found.holes)[1])
    assert (one.thread, one.parent, one.hole_depth, one.engagement) == ("M8", "6061-T6", 31, 16)
    assert (other.thread, other.parent, other.boss_diameter) == ("M6", "7075-T6", 13)
    file.write_text("holes:\n  - name: A\n    joint: M8 wibble\n")
    with pytest.raises(InputErrors, match=r"hole A: joint: .*wibble"):
        part_file.load(file)


def test_equal_holes_are_studied_once(monkeypatch):
    studied = []
    evaluate = evaluation.evaluate
    monkeypatch.setattr(
        evaluation, "evaluate", lambda case: (studied.append(case), evaluate(case))[1]
    )
    holes = [{"name": f"H{n}", "damage": f"found {n}"} for n in range(60)]
    others = [{"name": "X", "insert_length": "2 D"}, {"name": "Y", "serials": "2"}]
    found = tr.submission(SHARED, [*holes, *others])
    assert len(found.matrix) == 61 * 3 + 1
    assert len(found.studies) == len(studied) == 2
    assert found.studies[0].case.quantity == 60 * 3 + 1
    said = {each.id: each for each in part._assessed(found)}
    assert list(said) == ["submission_no_load", "submission_joints"]
    assert said["submission_joints"].values["repairs"].value == 61 * 3 + 1


def test_the_cover_names_the_holes_without_a_margin_and_no_serial_number_that_none_stated():
    loaded = {**SHARED, "serials": "", "design_load": "5 kN", "load_factor": "1.5"}
    holes = [
        {"name": "A"},
        {"name": "B", "design_load": ""},
        {"name": "C", "hole_condition": "cracked"},
    ]
    lowest, joints = part._assessed(tr.submission(loaded, holes))
    assert (lowest.id, lowest.values["hole"]) == ("submission_lowest_assessed", "A")
    assert lowest.values["without"] == ("B", "C") and joints.id == "submission_joints_unnumbered"
    equal = tr.submission(loaded, [{"name": "A"}, {"name": "B"}])
    assert [each.id for each in part._assessed(equal)] == [
        "submission_lowest", "submission_joints_unnumbered_one",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "stated", [{"design_load": "5 kN"}, {"torque": "9 N·m", "friction": "0.12"}]
)
def test_the_cover_of_lost_holes_does_not_say_that_no_load_is_stated(stated):
    lost = [{"name": "A", "hole_condition": "cracked"}]
    said = part.conclusion(tr.submission({**SHARED, **stated}, lost)).data
    assert "No load" not in said and "No margin of safety of a repair is assessed" in said
    assert "No load and no torque are stated" in part.conclusion(tr.submission(SHARED, lost)).data


def test_no_hole_has_the_name_of_another_with_its_serial_number():
    """The cracked hole A of part 2 got the study of a sound one whose name was "A (2)"."""
    holes = [{"name": "A", "serials": "2", "hole_condition": "cracked"}, {"name": "A (2)"},
             {"name": "A", "serials": "3"}]  # fmt: skip
    said = ": name: 'A (2)' is how an earlier hole is named; give another name"
    for some in (holes, holes[::-1]):
        assert faults(SHARED, *some) == (f"hole A (2){said}",)


def test_a_hole_without_serial_numbers_beside_others_with_some_is_asked_for_them():
    """The matrix said "not repaired" of it, though it was cracked and on every part."""
    shared = {key: value for key, value in SHARED.items() if key != "serials"}
    holes = [{"name": "A", "hole_condition": "cracked"}, {"name": "B", "serials": "3"}]
    (said,) = faults(shared, *holes)
    assert said.startswith("hole A: serials: missing; expected as at other holes")
    assert tr.submission({**shared, "serials": "1 to 3"}, holes).matrix["A", "1"]


def test_one_hole_with_other_sizes_on_one_part():
    found = tr.submission(
        SHARED,
        [{"name": "A", "serials": "1, 2"}, {"name": "A", "serials": "3", "insert_length": "1 D"}],
    )
    assert [hole.label for hole in found.holes] == ["A (1, 2)", "A (3)"]
    assert found.matrix["A", "3"].study is not found.matrix["A", "1"].study


@pytest.mark.parametrize("text", ["3 to 1", "1 to 5000", "1, 1", "1 to 900, 901 to 1001"])
def test_serial_numbers_that_are_none(text):
    with pytest.raises(InputError):
        serial_numbers(text)


def test_serial_numbers_are_listed_as_one_types_them():
    for text in ("A-098 to A-101, 7", "1, 2, 5 to 9, 12", "09 to 11", "x, 1a, 2a, 3", "3, 2, 1"):
        assert part_file.listed(serial_numbers(text)) == text
    for text in ("A1 TO A3", "A1 – A3"):  # "1-3" may be one number
        assert serial_numbers(text) == ("A1", "A2", "A3") and serial_numbers("1-3") == ("1-3",)
    shared = {**SHARED, "serials": "1 to 24"}
    holes = [{"name": "A", "serials": "1 to 23"}, {"name": "A", "serials": "24", "screw": "10.9"}]
    found = tr.submission(shared, [*holes, {"name": "B"}])
    assert [hole.label for hole in found.holes] == ["A (1 to 23)", "A (24)", "B"]
    assert [study.case.serials for study in found.studies] == ["1 to 24", "24"]


def test_one_fault_of_a_name_or_part_is_one_sentence():
    nameless = [{"engagement": "12 mm"}, {"engagement": "13 mm"}]
    assert [line.partition(":")[2][:14] for line in faults(SHARED, *nameless)] == [" name: missing"]
    both = faults({**SHARED, "part": "lid"}, {"name": "A"})
    assert both == ("all holes: part: said twice, as 'part' and as 'item'; give one of them",)
    (broken,) = faults(SHARED, {"name": "P1\nA"})
    assert broken.startswith("hole P1 A: name: ") and "\n" not in broken


def write(folder, text):
    file = folder / "submission.yaml"
    file.write_text(text, encoding="utf-8")
    return file


def test_rows_from_case_files_and_from_a_table(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "case.yaml").write_text("title: own\nthread: M6x1\nengagement: 9 mm\n")
    found = part_file.load(
        write(
            tmp_path,
            "part: cover\nholes:\n  - name: A\n    case: a/case.yaml\n    engagement: 8 mm\n",
        )
    )
    assert found.shared == {"part": "cover"}
    assert found.holes == ({"thread": "M6x1", "engagement": "8 mm", "name": "A"},)
    (tmp_path / "holes.csv").write_text("\ufeffname;engagement\nA;12,5 mm\nB;\n", encoding="utf-8")
    found = part_file.load(write(tmp_path, "part: cover\nholes: holes.csv\n"))
    assert found.holes == ({"name": "A", "engagement": "12.5 mm"}, {"name": "B"})


def test_what_a_table_of_holes_leaves_out_is_told(tmp_path, capsys):
    book = openpyxl.Workbook()
    book.active.append(["name", "engagement"])
    book.active.append(["A", "12 mm"])
    book.create_sheet("more holes").append(["name", "engagement"])
    book.save(tmp_path / "holes.xlsx")
    part_file.load(write(tmp_path, "part: cover\nholes: holes.xlsx\n"))
    assert capsys.readouterr().err == "holes.xlsx: sheets left out: 'more holes'\n"


def test_every_fault_of_a_header_is_told(tmp_path):
    (tmp_path / "holes.csv").write_text("name,torque,torque,thred\nA,1 Nm,2 Nm,M8\n")
    with pytest.raises(InputErrors) as caught:
        part_file.load(write(tmp_path, "part: cover\nholes: holes.csv\n"))
    assert caught.value.faults == (
        "holes.csv: unknown column 'thred'; did you mean 'thread'?",
        "holes.csv: column 'torque' is given more than once",
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("part: x\n", "holes: expected a list"),
        (
            "part: x\nhole:\n  - name: A\n",
            "found a list or nested keys; the holes stand under 'holes'",
        ),
        ("holes:\n  - M8\n", "hole number 1: expected keys"),
        ("a: &x 1\nholes: *x\n", "anchors and aliases"),
        ("part: !x y\nholes: []\n", "tags (!) are not used"),
        (
            "part: x\npart: y\nholes: []\n",
            "submission.yaml: line 2: 'part' is given more than once",
        ),
        ("part: a: b\n", "line 1 is not YAML"),
        ("part: cover\nserials: 12, #13\n", "'#13' would be lost"),
        ("holes:\n  - name: A\n    case: ../x.yaml\n", "hole A: case: '../x.yaml' leads out"),
        ("holes:\n  - name: A\n    thread: [1]\n", "hole A: thread: expected one value"),
        ("holes: none.csv\n", "holes: no file 'none.csv'"),
    ],
)
def test_a_file_that_cannot_be_read(tmp_path, text, said):
    with pytest.raises(InputError) as caught:
        part_file.load(write(tmp_path, text))
    assert said in str(caught.value)


def test_keys_that_papermill_sets_beside_those_of_the_demonstration_are_refused():
    """By `-f submission.yaml` the holes were the user's, their metal and load the demonstration's."""
    cells = nbformat.read(ROOT / "notebooks" / "submission.ipynb", as_version=4).cells
    (call,) = (each.source for each in cells if "tr.submission(" in each.source)
    names = {"shared": SHARED, "holes": [{"name": "A"}]}
    exec(call, names)
    exec(call, names)  # once more, beside what it has imported
    mine = {"part": "cover", "parent": "AZ91D", "torque": 15}
    with pytest.raises(InputError, match=r"^part, parent, torque: given beside `shared`"):
        exec(call, {**names, **mine})


def test_no_case_of_a_folder_renames_its_hole(tmp_path):
    (tmp_path / "case.yaml").write_text("thread: M8\nname: x\n")
    with pytest.raises(InputErrors, match=r"^hole H1: name: unknown key"):
        part_file.from_cases({"H1": tmp_path / "case.yaml"})


def test_cases_of_a_folder_must_be_of_one_part(tmp_path):
    for name, item in (("a", "cover"), ("b", "housing")):
        (tmp_path / name).mkdir()
        (tmp_path / name / "case.yaml").write_text(
            f"item: {item}\ndocument: {name}\nserials: '1'\n"
        )
    cases = {name: tmp_path / name / "case.yaml" for name in "ab"}
    with pytest.raises(InputErrors, match="item: one document has one, but hole a says 'cover'"):
        part_file.from_cases(cases)
    (tmp_path / "b" / "case.yaml").write_text(
        "item: cover\ndocument: b\nserials: '2'\nstatus: draft\n"
    )
    found = part_file.from_cases(cases)
    assert found.shared["item"] == "cover" and "document" not in found.shared
    assert found.shared["serials"] == "1, 2"
