"""The class exercises: drawn by seed, solved by their key, and no answer in the student copy."""

import csv
import json
import math
import re
import shutil
from functools import cache
from pathlib import Path

import nbclient
import nbformat
import numpy as np
import pytest

from thread_repair.cli import main
from thread_repair.errors import InputError, ReportError, UnknownNameError
from thread_repair.report import kernel
from thread_repair.strength.strip import STATES
from thread_repair.teaching import classes, copies, draws, marking, texts
from thread_repair.teaching.exercises import ASKS, given_away, random_seed, strong
from thread_repair.units import number, parse

SEEDS = range(16)
#: One with which a paper may be handed out.
SEED = 9_876_543_210_123
MASTER = Path(__file__).parent.parent / "notebooks" / "class_exercises.ipynb"
NUMBERS = [name for name, ask in ASKS.items() if ask.dimension not in ("letter", "yes-no", "words")]


@cache
def master():
    return nbformat.read(MASTER, as_version=4)


@cache
def paper(seed):
    return draws.draw(seed)


@cache
def student(seed):
    return nbformat.writes(copies.student_copy(master(), paper(seed)))


def answers(seed, **changes):
    found = {name: paper(seed).answer(name) for name in ASKS}
    return {"paper": copies.number_of(master(), paper(seed))} | found | changes


def marks(seed, **changes):
    return {m.name: m for m in marking.mark(answers(seed, **changes), paper(seed)).marks}


def value(seed, name):
    """Read a given value with its unit off the paper: mm, N, MPa, or a bare number."""
    return float(paper(seed).given[name].split()[0])


# --- the key solves its own exercises


@pytest.mark.parametrize("seed", SEEDS)
def test_the_key_solves_its_own_exercises(seed):
    sheet = marking.mark(answers(seed), paper(seed))
    assert sheet.points == sheet.out_of == 20, sheet


@pytest.mark.parametrize("seed", SEEDS)
def test_the_key_is_what_a_student_finds_by_hand(seed):
    """From what is printed on the paper, with the formulas of a textbook and nothing else."""
    v = {name: value(seed, name) for name in paper(seed).given if name != "parent"
         and re.match(r"[\d.]+( |$)", paper(seed).given[name])}  # fmt: skip
    p, tan = v["pitch"], math.tan(math.pi / 6)

    def area(diameter, pitch_diameter, length):
        return math.pi * diameter * length / p * (p / 2 + (diameter - pitch_diameter) * tan)

    original = area(v["screw_major"], v["hole_pitch"], v["engagement"])
    repaired = area(v["insert_outside"], v["insert_hole_pitch"], v["insert_length"] - 0.75 * p)
    load = original * v["shear_strength"]
    x = v["length_parameter"]
    lever = (
        p / (2 * math.pi)
        + v["friction"] * v["basic_pitch"] / (2 * math.cos(math.pi / 6))
        + v["friction"] * v["bearing"] / 2
    )
    loads = [float(t) for t in re.findall(r"[\d.]+", paper(seed).given["test_loads"])]
    found = {
        "area_original": f"{original:.4g} mm2",
        "area_repaired": f"{repaired:.4g} mm2",
        "load_original": f"{load / 1e3:.4g} kN",
        "load_repaired": f"{repaired * v['shear_strength'] / 1e3:.4g} kN",
        "ratio": f"{repaired / original:.4g}",
        "length_screw_first": f"{v['screw_maximum'] * 1e3 / (load / v['engagement']):.4g} mm",
        "peak_over_mean": f"{x / math.tanh(x):.4g}",
        "strip_torque": f"{load * lever / 1e3:.4g} N·m",
        "bound": f"{np.mean(loads) - v['k_factor'] * np.std(loads, ddof=1):.4g} kN",
    }
    judged = marks(seed, **found)
    assert {name: judged[name].remark for name in found} == dict.fromkeys(found, "right")


def test_who_marks_is_told_what_fails_first_and_whether_the_joint_gains():
    told = set()
    for seed in (*SEEDS, 19):  # in the last the screw fails first only after the repair
        given, key = paper(seed).given, paper(seed).key
        screw = 1e3 * value(seed, "screw_maximum")
        fails = ["the screw" if key[f"load_{s}"] > screw else "the thread" for s in STATES]
        assert [given[f"fails_{state}"] for state in STATES] == fails
        before, after = (min(key[f"load_{state}"], screw) for state in STATES)
        rubric = next(c.source for c in copies.key_copy(master(), paper(seed)).cells
                      if "*The joint, three points.*" in c.source)  # fmt: skip
        sign = 0 if fails == ["the screw"] * 2 else 1 if after > before else -1
        said = {1: "more than", 0: "as much as", -1: "less than"}[sign]
        assert f"carries {said} the original" in rubric
        told.add(said)
    assert "less than" in told, "no class would see an insert that does not help"


