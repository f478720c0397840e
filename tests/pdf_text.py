"""The text of a PDF, page by page."""

import re

import pypdf
from pypdf.generic import DecodedStreamObject, NameObject

#: Lines, curves, colours and tags: to read through them takes longer than the text.
_DRAWN = re.compile(
    rb"(?<=\s)(?:-?[\d.]+ ){2,6}[mlc](?=\s)|/c\d+ (?:cs|CS)(?: [\d.]+)+ (?:scn|SCN)"
    rb"|\bEMC\b|/\w+<<[^>]*>>BDC|\b0 Tr(?=/)"
)
#: Letters with a matrix of their own, as each of a formula has: one that says the same is read in
#: three quarters of the time.
_PLACED = re.compile(
    rb"q 1 0 0 -1( [-\d.]+ [-\d.]+) cm\s+BT\s+(/f\d+ [\d.]+ Tf 1 0 0) -1 0 0 Tm"
    rb"((?:\((?:[^()\\]|\\.)*\)|[^()QE])*)ET\s+Q\b",
    re.DOTALL,
)


def pages_of(file):
    """The text of every page."""
    return [_text(page) for page in pypdf.PdfReader(file).pages]


def _text(page):
    written = DecodedStreamObject()
    text = _DRAWN.sub(b" ", page.get_contents().get_data())
    written.set_data(_PLACED.sub(rb"BT \2 1\1 Tm\3ET", text))
    page[NameObject("/Contents")] = written
    return page.extract_text()
