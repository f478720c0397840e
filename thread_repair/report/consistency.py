"""Does a report say one thing: what stands in two places is the same, or it is not published."""

import html
import math
import re
import unicodedata
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache
from itertools import accumulate, chain
from pathlib import Path
from typing import Any

from .. import files, words
from ..errors import ReportError
from ..facts import Fact
from ..study import CONCLUSIONS, Study
from ..study.submission import Submission
from . import escape
from .blocks import comparison, conclusion, equations, part
from .figure import ReportTable
from .paths import walk

#: Numbers of results.json have twelve digits.
_ROUNDING = 1e-10

#: Tables of a notebook that are made anew here and compared.
_TABLES: tuple[Callable[[Study], object], ...] = (
    conclusion.criteria_table,
    comparison.alternatives_table,
    conclusion.options_table,
    conclusion.modes_table,
    comparison.modes_table,
    comparison.margins_table,
    comparison.methods_table,
)


@lru_cache(maxsize=1)
def expected(study: Study) -> tuple[tuple[object, ...], tuple[tuple[str, str, str], ...]]:
    """Return the tables, and the id, label and LaTeX of the equations, that a report may show."""
    import pypdf  # noqa: F401  # a quarter of a second that nobody waits for here

    formed = chain.from_iterable(equations.every(study).values())
    system = study.case.report_units
    return (
        tuple(make(study) for make in _TABLES),
        tuple((each.id, each.label, each.latex(system)) for each in formed),
    )


def check(faults: Iterable[str]) -> None:
    """Refuse a report that contradicts itself.

    Raises
    ------
    ReportError
        Naming both places of the first contradiction.
    """
    fault = next(iter(faults), None)
    if fault is not None:
        raise ReportError(f"the report contradicts itself: {fault}; nothing was published")


def contradictions(
    study: Study, numbers: Mapping[str, Any], markdown: str, files: Mapping[str, Path]
) -> Iterator[str]:
    """Yield every contradiction of a report, each with both places.

    Parameters
    ----------
    study : Study
        The case, studied in this process; the notebook has studied it in its own.
    numbers : mapping
        What results.json will hold.
    markdown : str
        The executed notebook, flattened.
    files : mapping of str to Path
        The documents by format.
    """
    yield from of_results(numbers)
    yield from _of_notebook(study, markdown)
    system = study.case.report_units
    yield from of_conclusion(study.statements[0], "study", numbers, markdown, files, system=system)


def of_results(numbers: Mapping[str, Any]) -> Iterator[str]:
    """Yield the contradictions within results.json."""
    criteria = {each["id"]: each for each in numbers["criteria"]}
    named = {**numbers, "criteria": criteria}
    yield from _differing(
        chain(
            _conclusion(numbers),
            _strengths(numbers),
            _margins(numbers["margins"], criteria),
            _options(numbers),
            ((one, walk(named, one), other, walk(named, other)) for one, other in _copies(named)),
        )
    )


#: Two places that state one thing, each with what stands there.
Pair = tuple[str, object, str, object]


def _differing(pairs: Iterable[Pair]) -> Iterator[str]:
    """Name both places of each pair that differs, numbers by more than they are rounded."""
    for one, first, other, second in pairs:
        same = first == second
        if isinstance(first, float | int) and isinstance(second, float | int):
            same = math.isclose(first, second, rel_tol=_ROUNDING, abs_tol=_ROUNDING)
        if not same:
            yield f"{one} is {first}, {other} is {second}"


def _conclusion(numbers: Mapping[str, Any]) -> Iterator[Pair]:
    drawn, criteria = numbers["conclusion"], numbers["criteria"]
    failed = [each["id"] for each in criteria if each["decides"] and each["met"] is False]
    yield "conclusion.failed", drawn["failed"], "criteria not met", failed
    refused = drawn["id"] == "does_not_support"
    yield "conclusion.id refuses", refused, "a deciding criterion is not met", bool(failed)
    minimum = numbers["minimum_parent"]["outcome"] in ("holds", "far", "no_load")
    yield "minimum_parent holds", minimum, "conclusion.id supports", not refused
    for each in criteria:
        if each["id"].startswith("margin_") and each["repaired"] is not None:
            name = f"criteria.{each['id']}"
            yield f"{name}.met", each["met"], f"{name} not negative", each["repaired"] >= 0


