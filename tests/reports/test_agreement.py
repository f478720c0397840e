"""PDF, HTML, DOCX and results.json agree on every number of the margin table.

The numbers are read back from each document and compared with `results.json`, converted and
rounded here.
"""

import json
import math
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook
from pdf_text import pages_of

from thread_repair import case as cases
from thread_repair.cli import main

from .conftest import in_this_process

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "reports" / "demo-rig-plate" / "case.yaml"
NEWTON_IN_POUND_FORCE = 4.4482216152605  # exact: 0.45359237 kg x 9.80665 m/s2

pytestmark = pytest.mark.slow


def rounded(value):
    """Three significant digits, as the tables print: 25.1, 5640, 1.00."""
    text = f"{value:#.3g}".removesuffix(".")
    return f"{float(text):.0f}" if "e" in text else text


def expected(results, system):
    """Load case, state, preload, factors, load, demand, capacity, margin of each, the least first.

    A demand is the preload plus factors x share x load: 8000 + 1.5 x 0.2 x 9000 = 10 700 N.
    """
    words = {"original": "original thread", "repaired": "repaired thread"}

    def force(newton):
        if not newton:
            return "–"
        si, inch = newton / 1000, newton / NEWTON_IN_POUND_FORCE
        both = f"{rounded(si)} ({rounded(inch)})"
        return {"SI": rounded(si), "inch": rounded(inch), "both": both}[system]

    found = []
    for each in sorted(results["margins"], key=lambda m: m["margin"]):
        factors = [each["load_factor"], each["fitting_factor"], each["load_share"]]
        demand = each["preload_N"] + math.prod(factors) * each["load_N"]
        assert demand == pytest.approx(each["factored_demand_N"], abs=1e-6)
        margin = each["capacity_N"] / demand - 1
        assert margin == pytest.approx(each["margin"], abs=1e-9)
        loaded = each["load_N"] * each["load_share"] != 0
        found.append(
            (
                each["load_case"],
                words[each["state"]],
                force(each["preload_N"]),
                (" × ".join(f"{x:.4g}" for x in factors if x != 1) or "1") if loaded else "–",
                force(each["load_N"] if loaded else 0),
                force(demand),
                force(each["capacity_N"]),
                f"{margin:+.2f}",
            )
        )
    return found


def plain(text):
    text = re.sub("[\u2007\u2008\u00a0\u202f]", " ", text).replace("−", "-").replace("’", "'")
    return re.sub(r"\s+", " ", text).strip()


class _Tables(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tables, self.cell = [], None

    def handle_starttag(self, tag, attrs):
        if tag == "table":
            self.tables.append([])
        elif tag == "tr" and self.tables:
            self.tables[-1].append([])
        elif tag in ("td", "th") and self.tables:
            self.cell = ""

    def handle_data(self, data):
        if self.cell is not None:
            self.cell += data

    def handle_endtag(self, tag):
        if tag in ("td", "th") and self.cell is not None:
            self.tables[-1][-1].append(plain(self.cell))
            self.cell = None


def one(folder, kind):
    (file,) = folder.glob(f"*.{kind}")
    return file


def html_tables(folder):
    reader = _Tables()
    reader.feed((one(folder, "html")).read_text("utf-8"))
    return reader.tables


def docx_tables(folder):
    import docx

    for table in docx.Document(one(folder, "docx")).tables:
        head = [plain(cell.text) for cell in table.rows[0].cells]
        # Reading a table's cells takes long: only the first row of those without a margin.
        some = list(table.rows)[1:] if any(HEADS[-1] in each for each in head) else []
        yield [head, *([plain(cell.text) for cell in row.cells] for row in some)]


#: Heads of the columns that are checked, without their unit.
HEADS = (
    "Load case", "Condition", "Preload", "Factors × load factor", "Load", "Demand", "Capacity",
    "Margin of safety",
)  # fmt: skip


def margin_rows(tables):
    """Of the one table that has all of `HEADS`: those columns, wherever they stand."""
    named = [([head.split(",")[0] for head in t[0]], t[1:]) for t in tables if t]
    ((heads, rows),) = ((heads, rows) for heads, rows in named if set(HEADS) <= set(heads))
    places = [heads.index(name) for name in HEADS]
    return [tuple(row[place].removesuffix(" FAILS") for place in places) for row in rows]


@pytest.fixture(scope="module", params=["SI", "inch"])
def margins_only(request, tmp_path_factory, without_chances):
    """A report of the margin table alone, in one system of units; the shipped ones are in both."""
    folder = tmp_path_factory.mktemp(f"margins-{request.param}")
    text = re.sub("(?m)^report_units:.*$", f"report_units: {request.param}", DEMO.read_text())
    # A load that some modes do not carry, so that the table also shows what fails.
    text = re.sub("(?m)^design_load:.*$", "design_load: 23 kN", text)
    (folder / "case.yaml").write_text(text)
    names = cases.keys()
    shown = "\n".join(f'{key} = ""' for key in names)
    notebook = new_notebook(
        cells=[
            new_markdown_cell("# Margins"),
            new_code_cell(shown, metadata={"tags": ["parameters"]}),
            new_code_cell(
                "import thread_repair as tr\n"
                "from thread_repair.report.blocks import comparison\n"
                "study = tr.study(tr.from_namespace(globals()))\n"
                "comparison.margins_table(study)"
            ),
        ]
    )
    own = tmp_path_factory.mktemp("own") / "margins.ipynb"
    nbformat.write(notebook, own)
    with in_this_process():
        assert main(["report", str(folder), "--notebook", str(own)]) == 0
    return folder, request.param, pages_of(folder / "margins.pdf")


def check(folder, system, pages):
    results = json.loads((folder / "results.json").read_text("utf-8"))
    rows = expected(results, system)
    assert len(rows) >= 8
    assert margin_rows(html_tables(folder)) == rows
    assert margin_rows(docx_tables(folder)) == rows
    text = plain(" ".join(pages))
    for row in rows:
        # A cell may break over two lines, so only the numbers are held together here ...
        assert " ".join(row[2:]) in text, row
    # ... and in this order, as many as there are rows.
    numbers = "|".join(sorted({re.escape(" ".join(row[2:])) for row in rows}))
    assert re.findall(rf"(?:{numbers})(?![\d.])", text) == [" ".join(row[2:]) for row in rows]
    failing = sum(row[-1].startswith("-") for row in rows)
    assert text.count("FAILS") == failing


def test_every_document_says_what_the_results_say(margins_only):
    check(*margins_only)
    assert "FAILS" in "".join(margins_only[-1])


@pytest.mark.parametrize("notebook", ["repair_justification", "design_review"])
def test_the_shipped_reports_agree(shipped_report, shipped_pages, notebook):
    check(shipped_report(notebook), "both", shipped_pages(notebook))


def test_a_changed_number_is_seen(margins_only, tmp_path):
    """The check can fail: one digit of one number is changed in results.json."""
    folder, system, pages = margins_only
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    results = json.loads((copy / "results.json").read_text("utf-8"))
    results["margins"][0]["capacity_N"] *= 1.01
    each = results["margins"][0]
    each["margin"] = each["capacity_N"] / each["factored_demand_N"] - 1
    (copy / "results.json").write_text(json.dumps(results))
    with pytest.raises(AssertionError):
        check(copy, system, pages)
