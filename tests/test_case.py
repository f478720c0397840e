"""The case file: understood, defaulted, and refused with every fault in one go."""

import math
import re
import sys
from pathlib import Path

import attrs
import pytest
import yaml

import thread_repair as tr
from thread_repair import case, files, materials
from thread_repair.case import starter
from thread_repair.cli import main
from thread_repair.errors import InputError, InputErrors
from thread_repair.facts import force, length

NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "8 mm",
    "insert_length": "1.5 D",
}


def faults(**changes):
    with pytest.raises(InputErrors) as raised:
        case.read({**NEEDED, **changes})
    return raised.value.faults


def test_lengths_in_diameters_and_inches():
    found = case.read({**NEEDED, "engagement": "0.5 in"})
    assert found.engagement == 12.7
    assert found.insert_length == 12.0


def test_echoes_what_was_understood_with_units():
    found = case.understood(case.read({**NEEDED, "engagement": "0.5 in", "design_load": 9000}))
    assert found["engagement"] == length(12.7)
    assert found["design_load"] == force(9000)
    assert found["thread"] == NEEDED["thread"]


def test_class_of_the_designation_counts():
    joint = case.joint(case.read({**NEEDED, "thread": "M8x1.25-5H"}))
    assert (joint.hole_class, joint.screw_class, joint.insert_hole_class) == ("5H", "6g", "5H")


def test_unknown_key_names_the_nearest():
    assert faults(engagment="9 mm") == ("engagment: unknown key; did you mean 'engagement'?",)


def test_every_fault_in_one_go():
    found = faults(engagement="12 kg", tolerance_position="worst", load_factor="-1", colour="red")
    assert {text.split(":")[0] for text in found} == {
        "colour", "engagement", "tolerance_position", "load_factor",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"thread": "M8x1.26"}, "thread: "),
        ({"thread": "banana"}, "thread: "),
        ({"parent": "6061-T7"}, "did you mean '6061-T6"),
        ({"screw": "8.9"}, "screw: unknown screw '8.9'; did you mean"),
        ({"engagement": "-8 mm"}, "engagement: '-8 mm' must be above zero"),
        ({"engagement": "800 mm"}, "engagement: '800 mm' is 100 D"),
        ({"boss_diameter": "9 mm"}, "boss_diameter: '9 mm' leaves no wall"),
        ({"hole_kind": "blind"}, "hole_depth: missing"),
        ({"hole_kind": "blind", "hole_depth": "10 mm"}, "hole_depth: '10 mm' is too shallow"),
        ({"hole_kind": "blind", "hole_depth": "18 mm"}, "use tap: bottoming"),
        ({"preload": "10 kN", "torque": "20 N·m"}, "preload: given together with torque"),
        ({"parent_shear_strength": "190 MPa"}, "without parent_source"),
        ({"tolerance_position": "measured"}, "at least one of measured_screw_major"),
        ({"measured_hole_minor": "6.8 mm"}, "measured_hole_minor: not used at tolerance_position"),
        ({"assumed": "engagment"}, "assumed: unknown entry 'engagment'; did you mean 'engagement'"),
        ({"casting_factor": "1.5"}, "casting_factor"),
        ({"hole_class": "9Z"}, "hole_class"),
        ({"insert_wire": "gold"}, "insert_wire"),
        ({"set_down_rule": "deep"}, "set_down_rule"),
        ({"status": "Draft?"}, "status: 'Draft?' is not one of draft, final"),
        ({"parent": "steel"}, "parent: unknown parent 'steel': no steel is tabulated"),
        ({"damaged_fraction": "42"}, "such as 0.42 for 42 per cent"),
        ({"damaged_fraction": "42 %"}, "expected a number above zero, such as 0.4"),
        ({"samples": "1000000000"}, "expected a whole number from 1 to 999999999"),
        ({"samples": "99999999"}, "is more than 10000000, the most that is of use"),
    ],
)
def test_each_impossible_value_gets_one_sentence(changes, says):
    found = faults(**changes)
    assert any(says in text for text in found), found
    assert all("\n" not in text for text in found)


