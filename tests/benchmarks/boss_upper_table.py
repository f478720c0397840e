"""Write tests/benchmarks/boss_upper.csv: certified upper bounds of 300 random bosses.

    python tests/benchmarks/boss_upper_table.py

Bosses of 1.25 to 2.3 and engagements of 0.4 to 3 major diameters of the hole tapped, either support,
both states, of pitches of a sixth to a twelfth of that diameter; seeded. `tests/test_collapse_wall.py`
holds the wall factor against each and solves a few again. Rows that stand in the file are kept, so
that a stopped run goes on. Takes about half an hour.
"""

import csv
import os
from math import pi, sqrt
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from thread_repair.strength.collapse.bounds import collapse_mechanism
from thread_repair.verification.collapse import profile

SEED, COUNT = 20260701, 300
COLUMNS = ("state", "support", "diameter_over_pitch", "boss_over_major", "n_pitches", "upper")
TARGET = Path(__file__).with_name("boss_upper.csv")


def bosses() -> list[tuple[str, str, int, float, int]]:
    random = np.random.default_rng(SEED)
    found = []
    for _ in range(COUNT):
        state = str(random.choice(("original", "repaired")))
        support = str(random.choice(("base", "face")))
        boss = round(float(random.uniform(1.25, 2.3)), 3)
        engagement = float(random.uniform(0.4, 3.0))
        # A long engagement of a fine pitch takes minutes; the table has one pitch there too.
        fine = (8, 12) if state == "repaired" else (6, 8, 12)
        ratio = int(random.choice(fine if engagement < 1.25 else (8,)))
        found.append((state, support, ratio, boss, round(engagement * ratio)))
    return found


def upper(state: str, support: str, ratio: int, boss: float, n_pitches: int) -> float:
    """Certified upper bound over the load of the area formula, of the basic 60 degree profile."""
    pitch = 1 / ratio
    found = collapse_mechanism(
        **profile(state, pitch),
        n_pitches=n_pitches,
        boss_diameter=boss,
        support=support,
    )
    # ISO 68-1: the ridge is 7/8 of the pitch thick at the major diameter
    return found.upper / (n_pitches * pi * 7 / 8 * pitch / sqrt(3))


def main() -> None:
    known = {}
    if TARGET.exists():
        with TARGET.open(newline="") as file:
            known = {tuple(row[:-1]): row for row in csv.reader(file)}
    with TARGET.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for case in bosses():
            key = tuple(str(each) for each in case)
            writer.writerow(known.get(key) or (*key, f"{upper(*case):.5f}"))
            file.flush()


if __name__ == "__main__":
    main()
