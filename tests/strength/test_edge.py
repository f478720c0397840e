"""Edge distance: which diameter, and the limits of NASA TM-106943, p. 20 (read)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from thread_repair.errors import InputError
from thread_repair.strength.edge import edge_distance


def test_limits():
    found = edge_distance([11.99, 12.0, 15.99, 16.0, math.nan], 8.0)
    assert (found.recommended, found.least) == (2.0, 1.5)
    assert found.level.tolist() == ["too near", "near", "near", "clear", "unknown"]
    assert all(reference.how_known == "read" for reference in found.references)


def test_an_insert_hole_needs_more_edge():
    before, after = edge_distance(16.0, 8.0), edge_distance(16.0, 9.624)
    assert (before.level, after.level) == ("clear", "near")


def test_impossible_values():
    with pytest.raises(InputError, match="distance must be above zero"):
        edge_distance(np.array([10.0, -1.0]), 8.0)
