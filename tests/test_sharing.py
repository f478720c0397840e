"""Load sharing: the discrete solver against closed forms, its limits, and its refusals."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from thread_repair import tables
from thread_repair.errors import GeometryError, InputError
from thread_repair.strength.sharing.chain import BOUNDARIES, chain_of
from thread_repair.strength.sharing.compliance import thread_compliance
from thread_repair.strength.sharing.distribution import (
    ToothLaw,
    elastic_sharing,
    end_intensity,
    share,
    strip_load,
    useful_length,
)

#: An M8 steel screw in an aluminium block; round numbers.
BODIES = {
    "screw_area": 36.6,
    "parent_area": 402.0,
    "screw_modulus": 205e3,
    "parent_modulus": 70e3,
}
JOINT = {"length": 12.5, "pitch": 1.25, **BODIES}
COMPLIANCE = 4.4e-6


def elastic(*, tooth_compliance, **joint):
    return elastic_sharing(chain_of(**joint), tooth_compliance)


def strip(law, **joint):
    return strip_load(chain_of(**joint), law)


def first_yield(law, **joint):
    """Load at which the first thread yields: that at which it would part if it were brittle."""
    brittle = replace(law, ultimate_load=law.yield_load, rupture_slip=law.yield_slip)
    return strip(brittle, **joint)


def remaining_load(depth, x, end_share):
    """Part of the load left in the screw at a depth over the length, by the same theory."""
    a = end_share
    return (1 - a) + (a * np.sinh((1 - depth) * x) - (1 - a) * np.sinh(depth * x)) / np.sinh(x)


def parameters(bodies, compliance=COMPLIANCE):
    """Length scale lambda and the parent's part eta of the strain."""
    screw = 1 / (bodies["screw_area"] * bodies["screw_modulus"])
    parent = 1 / (bodies["parent_area"] * bodies["parent_modulus"])
    return np.sqrt((screw + parent) / compliance), parent / (screw + parent)


def law(**changes):
    values = {
        "compliance": COMPLIANCE,
        "yield_load": 2000.0,
        "ultimate_load": 3000.0,
        "rupture_slip": 0.08,
        **changes,
    }
    return ToothLaw(**values)


def m8(**changes):
    values = {
        "major": 8.0,
        "pitch": 1.25,
        "length": 12.0,
        "screw_modulus": 205e3,
        "screw_poisson": 0.3,
        "parent_modulus": 68.3e3,
        "parent_poisson": 0.33,
        "parent_shear_strength": 186.2,
        "parent_yield": 241.0,
        "parent_elongation": 0.10,
        "shear_area": 202.0,
        "boss_diameter": 24.0,
        **changes,
    }
    return share(**values)


@pytest.mark.parametrize("length", [1.25, 5.0, 12.5, 40.0])
@pytest.mark.parametrize("parent_area", [60.0, 402.0])
def test_solver_agrees_with_the_closed_form_for_both_supports(length, parent_area):
    bodies = BODIES | {"parent_area": parent_area}
    lam, eta = parameters(bodies)
    for boundary, far in (("compression", 0.0), ("tension", eta)):
        found = elastic(
            length=length,
            pitch=1.25,
            **bodies,
            boundary=boundary,
            tooth_compliance=COMPLIANCE,
            segments_per_pitch=32,
        )
        x = lam * length
        assert_allclose(found.length_parameter, x)
        assert_allclose(found.face_over_mean, end_intensity(x, 1 - far), rtol=1e-4)
        assert_allclose(found.far_over_mean, end_intensity(x, far), rtol=1e-4)
        assert_allclose(
            found.first_thread_share, 1 - remaining_load(1.25 / length, x, 1 - far), rtol=1e-4
        )


def test_error_of_the_solver_falls_with_the_square_of_the_segment():
    exact = end_intensity(parameters(BODIES)[0] * 12.5)
    errors = [
        abs(
            elastic(**JOINT, tooth_compliance=COMPLIANCE, segments_per_pitch=n).peak_over_mean
            - exact
        )
        for n in (2, 4, 8)
    ]
    assert_allclose(np.divide(errors[:-1], errors[1:]), 4, rtol=0.05)
    assert errors[1] < 1e-3 * exact  # the default


