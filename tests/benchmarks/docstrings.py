"""Print files, mean size and docstring sections of this package beside installed ones.

python tests/benchmarks/docstrings.py skfem pvlib fluids
"""

import ast
import importlib.util
import re
import sys
from pathlib import Path

CALCULATION = ("threads", "materials", "strength", "joint", "tightening", "uncertainty", "workshop")
SECTIONS = ("Parameters", "Returns", "Raises", "Examples")


def row(name, roots):
    """Count the public functions at the top of every module; methods are left out."""
    files = [each for root in roots for each in root.rglob("*.py") if each.stat().st_size]
    docs = [
        ast.get_docstring(node) or ""
        for file in files
        for node in ast.parse(file.read_text("utf-8")).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    ]
    found = [[bool(re.search(rf"^{each}\n-", text, re.M)) for text in docs] for each in SECTIONS]
    shares = [f"{sum(each) / len(docs):.0%}" for each in found]
    size = sum(each.stat().st_size for each in files) / len(files) / 1000
    return (name, str(len(files)), f"{size:.1f} kB", str(len(docs)), *shares)


if __name__ == "__main__":
    print("| package | files | mean size | functions |", " | ".join(SECTIONS), "|")
    print("|---" * 8 + "|")
    here = Path(__file__).parents[2] / "thread_repair"
    places = {"thread_repair": [here], "calculation": [here / part for part in CALCULATION]}
    for name in sys.argv[1:]:
        found = importlib.util.find_spec(name)
        if found is None:
            print(f"{name} is not installed", file=sys.stderr)
        else:
            places[name] = [Path(found.origin).parent]
    for name, roots in places.items():
        print("|", " | ".join(row(name, roots)), "|")
