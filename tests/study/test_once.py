"""One report computes each quantity once, whatever its notebook asks for."""

import ast
from collections import Counter
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path

import nbformat
import numpy as np
import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair.joint import sharing as joint_sharing
from thread_repair.report.formulas import of_strength
from thread_repair.strength import overlap
from thread_repair.study import chances, evaluation, record
from thread_repair.uncertainty.reliability.engagement import RequiredEngagement

ROOT = Path(__file__).parents[2]
CASES = {
    "repair_justification": "demo-rig-plate",
    "design_review": "demo-rig-plate",
    "concession_sheet": "demo-rig-plate",
    "hole_preparation": "demo-rig-plate",
    "pull_test_evidence": "pull-tests-demo",
}


def run(notebook, case):
    """Run the cells of a notebook, its parameters given by a case."""
    names = {"case": case}
    for cell in nbformat.read(ROOT / "notebooks" / f"{notebook}.ipynb", as_version=4).cells:
        if cell.cell_type == "code" and "parameters" not in cell.metadata.get("tags", []):
            source = cell.source.replace("tr.from_namespace(globals())", "case")
            exec(compile(ast.parse(source), notebook, "exec"), names)


@pytest.mark.parametrize("notebook", CASES)
def test_nothing_is_computed_twice(notebook, monkeypatch):
    calls = Counter()

    def counted(module, name):
        function = getattr(module, name)

        def call(*args, **kwargs):
            calls[name] += 1
            return function(*args, **kwargs)

        monkeypatch.setattr(module, name, call)

    def sampled_long(model, state, *, probability, seed):  # of the joint alone
        return RequiredEngagement(
            state=state, probability=probability, length=9.0, low=8.0, high=10.0, present=12.0
        )

    monkeypatch.setattr(chances, "required_engagement", sampled_long)
    monkeypatch.setattr(chances, "rare_events", lambda model, rare, seed: {})
    counted(evaluation.joint, "evaluate")
    counted(record.tg, "preloads")
    counted(record, "margins")
    counted(joint_sharing, "joint_sharing")
    folder = ROOT / "reports" / CASES[notebook]
    case = cases.read({**cases.load_text(folder), "samples": 1024}, folder=folder)
    run(notebook, case)
    assert calls["evaluate"] == 1
    assert max(calls.values()) == 1, calls


def test_the_package_offers_the_study_under_its_name():
    import thread_repair.study  # noqa: F401  # the module takes the name of the function

    folder = ROOT / "reports" / "demo-rig-plate"
    assert tr.study(cases.load(folder)).conclusion.id


@pytest.mark.parametrize("parent", ["356.0-T6-sand", "6082-T6", "AZ91D", "EN-GJL-250"])
def test_the_equations_know_every_factor_of_a_strength(parent):
    """A ratio of shear to tensile strength is not taken for a factor on a mean."""
    folder = ROOT / "reports" / "demo-rig-plate"
    study = tr.study(cases.read({**cases.load_text(folder), "parent": parent}))
    found = of_strength.values(study)["original"]
    assert "k_p" not in found
    assert found["tau_n"] == pytest.approx(study.evaluation.joint.parent_shear.value)
    assert any(of_strength.strength(study).values())


def arrays(found, path=""):
    """Every array that a record holds, and where."""
    if isinstance(found, np.ndarray) and found.ndim:
        yield path, found
    elif is_dataclass(found):
        for each in fields(found):
            yield from arrays(getattr(found, each.name), f"{path}.{each.name}")
    elif isinstance(found, (Mapping, tuple)):
        pairs = found.items() if isinstance(found, Mapping) else enumerate(found)
        for name, each in pairs:
            yield from arrays(each, f"{path}[{name}]")


def test_what_is_computed_once_stays_as_it_was_computed():
    """Who scales a column of a frozen study for a picture of his own does not change the report."""
    whole = tr.study(tr.load(ROOT / "reports" / "demo-rig-plate"))
    parts = {each: getattr(whole, each) for each in ("evaluation", "sweep", "load_slip", "chances")}
    found = dict(arrays({**parts, "table": overlap.table()}))
    assert len(found) > 30
    assert [path for path, each in found.items() if each.flags.writeable] == []