@pytest.mark.parametrize("boundary", BOUNDARIES)
@pytest.mark.parametrize("length", [0.7, 1.25, 11.3, 12.5])
def test_thread_loads_add_up_to_the_whole(boundary, length):
    found = elastic(**JOINT | {"length": length}, tooth_compliance=COMPLIANCE, boundary=boundary)
    assert found.loads.shape == (int(np.ceil(length / 1.25)),)
    assert np.all(found.loads > 0)
    assert_allclose(found.loads.sum(), 1, rtol=1e-12)


def test_a_rigid_parent_makes_both_supports_the_same():
    both = [
        elastic(
            **JOINT | {"parent_modulus": np.inf}, boundary=boundary, tooth_compliance=COMPLIANCE
        )
        for boundary in BOUNDARIES
    ]
    assert_allclose(both[0].loads, both[1].loads, rtol=1e-12)
    assert both[0].first_thread_share > both[0].loads[1]


def test_a_rigid_screw_held_at_the_far_end_loads_the_last_thread_most():
    stiff_screw = elastic(
        **JOINT | {"screw_modulus": np.inf}, boundary="tension", tooth_compliance=COMPLIANCE
    )
    assert np.all(np.diff(stiff_screw.loads) > 0)
    # Screw and parent change places: the mirror image of a rigid parent.
    swapped = JOINT | {"screw_area": 402.0, "screw_modulus": 70e3, "parent_modulus": np.inf}
    mirror = elastic(**swapped, boundary="tension", tooth_compliance=COMPLIANCE)
    assert_allclose(stiff_screw.loads, mirror.loads[::-1], rtol=1e-12)
    # Pressed on its face the parent alone still concentrates the load at the face.
    nut = elastic(**JOINT | {"screw_modulus": np.inf}, tooth_compliance=COMPLIANCE)
    assert_allclose(nut.loads, mirror.loads, rtol=1e-12)


@pytest.mark.parametrize("boundary", BOUNDARIES)
def test_two_rigid_bodies_share_the_load_evenly(boundary):
    found = elastic(
        **JOINT | {"screw_modulus": np.inf, "parent_modulus": np.inf},
        tooth_compliance=COMPLIANCE,
        boundary=boundary,
    )
    assert_allclose(found.loads, 0.1, rtol=1e-12)
    assert_allclose([found.peak_over_mean, found.ductility_demand], 1, rtol=1e-12)


def test_one_thread_carries_everything():
    found = elastic(**JOINT | {"length": 1.25}, tooth_compliance=COMPLIANCE)
    assert_allclose(found.loads, [1.0], rtol=1e-12)
    assert found.first_thread_share == pytest.approx(1)


@pytest.mark.parametrize("boundary", BOUNDARIES)
@pytest.mark.parametrize("parent_area", [40.0, 402.0])
def test_perfectly_plastic_threads_share_evenly_once_the_demand_is_met(boundary, parent_area):
    joint = JOINT | {"parent_area": parent_area, "boundary": boundary}
    demand = elastic(**joint, tooth_compliance=COMPLIANCE).ductility_demand
    plastic = law(ultimate_load=2000.0)
    perfect = 2000.0 * 12.5
    met = replace(plastic, rupture_slip=demand * plastic.yield_slip)
    assert_allclose(strip(met, **joint), perfect, rtol=1e-9)
    short = replace(plastic, rupture_slip=0.8 * demand * plastic.yield_slip)
    assert strip(short, **joint) < 0.999 * perfect


def test_first_yield_is_the_published_fraction_of_the_plastic_load():
    x = parameters(BODIES)[0] * 12.5
    found = first_yield(law(), **JOINT, segments_per_pitch=32)
    assert_allclose(found, np.tanh(x) / x * 2000.0 * 12.5, rtol=1e-4)


