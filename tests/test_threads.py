"""Threads by designation, and the limits of the one everybody knows."""

from __future__ import annotations

from thread_repair import threads


def test_m8_limits() -> None:
    m8 = threads.thread("M8")
    screw = threads.external_limits(m8, "6g")
    hole = threads.internal_limits(m8, "6H")
    assert (screw.major_max, screw.major_min) == (7.972, 7.760)
    assert (screw.pitch_max, screw.pitch_min) == (7.160, 7.042)
    assert (hole.minor_min, hole.minor_max) == (6.647, 6.912)
    assert (hole.pitch_min, hole.pitch_max) == (7.188, 7.348)
