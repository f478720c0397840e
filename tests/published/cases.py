"""M8x1.25 in 6061-T6 with a screw of class 8.8: the holes the published checks share.

ISO 965-1 limits 6H/6g and, for the insert hole, 5H on d + 1.299038 P (from memory, confirmed by
the printed shear areas for the original hole); Rm 42 ksi and Fsu 27 ksi of 6061-T6, MIL-HDBK-5
Table 3.6.2.0(b1) (Fsu read, Rm from memory); ISO 898-1 class 8.8.
"""

from typing import Any

from thread_repair.strength.strip import StripInputs

P = 1.25
ORIGINAL: dict[str, Any] = {
    "state": "original",
    "length": 8.0,
    "pitch": P,
    "major_basic": 8.0,
    "external_major": 7.760,
    "external_pitch_diameter": 7.042,
    "internal_minor": 6.912,
    "internal_pitch_diameter": 7.348,
    "hole_minor": 6.912,
    "hole_major_basic": 8.0,
    "parent_shear": 186.2,
    "parent_tensile": 289.6,
    "screw_tensile_min": 800.0,
    "screw_tensile_max": 1000.0,
    "screw_shear": 480.0,
    "stress_area": 36.609,
}
INSERT: dict[str, Any] = ORIGINAL | {
    "state": "repaired",
    "external_major": 8 + 1.299038 * P,
    "internal_pitch_diameter": 8.9369,
    "hole_minor": 8.271,
    "hole_major_basic": 8 + 1.299038 * P,
}


def original_hole(**changes: Any) -> StripInputs:
    return StripInputs(**(ORIGINAL | changes))


def insert_hole(**changes: Any) -> StripInputs:
    return StripInputs(**(INSERT | changes))
