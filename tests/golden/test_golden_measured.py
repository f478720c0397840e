"""An M8 joint with measured sizes: what is measured counts, what does not exist yet has its class.

Screw d 7.85, d2 7.08; hole D1 6.80, D2 7.25; insert hole D1 8.40, D2 8.90. The insert nobody
measures: outside 9.624 - (8 - 7.760) = 9.384, whatever the screw; inside 7.348 and 6.912.
The rest as in m8_loads.
"""

import math

import pytest
from by_hand import (
    WIRE_SHEAR,
    bearing_area,
    bearing_stress,
    c3,
    external_area,
    internal_area,
)
from m8_loads import AREA, CASE, SHEAR, TENSILE
from reading import Joint, near

SIZES = {
    "measured_screw_major": 7.85, "measured_screw_pitch": 7.08, "measured_hole_minor": 6.80,
    "measured_hole_pitch": 7.25, "measured_insert_hole_minor": 8.40,
    "measured_insert_hole_pitch": 8.90,
}  # fmt: skip
#: Of each, its limit at minimum material: 6g, 6H, insert hole 6H.
LIMITS = {
    "measured_screw_major": 7.760, "measured_screw_pitch": 7.042, "measured_hole_minor": 6.912,
    "measured_hole_pitch": 7.348, "measured_insert_hole_minor": 8.536,
    "measured_insert_hole_pitch": 8.972,
}  # fmt: skip


@pytest.mark.parametrize("missing", ["", *SIZES])
def test_sizes_one_by_one(missing):
    """With all six, and with each of them not measured in turn."""
    given = {name: size for name, size in SIZES.items() if name != missing}
    d, d2, D1, D2, insert_D1, insert_D2 = (given.get(name, LIMITS[name]) for name in SIZES)
    joint = Joint(
        **CASE,
        tolerance_position="measured",
        **{name: f"{size} mm" for name, size in given.items()},
    )
    crest = 9.384
    for state, length, outside, pitch, minor, inner in (
        ("original", 12.0, d, D2, D1, D1),
        ("repaired", 15.0625, crest, insert_D2, insert_D1, 6.912),
    ):
        area = internal_area(length, 1.25, outside, pitch)
        screw = external_area(length, 1.25, inner, d2)
        factor = c3(area * TENSILE / (screw * 800))
        assert joint.mode(state, "parent_thread_strip") == near(
            (area, SHEAR, factor, SHEAR * area * factor)
        )
        assert joint.mode(state, "screw_thread_strip")[0] == near(screw)
        flanks = bearing_area(length, 1.25, outside, minor)
        assert joint.mode(state, "flank_bearing")[0] == near(flanks)
        height = (outside - minor) / (1.082532 * 1.25)
        assert joint.document["states"][state]["thread_height_percent"] == near(100 * height)
    named = [n for n in joint.study.evaluation.facts if n.id == "not_measured"]
    assert [tuple(term.id for term in n.values["diameters"]) for n in named] == (
        [(missing.removeprefix("measured_"),)] if missing else []
    )
    wire = internal_area(15.0625, 1.25, d, 7.348)
    assert joint.mode("repaired", "insert_thread_strip") == pytest.approx(
        (wire, WIRE_SHEAR, 1.0, wire * WIRE_SHEAR), rel=2e-5
    )


def test_little_overlap():
    """Hole drilled to 7.2 under a screw of 7.75: the flanks crush before the thread shears.

    Overlap 0.55 mm on diameter; bearing over shear is looked up in the certified bounds, of which
    the rows beside it are 0.90: 0.913 and 0.95: 0.938. The verdict takes the lesser load.
    """
    joint = Joint(
        **CASE,
        tolerance_position="measured",
        measured_screw_major="7.75 mm",
        measured_hole_minor="7.2 mm",
        measured_hole_pitch="7.35 mm",
    )
    shear = internal_area(12, 1.25, 7.75, 7.35)
    flanks = bearing_area(12, 1.25, 7.75, 7.2)
    ratio = bearing_stress(1.0) * flanks / shear
    assert 0.90 < ratio < 0.95
    overlap = 0.913 + (ratio - 0.90) / 0.05 * 0.025
    assert joint.mode("original", "parent_thread_strip") == near(
        (shear, SHEAR, overlap, SHEAR * shear * overlap)
    )
    crushed = bearing_stress(SHEAR) * flanks
    assert joint.mode("original", "flank_bearing")[3] == near(crushed)
    first = joint.state("original")
    least = min(crushed, SHEAR * shear * overlap)
    assert first["pull_out"] == near(least)
    assert first["required_engagement"] == near(12 * 1055 * AREA / least)
    effects = {each.name: each.ratio for each in joint.study.evaluation.effects}
    assert math.prod(effects.values()) == near(joint.ratio())
