"""Pages checked by axe-core in a real browser: no violation on any report, nor on the index."""

import lab
import pytest

from thread_repair.cli import main

pytestmark = [pytest.mark.browser, pytest.mark.slow]

REPORTS = {
    "repair_justification": "demo-rig-plate",
    "design_review": "demo-rig-plate",
    "hole_preparation": "demo-rig-plate",
    "concession_sheet": "demo-rig-plate",
    "pull_test_evidence": "pull-tests-demo",
}


#: Some of everything: of a body or list three rows and what has marks of its own, five formulas whole.
SOME = """() => {
    const few = document.querySelectorAll('tbody, ol, ul, dl');
    for (const each of few) [...each.children].slice(3)
        .filter(row => !row.querySelector('[class], strong, a')).forEach(row => row.remove());
    [...document.querySelectorAll('math')].slice(5).forEach(each => each.replaceChildren());
}"""
CONTRAST = "color-contrast"


def violations(browser, page):
    """Return rule, impact and first place of each violation on a page.

    Contrast takes longer than all other rules together: of what is printed alike, some are checked.
    """
    from axe_playwright_python.sync_playwright import Axe

    shown = {"resultTypes": ["violations"]}  # no path to every place that is in order
    # The page forbids scripts; axe is let in from outside.
    with browser.new_context(bypass_csp=True, viewport=lab.VIEW) as context:
        tab = context.new_page()
        tab.goto(page.as_uri())
        found = Axe().run(tab, options={**shown, "rules": {CONTRAST: {"enabled": False}}}).response
        assert len(found["passes"]) > 5
        tab.evaluate(SOME)
        contrast = Axe().run(tab, options={**shown, "runOnly": [CONTRAST]}).response
        assert contrast["passes"]
    everything = (*found["violations"], *contrast["violations"])
    return [(v["id"], v["impact"], v["nodes"][0]["html"][:200]) for v in everything]


@pytest.mark.parametrize("notebook", REPORTS)
def test_a_report_has_no_violation(shipped_report, browser, notebook):
    folder = shipped_report(notebook, REPORTS[notebook])
    assert violations(browser, folder / f"{notebook}.html") == []


def test_the_index_has_no_violation(browser, tmp_path):
    table = tmp_path / "t.csv"
    table.write_text(
        "name,thread,screw,parent,engagement,insert_length\n"
        "good,M8,8.8,6061-T6,12 mm,1.5 D\nbad,M8x1.26,8.8,6061-T6,12 mm,1.5 D\n"
    )
    assert main(["report", str(table), "--notebook", "concession_sheet", "--to", "html"]) == 2
    assert violations(browser, tmp_path / "t" / "index.html") == []


def test_a_violation_is_found(browser, tmp_path):
    """The check can fail."""
    page = tmp_path / "bad.html"
    page.write_text(
        "<html><body><img src='x.png'><h3>x</h3>" + "<p>word</p>" * 3
        + "<p style='color: #999'>grey</p></body></html>"
    )  # fmt: skip
    found = {rule for rule, *_ in violations(browser, page)}
    assert {"image-alt", "html-has-lang", "document-title", CONTRAST} <= found
