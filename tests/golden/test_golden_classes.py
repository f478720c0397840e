"""M10x1.5, hole 7H, insert hole 5H, screw 6e: every class has its own limits, no two alike.

Limits of ISO 965-1 (tolerances 7H 0.224 and 0.375, 5H 0.140 and 0.236, 6e 0.132 and 0.236 mm,
deviation e -0.067 mm; pitch tolerances of the screw printed in Machinery's Handbook 31st ed.,
p. 2025; the rest formulas of the standard, recalled, with its rounding):

    hole 7H          D2 9.026 + 0.224 = 9.250    D1  8.376 + 0.375 =  8.751
    insert hole 5H   D2 10.974 + 0.140 = 11.114  D1 10.325 + 0.236 = 10.561
    inside insert 5H D2 9.026 + 0.140 = 9.166    D1  8.376 + 0.236 =  8.612
    screw 6e         d  10 - 0.067 - 0.236 = 9.697
                     d2 9.026 - 0.067 - 0.132 = 8.827
    insert outside   11.949 - (10 - 9.697) = 11.646

Shear areas FED-STD-H28/2B Appendix B, factors SAE 770420, screw 8.8 ISO 898-1 (800 to 1055 MPa,
yield 640, proof 580), parent as given by the case.
"""

import math

import pytest
from by_hand import WIRE_SHEAR, bearing_stress
from reading import Joint, near

GIVEN = {
    "thread": "M10x1.5", "screw": "8.8", "parent": "6061-T6",
    "parent_shear_strength": "180 MPa", "parent_tensile_strength": "280 MPa",
    "parent_yield_strength": "210 MPa", "parent_source": "certificate 1",
    "parent_strength_basis": "minimum",
    "engagement": "10 mm", "insert_length": "15 mm",
    "hole_class": "7H", "insert_hole_class": "5H", "screw_class": "6e",
    "insert_wire": "S30200",
    "design_load": "12 kN", "load_factor": "1.5", "yield_factor": "1.2", "fitting_factor": "1.15",
    "load_factor_source": "drawing 1",
}  # fmt: skip

#: Engaged in the repaired hole: 15 mm less 0.75 P = 13.875 mm.
LENGTH = 15 - 0.75 * 1.5

# pi d (L/P) [P/2 + 0.57735 (d - D2)] and pi D1 (L/P) [P/2 + 0.57735 (d2 - D1)]
PARENT_ORIGINAL = math.pi * 9.697 * 10 / 1.5 * (0.75 + 0.57735 * (9.697 - 9.250))
PARENT_REPAIRED = math.pi * 11.646 * 13.875 / 1.5 * (0.75 + 0.57735 * (11.646 - 11.114))
SCREW_ORIGINAL = math.pi * 8.751 * 10 / 1.5 * (0.75 + 0.57735 * (8.827 - 8.751))
SCREW_REPAIRED = math.pi * 8.612 * 13.875 / 1.5 * (0.75 + 0.57735 * (8.827 - 8.612))
INSERT = math.pi * 9.697 * 13.875 / 1.5 * (0.75 + 0.57735 * (9.697 - 9.166))
STRESS_AREA = math.pi / 4 * 8.592709**2


@pytest.fixture(scope="module")
def joint():
    return Joint(**GIVEN)


def test_the_areas_on_paper():
    assert pytest.approx(204.734, abs=1e-3) == PARENT_ORIGINAL
    assert pytest.approx(357.771, abs=1e-3) == PARENT_REPAIRED
    assert pytest.approx(145.502, abs=1e-3) == SCREW_ORIGINAL
    assert pytest.approx(218.762, abs=1e-3) == SCREW_REPAIRED
    assert pytest.approx(297.734, abs=1e-3) == INSERT
    assert pytest.approx(57.990, abs=1e-3) == STRESS_AREA


def test_lengths(joint):
    assert joint.budget("original") == near([10.0])
    assert joint.budget("repaired") == near([15.0, -1.125])


