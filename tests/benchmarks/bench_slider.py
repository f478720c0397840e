"""Time from a key press to the changed picture, in a browser, beside a bare ipywidgets picture.

Thirty presses of an arrow key on the engagement, each to a position not seen before, so that no
memory of earlier pictures helps; the time is that of the browser's own clock, from the key event
to the frame that shows the new picture. The yardstick is a slider that sends a ready picture of the
same size: what JupyterLab itself costs. Needs chromium; prints, and judges nothing.
"""

import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "browser"))

import lab
import nbformat

PRESSES = 30

WATCH = """(selector) => {
    window.times = {};
    document.addEventListener('keydown', e => { window.times.key ??= e.timeStamp; }, true);
    document.querySelectorAll(selector).forEach((place, i) => new MutationObserver(() =>
        // After the next frame the change is on the screen.
        requestAnimationFrame(() => setTimeout(() => { window.times[i] ??= performance.now(); })))
        .observe(place, {childList: true, subtree: true}));
}"""

BARE = """
import ipywidgets
from thread_repair.teaching import pictures
from thread_repair.teaching.explorer import Controls

ready = [pictures.image("strip-load", Controls(engagement=e)) for e in (1.0, 1.5)]
slider = ipywidgets.IntSlider(min=0, max=99, description="Bare")
image = ipywidgets.HTML(value=ready[0])
def follow(change):
    image.value = ready[change["new"] % 2]
slider.observe(follow, names="value")
ipywidgets.VBox([slider, image])
"""


def measure(
    page, presses: list[tuple[str, str]], pictures: int, selector: str
) -> list[list[float]]:
    """Press the keys and return, for each, the milliseconds until every picture had changed."""
    page.evaluate(WATCH, selector)
    done = " && ".join(f"window.times[{i}]" for i in range(pictures))
    taken = []
    for label, key in presses:
        (page.locator(".noUi-handle") if label == "Bare" else lab.handle(page, label)).focus()
        page.evaluate("window.times = {}")
        page.keyboard.press(key)
        page.wait_for_function(done, timeout=10_000)
        times = page.evaluate("window.times")
        taken.append([times[str(i)] - times["key"] for i in range(pictures)])
    return taken


def main() -> None:
    """Measure both and print them."""
    if lab.missing():
        print(f"not measured: {lab.missing()}")
        return
    notebook = lab.ROOT / "notebooks" / "why_inserts.ipynb"
    with tempfile.TemporaryDirectory() as first, tempfile.TemporaryDirectory() as second:
        with lab.server(Path(first), notebook) as address, lab.browser() as chromium:
            page = chromium.new_page(viewport=lab.VIEW)
            lab.run_all(page, address, notebook.name)
            # Up to the longest engagement, then another parent, and down again.
            keys = [("Engagement", "ArrowRight")] * 12
            keys += [("Parent", "ArrowLeft")] + [("Engagement", "ArrowLeft")] * (PRESSES - 13)
            live = measure(page, keys, 2, ".tr-stage figure")
        bare_path = Path(second) / "bare.ipynb"
        bare = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(BARE)])
        bare.metadata.kernelspec = {"name": "python3", "display_name": "Python 3"}
        nbformat.write(bare, bare_path)
        with lab.server(Path(second), bare_path) as address, lab.browser() as chromium:
            page = chromium.new_page(viewport=lab.VIEW)
            lab.run_all(page, address, bare_path.name, until=".widget-html svg")
            yard = measure(page, [("Bare", "ArrowRight")] * PRESSES, 1, ".widget-html")
    ends = [max(each) for each in live]
    yards = [each[0] for each in yard]
    first_ms, both, base = (statistics.median(v) for v in ([each[0] for each in live], ends, yards))
    print(f"key press to changed picture, median of {PRESSES} presses")
    print(f"  first picture       {first_ms:6.1f} ms   {first_ms / base:4.1f} x the bare image")
    print(f"  both pictures       {both:6.1f} ms   {both / base:4.1f} x the bare image")
    print(f"  slowest, both       {max(ends):6.1f} ms")
    print(f"  bare image          {base:6.1f} ms")


if __name__ == "__main__":
    main()
