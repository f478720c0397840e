"""Every cell of every notebook of a case shows something whole for unusual valid cases.

    python -m tests.reports.test_every_cell 200 7

by hand goes through 200 cases drawn with seed 7, some seconds each.
"""

import ast
import json
import random
import re
import sys
from functools import cache
from pathlib import Path

import matplotlib.pyplot as plt
import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import inserts, materials, threads
from thread_repair.errors import ThreadRepairError
from thread_repair.report import consistency, results
from thread_repair.report.figure import ReportFigure, ReportTable

from .five_cases import MORE, keys

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
BOOKS = (
    "repair_justification", "design_review", "letter", "concession_sheet", "hole_preparation",
)  # fmt: skip
#: Calls that sample or sweep, and take seconds; and the labels that are then missing.
LONG = re.compile(r"chance\.(?!references)|all_parents_figure")
SAMPLED = {"fig:how-sure", "tbl:scatter", "tbl:chances", "tbl:required-chance"}
#: What no text of a report has.
FAULTS = {
    "no number": r"(?<![\w-])(nan|NaN|inf|None(?! are given| \| As follows)|null)(?![\w-])",
    "placeholder": r"\{[a-z_]+(:\w+)?\}",
    "doubled word": r"\b([A-Za-z]{2,}) \1\b(?!-)",
    "doubled space": r"(?<=[^\s|])  +(?=[^\s|])",
    "doubled mark": r"(?<!\.)\.\.(?!\.)|,,|;;|,\.|;\.|\(\)",
    "record": r"(Fact|Quantity|Term)\(|<[\w.]+ object",
}


@cache
def cells(notebook):
    """Words of a cell, or its last line, what is executed but for the study, and what is shown."""
    found = []
    for cell in json.loads((NOTEBOOKS / f"{notebook}.ipynb").read_text("utf-8"))["cells"]:
        source, last = "".join(cell["source"]), None
        if cell["cell_type"] != "code":
            found.append((source, None, None))
        elif "parameters" not in cell["metadata"].get("tags", ()):
            tree = ast.parse(re.sub(r"(?m)^study = .*$", "", source))
            if isinstance(tree.body[-1], ast.Expr):
                last = compile(ast.Expression(tree.body.pop().value), notebook, "eval")
            found.append((source.splitlines()[-1], compile(tree, notebook, "exec"), last))
    return found


def text(value):
    """What a person reads of a value that a cell shows."""
    if isinstance(value, ReportFigure):
        plt.close(value.figure)
        words = [each.get_text() for axes in value.figure.axes for each in axes.texts]
        return "\n".join(
            (value.lead, f"{{#fig:{value.label}}}", str(value.caption), value.alt, *words)
        )
    if isinstance(value, ReportTable):
        assert value.rows, f"table {value.label} has no row"
        return value.markdown()
    return value.data if hasattr(value, "data") else value._repr_mimebundle_()["text/markdown"]


def run(notebook, study, told):
    """Return what a notebook says of a study; `told` are the cells of the notebooks before."""
    names, said = {"study": study}, []
    for line, body, last in cells(notebook):
        if body is None:
            said.append(line)
        elif not LONG.search(line):
            exec(body, names)
            if last is not None and line not in told:
                told[line] = text(eval(last, names))
            said.append(told.get(line, ""))
    return "\n\n".join(said)


def faults(study, books=BOOKS):
    """Yield what is wrong with what the notebooks say of a study."""
    numbers, told = results.results(study, with_chances=False), {}
    json.dumps(numbers, allow_nan=False)
    for book in books:
        said = run(book, study, told)
        yield from (
            f"{book}: {each}" for each in consistency.contradictions(study, numbers, said, {})
        )
        labels = {*re.findall(r"\{#([a-z]+:[\w-]+)", said), *SAMPLED}
        asked = set(re.findall(r"(?<!-)@((?:fig|tbl|eq):[\w-]*\w)", said))
        yield from (f"{book}: {each} points to nothing" for each in sorted(asked - labels))
        plain = re.sub(r"\\([\W_])", r"\1", said)
        plain = re.sub(r"\$\$.*?\$\$|\$[^$\n]*\$|\{[#.=][^}]*\}", "X", plain, flags=re.DOTALL)
        for name, pattern in FAULTS.items():
            for found in re.finditer(pattern, plain):
                near = plain[max(0, found.start() - 60) : found.end() + 40]
                yield f"{book}: {name}: {near!r}"


