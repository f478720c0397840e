"""Case and notebook to checked files on disk, all or nothing."""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .build import build_report as build_report
    from .build import results_text as results_text
    from .build import terminal_progress as terminal_progress
    from .company import Company as Company
    from .document import DocumentInfo as DocumentInfo
    from .publish import Published as Published
    from .publish import is_whole as is_whole
    from .run import declared_parameters as declared_parameters

#: Where each public name lives: imported on first use, so that `kernel` can begin before all else.
_HOME = {
    "Company": "company",
    "DocumentInfo": "document",
    "Published": "publish",
    "build_report": "build",
    "declared_parameters": "run",
    "is_whole": "publish",
    "results_text": "build",
    "terminal_progress": "build",
}

__all__ = list(_HOME)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_HOME[name]}", __name__), name)
