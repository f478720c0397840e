"""ASME B94.9-2008 (R2018), Taps: Ground and Cut Threads, limits of insert taps.

Read in Machinery's Handbook, 31st edition, p. 1006 Table 25 (inch) and p. 1007 Table 26a (metric,
printed in inches). The copies read had lost their row alignment: inch rows were matched through
the printed threads per inch, metric rows through pitch and H number and by value. The rows of
1/4-20 and 3/8-16 are matched by value alone.

The tables are of taps, not of holes. They check the holes twice: a tap's least pitch diameter
lies (n - 1) steps of 0.0005 in above the hole's basic pitch diameter, n the H number
(`data/printed/inserts.csv`); and the tap of a class cuts a hole within that class.
"""

import pytest

from thread_repair import inserts
from thread_repair.threads import thread
from thread_repair.verification.checks import printed_values

INCH = 25.4
STEP = 0.0005
#: Least major diameter of the tap, in.
TAP_MAJORS = [
    ("#1-64 UNC", 0.0948),
    ("#2-56 UNC", 0.1107),
    ("#3-48 UNC", 0.1289),
    ("#3-56 UNF", 0.1237),
    ("#4-48 UNF", 0.1409),
    ("#6-32 UNC", 0.1807),
    ("#8-36 UNF", 0.2022),
    ("#10-32 UNF", 0.2327),
    ("#12-24 UNC", 0.2725),
    ("1/4-20 UNC", 0.3177),
    ("5/16-18 UNC", 0.3874),
    ("5/16-24 UNF", 0.3690),
    ("3/8-24 UNF", 0.4315),
    ("7/16-14 UNC", 0.5333),
    ("7/16-20 UNF", 0.5052),
    ("1/2-13 UNC", 0.6032),
    ("1/2-20 UNF", 0.5677),
    ("3/8-16 UNC", 4),
]

TAPS = [each for each in printed_values() if each.quantity == "tap_pitch_minimum"]


def test_tap_cuts_a_hole_of_its_class(every):
    @every(TAPS, name=lambda tap: " ".join(tap.arguments.values()))
    def _(tap):
        hole = inserts.insert_hole(thread(tap.arguments["thread"]), tap.arguments["class"])
        tap_least = float(tap.text)
        tap_most = tap_least + STEP
        assert hole.pitch_min / INCH - 0.00005 <= tap_least
        assert tap_most <= hole.pitch_max / INCH


@pytest.mark.parametrize(("name", "tap_major"), TAP_MAJORS)
def test_tap_major_diameter_exceeds_the_basic_one(name, tap_major):
    assert tap_major > inserts.insert_hole(thread(name), "3B").major_min / INCH
