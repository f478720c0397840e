"""What the strength assumes, the sheet and the record ask for: by hand, and fed back."""

import dataclasses
import math

import numpy as np
import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import joint as joints
from thread_repair.errors import ThreadRepairError
from thread_repair.joint.margins import margins
from thread_repair.joint.records import MeasuredDiameters
from thread_repair.joint.sizes import sizes
from thread_repair.report.results import results

M8 = {
    "thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "12 mm",
}  # fmt: skip
BLIND = {**M8, "hole_kind": "blind", "hole_depth": "26 mm"}


def limits(**changes):
    made = cases.sheet(cases.read(changes))
    return {each.id: (each.least, each.most) for each in made.assumed}


@pytest.mark.parametrize(
    ("changes", "least"),
    [
        # coil 12 - 0.75 x 1.25 = 11.0625 from 1.5 x 1.25 = 1.875 below the face
        ({}, 12.9375),
        ({"screw_reach": "16 mm"}, 12.9375),  # longer than it needs to be
        ({"screw_reach": "10 mm"}, 10.0),  # all of it is counted
        # past the lock: 1.875 + (12 - 0.5 x 1.25) / 2 + 2 x 1.25 = 10.0625, less than is counted
        ({"insert_kind": "locking"}, 12.9375),
        ({"insert_kind": "locking", "screw_reach": "10.5 mm"}, 10.5),
    ],
)
def test_the_screw_must_reach_as_far_as_the_strength_counts(changes, least):
    assert limits(**BLIND, **changes)["screw_reach"][0] == pytest.approx(least)


def test_a_blind_hole_limits_the_reach_at_its_other_end_too():
    # Drilled 23.5 for the plug tap, one pitch kept free; or the tang: 0.9375 + 11.0625 - 1.25.
    assert limits(**BLIND)["screw_reach"][1] == pytest.approx(22.25)
    assert limits(**BLIND, screw_reach="10 mm")["screw_reach"][1] == pytest.approx(10.75)
    assert limits(**M8)["screw_reach"][1] is None


@pytest.mark.parametrize(
    ("changes", "least"),
    [
        ({}, 12.9375 + 0.625),  # the far countersink, half a pitch, lies beyond the coil
        ({"part_thickness": "20 mm"}, 12.9375 + 0.625),
        ({"part_thickness": "13 mm"}, 13.0),
        ({"screw_reach": "9 mm"}, 12.0),  # no thinner than the insert is long
    ],
)
def test_the_part_must_be_as_thick_as_the_strength_counts(changes, least):
    assert limits(**M8, **changes)["part_thickness"][0] == pytest.approx(least)
    assert "part_thickness" not in limits(**BLIND)


def test_the_edge_never_has_to_be_farther_than_the_wall_of_the_boss():
    # 1.5 x (8 + 1.299038 x 1.25) = 14.436 mm
    assert limits(**M8)["edge_distance"][0] == pytest.approx(14.436, abs=1e-3)
    boss = limits(**M8, boss_diameter="14 mm")
    assert (boss["edge_distance"][0], boss["boss_diameter"][0]) == (7.0, 14.0)
    assert limits(**M8, boss_diameter="60 mm")["edge_distance"][0] == pytest.approx(
        14.436, abs=1e-3
    )
    assert "boss_diameter" not in limits(**M8)
    # A nearer one that is stated is held against the rule: no part is accepted that its criterion
    # refuses.
    stated = limits(**M8, boss_diameter="14 mm", edge_distance="6.9 mm")
    assert stated["edge_distance"][0] == pytest.approx(14.436, abs=1e-3)
    assert limits(**M8, boss_diameter="14 mm", edge_distance="7 mm")["edge_distance"][0] == 7.0


SIZES = {
    "tolerance_position": "measured", "measured_screw_major": "7.85 mm",
    "measured_screw_pitch": "7.08 mm", "measured_hole_minor": "6.80 mm",
    "measured_hole_pitch": "7.27 mm", "measured_insert_hole_minor": "8.40 mm",
    "measured_insert_hole_pitch": "8.89 mm",
}  # fmt: skip


def test_the_hole_is_accepted_at_the_sizes_the_strength_was_calculated_with():
    usual = limits(**M8)
    # M8-6H: D1 = 8.271 to 8.536 (TD1 0.265), D2 = 8.812 to 8.972 (TD2 0.160); 6g: 7.760, 7.042.
    assert usual["minor_diameter"] == pytest.approx((8.271, 8.536))
    assert usual["pitch_diameter"] == pytest.approx((8.812, 8.972))
    assert usual["screw_major_diameter"][0] == pytest.approx(7.760)
    assert usual["screw_pitch_diameter"][0] == pytest.approx(7.042)
    measured = limits(**M8, **SIZES)
    assert measured["minor_diameter"] == pytest.approx((8.271, 8.40))
    assert measured["pitch_diameter"] == pytest.approx((8.812, 8.89))
    assert measured["screw_major_diameter"][0] == pytest.approx(7.85)
    record = {line.id for line in cases.sheet(cases.read({**M8, **SIZES})).record}
    assert {"pitch_diameter", "screw_major_diameter"} <= record
    mean = limits(**M8, tolerance_position="mean")
    assert mean["minor_diameter"] == pytest.approx((8.271, (8.271 + 8.536) / 2))
    small = {**SIZES, "measured_insert_hole_minor": "8.20 mm"}
    assert limits(**M8, **small)["minor_diameter"] == pytest.approx((8.2, 8.2))


