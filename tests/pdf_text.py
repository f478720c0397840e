"""The text of a PDF, page by page."""

import re

import pypdf
from pypdf.generic import DecodedStreamObject, NameObject

#: Lines, curves, colours and tags: to read through them takes longer than the text.
_DRAWN = re.compile(
    rb"(?<=\s)(?:-?[\d.]+ ){2,6}[mlc](?=\s)|/c\d+ (?:cs|CS)(?: [\d.]+)+ (?:scn|SCN)"
    rb"|\bEMC\b|/\w+<<[^>]*>>BDC|\b0 Tr(?=/)"
)


def pages_of(file):
    """The text of every page."""
    return [_text(page) for page in pypdf.PdfReader(file).pages]


def _text(page):
    written = DecodedStreamObject()
    written.set_data(_DRAWN.sub(b" ", page.get_contents().get_data()))
    page[NameObject("/Contents")] = written
    return page.extract_text()
