"""Pages checked by axe-core in a real browser: no violation on any report, nor on the index.

axe-core is a file of the npm registry, not a Python package. Install it outside the clone and name
its folder:

    npm install --prefix /tmp/axe axe-core
    AXE_CORE=/tmp/axe/node_modules/axe-core/axe.min.js pytest tests/browser/test_axe.py
"""

import os
from pathlib import Path

import lab
import pytest

from thread_repair.cli import main

AXE = Path(os.environ.get("AXE_CORE", "/tmp/axe/node_modules/axe-core/axe.min.js"))
ROOT = Path(__file__).parents[2]

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.skipif(bool(lab.missing()), reason=lab.missing()),
    pytest.mark.skipif(
        not AXE.is_file(), reason="no axe-core: npm install --prefix /tmp/axe axe-core"
    ),
]

REPORTS = {
    "repair_justification": "demo-rig-plate",
    "design_review": "demo-rig-plate",
    "hole_preparation": "demo-rig-plate",
    "concession_sheet": "demo-rig-plate",
    "pull_test_evidence": "pull-tests-demo",
}


def violations(page):
    """Return rule, impact and first place of each violation on a page."""
    with lab.browser() as browser:
        # The page forbids scripts; axe is let in from outside.
        tab = browser.new_context(bypass_csp=True, viewport=lab.VIEW).new_page()
        tab.goto(page.as_uri())
        tab.evaluate(AXE.read_text("utf-8"))
        found = tab.evaluate("axe.run(document, {resultTypes: ['violations']})")
    assert len(found["passes"]) > 20
    return [(v["id"], v["impact"], v["nodes"][0]["html"][:200]) for v in found["violations"]]


@pytest.mark.parametrize("notebook", REPORTS)
def test_a_report_has_no_violation(tmp_path, notebook):
    case = ROOT / "reports" / REPORTS[notebook]
    command = ["report", str(case), "--notebook", notebook, "--to", "html", "--out", str(tmp_path)]
    assert main(command) == 0
    assert violations(tmp_path / REPORTS[notebook] / "report.html") == []


def test_the_index_has_no_violation(tmp_path):
    table = tmp_path / "t.csv"
    table.write_text(
        "name,thread,screw,parent,engagement,insert_length\n"
        "good,M8,8.8,6061-T6,12 mm,1.5 D\nbad,M8x1.26,8.8,6061-T6,12 mm,1.5 D\n"
    )
    assert main(["report", str(table), "--notebook", "concession_sheet", "--to", "html"]) == 2
    assert violations(tmp_path / "t" / "index.html") == []


def test_a_violation_is_found(tmp_path):
    """The check can fail."""
    page = tmp_path / "bad.html"
    page.write_text(
        "<html><body><img src='x.png'><h3>x</h3>" + "<p>word</p>" * 3 + "</body></html>"
    )
    with lab.browser() as browser:
        tab = browser.new_page()
        tab.goto(page.as_uri())
        tab.evaluate(AXE.read_text("utf-8"))
        found = tab.evaluate("axe.run(document, {resultTypes: ['violations']})")
    assert {"image-alt", "html-has-lang", "document-title"} <= {
        v["id"] for v in found["violations"]
    }
