"""BS 84, parallel screw threads of Whitworth form.

Form and basic sizes are in `data/printed/bs_84.csv`. No table of limits could be read: the tolerances are recalled, and what this file says
of them are regression values, not checks.

Not among the values, because misprinted: the crest height at 40 threads per inch.
"""

import pytest

from thread_repair import threads
from thread_repair.threads import whitworth


def test_largest_screw_and_least_hole_are_basic() -> None:
    """Machinery's Handbook, 27th ed., p. 1857: the basic sizes are those of a close screw."""
    for thread in whitworth.known():
        basic = threads.basic_diameters(thread)
        screw = threads.external_limits(thread, "close")
        hole = threads.internal_limits(thread, "medium")
        assert (screw.major_max, screw.pitch_max, screw.minor_max) == (
            basic.major, basic.pitch, basic.minor,
        )  # fmt: skip
        assert (hole.major_min, hole.pitch_min, hole.minor_min) == (
            basic.major, basic.pitch, basic.minor,
        )  # fmt: skip


def test_recalled_tolerances_are_marked() -> None:
    thread = threads.thread("1/2 BSW")
    for limits in (
        threads.external_limits(thread, "medium"),
        threads.internal_limits(thread, "medium"),
    ):
        assert any(r.source == "bs-84" and not r.confirmed for r in limits.references)


def test_recalled_limits_of_half_inch_whitworth() -> None:
    """Regression: T = 0.00515 in, allowance 0.3 T, L = D."""
    thread = threads.thread("1/2 BSW")
    screw = threads.external_limits(thread, "medium")
    hole = threads.internal_limits(thread, "medium")
    inches = [
        round(x / 25.4, 4)
        for x in (screw.major_max, screw.major_min, screw.pitch_max, screw.pitch_min,
                  hole.minor_min, hole.minor_max, hole.pitch_min, hole.pitch_max)
    ]  # fmt: skip
    assert inches == [0.4985, 0.4905, 0.4451, 0.4399, 0.3933, 0.4170, 0.4466, 0.4518]


@pytest.mark.parametrize(
    ("name", "screw", "hole", "stress_area"),
    [
        # T = 0.002 x 1.2599 + 0.003 x 1.4142 + 0.005 x 0.4714 = 0.00912 in; 0.01 p^(1/2) 0.00471;
        # depth 0.640327/4.5 = 0.1423: effective 1.8577, minor 1.7154; 0.2/4.5 + 0.007 = 0.0514
        ("2 BSW", (2.0, 1.9862, 1.8577, 1.8486), (1.7154, 1.7668, 1.8577, 1.8668), 2.5069),
        # T = 0.00252 + 0.00424 + 0.005 x 0.37796 = 0.00865 in; two depths 0.18295; 0.2/7 + 0.007 = 0.0356
        ("2 BSF", (2.0, 1.9876, 1.9085, 1.8998), (1.8170, 1.8526, 1.9085, 1.9172), 2.7253),
    ],
)
def test_sizes_above_an_inch_and_a_half_go_by_the_same_formulas(
    name: str, screw: tuple[float, ...], hole: tuple[float, ...], stress_area: float
) -> None:
    """By hand from the recalled formulas, medium classes, inches; no allowance above 3/4 in.

    Stress area: pi/4 (2 - 1.5 x 0.640327 p)^2.
    """
    thread = threads.thread(name)
    outer = threads.external_limits(thread, "medium")
    inner = threads.internal_limits(thread, "medium")
    found = (outer.major_max, outer.major_min, outer.pitch_max, outer.pitch_min)
    assert [round(x / 25.4, 4) for x in found] == list(screw)
    found = (inner.minor_min, inner.minor_max, inner.pitch_min, inner.pitch_max)
    assert [round(x / 25.4, 4) for x in found] == list(hole)
    assert threads.stress_area(thread) / 25.4**2 == pytest.approx(stress_area, abs=1e-4)
    assert not any(r.confirmed for r in thread.references if r.source == "bs-84")


def test_recalled_allowance_ends_at_three_quarters() -> None:
    """Regression: medium and free screws up to 3/4 in lie below basic, close ones never."""
    for name, below in (("3/4 BSW", 0.0018), ("7/8 BSW", 0.0)):
        thread = threads.thread(name)
        for screw_class, allowance in (("medium", below), ("free", below), ("close", 0.0)):
            screw = threads.external_limits(thread, screw_class)
            assert (thread.major - screw.major_max) / 25.4 == pytest.approx(allowance, abs=1e-9)


def test_recalled_minor_diameter_tolerances() -> None:
    """Regression, 1/2 BSW: 2T/3 + 0.013 p^(1/2) close, T + 0.02 p^(1/2) medium, 3T/2 free."""
    thread = threads.thread("1/2 BSW")
    for screw_class, tolerance in (("close", 0.0072), ("medium", 0.0109), ("free", 0.0135)):
        screw = threads.external_limits(thread, screw_class)
        assert round((screw.minor_max - screw.minor_min) / 25.4, 4) == tolerance
    for name, tolerance in (("1/2 BSW", 0.0237), ("3/16 BSW", 0.0133), ("1/4 BSF", 0.0117)):
        assert (
            round(threads.internal_tolerances(threads.thread(name), "close").minor / 25.4, 4)
            == tolerance
        )
