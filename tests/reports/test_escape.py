"""Text of a case comes out as typed."""

import json
import os
import subprocess

import pypandoc
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thread_repair.report import escape, render

from .conftest import HOSTILE


def read_back(markdown: str) -> str:
    """What pandoc, reading as for a report, takes as plain words; fails on any markup."""
    done = subprocess.run(
        [pypandoc.get_pandoc_path(), f"--from={render.READER}", "--to=json"],
        input=markdown.encode(),
        capture_output=True,
        check=True,
        env=os.environ,
    )
    blocks = json.loads(done.stdout)["blocks"]
    if not blocks:
        return ""
    (block,) = blocks
    assert block["t"] == "Para"
    words = {"Space": " ", "SoftBreak": " "}
    assert {inline["t"] for inline in block["c"]} <= {"Str", *words}, block
    return "".join(words.get(inline["t"]) or inline["c"] for inline in block["c"])


def test_hostile_text_is_read_back_as_typed():
    assert read_back(escape.markdown(HOSTILE)) == HOSTILE


@pytest.mark.parametrize(
    "text",
    [
        "1. first",
        "- item",
        "+ item",
        "# head",
        "> quote",
        "    code",
        "a  b",
        "term\n: definition",
        "---",
        "===",
        "***",
        "|a|b|",
        "(@) example",
        "i) item",
        "\\",
        "\\(",
        "a\\\nb",
        "[TOC]",
        'don\'t -- "quote" ...',
        "x^2",
        "a_b_c",
        "https://a.example/x_y_z",
        "::: {.sign-off}",
    ],
)
def test_the_start_of_a_line_means_nothing(text):
    assert read_back(escape.markdown(text)) == " ".join(text.split())


@settings(max_examples=25, deadline=None)
@given(st.text(alphabet=st.characters(min_codepoint=1, max_codepoint=0x2FF), max_size=30))
def test_any_text_is_read_back_as_typed(text):
    shown = escape.visible(text)
    # pandoc keeps a no-break space as such; only the common white space counts as a space
    assert read_back(escape.markdown(text)) == " ".join(shown.split(" "))


def test_what_cannot_be_seen_is_spelled_out():
    assert escape.visible("a\0b\u202ec\ud800d\ue000") == "a\\x00b\\u202ec\\ud800d\\ue000"
    assert escape.visible(" two\r\n\tlines\u2028x ") == "two lines x"
    assert escape.visible("naïve 漢字 שלום 👩\u200d🔧") == "naïve 漢字 שלום 👩\u200d🔧"


def test_our_own_markup_stays():
    assert escape.markdown(escape.Markup("$A_s$")) == "$A_s$"


def test_a_fence_cannot_be_closed_from_inside():
    text = escape.verbatim("a\n````\n# b")
    assert text.startswith("`````\n") and text.endswith("\n`````")


def test_html_and_mathtext():
    assert escape.html("<a b='\"'>&") == "&lt;a b=&#x27;&quot;&#x27;&gt;&amp;"
    from matplotlib.cbook import is_math_text

    assert not is_math_text(escape.mathtext("costs $5 or $6"))
    assert is_math_text("costs $5 or $6")
