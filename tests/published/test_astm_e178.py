"""Critical distances of a single outlier, ASTM E178; its table is in `data/printed/`."""

import pytest

from thread_repair.errors import InputError
from thread_repair.uncertainty.pull_tests.evidence import critical_distance


def test_two_pieces_have_no_outlier():
    with pytest.raises(InputError, match="three pieces"):
        critical_distance(2)