@pytest.mark.parametrize("seed", SEEDS)
def test_the_standard_deviation_of_a_population_is_not_marked_as_right(seed):
    """The rubric gives half marks for it: with little scatter both limits were right."""
    loads = [float(t) for t in re.findall(r"[\d.]+", paper(seed).given["test_loads"])]
    wrong = np.mean(loads) - value(seed, "k_factor") * np.std(loads)
    assert marks(seed, bound=f"{wrong} kN")["bound"].points == 0
    # Three significant figures of everything are near enough.
    s, mean = (float(f"{v:.3g}") for v in (np.std(loads, ddof=1), np.mean(loads)))
    near = mean - float(f"{value(seed, 'k_factor'):.3g}") * s
    assert marks(seed, bound=f"{near:.3g} kN")["bound"].points == 2


@pytest.mark.parametrize("seed", SEEDS)
def test_the_planted_slip_is_the_one_line_that_does_not_hold(seed):
    lines = dict(re.findall(r"\*\*(\w)\.\*\* (.*)", paper(seed).given["worked"]))
    pairs = {
        "A": (r"([\d.]+) in = ([\d.]+) mm", 25.4),
        "B": (r"([\d.]+) ksi = ([\d.]+) MPa", 6.894757),
        "D": (r"([\d.]+) N = ([\d.]+) lbf", 1 / 4.448222),
        "E": (r"([\d.]+) mm = ([\d.]+) in", 1 / 25.4),
    }
    wrong = []
    for name, (pattern, factor) in pairs.items():
        left, right = map(float, re.search(pattern, lines[name]).groups())
        if abs(right / (left * factor) - 1) > 0.01:
            wrong.append(name)
    for name, pattern in {
        "C": r"is (.*) = ([\d.]+) N\.",
        "F": r"strips: (.*) = ([\d.]+) in",
    }.items():
        factors, product = re.search(pattern, lines[name]).groups()
        exact = math.prod(map(float, factors.split(" × ")))
        assert float(number(exact, 4)) == float(product), lines[name]
    assert wrong == [paper(seed).key["wrong_line"]]


def test_the_number_of_pieces_just_reaches_the_chance():
    from thread_repair.uncertainty.pull_tests.planning import pieces_for_bound

    given = paper(3).given
    plan = pieces_for_bound(
        requirement=value(3, "requirement"), mean=value(3, "expected"),
        cov=value(3, "scatter") / 100, coverage=value(3, "coverage") / 100,
        confidence=0.95, power=0.80,
    )  # fmt: skip
    assert plan.n == paper(3).key["pieces"] and plan.power >= 0.8, given
    assert marks(3, pieces=str(plan.n + 1))["pieces"].points == 0


def test_the_call_that_the_words_name_finds_the_number_of_pieces():
    words = "\n".join(c.source for c in master().cells)
    code = re.search("```python\n(.*?)```", words, re.DOTALL)[1]
    assert "from thread_repair.uncertainty.pull_tests.planning import pieces_for_bound" in code
    given = {"requirement": value(3, "requirement"), "mean": value(3, "expected"),
             "cov": value(3, "scatter") / 100, "coverage": value(3, "coverage") / 100,
             "confidence": 0.95, "power": 0.8}  # fmt: skip
    for name, number_ in given.items():
        code = code.replace(f"{name}=...", f"{name}={number_}")
    *setup, last = code.strip().splitlines()
    names = {}
    exec("\n".join(setup), names)
    assert eval(last, names) == paper(3).key["pieces"]


def test_seeds_differ_and_repeat():
    assert draws.draw(5) == paper(5)
    assert len({tuple(paper(seed).given.items()) for seed in SEEDS}) == len(SEEDS)
    assert len({paper(seed).key["wrong_line"] for seed in SEEDS}) == 4
    for name in ("thread", "parent", "engagement", "part"):
        assert len({paper(seed).given[name] for seed in SEEDS}) > 2, name
    for bad in (-1, True, 1.0):
        with pytest.raises(InputError, match="seed must be a whole number"):
            draws.draw(bad)


# --- wrong units are caught


OTHER = {"area": "12 mm", "force": "12 mm2", "length": "12 kN", "torque": "12 kN"}
SCALED = {
    "area": {"cm2": 1.0, "in2": 1.0},
    "force": {"N": 1e-3, "lbf": 1e-3},
    "length": {"m": 1.0, "in": 1.0},
    "torque": {"in·lbf": 1.0, "ft·lbf": 1.0},
}


@pytest.mark.parametrize("seed", SEEDS)
def test_wrong_units_are_caught(seed):
    for name in NUMBERS:
        dimension = ASKS[name].dimension
        right = paper(seed).answer(name)
        if dimension == "number":
            judged = marks(seed, **{name: f"{right} mm"})[name]
            assert judged.points == 0 and "a number without a unit is asked for" in judged.remark
            continue
        figure = right.split()[0]
        none = marks(seed, **{name: figure})[name]
        assert none.points == 0 and "has no unit" in none.remark
        other = marks(seed, **{name: OTHER[dimension]})[name]
        assert (
            other.points == 0 and f"is not {'an' if dimension == 'area' else 'a'}" in other.remark
        )
        for unit in SCALED[dimension]:
            slipped = marks(seed, **{name: f"{figure} {unit}"})[name]
            assert slipped.points == 0 and "wrong by the unit" in slipped.remark, slipped


