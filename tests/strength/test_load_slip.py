"""Load against travel past yield: the curve of one thread, the chain's limits, both holes of a case."""

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import optimize

import thread_repair as tr
from thread_repair import materials, units, words
from thread_repair.errors import ValidityError
from thread_repair.joint.sharing import joint_load_slip
from thread_repair.report.blocks import review as block
from thread_repair.report.results import results
from thread_repair.strength.sharing.chain import chain_of, solve_slips
from thread_repair.strength.sharing.load_slip import (
    ThreadCurve,
    band_width,
    hardening,
    load_slip,
)

#: Round numbers of an M8 screw in aluminium, ten threads.
BODIES = {
    "length": 12.5, "pitch": 1.25, "screw_area": 36.6, "parent_area": 402.0,
    "screw_modulus": 205e3, "parent_modulus": 70e3,
}  # fmt: skip
CURVE = ThreadCurve(compliance=4.4e-6, plateau=3000.0, exponent=15.0, strain=0.08, band=0.2)
GIVEN = {
    "thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "1.5 D", "boss_diameter": "24 mm", "boss_support": "base",
}  # fmt: skip


def studied(**changes):
    return tr.study(tr.read({**GIVEN, **changes}))


def test_curve_of_one_thread_by_hand():
    """2400 N/mm: 0.01056 mm elastic, sqrt(3) 0.2 x 0.08 x 0.8^15 plastic.

    At half the strain 0.5^(1/15) of the plateau.
    """
    assert CURVE.slip(np.array(2400.0)) == pytest.approx(0.01056 + 0.0277128 * 0.0351844, rel=1e-6)
    assert CURVE.plateau_slip == pytest.approx(0.0132 + 0.0277128, rel=1e-6)
    assert CURVE.slip_at(0.04) == pytest.approx(0.0132 * 0.954842 + 0.0277128 / 2, rel=1e-6)


@pytest.mark.parametrize("exponent", [2.0, 15.0, 60.0])
def test_line_load_is_the_inverse_of_the_slip_and_ends_on_the_plateau(exponent):
    curve = ThreadCurve(compliance=4.4e-6, plateau=3e3, exponent=exponent, strain=0.08, band=0.2)
    load = np.array([0.0, 1.0, 1500.0, 2400.0, 2999.0])
    found, slope = curve.load(curve.slip(load))
    assert_allclose(found, load, atol=1e-8)
    step = 1e-7
    for one, at in zip(slope[1:], load[1:], strict=True):
        behind = float(curve.slip(at)) - step
        root = optimize.brentq(lambda f, s=behind: curve.slip(f) - s, 0, 3e3)
        assert one == pytest.approx((at - root) / step, rel=2e-3)
    beyond, flat = curve.load(curve.plateau_slip * np.array([1.0, 1.5, 9.0]))
    assert np.all(beyond == 3000.0) and np.all(flat == 0.0)


def test_stress_strain_curve_passes_both_points():
    n, strain = hardening(yield_strength=241.0, tensile=290.0, elongation=0.10)
    assert 0.002 * (290 / 241) ** n == pytest.approx(strain) == math.log(1.1)


@pytest.mark.parametrize(
    "values",
    [
        {"yield_strength": 290.0, "tensile": 290.0, "elongation": 0.1},  # no hardening
        {"yield_strength": 240.0, "tensile": 290.0, "elongation": 0.001},  # breaks before 0.2 %
        {"yield_strength": 285.0, "tensile": 290.0, "elongation": 0.1},  # nearly none
    ],
)
def test_what_is_no_such_curve_is_refused(values):
    with pytest.raises(ValidityError, match="no exponent from 2 to 64"):
        hardening(**values)


def test_band_is_that_of_the_table_and_between_its_rows():
    assert band_width(16.0, 0.4) == pytest.approx(0.4 * 0.41)
    assert band_width(64.0, 1.0) < band_width(40.0, 1.0) < band_width(32.0, 1.0)


