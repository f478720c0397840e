"""Make the text of a case safe: it appears as typed in every format and never runs.

This is the one place where text that a person typed is prepared for Markdown, HTML, XML and
matplotlib. Typst is not here because it gets such text as data, never as source.
"""

import html as _html
import math
import re
import unicodedata

# Every ASCII mark that means something to Markdown somewhere; , / ; % ? never do.
_PUNCTUATION = re.compile(r"""([!"#$&'()*+.:<=>@\[\]\\^_`{|}~-])""")
_SPACE = re.compile(r"[\t\n\v\f\r \x85\u2028\u2029]+")

# Shaping of Indic and Arabic scripts and of emoji needs these; they move no text about.
_HARMLESS_FORMAT = frozenset("\u200c\u200d")


class Markup(str):
    """Markdown written by us (not by the person who filled in the case): not escaped again.

    Examples
    --------
    >>> markdown(Markup("$A_s$ [mm²]"))
    '$A_s$ [mm²]'
    """

    __slots__ = ()


def visible(text: object) -> str:
    r"""Return the text on one line, with every character that has no shape spelled out.

    Control characters, unpaired surrogates and the marks that reorder text (which can make a
    number read backwards) are shown as their escape sequence.

    Examples
    --------
    >>> print(visible("two\nlines, a NUL\0 and a reversal\u202e"))
    two lines, a NUL\x00 and a reversal\u202e
    """
    line = _SPACE.sub(" ", str(text)).strip()
    return "".join(_spelled(character) for character in line)


def _spelled(character: str) -> str:
    # Cc control, Cf format, Cs surrogate, Co private use, Cn not assigned.
    if unicodedata.category(character)[0] != "C" or character in _HARMLESS_FORMAT:
        return character
    return character.encode("unicode_escape").decode("ascii")


def markdown(text: object) -> str:
    r"""Return text as Markdown that shows it literally, in pandoc and in Jupyter.

    Examples
    --------
    >>> print(markdown("a|b <script> $x$"))
    a\|b \<script\> \$x\$
    """
    if isinstance(text, Markup):
        return _SPACE.sub(" ", text).strip()
    return _PUNCTUATION.sub(r"\\\1", visible(text))


def html(text: object) -> str:
    """Return text for the content of an HTML element or a quoted attribute.

    Examples
    --------
    >>> html('<b title="x">')
    '&lt;b title=&quot;x&quot;&gt;'
    """
    return _html.escape(visible(text), quote=True)


#: XML has the same five entities.
xml = html


def mathtext(text: object) -> str:
    r"""Return text for a matplotlib label, where an even number of `$` would start a formula.

    Examples
    --------
    >>> print(mathtext("5 $ to 6 $"))
    5 \$ to 6 \$
    """
    return visible(text).replace("$", r"\$")


def cell(value: object) -> str:
    """Return a cell that no spreadsheet takes for a formula, a number with digits to sort by.

    Examples
    --------
    >>> cell("=1+1"), cell(2 / 3), cell(None)
    ("'=1+1", '0.666667', '')
    """
    if isinstance(value, float):
        return "" if math.isnan(value) else f"{value:.6g}"
    shown = visible("" if value is None else value)
    return f"'{shown}" if shown.startswith(("=", "+", "-", "@")) else shown


def verbatim(text: str) -> str:
    """Return text as a Markdown code block, with a fence that the text cannot close."""
    lines = ("".join(_spelled(c) for c in line.expandtabs()) for line in text.splitlines())
    body = "\n".join(lines).strip("\n")
    longest = max((len(run) for run in re.findall("`+", body)), default=0)
    fence = "`" * max(3, longest + 1)
    return f"{fence}\n{body}\n{fence}"
