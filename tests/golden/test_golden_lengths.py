"""Which thread exists: both ends of a plate, a short screw, a countersink, each set-down rule.

M8x1.25, P/2 = 0.625 mm countersunk at most; of the nominal length 0.75 P = 0.9375 mm are not there.
Rules of set-down: ASME B18.29.2M 0.75 to 1.5 P; technical manual 0.25 to 0.5 P; flush.
"""

import pytest
from by_hand import internal_area
from m8_loads import CASE, SHEAR
from reading import Joint, near

NOMINAL = CASE | {"insert_length": "12 mm"}


@pytest.mark.parametrize(
    ("more", "original", "repaired"),
    [
        ({}, [12.0], [12, -0.9375]),
        # begins 1.875 below the face, the screw ends at 10: 8.125 engaged
        ({"hole_kind": "blind", "hole_depth": "24 mm", "screw_reach": "10 mm"},
         [12, -2], [12, -0.9375, -(1.875 + 11.0625 - 10)]),
        # the plate ends at 12.5 - 0.625 for the insert, at 12.5 for the first thread
        ({"part_thickness": "12.5 mm"}, [12, 0], [12, -0.9375, -(1.875 + 11.0625 - 11.875)]),
        ({"part_thickness": "12.5 mm", "screw_reach": "11 mm"},
         [12, 0, -1], [12, -0.9375, -(1.875 + 11.0625 - 11.875), -0.875]),
        # flush: 0.625 of the coil stand in the countersink
        ({"set_down_rule": "flush"}, [12], [12, -0.9375, -0.625]),
        # 0.3125 to 0.625 below the face: the least leaves 0.3125 in the countersink
        ({"set_down_rule": "quarter-to-half-turn"}, [12], [12, -0.9375, -0.3125]),
        # with a screw that ends at 9 the greatest set-down counts less: nothing in the countersink
        ({"set_down_rule": "quarter-to-half-turn", "screw_reach": "9 mm"},
         [12, -3], [12, -0.9375, 0, -(0.625 + 11.0625 - 9)]),
    ],
)  # fmt: skip
def test_every_budget(more, original, repaired):
    joint = Joint(**NOMINAL | more)
    assert joint.budget("original") == near(original)
    assert joint.budget("repaired") == near(repaired)
    for state, steps, crest, pitch in (
        ("original", original, 7.760, 7.348),
        ("repaired", repaired, 9.384, 8.972),
    ):
        length = sum(steps)
        assert joint.state(state)["engagement"] == near(length)
        area = internal_area(length, 1.25, crest, pitch)
        assert joint.mode(state, "parent_thread_strip")[0] == near(area)
        assert joint.mode(state, "parent_thread_strip")[3] == near(SHEAR * area)


def test_length_recommended_in_the_plate():
    """The strongest screw needs 38 622 N / 186.158 MPa / 25.4 mm2 a mm = 8.2 mm in the insert hole.

    1 D engages 8 - 0.9375 = 7.06 mm, 1.5 D 11.06 mm; in a plate of 9 mm no 1.5 D exists, and with
    1 D the thread is weaker than the original 9 mm: no standard insert serves.
    """
    each = SHEAR * internal_area(1, 1.25, 9.384, 8.972)
    needed = 1055 * 36.6089 / each
    joint = Joint(**NOMINAL)
    assert joint.state("repaired")["required_engagement"] == near(needed)
    assert 7.0625 < needed < 11.0625
    best = joint.document["required_insert"]
    assert (best["diameters"], best["length_mm"]) == (1.5, 12.0)
    assert best["screw_reach_mm"] == near(12 - 0.9375 + 1.875)
    assert best["drill_depth_bottoming_mm"] == near(12 + 4 * 1.25)
    assert best["drill_depth_plug_mm"] == near(12 + 6 * 1.25 + 4)
    thin = Joint(
        **NOMINAL | {"insert_length": "8 mm", "engagement": "9 mm", "part_thickness": "9 mm"}
    )
    assert thin.budget("repaired") == near([8, -0.9375, -(1.875 + 7.0625 - 8.375)])
    assert thin.document["required_insert"]["diameters"] is None
