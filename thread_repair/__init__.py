"""Compare the pull-out strength of a repaired thread with that of the thread it replaces.

Units inside: mm, N, MPa, degC. See README.md for the job and DEVELOPERS.md for the code.

>>> import thread_repair as tr
>>> tr.thread("M8 x 1.25").pitch
1.25
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .case import Case as Case
    from .case import load as load
    from .case import read as read
    from .study import study as study
    from .study.evaluation import evaluate as evaluate
    from .study.evaluation import sweep as sweep
    from .study.submission import submission as submission
    from .threads import thread as thread

__version__ = "0.1.0"

#: Where each public name lives. They are imported on first use, so that `import thread_repair`
#: costs no more than Python itself.
_HOME = {
    "Case": "case",
    "load": "case",
    "read": "case",
    "from_namespace": "case",
    "evaluate": "study.evaluation",
    "study": "study",
    "submission": "study.submission",
    "sweep": "study.evaluation",
    "thread": "threads",
}

__all__ = ["__version__", *_HOME]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(importlib.import_module(f".{_HOME[name]}", __name__), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOME})
