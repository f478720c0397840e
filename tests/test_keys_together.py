"""Keys that contradict each other are refused, those that say nothing alone are told of."""

import pytest

from thread_repair import case, files
from thread_repair.errors import InputErrors
from thread_repair.report import terminal
from thread_repair.study import study

JOINT = {
    "thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "1.5 D",
}  # fmt: skip
TORQUE = {"torque": "15 Nm", "friction": "0.12"}
LOAD = {"design_load": "5 kN"}
MEAN = {
    "parent_shear_strength": "190 MPa", "parent_source": "TR-7", "parent_strength_scatter": "4 %",
    "parent_strength_basis": "minimum",
}  # fmt: skip


@pytest.mark.parametrize(
    ("alone", "beside"),
    [
        ({"friction": "0.12"}, {"torque": "15 Nm"}),
        ({"insert_friction": "0.12"}, TORQUE),
        ({"bearing_diameter": "11 mm"}, TORQUE),
        ({"tightening_tool": "by-feel"}, TORQUE),
        ({"prevailing_torque": "3 Nm", **TORQUE}, {"insert_kind": "locking"}),
        ({"load_factor": "1.5"}, LOAD),
        ({"yield_factor": "1.2"}, LOAD),
        ({"fitting_factor": "1.15"}, LOAD),
        ({"clamped_material": "EN-GJL-250", **TORQUE}, {"temperature_min": "-20 degC"}),
        ({"load_factor_source": "specification 4"}, LOAD),
        ({"load_scatter": "10 %"}, LOAD),
        ({"load_share": "0.2", **LOAD}, TORQUE),
        ({"separation_factor": "1.2", **TORQUE}, LOAD),
        ({"shim_sizes": "0.5 mm"}, {"tool_set_down": "1.5 mm"}),
        ({"tool_set_down": "1.5 mm"}, {"shim_sizes": "0.5 mm"}),
        ({"parent_source": "TR-7"}, {"parent_shear_strength": "200 MPa"}),
        ({"parent_strength_pieces": "9", **MEAN}, {"parent_strength_basis": "mean"}),
        ({"insert_wire_source": "TR-8"}, {"insert_wire_strength": "1500 MPa"}),
    ],
    ids=lambda each: next(iter(each)),
)
def test_a_key_that_changes_nothing_is_told_of(alone, beside):
    """Alone it changes neither load nor margin, and the answer says so; beside the other not."""
    key = next(iter(alone))
    told = study(case.read({**JOINT, **alone}))
    assert [each.values["key"] for each in told.facts if each.id == "without_effect"] == [key]
    assert {"without_effect"} <= {each.id for each in told.open_points}
    assert f"The entry {key} changes nothing without " in " ".join(terminal.summary(told).split())
    without = study(case.read({**JOINT, **{k: v for k, v in alone.items() if k != key}}))
    assert told.evaluation.states == without.evaluation.states
    assert [each.margin for each in told.margins] == [each.margin for each in without.margins]
    both = study(case.read({**JOINT, **alone, **beside}))
    assert not [each for each in both.facts if each.id == "without_effect"]


def test_every_key_that_needs_another_is_a_key():
    for key, groups in files.data("key_needs.toml").items():
        assert {key, *(each.partition(":")[0] for group in groups for each in group)} <= {
            *case.keys()
        }


@pytest.mark.parametrize(
    ("entered", "told"),
    [
        ({"thread": "M8-6G", "hole_class": "6H"}, "hole_class: '6H' beside 'M8-6G'"),
        ({"thread": "M8-6g", "screw_class": "4h"}, "screw_class: '4h' beside 'M8-6g'"),
        ({"thread": "1/4-20 UNC-3B", "hole_class": "2B"}, "hole_class: '2B' beside"),
        ({"thread": "M8x1.2", "screw": "8.9"}, "screw: unknown screw '8.9'"),
        ({"engagement": "1 1/2"}, "engagement: '1 1/2' has no unit; write '1 1/2 in'"),
        ({"engagement": "1.25"}, "engagement: '1.25' without a unit is 1.25 mm"),
    ],
)
def test_what_cannot_stand_together_is_refused(entered, told):
    with pytest.raises(InputErrors) as raised:
        case.read({**JOINT, **entered})
    assert told in str(raised.value)


def test_the_same_class_twice_is_no_contradiction():
    assert case.read({**JOINT, "thread": "M8-6G", "hole_class": "6G"}).hole_class == "6G"


@pytest.mark.parametrize(
    ("entered", "told"),
    [
        ({"design_load": "8"}, {"read_without_unit"}),
        ({"design_load": "500"}, set()),
        ({"design_load": "500", "report_units": "inch"}, {"read_without_unit"}),
        ({"design_load": "500 lbf", "report_units": "both"}, set()),
        ({"preload": 12.5, "friction": "0.12"}, {"read_without_unit"}),
        ({"torque": 17, "friction": "0.12"}, set()),
        ({"torque": 17, "friction": "0.12", "report_units": "inch"}, {"read_without_unit"}),
        ({"design_load": "8 N"}, set()),
        ({"design_load": 8000}, set()),
        ({"hole_depth": "14 mm"}, {"read_depth_of_through"}),
        ({"hole_depth": "14 mm", "hole_kind": "through"}, set()),
        ({"hole_depth": "20 mm", "hole_kind": "blind", "tap": "bottoming"}, set()),
        ({"engagement": "2.2"}, set()),
    ],
)
def test_what_may_mean_something_else_is_told_on_the_first_page(entered, told):
    found = study(case.read({**JOINT, **entered}))
    assert {each.id for each in found.open_points if each.id.startswith("read_")} == told
    said = " ".join(terminal.summary(found).split())
    assert (" is read as " in said) is bool(told)


@pytest.mark.parametrize("shown", [terminal.summary, terminal.compared])
def test_a_terminal_repeats_the_load_with_its_unit(shown):
    """A load of 120 meant in kN is none that is told of: it has to be seen."""
    found = study(case.read({**JOINT, "design_load": "120"}))
    assert "Axial limit load 0.12 kN" in " ".join(shown(found).split())