def test_missing_key_says_what_is_expected():
    with pytest.raises(InputErrors, match="screw: missing; expected strength class"):
        case.read({key: value for key, value in NEEDED.items() if key != "screw"})


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("thread: M8\nthread: M10\n", "given more than once"),
        ("a:\n  b: 1\n", "on one level"),
        ("a: &x hi\nb: *x\n", "anchors and aliases"),
        ("- 1\n- 2\n", "key: value"),
        ("thread: [M8, M10]\n", "line 1"),
        ("thread: 'M8\n", "a quote is opened and never closed"),
        ("!!python/object/apply:os.system ['true']\n", "is no line 'key: value'"),
        ("a: " + "[" * 5000, "line 1: expected 'key: value' on one level"),
        ("[" * 5000, "is no line 'key: value'"),
        ("? [a, b]\n: c\n", "is no line 'key: value'"),
    ],
)
def test_files_that_are_no_case(tmp_path, text, says):
    file = tmp_path / "case.yaml"
    file.write_text(text)
    with pytest.raises(InputError, match=says):
        case.load(file)


def test_a_word_that_is_no_choice_gets_the_choices_once():
    (found,) = faults(report_units="metric")
    assert found == "report_units: 'metric' is not one of SI, inch, both; write 'SI'"
    (found,) = faults(insert_kind="lock")
    assert found.endswith("is not one of free-running, locking; did you mean 'locking'?")


def test_a_folder_without_a_case_is_not_called_missing(tmp_path):
    with pytest.raises(InputError, match=r"no case\.yaml in this folder"):
        case.load(tmp_path)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(InputError, match="cannot be read: No such file"):
        case.load(tmp_path / "none.yaml")


@pytest.mark.parametrize("path", [None, 3, ["case.yaml"]])
def test_what_is_no_path_is_told_what_is_expected(path):
    with pytest.raises(InputError, match="expected the path of a case file or its folder, got"):
        case.load(path)


@pytest.mark.parametrize("path", ["\0", "a" * 5000])
def test_what_no_file_can_be_called_is_refused(path):
    with pytest.raises(InputError, match="cannot be read: "):
        case.load(path)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: case.from_namespace(None), "expected keys with their values"),
        (lambda: tr.submission(None, [{}]), "expected keys with their values"),
        (lambda: tr.submission({}, [1]), "expected keys with their values"),
        (lambda: tr.submission({}, None), "holes: expected a list"),
        (lambda: tr.sweep(case.read(NEEDED), parent=1), "unknown parent '1'"),
        (lambda: tr.sweep(case.read(NEEDED), parent=[1]), "unknown parent '1'"),
    ],
)
def test_python_is_told_in_a_sentence_as_a_file_is(call, says):
    with pytest.raises(InputError, match=says):
        call()


def test_numbers_stay_text(tmp_path):
    file = tmp_path / "case.yaml"
    file.write_text("\n".join(f"{k}: {v}" for k, v in {**NEEDED, "screw": "10.9"}.items()))
    assert case.load(file).screw == "10.9"


def test_the_order_of_keys_does_not_change_the_hash():
    backwards = dict(reversed(NEEDED.items()))
    assert case.read(NEEDED).inputs_sha256 == case.read(backwards).inputs_sha256


def test_starter_runs_and_names_every_key(tmp_path):
    file = starter.write(tmp_path)
    case.load(file)
    text = file.read_text()
    words = set(re.findall(r"\w+", text))
    assert words.issuperset(case.keys())
    assert text.count("\n") < 110  # an engineer reads it whole before the first answer
    with pytest.raises(InputError, match="exists already"):
        starter.write(tmp_path)
    with pytest.raises(InputError, match="exists already"):
        files.new_file(file, lambda: pytest.fail("worked out for nothing"))