@pytest.mark.parametrize("boundary", BOUNDARIES)
@pytest.mark.parametrize("ultimate", [2000.0, 3000.0])
@pytest.mark.parametrize("parent_area", [40.0, 402.0])
def test_useful_length_is_where_the_solver_reaches_its_part_of_the_endless_load(
    boundary, ultimate, parent_area
):
    bodies = BODIES | {"parent_area": parent_area}
    tooth = law(ultimate_load=ultimate, rupture_slip=0.04)
    for fraction in (0.5, 0.9, 0.99):
        sizes = {"pitch": 1.25, **bodies, "boundary": boundary}
        length, endless = useful_length(chain_of(length=1.25, **sizes), tooth, fraction=fraction)
        there = strip(tooth, length=length, **sizes, segments_per_pitch=32)
        assert_allclose(there, fraction * endless, rtol=1e-3)
    assert_allclose(strip(tooth, length=300.0, **sizes), endless, rtol=5e-3)


def test_a_batch_gives_what_single_joints_give():
    lengths = np.array([[5.0], [11.3], [20.0]])
    areas = np.array([60.0, 402.0])
    joint = JOINT | {"boundary": "tension", "segments_per_pitch": 16}
    batch = strip(law(), **joint | {"length": lengths, "parent_area": areas})
    assert batch.shape == (3, 2)
    for i, length in enumerate(lengths[:, 0]):
        for j, area in enumerate(areas):
            alone = strip(law(), **joint | {"length": length, "parent_area": area})
            # The batch uses the grid of its longest joint.
            assert_allclose(batch[i, j], alone, rtol=2e-3)
    shared = elastic(
        **JOINT | {"length": lengths, "parent_area": areas}, tooth_compliance=COMPLIANCE
    )
    assert_allclose(shared.loads.sum(axis=-1), 1, rtol=1e-12)
    assert np.all(shared.loads[0, 0, 4:] == 0)


def test_nan_in_one_joint_leaves_the_others_alone():
    found = elastic(**JOINT | {"length": [12.5, np.nan]}, tooth_compliance=COMPLIANCE)
    alone = elastic(**JOINT, tooth_compliance=COMPLIANCE)
    assert_allclose(found.first_thread_share[0], alone.first_thread_share)
    assert np.isnan(found.first_thread_share[1])


def test_share_of_an_unknown_elongation_is_nan_and_flagged():
    found = m8(parent_elongation=[0.10, np.nan])
    assert list(np.isnan(found.ductility_capacity)) == [False, True]
    assert np.isnan(
        [
            found.efficiency[1],
            found.ductility_capacity[1],
            found.useful_length[1],
        ]
    ).all()
    assert np.isfinite(found.peak_over_mean).all()
    # Threads that never yield share a load that means nothing.
    never = m8(parent_yield=[241.0, np.nan])
    assert list(np.isnan(never.efficiency)) == list(np.isnan(never.useful_length)) == [False, True]


def test_brittle_parents_use_less_of_a_long_engagement():
    ductile, brittle = (
        m8(parent_elongation=a, length=16.0, shear_area=269.3) for a in (0.10, 0.01)
    )
    assert ductile.ductility_capacity >= ductile.ductility_demand
    assert brittle.ductility_capacity < brittle.ductility_demand
    assert brittle.efficiency < 0.7 < ductile.efficiency
    assert brittle.useful_length < ductile.useful_length


def test_a_sliding_coil_evens_the_load_and_a_fixed_one_does_not():
    repaired = {"state": "repaired", "shear_area": 296.5}
    fixed = m8(**repaired)
    sliding = m8(**repaired, sliding_coil=True, wire_modulus=193e3)
    original = m8()
    assert sliding.peak_over_mean < original.peak_over_mean < fixed.peak_over_mean


def test_insert_hole_numbers_of_an_m8_block():
    """Closed form worked out apart: stuck coil 2.50; sliding coil, one thread a flank, 2.17."""
    repaired = {"state": "repaired", "shear_area": 296.5, "segments_per_pitch": 16}
    assert_allclose(m8(**repaired).peak_over_mean, 2.497, atol=2e-3)
    sliding = m8(**repaired, sliding_coil=True, wire_modulus=205e3)
    assert_allclose(sliding.peak_over_mean, 2.18, atol=0.02)


