"""The case file: understood, defaulted, and refused with every fault in one go."""

import pytest

from thread_repair import case
from thread_repair.case import starter
from thread_repair.errors import InputError, InputErrors

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
    assert found["engagement"] == "12.7 mm"
    assert found["design_load"] == "9000 N"


def test_class_of_the_designation_counts():
    joint = case.joint(case.read({**NEEDED, "thread": "M8x1.25-5H"}))
    assert (joint.hole_class, joint.screw_class, joint.insert_hole_class) == ("5H", "6g", "5H")


def test_unknown_key_names_the_nearest():
    assert faults(engagment="9 mm") == ("unknown key 'engagment'; did you mean 'engagement'?",)


def test_every_fault_in_one_go():
    found = faults(engagement="12 kg", tolerance_position="worst", load_factor="-1", colour="red")
    assert {text.split(":")[0].split(" '")[0] for text in found} == {
        "unknown key", "engagement", "tolerance_position", "load_factor",
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
        ({"tolerance_position": "measured"}, "measured_screw_major: missing"),
        ({"casting_factor": "1.5"}, "casting_factor"),
        ({"hole_class": "9Z"}, "hole_class"),
        ({"insert_wire": "gold"}, "insert_wire"),
        ({"set_down_rule": "deep"}, "set_down_rule"),
        ({"status": "Draft?"}, "status: 'Draft?' is not one of draft, final"),
        ({"parent": "steel"}, "parent: unknown parent 'steel'; 'thread-repair list parents' shows"),
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
        ("thread: 'M8\n", "not YAML"),
        ("!!python/object/apply:os.system ['true']\n", "key: value"),
        ("a: " + "[" * 5000, "line 1: expected 'key: value' on one level"),
        ("[" * 5000, "on one level"),
        ("? [a, b]\n: c\n", "on one level"),
    ],
)
def test_files_that_are_no_case(tmp_path, text, says):
    file = tmp_path / "case.yaml"
    file.write_text(text)
    with pytest.raises(InputError, match=says):
        case.load(file)


def test_a_word_that_is_no_choice_gets_the_choices_once():
    (found,) = faults(report_units="metric")
    assert found == "report_units: 'metric' is not one of SI, inch, both"
    (found,) = faults(insert_kind="lock")
    assert found.endswith("is not one of free-running, locking; did you mean 'locking'?")


def test_a_folder_without_a_case_is_not_called_missing(tmp_path):
    with pytest.raises(InputError, match=r"case\.yaml' cannot be read"):
        case.load(tmp_path)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(InputError, match="cannot be read: No such file"):
        case.load(tmp_path / "none.yaml")


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
    assert all(f"{key}:" in text for key in case.keys())  # noqa: SIM118 - a function
    with pytest.raises(InputError, match="exists already"):
        starter.write(tmp_path)