#: Each of the eleven keys with the word that its one sentence must hold.
ELEVEN = {
    "title": ("pump: cover", "quotes"),  # the line is broken
    "item": ("&5 plate", "quotes"),  # YAML would take the mark away
    "boss_diametre": ("24 mm", "boss_diameter"),
    "date": ("26.11.2025", "write '2025-11-26'"),
    "screw": ("8.9", "8.8"),
    "parent": ("6061-T7", "6061-T6"),
    "engagement": ("12 kg", "a length"),
    "status": ("finale", "final"),
    "insert_wire": ("gold", "S30200"),
    "edge_distance": ("2 mm", "no wall"),  # beside the thread: D/2 of the insert hole is above 4 mm
    "friction": ("slippery", "friction"),
}


def test_eleven_faults_of_eleven_kinds_are_told_in_one_run(tmp_path, capsys):
    lines = {**NEEDED, "torque": "20 N·m", **{key: value for key, (value, _) in ELEVEN.items()}}
    file = tmp_path / "case.yaml"
    file.write_text("".join(f"{key}: {value}\n" for key, value in lines.items()), "utf-8")
    with pytest.raises(InputErrors) as raised:
        case.load(file)
    found = {fault.split(":")[0]: fault for fault in raised.value.faults}
    assert len(raised.value.faults) == 11
    assert set(found) == set(ELEVEN)
    assert all(word in found[key] for key, (_, word) in ELEVEN.items())
    for command in ("evaluate", "report"):
        assert main([command, str(file)]) == 2
        said = capsys.readouterr().err
        assert all(fault in said for fault in raised.value.faults), command


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        # a thread that is not known leaves open what depends on it
        ({"thread": "banana", "boss_diameter": "1 mm", "engagement": "1.5 D"}, {"thread"}),
        # what does not depend on it is told too
        ({"thread": "banana", "parent": "wood", "date": "x"}, {"thread", "parent", "date"}),
        # one fault of two keys is told once
        ({"environment": "jelly", "finish_need": "corrosion"}, {"environment"}),
        ({"temperature": "900 degC", "insert_wire": "gold"}, {"temperature", "insert_wire"}),
        ({"casting_factor": "0.8", "preload": "9 kN"}, {"casting_factor", "friction"}),
    ],
)
def test_a_fault_hides_only_what_follows_from_it(values, expected):
    assert {text.split(":")[0] for text in faults(**values)} == expected


@pytest.mark.parametrize(
    ("line", "quoted"),
    [
        ("title: pump: cover", "'pump: cover'"),
        ("item: &5 plate", "'&5 plate'"),
        ("title: !x", "'!x'"),
        ("title: *5", "'*5'"),
        ("title: [draft] cover", "'[draft] cover'"),
        ("title: @work", "'@work'"),
        ("title: - it's a: b", "'- it''s a: b'"),
    ],
)
def test_text_that_yaml_reads_otherwise_is_to_be_put_in_quotes(tmp_path, line, quoted):
    file = tmp_path / "case.yaml"
    rest = "".join(f"{key}: {value}\n" for key, value in NEEDED.items())
    file.write_text(f"{line}\n{rest}", "utf-8")
    with pytest.raises(InputErrors) as raised:
        case.load(file)
    (found,) = raised.value.faults
    key = line.split(":")[0]
    assert found.startswith(f"{key}: line 1") and found.endswith(f"in quotes, {key}: {quoted}")
    file.write_text(f"{key}: {quoted}\n{rest}", "utf-8")  # and the advice helps
    assert case.load(file).entered[key] == line.split(":", 1)[1].strip()


def test_a_quote_never_closed_is_told_where_it_opens(tmp_path):
    file = tmp_path / "case.yaml"
    file.write_text(
        'thread: M8x1.25\nscrew: "8.8\nparent: 6061-T6\nengagement: 12 mm\ninsert_length: 1 D\n',
        "utf-8",
    )
    with pytest.raises(InputErrors) as raised:
        case.load(file)
    (found,) = raised.value.faults
    assert found.startswith("screw: line 2: a quote is opened")


@pytest.mark.parametrize("place", [0, 3, 5])
def test_a_line_without_colon_is_named_wherever_it_stands(tmp_path, place):
    lines = [f"{key}: {value}\n" for key, value in NEEDED.items()]
    lines.insert(place, "boss_diameter 24 mm\n")
    file = tmp_path / "case.yaml"
    file.write_text("".join(lines), "utf-8")
    with pytest.raises(InputErrors) as raised:
        case.load(file)
    says = f"line {place + 1}: 'boss_diameter 24 mm' is no line 'key: value'"
    assert raised.value.faults == (says,)