def test_a_slip_of_unit_is_told_only_where_that_unit_can_be_in_the_answer():
    """An area is not out by ksi for MPa, which is 6.89; a load may be."""
    key = paper(1).key
    area = marks(1, area_repaired=f"{key['area_repaired'] / 6.894757:.4f} mm2")["area_repaired"]
    assert area.remark.startswith("wrong: understood as") and area.points == 0
    load = marks(1, load_repaired=f"{key['load_repaired'] / 6.894757:.4f} N")["load_repaired"]
    assert load.remark == "wrong by the unit: ksi and MPa"


@pytest.mark.parametrize("name", NUMBERS)
def test_a_right_answer_in_another_unit_is_right(name):
    dimension, right = ASKS[name].dimension, paper(1).key[name]
    if dimension == "number":
        return
    unit = {"area": "in2", "force": "lbf", "length": "in", "torque": "in·lbf"}[dimension]
    one = parse(f"1 {unit}", dimension)
    assert marks(1, **{name: f"{right / one:.4g} {unit}"})[name].remark == "right"


def test_a_near_miss_is_wrong_and_rounding_is_not():
    right = paper(1).key["load_original"]
    for factor, points in ((1.004, 1), (0.996, 1), (1.02, 0), (-1, 0)):
        assert marks(1, load_original=f"{right * factor} N")["load_original"].points == points


def test_strange_answers_are_judged_and_not_run():
    for answer in (
        "nan",
        "inf kN",
        "__import__('os')",
        "1e999 kN",
        "",
        None,
        [],
        "9" * 500,
    ):
        assert marks(1, load_original=answer)["load_original"].points == 0
    assert marks(1, wrong_line="AB")["wrong_line"].remark == "a letter is asked for"


def test_without_the_key_units_only_are_checked(tmp_path):
    sheet = marking.mark(answers(1, ratio="2", load_original="5 mm"), tmp_path / "key.json")
    judged = {m.name: m.remark for m in sheet.marks}
    assert judged["ratio"] == "is a number" and judged["load_repaired"] == "is a force"
    assert "is not a force" in judged["load_original"]
    assert "right" not in judged.values() and not sheet.with_key
    assert "only dimensions and units were checked" in sheet._repr_markdown_()


# --- no answer in the student copy


@pytest.mark.parametrize("seed", SEEDS)
def test_the_student_copy_contains_no_key_value(seed):
    raw = student(seed)
    document = json.loads(raw)
    assert (document.pop("nbformat"), document.pop("nbformat_minor")) == (4, 5)
    text = json.dumps(document, ensure_ascii=False)
    assert given_away([text], paper(seed)) == ()
    for cell in document["cells"]:
        assert not cell.get("outputs") and cell.get("execution_count") is None
        assert set(cell["metadata"]) <= {"tags"} and "attachments" not in cell
    assert set(document["metadata"]) == {"kernelspec"}
    for word in ("seed", "rubric", "draws", "drawn", "«", "points"):
        assert word not in text, word


@pytest.mark.parametrize("seed", SEEDS)
def test_every_answer_is_empty_and_every_question_is_asked(seed):
    notebook = nbformat.reads(student(seed), as_version=4)
    blank = [c.source for c in notebook.cells if c.metadata.get("tags") == ["answer"]]
    assert re.fullmatch(r'paper = "[a-z]{8}"\nname = ""', blank[0])
    assert [line.split(" = ")[0] for line in blank[1:]] == list(ASKS)
    assert all(re.fullmatch(r'\w+ = ""  # .*', line) for line in blank[1:])


def test_the_copy_depends_on_what_is_given_alone():
    """Two papers that differ in their key only give the same student copy, byte for byte."""
    import dataclasses

    true = paper(7)
    other = {n: "X" if isinstance(v, str) else v * 7.77e7 for n, v in true.key.items()}
    false = dataclasses.replace(true, key=other, seed=999)
    assert nbformat.writes(copies.student_copy(master(), false)) == student(7)


def test_words_that_give_an_answer_away_are_refused():
    leaking = nbformat.reads(nbformat.writes(master()), as_version=4)
    leaking.cells[0].source += f" The strip load is {paper(1).key['load_original'] / 1e3:.1f}."
    with pytest.raises(ReportError, match="near the answer to load_original"):
        copies.student_copy(leaking, paper(1))


def test_the_fixed_pages_are_in_every_copy():
    for seed in (0, 1):
        words = [c.source for c in nbformat.reads(student(seed), as_version=4).cells]
        assert texts.markdown("safety") in words and texts.markdown("cannot-tell") in words
    assert "Nothing here approves a repair." in texts.markdown("safety")


# --- the master


def test_the_master_asks_each_exercise_once_and_says_how_words_are_marked():
    asked = [
        copies._named(r"(\w+) = .*", c)
        for c in master().cells
        if "answer" in c.metadata.get("tags", ())
    ]
    assert asked == list(ASKS)
    rubrics = "\n".join(c.source for c in master().cells if "rubric" in c.metadata.get("tags", ()))
    for name, ask in ASKS.items():
        if ask.dimension == "words":
            assert f"*{ask.words.capitalize()}, three points.*" in rubrics, name


