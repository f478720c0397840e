"""The list of a batch: what came of each case, with links, as a page and as a table."""

from __future__ import annotations

import csv
import io
import math
import os
import re
import string
from collections.abc import Mapping, Sequence
from importlib import resources
from pathlib import Path
from typing import Any
from urllib.parse import quote

from .. import units, words
from ..errors import InputError, ReportError
from ..facts import Term, force, mode
from .escape import html, visible
from .jobs import Outcome

PAGE, TABLE = "index.html", "index.csv"

_NUMBER = re.compile(r"-?[\d.]+(e[-+]\d+)?")

#: By this a page or table of ours is told from one that somebody else wrote.
_PAGE_MARK = '<meta name="generator" content="thread-repair">'
_COLUMNS = (
    "name", "result", "conclusion", "criteria_failed", "conditions", "least_margin",
    "least_margin_mode", "original_stripping_N", "repaired_stripping_N", "pull_out_ratio",
    "document", "revision", "faults", "folder", "case",
)  # fmt: skip
_HEADS = (
    "Case", "Result", "Conclusion", "Criteria not met", "Minimum margin of safety",
    "Original stripping strength", "Repaired stripping strength", "Document", "Files",
)  # fmt: skip
_RESULTS = ("built", "unchanged", "failed")
#: The first columns of every table of ours.
_TABLE_MARK = ",".join(_COLUMNS[:2])


def check_place(folder: Path) -> None:
    """Refuse a folder where a file that is not an earlier index has the name of one.

    Raises
    ------
    InputError
    """
    for name, mark in ((PAGE, _PAGE_MARK), (TABLE, _TABLE_MARK)):
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
                *(_cell(_exact(_said(outcome).get(column))) for column in _COLUMNS[2:12]),
                _cell(" | ".join(outcome.faults)),
                _cell(_relative(outcome.job.out, folder)),
                _cell(outcome.job.case),
            ]
        )
    return buffer.getvalue()


def _said(outcome: Outcome) -> Mapping[str, Any]:
    """What the results of a case say, by column; nothing where none were built."""
    numbers = outcome.numbers
    if not numbers:
        return {}
    if "matrix" in numbers:
        return _said_of_part(numbers)
    drawn = numbers["conclusion"]
    (strength,) = (each for each in numbers["criteria"] if each["id"] == "stripping_strength")
    margins = {
        each["id"].removeprefix("margin_"): each["repaired"]
        for each in numbers["criteria"]
        if each["id"].startswith("margin_") and each["repaired"] is not None
    }
    least = min(margins, key=margins.__getitem__, default=None)
    return {
        "conclusion": words.term(Term("conclusion", drawn["id"])),
        "criteria_failed": _criteria(drawn["failed"]),
        "conditions": _criteria(drawn["conditions"]),
        "least_margin": None if least is None else margins[least],
        "least_margin_mode": None if least is None else words.term(mode(least)),
        **{f"{name}_stripping_N": strength[name] for name in ("original", "repaired")},
        "pull_out_ratio": numbers["comparison"]["pull_out_ratio"],
        "document": numbers["case"].get("document"),
        "revision": numbers["case"].get("revision"),
    }


def _said_of_part(numbers: Mapping[str, Any]) -> Mapping[str, Any]:
    """The same of a part with many holes: what is not met at any of them, the minimum of all."""
    ids = {
        refuses: list(dict.fromkeys(each["criterion"] for each in numbers["criteria_not_met"]
                                    if each["refuses"] == refuses))
        for refuses in (True, False)
    }  # fmt: skip
    known = [each for each in numbers["matrix"] if each["minimum_margin"] is not None]
    least = min(known, key=lambda each: each["minimum_margin"], default=None)
    return {
        "conclusion": words.term(Term("conclusion", numbers["conclusion"]["id"])),
        "criteria_failed": _criteria(ids[True]),
        "conditions": _criteria(ids[False]),
        "least_margin": None if least is None else least["minimum_margin"],
        "least_margin_mode": None
        if least is None
        else words.term(mode(least["criterion"].removeprefix("margin_"))),
        "document": numbers["document"],
        "revision": numbers["revision"],
    }


def _criteria(ids: Sequence[str]) -> str:
    return words.listed(words.term(Term("criterion", each)) for each in ids) if ids else ""


def _exact(value: object) -> object:
    """Return a number with enough digits to sort by; nothing for what is not known."""
    if isinstance(value, float):
        return f"{value:.6g}"
    return "" if value is None else value


def _cell(text: object) -> str:
    """Return text for a cell that no spreadsheet takes for a formula."""
    shown = visible(text)
    formula = shown[:1] in ("=", "+", "-", "@") and not _NUMBER.fullmatch(shown)
    return f"'{shown}" if formula else shown


def _relative(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix()  # reports stand below their index


def page_text(outcomes: Sequence[Outcome], folder: Path) -> str:
    """Return the batch as one HTML page that loads nothing."""
    templates = resources.files("thread_repair.report") / "templates"
    results = [result(outcome) for outcome in outcomes]
    page = string.Template((templates / "index.html").read_text("utf-8"))
    return page.substitute(
        mark=_PAGE_MARK,
        cases=len(outcomes),
        css=(templates / "report.css").read_text("utf-8"),
        counts=", ".join(f"{results.count(word)} {word}" for word in _RESULTS),
        heads="".join(f'<th scope="col">{head}</th>' for head in _HEADS),
        rows="\n".join(_row(outcome, folder) for outcome in outcomes),
    )


def _row(outcome: Outcome, folder: Path) -> str:
    links = ", ".join(
        f'<a href="{quote(os.fsencode(_relative(file, folder)))}"'
        f' aria-label="{html(file.name)} of {html(outcome.job.name)}">{html(file.suffix[1:])}</a>'
        for file in outcome.files
    )
    what = result(outcome)
    return (
        f'<tr><th scope="row">{html(outcome.job.name)}</th><td class="{what}">{what}</td>'
        f"{_findings(outcome)}<td>{links}</td></tr>"
    )


def _findings(outcome: Outcome) -> str:
    """The cells of what was found, or one across all of them that says what is wrong."""
    if outcome.faults:
        faults = "".join(f"<li>{html(fault)}</li>" for fault in outcome.faults)
        return f'<td colspan="{len(_HEADS) - 3}"><ul>{faults}</ul></td>'
    said = _said(outcome)
    if not said:
        return "<td></td>" * (len(_HEADS) - 3)
    system = outcome.numbers.get("case", {}).get("report_units", "SI")
    failed = said["criteria_failed"]
    least = said["least_margin"]
    margin = "–" if least is None else units.signed(least) + f", {said['least_margin_mode']}"
    loads = (
        words.quantity(force(math.nan if load is None else load), system=system)
        for load in (said.get(f"{name}_stripping_N") for name in ("original", "repaired"))
    )
    document = " ".join(filter(None, (said["document"], said["revision"])))
    texts = (said["conclusion"], failed or said["conditions"], margin, *loads, document)
    kind = "failed" if failed else "passed"
    first, *others = (f"<td>{html(text)}</td>" for text in texts)
    return first.replace("<td>", f'<td class="{kind}">') + "".join(others)
