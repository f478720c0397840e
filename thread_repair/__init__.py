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
    from . import case as case
    from . import inserts as inserts
    from . import materials as materials
    from . import threads as threads
    from .case import Case as Case
    from .case import from_namespace as from_namespace
    from .case import load as load
    from .case import read as read
    from .catalogue import methods as methods
    from .catalogue import parents as parents
    from .catalogue import screws as screws
    from .catalogue import wires as wires
    from .study import Study as Study
    from .study import study as study
    from .study.evaluation import evaluate as evaluate
    from .study.submission import submission as submission
    from .study.sweeps import sweep as sweep
    from .threads import thread as thread

__version__ = "0.1.0"

#: Where each public name lives, the modules beside themselves. They are imported on first use, so
#: that `import thread_repair` costs no more than Python itself.
_HOME = {
    name: home
    for home, names in {
        "": "case inserts materials threads",
        "case": "Case from_namespace load read",
        "catalogue": "methods parents screws wires",
        "study": "Study study",
        "study.evaluation": "evaluate",
        "study.submission": "submission",
        "study.sweeps": "sweep",
        "threads": "thread",
    }.items()
    for name in names.split()
}

__all__ = ["__version__", *_HOME]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    home = _HOME[name]
    value = importlib.import_module(f".{home or name}", __name__)
    globals()[name] = value = getattr(value, name) if home else value
    return value


def __dir__() -> list[str]:
    return sorted({*__all__, *(name for name in globals() if name.startswith("__"))})
