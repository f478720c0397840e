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

from thread_repair.reliability import (
    JointModel,
    Normal,
    StateModel,
    random_variables,
    simulate,
    strength,
    tolerance,
)

MODEL = JointModel(
    pitch=1.25,
    original=StateModel(
        outside_diameter=tolerance(7.760, 7.972),
        hole_pitch_diameter=tolerance(7.188, 7.348, shape="beta"),
        full_thread=tolerance(9.0, 10.0, shape="uniform"),
    ),
    repaired=StateModel(
        outside_diameter=tolerance(9.45, 9.624, shape="triangular"),
        hole_pitch_diameter=tolerance(8.812, 8.937, shape="beta"),
        full_thread=tolerance(9.0, 9.4, shape="uniform"),
        set_down=tolerance(0.3, 0.6, shape="uniform"),
    ),
    parent_shear_strength=strength(186, basis="A", cov=0.04, shape="weibull"),
    screw_tensile_strength=strength(800, basis="minimum", cov=0.03, shape="lognormal"),
    stress_area=36.6,
    load=Normal(mean=20000, sd=2500),
    preload=lambda friction: 2000 * 0.14 / friction,
    friction=tolerance(0.10, 0.18),
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
    print(f"limit 0.5 s: ratio {ours / 0.5:.2f}")
    subprocess.run([sys.executable, __file__, "memory"], check=True)


if __name__ == "__main__":
    main()
