"""Case and notebook to checked files on disk, all or nothing."""

from __future__ import annotations

from .build import build_report, results_text, terminal_progress
from .company import Company
from .document import DocumentInfo
from .publish import Published, is_whole
from .run import declared_parameters

__all__ = [
    "Company",
    "DocumentInfo",
    "Published",
    "build_report",
    "declared_parameters",
    "is_whole",
    "results_text",
    "terminal_progress",
]
