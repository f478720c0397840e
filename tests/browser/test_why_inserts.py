"""The live notebook in a real browser: by keyboard, for a lecture hall, without the network.

The workbook too, below it in the same notebook: one server, page and kernel for both.
"""

import lab
import nbformat
import pytest
import test_desk

from thread_repair.teaching import explorer, pictures, widgets
from thread_repair.teaching.explorer import Controls

pytestmark = [pytest.mark.browser, pytest.mark.slow]

#: Smallest size of any letter on a screen, in dots.
LETTERS = """() => Math.min(...[...document.querySelectorAll('.tr-panel *')]
    .filter(e => e.tagName !== 'SUB' && (e.offsetParent !== null || e.closest('svg')))
    .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))
    .map(e => {
        const svg = e.closest('svg'), size = parseFloat(getComputedStyle(e).fontSize);
        return svg ? size * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : size;
    }))"""

#: Whether a part is shown, though it is outside the screen.
DISPLAY = "e => getComputedStyle(e).display"

#: Move a control one step on and predict before Python can have answered, which then said "stays".
AT_ONCE = """e => {
    e.value = Number(e.value) + 1;
    e.dispatchEvent(new Event('input', {bubbles: true}));
    [...document.querySelectorAll('.tr-question button')].find(b => b.innerText === 'It rises').click();
}"""


@pytest.fixture(scope="module")
def opened(browser, tmp_path_factory):
    folder = tmp_path_factory.mktemp("lab")
    live, form = (
        nbformat.read(lab.ROOT / "notebooks" / f"{name}.ipynb", as_version=4)
        for name in ("why_inserts", "repair_workbook")
    )
    live.cells += form.cells
    notebook = folder / "why_inserts.ipynb"
    nbformat.write(live, notebook)
    with lab.server(folder, notebook) as address:
        yield page_of(browser, address)


def page_of(browser, address):
    page = browser.new_page(viewport={"width": 1920, "height": 1080})
    page.asked, page.complaints = [], []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("websocket", lambda socket: page.asked.append(socket.url))
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.on(
        "console",
        lambda message: page.complaints.append(message.text) if message.type == "error" else None,
    )
    lab.run_all(page, address, "why_inserts.ipynb")
    page.address = address
    page.moved = {}  # controls that a test has moved, with where they stand
    return page


def label(page, index):
    """What the picture says it shows."""
    return page.locator(".tr-stage figure").nth(index).locator("svg").get_attribute("aria-label")


def press(page, control, key, position, second="section"):
    """Press a key on a control and wait until the words of the new position stand there."""
    handle = lab.handle(page, control)
    handle.focus()
    page.keyboard.press(key)
    told = f"{pictures.words('strip-load', position)} {pictures.words(second, position)}"
    page.wait_for_function(
        "words => document.querySelector('.tr-words').textContent === words", arg=told,
        timeout=20_000,
    )  # fmt: skip
    assert handle.evaluate("e => e === document.activeElement"), "the key moved the focus"
    return handle


def test_pictures_and_words_follow_the_keyboard(opened):
    page, at = opened, opened.moved
    for control, key, changed, spoken in (
        ("Engagement", "ArrowRight", {"engagement": 1.625}, "1.625 D"),
        ("Parent", "ArrowLeft", {"parent": "A380.0-die-cast"}, "A380.0-die-cast, cast aluminium, τ "
         "186 MPa"),
        ("Insert length", "ArrowUp", {"insert_length": 2.0}, "2 D"),
        ("Thread", "ArrowRight", {"thread": "M8x1"}, "M8x1"),
        ("Screw class", "ArrowRight", {"screw": "10.9"}, "10.9"),
        ("Boss diameter", "ArrowLeft", {"boss": 2.5}, "2.5 D"),
        ("Tolerances", "ArrowRight", {"tolerance_position": "mean"}, "mean"),
        ("Coil", "ArrowRight", {"sliding_coil": True}, "slides"),
    ):  # fmt: skip
        at.update(changed)
        handle = press(page, control, key, Controls(**at))
        assert handle.get_attribute("aria-valuetext") == spoken
        assert pictures.words("strip-load", Controls(**at)) in label(page, 0)
        assert pictures.words("section", Controls(**at)) in label(page, 1)
        assert page.locator(".tr-stage .ghost").count() == 2, "the last state is not shown"
    page.get_by_role("button", name="Reset").click()
    at.clear()
    page.wait_for_function(
        "words => document.querySelector('.tr-words').textContent.startsWith(words)",
        arg=pictures.words("strip-load", Controls()),
    )
    assert lab.handle(page, "Boss diameter").get_attribute("aria-valuetext") == "3 D"


