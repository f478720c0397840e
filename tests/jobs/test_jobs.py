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
    """The number at a path; a mode of a condition, its primary method meant, or an option is named."""
    for key in path.split("."):
        if isinstance(document, list):
            named = (m for m in document if key in (m.get("mode"), m.get("option")))
            (document,) = (m for m in named if m.get("primary", True))
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


def ends(found, place=""):
    """Each number whose name has `min`, with the one of the same name and `max`."""
    if isinstance(found, list):
        found = dict(enumerate(found))
    if isinstance(found, dict):
        for name, value in found.items():
            most = found.get(str(name).replace("_min", "_max"))
            if "_min" in str(name) and None not in (value, most):
                yield f"{place}.{name}", value, most
            yield from ends(value, f"{place}.{name}")


@pytest.mark.parametrize("job", JOBS, ids=[each.name for each in JOBS])
def test_the_least_stands_under_min_and_a_minor_diameter_below_a_pitch_diameter(job):
    document = results(case.load(job), with_chances=False)
    for name, least, most in ends(document):
        fixed = name == ".workshop.tightening_torque_min_Nm"  # the torque of the case
        empty = ".window_min_Nm" in name  # no torque is permissible
        assert least < most or (fixed and least == most) or empty, name
    for of in (document["insert_hole"], *(document["thread"][x] for x in ("external", "internal"))):
        names = ("minor_max_mm", "pitch_min_mm", "pitch_max_mm", "major_min_mm")
        sizes = [of[name] for name in names if name in of]
        assert sizes == sorted(sizes)


@pytest.mark.parametrize("job", JOBS, ids=[each.name for each in JOBS])
def test_bounds_and_required_lengths_stand_where_their_names_say(job):
    """A path swapped in `results.toml` writes a right number under the name of another."""
    document = results(case.load(job), with_chances=False)
    for name, found in document["certified"].items():
        tried, lower, upper = document["collapse"][name], found["lower_N"], found["upper_N"]
        if not document["states"][name]["assessed"]:
            assert {lower, upper, found["counted_N"], tried["lower_N"]} == {None}
            continue
        assert (tried["lower_N"], tried["upper_N"]) == (lower, upper)
        assert lower < found["counted_N"] <= min(tried["formula_N"], upper) * (1 + 1e-9)
        for bound, end in ((lower, "max"), (upper, "min")):
            excess = max(tried["formula_N"] / bound - 1, 0)
            assert found[f"formula_excess_{end}"] == pytest.approx(excess, abs=1e-9)
        certified = {
            each["capacity_N"]
            for each in document["margins"]
            if (each["state"], each["against"]) == (name, "certified minimum")
        }
        assert certified <= {found["minimum_N"]}
    for name, state in document["states"].items():
        (own,) = (each for each in state["required_by_method"] if each["primary"])
        assert own["strongest_screw_mm"] == state["required_engagement_mm"], name
        assert own["standard_insert_weakest_screw_diameters"] is None or (
            own["standard_insert_weakest_screw_diameters"]
            <= own["standard_insert_strongest_screw_diameters"]
        )


@pytest.mark.parametrize("job", JOBS, ids=[each.name for each in JOBS])
def test_the_numbers_of_an_option_stand_under_their_names(job):
    entered = case.load(job)
    document = results(entered, with_chances=False)
    before, after = document["states"].values()
    for each in document["alternatives"]:
        # a hole that is made anew is not compared with measured sizes
        if each["pull_out_ratio"] is not None and entered.tolerance_position != "measured":
            ratio = each["pull_out_N"] / before["pull_out_N"]
            assert each["pull_out_ratio"] == pytest.approx(ratio), each["option"]
        if each["edge_over_diameter"] is not None:
            edge = each["edge_over_diameter"] * each["hole_major_mm"]
            assert edge == pytest.approx(entered.edge_distance), each["option"]
        if each["pull_out_N"] == after["pull_out_N"]:
            assert each["strength_N"] == after["strength_N"], each["option"]
