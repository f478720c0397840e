"""Critical distances of a single outlier, ASTM E178; its table is in `data/printed/`."""

from __future__ import annotations

import numpy as np

from thread_repair.uncertainty.pull_tests.evidence import farthest
from thread_repair.uncertainty.pull_tests.records import Group


def test_two_pieces_have_no_outlier():
    def like(*loads):
        return Group(state="original", size="M8x1.25", engagement=8.0, piece=("a", "b", "c"),
                     load=np.array(loads), mode=("parent_thread_strip",) * 3)  # fmt: skip

    assert farthest(like(25e3, 27e3)) is None
    assert farthest(like(25e3, 27e3, 30e3)).piece == "c"
