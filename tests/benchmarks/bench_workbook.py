"""Time from a key press in the workbook to the changed conclusion, in a browser.

A digit typed and taken away twenty times in a field of a new M10 case and of the demonstration,
which has torque and temperature and so costs more; each with a pause, so that the pictures are
drawn between them, and then without, as somebody types. The time is that of the browser's own
clock, from the key event to the change of the conclusion. Needs
chromium and voila; prints, and judges nothing.
"""

import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "browser"))

import desk
import lab

WATCH = """() => {
    window.times = {};
    document.addEventListener('keydown', e => { window.times.key ??= performance.now(); }, true);
    new MutationObserver(() => { window.times.shown ??= performance.now(); }).observe(
        document.querySelector('.tr-right').firstElementChild, {childList: true, subtree: true, characterData: true});
}"""
M10 = {"Thread": "M10", "Screw": "8.8", "Parent": "EN-AC-42100-T6", "Engagement": "15 mm",
       "Insert length": "1.5 D"}  # fmt: skip


def measure(page, label: str, start: str, pause: int) -> list[float]:
    """Type a decimal in a field and take it away; the milliseconds of each."""
    field = page.get_by_label(label, exact=True)
    field.fill(start)
    field.press("Home")
    for _ in start.split()[0]:
        page.keyboard.press("ArrowRight")
    page.wait_for_timeout(3000)
    page.evaluate(WATCH)
    taken = []
    for key in ["5", "Backspace"] * 20:
        page.wait_for_timeout(pause)
        page.evaluate("window.times = {}")
        page.keyboard.press(key)
        page.wait_for_function("window.times.shown", timeout=20_000)
        times = page.evaluate("window.times")
        taken.append(times["shown"] - times["key"])
    return taken


def main() -> None:
    """Measure and print."""
    if lab.missing():
        print(f"not measured: {lab.missing()}")
        return
    print("key press to changed conclusion, median and slowest of 40 presses")
    demo = str(lab.ROOT / "reports" / "demo-rig-plate")
    for name, given, label, start in (
        ("new M10 case", [], "Engagement", "15.0 mm"),
        ("demonstration", [demo], "Torque", "17.0 N·m"),
    ):
        with (
            tempfile.TemporaryDirectory() as folder,
            lab.browser() as chromium,
            desk.served(Path(folder), *given) as address,
        ):
            page = desk.opened(chromium, address)
            for before, text in M10.items() if not given else ():
                page.get_by_label(before, exact=True).fill(text)
            page.wait_for_function("document.querySelectorAll('.tr-pictures img').length > 2")
            for pause in (1500, 250):
                taken = measure(page, label, start, pause)
                print(
                    f"  {name}, {label.lower()}, every {pause / 1000:g} s"
                    f"  {statistics.median(taken):6.1f} ms  {max(taken):6.1f} ms"
                )


if __name__ == "__main__":
    main()
