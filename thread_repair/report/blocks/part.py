"""A part with many holes: the cover, the matrix, and what is said once for all of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from IPython.display import Markdown, display

from ... import words
from ...case import changes, understood
from ...facts import LEVELS, Fact, Term, count, fact
from ...study import Study
from ...study.shown import criterion_row
from ...study.submission import StudiedHole, Submission, Verdict, labels
from ...units import number as digits
from .. import escape
from ..figure import Markup, ReportTable
from .cells import cell, head, mode_words, state_words
from .conclusion import sentences
from .inputs import TITLE_BLOCK, allowables_rows, input_name
from .ledger import Part as Source

#: Serial numbers side by side in one table, and rows of a matrix that a cover has room for.
_COLUMNS, _ROWS = 6, 14


def title(holes: Sequence[StudiedHole]) -> str:
    """Name the holes of one joint: "hole H1" or "holes H1, H2"."""
    return f"hole{'s' if len(holes) > 1 else ''} {labels(holes)}"


def anchor(found: Submission, hole: StudiedHole) -> str:
    """Return the name by which the page of a hole is linked to."""
    joints = [[each.label for each in holes] for holes in found.joints.values()]
    at = next(n for n, names in enumerate(joints, start=1) if hole.label in names)
    return f"joint-{at}"


def conclusion(found: Submission) -> Markdown:
    """The conclusion of all in bold, the minimum margin of all, and what was assessed."""
    first = found.studies[0]
    text = f"**{sentences(first, [found.statement])}** {sentences(first, _assessed(found))}"
    return Markdown(f"::: {{.conclusion .{found.conclusion.replace('_', '-')}}}\n{text}\n:::")


def _assessed(found: Submission) -> Iterator[Fact]:
    lowest = found.lowest
    if lowest is None or lowest.margin is None or lowest.margin.repaired is None:
        yield fact("submission_no_load", "caution")
    else:
        yield fact(
            "submission_lowest",
            "info",
            margin=lowest.margin.repaired,
            criterion=Term("criterion", lowest.margin.id),
            hole=lowest.hole.label,
        )
    if len(found.matrix) == 1:
        yield fact("submission_joint", "info")
        return
    yield fact(
        f"submission_joints{'_one' if len(found.studies) == 1 else ''}",
        "info",
        repairs=count(len(found.matrix)),
        holes=count(len({hole.name for hole in found.holes})),
        joints=count(len(found.studies)),
    )


def cover_matrix(found: Submission) -> ReportTable | Markdown:
    """The matrix where the cover has room for it, else the reference to it."""
    if _rows(found) <= _ROWS:
        return matrix_tables(found)[0]
    return Markdown("@tbl:matrix gives the conclusion of every hole on every serial number.")


def matrix(found: Submission) -> None:
    """Display the matrix as far as it is not on the cover, a table for so many columns."""
    tables = matrix_tables(found)
    display(*(tables[1:] if _rows(found) <= _ROWS else tables))


def _rows(found: Submission) -> int:
    return len({hole.name for hole in found.holes})


def matrix_tables(found: Submission) -> list[ReportTable]:
    """Return the matrix: conclusion and minimum margin of each hole on each serial number."""
    return list(_matrix(found))


def _matrix(found: Submission) -> Iterator[ReportTable]:
    """Tabulate conclusion and minimum margin of each hole on each serial number."""
    groups = _groups(found)
    for at in range(0, len(groups), _COLUMNS):
        some = groups[at : at + _COLUMNS]
        yield ReportTable(
            ["Hole", "Thread", *(_serials(group) for group in some)],
            list(_lines(found, [group[0] for group in some])),
            caption="Conclusion and minimum margin of safety of each hole, by serial number"
            + (f" (continued, {at + 1} to {at + len(some)})" if at else ""),
            label="matrix" if not at else "",
            alignment=["left", "left", *(["left"] * len(some))],
        )


def _groups(found: Submission) -> list[tuple[str, ...]]:
    """Return serial numbers that share a column: each its own while there are few."""
    if len(found.serials) <= _COLUMNS:
        return [(each,) for each in found.serials]
    alike: dict[tuple[str, ...], list[str]] = {}
    for serial in found.serials:
        column = tuple(verdict(found.matrix.get((h.name, serial))) for h in found.holes)
        alike.setdefault(column, []).append(serial)
    return [tuple(group) for group in alike.values()]


def _serials(group: Sequence[str]) -> str:
    if group == ("",):
        return "All parts"
    return f"Serial number{'s' if len(group) > 1 else ''} {', '.join(group)}"


def _lines(found: Submission, serials: Sequence[str]) -> Iterator[tuple[object, ...]]:
    for name in dict.fromkeys(hole.name for hole in found.holes):
        holes = [hole for hole in found.holes if hole.name == name]
        threads = dict.fromkeys(
            f"{each.study.evaluation.joint.thread.designation}, {each.case.screw}" for each in holes
        )
        yield (
            Markup(f"[{escape.markdown(name)}](#{anchor(found, holes[0])})"),
            "; ".join(threads),
            *(verdict(found.matrix.get((name, serial))) for serial in serials),
        )


def verdict(said: Verdict | None) -> str:
    """Say conclusion and minimum margin, or what is not met, in words that need no colour."""
    if said is None:
        return words.term(Term("verdict", "none"))
    text = words.term(Term("verdict", said.conclusion))
    margin, failed = said.margin, [id_ for _, id_ in said.hole.study.conclusion.failed]
    if failed and (margin is None or margin.id not in failed):
        # a positive margin would not say why
        return f"{text}: {words.listed(words.term(Term('criterion', each)) for each in failed)}"
    if margin is None or margin.repaired is None:
        return text
    return f"{text}, {words.quantity(margin.repaired, how='signed')}"


def not_met(found: Submission) -> ReportTable | Markdown:
    """Every criterion that is not met or not assessed anywhere, those that refuse first."""
    system = found.case.report_units
    alike: dict[tuple[str, ...], list[StudiedHole]] = {}
    refusing = set[tuple[str, ...]]()
    for holes, _, each in found.not_met:
        row = criterion_row(each, system)
        alike.setdefault(row, []).extend(holes)
        if each.refuses:
            refusing.add(row)
    if not alike:
        return Markdown(sentences(found.studies[0], [fact("submission_all_met", "info")]))
    ordered = sorted(alike.items(), key=lambda item: item[0] not in refusing)
    return ReportTable(
        ["Holes", "Criterion", "Required", "Repaired", "Original", "Met"],
        [(_which(found, holes), *row) for row, holes in ordered],
        caption="Criteria that are not met or not assessed, those that refuse a repair first",
        label="not-met",
        alignment=["left", "left", "left", "right", "right", "left"],
    )


def _which(found: Submission, holes: Sequence[StudiedHole]) -> str:
    return "all" if len(holes) == len(found.holes) > 1 else labels(holes)


def holes_table(found: Submission) -> ReportTable:
    """What was found at each hole, in the engineer's words."""
    rows = [
        (hole.label, ", ".join(hole.serials), hole.case.damage, hole.case.scope)
        for hole in found.holes
    ]
    heads = ("Hole", "Serial numbers", "Damage as found", "Scope")
    kept = [at for at in range(len(heads)) if not at or any(row[at] for row in rows)]
    if len({row[3] for row in rows}) == 1 and 3 in kept:
        kept.remove(3)  # said once, above
    return ReportTable(
        [heads[at] for at in kept],
        [[row[at] for at in kept] for row in rows],
        caption="Holes of the part",
        label="holes",
        alignment=["left"] * len(kept),
    )


