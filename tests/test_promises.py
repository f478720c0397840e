"""What a docstring promises holds for what a caller may hand over: a name, a record, a process."""

import copy
import dataclasses
import math
import pickle

import attrs
import numpy as np
import pytest

import thread_repair as tr
from tests.calls import demo
from thread_repair import joint
from thread_repair.errors import InputError, MissingPackageError, UnknownNameError
from thread_repair.joint.lengths import budget, screw_load
from thread_repair.joint.sizes import mode_inputs, sizes
from thread_repair.joint.wall import flow_stress
from thread_repair.materials.hardness import brinell_of, hardness
from thread_repair.report.selection import select
from thread_repair.strength.methods import METHODS
from thread_repair.strength.methods.factored import bending_factor

KEYS = {
    "thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "1 D", "insert_length": "1.5 D",
}  # fmt: skip
STUDY = tr.study(demo())
JOINT = STUDY.evaluation.joint
HOLE = mode_inputs(JOINT, "original", 12.0)


@pytest.mark.parametrize(
    "call",
    [
        *(lambda name, each=each: each.strip(HOLE, name) for each in METHODS.values()),
        lambda name: HOLE.shear(name),
        lambda name: bending_factor(0.8, name),
        lambda name: sizes(JOINT, name),
        lambda name: budget(JOINT, name),
        lambda name: screw_load(JOINT, name),
        lambda name: STUDY.evaluation.original.mode(name),
        lambda name: tr.threads.external_limits(JOINT.thread, name),
        lambda name: tr.threads.internal_limits(JOINT.thread, name),
    ],
)
@pytest.mark.parametrize("name", ["parnet", "ORIGINAL ", "", None])
def test_a_name_that_nothing_has_gets_no_number_of_another(call, name):
    with pytest.raises(UnknownNameError):
        call(name)


@pytest.mark.parametrize("name", [["base"], {}])
def test_a_list_is_no_name(name):
    with pytest.raises(UnknownNameError):
        joint.sharing.elastic_constants(name)


def test_a_strength_that_nobody_knows_gives_no_flow_stress():
    """The smaller of a number and NaN is, in Python, whichever stands first."""
    assert math.isnan(flow_stress(math.nan, 289.6, 241.3))
    assert math.isnan(flow_stress(186.2, math.nan, 241.3))
    assert flow_stress(math.inf, 300.0, 200.0) == 250.0
    found = flow_stress([[186.2], [100.0]], [289.6, 300.0], math.nan)
    assert found.shape == (2, 2)
    assert found[1, 0] == flow_stress(100.0, 289.6, math.nan)


@pytest.mark.parametrize(
    "call",
    [
        lambda x: flow_stress(x, 289.6, 241.3),
        lambda x: flow_stress(186.2, x, 241.3),
        lambda x: flow_stress(186.2, 289.6, x),
        lambda x: brinell_of(x, "cast aluminium"),
        lambda x: tr.materials.screw("8.8", x),
        lambda x: HOLE.with_length(x),
        lambda x: budget(JOINT, "repaired", nominal=x),
    ],
)
@pytest.mark.parametrize("value", [-1.0, "12", "abc", -math.inf])
def test_what_is_no_size_is_refused(call, value):
    with pytest.raises(InputError, match="must be"):
        call(value)


def test_a_screw_of_no_diameter_has_no_strength():
    with pytest.raises(InputError, match="diameter must be above zero, got nan"):
        tr.materials.screw("8.8", math.nan)
    with pytest.raises(InputError, match="is no hardness"):
        hardness(None)


@pytest.mark.parametrize("nonsense", [None, 1, "x", KEYS])
def test_a_study_is_of_a_case(nonsense):
    with pytest.raises(InputError, match="expected a case"):
        tr.Study(nonsense)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: tr.Case(), "thread: missing"),
        (lambda: tr.Case("M8"), "expected keys with their values"),
        (lambda: tr.Case(**KEYS, boss=20), "boss: unknown key"),
        (lambda: attrs.evolve(tr.Case(**KEYS), boss_diametre=20), "did you mean 'boss_diameter'"),
    ],
)
def test_a_case_made_in_python_is_refused_as_one_from_a_file(make, said):
    with pytest.raises(InputError, match=said):
        make()
    assert tr.Case(**KEYS) == tr.read(KEYS) == copy.copy(tr.read(KEYS))


def test_an_error_of_another_process_says_it_once():
    error = MissingPackageError("typst", "lab")
    for found in (pickle.loads(pickle.dumps(error)), copy.copy(error)):
        assert str(found) == str(error) and str(error).count("typst") == 1


def test_every_part_of_a_study_goes_to_another_process():
    for name in ("sheet", "conclusion", "margins", "criteria", "facts"):
        part = getattr(STUDY, name)
        assert copy.deepcopy(part) == part == pickle.loads(pickle.dumps(part)), name


def test_a_sweep_takes_lengths_of_any_shape():
    flat = tr.sweep(tr.read(KEYS), engagement=[8, 10, 12])
    np.testing.assert_array_equal(
        tr.sweep(tr.read(KEYS), engagement=np.array([[8], [10], [12]])).pull_out_N, flat.pull_out_N
    )


def test_a_hole_needs_its_numbers():
    with pytest.raises(InputError, match="length must be"):
        dataclasses.replace(HOLE, length=None)


@pytest.mark.parametrize(("typed", "means"), [("TRUE", "yes"), ("False", "no"), (True, "yes")])
def test_true_is_read_alike_wherever_it_stands(tmp_path, typed, means):
    """A spreadsheet saves its TRUE in a CSV as text, papermill hands YAML's over as Python's."""
    assert tr.read({**KEYS, "critical": typed, "old_insert": typed}).critical == means
    (tmp_path / "case.yaml").write_text(
        "".join(f"{key}: {value}\n" for key, value in {**KEYS, "critical": typed}.items())
    )
    assert tr.load(tmp_path).critical == means
    with pytest.raises(InputError, match="is not one of free-running"):
        tr.read({**KEYS, "insert_kind": typed})


def test_a_file_is_no_folder_for_reports(tmp_path):
    """Bad input by its exit code, as from the other commands."""
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="is no folder"):
        select([tmp_path], formats=("html",), out=tmp_path / "file")