def test_a_broken_line_costs_no_other_line(tmp_path):
    """A mark of YAML at the head, a comment in a key, and a character that no file may hold."""
    lines = [f"{key}: {value}\n" for key, value in NEEDED.items()]
    file = tmp_path / "case.yaml"
    file.write_text("".join(["---\n", "tit #le: x\n", *lines, "scope: a\0b\n"]), "utf-8")
    with pytest.raises(InputErrors) as raised:
        case.load(file)
    first, second = raised.value.faults
    assert first == "line 2: 'tit #le: x' is no line 'key: value'"
    assert second.startswith(f"scope: line {len(lines) + 3}: not YAML")
    file.write_text("".join([*lines, "---\n", "title: x\n", "scope: a: b\n"]), "utf-8")
    with pytest.raises(InputErrors, match=rf"line {len(lines) + 1}: '---' is no line"):
        case.load(file)


def test_long_text_is_taken_to_4000_characters_and_longer_is_told_by_its_key():
    for key in ("scope", "damage", "title", "corrective_action"):
        assert len(getattr(case.read({**NEEDED, key: "x" * 4000}), key)) == 4000
        (found,) = faults(**{key: "x" * 4001})
        assert found == f"{key}: the text has 4001 characters; at most 4000 fit"


GOOD = {**NEEDED, "screw": "8.8", "engagement": 8.0, "insert_length": 12.0}


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"load_factor": -1.5}, "load_factor: '-1.5' is not a factor"),
        ({"hole_kind": "blnd"}, "hole_kind: 'blnd' is not one of through, blind"),
        ({"hazards": "dust, berylium"}, "hazards: unknown hazard 'dust'"),
        ({"hazards": "berylium"}, "hazards: unknown hazard 'berylium'; did you mean 'beryllium'"),
        ({"engagement": 0}, "engagement: '0' must be above zero"),
        ({"boss_support": "side"}, "boss_support: 'side' is not one of base, face, unknown"),
        ({"status": "finall"}, "status: 'finall' is not one of draft, final"),
        ({"engagement": math.nan}, "engagement: 'nan' is not a length"),
        ({"tool_set_down": 1e12}, "tool_set_down: '1000000000000.0' can be of no joint"),
        ({"boss_diameter": 9.0}, "boss_diameter: '9.0' leaves no wall"),
        ({"critical": "on"}, "critical: 'on' is not one of yes, no; write 'yes'"),
        ({"thread": None}, "thread: missing; expected thread of the screw"),
    ],
)
def test_a_case_made_in_python_passes_the_checks_of_a_file(values, says):
    with pytest.raises(InputErrors) as made:
        case.Case(**{**GOOD, **values})
    with pytest.raises(InputErrors) as evolved:
        attrs.evolve(case.Case(**GOOD), **values)
    with pytest.raises(InputErrors) as read:
        case.read({**GOOD, **values})
    assert made.value.faults == evolved.value.faults == read.value.faults
    assert made.value.faults[0].startswith(says)


def test_a_case_made_in_python_is_the_case_of_the_same_file():
    made = case.Case(**{**GOOD, "status": "Final", "design_load": "2 kN"})
    read = case.read({**GOOD, "status": "Final", "design_load": "2 kN"})
    assert made == read and made.status == "final" and made.design_load == 2000
    assert made.inputs_sha256 == read.inputs_sha256
    # Without this every case made in Python would have the digest of nothing.
    assert made.inputs_sha256 != case.Case(**{**GOOD, "engagement": 9.0}).inputs_sha256


def test_what_was_entered_stays_true_of_an_evolved_case():
    read = case.read({**NEEDED, "engagement": "0.5 in", "design_load": "9 kN"})
    changed = attrs.evolve(read, engagement=10.0, design_load=None)
    assert changed.entered["engagement"] == "10.0" and "design_load" not in changed.entered
    assert changed.entered["insert_length"] == read.entered["insert_length"] == "1.5 D"


