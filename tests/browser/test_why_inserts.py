"""The live notebook in a real browser: by keyboard, without errors, without the network."""

import hashlib
import os

import lab
import pytest

from thread_repair.teaching import pictures, widgets
from thread_repair.teaching.explorer import CHOICES, Controls
from thread_repair.units import number

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SHA = """async (index) => {
    const image = document.querySelectorAll('.widget-image')[index];
    const bytes = await (await fetch(image.src)).arrayBuffer();
    return Array.from(new Uint8Array(bytes));
}"""


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    absent = lab.missing()
    if absent and os.environ.get("CI"):
        pytest.fail(absent)
    if absent:
        pytest.skip(absent)
    folder = tmp_path_factory.mktemp("lab")
    notebook = lab.ROOT / "notebooks" / "why_inserts.ipynb"
    with lab.server(folder, notebook) as address, lab.browser() as chromium:
        page = chromium.new_page(viewport=lab.VIEW)
        page.asked, page.complaints = [], []
        page.on("request", lambda request: page.asked.append(request.url))
        page.on("websocket", lambda socket: page.asked.append(socket.url))
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        page.on(
            "console",
            lambda message: (
                page.complaints.append(message.text) if message.type == "error" else None
            ),
        )
        lab.run_all(page, address, notebook.name)
        page.address = address
        page.moved = {}  # controls that a test has moved, with where they stand
        yield page


def image(page, index):
    return hashlib.sha256(bytes(page.evaluate(SHA, index))).hexdigest()


def expected(name, position):
    return hashlib.sha256(pictures.image(name, position)).hexdigest()


def press(page, label, key, position, second):
    """Press a key on a control and wait until the words of the new position stand there."""
    handle = lab.handle(page, label)
    handle.focus()
    page.keyboard.press(key)
    told = widgets.told(position, second)
    sentence = told[told.index(">") + 1 : told.index("</p>")]
    page.wait_for_function(
        "words => document.querySelector('.widget-html [role=status]').textContent === words",
        arg=sentence,
        timeout=20_000,
    )
    assert handle.evaluate("e => e === document.activeElement"), "the key moved the focus"


def test_pictures_and_numbers_follow_the_keyboard(opened, tmp_path):
    page, second, at = opened, "section", opened.moved
    assert image(page, 0) == expected("strip-load", Controls(**at))
    seen = [(image(page, 0), image(page, 1))]
    for label, key, changed in (
        ("Engagement", "ArrowRight", {"engagement": 1.625}),
        ("Parent", "ArrowLeft", {"parent": "5052-H32"}),
        ("Insert length", "ArrowUp", {"insert_length": 2.0}),
        ("Size", "ArrowDown", {"thread": "M6x1"}),
        ("Screw class", "ArrowRight", {"screw": "10.9"}),
        ("Boss diameter", "ArrowLeft", {"boss": 2.5}),
        ("Tolerances", "ArrowRight", {"tolerance_position": "mean"}),
    ):
        at.update(changed)
        position = Controls(**at)
        press(page, label, key, position, second)
        seen.append((image(page, 0), image(page, 1)))
        assert seen[-1] == (expected("strip-load", position), expected(second, position))
        assert seen[-1] != seen[-2], f"{label} left the pictures as they were"
    # A wall that is thick enough may change the section only; all others move the strip load.
    assert len({first for first, _ in seen}) >= len(seen) - 1
    ratio = pictures.explorer.strip(Controls(**at)).ratio
    assert f"ratio {number(ratio)}." in page.locator(".widget-html [role=status]").inner_text()
    page.screenshot(path=tmp_path / "moved.png")


def test_each_picture_changes_when_it_is_chosen_and_when_a_control_moves(opened, tmp_path):
    page, at = opened, opened.moved
    moves = {
        "thread-loads": ("sliding_coil", 1),
        "collapse": ("thread", 1),
        "strip-torque": ("engagement", -1),
    }
    before = image(page, 1)
    for second, (name, way) in moves.items():
        press(page, "Second picture", "ArrowRight", Controls(**at), second)
        chosen = image(page, 1)
        assert chosen != before and chosen == expected(second, Controls(**at))
        here = CHOICES[name].index(getattr(Controls(**at), name))
        at[name] = CHOICES[name][here + way]
        key = "ArrowRight" if way > 0 else "ArrowLeft"
        press(page, widgets.LABELS[name], key, Controls(**at), second)
        before = image(page, 1)
        assert before != chosen and before == expected(second, Controls(**at))
        page.screenshot(path=tmp_path / f"{second}.png")


def test_every_control_has_its_label(opened):
    labels = opened.locator(".widget-slider .widget-label").all_inner_texts()
    assert labels == [*widgets.LABELS.values(), "Second picture"]
    assert opened.locator(".noUi-handle[role=slider][tabindex='0']").count() == len(labels)


def test_nothing_is_asked_of_the_network_and_nothing_complains(opened):
    own = (opened.address, opened.address.replace("http", "ws", 1), "blob:", "data:")
    assert len(opened.asked) > 20
    assert [url for url in opened.asked if not url.startswith(own)] == []
    assert opened.complaints == []
