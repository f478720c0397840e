"""ASME B18.29.2M-2005 (R2017), Helical Coil Screw Thread Inserts (Metric Series).

Hole depth, figure 1, read in Machinery's Handbook, 31st edition, p. 1746, and in the notes of the
standard. Examples and insert lengths as printed: `data/printed/inserts.csv`.
"""

import math

import pytest

from thread_repair import inserts
from thread_repair.strength.methods.asme_b18_29_2m import table_diameters
from thread_repair.threads import thread


@pytest.mark.parametrize(
    ("name", "length", "plug", "bottoming", "full_thread"),
    [
        # By hand from the printed rule: bottoming L+2P+1P+1P, plug L+4P+1P+1P and 0.5 D more up
        # to 8 mm, full thread L+1P.
        ("M8x1.25", 12.0, 23.5, 17.0, 13.25),
        ("M10x1.5", 15.0, 24.0, 21.0, 16.5),
        ("M6x1", 12.0, 21.0, 16.0, 13.0),
        ("M5x0.8", 7.5, 14.8, 10.7, 8.3),
        ("M12x1.75", 24.0, 34.5, 31.0, 25.75),
        ("M16x2", 24.0, 36.0, 32.0, 26.0),
    ],
)
def test_depths_by_the_printed_rule(name, length, plug, bottoming, full_thread):
    screw = thread(name)
    assert inserts.drill_depth(screw, length, "plug") == pytest.approx(plug, abs=1e-9)
    assert inserts.drill_depth(screw, length, "bottoming") == pytest.approx(bottoming, abs=1e-9)
    assert inserts.full_thread_min(screw, length) == pytest.approx(full_thread, abs=1e-9)


def test_fitted_length_of_m8_length_12():
    least, most = inserts.fitted_length(thread("M8x1.25"), 12.0)
    assert (round(least, 3), round(most, 3)) == (11.062, 11.375)


@pytest.mark.parametrize(
    ("name", "minor", "pitch", "major"),
    [
        # d + 0.216506 P, d + 0.649519 P, d + 1.299038 P by hand; the standard's Table 1 was not
        # read, its pitch diameters are confirmed by the taps of ASME B94.9.
        ("M8x1.25", 8.271, 8.812, 9.624),
        ("M10x1.5", 10.325, 10.974, 11.949),
    ],
)
def test_basic_diameters(name, minor, pitch, major):
    hole = inserts.insert_hole(thread(name), "5H")
    assert (hole.minor_min, hole.pitch_min, hole.major_min) == (minor, pitch, major)


def test_length_table_takes_the_lower_row_between_two():
    assert table_diameters(199.9, "12.9") == 3
    assert table_diameters(500, "12.9") == 1.5


def test_inch_example_of_b18_29_1():
    # ASME B18.29.1-2010 para 2.1.1: 1/4-20 UNC-2B, "0.430 min depth". The length is not printed in
    # the part read: 1.5 D gives 0.425, which the note rounds up.
    screw = thread("1/4-20 UNC")
    depth = inserts.full_thread_min(screw, inserts.nominal_length(screw, 1.5)) / 25.4
    assert depth == pytest.approx(0.425)
    assert math.ceil(depth * 100) / 100 == 0.43
