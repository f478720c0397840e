"""The page without scripts in a browser whose scripts are off: choose a position by keyboard."""

import lab
import pytest

from thread_repair.teaching import static

pytestmark = [pytest.mark.browser, pytest.mark.slow]


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
