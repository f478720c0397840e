"""Edge distance: which diameter, and the limits of NASA TM-106943, p. 20 (read)."""

from dataclasses import replace

import numpy as np
import pytest

from thread_repair import tables
from thread_repair.case.reading import joint_of
from thread_repair.errors import InputError
from thread_repair.joint.criterion import edge, edge_distance
from thread_repair.threads import thread


def test_limits():
    m8 = joint_of()
    found = [edge(replace(m8, edge_distance=at), 8.0) for at in (11.99, 12.0, 15.99, 16.0)]
    assert [each.required.value for each in found] == [2.0] * 4
    assert [each.values["least"].value for each in found] == [1.5] * 4
    assert [(each.met, each.refuses) for each in found] == [
        (False, True),
        (False, False),
        (False, False),
        (True, False),
    ]
    for name in ("edge_distance_recommended", "edge_distance_least"):
        assert tables.constant(name).reference.how_known == "read"


@pytest.mark.parametrize("times", [1.5, 2.0])
@pytest.mark.parametrize("size", ["7/16-14 UNC", "7/8-9 UNC", "M8", "M10", "3/8 BSF"])
def test_an_edge_typed_in_inches_is_at_the_limit_that_it_is_at_in_millimetres(size, times):
    major = thread(size).major
    typed = joint_of(thread=size, edge_distance=f"{major * times / 25.4:.10g} in")
    found = edge(typed, major)
    assert (found.met, found.refuses) == (times == 2.0, False)


def test_an_insert_hole_needs_more_edge():
    found = edge(replace(joint_of(), edge_distance=16.0), 9.624)
    assert (found.met_before, found.met) == (True, False)
    assert (found.original.value, found.repaired.value) == pytest.approx((2, 16 / 9.624))


def test_many_distances_at_once_and_impossible_ones():
    found = edge_distance([12.0, 16.0, np.nan], 8.0)
    np.testing.assert_array_equal(found.ratio, [1.5, 2.0, np.nan])
    with pytest.raises(InputError, match="distance must be above zero"):
        edge_distance(np.array([10.0, -1.0]), 8.0)