def scope(found: Submission) -> Markdown:
    """What is decided, where it is the same for every hole."""
    said = {hole.case.scope for hole in found.holes}
    return Markdown(escape.markdown(said.pop()) if len(said) == 1 else "")


def change_record(found: Submission) -> ReportTable | Markdown:
    """What was changed in which revision, the latest last."""
    rows = [(each.revision, each.date, each.words) for each in changes(found.case.changes)]
    if not rows:
        return Markdown("No change record is kept.")
    return ReportTable(["Revision", "Date", "Change"], rows, alignment=["left"] * 3)


def allowables(found: Submission) -> ReportTable:
    """Every strength that a hole rests on, once, with its source."""
    system = found.case.report_units
    return ReportTable(
        ["Holes", "Strength", head("Value", "stress", system), "Source, clause (how known)"],
        [(which, *row) for row, which in alike(found, allowables_rows)],
        caption="Strengths, the same for both conditions of a hole",
        label="allowables",
        alignment=["left", "left", "right", "left"],
    )


def alike(
    found: Submission, rows: Callable[[Study], Iterable[tuple[str, ...]]]
) -> list[tuple[tuple[str, ...], str]]:
    """Return rows that studies give, each once, with the holes that have it."""
    having: dict[tuple[str, ...], list[StudiedHole]] = {}
    for holes in found.joints.values():
        for row in dict.fromkeys(rows(holes[0].study)):
            having.setdefault(row, []).extend(holes)
    return [(row, _which(found, holes)) for row, holes in having.items()]


