"""Every notebook is thin, runs as committed, and starts from the demonstration case."""

import ast
import re
import runpy
import sys
from pathlib import Path

import nbformat
import pytest

from thread_repair import case
from thread_repair.case import part_file

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
#: The demonstration a notebook starts from, where it is another than the rig plate.
DEMOS = {"pull_test_evidence": "pull-tests-demo"}


def cells(path, kind="code"):
    return [c for c in nbformat.read(path, as_version=4).cells if c.cell_type == kind]


def parameters(path):
    (cell,) = (c for c in cells(path) if "parameters" in c.metadata.get("tags", []))
    return {
        node.targets[0].id: ast.literal_eval(node.value) for node in ast.parse(cell.source).body
    }


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_parameters_are_the_demonstration(path):
    declared = parameters(path)
    known = set(case.keys())
    demo = case.load_text(ROOT / "reports" / DEMOS.get(path.stem, "demo-rig-plate"))
    for key, value in declared.items():
        if key in known:
            assert str(value) == demo.get(key, "").strip(), key


def test_the_notebook_of_a_part_starts_from_its_demonstration():
    declared = parameters(ROOT / "notebooks" / "submission.ipynb")
    demo = part_file.load(ROOT / "reports" / "demo-part" / "submission.yaml")
    assert declared == {"shared": demo.shared, "holes": list(demo.holes)}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_a_notebook_holds_words_and_calls_only(path):
    for cell in cells(path):
        if "parameters" in cell.metadata.get("tags", []):
            continue
        tree = ast.parse(cell.source)
        banned = (ast.FunctionDef, ast.ClassDef, ast.For, ast.While, ast.Lambda, ast.BinOp)
        assert not [n for n in ast.walk(tree) if isinstance(n, banned)], cell.source
        assert len(cell.source.splitlines()) <= 15, cell.source


#: Keys that are printed but bear on no number.
WORDS = {
    "scope", "damage", "changes", "request", "order", "requirement", "classification", "recurring",
    "corrective_action",
}  # fmt: skip


REPORTS = [path.stem for path in NOTEBOOKS if len(parameters(path)) > 20]


@pytest.mark.parametrize("name", REPORTS)
def test_a_report_declares_every_key_that_bears_on_a_number(name):
    """A key that the notebook does not declare would be left out of the report in silence."""
    assert set(case.keys()) - set(parameters(ROOT / "notebooks" / f"{name}.ipynb")) <= WORDS


def test_a_notebook_that_is_not_run_as_it_stands_is_built_by_a_test():
    built = runpy.run_path(str(ROOT / "notebooks" / "conftest.py"))["BUILT"]
    assert len(NOTEBOOKS) - len(built) >= 4
    for name, file in built.items():
        assert (ROOT / "notebooks" / f"{name}.ipynb").exists()
        text = (ROOT / "tests" / file).read_text("utf-8")
        assert re.search(rf"\b{name}\.(pdf|docx|ipynb)|\"{name}\"", text), (name, file)


#: Sentence by what is entered besides the keys that stand already.
FAULTS = {
    "insert_length: missing; expected nominal length of the insert": "",
    "engagement: '12 kN' is not a length; expected for example '12 mm' or '0.5 in' or '1.5 D'":
        'insert_length = "1.5 D"\nengagement = "12 kN"\n',
    "engagement: '12,5 mm' has a decimal comma; write '12.5 mm'": 'engagement = "12,5 mm"\n',
    "insert_lenght: no parameter of a case; did you mean 'insert_length'? (put it right and "
    "restart the notebook, or del insert_lenght)": 'engagement = "12 mm"\ninsert_lenght = "2 D"\n',
}  # fmt: skip


def test_a_fault_is_one_sentence_in_the_output_of_its_cell(capsys, monkeypatch):
    from IPython.core.interactiveshell import InteractiveShell
    from traitlets.config import Config

    monkeypatch.setitem(sys.modules, "__main__", sys.modules["__main__"])  # it puts its own there
    shell = InteractiveShell(config=Config({"HistoryManager": {"enabled": False}}))
    shell.run_cell('thread = "M8"\nscrew = "8.8"\nparent = "6061-T6"\nengagement = "12 mm"')
    for sentence, entered in FAULTS.items():
        shell.run_cell(f"{entered}import thread_repair as tr\ntr.from_namespace(globals())")
        assert capsys.readouterr().out.strip() == sentence