def test_a_master_with_an_unknown_value_or_tag_is_refused():
    broken = nbformat.reads(nbformat.writes(master()), as_version=4)
    broken.cells[0].source += " «threat»"
    with pytest.raises(
        UnknownNameError, match="unknown drawn value 'threat'; did you mean 'thread'"
    ):
        copies.student_copy(broken, paper(1))
    untagged = nbformat.reads(nbformat.writes(master()), as_version=4)
    untagged.cells.append(nbformat.v4.new_code_cell("print(1)"))
    with pytest.raises(ReportError, match="needs one of the tags"):
        copies.student_copy(untagged, paper(1))


# --- files and the command line


def test_the_command_makes_copies_and_marks_them(tmp_path, capsys):
    out = tmp_path / "class"
    assert main(["exercises", "--seed", str(SEED), "--out", str(out)]) == 0
    files = sorted(str(f.relative_to(out)) for f in out.rglob("*") if f.is_file())
    assert files == ["students/exercises.ipynb", "teacher/key.ipynb", "teacher/key.json"]
    capsys.readouterr()
    copy, key = out / copies.STUDENT, out / copies.KEY
    args = ["exercises", "--mark", str(out / copies.KEY_NOTEBOOK), str(copy), "--key", str(key)]
    assert main(args) == 0
    said = capsys.readouterr().out
    assert "20 of 32 points, 12 more are given by a person" in said and "0 of 32 points" in said
    assert "2 marked, 0 not marked" in said


def test_nothing_is_overwritten_and_nothing_half_written(tmp_path, capsys, monkeypatch):
    out = tmp_path / "class"
    out.mkdir()
    (out / "mine.txt").write_text("mine")
    assert main(["exercises", "--seed", str(SEED), "--out", str(out)]) == 2
    assert capsys.readouterr().err.strip().endswith("is not an empty folder; give another")
    assert [f.name for f in out.iterdir()] == ["mine.txt"]

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    assert main(["exercises", "--seed", str(SEED), "--out", str(tmp_path / "new")]) == 2
    assert "No space left" in capsys.readouterr().err
    assert sorted(f.name for f in tmp_path.iterdir()) == ["class"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "give --out, and --seed or --class or neither, to make copies, or --mark and --keys"),
        (["--seed", "1"], "give --out"),
        (["--seed", "x", "--out", "o"], "invalid int value"),
        (["--seed", "-3", "--out", "o"], "seed -3 can be guessed"),
        (["--seed", "20261126", "--out", "o"], "seed 20261126 can be guessed; leave --seed out"),
        (["--seed", "4294967295", "--out", "o"], "10 digits or more that is no date"),
        (["--seed", "20261126093000", "--out", "o"], "seed 20261126093000 can be guessed"),
        (["--class", "absent.csv", "--out", "o"], "absent.csv"),
        (["--mark", "absent.ipynb", "--key", "absent.json"], "no file or folder at absent.ipynb"),
    ],
)
def test_bad_arguments_are_one_sentence(arguments, says, capsys, tmp_path, monkeypatch):
    assert main(["exercises", *arguments]) == 2
    error = capsys.readouterr().err.strip()
    assert says in error and "\n" not in error
    assert not Path("o").exists()


def test_a_key_of_another_paper_or_no_key_is_refused(tmp_path):
    key = tmp_path / "key.json"
    key.write_text(paper(1).key_text("00000000"))
    with pytest.raises(InputError, match="is the key of paper '00000000', the answers are to"):
        marking.mark(answers(1), key)
    unnamed = json.dumps({k: v for k, v in json.loads(key.read_text()).items() if k != "paper"})
    for text in ("", "[]", '{"answers": {}}', '{"format": "x", "answers": 3}', unnamed):
        key.write_text(text)
        with pytest.raises(InputError, match=r"key\.json is no key of these exercises"):
            marking.mark(answers(1), key)


def test_a_copy_is_read_and_not_run(tmp_path):
    notebook = nbformat.reads(student(1), as_version=4)
    notebook.cells[-4].source = "raise SystemExit"
    target = next(c for c in notebook.cells if c.source.startswith("ratio"))
    target.source = "ratio = 1.5  # by hand\n"
    path = tmp_path / "copy.ipynb"
    nbformat.write(notebook, path)
    assert marking.read_answers(path)["ratio"] == 1.5
    target.source = "ratio = open('/etc/passwd').read()"
    nbformat.write(notebook, path)
    with pytest.raises(InputError, match='an answer must be of the form name = "value"'):
        marking.read_answers(path)
    with pytest.raises(InputError, match="cannot be read"):
        marking.read_answers(tmp_path / "absent.ipynb")


@pytest.mark.slow
@pytest.mark.parametrize("name", [copies.STUDENT, copies.KEY_NOTEBOOK])
def test_what_is_made_runs_from_top_to_bottom(name, tmp_path):
    """What they import the master imports too, which runs in a fresh process."""
    copies.write(SEED, tmp_path / "class")
    file = tmp_path / "class" / name
    notebook = nbformat.read(file, as_version=4)
    with kernel.started(file.parent) as manager:
        client = nbclient.NotebookClient(notebook, km=manager)
        kernel.in_a_thread(manager, client.execute, dict)
    shown = notebook.cells[-3].outputs[0]["data"]["text/markdown"]
    assert ("No key is at hand" if name == copies.STUDENT else "20 of 20 points") in shown