def drawn(rng, parent):
    """Return a valid case drawn at random, of a parent; what is refused is drawn again."""
    known = threads.known()
    while True:
        thread = rng.choice(known)
        d, p = thread.major, thread.pitch
        major = inserts.enlarged_diameters(thread).major
        length = rng.choice((1, 1.5, 2, 2.5, 3))
        area = threads.stress_area(thread)
        given = {
            "parent": parent,
            "thread": thread.designation,
            "screw": rng.choice(("4.8", "8.8", "10.9", "A2-70", "grade-5", "grade-8", "160-ksi")),
            "engagement": f"{rng.uniform(0.7, 2.5):.2f} D",
            "insert_length": f"{length} D",
            "report_units": rng.choice(("SI", "inch", "both")),
            "insert_kind": rng.choice(("free-running", "locking")),
            "tolerance_position": rng.choice(("minimum-material", "mean", "basic")),
            "temperature": rng.choice(("", "", "-40 degC", "80 degC", "120 degC", "150 degC")),
            "environment": rng.choice(("", "salt water", "vacuum")),
            "hole_condition": rng.choice(("", "worn", "insert-pulled-out", "oversize", "cracked")),
            "damaged_diameter": rng.choice(("", f"{rng.uniform(d, 1.1 * major):.2f} mm")),
            "hole_kind": (kind := rng.choice(("through", "blind"))),
            "hole_depth": f"{length * d + rng.uniform(3, 9) * p:.2f} mm" if kind == "blind" else "",
            "screw_reach": rng.choice(("", f"{rng.uniform(0.6, 1.2) * length * d:.2f} mm")),
            "boss_diameter": rng.choice(("", f"{rng.uniform(1.2, 3) * major:.1f} mm")),
            "boss_support": rng.choice(("", "base", "face")),
            "edge_distance": rng.choice(("", f"{rng.uniform(0.6, 2.5) * major:.1f} mm")),
            "casting_factor": rng.choice(("", "", "0.5")),
            "fitting_factor": rng.choice(("", "1.15")),
            "design_load": rng.choice(("", f"{rng.choice((20, 150, 600)) * area:.0f} N")),
            "critical": rng.choice(("", "yes")),
            "bush_diameter_thin": rng.choice(("", f"{1.5 * d:.1f} mm")),
            "tightening_tool": rng.choice(("", "by-feel", "impact", "torque-wrench")),
        }
        tightened = rng.choice(
            (
                {},
                {"preload": f"{rng.choice((50, 300)) * area:.0f} N"},
                {"torque": f"{rng.choice((10, 60)) * area * d / 1e3:.2f} N·m"},
            )
        )
        if tightened:
            given |= {**tightened, "friction": rng.choice(("class-B", "0.1 to 0.14", "nasa-dry"))}
        try:
            study = tr.study(cases.read({key: value for key, value in given.items() if value}))
            study.evaluation  # noqa: B018
        except ThreadRepairError:
            continue
        return given, study


@pytest.mark.parametrize("seed", range(2))
def test_a_case_drawn_at_random(seed):
    rng = random.Random(seed)
    given, study = drawn(rng, rng.choice(materials.names("parent")))
    assert list(faults(study)) == [], given


def test_a_case_without_poissons_ratio():
    (name,) = (each for each in MORE if "magnesium" in each)
    given = {key: value for key, value in keys(name).items() if value != ""}
    assert list(faults(tr.study(cases.read(given)), ("design_review",))) == []


if __name__ == "__main__":
    count, rng = int(sys.argv[1]), random.Random(int(sys.argv[2]))
    for parent in [*materials.names("parent") * (1 + count // 150)][:count]:
        given, study = drawn(rng, parent)
        for fault in faults(study):
            print(fault, {key: value for key, value in given.items() if value})
