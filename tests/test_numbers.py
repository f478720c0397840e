"""Every formula alike: a number gives a float, arrays broadcast, nonsense is refused by name."""

import dataclasses
import itertools
import math

import numpy as np
import pytest

import thread_repair as tr
from tests.calls import demo
from thread_repair import inserts
from thread_repair.arrays import fraction
from thread_repair.errors import InputError
from thread_repair.joint import sizes
from thread_repair.joint.criterion import edge_distance
from thread_repair.materials.designations import parent
from thread_repair.materials.parents import shear_strength, with_measured
from thread_repair.materials.screws import screw
from thread_repair.materials.temperature import at_temperature
from thread_repair.strength import areas, modes, overlap, strip
from thread_repair.strength.collapse import wall_factor as wall_factors
from thread_repair.strength.collapse.wall_factor import wall_factor
from thread_repair.strength.methods import asme_b18_29_2m, factored
from thread_repair.strength.sharing.chain import chain_of
from thread_repair.strength.sharing.compliance import line_compliance, thread_compliance
from thread_repair.strength.sharing.distribution import elastic_sharing, end_intensity, share
from thread_repair.threads import internal_tolerances, thread
from thread_repair.tightening import service, torque_preload
from thread_repair.uncertainty.pull_tests import planning, tolerance, update
from thread_repair.uncertainty.reliability import distributions
from thread_repair.workshop import hole
from thread_repair.workshop.choice import wire_choice

M8, CAST = thread("M8"), parent("EN-AC-42100-T6")
JOINT = tr.study(demo()).evaluation.joint
PRIOR = update.Lognormal(median=200.0, log_sd=0.04)
SCREW = torque_preload.ScrewShape(
    pitch=1.25, pitch_diameter=7.188, minor_diameter=6.466, bearing_diameter=11.0, major=8.0
)
BODIES = {"length": 8.0, "pitch": 1.25, "screw_area": 36.6, "parent_area": 200.0}
MODULI = {"screw_modulus": 205e3, "parent_modulus": 70e3}


def friction(least, most, error, torque_nm, **of):
    ends = {"thread_friction": (least, most), "head_friction": (least, most)}
    return service.tighten(SCREW, torque_nm=torque_nm, error=error, **ends, **of)


def checked_against_table(parent_shear, **of):
    found = asme_b18_29_2m.length_check(parent_shear, "8.8", **of)
    return found.needed_diameters, found.hidden_factor


def shared(compliance, **of):
    found = elastic_sharing(chain_of(**of), compliance)
    return found.ductility_demand, found.length_parameter


def state(**of):
    found = share(
        major=8.0, screw_poisson=0.3, parent_poisson=0.33, shear_area=130.0,
        parent_shear_strength=190.0, parent_yield=240.0, pitch=1.25, length=8.0, **of,
    )  # fmt: skip
    return found.ductility_capacity, found.useful_length


