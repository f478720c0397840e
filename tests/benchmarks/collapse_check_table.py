"""Write thread_repair/data/collapse_check.csv: the area formula against certified bounds.

    python tests/benchmarks/collapse_check_table.py

One pitch in a thick wall, for every metric, UNC, UNF and Whitworth thread known by name, both
states, basic and minimum-material sizes, usual classes: a case with these sizes then needs no
solver. It takes about a quarter of an hour. The insert is rigid here: a wire at least three times
as strong as the parent gives the same bounds.
"""

import contextlib
import csv
import os
import re
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from thread_repair import threads
from thread_repair.errors import ValidityError
from thread_repair.threads import Thread
from thread_repair.verification.collapse import diameters, solve_cell

POSITIONS = ("basic", "minimum-material")
COLUMNS = (
    "designation", "state", "tolerance_position", "screw_major_mm", "hole_minor_mm",
    "hole_pitch_diameter_mm", "hole_major_mm", "pitch_mm", "flank_angle_deg",
    "area_per_pitch_mm2", "lower_over_formula", "upper_over_formula", "within", "triangles",
    "source", "clause", "how_known",
)  # fmt: skip


def chosen() -> list[Thread]:
    """Return the threads of the table: those that have limits in their usual classes."""
    found = []
    for thread in threads.known():
        if thread.system != "unified" or re.search(r"UN[CF]$", thread.designation):
            with contextlib.suppress(ValidityError):
                diameters(thread, "repaired", "minimum-material")
                found.append(thread)
    return found


def main() -> None:
    target = Path(__file__).parents[2] / "thread_repair/data/collapse_check.csv"
    with target.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for thread in chosen():
            usual = threads.default_classes(thread)
            for state in ("original", "repaired"):
                for position in POSITIONS:
                    at = diameters(thread, state, position)
                    found = solve_cell(at)
                    writer.writerow(
                        (
                            thread.designation, state, position,
                            *(f"{at[k]:.3f}" for k in (
                                "screw_major", "hole_minor", "hole_pitch_diameter", "hole_major",
                                "pitch",
                            )),
                            f"{thread.flank_angle:g}",
                            f"{found.formula * 3**0.5:.3f}",
                            f"{found.lower / found.formula - 5e-5:.4f}",
                            f"{found.upper / found.formula + 5e-5:.4f}",
                            "yes" if found.within else "no",
                            found.triangles,
                            "limit-analysis",
                            f"tests/benchmarks/collapse_check_table.py; {usual.screw}/{usual.hole}",
                            "derived",
                        )
                    )  # fmt: skip
                    print(
                        thread.designation,
                        state,
                        position,
                        f"{found.lower / found.formula:.3f} to {found.upper / found.formula:.3f}",
                    )


if __name__ == "__main__":
    main()