# --- a whole class is marked, whatever one copy holds


def _answer_cell(source, tags=("answer",)):
    return {"cell_type": "code", "id": "a", "metadata": {"tags": tags}, "source": source,
            "outputs": [], "execution_count": None}  # fmt: skip


def _copy_of(cells):
    return json.dumps({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5})


BROKEN = {
    "power": _copy_of([_answer_cell("ratio = 9**9**9")]),
    "nested": _copy_of([_answer_cell("ratio = " + "(" * 5000 + "1" + ")" * 5000)]),
    "deep": "[" * 100_000 + "]" * 100_000,
    "digits": _copy_of([_answer_cell("ratio = " + "9" * 100_000)]),
    "null_tags": _copy_of([_answer_cell("ratio = '1.2'", tags=None)]),
    "null_source": _copy_of([_answer_cell(None)]),
    "no_cells": json.dumps({"cells": None, "metadata": {}, "nbformat": 4, "nbformat_minor": 5}),
    "empty": "",
    "bytes": "\udcff\udcfe",
}


def test_one_bad_copy_never_stops_the_marking(tmp_path, capsys):
    copies.write(SEED, tmp_path / "class")
    good = tmp_path / "class" / "students" / "exercises.ipynb"
    files = [good]
    for name, text in BROKEN.items():
        files.append(tmp_path / f"{name}.ipynb")
        files[-1].write_text(text, "utf-8", "surrogateescape")
    files.append(good)
    key = tmp_path / "class" / "teacher" / "key.json"
    code = main(["exercises", "--key", str(key), "--mark", *map(str, files)])
    said = capsys.readouterr()
    assert code == 2
    assert said.out.count("exercises.ipynb: 0 of 32 points") == 2
    unread = [line for line in said.err.splitlines() if line]
    assert len(unread) == len(BROKEN) - said.out.count("null_tags.ipynb: 0")
    for name in BROKEN:
        assert any(f"{name}.ipynb" in line for line in (*unread, *said.out.splitlines())), name


# --- a class: a copy and a key for each, one table


def solved(file, key, **changes):
    """Fill a copy in from its key, with other answers where they are given."""
    notebook = nbformat.read(file, as_version=4)
    drawn = draws.draw(json.loads(key.read_text())["seed"])
    for cell in notebook.cells:
        name = cell.source.split(" = ")[0]
        if name in ASKS and cell.metadata.get("tags") == ["answer"]:
            given = "by hand" if ASKS[name].dimension == "words" else drawn.answer(name)
            cell.source = f"{name} = {changes.get(name, given)!r}"
    nbformat.write(notebook, file)


def table(file):
    with file.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


def test_copies_of_a_class_are_made_and_marked_though_three_are_broken(tmp_path, capsys):
    names = tmp_path / "names.csv"
    people = ["../../etc", "Ada O'Hara", 'Quote "Q"', *(f"Student {i} Öz" for i in range(3))]
    with names.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([["name"], *([each] for each in people)])
    out = tmp_path / "class"
    assert main(["exercises", "--class", str(names), "--out", str(out)]) == 0
    copies_, keys = (sorted((out / f).iterdir()) for f in ("copies", "keys"))
    assert len(copies_) == 6 and len(keys) == 12
    assert sorted(out.iterdir()) == [out / "copies", out / "keys"]
    files = {k.stem: k for k in keys if k.suffix == ".json"}
    seeds = {json.loads(k.read_text())["seed"] for k in files.values()}
    assert len(seeds) == 6 and min(seeds) >= 2**32
    for copy in copies_:
        text = copy.read_text()
        assert not any(str(seed) in text for seed in seeds)
        solved(copy, files[copy.stem])
    copies_[0].write_text("{")
    copies_[1].write_bytes(b"\xff\xfe")
    broken = nbformat.read(copies_[2], as_version=4)
    next(c for c in broken.cells if c.source.startswith("paper")).source = 'paper = "zzzzzzzz"'
    nbformat.write(broken, copies_[2])
    marks_file = tmp_path / "marks.csv"
    args = ["exercises", "--mark", str(out / "copies"), "--keys", str(out / "keys"), "--out"]
    capsys.readouterr()
    assert main([*args, str(marks_file)]) == 2
    said = capsys.readouterr()
    assert "3 marked, 3 not marked" in said.out and len(said.err.splitlines()) == 3
    rows = table(marks_file)
    marked = [row for row in rows if row["points"]]
    assert len(rows) == 6 and len(marked) == 3
    assert {row["points"] for row in marked} == {"20"} and {row["out_of"] for row in marked} == {
        "32"
    }
    assert [row["remarks"][:11] for row in rows if not row["points"]] == ["not marked:"] * 3
    assert {row["name"] for row in marked} < set(people)
    assert [row["key"] for row in marked] == [Path(row["file"]).stem for row in marked]
    # A person enters the points for words, and they are added.
    for i, row in enumerate(marked):
        row |= {
            "judgement_joint": "0",
            "judgement_length": "2,5" if i else "0",
            "judgement_boss": "3",
            "judgement_part": "1",
        }
    filled = tmp_path / "filled.csv"
    with filled.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0].keys(), delimiter=";")
        writer.writeheader()
        writer.writerows(rows)
    assert main([*args, str(tmp_path / "final.csv"), "--manual", str(filled)]) == 2
    final = [row for row in table(tmp_path / "final.csv") if row["points"]]
    assert sorted(row["points"] for row in final) == ["24"] + ["26.5"] * 2
    assert {row["left_for_a_person"] for row in final} == {"0"}
    assert main([*args, str(tmp_path / "final.csv")]) == 2  # is left as it is
    assert "exists already" in capsys.readouterr().err


