"""Write thread_repair/data/collapse_check.csv: the area formula against certified bounds.

    python tests/benchmarks/collapse_check_table.py

One pitch in a thick wall, for common sizes, both states, basic and minimum-material sizes
(6g screw, 6H holes). The insert is rigid here: a wire at least three times as strong as the
parent gives the same bounds.
"""

from __future__ import annotations

import csv
import os
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from thread_repair import inserts, threads
from thread_repair.strength.collapse import cell_bounds

SIZES = (
    "M3x0.5", "M4x0.7", "M5x0.8", "M6x1", "M8x1.25", "M8x1", "M10x1.5", "M10x1", "M12x1.75",
    "M12x1.25", "M14x2", "M16x2", "M16x1.5", "M20x2.5", "M24x3", "M24x2", "M30x3.5", "M36x4",
)  # fmt: skip
SCREW, HOLE = "6g", "6H"
POSITIONS = ("basic", "minimum-material")
COLUMNS = (
    "designation", "state", "tolerance_position", "screw_major_mm", "hole_minor_mm",
    "hole_pitch_diameter_mm", "hole_major_mm", "pitch_mm", "area_per_pitch_mm2",
    "lower_over_formula", "upper_over_formula", "within", "triangles",
    "source", "clause", "how_known",
)  # fmt: skip


def diameters(designation: str, state: str, position: str) -> dict[str, float]:
    """Crest of what is screwed in (the insert's outside when repaired), and the hole's sizes."""
    thread = threads.thread(designation)
    screw = threads.external_limits(thread, SCREW)
    hole = threads.internal_limits(thread, HOLE)
    crest = {"basic": thread.major, "minimum-material": screw.major_min}[position]
    if state == "repaired":
        hole = inserts.insert_hole(thread, HOLE)
        crest = inserts.insert_outside(thread, SCREW, position, hole_class=HOLE).diameter
    basic = position == "basic"
    return {
        "screw_major": crest,
        "hole_minor": hole.minor_min if basic else hole.minor_max,
        "hole_pitch_diameter": hole.pitch_min if basic else hole.pitch_max,
        "hole_major": hole.major_min,
        "pitch": thread.pitch,
    }


def main() -> None:
    target = Path(__file__).parents[2] / "thread_repair/data/collapse_check.csv"
    with target.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for designation in SIZES:
            for state in ("original", "repaired"):
                for position in POSITIONS:
                    sizes = diameters(designation, state, position)
                    found = cell_bounds(**sizes)
                    writer.writerow(
                        (
                            designation, state, position,
                            *(f"{sizes[k]:.3f}" for k in (
                                "screw_major", "hole_minor", "hole_pitch_diameter", "hole_major",
                                "pitch",
                            )),
                            f"{found.formula * 3**0.5:.3f}",
                            f"{found.lower / found.formula - 5e-5:.4f}",
                            f"{found.upper / found.formula + 5e-5:.4f}",
                            "yes" if found.within else "no",
                            found.triangles,
                            "limit-analysis",
                            f"tests/benchmarks/collapse_check_table.py; {SCREW}/{HOLE}",
                            "derived",
                        )
                    )  # fmt: skip
                    print(designation, state, position, found.statement, f"{found.seconds:.2f} s")


if __name__ == "__main__":
    main()
