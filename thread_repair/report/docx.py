"""The DOCX side: styles, header and footer before pandoc writes, first page and bytes after it.

Nobody knows what a word processor makes of a page before it lays it out. So that the first page is
as large as is likely to fit one page, its lines are counted from the number of letters, a little
too many rather than too few.
"""

import math
import re
import zipfile
from pathlib import Path
from xml.etree import ElementTree

from . import escape
from .document import NO_DATE, DocumentInfo

#: What a document of ours is made of, each part at its place in the archive.
_PARTS = Path(__file__).parent / "templates" / "docx"
_DOCUMENT, _PROPERTIES = "word/document.xml", "docProps/core.xml"

#: Room for text on a page, points: A4 less its margins, as the template of the document has them.
WIDTH, HEIGHT = (11906 - 2 * 1417) / 20, (16838 - 1531 - 1361) / 20

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
#: The paragraph that parts two tables, and what keeps a row on one page.
_NARROW = (
    '<w:p><w:pPr><w:spacing w:before="0" w:after="0" w:line="60" w:lineRule="exact"/></w:pPr></w:p>'
)
_WHOLE = "<w:trPr><w:cantSplit/>"


def write_reference(info: DocumentInfo, path: Path) -> None:
    """Write the reference document that pandoc takes styles, header and footer from."""
    with zipfile.ZipFile(path, "w") as archive:
        for file in sorted(each for each in _PARTS.rglob("*") if each.is_file()):
            name = file.relative_to(_PARTS).as_posix()
            if name != _PROPERTIES:
                archive.writestr(name, _filled(name, info))


def finish(path: Path, info: DocumentInfo) -> None:
    """Set the document's properties and fix the times, so that one report has one set of bytes."""
    with zipfile.ZipFile(path) as source:
        parts = {name: source.read(name) for name in source.namelist()}
    # Without distances one word processor leaves 3 mm on each side of a picture.
    near = '<wp:inline distT="0" distB="0" distL="0" distR="0">'
    text = parts[_DOCUMENT].decode("utf-8").replace("<wp:inline>", near)
    text = fitted(_tidy(text), whole=info.layout == "letter")
    parts[_DOCUMENT] = text.replace("<w:p />", _NARROW).encode("utf-8")
    parts[_PROPERTIES] = _filled(_PROPERTIES, info).encode("utf-8")
    first = "[Content_Types].xml"
    with zipfile.ZipFile(path, "w") as target:
        for name in sorted(parts, key=lambda name: (name != first, name)):
            entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(entry, parts[name])


def _tidy(document: str) -> str:
    """Keep rows whole, and mark as the goal of a link a point, not a section.

    One word processor forgets a mark that begins in one table or paragraph and ends in another.
    """
    document = document.replace("<w:tr><w:trPr>", f"<w:tr>{_WHOLE}")
    document = re.sub(f"<w:tr>(?!{_WHOLE})", f"<w:tr>{_WHOLE}</w:trPr>", document)
    document = re.sub(r"<w:bookmarkEnd [^>]*>", "", document)
    document = re.sub(
        r'<w:bookmarkStart w:id="(\d+)" [^>]*>', r'\g<0><w:bookmarkEnd w:id="\1"/>', document
    )
    return re.sub(
        r"((?:\s*<w:bookmarkStart [^>]*><w:bookmarkEnd [^>]*>)+)\s*<w:p>(<w:pPr>.*?</w:pPr>)?",
        r"<w:p>\2\1",
        document,
        flags=re.DOTALL,
    )


def _filled(part: str, info: DocumentInfo) -> str:
    """Return a part of ours with the words of a document where it names them."""
    words = {
        **info.as_data(),
        "mark": "DRAFT" if info.status == "draft" else "",
        "creator": info.prepared_by,
        "subject": info.header,
        "date": f"{info.date or NO_DATE}T00:00:00Z",
    }
    text = (_PARTS / part).read_text(encoding="utf-8")
    return re.sub("@([a-z_]+)@", lambda found: escape.xml(words[found[1]]), text)


def fitted(document: str, *, whole: bool = False) -> str:
    """Return the XML of a document with the type of its first page set to fit, if it has one.

    Parameters
    ----------
    document : str
        `word/document.xml` as pandoc writes it; a page break ends the first page.
    whole : bool
        The document is one page and has no break.
    """
    at = document.find("<w:sectPr" if whole else _BREAK)
    if at < 0:
        return document
    if not whole:
        at = document.rindex("<w:p>", 0, at)
    first, rest = document[:at], document[at:]
    size = next((s for s in SIZES if estimate(first, s) <= HEIGHT), SIZES[-1])
    return _set(first, size) + rest


def estimate(first: str, size: float) -> float:
    """Return about how high the blocks of a page are, points, in a size of type.

    `first` is the XML up to the end of the page, with nothing closed behind it.
    """
    root = ElementTree.fromstring(f"{first}</w:body></w:document>")
    body = root.find(f"{_W}body")
    assert body is not None
    return sum(
        _table(each, _CELL * size) if each.tag == f"{_W}tbl" else _paragraph(each, size)
        for each in body
        if each.tag in (f"{_W}p", f"{_W}tbl")
    )


def _paragraph(found: ElementTree.Element, size: float) -> float:
    style = found.find(f"{_W}pPr/{_W}pStyle")
    if style is not None and style.get(f"{_W}val") == _TITLE:
        size = _TITLE_SIZE
    return _lines(found, size, WIDTH) * _LINE * size + _BELOW


def _lines(found: ElementTree.Element, size: float, width: float) -> int:
    return max(1, math.ceil(len("".join(found.itertext()).strip()) * _LETTER * size / width))


def _table(found: ElementTree.Element, size: float) -> float:
    shares = [float(each.get(f"{_W}w", "1")) for each in found.iter(f"{_W}gridCol")]
    widths = [WIDTH * share / sum(shares) - _BESIDE for share in shares]
    height = 0.0
    for row in found.iter(f"{_W}tr"):
        cells = zip(row.iter(f"{_W}tc"), widths, strict=False)
        lines = (sum(_lines(p, size, room) for p in cell.iter(f"{_W}p")) for cell, room in cells)
        height += max(lines) * _LINE * size + _ROW
    return height


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
