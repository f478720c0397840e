"""The workbook in a real browser: filled in by keyboard, saved, built; without the network."""

import json
import os

import desk
import lab
import pytest
from jupyter_core.paths import jupyter_path

from thread_repair import case, study, words

pytestmark = [pytest.mark.browser, pytest.mark.slow]

#: What is typed, by the label that stands before the field, in the order of the tab key.
TYPED = {
    "Thread": "m10",
    "Screw": "8.8",
    "Parent": "EN AC-42100 T6",
    "Hole condition": "",
    "Engagement": "15 mm",
    "Insert length": "1.5 D",
    "Insert kind": "",
    "Hole kind": "blind",
    "Hole depth": "32 mm",
}


def entries(typed):
    """Return what is typed by key, as a case file has it."""
    return {label.lower().replace(" ", "_"): text for label, text in typed.items() if text}


M10 = entries(TYPED)


@pytest.fixture(scope="module")
def page(browser, tmp_path_factory):
    """The page with the case of `TYPED` filled in."""
    folder = tmp_path_factory.mktemp("empty")
    with desk.served(folder) as address:
        opened = desk.opened(browser, address)
        opened.folder, opened.address = folder, address
        type_in(opened, TYPED)
        waits_for(opened, said(M10))
        yield opened


def said(entries):
    """Return the sentence with which the calculation of these entries begins."""
    return words.sentence(study(case.read(entries)).statements[0])


def waits_for(page, text):
    page.wait_for_function(
        "text => document.querySelector('.tr-answer [role=status]').textContent.includes(text)",
        arg=text,
        timeout=30_000,
    )


def type_in(page, typed):
    """Type from the first field on, by the keyboard alone; every field is met in its turn."""
    page.locator(".tr-workbook").get_by_label("Thread", exact=True).focus()
    for label, text in typed.items():
        assert page.evaluate("document.activeElement.labels[0].innerText") == label
        page.keyboard.type(text)
        page.keyboard.press("Tab")


def axe(page):
    from axe_playwright_python.sync_playwright import Axe

    options = {"resultTypes": ["violations"]}  # no path to every place that is in order
    found = Axe().run(page, {"include": [[".tr-workbook"]]}, options).response
    assert len(found["passes"]) > 5
    return [(v["id"], v["impact"], v["nodes"][0]["html"][:300]) for v in found["violations"]]


def test_a_new_case_is_typed_saved_and_built(page):
    before = page.locator(".tr-answer").inner_text()
    page.get_by_label("Boss diameter", exact=True).focus()
    page.keyboard.type("16 mm")
    wanted = {**M10, "boss_diameter": "16 mm"}
    waits_for(page, said(wanted))
    assert page.locator(".tr-answer").inner_text() != before
    page.get_by_label("Case file", exact=True).focus()
    page.keyboard.type("pump")
    page.get_by_role("button", name="Save", exact=True).press("Enter")
    page.get_by_text("Saved ").wait_for()
    saved = case.load(page.folder / "pump")
    assert saved == case.read(wanted) and saved.entered == wanted
    report = page.get_by_label("Report", exact=True)
    assert report.input_value() == "repair_justification"
    report.fill("letter")  # the shortest
    report.press("Tab")
    page.get_by_role("button", name="Build the report").press("Space")
    link = page.get_by_role("link", name="letter.pdf")
    link.wait_for(timeout=180_000)
    with page.expect_download() as taken:
        link.press("Enter")
    pdf = page.folder / "pump" / "letter.pdf"
    assert pdf.read_bytes()[:4] == b"%PDF"
    assert taken.value.path().read_bytes() == pdf.read_bytes()
    found = json.loads((page.folder / "pump" / "results.json").read_text())
    assert found["conclusion"]["text"] in page.locator(".tr-answer").inner_text()


