"""What the documentation says: of every public function, in examples that run, as pages."""

import ast
import doctest
import importlib
import inspect
import linecache
import pkgutil
import re
import subprocess
import sys
import textwrap
from pathlib import Path

import numpydoc.validate
import pdoc.__main__
import pdoc.extract
import pytest

import thread_repair as tr
from thread_repair.study.plots import Plots
from thread_repair.study.shown import Tables

PACKAGES = (
    "threads", "inserts", "materials", "strength", "joint", "tightening", "uncertainty",
    "workshop", "study",
)  # fmt: skip
#: Sections in order, a docstring, a summary; every parameter and no other, each with its
#: type (where unit and shape stand; those of one unit may stand together); what is returned or yielded.
CHECKS = {"GL07", "GL08", "SS01", "PR01", "PR02", "PR04", "PR10", "RT01", "YD01"}


def modules(*names):
    for name in names:
        module = importlib.import_module(f"thread_repair.{name}")
        yield module
        for found in pkgutil.walk_packages(getattr(module, "__path__", ()), f"{module.__name__}."):
            yield importlib.import_module(found.name)


def functions():
    """Every public function by its full name."""
    for module in modules(*PACKAGES):
        for name, each in vars(module).items():
            function = inspect.unwrap(each) if callable(each) else None
            own = getattr(function, "__module__", "") == module.__name__
            if own and inspect.isfunction(function) and not name.startswith("_"):
                yield f"{module.__name__}.{name}", function
    for name in tr.__all__:
        each = getattr(tr, name)
        if inspect.isfunction(each):
            yield f"{each.__module__}.{each.__name__}", each
    for kind in (tr.Study, tr.Case, Plots, Tables):
        for name, each in vars(kind).items():
            if not name.startswith("_") and (callable(each) or hasattr(each, "fget")):
                found = getattr(each, "fget", each)
                yield f"{kind.__module__}.{kind.__name__}.{name}", found


def faults(name, function):
    found = numpydoc.validate.validate(name)["errors"]
    yield from (f"{name}: {code} {said}" for code, said in found if code in CHECKS)
    tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
    raised = {
        getattr(node.exc.func, "id", "")
        for node in ast.walk(tree)
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call)
    }
    if any(each.endswith(("Error", "Errors")) for each in raised) and "Raises\n---" not in (
        inspect.getdoc(function) or ""
    ):
        yield f"{name}: raises {', '.join(sorted(raised))}"


def test_every_public_function_says_what_it_takes_returns_and_raises():
    checked = dict(functions())
    assert len(checked) > 350
    assert [said for each in checked.items() for said in faults(*each)] == []


#: Where formulas stand, and what they return: what each rests on stands with it.
FORMULAS = (
    "threads", "strength.areas", "strength.overlap", "strength.primary", "strength.methods",
    "strength.sharing", "strength.collapse.wall_factor",
)  # fmt: skip
NUMBERS = {"Floats", "StripResult", "ExternalLimits", "InternalLimits", "Tolerance", "Sharing"}


def without_source(checked):
    for name, function in checked.items():
        formula = name.removeprefix("thread_repair.").startswith(FORMULAS)
        formula = formula and function.__annotations__.get("return") in NUMBERS
        if formula and "Source:" not in (inspect.getdoc(function) or ""):
            yield name


def test_every_formula_of_threads_and_strength_names_its_source():
    checked = dict(functions())
    assert list(without_source(checked)) == []
    sloppy.__annotations__["return"] = "Floats"
    assert list(without_source({"thread_repair.strength.areas.sloppy": sloppy}))


def test_an_undocumented_parameter_is_seen():
    """The checks above can fail."""
    name = "tests.test_docstrings.sloppy"
    sys.modules.setdefault("tests.test_docstrings", sys.modules[__name__])
    assert {said.split()[1] for said in faults(name, sloppy)} == {"PR01", "RT01", "raises"}


def sloppy(length):
    """Return a length."""
    if length < 0:
        raise ValueError("length")
    return length


@pytest.mark.parametrize("name", sorted(each.name for each in pkgutil.iter_modules(tr.__path__)))
def test_the_examples_give_what_they_say(name):
    if name == "__main__":
        return
    linecache.clearcache()  # every docstring looks whether the files read so far have changed
    for module in modules(name):
        assert doctest.testmod(module, optionflags=doctest.ELLIPSIS).failed == 0, module.__name__


@pytest.mark.filterwarnings("ignore:The module specification")  # a package brings some of its own
def test_the_command_of_the_developers_gives_every_module_a_page():
    """A package that lists its names hides its modules from pdoc: each has to be named."""
    root = Path(tr.__file__).parents[1]
    lines = (root / "DEVELOPERS.md").read_text("utf-8").splitlines()
    (words,) = (line.split("-o api ")[1] for line in lines if "pdoc -d numpy" in line)
    named = subprocess.check_output(["bash", "-c", f"echo {words}"], cwd=root, text=True).split()
    pages = set(pdoc.extract.walk_specs(named))
    assert {module.__name__ for module in modules(*PACKAGES)} - pages == set()


def test_what_developers_run_by_hand_finds_its_modules():
    """Two found `whole` and `pdf_text` under pytest alone, which adds the folder of the tests."""
    root = Path(tr.__file__).parents[1]
    named = re.findall(r"python -m (tests\.\S+)", (root / "DEVELOPERS.md").read_text("utf-8"))
    assert len(named) > 2
    subprocess.run([sys.executable, "-c", f"import {', '.join(named)}"], cwd=root, check=True)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore:Error parsing type annotation")  # names for mypy alone
def test_the_pages_are_made_by_one_command(tmp_path):
    """Without network: no page loads anything from elsewhere."""
    pdoc.__main__.cli(["-d", "numpy", "-o", str(tmp_path), "thread_repair.strength.areas"])
    page = (tmp_path / "thread_repair" / "strength" / "areas.html").read_text("utf-8")
    assert "strip_area_internal" in page and "FED-STD-H28" in page and "Appendix B" in page
    for each in tmp_path.rglob("*.html"):
        text = each.read_text("utf-8")
        assert 'src="http' not in text and 'rel="stylesheet" href="http' not in text
