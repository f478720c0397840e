"""Hold thread_repair/data/thread_overlap.csv against certified upper bounds of random threads.

    python tests/benchmarks/overlap_check.py [COUNT] [REFINEMENT]

Profiles of every depth, root, diameter and flank angle, overlapping from a little to the full
height. Whatever the profile, the bound over the area formula follows the bearing ratio; the least
bound found in each band of it is printed beside the table. The table was drawn below the least of
some 600 bounds at refinement 1 and 100 at refinement 2, and 1 where the shear cylinder bounds.
"""

import math
import sys

import numpy as np

from thread_repair.errors import GeometryError
from thread_repair.strength.collapse.bounds import cell_bounds
from thread_repair.strength.collapse.certificate import NotCertifiedError
from thread_repair.strength.overlap import bearing_ratio, overlap_factor


def profile(rng: np.random.Generator) -> dict[str, float]:
    """Sizes of one thread of pitch 1, drawn by its bearing ratio."""
    angle = float(rng.choice([60.0, 60.0, 55.0]))
    slope = math.tan(math.radians(angle / 2))
    ratio = rng.uniform(0.02, 1.6)
    crest = math.exp(rng.uniform(math.log(2.4), math.log(40)))
    thickness = rng.uniform(0.55, 0.92)  # of the ridge at the shear cylinder
    pressure = 2 * (1 + math.atan(slope))
    inside = crest**2 - 4 * crest * thickness * ratio / pressure
    return {
        "screw_major": crest,
        "hole_minor": math.sqrt(max(inside, 0.25)),
        "hole_pitch_diameter": crest - (thickness - 0.5) / slope,
        "hole_major": crest + 2 * rng.uniform(0, 0.35),
        "pitch": 1.0,
        "flank_angle": angle,
    }


def main(count: int, refinement: int) -> None:
    rng = np.random.default_rng(3)
    found = []
    while len(found) < count:
        at = profile(rng)
        ratio = float(
            bearing_ratio(
                at["pitch"],
                at["screw_major"],
                at["hole_minor"],
                at["hole_pitch_diameter"],
                tan_half_angle=math.tan(math.radians(at["flank_angle"] / 2)),
            )
        )
        try:
            bounds = cell_bounds(**at, refinement=refinement)
        except (GeometryError, NotCertifiedError):
            continue
        found.append((ratio, bounds.upper / bounds.formula - float(overlap_factor(ratio))))
    above = [each for each in found if each[1] < -1e-3]
    print(f"{count} bounds, {len(above)} below the table by more than 0.001")
    for low in np.arange(0, 1.6, 0.1):
        band = [gap for ratio, gap in found if low <= ratio < low + 0.1]
        if band:
            print(f"{low:.1f} to {low + 0.1:.1f}: {len(band)}, least bound {min(band):+.4f} above")


if __name__ == "__main__":
    main(*(int(each) for each in (*sys.argv[1:], *("400", "1")[len(sys.argv) - 1 :])))