def test_points_of_a_person_belong_to_a_copy_where_all_have_one_paper(tmp_path):
    """A whole class answers one paper, and one student hands it in late a second time."""
    copies.write(SEED, tmp_path / "one")
    paper_, key = (next((tmp_path / "one").rglob(name)) for name in ("exercises.ipynb", "key.json"))
    solved(paper_, key)
    handed = tmp_path / "handed"
    handed.mkdir()
    for name in ("early", "late", "other"):
        shutil.copy(paper_, handed / f"{name}.ipynb")
    rows = classes.mark([handed], key)
    assert [row["left_for_a_person"] for row in rows] == [12, 12, 12]
    early, late, _ = (handed / f"{name}.ipynb" for name in ("early", "late", "other"))
    assert [row["remarks"] for row in rows] == [
        f"the same paper as {twin}" for twin in (late, early, early)
    ]
    rows[0] |= {"judgement_length": 3}
    rows[1] |= {"judgement_length": 1, "judgement_part": 2}
    marks_file = tmp_path / "marks.csv"
    classes.write(rows, marks_file)
    again = classes.mark([handed], key, manual=marks_file)
    assert [row["points"] for row in again] == [23, 23, 20]
    assert [row["left_for_a_person"] for row in again] == [9, 6, 12]
    (handed / "late.ipynb").unlink()
    with pytest.raises(InputError, match=r"late\.ipynb, paper .* not among the copies marked"):
        classes.mark([handed], key, manual=marks_file)


def one_copy(folder, name="copy.ipynb", **changes):
    """Write a key, and a copy that is solved but for the changes, under a name of its own."""
    copies.write(SEED, folder / "one")
    made, key = (next((folder / "one").rglob(n)) for n in ("exercises.ipynb", "key.json"))
    solved(made, key, **changes)
    copy = folder / "handed" / name
    copy.parent.mkdir(exist_ok=True)
    return shutil.move(made, copy), key


def test_points_that_a_person_changes_count_and_are_remarked(tmp_path):
    """Half marks where the rubric gives them, and for words that were said and not written."""
    copy, key = one_copy(tmp_path, strip_torque="1 N·m", judgement_boss="")
    (row,) = classes.mark([copy], key)
    assert (row["points"], row["strip_torque"], row["left_for_a_person"]) == (18, 0, 9)
    classes.write([row | {"strip_torque": 1, "judgement_boss": 2}], tmp_path / "marks.csv")
    (again,) = classes.mark([copy], key, manual=tmp_path / "marks.csv")
    assert (again["points"], again["strip_torque"], again["judgement_boss"]) == (21, 1, 2)
    assert "1 by a person, 0 by the program" in again["remarks"]
    assert again["remarks"].count("by a person") == 1  # what is as it was found is no remark


@pytest.mark.parametrize("name", ["=1+1.ipynb", "two  blanks (v2) .ipynb", "é,;'\".ipynb"])
def test_points_of_a_person_find_a_copy_of_an_odd_name(name, tmp_path, monkeypatch):
    copy, key = one_copy(tmp_path, name)
    monkeypatch.chdir(copy.parent)
    places = [Path(name)]
    (row,) = classes.mark(places, key)
    classes.write([row | {"judgement_part": 3}], tmp_path / "marks.csv")
    (again,) = classes.mark(places, key, manual=tmp_path / "marks.csv")
    assert again["points"] == row["points"] + 3


def test_a_folder_is_found_from_beside_and_below_a_hidden_one(tmp_path, monkeypatch):
    hidden = tmp_path / ".term"
    hidden.mkdir()
    copy, key = one_copy(hidden)
    inside = copy.parent / ".ipynb_checkpoints" / "copy-checkpoint.ipynb"
    inside.parent.mkdir()
    shutil.copy(copy, inside)
    monkeypatch.chdir(key.parent)
    for place in (Path("../../handed"), copy.parent):
        assert [row["points"] for row in classes.mark([place], key)] == [20]