def _facts(found: Submission, of: Callable[[Study], Iterable[Fact]]) -> list[tuple[Fact, str]]:
    """Return facts that studies give, limits first, each once with the holes that have it."""
    alike: dict[str, tuple[Fact, list[StudiedHole]]] = {}
    for holes in found.joints.values():
        for each in of(holes[0].study):
            said = sentences(holes[0].study, [each])
            alike.setdefault(said, (each, []))[1].extend(holes)
    ordered = sorted(alike.values(), key=lambda item: LEVELS.index(item[0].level))
    return [(each, _which(found, holes)) for each, holes in ordered]


_MARKS = {"limit": "Limit", "caution": "Caution", "info": "Note"}


def notices(found: Submission) -> Markdown:
    """Limits and assumptions of every hole, each once, with the holes that it concerns."""
    first = found.studies[0]
    alone = len(found.holes) == 1
    return Markdown(
        "\n".join(
            f"- **{_MARKS[each.level]}{'' if alone else f' ({escape.markdown(_holes(which))})'}.** "
            + sentences(first, [each])
            for each, which in _facts(found, lambda study: study.limitations)
        )
    )


def _holes(which: str) -> str:
    if which == "all":
        return "all holes"
    return f"hole{'s' if ', ' in which else ''} {which}"


def open_points(found: Submission) -> Markdown:
    """What is open before the document is issued as final, with the holes that it concerns."""
    first = found.studies[0]
    said = _facts(found, lambda study: study.open_points)
    if not said:
        text = sentences(first, [fact("nothing_open", "info")])
    elif len(found.holes) == 1 or all(which == "all" for _, which in said):
        text = sentences(first, [each for each, _ in said])
    else:
        text = " ".join(
            f"{escape.markdown(_holes(which))}: {sentences(first, [each])}" for each, which in said
        )
    return Markdown(f"**Open before issue as final.** {text[:1].upper() + text[1:]}")


def referenced(found: Submission) -> tuple[Source, ...]:
    """Everything whose sources the document names."""
    return tuple(part for study in found.studies for part in (study.evaluation, study.preloads))


def modes_table(found: Submission) -> ReportTable:
    """Every failure mode of every joint by the reference method, from area to load."""
    system = found.case.report_units
    rows = [
        (
            labels(holes),
            state_words(name),
            mode_words(mode.mode),
            cell(mode.area, "area", system),
            cell(mode.stress, "stress", system),
            digits(mode.factor),
            cell(mode.capacity, "force", system),
        )
        for holes in found.joints.values()
        for name, state in holes[0].study.evaluation.states.items()
        for mode in sorted((m for m in state.modes if m.primary), key=lambda m: m.capacity)
    ]
    return ReportTable(
        ["Holes", "Condition", "Failure mode", head("Area", "area", system),
         head("Stress", "stress", system), "Factor", head("Capacity", "force", system)],
        rows,
        caption="Failure modes, the weakest of each condition first",
        label="modes",
        alignment=["left", "left", "left", "right", "right", "right", "right"],
    )  # fmt: skip


def inputs_table(found: Submission) -> ReportTable:
    """Every input, as entered and as understood, with the holes that have it."""
    system = found.case.report_units

    def rows(study: Study) -> Iterator[tuple[str, ...]]:
        case = study.case
        for key, value in understood(case).items():
            if key not in TITLE_BLOCK and key != "quantity" and case.entered.get(key, "").strip():
                text = words.given(value, system=system)
                yield input_name(key), case.entered[key].strip(), text

    return _sorted_table(
        alike(found, rows), ["Input", "Holes", "Entered", "Understood"],
        caption="Inputs as stated and as understood", label="inputs",
    )  # fmt: skip


def assumed_table(found: Submission) -> ReportTable:
    """Every input that was not stated and has a value all the same."""
    system = found.case.report_units

    def rows(study: Study) -> Iterator[tuple[str, ...]]:
        case = study.case
        for key, value in understood(case).items():
            if key not in TITLE_BLOCK and key != "quantity" and key not in case.entered:
                yield input_name(key), words.given(value, system=system)

    return _sorted_table(
        alike(found, rows), ["Input", "Holes", "Assumed"],
        caption="Inputs that were not stated: assumed", label="assumed",
    )  # fmt: skip


def _sorted_table(
    rows: Sequence[tuple[tuple[str, ...], str]], heads: Sequence[str], *, caption: str, label: str
) -> ReportTable:
    """Return a table in which the rows of one input stand together."""
    order = list(dict.fromkeys(row[0] for row, _ in rows))
    ordered = sorted(rows, key=lambda item: order.index(item[0][0]))
    return ReportTable(
        heads, [(row[0], which, *row[1:]) for row, which in ordered],
        caption=caption, label=label, alignment=["left"] * len(heads),
    )  # fmt: skip