def test_law_of_a_tooth_by_hand():
    """200 mm2 over 20 mm, 200 MPa in shear, 300 MPa at yield, 10 % elongation; the band assumed."""
    sizes = {"length": 20.0, "shear_area": 200.0, "parent_shear_strength": 200.0}
    band = tables.constant("sharing_shear_band").value * 1.25
    found = m8(**sizes, parent_yield=300.0).law
    assert_allclose(found.yield_load, 10 * 300 / 3**0.5)
    assert_allclose(found.ultimate_load, 2000.0)
    # 2000 N/mm elastic, then sqrt(3) ln 1.1 over the band
    plastic = 1.7320508 * 0.0953102 * band
    assert_allclose(found.rupture_slip, 2000 * found.compliance + plastic, rtol=1e-6)
    # A yield strength above what the shear strength allows does not raise the tooth's ultimate.
    capped = m8(**sizes, parent_yield=400.0).law
    assert capped.yield_load == capped.ultimate_load == pytest.approx(2000.0)


ASSUMED = ("sharing_block_diameter", "sharing_shear_band")


def test_share_says_what_it_assumed():
    given = m8()
    assumed = m8(boss_diameter=None)
    assert not given.block_assumed and assumed.block_assumed
    assert_allclose(assumed.peak_over_mean, given.peak_over_mean)  # three diameters is 24 mm
    extra = {r.what for r in assumed.references} - {r.what for r in given.references}
    assert len(extra) == 1
    assert {tables.constant(name).reference for name in ASSUMED} <= set(assumed.references)
    assert all(r.how_known in ("memory", "derived") for r in assumed.references)


def test_scalars_give_floats():
    found = m8()
    for value in (
        found.first_thread_share,
        found.efficiency,
        found.useful_length,
        found.ductility_capacity,
    ):
        assert isinstance(value, float)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (
            lambda: elastic(**JOINT, tooth_compliance=1e-6, boundary="hung"),
            "unknown boundary 'hung'; expected one of compression, tension",
        ),
        (
            lambda: elastic(**JOINT | {"length": 0}, tooth_compliance=1e-6),
            "length must be above zero, got 0",
        ),
        (
            lambda: elastic(**JOINT, tooth_compliance=1e-6, segments_per_pitch=0),
            "segments_per_pitch must be at least 1, got 0",
        ),
        (
            lambda: elastic(**JOINT | {"screw_modulus": -1}, tooth_compliance=1e-6),
            "screw_modulus must be above zero",
        ),
        (lambda: law(yield_load=4000.0), "yield_load must not be above ultimate_load"),
        (lambda: law(rupture_slip=0.001), "rupture_slip must not be below the slip at yield"),
        (lambda: m8(parent_elongation=10), "elongation must be a fraction from 0 to 1"),
        (lambda: m8(state="new"), "unknown state 'new'; expected one of original, repaired"),
        (lambda: m8(state="repaired", sliding_coil=True), "wire_modulus is needed"),
        (
            lambda: thread_compliance(side="nut", pitch=1, pitch_diameter=8, poisson=0.3),
            "unknown side 'nut'; expected one of screw, parent",
        ),
        (
            lambda: thread_compliance(side="parent", pitch=1, pitch_diameter=8, poisson=0.6),
            "poisson must lie in",
        ),
        (
            lambda: thread_compliance(
                side="parent", pitch=1, pitch_diameter=8, poisson=0.3, outer_diameter=7
            ),
            "outer_diameter must be above",
        ),
        (
            lambda: useful_length(chain_of(**JOINT), law(), fraction=1.0),
            "fraction must lie between",
        ),
    ],
)
def test_impossible_input_is_refused_in_one_sentence(call, text):
    with pytest.raises(InputError, match=text):
        call()


def test_a_boss_inside_the_insert_hole_is_refused():
    with pytest.raises(GeometryError, match=r"hole's major diameter, 9\.624 mm, got 9\.5"):
        m8(state="repaired", boss_diameter=9.5)
    m8(state="original", boss_diameter=9.5)


def test_a_tooth_without_an_ultimate_load_is_refused():
    with pytest.raises(InputError, match="ultimate_load"):
        ToothLaw(compliance=1.0, yield_load=1.0, ultimate_load=np.inf, rupture_slip=2.0)
