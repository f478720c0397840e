"""Imports nbformat without the grammars of web addresses that its schema library may bring.

Where that library's extras are installed (JupyterLab brings them), their import builds 38
grammars, which takes longer than a report; no schema of a notebook uses one. Test processes load
this before any plug-in does without (`-p` in pyproject.toml). What else needs that library begins
with `python -m thread_repair.report.notebook_format MODULE ARGUMENTS`.
"""

import sys
from runpy import run_module

_GRAMMARS = "rfc3987_syntax"
_hidden = _GRAMMARS not in sys.modules
if _hidden:
    sys.modules[_GRAMMARS] = None  # type: ignore[assignment]  # "not installed"
try:
    import nbformat as nbformat
finally:
    if _hidden:
        del sys.modules[_GRAMMARS]

if __name__ == "__main__":
    run_module(sys.argv.pop(1), run_name="__main__", alter_sys=True)
