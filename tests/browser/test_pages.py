"""Pages that are files, in a real browser: axe-core finds no violation on any report, nor on the
index; on the page without scripts a position is chosen by keyboard, with scripts off.
"""

from itertools import pairwise
from pathlib import Path

import lab
import pypdf
import pytest

from thread_repair import case
from thread_repair.report import index
from thread_repair.report.jobs import Job, Outcome
from thread_repair.report.results import results
from thread_repair.teaching import static

pytestmark = [pytest.mark.browser, pytest.mark.slow]

REPORTS = {
    "repair_justification": "demo-rig-plate",
    "design_review": "demo-rig-plate",
    "hole_preparation": "demo-rig-plate",
    "concession_sheet": "demo-rig-plate",
    "pull_test_evidence": "pull-tests-demo",
}
CONTRAST = "color-contrast"
#: Marks the first of all texts that look alike and stand on the same grounds in the same kinds of
#: places, and has contrast judged there; other formulas are emptied, of which no rule looks at more
#: than that. In full both take longer than all else together.
SOME = """rule => {
    const met = new Set(), grounds = new Map([[null, '']]);
    const ground = each => {
        if (!grounds.has(each)) {
            const look = getComputedStyle(each), alone = look.position !== 'static' && each.outerHTML;
            grounds.set(each, [each.className, look.backgroundColor, look.backgroundImage,
                               look.opacity, alone, ground(each.parentElement)].join());
        }
        return grounds.get(each);
    };
    for (const each of document.querySelectorAll('body *')) {
        const text = [...each.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
        if (!text && !each.matches('input, select, textarea')) continue;
        const look = getComputedStyle(each);
        const kind = [look.color, look.fontSize, look.fontWeight, look.textShadow, ground(each)];
        if (met.size < met.add(kind.join()).size) each.dataset.judged = '';
    }
    for (const each of document.querySelectorAll('math:not(:has([data-judged]))'))
        each.replaceChildren();
    axe.configure({rules: [{id: rule, selector: '[data-judged]'}]});
    return met.size;
}"""


@pytest.fixture(scope="module")
def tab(browser):
    """One tab for all pages; they forbid scripts, and axe is let in from outside."""
    with browser.new_context(bypass_csp=True, viewport=lab.VIEW) as context:
        yield context.new_page()


def violations(tab, page):
    """Return rule, impact and first place of each violation on a page."""
    from axe_playwright_python.sync_playwright import Axe

    tab.goto(page.as_uri())
    tab.evaluate(Axe().axe_script)
    assert tab.evaluate(SOME, CONTRAST) > 1
    # no path to every place that is in order
    found = tab.evaluate("axe.run({resultTypes: ['violations']})")
    passed = {each["id"] for each in found["passes"]}
    assert len(passed) > 5
    assert CONTRAST in passed | {each["id"] for each in found["violations"]}
    return [(v["id"], v["impact"], v["nodes"][0]["html"][:200]) for v in found["violations"]]


@pytest.mark.parametrize("notebook", REPORTS)
def test_a_report_has_no_violation(shipped_report, tab, notebook):
    folder = shipped_report(notebook, REPORTS[notebook])
    assert violations(tab, folder / f"{notebook}.html") == []


@pytest.mark.parametrize("notebook", REPORTS)
def test_no_column_is_cut_off_on_paper_nor_that_of_what_is_met_on_a_telephone(
    shipped_report, browser, notebook
):
    """A4 less the margins of `@page` is 170 mm wide: what scrolls on a screen is lost there."""
    page = browser.new_page(viewport={"width": 642, "height": 900})
    page.emulate_media(media="print")
    page.goto((shipped_report(notebook, REPORTS[notebook]) / f"{notebook}.html").as_uri())
    places = page.locator(".table, .equation")
    assert places.count() > 1
    cut = places.evaluate_all("all => all.filter(e => e.scrollWidth > e.clientWidth + 1).length")
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": 400, "height": 800})
    criteria = page.locator(".table").filter(
        has=page.get_by_role("columnheader", name="Met", exact=True)
    )
    beside = criteria.evaluate_all("all => all.map(e => e.scrollWidth - e.clientWidth)")
    page.close()
    assert cut == 0
    assert all(each <= 1 for each in beside), "on a telephone it is not seen what is met"


def outcome(folder, name, parent):
    """What becomes of a case; nothing is built."""
    job = Job(case=folder, name=name, notebook=Path(), out=folder / name, formats=())
    if not parent:
        return Outcome(job=job, faults=("parent: missing",), bad_input=True)
    entries = {"thread": "M8", "screw": "8.8", "engagement": "12 mm", "insert_length": "1.5 D"}
    numbers = results(case.read({**entries, "parent": parent}), with_chances=False)
    return Outcome(job=job, files={"html": folder / name / "x.html"}, numbers=numbers)


def test_the_index_has_no_violation(tab, tmp_path):
    cases = {"good": "6061-T6", "bad": ""}
    index.write([outcome(tmp_path, *each) for each in cases.items()], tmp_path)
    assert violations(tab, tmp_path / "index.html") == []


def test_a_violation_is_found(tab, tmp_path):
    """The check can fail: also where one of many alike stands on another ground."""
    page = tmp_path / "bad.html"
    page.write_text(
        "<html><body><img src='x.png'><h3>x</h3>" + "<p>word</p>" * 300
        + "<div style='background: #444'><p>word</p></div></body></html>"
    )  # fmt: skip
    found = {rule for rule, *_ in violations(tab, page)}
    assert {"image-alt", "html-has-lang", "document-title", CONTRAST} <= found


def test_a_position_is_chosen_by_keyboard_without_scripts(browser, tmp_path, page_without_scripts):
    page = browser.new_context(java_script_enabled=False, viewport=lab.VIEW).new_page()
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_without_scripts.as_uri())
    page.locator("#p0").focus()
    for i, (name, _, _) in enumerate(static.POSITIONS):
        shown = page.locator(".still:visible")
        assert shown.count() == 1 and shown.locator("h3").inner_text() == name
        assert page.locator(f"#p{i}").is_checked()
        page.keyboard.press("ArrowRight")
    page.screenshot(path=tmp_path / "page.png")
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []


def test_a_printed_picture_stands_with_its_words_and_a_position_on_two_sheets(
    browser, tmp_path, page_without_scripts
):
    page = browser.new_page()
    page.goto(page_without_scripts.as_uri())
    page.pdf(path=tmp_path / "page.pdf", format="A4")
    sheets = [each.extract_text() for each in pypdf.PdfReader(tmp_path / "page.pdf").pages]
    told = [each for each in sheets if "no more than" in each]
    assert told and all("moves to the left" in each for each in told)
    first = [i for i, each in enumerate(sheets) if "Thread M" in each]
    assert len(first) == len(static.POSITIONS) and {b - a for a, b in pairwise(first)} == {2}
