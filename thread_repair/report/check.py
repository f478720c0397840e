"""Is a finished document what it claims to be."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

from ..errors import ReportError

_PAGE_COUNT = re.compile(rb"/Type\s*/Pages\b[^>]*?/Count\s+(\d+)")


def check(kind: str, file: Path) -> None:
    """Refuse a document that a reader could not open, or that would fetch or run something.

    Parameters
    ----------
    kind : {"pdf", "html", "docx"}
        What the file should be.

    Raises
    ------
    ReportError
        Naming the file and what is wrong.
    """
    checks: dict[str, Callable[[Path], str]] = {"pdf": _pdf, "html": _html, "docx": _docx}
    fault = checks[kind](file)
    if fault:
        raise ReportError(f"{file.name} {fault}; nothing was published")


def _pdf(file: Path) -> str:
    content = file.read_bytes()
    if not content.startswith(b"%PDF-") or not content.rstrip().endswith(b"%%EOF"):
        return "is not a complete PDF"
    count = _PAGE_COUNT.search(content)
    return "" if count and int(count[1]) > 0 else "has no pages"


class _Reader(HTMLParser):
    """Notes what a browser would run or fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.fault = ""
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag in ("script", "iframe", "object", "embed", "link", "base", "form"):
            self.fault = self.fault or f"has a <{tag}> element"
        for name, value in attrs:
            text = (value or "").strip().lower()
            if name.startswith("on") or text.startswith(("javascript:", "vbscript:")):
                self.fault = self.fault or f"has a script in the attribute {name}"
            if name in ("src", "srcset", "poster", "background", "data") and not (
                text.startswith("data:image/")
            ):
                self.fault = self.fault or f"would fetch {value!r}"


def _html(file: Path) -> str:
    reader = _Reader()
    text = file.read_text(encoding="utf-8")
    reader.feed(text)
    reader.close()
    if not text.rstrip().endswith("</html>") or not {"html", "body", "main"} <= reader.tags:
        return "is not a complete HTML page"
    return reader.fault


def _docx(file: Path) -> str:
    try:
        with zipfile.ZipFile(file) as archive:
            if archive.testzip() is not None:
                return "has a damaged part"
            document = ElementTree.fromstring(archive.read("word/document.xml"))
            links = ElementTree.fromstring(archive.read("word/_rels/document.xml.rels"))
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError):
        return "is not a complete DOCX"
    if not any(element.tag.endswith("}t") for element in document.iter()):
        return "has no text"
    for link in links:
        outside = link.get("TargetMode") == "External"
        if outside and not link.get("Type", "").endswith("/hyperlink"):
            return f"would fetch {link.get('Target')!r}"
    return ""
