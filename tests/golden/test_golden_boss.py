"""An M8 joint in a boss of 14 mm, held on its base or its face: wall factor, wall section, margin.

The wall factor is the certified lower bound of the table of bosses: rows of 1.4 to 1.8 diameters,
one line for each row below, the load linear in the square of the boss (the wall's area) and in the
engagement, never less for a longer thread. Original hole: 14 / 8 = 1.75 diameters, 12 mm = 1.5
diameters engaged. Insert hole: D = 8 + 1.299038 x 1.25 = 9.623798 mm, 14 / D = 1.454727; of 12 mm
nominal 11.0625 mm are engaged, 1.149494 diameters.

Net section pi/4 (s^2 - D^2) at the flow stress; hoop pi (s - D) L sigma / tan 30; C1 of SAE 770420.
Sizes and strengths of the rest: m8_loads.
"""

import math

import pytest
from by_hand import (
    TAN,
    bearing_area,
    bearing_stress,
    c1,
    external_area,
    internal_area,
    stress_area,
)
from m8_loads import CASE
from reading import Joint, near

INSERT_HOLE = 8 + 1.299038 * 1.25
GIVEN = CASE | {
    "insert_length": "12 mm", "boss_diameter": "14 mm",
    "parent_shear_strength": "150 MPa", "parent_tensile_strength": "280 MPa",
    "parent_yield_strength": "250 MPa", "parent_source": "certificate 1",
    "parent_strength_basis": "minimum",
    "design_load": "6 kN", "load_factor": "1.5", "yield_factor": "1.2",
    "load_factor_source": "drawing 1",
}  # fmt: skip
#: sqrt(3) x 150 = 259.8 MPa is below the mean of 280 and 250: thread and wall flow alike.
FLOW = math.sqrt(3) * 150


def between(at, row, other):
    """Linear in the square of the boss: rows are (boss over major, factor)."""
    (boss, low), (wider, high) = row, other
    return low + (at**2 - boss**2) / (wider**2 - boss**2) * (high - low)


# Factor times engagement in diameters is the load.
ORIGINAL_BASE = 1.5 * between(1.75, (1.7, 0.6812), (1.8, 0.8054))
#: On its face the boss bears outside the clearance hole of 1.15 D: first the share that such a
#: hole leaves (rows of 1.7 and 1.8 diameters, straight), then the smaller boss of that area.
SMALLER = math.sqrt(1 + 1.75**2 - 1.15**2)  # 1.655294
ORIGINAL_FACE = 1.5 * min(
    between(1.75, (1.7, 0.6454), (1.8, 0.7416)) * (0.882 + 0.886) / 2,
    between(SMALLER, (1.6, 0.5459), (1.7, 0.6454)),
)
AT = 14 / INSERT_HOLE
ENGAGED = 11.0625 / INSERT_HOLE
SHORT_BASE = 1.0 * between(AT, (1.4, 0.5246), (1.5, 0.6806))
LONG_BASE = 1.25 * between(AT, (1.4, 0.4197), (1.5, 0.5445))
SHORT_FACE = 1.0 * between(AT, (1.4, 0.4842), (1.5, 0.5967))
LONG_FACE = 1.25 * between(AT, (1.4, 0.4105), (1.5, 0.5213))


def along(short, long):
    return short + (ENGAGED - 1.0) / 0.25 * (long - short)


WALL = {
    ("original", "base"): ORIGINAL_BASE / 1.5,
    ("original", "face"): ORIGINAL_FACE / 1.5,
    # one diameter holds a trifle more than 1.25 in the row of 1.4 and less in that of 1.5
    ("repaired", "base"): along(SHORT_BASE, LONG_BASE) / ENGAGED,
    ("repaired", "face"): along(SHORT_FACE, LONG_FACE) / ENGAGED,
}
for _state in ("original", "repaired"):
    WALL[_state, "unknown"] = min(WALL[_state, "base"], WALL[_state, "face"])
#: Share of the wall's area: on the face 0.96 of it, bearing outside 1.15 D.
SECTION = {
    ("original", "base"): 1.0,
    ("original", "face"): 0.96 * (1.75**2 - 1.15**2) / (1.75**2 - 1),
    ("repaired", "base"): 1.0,
    ("repaired", "face"): 0.96,
}
for _state in ("original", "repaired"):
    SECTION[_state, "unknown"] = min(SECTION[_state, "base"], SECTION[_state, "face"])

HOLES = {"original": (12.0, 7.760, 7.348, 6.912), "repaired": (11.0625, 9.384, 8.972, 8.536)}


@pytest.fixture(scope="module", params=["base", "face", "unknown"])
def support(request):
    return request.param


@pytest.fixture(scope="module")
def joint(support):
    return Joint(**GIVEN, boss_support=support)


def test_the_factors_on_paper():
    """1.75: 0.6812 + 0.492857 x 0.1242 = 0.74241 on the base; C1 there 0.9775, which is higher."""
    assert WALL["original", "base"] == pytest.approx(0.742413, abs=1e-6)
    assert c1(14, 8) == pytest.approx(0.9775)
    assert c1(14, INSERT_HOLE) == pytest.approx(0.801732, abs=1e-5)
    assert WALL["original", "face"] == pytest.approx(0.600173, abs=1e-6)
    assert LONG_BASE > SHORT_BASE