@pytest.mark.parametrize(
    ("state", "area"), [("original", PARENT_ORIGINAL), ("repaired", PARENT_REPAIRED)]
)
def test_the_parents_thread(joint, state, area):
    """Rs = 280 A / 800 A_screw is 0.4925 and 0.5724: C3 of the paper is above 1, taken as 1.

    Flanks over shear: 27.78 / 20.47 = 1.36 and 26.4 per mm; above 1.34 nothing is taken off.
    """
    screw = {"original": SCREW_ORIGINAL, "repaired": SCREW_REPAIRED}[state]
    rs = 280 * area / (800 * screw)
    assert 0.4 < rs < 0.68
    assert joint.mode(state, "parent_thread_strip") == near((area, 180.0, 1.0, 180 * area))


@pytest.mark.parametrize(
    ("state", "area"), [("original", SCREW_ORIGINAL), ("repaired", SCREW_REPAIRED)]
)
def test_the_screws_thread(joint, state, area):
    """0.6 x 800 MPa, C2 0.897 below a ratio of 1: the screw is the stronger member."""
    assert joint.mode(state, "screw_thread_strip") == near((area, 480.0, 0.897, 430.56 * area))


def test_flanks_wire_and_shank(joint):
    """Crest over hole: 9.697 over 8.751 in the first hole, 11.646 over 10.561 in the second."""
    for state, crest, minor, length in (
        ("original", 9.697, 8.751, 10.0),
        ("repaired", 11.646, 10.561, 13.875),
    ):
        area = math.pi / 4 * (crest**2 - minor**2) * length / 1.5
        stress = 2 * 180 * (1 + math.pi / 6)
        assert joint.mode(state, "flank_bearing") == near((area, stress, 1.0, stress * area))
        tension = (STRESS_AREA, 800.0, 1.0, 800 * STRESS_AREA)
        assert joint.mode(state, "screw_tension") == near(tension)
        for basis, stress in (("yield", 640), ("proof", 580), ("ultimate, strongest screw", 1055)):
            load = joint.mode(state, "screw_tension", basis=basis)[-1]
            assert load == near(stress * STRESS_AREA)
    wire = 1035 / math.sqrt(3)
    assert joint.mode("repaired", "insert_thread_strip") == near((INSERT, wire, 1.0, wire * INSERT))
    assert pytest.approx(WIRE_SHEAR, rel=1e-5) == wire
    assert bearing_stress(180) == pytest.approx(548.50, abs=0.01)


def test_what_governs_and_the_ratio(joint):
    """36.85 kN against a screw of 46.39 kN; 64.40 kN repaired, the weakest screw breaks first."""
    first, second = joint.state("original"), joint.state("repaired")
    assert first["governing_mode"] == first["pull_out_mode"] == "parent_thread_strip"
    assert first["pull_out"] == first["strength"] == near(180 * PARENT_ORIGINAL)
    assert first["pull_out"] == pytest.approx(36852.0, abs=0.3)
    assert second["governing_mode"] == "screw_tension"
    assert second["pull_out_mode"] == "parent_thread_strip"
    assert second["pull_out"] == pytest.approx(64398.8, abs=0.5)
    assert second["strength"] == near(800 * STRESS_AREA)
    assert joint.ratio() == near(PARENT_REPAIRED / PARENT_ORIGINAL)
    assert joint.ratio() == pytest.approx(1.74750, abs=1e-5)


def test_what_the_ratio_is_made_of(joint):
    """At basic sizes the pitch diameter is d - 0.649519 P in both holes: the same bracket.

    Diameter 11.948557 / 10; length 13.875 / 10; what is left of the areas is the tolerance.
    """
    effects = {each.name: each.ratio for each in joint.study.evaluation.effects}
    areas = PARENT_REPAIRED / PARENT_ORIGINAL
    diameter = 11.948557 / 10
    assert effects == near(
        {
            "diameter": diameter,
            "length": 1.3875,
            "tolerance": areas / 1.3875 / diameter,
            "wall": 1.0,
            "strength": 1.0,
            "mode": 1.0,
        }
    )
    written = {each["name"]: each["ratio"] for each in joint.document["comparison"]["effects"]}
    assert written == near(effects)


