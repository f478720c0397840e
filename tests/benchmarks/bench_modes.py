"""How long do a million joints take, beside the area formula alone?

Run: python tests/benchmarks/bench_modes.py

The bare expression is the area of the parent's thread in plain numpy with every input an array.
Two populations: one screw in many holes of scattered size and strength (a Monte Carlo run), and
joints that share nothing. The check of the inputs, which the bare formula does without, is shown
beside.
"""

import time
from collections.abc import Callable

import numpy as np

from thread_repair.strength.modes import capacities
from thread_repair.strength.strip import StripInputs
from thread_repair.threads.profile import TAN_30

COUNT = 1_000_000


def best(run: Callable[[], object], repeats: int = 15) -> float:
    """Shortest of several runs in milliseconds of processor time: other work does not count."""
    times = []
    for _ in range(repeats):
        start = time.thread_time()
        run()
        times.append(time.thread_time() - start)
    return 1e3 * min(times)


def main() -> None:
    rng = np.random.default_rng(1)

    def draw(low: float, high: float) -> np.ndarray:
        return rng.uniform(low, high, COUNT)

    varied = {
        "length": draw(6, 16),
        "external_major": draw(9.45, 9.62),
        "external_pitch_diameter": draw(7.04, 7.16),
        "internal_minor": draw(6.65, 6.91),
        "internal_pitch_diameter": draw(8.81, 8.94),
        "parent_shear": draw(80, 300),
        "parent_tensile": draw(130, 450),
        "screw_tensile_min": draw(800, 1000),
        "screw_shear": draw(480, 600),
        "boss_diameter": draw(14, 24),
    }
    alike = {
        "pitch": 1.25,
        "major_basic": 8.0,
        "hole_minor": 8.271,
        "hole_major_basic": 9.624,
        "screw_tensile_max": 1040.0,
        "stress_area": 36.609,
    }
    more = {"screw_major": draw(7.76, 7.97), "insert_pitch_diameter": draw(7.19, 7.35)}
    alike_more = {"wire_shear": 597.6, "flow_stress": 265.0}
    spread = {name: np.full(COUNT, value) for name, value in (alike | alike_more).items()}
    steel = {"parent_tensile": draw(130, 1400)}

    def bare() -> np.ndarray:
        d, D2 = varied["external_major"], varied["internal_pitch_diameter"]
        L, P = varied["length"], spread["pitch"]
        return np.pi * d * (L / P) * (P / 2 + (d - D2) * TAN_30)

    def joints(hole: dict, other: dict) -> Callable[[], StripInputs]:
        return lambda: StripInputs(state="repaired", **hole, **other)

    apart = {name: spread[name] for name in alike}
    apart_more = {name: spread[name] for name in alike_more}
    grid = {
        "length": np.linspace(6, 16, 1000)[:, None],
        "parent_shear": np.linspace(80, 300, 1000),
        "parent_tensile": np.linspace(130, 450, 1000),
    }
    middle = {name: float(np.mean(values)) for name, values in (varied | more).items()}
    one = {name: middle[name] for name in varied}, {name: middle[name] for name in more}
    cases = {
        "grid of lengths and parents": joints(one[0] | alike | grid, one[1] | alike_more),
        "one screw, scattered holes in light metal": joints(varied | alike, more | alike_more),
        "the same in light metal to steel": joints(varied | alike | steel, more | alike_more),
        "nothing shared, light metal": joints(varied | apart, more | apart_more),
        "nothing shared, light metal to steel": joints(varied | apart | steel, more | apart_more),
    }
    fresh = best(bare)
    print(f"{COUNT:,} joints, all modes, one core")
    print(f"bare area formula {fresh:.1f} ms before the process holds memory to reuse, then:")
    for name, build in cases.items():
        inputs = build()
        area, took = best(bare), best(lambda inputs=inputs: capacities(inputs))
        print(
            f"{name}: {took:.1f} ms, {took / fresh:.1f} times the bare area formula in a fresh "
            f"process, {took / area:.1f} times where memory is reused ({area:.1f} ms); "
            f"checking the inputs {best(build):.1f} ms"
        )


if __name__ == "__main__":
    main()