def test_an_answer_in_a_cell_without_a_tag_is_read(tmp_path):
    """A cell that was deleted and typed anew, or pasted, has no tag: it scored nothing unsaid."""
    copy, key = one_copy(tmp_path, ratio="")
    notebook = nbformat.read(copy, as_version=4)
    right = json.loads(key.read_text())["answers"]["ratio"]["value"]
    new = nbformat.v4.new_code_cell
    tags = [cell.metadata.pop("tags", None) for cell in notebook.cells]
    assert tags.count(["answer"]) == len(ASKS) + 1
    blank = next(cell for cell in notebook.cells if cell.source.startswith("ratio"))
    blank.metadata["tags"] = ["answer"]
    notebook.cells += [new("ratio = area_repaired / 3"), new(f"ratio = {right}"), new("%pip list")]
    nbformat.write(notebook, copy)
    (row,) = classes.mark([copy], key)
    assert (row["points"], row["left_for_a_person"], row["remarks"]) == (20, 12, "")


def test_what_is_not_answered_is_said(tmp_path):
    copy, key = one_copy(tmp_path, ratio="", five_do="")
    (row,) = classes.mark([copy], key)
    assert row["points"] == 18
    said = ", ".join(ASKS[name].words for name in ("ratio", "five_do"))
    assert row["remarks"] == f"not answered: {said}"


@pytest.mark.parametrize("points", ["4", "-1", "two", "nan"])
def test_points_of_a_person_that_are_none_are_refused(points, tmp_path):
    file = tmp_path / "m.csv"
    head = "file,paper,judgement_length,judgement_boss,judgement_part,judgement_joint"
    file.write_text(f"{head}\na.ipynb,abc,{points},,,\n")
    with pytest.raises(InputError, match=r"m\.csv, row 2, column judgement_length: .* from 0 to 3"):
        classes._given(file)


def test_a_formula_in_an_answer_is_text_in_the_table():
    assert classes.cell("=HYPERLINK(1)\nx") == "'=HYPERLINK(1) x"


def test_a_name_that_is_no_utf_8_keeps_nobody_from_the_marks(tmp_path):
    """A file name of an old archive, and half a character in the name of a student."""
    copy, key = one_copy(tmp_path)
    notebook = copy.read_text().replace('name = \\"\\"', 'name = \\"A\\\\ud83d\\"')
    assert "ud83d" in notebook
    copy.write_text(notebook)
    odd = copy.parent / "caf\udce9.ipynb"
    shutil.copy(copy, odd)
    rows = classes.mark([copy.parent], key)
    classes.write([rows[0] | {"judgement_boss": 1}, rows[1]], tmp_path / "marks.csv")
    assert [row["points"] for row in table(tmp_path / "marks.csv")] == ["20", "20"]
    again = classes.mark([copy.parent], key, manual=tmp_path / "marks.csv")
    assert [row["points"] for row in again] == [21, 20]


