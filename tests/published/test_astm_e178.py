"""Critical distances of a single outlier, ASTM E178, table of the statistic T.

Known from: MEMORY, to be checked in the document; they follow from the t distribution. One-sided
significance of 2.5 %, that is 5 % on both sides.
"""

from __future__ import annotations

import pytest

from thread_repair.errors import InputError
from thread_repair.uncertainty.pull_tests import critical_distance

PRINTED = [(3, 1.155), (4, 1.481), (5, 1.715), (7, 2.020), (10, 2.290), (20, 2.709), (30, 2.908)]


@pytest.mark.parametrize(("n", "critical"), PRINTED)
def test_critical_distance(n, critical):
    assert critical_distance(n) == pytest.approx(critical, abs=1.1e-3)


def test_one_sided_five_per_cent():
    assert critical_distance(10, significance=0.10) == pytest.approx(2.176, abs=1e-3)


def test_two_pieces_have_no_outlier():
    with pytest.raises(InputError, match="three pieces"):
        critical_distance(2)
