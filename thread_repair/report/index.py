"""The list of a batch: what came of each case, with links, as a page and as a table."""

import csv
import io
import math
import os
import string
from collections.abc import Mapping, Sequence
from operator import itemgetter
from pathlib import Path
from typing import Any
from urllib.parse import quote

from .. import files, units, words
from ..errors import InputError, ReportError
from ..facts import Term, force, mode
from .escape import cell, html, visible
from .jobs import Outcome

PAGE, TABLE = "index.html", "index.csv"

#: By this a page or table of ours is told from one that somebody else wrote.
_PAGE_MARK = '<meta name="generator" content="thread-repair">'
_COLUMNS, _HEADS = (files.data("tables.toml")["batch"][each] for each in ("columns", "heads"))
_RESULTS = ("built", "unchanged", "in work", "failed")
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
            raise InputError.of("not_our_index", file=visible(file))


def write(outcomes: Sequence[Outcome], folder: Path) -> tuple[Path, ...]:
    """Write `index.html` and `index.csv` of a batch into a folder that `check_place` lets pass.

    Raises
    ------
    ReportError
        If the folder cannot be written to; the reports stand all the same.
    """
    check_place(folder)
    texts = {PAGE: page_text(outcomes, folder), TABLE: table_text(outcomes, folder)}
    try:
        for name, text in texts.items():
            with files.in_one_step(folder / name) as aside:
                aside.write_bytes(text.encode("utf-8", "backslashreplace"))
    except OSError as error:
        raise ReportError.of(
            "index_not_written", folder=visible(folder), why=error.strerror or error
        ) from None
    return tuple(folder / name for name in texts)


def result(outcome: Outcome) -> str:
    """Return "built", "unchanged", "in work" where another command builds it, or "failed"."""
    if outcome.faults:
        return "in work" if outcome.in_work else "failed"
    return "unchanged" if outcome.unchanged else "built"


def table_text(outcomes: Sequence[Outcome], folder: Path) -> str:
    """Return the batch as CSV, one row a case."""
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, _COLUMNS, lineterminator="\n")
    writer.writeheader()
    for outcome in outcomes:
        row = {
            "name": outcome.job.name,
            "result": result(outcome),
            **_said(outcome.numbers),
            "faults": " | ".join(outcome.faults),
            "folder": _relative(outcome.job.out, folder),
            "case": outcome.job.case,
        }
        writer.writerow({column: cell(value) for column, value in row.items()})
    return buffer.getvalue()


def _said(numbers: Mapping[str, Any]) -> Mapping[str, Any]:
    """What the results of a case or a part say, by column; nothing where none were built."""
    if not numbers:
        return {}
    if "matrix" in numbers:  # what is not met at any of the holes, the minimum of all
        given, strength, ratio = numbers, {}, None
        unmet: dict[bool, list[str]] = {True: [], False: []}
        for each in numbers["criteria_not_met"]:
            unmet[each["refuses"]].append(each["criterion"])
        failed, conditions = unmet[True], unmet[False]
        margins = [(each["minimum_margin"], each["criterion"]) for each in numbers["matrix"]]
    else:
        criteria = {each["id"]: each for each in numbers["criteria"]}
        given, strength = numbers["case"], criteria["stripping_strength"]
        ratio = numbers["comparison"]["pull_out_ratio"]
        failed, conditions = (numbers["conclusion"][key] for key in ("failed", "conditions"))
        against = "tests_against" in map(itemgetter("id"), numbers["facts"])
        conditions = [*conditions, *["pull_tests"] * against]
        margins = [(criteria[id_]["repaired"], id_) for id_ in criteria if "margin_" in id_]
    known = [each for each in margins if each[0] is not None]
    least, id_ = min(known, key=itemgetter(0), default=(None, ""))
    return {
        "conclusion": words.term(Term("conclusion", numbers["conclusion"]["id"])),
        "criteria_failed": _criteria(failed),
        "conditions": _criteria(conditions),
        "least_margin": least,
        "least_margin_mode": words.term(mode(id_.removeprefix("margin_"))) if id_ else None,
        **{f"{name}_stripping_N": strength.get(name) for name in ("original", "repaired")},
        "pull_out_ratio": ratio,
        "document": given.get("document"),
        "revision": given.get("revision"),
    }


def _criteria(ids: Sequence[str]) -> str:
    names = [words.term(Term("criterion", each)) for each in dict.fromkeys(ids)]
    return words.listed(names) if names else ""


def _relative(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix()  # reports stand below their index


def page_text(outcomes: Sequence[Outcome], folder: Path) -> str:
    """Return the batch as one HTML page that loads nothing."""
    templates = Path(__file__).parent / "templates"
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
        for file in outcome.files.values()
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
    said = _said(outcome.numbers)
    system = outcome.numbers.get("case", {}).get("report_units", "SI")
    failed, least = said["criteria_failed"], said["least_margin"]
    margin = "–" if least is None else units.signed(least) + f", {said['least_margin_mode']}"
    loads = (
        words.quantity(force(math.nan if load is None else load), system=system)
        for load in (said["original_stripping_N"], said["repaired_stripping_N"])
    )
    document = " ".join(filter(None, (said["document"], said["revision"])))
    texts = (said["conclusion"], failed, said["conditions"], margin, *loads, document)
    kind = "failed" if failed else "passed"
    cells = "".join(f"<td>{html(text)}</td>" for text in texts)
    return cells.replace("<td>", f'<td class="{kind}">', 1)
