"""ASME B1.1, Unified inch screw threads.

What was read stands in `data/printed/asme_b1_1.csv`.

Known differences, each in the last digit and marked in the file:
- Sizes between the main ones (15/16, 2 3/8, 5 3/4): the table prints the tolerance of the next
  larger size, which this test shows; we take the formula at the thread's own diameter.
- Minor diameter of the rounded root, a reference dimension.
- 15/16-12 UN-3A pitch diameter minimum, which no rounding of the formula gives.

Not among the values, because misprinted in the charts: 2-56 and 1/2-13 D1min, 3-48, 9/16-12 and
1 1/2-6 D2max (UNC-2B); 3/4-16 and 1-12 minor diameter of the screw (UNF).
"""

from dataclasses import replace

import pytest

from thread_repair import threads
from thread_repair.verification.checks import printed_values

NEXT_LARGER = [
    each
    for each in printed_values()
    if "next larger" in each.known_difference
    and (each.quantity, each.arguments["limit"]) == ("hole_limit", "pitch_max")
]


@pytest.mark.parametrize("row", NEXT_LARGER, ids=lambda row: " ".join(row.arguments.values()))
def test_printed_tolerance_of_the_next_larger_size(row):
    thread, hole_class = threads.thread(row.arguments["thread"]), row.arguments["class"]
    next_larger = float(row.known_difference.split()[-2]) * 25.4
    tolerance = threads.internal_tolerances(thread, hole_class, at_diameter=next_larger).pitch
    least = threads.internal_limits(thread, hole_class).pitch_min
    assert round((least + tolerance) / 25.4, 4) == float(row.text)


def test_some_print_the_tolerance_of_the_next_larger_size():
    assert NEXT_LARGER


def test_length_of_engagement_of_8_un_is_the_diameter() -> None:
    """Machinery's Handbook, 27th ed., p. 1755: tolerance 0.0082 in; nine pitches give 0.0074."""
    thread = threads.thread("2 1/2-8 UN")
    screw = threads.external_limits(thread, "2A")
    assert [round(x / 25.4, 4) for x in (screw.pitch_max, screw.pitch_min)] == [2.4164, 2.4082]
    # A special thread of that size has tolerances for nine pitches.
    short = threads.external_limits(replace(thread, series="UNS"), "2A")
    assert round((short.pitch_max - short.pitch_min) / 25.4, 4) == 0.0074
