"""Time and memory of the sampling: run by hand, prints ratios to a yardstick.

    python tests/benchmarks/bench_reliability.py

The yardstick is a plain NumPy draw of as many normal values as the joint has random inputs, which
no simulation can do without.
"""

import resource
import subprocess
import sys
import time

import numpy as np

import thread_repair as tr
from thread_repair.uncertainty.reliability.model import random_variables
from thread_repair.uncertainty.reliability.sampling import simulate

#: The same joint as a user would ask for it, every input scattering.
MODEL = tr.study(
    tr.read(
        {"thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6", "engagement": "10 mm",
         "insert_length": "1.5 D", "screw_reach": "11 mm", "design_load": "9 kN",
         "load_scatter": "0.1", "torque": "25 N·m", "friction": "0.12 to 0.18", "samples": "1000"}
    )
).chances.model  # fmt: skip


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
