"""Whole jobs as a person brings them: the case, and what must come out of it, worked by hand beside it.

`expected.toml` gives each value with its arithmetic; the test holds the two against each other, and
the value against the results.
"""

import math
import tomllib
from pathlib import Path

import pytest

from thread_repair import case
from thread_repair.report.results import results

JOBS = sorted(each.parent for each in Path(__file__).parent.glob("*/expected.toml"))


def found_at(document, path):
    """The number at a path; a mode of a condition is named, and its primary method is meant."""
    for key in path.split("."):
        if isinstance(document, list):
            (document,) = (m for m in document if m["mode"] == key and m["primary"])
        else:
            document = document[key]
    return document


def test_there_are_seven_jobs_beside_the_part_with_four_holes():
    assert len(JOBS) == 7
    assert (Path(__file__).parent / "four-holes").is_dir()


@pytest.mark.parametrize("job", JOBS, ids=[each.name for each in JOBS])
def test_a_job_gives_what_was_worked_by_hand(job):
    expected = tomllib.loads((job / "expected.toml").read_text("utf-8"))
    document = results(case.load(job), with_chances=False)
    assert document["conclusion"]["id"] == expected["conclusion"]
    assert document["conclusion"]["failed"] == expected["failed"]
    for option, assessment in expected.get("options", {}).items():
        (other,) = (each for each in document["alternatives"] if each["option"] == option)
        assert other["assessment"] == assessment, option
    assert len(expected["values"]) >= 2
    for path, wanted in expected["values"].items():
        # the arithmetic is text of this repository: numbers, pi and signs
        by_hand = eval(wanted["by"], {"__builtins__": {}, "pi": math.pi})
        assert by_hand == pytest.approx(wanted["value"], rel=1e-5), path
        assert found_at(document, path) == pytest.approx(wanted["value"], rel=5e-4), path