def _strengths(numbers: Mapping[str, Any]) -> Iterator[Pair]:
    for name, state in numbers["states"].items():
        if not state["assessed"]:  # the hole as found holds no insert
            continue
        place = f"states.{name}"
        primary = {m["mode"]: m["capacity_N"] for m in state["modes"] if m["primary"]}
        strip = {mode: load for mode, load in primary.items() if mode != "screw_tension"}
        yield f"{place}.strength_N", state["strength_N"], "its lowest mode", min(primary.values())
        yield f"{place}.pull_out_N", state["pull_out_N"], "its lowest thread", min(strip.values())
        if name in numbers["load_slip"]:
            plateau = numbers["load_slip"][name]["plateau_N"]
            yield f"load_slip.{name}.plateau_N", plateau, place, primary["parent_thread_strip"]
        total = math.fsum(step["mm"] for step in state["budget"])
        yield f"{place}.engagement_mm", state["engagement_mm"], "the sum of its budget", total
    before, after = (numbers["states"][name] for name in ("original", "repaired"))
    if after["assessed"]:
        ratio = numbers["comparison"]["pull_out_ratio"]
        loads = after["pull_out_N"] / before["pull_out_N"]
        yield "comparison.pull_out_ratio", ratio, "the ratio of pull_out_N", loads


def _margins(margins: list[Mapping[str, Any]], criteria: Mapping[str, Any]) -> Iterator[Pair]:
    for each in margins:
        if each["margin"] is not None:
            ratio = each["capacity_N"] / each["factored_demand_N"] - 1
            place = f"margins.{each['state']}.{each['mode']}.{each['load_case_id']}"
            yield place, each["margin"], "its capacity over its demand, less one", ratio
    found: dict[tuple[str, str], list[Any]] = {}
    for each in margins:
        certified = each["against"] == "certified minimum"
        id_ = "certified_minimum" if certified else f"margin_{each['mode']}"
        found.setdefault((id_, each["state"]), []).append(each["margin"])
    for (id_, state), some in found.items():
        if id_ in criteria and None not in some:
            place = f"criteria.{id_}.{state}"
            yield place, criteria[id_][state], "the least of margins", min(some)


def _options(numbers: Mapping[str, Any]) -> Iterator[Pair]:
    supports = numbers["conclusion"]["id"] != "does_not_support"
    options = {each["option"]: each for each in numbers["alternatives"]}
    proposed = [name for name, each in options.items() if each["assessment"] == "proposed"]
    inserts = [name for name in proposed if name != "reject"]
    yield "alternatives propose the insert", bool(inserts), "conclusion supports it", supports
    yield "alternatives reject the part", supports and "reject" in proposed, "conclusion", False
    repaired = numbers["states"]["repaired"]
    for name in inserts:
        for key, of_state in (("pull_out_N", "pull_out_N"), ("engaged_mm", "engagement_mm")):
            place = f"alternatives.{name}.{key}"
            yield place, options[name][key], f"states.repaired.{of_state}", repaired[of_state]
    best = numbers["required_insert"]["diameters"]
    if best is not None:
        held = options[f"wire-insert-{best:.4g}D"]["assessment"] in ("proposed", "acceptable")
        yield f"required_insert {best:g} D", True, "its option is acceptable", held


