"""A process that imports this has what a report needs: those of a batch are forked from one.

Each forks its kernel in turn, which is in the state in which a fresh one would be.
"""

import gc
import importlib
import pkgutil
import sys

#: What a notebook comes to need, beside the package, in most of its cells or at its start.
_NEEDED = (
    "ipykernel.kernelapp", "ipykernel.zmqshell", "ipykernel.debugger", "matplotlib.pyplot",
    "matplotlib.backends.backend_svg", "scipy.stats", "scipy.interpolate", "scipy.optimize",
)  # fmt: skip
_PACKAGES = ("thread_repair.report.blocks", "thread_repair.figures", "thread_repair.study")

gc.disable()  # what is imported stays
for _name in _NEEDED:
    importlib.import_module(_name)
for _name in _PACKAGES:
    for _each in pkgutil.iter_modules(importlib.import_module(_name).__path__, f"{_name}."):
        if not _each.name.endswith(".verification"):  # which is of no case, and brings pandas
            importlib.import_module(_each.name)
#: Where a fresh kernel looks for modules.
PATH = tuple(sys.path)
gc.freeze()  # so that no copy looks through it
gc.enable()