#: Functions of numbers alone, and one number that is right for each of what they take.
FORMULAS = {
    "fitted_length": (lambda length: inserts.fitted_length(M8, length), {"length": 12.0}),
    "full_thread_min": (lambda length: inserts.full_thread_min(M8, length), {"length": 12.0}),
    "drill_depth": (lambda length: inserts.drill_depth(M8, length, "plug"), {"length": 12.0}),
    "shear_strength": (
        lambda casting_factor: shear_strength(CAST, casting_factor=casting_factor),
        {"casting_factor": 0.8},
    ),
    "at_temperature": (
        lambda temperature: dataclasses.replace(at_temperature(CAST, temperature), heat={}),
        {"temperature": 20.0},
    ),
    "tan_half_angle": (areas.tan_half_angle, {"flank_angle": 60.0}),
    "strip_area_internal": (
        areas.strip_area_internal,
        {"length": 8.0, "pitch": 1.25, "screw_major": 7.76, "hole_pitch_diameter": 7.348},
    ),
    "strip_area_external": (
        areas.strip_area_external,
        {"length": 8.0, "pitch": 1.25, "hole_minor": 6.912, "screw_pitch_diameter": 7.042},
    ),
    "bearing_area": (
        overlap.bearing_area,
        {"length": 8.0, "pitch": 1.25, "crest": 7.76, "hole_minor": 6.912},
    ),
    "bearing_stress": (
        overlap.bearing_stress, {"shear_strength": 100.0, "tan_half_angle": 0.577},
    ),
    "overlap_factor": (overlap.overlap_factor, {"ratio": 1.1}),
    "bending_factor": (lambda ratio: factored.bending_factor(ratio, "parent"), {"ratio": 0.8}),
    "dilation_factor": (factored.dilation_factor, {"boss_diameter": 14.0, "hole_major": 8.0}),
    "effective_length": (factored.effective_length, {"length": 8.0, "pitch": 1.25}),
    "bearing_ratio": (
        overlap.bearing_ratio,
        {"pitch": 1.25, "crest": 7.76, "hole_minor": 6.912, "hole_pitch_diameter": 7.348, "tan_half_angle": 0.577},
    ),
    "wall_factor": (
        lambda boss, length: wall_factor(boss, "base", "original", engagement_over_major=length),
        {"boss": 1.7, "length": 1.1},
    ),
    "length_check": (
        checked_against_table,
        {"parent_shear": 186.0, "needed_length": 9.0, "major_basic": 8.0, "pitch": 1.25},
    ),
    "boss_wall_load": (
        modes.boss_wall_load,
        {"boss_diameter": 14.0, "hole_major": 8.0, "length": 8.0, "flow_stress": 200.0, "tangent": 0.6},
    ),
    "thread_compliance": (
        lambda **of: thread_compliance(side="parent", **of),
        {"pitch": 1.25, "pitch_diameter": 7.2, "poisson": 0.3, "outer_diameter": 20.0},
    ),
    "line_compliance": (
        line_compliance,
        {"kappa": 3.0, "modulus": 205e3, "pitch": 1.25, "pitch_diameter": 7.2},
    ),
    "elastic_sharing": (shared, {"compliance": 2e-6, **BODIES, **MODULI}),
    "share": (state, {"boss_diameter": 20.0, "parent_elongation": 0.1, **MODULI}),
    "end_intensity": (end_intensity, {"x": 1.5, "end_share": 0.7}),
    "edge_distance": (edge_distance, {"distance": 9.0, "hole_major": 9.6}),
    "lever": (SCREW.lever, {"in_thread": 0.12, "under_head": 0.1}),
    "stress": (SCREW.stress, {"load": 1e4, "twist_nm": 10.0}),
    "yield_preload": (
        SCREW.yield_preload, {"yield_strength": 600.0, "friction": 0.12, "prevailing_nm": 3.0},
    ),
    "nut_factor": (torque_preload.nut_factor, {"coefficient": 1.4, "major": 8.0}),
    "torque": (torque_preload.torque, {"preload": 1e4, "coefficient": 1.4, "prevailing_nm": 3.0}),
    "preload": (
        torque_preload.preload, {"torque_nm": 25.0, "coefficient": 1.4, "prevailing_nm": 3.0},
    ),
    "tighten": (friction, {"least": 0.1, "most": 0.14, "error": 0.2, "torque_nm": 25.0}),
    "thermal_preload": (
        service.thermal_preload,
        {
            "stiffness": 3e5, "length": 20.0, "temperature_change": 50.0,
            "screw_expansion": 1.2e-5, "joint_expansion": 2.3e-5,
        },
    ),
    "k_factor": (
        lambda n: tolerance.k_factor(n, coverage=0.99, confidence=0.95), {"n": 10.0},
    ),
}  # fmt: skip
EACH = [(name, key) for name, (_, right) in FORMULAS.items() for key in right]
#: What may be infinite, and mean a rigid or unbounded body.
UNBOUNDED = {"screw_modulus", "parent_modulus", "outer_diameter"}


