"""The DOCX side: styles, header and footer before pandoc writes, fixed bytes after it."""

from __future__ import annotations

import zipfile
from importlib import resources
from pathlib import Path

from . import escape
from .document import DocumentInfo

_PARTS = resources.files("thread_repair.reporting").joinpath("templates/docx")


def write_reference(info: DocumentInfo, path: Path) -> None:
    ...


def finish(path: Path, info: DocumentInfo) -> None:
    """Rewrite the archive with fixed times, so that the same report has the same bytes."""
    with zipfile.ZipFile(path) as source:
        parts = {name: source.read(name) for name in sorted(source.namelist())}
    first = "[Content_Types].xml"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name in sorted(parts, key=lambda name: (name != first, name)):
            entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(entry, parts[name])
