"""The list of a batch: what came of each case, with links, as a page and as a table."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from urllib.parse import quote

from ..errors import InputError, ReportError
from ..units import number
from .escape import html, visible
from .jobs import Outcome

PAGE, TABLE = "index.html", "index.csv"

#: By this a page or table of ours is told from one that somebody else wrote.
_PAGE_MARK = '<meta name="generator" content="thread-repair">'
_COLUMNS = (
    "name", "result", "pull_out_ratio", "least_margin", "verdict", "faults", "folder", "case",
)  # fmt: skip

_CSS = """
body { max-width: 74rem; }
td.number { text-align: right; white-space: nowrap; }
td.failed { font-weight: bold; }
ul { margin: 0; padding-left: 1.1rem; }
"""


def check_place(folder: Path) -> None:
    """Refuse a folder where a file that is not an earlier index has the name of one.

    Raises
    ------
    InputError
    """
    for name, mark in ((PAGE, _PAGE_MARK), (TABLE, ",".join(_COLUMNS))):
        file = folder / name
        if file.exists() and not (file.is_file() and mark.encode() in file.read_bytes()[:4000]):
            raise InputError(
                f"{visible(file)} is not an index that thread-repair wrote, and would be replaced; "
                "rename it, or choose another folder with --out"
            )


def write(outcomes: Sequence[Outcome], folder: Path) -> tuple[Path, Path]:
    """Write `index.html` and `index.csv` of a batch into a folder that `check_place` lets pass.

    Raises
    ------
    ReportError
        If the folder cannot be written to; the reports stand all the same.
    """
    check_place(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        page = _put(folder / PAGE, page_text(outcomes, folder))
        table = _put(folder / TABLE, table_text(outcomes, folder))
    except OSError as error:
        raise ReportError(
            f"the index in {visible(folder)} could not be written: {error.strerror or error}; "
            "the reports stand"
        ) from None
    return page, table


def _put(file: Path, text: str) -> Path:
    """Write a file in one step."""
    aside = file.with_name(f".{file.name}-{os.getpid()}")
    try:
        aside.write_bytes(text.encode("utf-8", "backslashreplace"))
        os.replace(aside, file)
    finally:
        aside.unlink(missing_ok=True)
    return file


def result(outcome: Outcome) -> str:
    """Return "built", "unchanged" or "failed"."""
    if outcome.faults:
        return "failed"
    return "unchanged" if outcome.unchanged else "built"


def table_text(outcomes: Sequence[Outcome], folder: Path) -> str:
    """Return the batch as CSV, one row a case."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for outcome in outcomes:
        writer.writerow(
            [
                _cell(outcome.job.name),
                result(outcome),
                "" if outcome.pull_out_ratio is None else f"{outcome.pull_out_ratio:.6g}",
                "" if outcome.least_margin is None else f"{outcome.least_margin:.6g}",
                _cell(outcome.verdict),
                _cell(" | ".join(outcome.faults)),
                _cell(_relative(outcome.job.out, folder)),
                _cell(outcome.job.case),
            ]
        )
    return buffer.getvalue()


def _cell(text: object) -> str:
    """Return text for a cell that no spreadsheet takes for a formula."""
    shown = visible(text)
    return f"'{shown}" if shown[:1] in ("=", "+", "-", "@") else shown


def _relative(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix()  # reports stand below their index


def page_text(outcomes: Sequence[Outcome], folder: Path) -> str:
    """Return the batch as one HTML page that loads nothing."""
    css = resources.files("thread_repair.reporting").joinpath("templates/report.css").read_text()
    results = [result(outcome) for outcome in outcomes]
    counts = ", ".join(f"{results.count(word)} {word}" for word in ("built", "unchanged", "failed"))
    rows = "\n".join(_row(outcome, folder) for outcome in outcomes)
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
{_PAGE_MARK}
<title>Reports of {len(outcomes)} cases</title>
<style>
{css}{_CSS}</style>
</head>
<body>
<header>
<h1>Reports of {len(outcomes)} cases</h1>
</header>
<main>
<p>{counts}. Each report is a calculation for review by a competent person.</p>
<div class="table" tabindex="0" role="region" aria-label="Cases">
<table>
<thead><tr><th scope="col">Case</th><th scope="col">Result</th>\
<th scope="col">Pull-out ratio</th><th scope="col">Least margin</th>\
<th scope="col">Verdict, or what is wrong</th><th scope="col">Files</th></tr></thead>
<tbody>
{rows}
</tbody>
</table>
</div>
</main>
</body>
</html>
"""


def _row(outcome: Outcome, folder: Path) -> str:
    words = html(outcome.verdict)
    if outcome.faults:
        words = "<ul>" + "".join(f"<li>{html(fault)}</li>" for fault in outcome.faults) + "</ul>"
    links = ", ".join(
        f'<a href="{quote(os.fsencode(_relative(file, folder)))}"'
        f' aria-label="{html(file.name)} of {html(outcome.job.name)}">{html(file.suffix[1:])}</a>'
        for file in outcome.files
    )
    ratio = "" if outcome.pull_out_ratio is None else number(outcome.pull_out_ratio)
    margin = "" if outcome.least_margin is None else f"{outcome.least_margin:+.2f}"
    what = result(outcome)
    return (
        f'<tr><th scope="row">{html(outcome.job.name)}</th><td class="{what}">{what}</td>'
        f'<td class="number">{ratio}</td><td class="number">{margin}</td>'
        f"<td>{words}</td><td>{links}</td></tr>"
    )
