"""Write thread_repair/data/boss_wall_factor.csv: certified bounds of bosses over the formula.

    python tests/benchmarks/boss_wall_table.py [--jobs 2] [--cache FILE]

Every row is an envelope over the pitches named in its clause: the least lower and the greatest
upper bound, with the 60 degree basic profile of unit major diameter. The repaired state has the
insert's wire as deformable rings. Takes about half an hour on two cores; finished cases are kept
in the cache file, so that a stopped run goes on.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
from concurrent.futures import ProcessPoolExecutor
from math import sqrt
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from thread_repair.strength.collapse.bounds import boss_bounds
from thread_repair.strength.collapse.profile import Coil

BOSS = (1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.2, 2.5, 3.0)
ENGAGEMENT = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 3.0)
#: Major diameter of the tapped hole over the pitch, by state and engagement: M6 to M12 coarse and
#: fine pitches; the insert hole of M8 is 7.7 pitches wide, that of M10x1 11.3.
DIAMETER_OVER_PITCH = {"original": (6, 8, 12), "repaired": (8, 12)}
#: From this engagement on one pitch only: the wall governs, and the loads of the pitches differ by
#: 1 %.
LONG, LONG_DIAMETER_OVER_PITCH = 1.25, (8,)
#: The wire of 18-8 steel (1379 MPa at least) is that much stronger than parents up to 460 MPa.
WIRE_OVER_PARENT = 3.0
H = sqrt(3) / 2
COLUMNS = (
    "state", "support", "engagement_over_major", "boss_over_major", "lower", "upper", "triangles",
    "source", "clause", "how_known",
)  # fmt: skip


def profile(state: str, pitch: float) -> dict:
    """Basic 60 degree profile of unit major diameter, with the wire of a repaired hole."""
    nominal = 1 - 1.5 * H * pitch
    wire = Coil(
        screw_major=nominal,
        inner=nominal - 1.25 * H * pitch,
        middle=nominal,
        outer=1.0,
        width=0.875 * pitch,
        flow_ratio=WIRE_OVER_PARENT,
    )
    return {
        "screw_major": 1.0,
        "hole_major": 1.0,
        "hole_pitch_diameter": 1 - 0.75 * H * pitch,
        "hole_minor": 1 - 1.25 * H * pitch,
        "pitch": pitch,
        "coil": wire if state == "repaired" else None,
    }


def bounds(
    state: str,
    support: str,
    engagement: float,
    boss: float,
    ratio: int,
    bearing: float | None = None,
) -> dict:
    found = boss_bounds(
        **profile(state, 1 / ratio),
        n_pitches=round(engagement * ratio),
        boss_diameter=boss,
        support=support,
        bearing_diameter=bearing,
    )
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
        for state, ratios in DIAMETER_OVER_PITCH.items()
        for ratio in (ratios if engagement < LONG else LONG_DIAMETER_OVER_PITCH)
        if (engagement * ratio).is_integer()
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
        for state in DIAMETER_OVER_PITCH:
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
