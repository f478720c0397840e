"""A case and its study go to another process and are copied as they are."""

import copy
import pickle

import attrs
import pytest

from thread_repair import case
from thread_repair.study import study


@pytest.mark.parametrize(
    "again", [lambda each: pickle.loads(pickle.dumps(each)), copy.copy, copy.deepcopy]
)
def test_a_copy_is_the_same_case_and_has_the_same_study(again, tmp_path):
    read = case.read(
        {
            "thread": "3/8 BSF", "screw": "8.8", "parent": "6061-T6", "engagement": "0.5 in",
            "insert_length": "1.5 D", "design_load": "1200 lbf", "temperature": "212 degF",
        },
        folder=tmp_path,
    )  # fmt: skip
    for given in (read, attrs.evolve(read, boss_diameter=25.4)):
        found = again(given)
        assert (found, found.entered, found.folder) == (given, given.entered, given.folder)
        asked = study(given)
        assert asked.facts == again(asked).facts