@pytest.mark.parametrize("state", ["original", "repaired"])
def test_loads_in_the_boss(joint, support, state):
    length, crest, pitch_diameter, minor = HOLES[state]
    wall = WALL[state, support]
    area = internal_area(length, 1.25, crest, pitch_diameter)
    parent = (area, 150.0, wall, 150 * area * wall)
    assert joint.mode(state, "parent_thread_strip") == near(parent)
    area, stress = bearing_area(length, 1.25, crest, minor), bearing_stress(150)
    assert joint.mode(state, "flank_bearing") == near((area, stress, wall, area * stress * wall))
    area = external_area(length, 1.25, 6.912, 7.042)
    factor = 0.897 * wall
    assert joint.mode(state, "screw_thread_strip") == near(
        (area, 480.0, factor, area * 480 * factor)
    )
    hole = {"original": 8.0, "repaired": INSERT_HOLE}[state]
    area, share = math.pi / 4 * (14**2 - hole**2), SECTION[state, support]
    assert joint.mode(state, "boss_wall") == near((area, FLOW, share, area * FLOW * share))


def test_what_governs_and_the_margins(joint, support):
    """Pull-out in the boss: thread against wall; no length makes the strongest screw break first.

    1055 MPa x 36.609 mm2 = 38.6 kN against walls of 26.9 and 21.1 kN at most.
    """
    found = joint.margins()
    for state in ("original", "repaired"):
        length, crest, pitch_diameter, minor = HOLES[state]
        hole = {"original": 8.0, "repaired": INSERT_HOLE}[state]
        wall = WALL[state, support]
        loads = {
            "parent_thread_strip": 150 * wall * internal_area(length, 1.25, crest, pitch_diameter),
            "flank_bearing": bearing_stress(150) * wall * bearing_area(length, 1.25, crest, minor),
            "screw_thread_strip": 480 * 0.897 * wall * external_area(length, 1.25, 6.912, 7.042),
            "boss_wall": math.pi / 4 * (196 - hole**2) * FLOW * SECTION[state, support],
            "screw_tension": 800 * stress_area(8, 1.25),
        }
        weakest = min(loads, key=loads.get)
        one = joint.state(state)
        assert one["governing_mode"] == one["pull_out_mode"] == weakest
        assert one["pull_out"] == one["strength"] == near(loads[weakest])
        written = joint.document["states"][state]["required_engagement_mm"]
        assert math.isnan(joint.study.evaluation.states[state].required_engagement)
        assert written is None
        for mode, load in loads.items():
            key = state, mode, "limit_load_ultimate"
            assert found[key] == near((9000.0, load, load / 9000 - 1)), key
        parent = loads["parent_thread_strip"] * 250 / 280
        key = state, "parent_thread_strip", "limit_load_yield"
        assert found[key] == near((7200.0, parent, parent / 7200 - 1))
    effects = {each.name: each.ratio for each in joint.study.evaluation.effects}
    assert effects["wall"] == near(WALL["repaired", support] / WALL["original", support])


def test_a_wall_that_flows_before_its_thread():
    """Tensile 200, yield 160 MPa: the wall flows at 180, 0.69282 of sqrt(3) x 150.

    The boss counts as the smaller one whose wall carries as much: 1 + 0.69282 (1.75^2 - 1) is the
    square of 1.558506; in the insert hole 1.331673.
    """
    joint = Joint(
        **GIVEN
        | {"parent_tensile_strength": "200 MPa", "parent_yield_strength": "160 MPa"},
        boss_support="base",
    )  # fmt: skip
    share = 180 / (math.sqrt(3) * 150)
    counts = math.sqrt(1 + share * (1.75**2 - 1))
    assert counts == pytest.approx(1.558506, abs=1e-6)
    wall = between(counts, (1.5, 0.4537), (1.6, 0.5646))
    # what a thread of 1.25 diameters holds, the longer one holds too: 0.84 against 0.78
    wall = max(1.25 * between(counts, (1.5, 0.5445), (1.6, 0.6775)), 1.5 * wall) / 1.5
    shorter = between(counts, (1.5, 0.6794), (1.6, 0.8452))
    assert shorter < 1.5 * wall
    assert joint.mode("original", "parent_thread_strip")[2] == near(wall)
    assert joint.mode("original", "boss_wall")[1] == 180.0
    assert joint.mode("original", "boss_wall")[3] == near(math.pi / 4 * (196 - 64) * 180)


def test_hoop_of_a_short_thread():
    """3 mm engaged in 13 mm: 4 L / tan 30 = 20.785 is less than s + D = 21 mm, the hoop governs.

    pi (13 - 8) x 3 x 259.8 / 0.57735 N. Below half a diameter the factor is that of half a
    diameter: at 1.625 between 0.9143 (1.6) and 0.9498 (1.7), below C1 of 0.9244.
    """
    joint = Joint(**GIVEN | {"engagement": "3 mm", "boss_diameter": "13 mm"}, boss_support="base")
    load = math.pi * 5 * 3 * FLOW / math.tan(math.radians(30))
    assert joint.mode("original", "boss_wall")[3] == near(load)
    assert load == pytest.approx(math.pi * 5 * 3 * FLOW / TAN, rel=1e-6)
    factor = between(1.625, (1.6, 0.9143), (1.7, 0.9498))
    assert factor < c1(13, 8)
    assert joint.mode("original", "parent_thread_strip")[2] == near(factor)


def test_a_wall_that_costs_nothing_leaves_c1():
    """3 mm in 14 mm: a boss a fiftieth smaller has a certified upper bound of 1 (rows 1.7, 1.8).

    The table then takes nothing off, and C1 at 1.75 stands: 3.8 x 1.75 - 3.0625 - 2.61 = 0.9775.
    """
    joint = Joint(**GIVEN | {"engagement": "3 mm"}, boss_support="base")
    assert joint.mode("original", "parent_thread_strip")[2] == near(0.9775)