@pytest.mark.parametrize("boundary", ["compression", "tension"])
@pytest.mark.parametrize("parent_area", [40.0, 402.0])
def test_limits_of_the_curve(boundary, parent_area):
    chain = chain_of(**BODIES | {"parent_area": parent_area}, boundary=boundary)
    found = load_slip(chain, CURVE, rupture_slip=0.4)
    # Small loads: the elastic solution, travel at the joint face.
    one = np.array(1 / CURVE.compliance)
    slip, load = solve_slips(chain, np.array(1.0), lambda s: (one + 0 * s, 0 * s))
    assert found.stiffness == pytest.approx(load / slip[-1 if chain.flipped else 0], rel=1e-6)
    assert_allclose(found.load[:8], found.stiffness * found.travel[:8], rtol=1e-3)
    # Monotone, ever less steep, and the plateau is the line load times the length, never more.
    assert found.travel[0] == found.load[0] == 0
    assert np.all(np.diff(found.travel) > 0) and np.all(np.diff(found.load) >= -1e-9)
    assert np.all(np.diff(np.diff(found.load) / np.diff(found.travel)) < 1e-3 * found.stiffness)
    assert found.plateau == 3000.0 * 12.5 == pytest.approx(found.load[-1], rel=1e-12)
    assert found.load.max() <= found.plateau * (1 + 1e-12)
    before = np.interp(0.98 * found.plateau_travel, found.travel, found.load)
    assert 0.99 < before / found.plateau < 1
    after = found.load[found.travel > found.plateau_travel * 1.02]
    assert_allclose(after, found.plateau, rtol=1e-9)
    # Work is the integral, here by another rule over the travel as a function of the load.
    area = found.load[-1] * found.travel[-1] - np.trapezoid(found.travel, found.load)
    assert found.energy[-1] == pytest.approx(area / 1000, rel=1e-9)


def test_a_rigid_pair_carries_what_its_threads_carry():
    chain = chain_of(**BODIES | {"screw_modulus": np.inf, "parent_modulus": np.inf})
    found = load_slip(chain, CURVE, rupture_slip=0.1)
    assert_allclose(found.load, 12.5 * CURVE.load(found.travel)[0], rtol=1e-9)
    assert found.plateau_travel == pytest.approx(CURVE.plateau_slip, rel=2e-3)  # on the grid


def test_a_thread_that_parts_early_ends_the_curve_below_the_plateau():
    found = load_slip(chain_of(**BODIES), CURVE, rupture_slip=0.02)
    assert found.ductility_travel == found.last_travel == pytest.approx(0.02)
    assert found.plateau_travel == math.inf
    assert found.last_load < 0.9 * found.plateau


def test_small_strains_end_where_the_most_loaded_thread_has_a_tenth():
    found = load_slip(chain_of(**BODIES), CURVE, rupture_slip=0.4)
    # Past its plateau at 8 %: 0.0132 mm elastic and sqrt(3) x 0.2 x 0.1.
    assert found.small_strain_travel == pytest.approx(0.0132 + 0.0346410, rel=1e-3)
    assert found.last_load == pytest.approx(
        np.interp(found.last_travel, found.travel, found.load)
    )  # fmt: skip


@pytest.mark.parametrize("support", ["base", "face"])
@pytest.mark.parametrize("parent", ["6061-T6", "6082-T6", "A380.0-die-cast"])
def test_both_holes_end_on_the_verdict_and_below_the_certified_bound(parent, support):
    study = studied(parent=parent, boss_support=support)
    assert set(study.load_slip.states) == {"original", "repaired"}
    for name, found in study.load_slip.states.items():
        state = study.evaluation.states[name]
        assert found.plateau == pytest.approx(state.mode("parent_thread_strip").capacity)
        assert found.load.max() <= found.plateau * (1 + 1e-12)
        assert found.plateau <= study.brackets[name].upper * (1 + 1e-12)
        assert found.load.max() > 0.9 * study.brackets[name].minimum
        # The sharing model's limit, of the thread at its more loaded end.
        law = study.evaluation.sharing[name].shown.law
        assert found.ductility_travel <= law.rupture_slip * (1 + 1e-9)
    before, after = study.load_slip.states.values()
    assert after.plateau > before.plateau
    # A die casting of little elongation parts before the strains are large.
    end = "parts" if parent == "A380.0-die-cast" else "ends"
    assert {each.id for each in study.load_slip.facts} == {f"load_slip_{end}"}


