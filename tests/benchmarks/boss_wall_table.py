"""Write thread_repair/data/boss_wall_factor.csv: certified bounds of bosses over the formula.

    python tests/benchmarks/boss_wall_table.py [--jobs 2] [--cache FILE]

Every row is an envelope over the pitches named in its clause: the least lower and the greatest
upper bound, with the 60 degree basic profile of unit major diameter. The repaired state has the
insert's wire as deformable rings. Takes about half an hour on two cores; finished cases are kept
in the cache file, so that a stopped run goes on.
"""

import argparse
import csv
import json
import os
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from thread_repair.verification.collapse import WIRE_OVER_PARENT, pitches, solve_boss

BOSS = (1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.2, 2.5, 3.0)
ENGAGEMENT = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 3.0)
STATES = ("original", "repaired")
COLUMNS = (
    "state", "support", "engagement_over_major", "boss_over_major", "lower", "upper", "triangles",
    "source", "clause", "how_known",
)  # fmt: skip


def bounds(*case: Any) -> dict:
    found = solve_boss(*case)
    return {
        "lower": found.lower / found.formula,
        "upper": found.upper / found.formula,
        "triangles": found.triangles,
    }


def _bounds(case: tuple) -> dict:
    return bounds(*case)


def cases() -> list[tuple]:
    return [
        (state, support, engagement, boss, ratio)
        for engagement in ENGAGEMENT
        for state in STATES
        for ratio in pitches(state, engagement)
        for support in ("base", "face")
        for boss in BOSS
    ]


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--cache", type=Path, default=Path("boss_wall_cache.jsonl"))
    options = parser.parse_args()
    done = {}
    if options.cache.exists():
        for line in options.cache.read_text().splitlines():
            record = json.loads(line)
            done[tuple(record["case"])] = record
    wanted = cases()
    open_cases = [case for case in wanted if case not in done]
    with ProcessPoolExecutor(options.jobs) as pool, options.cache.open("a") as cache:
        for case, found in zip(open_cases, pool.map(_bounds, open_cases), strict=True):
            done[case] = {"case": case, **found}
            cache.write(json.dumps(done[case]) + "\n")
            cache.flush()
    target = Path(__file__).parents[2] / "thread_repair/data/boss_wall_factor.csv"
    with target.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for state in STATES:
            for support in ("base", "face"):
                for engagement in ENGAGEMENT:
                    for boss in BOSS:
                        here = {
                            case[4]: found
                            for case, found in done.items()
                            if case in wanted and case[:4] == (state, support, engagement, boss)
                        }
                        ratios = ", ".join(f"1/{ratio}" for ratio in sorted(here))
                        wire = f"; wire {WIRE_OVER_PARENT:g} x parent" * (state == "repaired")
                        writer.writerow(
                            (
                                state, support, engagement, boss,
                                f"{min(f['lower'] for f in here.values()) - 5e-5:.4f}",
                                f"{max(f['upper'] for f in here.values()) + 5e-5:.4f}",
                                max(f["triangles"] for f in here.values()),
                                "limit-analysis",
                                f"tests/benchmarks/boss_wall_table.py; pitch/major {ratios}{wire}",
                                "derived",
                            )
                        )  # fmt: skip


if __name__ == "__main__":
    main()