@pytest.mark.parametrize("value", ["1e-320 mm", "1e-9 mm", "1e12 mm", "10.1 m", "1e300 in"])
@pytest.mark.parametrize("key", ["engagement", "tool_set_down", "hole_depth", "edge_distance"])
def test_an_absurd_length_is_one_sentence(key, value):
    found = [text for text in faults(**{key: value}) if text.startswith(f"{key}: ")]
    limits = "0.0001 to 393.7007 in" if value.endswith("in") else "0.001 to 10000 mm"
    assert found == [f"{key}: {value!r} can be of no joint; expected {limits}"]


@pytest.mark.parametrize(
    ("values", "key"),
    [
        ({"engagement": "0.01 mm"}, "engagement"),
        ({"insert_length": "0.01 mm"}, "insert_length"),
        ({"thread": "M0.01x0.001"}, "thread"),
        ({"thread": "M0.01"}, "thread"),
        ({"bearing_diameter": "0.01 mm"}, "bearing_diameter"),
        ({"design_load": "1e-320 N"}, "design_load"),
        ({"design_load": "1e300 N"}, "design_load"),
        ({"load_factor": "1e308"}, "load_factor"),
        ({"temperature": "-300 degC"}, "temperature"),
        ({"torque": "1e9 N·m", "friction": "0.12"}, "torque"),
        ({"insert_wire_strength": "1e9 MPa", "insert_wire_source": "x"}, "insert_wire_strength"),
        # half and twice 8 mm are the furthest that a size of M8 can be from it
        ({"measured_hole_minor": "3.9 mm"}, "measured_hole_minor"),
        ({"measured_screw_major": "79 mm"}, "measured_screw_major"),
    ],
)
def test_an_absurd_size_is_one_sentence(values, key):
    (found,) = faults(**values)
    assert found.startswith(f"{key}: ")


def test_a_bare_number_that_looks_like_diameters_is_asked_about():
    for bare in ("1.5", "2", "1.0"):
        (found,) = faults(insert_length=bare)
        assert f"'{bare} D'" in found and found.startswith("insert_length: ")
    assert case.read({**NEEDED, "insert_length": "1.5 mm"}).insert_length == 1.5
    # 3 mm is 1.5 D of an M2: nothing to ask
    small = case.read({**NEEDED, "thread": "M2", "engagement": "3", "insert_length": "3"})
    assert small.insert_length == 3.0


@pytest.mark.parametrize("unit", ["ft·lbf", "lb-ft", "lbf-ft", "ft lb", "lb.ft", "lbs-ft"])
def test_pounds_and_feet_in_either_order(unit):
    # 16 lbf x 4.4482216 N/lbf x 0.3048 m/ft = 21.693 N·m
    found = case.read({**NEEDED, "torque": f"16 {unit}", "friction": "0.12"})
    assert found.torque == pytest.approx(21.693, abs=5e-4)


NOTEBOOK = {
    **NEEDED, "case_folder": ".", "_thread": "M9",
    "In": ["", "x = 1", "thread = 'M8x1.25'\ncase_folder = '.'"], "Out": {}, "_": "boss_diametre", "_i1": "a",
    "exit": object(), "tr": sys, "Path": Path, "study": object(), "n": 3, "path": "x", "table": 1.0,
}  # fmt: skip


def test_usual_variables_of_a_notebook_are_no_parameters():
    assert case.from_namespace(NOTEBOOK).thread == "M8x1.25"


def test_a_whole_case_from_papermill_takes_nothing_from_the_case_of_the_notebook():
    """As by `-f case.yaml`; by `-p` one parameter of the notebook's own case is another."""
    own = "boss_diameter = '14 mm'\ntorque = '17 N·m'\nfriction = '0.12'"
    said = {**NEEDED, "boss_diameter": "14 mm", "torque": "17 N·m", "friction": "0.12"}
    whole = "# Parameters\n" + "\n".join(f"{key} = {value!r}" for key, value in NEEDED.items())
    found = case.from_namespace({**said, "In": ["", own, whole, "n = 3"]})
    assert found.boss_diameter is None and found.torque is None
    # what a later cell says is said of this case
    found = case.from_namespace({**said, "In": ["", own, whole, "boss_diameter = '14 mm'"]})
    assert found.boss_diameter == 14 and found.torque is None
    for handed in ("# Parameters\nengagement = '13 mm'", "n = 3"):
        found = case.from_namespace({**said, "In": ["", own, handed]})
        assert found.boss_diameter == 14 and found.torque == 17