def test_basic_sizes_leave_hole_and_screw_the_limits_of_their_classes():
    """Nothing made to a tolerance has them: a hole of 8.271 mm and no other cannot be drilled."""
    basic = {**M8, "tolerance_position": "basic"}
    assert limits(**basic) == limits(**M8)
    case = cases.read(basic)
    assert "basic-sizes" in {each["id"] for each in cases.sheet(case).cautions}
    assert "basic-sizes" not in {each["id"] for each in cases.sheet(cases.read(M8)).cautions}


@pytest.mark.parametrize("position", ["basic", "mean"])
def test_sizes_that_a_part_need_not_have_are_an_open_point(position):
    """Nothing limits the outside of the insert, so that mean sizes promise too much as well."""
    found, least = (
        tr.study(cases.read({**M8, "tolerance_position": each}))
        for each in (position, "minimum-material")
    )
    [said] = [each for each in found.open_points if each.id == f"open_{position}_sizes"]
    assert said.values["repaired"].value == least.evaluation.repaired.pull_out
    assert said.values[position].value == found.evaluation.repaired.pull_out
    assert said.values["repaired"].value < said.values[position].value
    assert not {"open_basic_sizes", "open_mean_sizes"} & {each.id for each in least.open_points}


def test_the_torque_of_the_margins_is_the_torque_of_the_record():
    tight = {**M8, "torque": "17 N·m", "friction": "0.12"}
    assert limits(**tight)["tightening_torque"] == (17, 17)
    assert "tightening_torque" not in limits(**M8)


def test_the_class_sees_to_a_diameter_only_where_its_limit_is_counted():
    """The minor diameter is measured in either case; at mean sizes nothing is that of a class."""
    for position, seen_to in (
        ("minimum-material", {"pitch_diameter", "screw_major_diameter", "screw_pitch_diameter"}),
        ("mean", set()),
    ):
        made = cases.sheet(cases.read({**M8, "tolerance_position": position}))
        assert {each.id for each in made.assumed if each.by_class} == seen_to


@pytest.mark.parametrize("old", ["no", "yes"])
@pytest.mark.parametrize("rule", ["standard", "flush"])
def test_a_hole_is_countersunk_no_deeper_than_the_strength_counts(old, rule):
    """Half a pitch at either face; the countersink of an old hole is as somebody else made it."""
    case = cases.read({**M8, "old_insert": old, "set_down_rule": rule, "part_thickness": "12 mm"})
    made, joint = cases.sheet(case), cases.joint(case)
    (limit,) = (each for each in made.assumed if each.id == "countersink_depth")
    assert (limit.least, limit.most) == (None, joint.countersink_depth) == (None, 0.625)
    assert limit in {each for step in made.steps for each in step.limits}
    assert limit in [line.values.get("limit") for line in made.record]
    deeper = dataclasses.replace(joint, countersink_depth=limit.most + 0.2)
    full, less = (joints.evaluate(each).repaired.engagement for each in (joint, deeper))
    # Flush, the near countersink takes turns of the coil; else the far one cuts them.
    assert math.isclose(less, full - 0.2)


@pytest.mark.parametrize(
    "changes", [BLIND, M8, {**M8, "boss_diameter": "14 mm"}, {**BLIND, "old_insert": "yes"}]
)
def test_every_assumption_is_in_the_record_in_a_step_and_in_the_results(changes):
    case = cases.read({**changes, "torque": "17 N·m", "friction": "0.12"})
    made = cases.sheet(case)
    record = {line.id: line.values.get("limit") for line in made.record}
    steps = {limit for step in made.steps for limit in step.limits}
    found = results(case, with_chances=False)["workshop"]
    listed = {each["id"]: each for each in found["limits"]}
    assert set(listed) == {each.id for each in made.assumed}
    for each in made.assumed:
        assert listed[each.id]["bears_on"] == each.bears_on
        # What the class of a thread sees to is in the record as the class and its gauges.
        assert each.by_class or record[each.id] == each
        unit = "Nm" if each.dimension == "torque" else "mm"
        for end, value in (("min", each.least), ("max", each.most)):
            assert listed[each.id][end] == (None if value is None else pytest.approx(value))
            if value is not None:
                assert found[f"{each.id}_{end}_{unit}"] == pytest.approx(value)
        # Tightening has a section of its own, and the pitch diameter is that of two gauges.
        if each.id not in ("tightening_torque", "pitch_diameter"):
            assert each in steps
    for key in ("screw_reach_min_mm", "part_thickness_min_mm", "boss_diameter_min_mm",
                "edge_distance_min_mm"):  # fmt: skip
        assert key in found


# ------------------------------------------------------------------------------------- fed back