def test_required_lengths(joint):
    """The strongest screw of its class takes 1055 x 57.99 = 61 179 N, the weakest 46 392 N."""
    for state, area, length, screw in (
        ("original", PARENT_ORIGINAL, 10.0, SCREW_ORIGINAL),
        ("repaired", PARENT_REPAIRED, 13.875, SCREW_REPAIRED),
    ):
        each = 180 * area / length  # N a mm; the screw's own thread holds more: 6265, 6788 N a mm
        assert each < 430.56 * screw / length
        assert joint.state(state)["required_engagement"] == near(1055 * STRESS_AREA / each)
    written = {
        state: next(
            r for r in joint.document["states"][state]["required_by_method"] if r["primary"]
        )
        for state in ("original", "repaired")
    }
    assert written["original"]["weakest_screw_mm"] == near(
        800 * STRESS_AREA * 10 / (180 * PARENT_ORIGINAL)
    )
    # an insert belongs to the insert hole only
    assert written["original"]["insert_weakest_screw_mm"] is None
    assert written["original"]["standard_insert_strongest_screw_diameters"] is None
    least = 800 * STRESS_AREA * 13.875 / (180 * PARENT_REPAIRED)
    assert written["repaired"]["insert_weakest_screw_mm"] == near(least + 1.125)
    needed = 1055 * STRESS_AREA * 13.875 / (180 * PARENT_REPAIRED)
    assert needed == pytest.approx(13.1813, abs=2e-4)
    assert written["repaired"]["insert_strongest_screw_mm"] == near(needed + 1.125)
    # 1.5 D engages 13.875, 1 D only 8.875 mm
    assert written["repaired"]["standard_insert_strongest_screw_diameters"] == 1.5


def test_margins_of_the_load_alone(joint):
    """Rupture 12 kN x 1.5 x 1.15 = 20 700 N; yield 12 kN x 1.2 x 1.15 = 16 560 N.

    Yield of the parent's thread: its strip load times 210 / 280.
    """
    found = joint.margins()
    rupture, yielding = "limit_load_ultimate", "limit_load_yield"
    bearing = 2 * 180 * (1 + math.pi / 6)
    loads = {
        "original": {
            "screw_tension": 800 * STRESS_AREA,
            "screw_thread_strip": 430.56 * SCREW_ORIGINAL,
            "parent_thread_strip": 180 * PARENT_ORIGINAL,
            "flank_bearing": bearing * math.pi / 4 * (9.697**2 - 8.751**2) * 10 / 1.5,
        },
        "repaired": {
            "screw_tension": 800 * STRESS_AREA,
            "screw_thread_strip": 430.56 * SCREW_REPAIRED,
            "parent_thread_strip": 180 * PARENT_REPAIRED,
            "flank_bearing": bearing * math.pi / 4 * (11.646**2 - 10.561**2) * 13.875 / 1.5,
            "insert_thread_strip": 1035 / math.sqrt(3) * INSERT,
        },
    }
    expected = {}
    for state, modes in loads.items():
        for mode, load in modes.items():
            expected[state, mode, rupture] = (20700.0, load, load / 20700 - 1)
        screw, parent = 640 * STRESS_AREA, 0.75 * modes["parent_thread_strip"]
        expected[state, "screw_tension", yielding] = (16560.0, screw, screw / 16560 - 1)
        expected[state, "parent_thread_strip", yielding] = (16560.0, parent, parent / 16560 - 1)
    assert found.keys() == expected.keys()
    for key, values in expected.items():
        assert found[key] == near(values), key
    margin = found["original", "parent_thread_strip", yielding][-1]
    assert margin == pytest.approx(0.66902, abs=1e-5)
