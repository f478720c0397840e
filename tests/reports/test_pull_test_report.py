"""The report on pull tests: built, opened and read back; run by plain papermill too."""

import json
import re
from pathlib import Path

import nbformat
import pytest

from thread_repair import case as cases
from thread_repair.cli import main

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "reports" / "pull-tests-demo"
NOTEBOOK = ROOT / "notebooks" / "pull_test_evidence.ipynb"

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("without_chances")]


@pytest.fixture(scope="module")
def report(shipped_report):
    return shipped_report("pull_test_evidence", DEMO.name)


@pytest.fixture(scope="module")
def text(shipped_pages):
    return re.sub(r"\s+", " ", " ".join(shipped_pages("pull_test_evidence", DEMO.name)))


def test_says_what_the_results_say(report, text):
    found = json.loads((report / "results.json").read_text("utf-8"))
    assert f"{found['pull_tests']['comparison']['ratio']:.3f}" in text
    for group in found["pull_tests"]["groups"]:
        for bound in group["bounds"]:
            if bound["bound_N"] is not None:
                assert f"{bound['bound_N'] / 1000:.2f}" in text
    for strength in found["pull_tests"]["shear_strength"]:
        assert f"{strength['mean_after_MPa']:.1f}" in text
        assert f"{strength['margin']['at_bound']:+.2f}".replace("-", "−") in text
    assert f"{found['reliability']['samples']:,} joints are simulated" in text


@pytest.mark.parametrize(
    "words",
    [
        "INVENTED DATA",
        "competent person",
        "Documents used",
        "Limits of the evidence",
        "seed 1",
        r"any usual \(Hanson-Koopmans\)",
        "no outlier",
        "B07",
        "Noncentral|noncentral",
    ],
)
def test_has_what_a_reviewer_looks_for(text, words):
    assert re.search(words, text)


def test_the_record_is_left_alone_and_no_path_of_this_machine_is_told(report):
    names = {p.name for p in report.iterdir()} - {".thread-repair.json"}
    endings = ("pdf", "html", "docx", "ipynb")
    documents = {f"pull_test_evidence.{ending}" for ending in endings} | {"results.json"}
    assert names == {"case.yaml", "pull_tests.csv", *documents}
    assert (report / "pull_tests.csv").read_bytes() == (DEMO / "pull_tests.csv").read_bytes()
    for name in ("pull_test_evidence.ipynb", "results.json", ".thread-repair.json"):
        assert str(report) not in (report / name).read_text("utf-8")


def with_cells(file, *calls):
    """Write a notebook that begins as that of the report and shows only these cells of it."""
    node = nbformat.read(NOTEBOOK, as_version=4)
    assert all(any(call == cell.source for cell in node.cells) for call in calls)
    node.cells = [*node.cells[:3], *(cell for cell in node.cells if cell.source in calls)]
    nbformat.write(node, file)
    return file


def test_a_case_without_a_record_is_told_so(tmp_path, capsys):
    case = (DEMO / "case.yaml").read_text().replace("pull_tests: pull_tests.csv", "")
    (tmp_path / "case.yaml").write_text(case)
    arguments = ["report", str(tmp_path), "--notebook", "pull_test_evidence", "--to", "html"]
    assert main(arguments) == 2
    told = capsys.readouterr().err
    assert "pull_tests: missing" in told and len(told.splitlines()) == 1
    assert [p.name for p in tmp_path.iterdir()] == ["case.yaml"]


def test_runs_by_plain_papermill(tmp_path, monkeypatch):
    """From the root of the clone; the record is found from there as from the notebook's folder."""
    import papermill

    own = with_cells(tmp_path / "own.ipynb", "pieces.pieces_table(study)")
    monkeypatch.chdir(ROOT)
    given = {**cases.load_text(DEMO), "case_folder": "../reports/pull-tests-demo"}
    papermill.execute_notebook(own, tmp_path / "out.ipynb", given, progress_bar=False)
    assert "B07" in (tmp_path / "out.ipynb").read_text("utf-8")