def _copies(numbers: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield paths, with criteria by their id, at which one and the same stands."""
    same = files.data("results.toml")["same"]
    states = [name for name, state in numbers["states"].items() if state["assessed"]]
    yield from same["paths"]
    yield from ((one.format(s), other.format(s)) for s in states for one, other in same["of_state"])
    if "repaired" in states:
        yield from same["of_insert"]
    # At mean and measured sizes the sheet holds the hole to what the strength counts on, which is
    # closer than the limits of its class.
    if numbers["case"].get("tolerance_position", "minimum-material") in same["positions"]:
        yield from same["of_hole"]


def _of_notebook(study: Study, markdown: str) -> Iterator[str]:
    """Compare tables and equations of the notebook with the study behind results.json."""
    tables, formed = expected(study)
    yield from of_tables(tables, markdown)
    for id_, label, latex in formed:
        if f"{{#{label}}}" in markdown and latex not in markdown:
            yield f"equation {id_!r} {_OTHER}"


_OTHER = "of the notebook has other values than the study that results.json is written from"


def of_tables(tables: Iterable[object], markdown: str) -> Iterator[str]:
    """Yield which of these tables the notebook shows with other values."""
    for each in tables:
        if isinstance(each, ReportTable) and escape.markdown(each.caption) in markdown:
            text = each.markdown()
            # a table of the same name with other columns is somebody's own
            if text.partition("\n")[0] in markdown and text not in markdown:
                yield f"the table {str(each.caption).partition('.')[0]!r} {_OTHER}"


def of_conclusion(
    statement: Fact,
    origin: str,
    numbers: Mapping[str, Any],
    markdown: str,
    files: Mapping[str, Path],
    *,
    system: str = "SI",
) -> Iterator[str]:
    """Look for the one conclusion in results.json, in the notebook and in every format."""
    said, text = words.sentence(statement), numbers["conclusion"]["text"]
    if text != said:
        yield f"results.json concludes {text!r}, the {origin} {said!r}"
    said = words.sentence(statement, system=system)
    if escape.markdown(said) not in markdown:
        if "{.conclusion ." in markdown:
            yield f"the notebook has another conclusion than results.json, which says {said!r}"
        return
    for kind, file in files.items():
        # page by page: of a PDF each takes long to read
        pages = accumulate(map(_letters, _pages(kind, file)))
        if not any(_letters(said) in text for text in pages):
            yield f"the notebook says {said!r}, and {file.name} does not"


def _letters(text: str) -> str:
    """Return letters and digits alone: formats differ in spaces, dashes and quotation marks."""
    return re.sub(r"[\W_]+", "", unicodedata.normalize("NFKC", text)).casefold()


def _pages(kind: str, file: Path) -> Iterator[str]:
    """Yield what a document says, of a PDF page by page; marks of a format are left out."""
    if kind == "pdf":
        import pypdf

        yield from (page.extract_text() for page in pypdf.PdfReader(file).pages[:_FIRST_PAGES])
        return
    if kind == "docx":
        with zipfile.ZipFile(file) as archive:
            marked = archive.read("word/document.xml").decode()
    else:
        marked = file.read_text("utf-8")
    yield html.unescape(re.sub(r"<[^>]*>", "", marked))


#: The conclusion stands on the first page; a sheet may begin with a long head.
_FIRST_PAGES = 3


# ---- a part with many holes


def part_contradictions(
    found: Submission, numbers: Mapping[str, Any], markdown: str, made: Mapping[str, Path]
) -> Iterator[str]:
    """Yield every contradiction of the document, as `contradictions` of a report."""
    yield from of_part_results(numbers)
    yield from _of_holes(found, markdown)
    yield from of_conclusion(found.statement, "holes", numbers, markdown, made)


def of_part_results(numbers: Mapping[str, Any]) -> Iterator[str]:
    """Yield the contradictions within results.json: cover, matrix and holes."""
    holes = numbers["holes"]
    for label, each in holes.items():
        yield from (f"hole {label}: {fault}" for fault in of_results(each))
    yield from _differing(_matrix(numbers))
    listed = {(label, each["criterion"])
              for each in numbers["criteria_not_met"] for label in each["holes"]}  # fmt: skip
    there = {
        (label, each["id"])
        for label, own in holes.items()
        for each in own["criteria"]
        if each["met"] is not True
    }
    for label, id_ in sorted(listed ^ there):
        where = "only its hole has" if (label, id_) in there else "its hole does not have"
        yield f"criteria not met: {id_} at hole {label}, which {where}"


def _matrix(numbers: Mapping[str, Any]) -> Iterator[Pair]:
    for cell in numbers["matrix"]:
        own, serial = numbers["holes"][cell["results"]], cell["serial"] or "-"
        place = f"the matrix at hole {cell['hole']}, serial number {serial}"
        yield place, cell["conclusion"], "its hole", own["conclusion"]["id"]
        margins = (each["repaired"] for each in own["criteria"] if "margin_" in each["id"])
        least = min((each for each in margins if each is not None), default=None)
        yield f"{place}, minimum margin", cell["minimum_margin"], "that of its criteria", least
    conclusions = (cell["conclusion"] for cell in numbers["matrix"])
    worst = max(conclusions, key=CONCLUSIONS.index, default=None)
    yield "the conclusion of the cover", numbers["conclusion"]["id"], "that of the matrix", worst


def _of_holes(found: Submission, markdown: str) -> Iterator[str]:
    """Compare what the notebook printed of each hole with the studies behind results.json."""
    tables = (*part.matrix_tables(found), part.not_met(found))
    yield from of_tables(tables, markdown)
    for holes in found.joints.values():
        study, name = holes[0].study, part.title(holes)
        _, heading, page = markdown.partition(f"{{#{part.anchor(found, holes[0])}}}")
        if not heading:
            continue
        page = page.partition("{.one-page}")[0]
        for what, shown in (
            ("conclusion", conclusion.conclusion(study)),
            ("table of preload", part.preload_table(study)),
            ("table of criteria", conclusion.criteria_table(study, of=name)),
        ):
            text = shown.markdown() if isinstance(shown, ReportTable) else shown.data
            if text not in page:
                yield f"the page of {name} has another {what} than results.json"