def test_a_wrong_entry_leaves_the_last_answer_outdated(page):
    field = page.get_by_label("Insert length", exact=True)
    field.focus()
    page.keyboard.press("End")
    page.keyboard.type("D")
    page.get_by_role("alert").filter(has_text="1.5 DD").wait_for()
    waits_for(page, "Outdated.")
    assert page.locator(".tr-answer .tr-outdated table").count() == 1
    page.wait_for_function("document.querySelectorAll('.tr-outdated img').length === 4")
    assert field.evaluate("e => e === document.activeElement"), "the answer took the focus"
    assert axe(page) == []
    page.keyboard.press("Backspace")
    page.wait_for_function("!document.querySelector('.tr-outdated')")


def test_every_key_can_be_reached_and_has_a_label(page):
    groups = page.locator(".tr-group")
    for index in range(groups.count()):
        groups.nth(index).press("Enter")
    page.wait_for_function(
        "n => document.querySelectorAll('.tr-form input, .tr-form textarea').length === n",
        arg=len(case.keys()),
    )
    fields = page.locator(".tr-form input, .tr-form textarea")
    labels = fields.evaluate_all("all => all.map(each => each.labels[0].innerText)")
    assert all(labels) and len(set(labels)) == len(labels)
    assert axe(page) == []


def test_the_conclusion_stays_in_sight_of_the_lowest_field(page):
    page.locator(".tr-form input, .tr-form textarea").last.focus()
    top, bottom, tall = page.evaluate(
        "() => { const at = document.querySelector('.tr-answer [role=status]')"
        ".getBoundingClientRect(); return [at.top, at.bottom, innerHeight]; }"
    )
    assert 0 <= top < bottom < tall / 2


def test_on_a_screen_of_380_points_the_answer_stands_below_the_form_and_is_as_wide(page):
    """As wide as a laptop's at four times its size."""
    size = page.viewport_size
    page.set_viewport_size({"width": 380, "height": 800})
    page.wait_for_function("document.querySelector('.tr-workbook').offsetWidth < 381")
    form, answer = (page.locator(f".tr-{each}").bounding_box() for each in ("form", "right"))
    page.set_viewport_size(size)
    assert answer["width"] == form["width"] > 300
    assert answer["y"] >= form["y"] + form["height"]


def test_the_dark_theme_is_readable(page, tmp_path):
    """The page with the style sheet that it has when it is served with a dark theme."""
    colour = "getComputedStyle(document.querySelector('.tr-answer')).color"
    light = page.evaluate(colour)
    places = jupyter_path("nbconvert", "templates", "lab", "static", "theme-dark.css")
    page.add_style_tag(path=next(filter(os.path.exists, places)))
    page.evaluate("document.body.dataset.jpThemeLight = 'false'")
    file = page.get_by_label("Case file", exact=True)
    file.fill(str(lab.ROOT / "reports" / "demo-rig-plate"))
    file.press("Tab")
    page.get_by_role("button", name="Open", exact=True).press("Enter")
    page.get_by_text("Opened ").wait_for()
    page.wait_for_function("document.querySelectorAll('.tr-pictures img').length === 4")
    assert page.evaluate(colour) != light
    assert axe(page) == []
    page.screenshot(path=tmp_path / "dark.png")


def test_leaving_the_page_asks_first_where_entries_would_be_lost(page):
    """They were lost with a reload, and nothing was asked."""
    assert page.locator(".tr-unsaved").count() == 0
    field, asked = page.get_by_label("Screw", exact=True), []
    before = field.input_value()
    field.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("12.9")
    page.wait_for_selector(".tr-unsaved")
    page.once("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.evaluate("setTimeout(() => location.reload(), 0)")
    for _ in range(100):
        page.wait_for_timeout(100)
        if asked:
            break
    assert asked == ["beforeunload"] and field.input_value() == "12.9"
    field.fill(before)
    page.wait_for_function("!document.querySelector('.tr-unsaved')")


def test_nothing_is_asked_of_the_network_and_nothing_complains(page):
    own = page.address.split("/?")[0]
    allowed = (own, own.replace("http", "ws", 1), "blob:", "data:")
    assert len(page.asked) > 20
    assert [url for url in page.asked if not url.startswith(allowed)] == []
    assert page.complaints == []
