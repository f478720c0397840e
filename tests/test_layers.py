"""A module imports only from what stands above it."""

import ast
import collections
import functools
from pathlib import Path

import thread_repair

PACKAGE = Path(thread_repair.__file__).parent
#: From the bottom up: a module may import its own layer and those before it.
ORDER = (
    "errors",
    "arrays",
    "program",
    "files",
    "sheets",
    "units",
    "tables",
    "facts",
    "frames",
    "threads",
    "inserts",
    "materials",
    "strength",
    "joint",
    "tightening",
    "alternatives",
    "uncertainty",
    "workshop",
    "case",
    "words",
    "figures",
    "study",
    "catalogue_sweep",
    "catalogue",
    "verification",
    "report",
    "teaching",
    "workbook",
    "cli",
    "__main__",
)


def layer(name):
    return ORDER.index(name.split(".")[0])


@functools.cache
def parsed(path):
    return ast.parse(path.read_text("utf-8"))


def imported(path):
    """Names of the package's own modules that a file imports, from the top of the package."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    folder = parts[:-1]
    tree = parsed(path)
    # An import for the type checker alone never runs and may name what stands below.
    never_run = {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and getattr(node.test, "id", "") == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    for node in (each for each in ast.walk(tree) if each not in never_run):
        if isinstance(node, ast.ImportFrom) and node.level:
            base = folder[: len(folder) - (node.level - 1)]
            tail = tuple(node.module.split(".")) if node.module else ()
            names = [a.name for a in node.names] if not tail and not base else [None]
            for name in names:
                full = (*base, *tail, *([name] if name else []))
                if full and full[0] in ORDER:
                    yield full[0]


def faults(path):
    own = path.relative_to(PACKAGE).with_suffix("").parts[0]
    return [name for name in imported(path) if layer(name) > layer(own)]


def test_imports_point_upwards():
    files = [
        p for p in sorted(PACKAGE.rglob("*.py")) if p.name != "__init__.py" or p.parent != PACKAGE
    ]
    assert {p.relative_to(PACKAGE).parts[0].removesuffix(".py") for p in files} <= set(ORDER)
    wrong = {str(p.relative_to(PACKAGE)): found for p in files if (found := faults(p))}
    assert not wrong


def test_a_wrong_import_is_seen(tmp_path, monkeypatch):
    (tmp_path / "units.py").write_text("from .case import Case\nfrom . import errors\n")
    monkeypatch.setitem(globals(), "PACKAGE", tmp_path)
    assert faults(tmp_path / "units.py") == ["case"]


def test_no_class_name_is_defined_twice():
    """A name that means two things is looked up in the wrong place."""
    found = collections.Counter(
        node.name
        for file in PACKAGE.rglob("*.py")
        for node in parsed(file).body
        if isinstance(node, ast.ClassDef)
    )
    assert [name for name, times in found.items() if times > 1] == []
