"""A part with many holes: the cover, the matrix, and what is said once for all of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from IPython.display import Markdown, display

from ... import words
from ...case import understood
from ...facts import LEVELS, Fact, Term, count, fact
from ...study import Study
from ...study.shown import criterion_row
from ...study.submission import StudiedHole, Submission, Verdict, labels
from .. import escape
from ..figure import Markup, ReportTable
from .cells import MARKS
from .conclusion import sentences
from .inputs import TITLE_BLOCK, allowables_rows, changes_table, input_name
from .layout import table
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
    return table("not-met", [(_which(found, holes), *row) for row, holes in ordered])


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
    return changes_table(found.case)


def allowables(found: Submission) -> ReportTable:
    """Every strength that a hole rests on, once, with its source."""
    rows = [(which, *row) for row, which in alike(found, allowables_rows)]
    return table("allowables-of-holes", rows, found.case.report_units)


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


def notices(found: Submission) -> Markdown:
    """Limits and assumptions of every hole, each once, with the holes that it concerns."""
    first = found.studies[0]
    alone = len(found.holes) == 1
    return Markdown(
        "\n".join(
            f"- **{MARKS[each.level]}{'' if alone else f' ({escape.markdown(_holes(which))})'}.** "
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
    rows = [
        {"holes": labels(holes), "state": name, "mode": mode}
        for holes in found.joints.values()
        for name, state in holes[0].study.evaluation.states.items()
        for mode in sorted((m for m in state.modes if m.primary), key=lambda m: m.capacity)
    ]
    return table("modes-of-holes", rows, found.case.report_units)


def inputs_table(found: Submission) -> ReportTable:
    """Every input, as entered and as understood, with the holes that have it."""
    return table("inputs-of-holes", _of_inputs(found, stated=True))


def assumed_table(found: Submission) -> ReportTable:
    """Every input that was not stated and has a value all the same."""
    return table("assumed-of-holes", _of_inputs(found, stated=False))


def _of_inputs(found: Submission, *, stated: bool) -> list[tuple[str, ...]]:
    """Return inputs with the holes that have them; the rows of one input stand together."""

    def rows(study: Study) -> Iterator[tuple[str, ...]]:
        case = study.case
        for key, value in understood(case).items():
            entered = case.entered.get(key, "").strip()
            if key in TITLE_BLOCK or key == "quantity" or bool(entered) is not stated:
                continue
            text = words.given(value, system=found.case.report_units)
            yield (input_name(key), *([entered] if stated else []), text)

    having = alike(found, rows)
    order = list(dict.fromkeys(row[0] for row, _ in having))
    ordered = sorted(having, key=lambda item: order.index(item[0][0]))
    return [(row[0], which, *row[1:]) for row, which in ordered]