def test_inch_and_metric_say_the_same():
    one, other = studied(), studied(report_units="inch")
    for name, found in one.load_slip.states.items():
        assert_allclose(found.load, other.load_slip.states[name].load)
    axes, inch = one.plot.load_slip(), other.plot.load_slip()
    assert axes.get_ylabel() == "axial load, kN" and inch.get_ylabel() == "axial load, lbf"
    assert_allclose(inch.lines[0].get_xdata(), np.array(axes.lines[0].get_xdata()) / 25.4)
    said = words.sentence(other.load_slip.facts[0], system="inch")
    assert "in·lbf of work" in said and "mm" not in said
    # 1 J is 8.8507 in·lbf (lbf of 4.4482216 N, inch of 25.4 mm).
    assert units.printed(1.0, "energy", "inch") == pytest.approx(8.850746, rel=1e-6)


@pytest.mark.parametrize(
    ("changes", "fact"),
    [
        ({"parent": "EN-GJL-250"}, "load_slip_not_known"),
        ({"parent": "7475-T7351-plate"}, "load_slip_not_known"),
        ({"parent": "355.0-T6-mould-cut"}, "load_slip_no_curve"),
    ],
)
def test_what_is_not_known_is_said_in_one_sentence(changes, fact):
    study = studied(**changes)
    (said,) = study.load_slip.facts
    assert said.id == fact
    assert study.load_slip.states == {}
    assert results(study, with_chances=False)["load_slip"] == {}
    assert "not assessed" in block.load_slip_passage(study).data


def unlike():
    """Return a parent of each metal, cast or not, with each set of known values."""
    kinds = {}
    for each in map(materials.parent, materials.names("parent")):
        values = (each.yield_, each.shear, each.elongation, each.elastic_modulus, each.poisson)
        known = tuple(map(math.isnan, values))
        kinds.setdefault((each.group, each.casting, known), each.id)
    return kinds.values()


@pytest.mark.slow
def test_every_parent_has_a_curve_or_a_sentence_why_not():
    for name in unlike():
        study = studied(parent=name)
        for state, found in study.load_slip.states.items():
            assert np.all(np.diff(found.load) >= -1e-9 * found.plateau), name
            assert found.load.max() <= found.plateau * (1 + 1e-12), name
            assert found.last_travel < 0.3, (name, state)  # a fraction of a thread's overlap
        assert len(study.load_slip.facts) == (len(study.load_slip.states) or 1)


def test_results_hold_the_curves():
    study = studied()
    told = results(study, with_chances=False)["load_slip"]["repaired"]
    found = study.load_slip.states["repaired"]
    assert told["travel_mm"][-1] == pytest.approx(found.ductility_travel)
    assert len(told["travel_mm"]) == len(told["load_N"]) == 41
    assert told["energy_J"] == pytest.approx(found.last_energy)
    named = {"stiffness_N_per_mm": "stiffness", "plateau_N": "plateau", "last_load_N": "last_load",
             "plateau_travel_mm": "plateau_travel", "band_mm": "band", "exponent": "exponent",
             "small_strain_travel_mm": "small_strain_travel",
             "ductility_travel_mm": "ductility_travel"}  # fmt: skip
    for name, of in named.items():
        assert told[name] == pytest.approx(getattr(found, of)), name


def test_an_evaluation_does_not_wait_for_the_curves():
    study = studied()
    study.conclusion, study.evaluation  # noqa: B018
    assert "load_slip" not in vars(study)


def test_a_parent_without_yield_strength_has_no_curve():
    study = studied()
    joint = replace(study.evaluation.joint, parent_yield=None)
    found = joint_load_slip(replace(study.evaluation, joint=joint))
    assert [each.id for each in found.facts] == ["load_slip_not_known"] and not found.states
