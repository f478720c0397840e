"""Write thread_repair/data/face_bearing.csv: what a clearance hole takes from a boss on its face.

    python tests/benchmarks/face_bearing_table.py [--cache FILE]

The certified lower bound of a boss that bears on its face outside a clearance hole of 1.15 times
the major diameter of the tapped hole, over that of the same boss bearing from the tapped hole
outwards; 1 where the upper bound with the clearance hole is that of the thread alone, so that no
loss is certain. Of each boss the least of the engagements and of the wider bosses. Takes some
minutes.
"""

import argparse
import csv
import json
from math import floor
from pathlib import Path

from boss_wall_table import BOSS, bounds

BEARING = 1.15
#: Longer ones go by the area that bears, which `thread_repair.joint.wall` counts beside this.
ENGAGEMENT = (0.5, 1.0)
DIAMETER_OVER_PITCH = 8
NO_LOSS = 1e-4
COLUMNS = (
    "bearing_over_major", "boss_over_major", "factor", "source", "clause", "how_known",
)  # fmt: skip
TARGET = Path(__file__).parents[2] / "thread_repair/data/face_bearing.csv"


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--cache", type=Path, default=Path("face_bearing_cache.jsonl"))
    options = parser.parse_args()
    known = {}
    if options.cache.exists():
        for line in options.cache.read_text().splitlines():
            engagement, boss, factor = json.loads(line)
            known[engagement, boss] = factor
    with options.cache.open("a") as cache:
        for engagement in ENGAGEMENT:
            for boss in BOSS:
                if (engagement, boss) in known:
                    continue
                case = ("original", "face", engagement, boss, DIAMETER_OVER_PITCH)
                wide, whole = bounds(*case, BEARING), bounds(*case)
                known[engagement, boss] = (
                    1.0 if wide["upper"] > 1 - NO_LOSS else wide["lower"] / whole["lower"]
                )
                cache.write(json.dumps([engagement, boss, known[engagement, boss]]) + "\n")
                cache.flush()
    with TARGET.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for boss in BOSS:
            least = min(factor for (_, other), factor in known.items() if other >= boss)
            writer.writerow(
                (
                    BEARING, boss, f"{floor(1000 * least) / 1000:.3f}", "limit-analysis",
                    "tests/benchmarks/face_bearing_table.py; pitch/major 1/8", "derived",
                )
            )  # fmt: skip


if __name__ == "__main__":
    main()
