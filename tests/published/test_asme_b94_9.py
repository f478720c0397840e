"""ASME B94.9-2008 (R2018), Taps: Ground and Cut Threads, limits of insert taps.

Read in Machinery's Handbook, 31st edition, p. 1006 Table 25 (inch) and p. 1007 Table 26a (metric,
printed in inches). The copies read had lost their row alignment: inch rows were matched through
the printed threads per inch, metric rows through pitch and H number and by value. The rows of
1/4-20 and 3/8-16 are matched by value alone.

The tables are of taps, not of holes. They check the holes twice: a tap's least pitch diameter
lies (n - 1) steps of 0.0005 in above the hole's basic pitch diameter, n the H number; and the tap
of a class cuts a hole within that class.
"""

import pytest

from thread_repair import inserts
from thread_repair.threads import thread

INCH = 25.4
STEP = 0.0005
#: Printed to 0.0001 in; the step and the basic size are each rounded once.
PRINTED = 0.00012

#: thread; least pitch diameter of the 2B tap and its H number; the same of the 3B tap; least
#: major diameter. Inches.
INCH_TAPS = [
    ("#1-64 UNC", 0.0837, 2, 0.0832, 1, 0.0948),
    ("#2-56 UNC", 0.0981, 2, 0.0976, 1, 0.1107),
    ("#3-48 UNC", 0.1131, 2, 0.1126, 1, 0.1289),
    ("#3-56 UNF", 0.1111, 2, 0.1106, 1, 0.1237),
    ("#4-48 UNF", 0.1261, 2, 0.1256, 1, 0.1409),
    ("#6-32 UNC", 0.1593, 3, 0.1588, 2, 0.1807),
    ("#8-36 UNF", 0.1826, 2, 0.1821, 1, 0.2022),
    ("#10-32 UNF", 0.2113, 3, 0.2108, 2, 0.2327),
    ("#12-24 UNC", 0.2440, 3, 0.2435, 2, 0.2725),
    ("1/4-20 UNC", 0.2835, 3, 0.2830, 2, 0.3177),
    ("5/16-18 UNC", 0.3501, 4, 0.3496, 3, 0.3874),
    ("5/16-24 UNF", 0.3405, 3, 0.3400, 2, 0.3690),
    ("3/8-24 UNF", 0.4030, 3, 0.4025, 2, 0.4315),
    ("7/16-14 UNC", 0.4854, 4, 0.4849, 3, 0.5333),
    ("7/16-20 UNF", 0.4715, 4, 0.4710, 3, 0.5052),
    ("1/2-13 UNC", 0.5514, 4, 0.5509, 3, 0.6032),
    ("1/2-20 UNF", 0.5340, 4, 0.5335, 3, 0.5677),
]

#: thread; least pitch diameter of the 4H tap, inches, and its H number.
METRIC_TAPS = [
    ("M2.5x0.45", 0.1100, 1),
    ("M3x0.5", 0.1309, 1),
    ("M4x0.7", 0.1759, 2),
    ("M6x1", 0.2624, 2),
    ("M7x1", 0.3017, 2),
    ("M8x1", 0.3411, 2),
    ("M8x1.25", 0.3475, 2),
    ("M12x1.25", 0.5054, 3),
    ("M14x1.5", 0.5906, 3),
    ("M14x2", 0.6034, 3),
    ("M18x1.5", 0.7480, 3),
    ("M18x2.5", 0.7736, 3),
    ("M20x2", 0.8396, 3),
    ("M22x1.5", 0.9055, 3),
    ("M22x2", 0.9183, 3),
    ("M22x2.5", 0.9311, 3),
]

BY_CLASS = [(name, "2B", low, n) for name, low, n, *_ in INCH_TAPS]
BY_CLASS += [(name, "3B", low, n) for name, _, _, low, n, _ in INCH_TAPS]
BY_CLASS += [("3/8-16 UNC", "2B", 0.4171, 4), ("3/8-16 UNC", "3B", 0.4166, 3)]
BY_CLASS += [(name, "4H", low, n) for name, low, n in METRIC_TAPS]


@pytest.mark.parametrize(("name", "hole_class", "tap_least", "h_number"), BY_CLASS)
def test_tap_lies_h_steps_above_the_basic_pitch_diameter(name, hole_class, tap_least, h_number):
    hole = inserts.insert_hole(thread(name), hole_class)
    assert tap_least == pytest.approx(hole.pitch_min / INCH + STEP * (h_number - 1), abs=PRINTED)


@pytest.mark.parametrize(("name", "hole_class", "tap_least", "h_number"), BY_CLASS)
def test_tap_cuts_a_hole_of_its_class(name, hole_class, tap_least, h_number):
    hole = inserts.insert_hole(thread(name), hole_class)
    tap_most = tap_least + STEP
    assert hole.pitch_min / INCH - 0.00005 <= tap_least
    assert tap_most <= hole.pitch_max / INCH


@pytest.mark.parametrize(("name", "tap_major"), [(row[0], row[5]) for row in INCH_TAPS])
def test_tap_major_diameter_exceeds_the_basic_one(name, tap_major):
    assert tap_major > inserts.insert_hole(thread(name), "3B").major_min / INCH
