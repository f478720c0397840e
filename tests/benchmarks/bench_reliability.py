"""Time and memory of the sampling: run by hand, prints ratios to a yardstick.

    python tests/benchmarks/bench_reliability.py

The yardstick is a plain NumPy draw of as many normal values as the joint has random inputs, which
no simulation can do without.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time

import numpy as np
from scipy import stats

from thread_repair.uncertainty.reliability.distributions import strength, tolerance, uniform
from thread_repair.uncertainty.reliability.model import JointModel, StateModel, random_variables
from thread_repair.uncertainty.reliability.sampling import simulate

MODEL = JointModel(
    pitch=1.25,
    original=StateModel(
        outside_diameter=tolerance(7.760, 7.972),
        hole_pitch_diameter=stats.beta(4, 4, 7.188, 0.16),
        full_thread=uniform(9.0, 10.0),
    ),
    repaired=StateModel(
        outside_diameter=stats.triang(0.5, 9.45, 0.174),
        hole_pitch_diameter=stats.beta(4, 4, 8.812, 0.125),
        full_thread=uniform(9.0, 9.4),
        set_down=uniform(0.3, 0.6),
    ),
    parent_shear_strength=strength(186, basis="A", cov=0.04),
    screw_tensile_strength=strength(800, basis="minimum", cov=0.03),
    stress_area=36.6,
    load=stats.norm(20000, 2500),
    preload_place=uniform(0.0, 1.0),
)


def _best(run, repeats=3) -> float:
    times = []
    for _ in range(repeats):
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    if len(sys.argv) > 1:
        found = simulate(MODEL, seed=1, n=10_000_000)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{found.n:,} joints, both states: peak memory {peak:.0f} MB (limit 500 MB)")
        return
    inputs = len(random_variables(MODEL))
    simulate(MODEL, seed=1, n=1000)
    ours = _best(lambda: simulate(MODEL, seed=1, n=1_000_000))
    generator = np.random.default_rng(1)
    yardstick = _best(lambda: generator.standard_normal((1_000_000, inputs)))
    print(f"1,000,000 joints, both states, {inputs} random inputs: {ours:.3f} s of one core")
    print(f"yardstick, as many normal values: {yardstick:.3f} s; ratio {ours / yardstick:.1f}")
    print(f"limit 2 s: ratio {ours / 2:.2f}")
    subprocess.run([sys.executable, __file__, "memory"], check=True)


if __name__ == "__main__":
    main()
