"""Prevailing torque limits of locking inserts.

- ASME B18.29.2M-2005 Table 5 in Machinery's Handbook, 31st ed., p. 1755: read in a damaged copy,
  columns re-aligned; confirm against a printed one.
- MIL-DTL-45916C Table I p. 4: read; solid thread-cutting inserts.
- NASM8846: torque table from memory.
"""

import math

import pytest
from numpy.testing import assert_allclose

from thread_repair import tables
from thread_repair import tightening as tg
from thread_repair.errors import ValidityError
from thread_repair.threads.profile import Thread
from thread_repair.tightening.published import INCH_POUND_NM, prevailing_torques


def metric(major, pitch=1.0):
    return Thread(
        designation=f"M{major:g}x{pitch:g}",
        series="",
        system="metric",
        major=float(major),
        pitch=pitch,
        flank_angle=60.0,
    )


def inch(major, tpi):
    return Thread(
        designation=f"{major:g}-{tpi}",
        series="",
        system="unified",
        major=major * 25.4,
        pitch=25.4 / tpi,
        flank_angle=60.0,
    )


def test_values_of_a_damaged_copy_ask_to_be_confirmed():
    assert "confirm" in tg.prevailing_torque(metric(8)).reference.what


def test_recalled_wire_limits_agree_with_the_read_ones_from_a_quarter_inch_and_say_where_not():
    for row in tables.rows("prevailing_torque.csv"):
        if row["system"] != "unified" or row["insert_type"] != "solid":
            continue
        both = prevailing_torques(inch(float(row["major"]), int(row["threads_per_inch"])))
        wire, solid = both
        if float(row["major"]) >= 0.25:
            assert (wire.most_nm, wire.breakaway_least_nm) == (
                solid.most_nm,
                solid.breakaway_least_nm,
            )
        else:
            assert wire.most_nm < solid.most_nm
            assert "low confidence" in wire.reference.what
        assert wire.reference.how_known == "memory"


def test_the_two_systems_are_of_one_size():
    """30 in-lb is 3.39 N·m against 3 for M6; 80 in-lb is 9.04 against 10 for M10."""
    assert_allclose(30 * INCH_POUND_NM, 3.39, atol=5e-3)
    quarter, m6 = tg.prevailing_torque(inch(0.25, 20)), tg.prevailing_torque(metric(6))
    assert 0.8 < m6.most_nm / quarter.most_nm < 1.0
    three_eighths, m10 = tg.prevailing_torque(inch(0.375, 16)), tg.prevailing_torque(metric(10))
    assert 1.0 < m10.most_nm / three_eighths.most_nm < 1.2


def test_limits_rise_with_size():
    rows = [r for r in tables.rows("prevailing_torque.csv") if r["system"] == "metric"]
    for column in ("most", "breakaway_least"):
        values = [float(r[column]) for r in rows]
        assert values == sorted(values)


def test_sizes_without_limits_are_refused_not_guessed():
    with pytest.raises(ValidityError, match="locking wire insert of M68x1"):
        tg.prevailing_torque(metric(68))
    with pytest.raises(ValidityError):
        tg.prevailing_torque(inch(0.25, 32))
    assert prevailing_torques(metric(2)) == ()
    number_4 = [t for t in prevailing_torques(inch(0.112, 40)) if t.insert_type == "solid"]
    assert math.isnan(number_4[0].breakaway_least_nm)