def random_case(rng):
    thread, screw = [
        ("M8x1.25", "8.8"), ("M10x1.5", "12.9"), ("M5x0.8", "10.9"), ("M16x1.5", "8.8"),
        ("1/4-20 UNC", "J429-5"), ("3/8-24 UNF", "J429-8"), ("3/8 BSF", "8.8"),
    ][rng.integers(7)]  # fmt: skip
    major = tr.thread(thread).major
    length = major * rng.choice([1, 1.5, 2, 2.5, 3])
    case = {
        "thread": thread, "screw": screw, "insert_length": f"{length} mm",
        "parent": str(rng.choice(["6061-T6", "AZ91D", "2024-T351", "6082-T6"])),
        "engagement": f"{major * rng.uniform(0.8, 2)} mm",
        "insert_kind": str(rng.choice(["free-running", "locking"])),
        "set_down_rule": str(rng.choice(["standard", "quarter-to-half-turn", "flush"])),
        "design_load": f"{rng.uniform(1, 9)} kN", "load_factor": "1.5",
    }  # fmt: skip
    if rng.random() < 0.5:
        case |= {"hole_kind": "blind", "hole_depth": f"{length + 8 * major} mm"}
    elif rng.random() < 0.7:
        case["part_thickness"] = f"{length * rng.uniform(1, 1.4)} mm"
    if rng.random() < 0.6:
        case["screw_reach"] = f"{length * rng.uniform(0.8, 1.6)} mm"
    if rng.random() < 0.5:
        case["boss_diameter"] = f"{major * rng.uniform(1.9, 4)} mm"
        case["boss_support"] = str(rng.choice(["base", "face", "unknown"]))
    if rng.random() < 0.5:
        case |= {"torque": f"{rng.uniform(0.5, 1) * major**3 / 40} N·m", "friction": "0.10 to 0.16"}
    return case


def worst(joint, made, *, alone):
    """Yield the joint with all limits of the sheet at their worst ends, and with one at a time."""
    limit = {each.id: each for each in made.assumed}
    at = sizes(joint, "repaired")
    ends = {
        "screw_reach": [{"screw_reach": limit["screw_reach"].least}],
        "set_down": [
            {"set_down_min": end, "set_down_max": end}
            for end in (limit["set_down"].least, limit["set_down"].most)
        ],
        "sizes": [
            {
                "tolerance_position": "measured",
                "measured": MeasuredDiameters(
                    screw_major=limit["screw_major_diameter"].least,
                    screw_pitch=limit["screw_pitch_diameter"].least,
                    hole_minor=at.inner_minor,
                    hole_pitch=at.inner_pitch,
                    insert_hole_minor=limit["minor_diameter"].most,
                    insert_hole_pitch=limit["pitch_diameter"].most,
                ),
            }
        ],
    }
    for name in ("part_thickness", "boss_diameter"):
        if name in limit:
            ends[name] = [{name: limit[name].least}]
    if "boss_diameter" not in limit:
        ends["edge_distance"] = [
            {"boss_diameter": 2 * limit["edge_distance"].least, "boss_support": "face"}
        ]
    together = {key: end for changes in ends.values() for key, end in changes[-1].items()}
    for down in ends["set_down"]:
        yield "all", dataclasses.replace(joint, **{**together, **down})
    if alone:
        for name, changes in ends.items():
            for change in changes:
                yield name, dataclasses.replace(joint, **change)


@pytest.mark.slow
def test_a_part_at_the_worst_end_of_any_limit_is_as_strong_as_the_report_says():
    rng = np.random.default_rng(20261126)
    tried = 0
    while tried < 30:
        try:
            case = cases.read(random_case(rng))
            found = tr.evaluate(case)
        except ThreadRepairError:
            continue
        tried += 1
        stated = {
            (m.mode, m.load_case, m.against): m.margin
            for m in margins(found, cases.load_cases(case))
            if m.state == "repaired"
        }
        for name, joint in worst(found.joint, cases.sheet(case), alone=tried <= 5):
            again = joints.evaluate(joint)
            about = f"{name} of {case.entered}"
            assert again.repaired.pull_out >= found.repaired.pull_out * (1 - 1e-9), about
            assert again.repaired.strength >= found.repaired.strength * (1 - 1e-9), about
            for m in margins(again, cases.load_cases(case)):
                # A wall that was taken as thick has no margin of its own.
                if m.state == "repaired" and (m.mode, m.load_case, m.against) in stated:
                    least = stated[m.mode, m.load_case, m.against]
                    assert m.margin >= least - 1e-9 * (1 + abs(least)), about


@pytest.mark.parametrize("quantity", ["screw_reach", "part_thickness"])
def test_a_part_beyond_the_limit_is_weaker(quantity):
    """The limits are not only enough but needed: a millimetre less counts a millimetre less."""
    joint = cases.joint(cases.read({**M8, "screw_reach": "14 mm"}))
    least = limits(**M8, screw_reach="14 mm")[quantity][0]
    full = joints.evaluate(joint).repaired.engagement
    beyond = joints.evaluate(dataclasses.replace(joint, **{quantity: least - 1})).repaired
    assert math.isclose(beyond.engagement, full - 1)