#: Functions of one number, not of arrays.
ONE = {
    "nominal_length": lambda x: inserts.nominal_length(M8, x),
    "least_reach": lambda x: inserts.least_reach(M8, 12.0, "locking", x),
    "at_diameter": lambda x: internal_tolerances(M8, "6H", at_diameter=x),
    "screw": lambda x: screw("8.8", x),
    "measured": lambda x: with_measured(CAST, document="TR-7", tensile=x),
    "face_bearing": wall_factors.face_bearing,
    "stress_area": lambda x: torque_preload.screw_shape(M8, x),
    "coverage": lambda x: tolerance.k_factor(10, coverage=x, confidence=0.95),
    "strength": lambda x: distributions.strength(x, basis="A", cov=0.04),
    "cov": lambda x: distributions.strength(186, basis="A", cov=x),
    "low": lambda x: distributions.uniform(x, 8.0),
    "scatter": lambda x: update.update_shear_strength([25e3], 120, prior=PRIOR, scatter=x),
}


@pytest.mark.parametrize("name", ONE)
@pytest.mark.parametrize("nonsense", ["abc", math.inf, -math.inf, 1j, b"1", ["a", "b"]])
def test_what_is_not_one_number_is_refused_in_a_sentence(name, nonsense):
    with pytest.raises(InputError, match=r"must (be|lie)"):
        ONE[name](nonsense)


@pytest.mark.parametrize(
    "name", ["nominal_length", "at_diameter", "screw", "measured", "stress_area", "coverage", "cov"]
)
@pytest.mark.parametrize("several", [[], [0.5, 0.7]])
def test_several_numbers_are_not_one(name, several):
    with pytest.raises(InputError, match=f"must be one number, got an array of {len(several)}"):
        ONE[name](several)


def numbers(found):
    """The numbers of a result, however it holds them."""
    if dataclasses.is_dataclass(found):
        found = [getattr(found, each.name) for each in dataclasses.fields(found)]
    if isinstance(found, (tuple, list)):
        return [number for each in found for number in numbers(each)]
    return [found] if isinstance(found, (float, np.ndarray)) else []


@pytest.mark.parametrize(("name", "key"), EACH)
def test_a_result_has_the_shape_of_what_it_is_worked_out_from(name, key):
    formula, right = FORMULAS[name]
    one, value = numbers(formula(**right)), right[key]
    assert one and all(isinstance(each, float) for each in one)
    for given in (np.array(value), [value], [[value, value * 1.001]], np.full((2, 1), value), []):
        before = np.array(given, copy=True)
        for each, alone in zip(numbers(formula(**right | {key: given})), one, strict=True):
            assert np.shape(each) in ((), np.shape(given)) and not (
                isinstance(each, np.ndarray) and np.shares_memory(each, given)
            )
            if np.size(given):
                np.testing.assert_allclose(np.ravel(each)[0], alone, rtol=1e-14)
        np.testing.assert_array_equal(given, before)


@pytest.mark.parametrize(("name", "key"), EACH)
@pytest.mark.parametrize(
    "nonsense",
    ["abc", "12", [[1], [1, 2]], object(), 1j, 10**400, math.inf, -math.inf, np.datetime64("2020"), None,
     np.ma.masked_array([1.0], [True])],
    ids=lambda each: type(each).__name__ + str(each)[:4],
)  # fmt: skip
def test_what_is_no_number_is_refused(name, key, nonsense):
    formula, right = FORMULAS[name]
    meant = nonsense is None and key == "boss_diameter" and name == "share"
    if meant or (nonsense == math.inf and key in UNBOUNDED):
        return
    with pytest.raises(InputError, match=r"must be|give either"):
        formula(**right | {key: nonsense})


@pytest.mark.parametrize(
    ("name", "two"),
    [
        (name, two)
        for name, (_, right) in FORMULAS.items()
        if name not in ("length_check", "share", "tighten")
        for two in itertools.combinations(right, 2)
        if two[1] != "outer_diameter"
    ],
)
def test_arrays_that_do_not_broadcast_are_named_with_their_shapes(name, two):
    formula, right = FORMULAS[name]
    unlike = {key: [right[key]] * size for size, key in enumerate(two, start=2)}
    with pytest.raises(InputError, match=r"the inputs do not broadcast: .*\([23],\).*\([23],\)"):
        formula(**right | unlike)


@pytest.mark.parametrize("given", [math.nan, [math.nan, math.nan]])
def test_what_no_source_gives_passes_without_a_warning(given):
    formula, right = FORMULAS["elastic_sharing"]
    assert all(np.isnan(each).all() for each in numbers(formula(**right | {"length": given})))


