"""The first page of a DOCX, set as large as is likely to fit one page.

Nobody knows what a word processor makes of a page before it lays it out, so that lines are counted
from the number of letters, a little too many rather than too few.
"""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

_BREAK = '<w:br w:type="page"/>'
_W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"

#: Sizes of the type, points, from that of the other pages down to the smallest that can be read.
SIZES = tuple(half / 2 for half in range(21, 11, -1))
#: Type in a table, of that around it: as in the PDF.
_CELL = 0.9
#: Width of a letter and height of a line in Times, in sizes of the type: the mean of English text
#: is 0.42; bold type is wider.
_LETTER, _LINE = 0.43, 1.15
#: Space below a paragraph, above and below a row of a table, and beside a cell: points, as set here
#: and in the styles.
_BELOW, _ROW, _BESIDE = 3.0, 2.5, 10.0
#: The title stands out in a size of its own.
_TITLE, _TITLE_SIZE = "Title", 14.0
_SPACING = '<w:spacing w:before="20" w:after="40"/>'
_CELL_SPACING = '<w:spacing w:before="10" w:after="10"/>'
_CELL_MARGINS = (
    '<w:tblCellMar><w:top w:w="10" w:type="dxa"/><w:bottom w:w="10" w:type="dxa"/></w:tblCellMar>'
)


def fitted(document: str, *, width: float, height: float, whole: bool = False) -> str:
    """Return the XML of a document with the type of its first page set to fit, if it has one.

    Parameters
    ----------
    document : str
        `word/document.xml` as pandoc writes it; a page break ends the first page.
    width, height : float
        Room for text on a page, points.
    whole : bool
        The document is one page and has no break.
    """
    at = document.find("<w:sectPr" if whole else _BREAK)
    if at < 0:
        return document
    if not whole:
        at = document.rindex("<w:p>", 0, at)
    first, rest = document[:at], document[at:]
    size = next((s for s in SIZES if estimate(first, size=s, width=width) <= height), SIZES[-1])
    return _set(first, size) + rest


def estimate(first: str, *, size: float, width: float) -> float:
    """Return about how high the blocks of a page are, points, in a size of type.

    `first` is the XML up to the end of the page, with nothing closed behind it.
    """
    root = ElementTree.fromstring(f"{first}</w:body></w:document>")
    body = root.find(f"{_W}body")
    assert body is not None
    return sum(
        _table(each, _CELL * size, width)
        if each.tag == f"{_W}tbl"
        else _paragraph(each, size, width)
        for each in body
        if each.tag in (f"{_W}p", f"{_W}tbl")
    )


def _paragraph(found: ElementTree.Element, size: float, width: float) -> float:
    style = found.find(f"{_W}pPr/{_W}pStyle")
    if style is not None and style.get(f"{_W}val") == _TITLE:
        size = _TITLE_SIZE
    return _lines(found, size, width) * _LINE * size + _BELOW


def _lines(found: ElementTree.Element, size: float, width: float) -> int:
    return max(1, math.ceil(len("".join(found.itertext()).strip()) * _LETTER * size / width))


def _table(found: ElementTree.Element, size: float, width: float) -> float:
    shares = [float(each.get(f"{_W}w", "1")) for each in found.iter(f"{_W}gridCol")]
    widths = [width * share / sum(shares) - _BESIDE for share in shares]
    return sum(
        max(
            sum(_lines(p, size, room) for p in cell.iter(f"{_W}p"))
            for cell, room in zip(row.iter(f"{_W}tc"), widths, strict=False)
        )
        * _LINE
        * size
        + _ROW
        for row in found.iter(f"{_W}tr")
    )


def _set(first: str, size: float) -> str:
    """Write the size into every run, and close the paragraphs up."""

    def paragraph(found: re.Match[str]) -> str:
        text = found[0]
        in_cell = "<w:jc " in text  # pandoc aligns those, and no others
        in_title = f'<w:pStyle w:val="{_TITLE}"' in text
        half = round(2 * (_TITLE_SIZE if in_title else size * (_CELL if in_cell else 1)))
        mark = f'<w:sz w:val="{half}"/><w:szCs w:val="{half}"/>'
        text = re.sub(r"<w:r>(?!<w:rPr>)", "<w:r><w:rPr></w:rPr>", text)
        text = text.replace("</w:rPr>", f"{mark}</w:rPr>")
        near = _CELL_SPACING if in_cell else _SPACING
        # The mark of the paragraph too: a number before it is as large.
        end = rf"{near}\1<w:rPr>{mark}</w:rPr></w:pPr>"
        return re.sub(r"(<w:jc [^>]*>)?</w:pPr>", end, text, count=1)

    first = first.replace("<w:tblLook ", f"{_CELL_MARGINS}<w:tblLook ")
    return re.sub(r"<w:p>.*?</w:p>", paragraph, first, flags=re.DOTALL)