def test_each_picture_is_chosen_and_the_collapse_is_that_of_the_boss(opened):
    page = opened
    press(page, "Boss diameter", "Home", Controls(boss=1.75))
    for name, (_, short, _) in pictures.PICTURES.items():
        if name == "strip-load":
            continue
        page.get_by_role("radio", name=short).check()
        page.wait_for_function(
            "words => document.querySelectorAll('.tr-stage svg')[1].ariaLabel.endsWith(words)",
            arg=pictures.words(name, Controls(boss=1.75)), timeout=30_000,
        )  # fmt: skip
        ghosts = page.locator("figure:nth-child(2) .ghost").count()
        assert ghosts == (name == "section"), "the ghost is of another picture"
    assert "boss 14.0 mm" in pictures.words("collapse", Controls(boss=1.75))
    page.get_by_role("radio", name="section").check()
    page.get_by_role("button", name="Reset").click()
    page.wait_for_function("document.querySelector('.tr-words').textContent.includes('41.9 kN')")


def test_a_prediction_is_asked_before_the_picture_is_shown(opened):
    page = opened
    before = label(page, 0)
    page.get_by_role("checkbox", name="Predict, then reveal").check()
    handle = lab.handle(page, "Insert length")
    handle.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_timeout(1000)
    assert label(page, 0) == before, "shown before it was predicted"
    page.get_by_role("button", name="It rises").click()
    was, now = (explorer.strip(Controls(insert_length=v)).ratio for v in (1.5, 2.0))
    answer = page.locator("p[role=status]").first.inner_text()
    assert answer == f"Right: predicted “It rises”; the ratio rises, from {was:.3g} to {now:.3g}."
    assert pictures.words("strip-load", Controls(insert_length=2.0)) in label(page, 0)
    handle.evaluate(AT_ONCE)
    then = explorer.strip(Controls(insert_length=2.5)).ratio
    page.get_by_text(
        f"Right: predicted “It rises”; the ratio rises, from {now:.3g} to {then:.3g}."
    ).wait_for()
    page.get_by_role("checkbox", name="Predict, then reveal").uncheck()
    page.get_by_role("button", name="Reset").click()


def test_names_values_and_tasks_stand_there_and_nothing_is_editable(opened):
    names = opened.get_by_role("slider").evaluate_all("all => all.map(e => e.ariaLabel)")
    assert names == [*widgets.LABELS.values()]
    assert opened.locator(".tr-panel [contenteditable], .tr-panel input[type=text]").count() == 0
    opened.get_by_role("button", name="Next task").click()
    assert opened.locator(".tr-task").inner_text().startswith("Task 2 of ")


def test_it_is_read_from_the_last_row_of_a_lecture_hall(opened, tmp_path):
    page = opened
    boxes = [page.locator(".tr-stage figure").nth(i).bounding_box() for i in (0, 1)]
    assert boxes[0]["y"] == boxes[1]["y"] and boxes[1]["x"] > boxes[0]["x"] + 700
    assert page.evaluate(LETTERS) >= 0.022 * 1080
    page.get_by_role("button", name="Full screen").click()
    page.wait_for_function("document.fullscreenElement !== null")
    assert page.evaluate(LETTERS) >= 0.022 * 1080
    last = page.locator(".tr-stage figure").nth(1).bounding_box()
    assert last["y"] + last["height"] <= 1080, "a picture reaches below the screen"
    assert lab.handle(page, "Thread").bounding_box()["y"] < boxes[0]["y"]
    page.screenshot(path=tmp_path / "hall.png")
    page.get_by_role("button", name="Full screen").click()