def test_what_no_curve_counts_for_gives_no_warning():
    assert factored.bending_factor([1e300, 0.8], "parent").tolist() == [
        0.897, factored.bending_factor(0.8, "parent"),
    ]  # fmt: skip


@pytest.mark.parametrize(("ratio", "cov"), [(2.0, 0.02), (5.0, 0.05), (1.1, 0.02)])
def test_pieces_that_are_enough_by_far_have_a_power(ratio, cov):
    """SciPy's noncentral t distribution gives NaN for some noncentralities beyond 36."""
    assert 0.8 <= planning.pieces_for_ratio(expected=ratio, cov=cov).power <= 1


PLANNED = {"requirement": 1, "mean": 2, "cov": 0.1, "coverage": 0.9}


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: with_measured(CAST, document="TR-7", tensile=math.nan), "strength must be above"),
        (lambda: with_measured(CAST, document="TR-7", tensile=200, temperature=math.inf), "finite"),
        (lambda: planning.pieces_for_ratio(expected=1.1, cov=math.nan), "cov must be above zero"),
        (lambda: planning.pieces_for_bound(requirement=1, mean=math.nan, cov=0.1, coverage=0.9), "mean"),
        (lambda: planning.pieces_for_bound(**PLANNED, confidence=95), "confidence must"),
        (lambda: planning.pieces_for_bound(**PLANNED, power=80), "power must"),
        (lambda: torque_preload.screw_shape(M8, -36.6), "stress_area must be above zero, got -36.6"),
        (lambda: end_intensity(0), "x must be above zero, got 0"),
        (lambda: FORMULAS["length_check"][0](186, needed_length=0, major_basic=8, pitch=1), "needed_length must be above zero, got 0"),
        (lambda: fraction(coverage="most"), "coverage must be a number"),
        (lambda: torque_preload.preload([8, 1], coefficient=1, prevailing_nm=[8, 2]), "1 N·m against 2"),
        (lambda: thread_compliance(side="screw", pitch=1, pitch_diameter=7, poisson=0.6), "got 0.6"),
        (lambda: torque_preload.screw_shape(M8, 36.6, 0.0), "bearing_diameter must be above zero, got 0"),
        (lambda: friction(0.1, 0.14, [0.1, 0.2], [10, 20, 30]), r"do not broadcast: error \(2,\), torque_nm \(3,\)"),
        (lambda: friction(0.1, 0.14, 0.1, None, preload=0.0), "preload must be above zero, got 0"),
        (lambda: update.update_shear_strength([25e3], 120, prior=PRIOR, screw_broke=["no"]), "true or false"),
        (lambda: modes.boss_wall_load([20, 9, 30], [9.6, 9, 10], 8, 265, 0.577), "got 9 mm with 9 mm at index 1"),
        (lambda: sizes.mode_inputs(JOINT, "repaired", np.ma.masked_array([8.0], [True])), "length must be a number"),
        (lambda: sizes.mode_inputs(JOINT, "repaired", "12"), "length must be a number"),
        (lambda: inserts.least_reach(M8, 12.0, "Locking", 1.9), "did you mean 'locking'"),
        (lambda: wall_factors.wall_coefficient("bottom"), "support 'bottom'"),
        (lambda: sizes.sizes(JOINT, "original", position="maximum"), "tolerance position 'maximum'"),
        (lambda: hole.tap_route("blind", "wood"), "no tap route for a blind hole in wood"),
        (lambda: wire_choice(temperature=20, magnetic="nonmagnetic", environment="dry"), "did you mean 'non-magnetic'"),
    ],
)  # fmt: skip
def test_an_error_names_the_value_at_fault(call, said):
    with pytest.raises(InputError, match=said):
        call()


def test_a_hole_does_not_follow_the_array_it_was_made_from():
    length = np.array([8.0, 12.0])
    names = [field.name for field in dataclasses.fields(strip.StripInputs)]
    required = names[2 : names.index("boss_diameter")]
    hole = strip.StripInputs(state="original", length=length, **dict.fromkeys(required, 8.0))
    length[:] = 1.0
    assert hole.length.tolist() == [8.0, 12.0]
