"""Words and lines stand out from their ground: WCAG 2.1, 1.4.3 (text 4.5) and 1.4.11 (lines 3)."""

import re
from importlib import resources

import pytest

from thread_repair.figures import strip_load, style

CSS = resources.files("thread_repair.report").joinpath("templates/report.css").read_text("utf-8")
INDEX = resources.files("thread_repair.report").joinpath("templates/index.html").read_text("utf-8")
TYPST = resources.files("thread_repair.report").joinpath("templates/report.typ").read_text("utf-8")


def luminance(colour):
    """Relative luminance, WCAG 2.1 definition."""
    digits = colour.lstrip("#")
    digits = "".join(2 * d for d in digits) if len(digits) == 3 else digits
    channels = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula():
    """Black on white is 21; grey #767676 is the lightest that passes on white (both in WCAG)."""
    assert contrast("#000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#fff") >= 4.5 > contrast("#777777", "#fff")


def test_text_of_the_page():
    variables = dict(re.findall(r"--(\w+): (#\w+);", CSS))
    assert {"ink", "grey", "link"} <= variables.keys()
    for name in ("ink", "grey", "link"):
        assert contrast(variables[name], "#ffffff") >= 4.5, name
    draft = re.search(r"\.draft \{ background: (#\w+);.*?; color: (#\w+);", CSS)
    assert contrast(*draft.groups()) >= 4.5
    assert contrast(re.search(r"outline: 3px solid (#\w+)", CSS)[1], "#ffffff") >= 3
    code = re.search(r"pre \{ background: (#\w+)", CSS)[1]
    assert contrast(variables["ink"], code) >= 4.5


def test_every_colour_of_words_is_one_that_was_looked_at():
    """A new colour for text cannot slip in without a line here."""
    used = set(re.findall(r"(?<![-\w])color: (?!inherit|var)(#\w+)", CSS + INDEX))
    assert used <= {"#533f03", "#f0f0f0"}  # on the mark of a draft; the mark itself behind the text


def test_text_of_the_pdf():
    for level in [*re.findall(r"fill: (?:grey|luma\((\d+)\))", TYPST), "90"]:
        if level and level not in ("243", "245"):  # the mark and the ground of code
            assert contrast(f"#{int(level):02x}{int(level):02x}{int(level):02x}", "#fff") >= 4.5
    # Words keep their contrast on the mark of a draft and on the ground of code.
    for ground in ("#f3f3f3", "#f5f5f5"):
        assert contrast("#000000", ground) > 15 and contrast("#5a5a5a", ground) >= 4.5


@pytest.mark.parametrize("name", ["BLUE", "ORANGE", "GREEN", "GREY", "INK"])
def test_colours_of_the_figures_also_serve_for_words(name):
    assert contrast(getattr(style, name), "#ffffff") >= 4.5


def test_states_differ_in_more_than_colour():
    lines = style.STATE.values()
    for kind in ("dashes", "marker", "words"):
        assert len({getattr(line, kind) for line in lines}) == len(lines)


def test_the_chart_can_be_read():
    assert contrast("#ffffff", strip_load._NONE) >= 4.5
    for shade in strip_load._SHADES:
        assert contrast("#1a1a1a", shade) >= 4.5