def test_names_that_are_missing_or_twice_are_refused(tmp_path):
    for text, says in (("name\nA\na\n", "'a' stands there twice"), ("who\nA\n", "header name"),
                       ("name\n", "no names"),
                       ("name\nZo\u00eb\nZoe\u0308\n", "stands there twice")):  # fmt: skip
        (tmp_path / "n.csv").write_text(text)
        with pytest.raises(InputError, match=says):
            copies.write_class(tmp_path / "n.csv", tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_random_seed_is_long_and_strong():
    seeds = {random_seed() for _ in range(50)}
    assert len(seeds) == 50 and all(strong(seed) == seed for seed in seeds)
    assert max(seed.bit_length() for seed in seeds) > 60


# --- what follows from an earlier value, and how numbers are written


def test_what_follows_from_the_students_own_value_is_right():
    right = paper(1).key
    wrong = 0.9 * right["area_original"]
    load, tau = right["load_original"] * 0.9, right["load_original"] / right["area_original"]
    judged = marks(
        1, area_original=f"{wrong:.4g} mm2", load_original=f"{tau * wrong:.5g} N",
        ratio=f"{right['load_repaired'] / load:.4g}",
        length_screw_first=f"{right['length_screw_first'] / 0.9:.4g} mm",
        strip_torque=f"{0.9 * right['strip_torque']:.4g} N·m",
    )  # fmt: skip
    assert judged["area_original"].points == 0
    for name in ("load_original", "ratio", "length_screw_first", "strip_torque"):
        assert judged[name].remark == "right from your own earlier value", name
        assert judged[name].points == ASKS[name].points
    assert judged["load_repaired"].remark == "right"
    other = marks(1, pieces="5", five_do="yes"), marks(1, pieces="6", five_do="yes")
    truth = paper(1).key["five_do"] == "yes"
    assert [bool(each["five_do"].points) for each in other] == [True, truth]


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("load_original", "{n:,.0f} N"), ("load_original", "{k:.2f} kN"),
        ("load_original", "{l:.0f} lbf"), ("strip_torque", "{t:.4g} N⋅m"),
        ("strip_torque", "{t:.4g} N m"), ("strip_torque", "{i:.4g} lbf in"),
        ("strip_torque", "{i:.4g} lb·in"), ("strip_torque", "{i:.4g} lbf·in"),
        ("strip_torque", "{t:.4g} Nm"), ("strip_torque", "{m:.0f} N mm"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("space", [" ", "\u202f", "\u00a0", "\u2009"])
def test_numbers_are_read_as_people_write_them(name, written, space):
    force, torque = paper(1).key["load_original"], paper(1).key["strip_torque"]
    text = written.format(
        n=force, k=force / 1e3, l=force / 4.4482216, t=torque, i=torque / 0.1129848, m=1e3 * torque
    ).replace(",", space)
    assert marks(1, **{name: text.replace(" ", space)})[name].remark == "right", text


@pytest.mark.parametrize(
    "written",
    ["{k:.2f} kN.", "{n:,.1f} N", "{e:.3f} x 10^4 N", "{e:.3f}·10**4 N", "{e:.3f}×10^+4 N"],
)
def test_numbers_in_full_are_read(written):
    load = paper(1).key["load_original"]
    text = written.format(k=load / 1e3, n=load, e=load / 1e4)
    for each in (text, text.replace(",", "'"), text.replace(",", "\u2019")):
        assert marks(1, load_original=each)["load_original"].remark == "right", each


def test_a_letter_or_a_word_may_have_a_full_stop():
    letter, word = paper(1).key["wrong_line"], paper(1).key["five_do"]
    found = marks(1, wrong_line=f"({letter})", five_do=f"{word.title()}.")
    assert {found["wrong_line"].points, found["five_do"].points} == {1}
    assert marks(1, wrong_line=f"Line {letter}")["wrong_line"].points == 1


@pytest.mark.parametrize("written", ["{:.1f} %", "{:.1f}%", "{:.1f} per cent", "{:.1f} percent"])
def test_a_ratio_in_per_cent_is_a_number_and_a_unit_is_quoted_as_written(written):
    per_cent = 100 * paper(1).key["ratio"]
    assert marks(1, ratio=written.format(per_cent))["ratio"].remark == "right"
    comma = marks(1, ratio=written.format(per_cent).replace(".", ","))["ratio"]
    assert comma.points == 1
    assert marks(1, ratio="1.108 mm")["ratio"].remark.endswith("'1.108 mm'")
    assert marks(1, load_original="5 %")["load_original"].points == 0


def test_a_decimal_comma_is_read_and_remarked():
    load = paper(1).key["load_original"]
    comma = f"{load / 1e3:.2f} kN".replace(".", ",")
    judged = marks(1, load_original=comma)["load_original"]
    assert judged.points == 1
    assert judged.remark == "right; write a decimal point, not a comma"
    thousands = marks(1, load_original=f"{load:,.0f} N")["load_original"]
    assert thousands.points == 1 and "parting thousands" in thousands.remark


def test_a_refused_answer_is_repeated_as_it_was_written():
    """'17.020,8 N' was told as '17.0200,8 N', which nobody wrote."""
    for written in ("17.020,8 N", "1.234.567 N"):
        judged = marks(1, load_original=written)["load_original"]
        assert judged.points == 0 and judged.remark.startswith(f"'{written}' is not a force")


def test_what_follows_from_a_wrong_value_with_a_thousands_comma_is_right():
    """The comma was read as a decimal one there, and the slip cost what follows as well."""
    key = paper(1).key
    load, torque = (1.05 * key[name] for name in ("load_original", "strip_torque"))
    judged = marks(1, load_original=f"{load:,.0f} N", strip_torque=f"{torque:.4g} N·m")
    assert judged["load_original"].points == 0
    assert judged["strip_torque"].remark == "right from your own earlier value"


# --- more papers


@pytest.mark.slow
def test_no_number_that_is_given_is_accepted_anywhere():
    units = {"area": ("mm2", "cm2", "in2"), "force": ("N", "kN", "lbf", "kgf", "kip"),
             "length": ("mm", "cm", "in"), "number": ("",), "letter": (), "yes-no": (), "words": (),
             "torque": ("N·m", "N·mm", "in·lbf", "ft·lbf", "kgf·m")}  # fmt: skip
    one = {u: parse(f"1 {u}", d) for d, all_ in units.items() for u in all_ if u}
    enough = set()
    for seed in range(15):
        drawn = draws.draw(seed + 2**33)
        copy = copies.student_copy(master(), drawn)
        printed = {float(t) for c in copy.cells for t in re.findall(r"\d+(?:\.\d+)?", c.source)}
        for name, ask in ASKS.items():
            for value in printed:
                for unit in units[ask.dimension]:
                    found = marking._compared(ask, value * one.get(unit, 1.0), drawn.key[name])
                    assert not found[1], (seed, name, value, unit)
        enough.add(drawn.key["five_do"])
        # The boss question reaches the clause that no rule covers, and the original hole does not.
        assert 1.2 < float(drawn.given["thin_ratio"]) < 1.4
    assert enough == {"yes", "no"}


def test_a_random_seed_whose_paper_gives_an_answer_away_is_passed_over(tmp_path, monkeypatch):
    spoiled, good = SEED + 1, SEED
    drawn = iter([spoiled, good])
    monkeypatch.setattr(copies, "random_seed", lambda: next(drawn))
    monkeypatch.setattr(
        copies, "given_away", lambda texts, paper: ["area"] if paper.seed == spoiled else []
    )
    copies.write(None, tmp_path / "class")
    assert json.loads((tmp_path / "class" / copies.KEY).read_text("utf-8"))["seed"] == good
