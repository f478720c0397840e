"""What an M8x1.25 6H/6g joint carries, by hand, for the joints that differ in their loads.

Limits of size printed in ASME B1.13M and ISO 965-1: screw 6g d 7.760, d2 7.042; hole 6H D2 7.348,
D1 6.912. Insert hole 6H: D2 8.812 + 0.160 = 8.972, D1 8.271 + 0.265 = 8.536; inside the insert
D2 7.348, D1 6.912; insert outside 9.624 - (8 - 7.760) = 9.384. Full thread 12 mm, insert 16 mm less
0.75 P: 15.0625 mm. 6061-T6: 27, 42, 35 ksi are 186.158, 289.580, 241.317 MPa. Screw 8.8: 800 to
1055 MPa, yield 640.
"""

import math

from by_hand import bearing_area, bearing_stress, external_area, internal_area, stress_area

SHEAR, TENSILE, YIELD = (ksi * 6.894757 for ksi in (27, 42, 35))
AREA = stress_area(8, 1.25)
#: Diameter of the bar that stands for the screw: 8 - 0.938194 P.
BAR = 8 - 0.938194 * 1.25
PITCH_DIAMETER = 8 - 0.649519 * 1.25
LENGTHS = {"original": 12.0, "repaired": 16 - 0.75 * 1.25}
HOLES = {"original": (7.760, 7.348, 6.912), "repaired": (9.384, 8.972, 8.536)}
CASE = {
    "thread": "M8x1.25", "hole_class": "6H", "screw_class": "6g", "insert_hole_class": "6H",
    "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm", "insert_length": "16 mm",
    "insert_wire": "S30200", "bearing_diameter": "11 mm",
}  # fmt: skip


def carries(state, *, shear=SHEAR):
    """Load of every mode, N: every thread factor of this joint is 1 but C2, 0.897."""
    length = LENGTHS[state]
    crest, pitch_diameter, minor = HOLES[state]
    found = {
        "screw_tension": 800 * AREA,
        "screw_thread_strip": 0.897 * 480 * external_area(length, 1.25, 6.912, 7.042),
        "parent_thread_strip": shear * internal_area(length, 1.25, crest, pitch_diameter),
        "flank_bearing": bearing_stress(shear) * bearing_area(length, 1.25, crest, minor),
    }
    if state == "repaired":
        wire = 1035 / math.sqrt(3)
        found["insert_thread_strip"] = wire * internal_area(length, 1.25, 7.760, 7.348)
    return found


def pull_out(state, **strength):
    return min(load for mode, load in carries(state, **strength).items() if mode != "screw_tension")