@pytest.mark.parametrize(("width", "height", "zoom"), [(1024, 768, 1), (1024, 768, 1.5)])
def test_it_is_usable_on_a_small_screen_and_zoomed(opened, tmp_path, width, height, zoom):
    page = opened
    page.set_viewport_size({"width": round(width / zoom), "height": round(height / zoom)})
    page.wait_for_function(
        "document.querySelector('.tr-panel').getBoundingClientRect().right <= innerWidth"
    )
    panel = page.locator(".tr-panel").first
    panel.scroll_into_view_if_needed()
    assert panel.evaluate("e => e.scrollWidth <= e.clientWidth + 1")
    for name in widgets.LABELS.values():
        handle = lab.handle(page, name)
        handle.scroll_into_view_if_needed()
        assert handle.bounding_box()["width"] > 100
    assert page.evaluate(LETTERS) >= 10
    page.screenshot(path=tmp_path / f"{width}-{zoom}.png")
    page.set_viewport_size({"width": 1920, "height": 1080})


def test_a_dark_theme_has_a_dark_ground(opened, tmp_path):
    page, panel = opened, opened.locator(".tr-panel").first
    ground = "e => getComputedStyle(e).backgroundColor"
    light = panel.evaluate(ground)
    page.evaluate("document.body.dataset.jpThemeLight = 'false'")
    assert (light, panel.evaluate(ground)) == ("rgb(255, 255, 255)", "rgb(17, 17, 17)")
    colour = panel.get_by_text("original 37.6 kN").evaluate("e => getComputedStyle(e).fill")
    assert colour == "rgb(255, 157, 87)"
    page.screenshot(path=tmp_path / "dark.png")
    page.evaluate("document.body.dataset.jpThemeLight = 'true'")


def test_nothing_is_asked_of_the_network_and_nothing_complains(opened):
    own = (opened.address, opened.address.replace("http", "ws", 1), "blob:", "data:")
    assert len(opened.asked) > 20
    assert [url for url in opened.asked if not url.startswith(own)] == []
    assert opened.complaints == []


def test_the_workbook_does_the_same_as_on_its_page(opened):
    page = opened
    page.wait_for_selector(".tr-answer", state="attached", timeout=120_000)
    page.locator(".tr-workbook").scroll_into_view_if_needed()
    cells = page.locator(".jp-Notebook-cell").count()
    needed = dict(list(test_desk.TYPED.items())[:6])
    test_desk.type_in(page, needed)
    test_desk.waits_for(page, test_desk.said(test_desk.entries(needed)))
    group = page.locator(".tr-group").first
    for key, sign in (("Enter", "−"), ("Space", "+")):
        group.press(key)
        page.wait_for_function(
            "s => document.querySelector('.tr-group').textContent.startsWith(s)", arg=sign
        )
    assert page.locator(".jp-Notebook-cell").count() == cells, "a key was taken for the notebook"


def test_a_restarted_kernel_leaves_no_answer_beside_controls_that_still_move(opened):
    page, stage = opened, opened.locator(".tr-stage")
    answer = page.locator(".tr-workbook .tr-right")
    page.wait_for_selector(".tr-answer", state="attached", timeout=120_000)
    assert answer.evaluate(DISPLAY) != "none"
    page.get_by_role("menuitem", name="Kernel", exact=True).click()
    page.get_by_text("Restart Kernel…", exact=True).click()
    page.get_by_role("button", name="Confirm Kernel Restart").click()
    page.get_by_text("Python 3 (ipykernel) | Idle").wait_for(timeout=60_000)
    assert answer.evaluate(DISPLAY) == "none"
    assert stage.is_visible() and not page.locator(".tr-panel [role=alert]").is_visible()
    lab.handle(page, "Engagement").press("Home")
    stage.wait_for(state="hidden", timeout=20_000)
    assert page.locator(".tr-panel [role=alert]").is_visible()
    assert not page.locator(".tr-words").is_visible()
