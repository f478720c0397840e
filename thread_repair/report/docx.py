"""The DOCX side: styles, header and footer before pandoc writes, fixed bytes after it."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Mapping
from importlib import resources
from pathlib import Path

from . import docx_page, escape
from .document import NO_DATE, DocumentInfo

_PARTS = resources.files("thread_repair.report").joinpath("templates")

_DOCUMENT = "word/document.xml"

# Part of the archive and the template it is made from.
_REFERENCE = {
    "[Content_Types].xml": "docx-content-types.xml",
    "_rels/.rels": "docx-package.rels",
    "word/_rels/document.xml.rels": "docx-document.rels",
    _DOCUMENT: "docx-document.xml",
    "word/styles.xml": "docx-styles.xml",
    "word/header1.xml": "docx-header.xml",
    "word/footer1.xml": "docx-footer.xml",
}

# Width and height in twentieths of a point.
_PAPERS = {"a4": ("11906", "16838"), "us-letter": ("12240", "15840")}

# Margins of the page together, in points, as `docx-document.xml` has them.
_BESIDE, _ABOVE = 2 * 1417 / 20, (1531 + 1361) / 20


#: The paragraph that parts two tables, and what keeps a row on one page.
_NARROW = (
    '<w:p><w:pPr><w:spacing w:before="0" w:after="0" w:line="60" w:lineRule="exact"/></w:pPr></w:p>'
)
_WHOLE = "<w:trPr><w:cantSplit/></w:trPr>"
_WHOLE_TOO = "<w:trPr><w:cantSplit/>"


def write_reference(info: DocumentInfo, path: Path) -> None:
    """Write the reference document that pandoc takes styles, header and footer from."""
    width, height = _PAPERS[info.paper]
    words = {
        "header": info.header or info.title,
        "title": info.title,
        "program": info.foot,
        "inputs": f"{info.checksum_of} {info.inputs[:12] or '-'}",
        "mark": "DRAFT" if info.status == "draft" else "",
        "language": info.language,
        "page_width": width,
        "page_height": height,
    }
    with zipfile.ZipFile(path, "w") as archive:
        for part, file in _REFERENCE.items():
            text = _PARTS.joinpath(file).read_text(encoding="utf-8")
            archive.writestr(part, _filled(text, words))


def finish(path: Path, info: DocumentInfo) -> None:
    """Set the document's properties and fix the times, so that one report has one set of bytes."""
    with zipfile.ZipFile(path) as source:
        parts = {name: source.read(name) for name in source.namelist()}
    # Without distances one word processor leaves 3 mm on each side of a picture.
    near = b'<wp:inline distT="0" distB="0" distL="0" distR="0">'
    parts[_DOCUMENT] = parts[_DOCUMENT].replace(b"<wp:inline>", near)
    width, height = (int(each) / 20 for each in _PAPERS[info.paper])
    fitted = docx_page.fitted(
        _tidy(parts[_DOCUMENT].decode("utf-8")),
        width=width - _BESIDE,
        height=height - _ABOVE,
        whole=info.layout == "letter",
    )
    parts[_DOCUMENT] = fitted.replace("<w:p />", _NARROW).encode("utf-8")
    parts["docProps/core.xml"] = _properties(info).encode("utf-8")
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
    document = document.replace("<w:tr>", f"<w:tr>{_WHOLE}").replace(
        f"{_WHOLE}<w:trPr>", _WHOLE_TOO
    )
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


def _properties(info: DocumentInfo) -> str:
    date = f"{info.date or NO_DATE}T00:00:00Z"
    words = {
        "title": info.title,
        "creator": info.prepared_by,
        "subject": info.header,
        "status": info.status,
        "language": info.language,
        "date": date,
    }
    text = _PARTS.joinpath("docx-properties.xml").read_text(encoding="utf-8")
    return _filled(text, words)


def _filled(text: str, words: Mapping[str, str]) -> str:
    return re.sub("@([a-z_]+)@", lambda found: escape.xml(words[found[1]]), text)