def test_a_whole_case_from_papermill_names_no_file_of_the_case_of_the_notebook(
    tmp_path, monkeypatch
):
    """Else it is held against pieces of another joint, whose record has the same name."""
    said = {**NEEDED, "pull_tests": "pull_tests.csv", "case_folder": "../reports/pull-tests-demo"}
    own, whole = (
        "\n".join(f"{key} = {said[key]!r}" for key in chosen)
        for chosen in (said, (*NEEDED, "pull_tests"))
    )
    entered = {**said, "In": ["", own, f"# Parameters\n{whole}"]}
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputErrors, match="no file 'pull_tests"):
        case.from_namespace(entered)
    Path("pull_tests.csv").touch()
    assert case.from_namespace(entered).folder == Path()
    named = f"# Parameters\n{whole}\ncase_folder = '..'"
    with pytest.raises(InputErrors, match="no file 'pull_tests"):
        case.from_namespace({**entered, "case_folder": "..", "In": ["", own, named]})
    assert case.from_namespace({**said, "In": ["", own]}).folder != Path()


def test_the_case_of_a_notebook_from_papermill_finds_its_files_beside_it(tmp_path, monkeypatch):
    """As by `-f reports/pull-tests-demo/case.yaml`; with another length it is another case."""
    read = yaml.safe_load(Path("reports/pull-tests-demo/case.yaml").read_text("utf-8"))
    own = "case_folder = '../reports/pull-tests-demo'"
    monkeypatch.chdir(tmp_path)
    for more in ({}, {"engagement": "13 mm"}):
        handed = {**read, **more}
        cell = "# Parameters\n" + "\n".join(f"{key} = 1" for key in handed)
        names = {**handed, "case_folder": "../reports/pull-tests-demo", "In": ["", own, cell]}
        if more:
            with pytest.raises(InputErrors, match="no file 'pull_tests"):
                case.from_namespace(names)
        else:
            assert (case.from_namespace(names).folder / "pull_tests.csv").is_file()


def test_a_file_read_by_papermill_is_the_case_of_the_command():
    """Its reader of YAML makes false of `no`, a number of 17 and a day of 2026-11-25."""
    read = yaml.safe_load(Path("reports/demo-rig-plate/case.yaml").read_text("utf-8"))
    assert read["recurring"] is False
    assert case.read(read) == case.load("reports/demo-rig-plate")
    assert case.read({**NEEDED, "critical": True}).critical == "yes"


@pytest.mark.parametrize(
    ("name", "key"),
    [("boss_diametre", "boss_diameter"), ("designload", "design_load"), ("Torque", "torque")],
)
def test_a_misspelt_parameter_is_refused_as_in_a_file(name, key):
    with pytest.raises(InputErrors) as raised:
        case.from_namespace({**NOTEBOOK, name: "13 mm"})
    (found,) = raised.value.faults
    assert found.startswith(f"{name}: ") and f"did you mean {key!r}?" in found


@pytest.mark.parametrize(
    "cell", ["# joint\nthread = 'M8x1.25'\nwall = '13 mm'\n", "# Parameters\nwall = '13 mm'\n"]
)
def test_whatever_a_cell_of_parameters_assigns_must_be_a_parameter(cell):
    with pytest.raises(InputErrors) as raised:
        case.from_namespace({**NOTEBOOK, "In": ["", cell, "n = 3"], "wall": "13 mm"})
    (found,) = raised.value.faults
    assert found.startswith("wall: ")
    # corrected, and deleted from the running notebook
    assert case.from_namespace({**NOTEBOOK, "In": ["", cell, "n = 3"]})


