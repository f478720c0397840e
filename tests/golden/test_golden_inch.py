"""1/4-20 UNC with a screw of 220 ksi in a 3/8 in plate: areas, strong screw, thread that exists.

ASME B1.1 (in): screw 3A d 0.2419, d2 0.2147; hole 2B D2 0.2224, D1 0.207; 3B D2 0.2175 + 0.0036 = 0.2211, D1 0.2067.
Insert hole 3B: D2 0.2825 + 0.0036 = 0.2861, D1 0.2608 + 0.0108 = 0.2716, outside of the insert
0.3150 - (0.25 - 0.2419) = 0.3069. Above 180 ksi the stress area is pi (d2/2 - 0.16238 P)^2 at the
least pitch diameter, not pi/4 (d - 0.9743 P)^2 (B1.1 Appendix B, recalled). Parent 6061-T6.
The tolerance of the pitch diameter of class 3B is 0.975 of 0.0037, that of 2A (B1.1, 0.0036).

Plate 0.375 in, insert 1.5 D = 0.375 in: less 0.75 P 0.3375; begins 0.075 below one face, the
countersink of the other takes 0.5 P: 0.375 - 0.025 - 0.075 = 0.275 in are engaged.
"""

import math

import pytest
from by_hand import bearing_area, bearing_stress, c2, c3, external_area, internal_area
from reading import Joint, near

IN, KSI = 25.4, 6.894757293
GIVEN = {
    "thread": "1/4-20 UNC", "screw": "220-ksi", "parent": "6061-T6", "hole_class": "2B",
    "insert_hole_class": "3B", "screw_class": "3A", "engagement": "0.375 in",
    "insert_length": "1.5 D", "hole_kind": "through", "part_thickness": "0.375 in",
    "insert_wire": "S30200", "design_load": "1000 lbf", "load_factor": "1.5",
    "yield_factor": "1.1", "load_factor_source": "drawing 1", "torque": "70 in·lbf",
    "friction": "0.15", "tightening_tool": "wrench-to-10",
}  # fmt: skip
STRONG = math.pi * (0.2147 / 2 - 0.16238 * 0.05) ** 2  # in2
LENGTHS = {"original": 0.375, "repaired": 0.275}
#: Crest, pitch and minor diameter of the hole; minor diameter of the thread on the screw.
SIZES = {
    "original": (0.2419, 0.2224, 0.207, 0.207),
    "repaired": (0.3069, 0.2861, 0.2716, 0.2067),
}
TENSILE_MIN, TENSILE_MAX, SHEAR = 220 * KSI, 264 * KSI, 132 * KSI


@pytest.fixture(scope="module")
def joint():
    return Joint(**GIVEN)


def areas(state):
    crest, pitch, minor, inner = SIZES[state]
    length = LENGTHS[state]
    return (
        internal_area(length, 0.05, crest, pitch) * IN**2,
        external_area(length, 0.05, inner, 0.2147) * IN**2,
        bearing_area(length, 0.05, crest, minor) * IN**2,
    )


def test_the_screw_on_its_stricter_area(joint):
    """0.030935 in2, 19.958 mm2: 30.3 kN at least, 36.3 kN at most; the ordinary area is 0.0318."""
    assert pytest.approx(0.030935, abs=1e-6) == STRONG
    for state in ("original", "repaired"):
        found = joint.mode(state, "screw_tension")
        assert found == near((STRONG * IN**2, TENSILE_MIN, 1.0, STRONG * IN**2 * TENSILE_MIN))
        strongest = joint.mode(state, "screw_tension", basis="ultimate, strongest screw")
        assert strongest[1] == near(TENSILE_MAX)
    assert joint.document["thread"]["stress_area_mm2"] == near(STRONG * IN**2)


def test_lengths_at_both_ends_of_the_plate(joint):
    assert joint.budget("original") == near([9.525, 0.0])
    steps = [0.375, -0.0375, -(0.075 + 0.3375 - 0.350)]
    assert joint.budget("repaired") == near([IN * step for step in steps])
    assert joint.state("repaired")["engagement"] == near(0.275 * IN)
    assert joint.state("repaired")["engagement"] <= 0.300 * IN


@pytest.mark.parametrize("state", ["original", "repaired"])
def test_loads(joint, state):
    """Rs of parent (42 ksi) over screw (220 ksi) is below 0.4: C3 has no value and is 1."""
    parent, screw, flanks = areas(state)
    rs = parent * 42 / (screw * 220)
    assert rs < 0.4
    tau = 27 * KSI
    assert joint.mode(state, "parent_thread_strip") == near((parent, tau, c3(rs), tau * parent))
    held = 0.897 * SHEAR * screw
    assert joint.mode(state, "screw_thread_strip") == near((screw, SHEAR, c2(rs), held))
    assert joint.mode(state, "flank_bearing")[3] == near(bearing_stress(tau) * flanks)
    one = joint.state(state)
    assert one["pull_out_mode"] == one["governing_mode"] == "parent_thread_strip"
    assert one["pull_out"] == near(tau * parent)
    needed = TENSILE_MAX * STRONG * IN**2 / (tau * parent) * LENGTHS[state] * IN
    assert one["required_engagement"] == near(needed)


def test_margins_and_the_window_without_a_yield_strength(joint):
    """1000 lbf is 4448.222 N. The yield strength of the screw is not known: no margin, no end."""
    found = joint.margins()
    for state in ("original", "repaired"):
        load = 27 * KSI * areas(state)[0]
        demand = 1.5 * 4448.2216
        key = state, "parent_thread_strip", "limit_load_ultimate"
        assert found[key] == near((demand, load, load / demand - 1))
        assert (state, "screw_tension", "limit_load_yield") not in found
        tension = STRONG * IN**2 * TENSILE_MIN
        key = state, "screw_tension", "limit_load_ultimate"
        assert found[key] == near((demand, tension, tension / demand - 1))
        key = state, "parent_thread_strip", "limit_load_yield"
        assert found[key] == near((1.1 * 4448.2216, load * 35 / 42, load * 35 / 42 / 4893.0438 - 1))
        written = joint.document["tightening"]["states"][state]
        assert written["window_max_Nm"] is None
        assert written["yield_preload_N"] is None
    # The twist acts on the bar of the stricter area; head friction on 1.3 D.
    arm = 0.05 / (2 * math.pi) + 0.57735 * 0.15 * 0.2175240 + 0.15 * 1.3 * 0.25 / 2
    written = joint.document["tightening"]["states"]["original"]
    assert written["preload_max_N"] == near(1.06 * 70 / arm * 4.4482216)
    assert written["preload_min_N"] == near(0.94 * 70 / arm * 4.4482216)