@pytest.mark.parametrize(
    ("name", "group"),
    [
        ("A384", "cast aluminium"),
        ("ADC13", "cast aluminium"),
        ("AlSi12", "cast aluminium"),
        ("LM9", "cast aluminium"),
        ("413.0", "cast aluminium"),
        ("7020-T6", "wrought aluminium"),
        ("AZ63", "magnesium"),
        ("ZA8", "zinc"),
        ("GG26", "grey iron"),
        ("EN-GJS-600", "ductile iron"),
        ("CuZn39", "copper alloy"),
    ],
)
def test_an_unknown_parent_gets_names_of_its_own_metal(name, group):
    (found,) = faults(parent=name)
    suggested = re.findall(r"'([^']+)'", found.partition("did you mean")[2])
    assert suggested
    assert {materials.parent(each).group for each in suggested} == {group}


def test_the_greatest_factor_is_still_a_factor():
    """No code asks for more than a thousand; a thousand itself is taken."""
    assert case.read({**NEEDED, "design_load": "1 N", "load_factor": "1000"}).load_factor == 1000
    (found,) = faults(design_load="1 N", load_factor="1001")
    assert found.startswith("load_factor: ")


JOINT = {"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm"}


@pytest.mark.parametrize(
    ("entered", "told"),
    [
        ({"hole_kind": "blind", "hole_depth": "0.6 in"}, "an insert of 0.5 in; expected at least "),
        ({"boss_diameter": "0.3in"}, "expected more than 0.3789 in"),
        ({"boss_diameter": "9 mm", "report_units": "inch"}, "expected more than 9.624 mm"),
        ({"engagement": "9e9 in"}, "expected 0.0001 to 393.7007 in"),
        ({"engagement": "1.5", "report_units": "inch"}, "'1.5' without a unit is 1.5 mm, less"),
        ({"temperature": "600 degF"}, "600 degF is outside 50 to 500 degF"),
        ({"temperature": "320 degC"}, "320 degC is outside 10 to 260 degC"),
        ({"temperature": "70 °F", "temperature_min": "100 °F"}, "expected at most 70 degF"),
        ({"insert_length": "0.1 D", "report_units": "inch"}, "expected at least 0.0493 in"),
        ({"design_load": "1e12 lbf"}, "expected 0.0023 to 224808943.1 lbf"),
        ({"parent_tensile_strength": "9e9 psi"}, "expected 0.0002 to 1450.3773 ksi"),
        ({"parent_tensile_strength": "9e9 MPa"}, "expected 0.001 to 10000 MPa"),
        ({"torque": "1e9 ft·lbf"}, "expected 0.01 to 88507457.91 in·lbf"),
        (
            {
                "parent_yield_strength": "60 ksi",
                "parent_tensile_strength": "40 ksi",
                "parent_source": "x",
            },
            "'60 ksi' is above the tensile strength, 40 ksi",
        ),
        ({"boss_diameter": "3 mm ..5. mm 1 in"}, "'3 mm ..5. mm 1 in' is not a length"),
    ],
)
def test_a_fault_is_told_in_the_units_of_the_entry(entered, told):
    with pytest.raises(InputErrors) as raised:
        case.read({**JOINT, "insert_length": "0.5 in", **entered})
    assert told in str(raised.value)


@pytest.mark.parametrize(
    ("key", "entry", "more"),
    [
        ("hole_depth", "0.6 in", {"hole_kind": "blind", "tap": "bottoming"}),
        ("temperature", "-80 °F", {}),
        ("temperature", "600 °F", {}),
        ("engagement_available", "1 in", {"hole_kind": "through", "hole_depth": "20 mm"}),
    ],
)
def test_a_bound_told_in_the_units_of_the_entry_is_kept(key, entry, more):
    given = {**JOINT, "insert_length": "0.5 in", **more}
    with pytest.raises(InputErrors) as raised:
        case.read({**given, key: entry})
    bounds = r"(?:at least|at most|outside) ([-\d.]+)(?: to ([\d.]+))? (in|degF)"
    *ends, unit = re.search(bounds, str(raised.value)).groups()
    for end in filter(None, ends):
        case.read({**given, key: f"{end} {unit}"})
