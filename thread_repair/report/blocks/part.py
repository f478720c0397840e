"""A part with many holes: the cover, the matrix, what holes share, a page for each joint."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from IPython.display import Markdown, display

from ... import words
from ...case.part_file import listed
from ...facts import LEVELS, Fact, Term, count, fact, number
from ...study import Study
from ...study.shown import criterion_row, open_heading
from ...study.submission import StudiedHole, Submission, labels
from .. import escape
from ..figure import Markup, ReportTable
from .comparison import mode_rows, section_figure
from .conclusion import ACCEPTED, as_found, criteria_table, in_short
from .conclusion import conclusion as of_study
from .inputs import allowables_rows, entries
from .layout import MARKS, boxed, passage, points, said, table, units
from .tightening import line, warnings, window

#: Serial numbers side by side in one table, and rows of a matrix that a cover has room for.
_COLUMNS, _ROWS = 6, 14
_LEAD = "@tbl:matrix gives the conclusion of every hole on every part."
_LATER = f"{_LEAD[:-1]}; it stands after this page, which has room for {_ROWS} holes."


def title(holes: Sequence[StudiedHole]) -> str:
    """Name the holes of one joint: "hole H1" or "holes H1, H2"."""
    return f"hole{'s' if len(holes) > 1 else ''} {labels(holes)}"


def anchor(found: Submission, hole: StudiedHole) -> str:
    """Return the name by which the page of a hole is linked to."""
    at = next(n for n, holes in enumerate(found.joints.values(), start=1) if hole in holes)
    return f"joint-{at}"


# ---- the cover


def conclusion(found: Submission) -> Markdown:
    """The conclusion of all in bold, the minimum margin, what was assessed and who accepts what."""
    said_of_all = (found.statement, *_refused(found), *_assessed(found))
    box = boxed(found.conclusion, found.studies[0], *said_of_all)
    told = _facts(found, lambda study: (x for x in study.evaluation.facts if x.id in ACCEPTED))
    accepted = [f"**{words.capital(holes)}.** {text}" for _, text, holes in told]
    return Markdown("\n\n".join((box.data, *accepted)))


def _refused(found: Submission) -> Iterator[Fact]:
    """Yield what is not met, and where: a cell of the matrix may say a margin in its place."""
    failed = {each.label: dict(each.study.conclusion.failed).values() for each in found.holes}
    at: dict[tuple[str, ...], list[Term]] = {}
    for id_ in dict.fromkeys(id_ for some in failed.values() for id_ in some):
        where = tuple(label for label, some in failed.items() if id_ in some)
        at.setdefault(where, []).append(Term("criterion", id_))
    for where, criteria in at.items():
        yield fact("submission_refused", criteria=tuple(criteria), holes=where)


def _assessed(found: Submission) -> Iterator[Fact]:
    lowest = found.lowest
    if lowest is None or lowest.margin is None or lowest.margin.repaired is None:
        loaded = any(each.study.load_cases for each in found.holes)
        yield fact(f"submission_no_{'margin' if loaded else 'load'}", "caution")
    else:
        without = tuple(hole.label for hole in found.holes if hole.margin is None)
        yield fact(
            f"submission_lowest{'_assessed' if without else ''}",
            margin=lowest.margin.repaired,
            criterion=Term("criterion", lowest.margin.id),
            hole=lowest.label,
            **({"without": without} if without else {}),
        )
        hole = min(found.holes, key=lambda each: each.study.certified_minimum)
        if (bound := hole.study.certified_minimum) < lowest.margin.repaired.value:
            yield fact("submission_below_by_bound", margin=number(bound), hole=hole.label)
    if len(found.matrix) == 1:
        yield fact("submission_joint")
        return
    numbered = "" if any(found.serials) else "_unnumbered"
    yield fact(
        f"submission_joints{numbered}{'_one' if len(found.studies) == 1 else ''}",
        repairs=count(len(found.matrix)),
        holes=count(len(_names(found))),
        joints=count(len(found.studies)),
    )


def _names(found: Submission) -> list[str]:
    return list(dict.fromkeys(hole.name for hole in found.holes))


def cover_matrix(found: Submission) -> ReportTable | Markdown:
    """The matrix where the cover has room for it, else the reference to it."""
    first = matrix_tables(found)[0]
    return first if len(_names(found)) <= _ROWS else Markdown(_LATER)


def matrix(found: Submission) -> None:
    """Display the matrix as far as it is not on the cover, a table for so many columns."""
    tables = matrix_tables(found)
    display(*(tables[1:] if len(_names(found)) <= _ROWS else tables))


def matrix_tables(found: Submission) -> list[ReportTable]:
    """Return the matrix: conclusion and minimum margin of each hole on each serial number."""
    groups, tables = _groups(found), []
    for at in range(0, len(groups), _COLUMNS):
        some = groups[at : at + _COLUMNS]
        heads = ["Hole", "Thread", *map(_serials, some)]
        rows = [_line(found, name, [group[0] for group in some]) for name in _names(found)]
        caption = "Conclusion and minimum margin of safety of each hole, by serial number"
        caption += f" (continued, {at + 1} to {at + len(some)})" if at else ""
        first = {} if at else {"label": "matrix", "lead": _LEAD}
        tables.append(ReportTable(heads, rows, caption=caption, **first))
    return tables


def _groups(found: Submission) -> list[list[str]]:
    """Return serial numbers that share a column: each its own while there are few."""
    if len(found.serials) <= _COLUMNS:
        return [[each] for each in found.serials]
    alike: dict[tuple[str, ...], list[str]] = {}
    for serial in found.serials:
        column = tuple(verdict(found.matrix.get((name, serial))) for name in _names(found))
        alike.setdefault(column, []).append(serial)
    return list(alike.values())


def _serials(group: Sequence[str]) -> str:
    if group == [""]:
        return "All parts"
    return f"Serial number{'s' if len(group) > 1 else ''} {listed(group)}"


def _line(found: Submission, name: str, serials: Sequence[str]) -> tuple[object, ...]:
    holes = [hole for hole in found.holes if hole.name == name]
    threads = dict.fromkeys(
        f"{each.study.evaluation.joint.thread.designation}, {each.case.screw}" for each in holes
    )
    return (
        Markup(f"[{escape.markdown(name)}](#{anchor(found, holes[0])})"),
        "; ".join(threads),
        *(verdict(found.matrix.get((name, serial))) for serial in serials),
    )


def verdict(given: StudiedHole | None) -> str:
    """Say conclusion and minimum margin, or what is not met, in words that need no colour."""
    if given is None:
        return words.term(Term("verdict", "none"))
    text = words.term(Term("verdict", given.conclusion))
    margin, failed = given.margin, [id_ for _, id_ in given.study.conclusion.failed]
    if failed and (margin is None or margin.id not in failed):
        # a positive margin would not say why
        return f"{text}: {words.listed(words.term(Term('criterion', each)) for each in failed)}"
    if margin is None or margin.repaired is None:
        return text
    return f"{text}, {words.quantity(margin.repaired, how='signed')}"


# ---- what is said once, with the holes that it is for

Row = tuple[str, ...]
Rows = Callable[[Study], Iterable[Row]]


def _alike(found: Submission, of: Rows) -> list[tuple[Row, list[StudiedHole]]]:
    """Return what studies give, each once, with the holes that have it, in their own order."""
    having: dict[Row, set[str]] = {}
    for holes in found.joints.values():
        for each in dict.fromkeys(of(holes[0].study)):
            having.setdefault(each, set()).update(hole.label for hole in holes)
    return [
        (each, [hole for hole in found.holes if hole.label in some])
        for each, some in having.items()
    ]


def _which(found: Submission, holes: Sequence[StudiedHole]) -> str:
    return "all" if len(holes) == len(found.holes) > 1 else labels(holes)


def _table(
    name: str, found: Submission, of: Rows, at: int = 0, order: Callable[[Row], int] = len
) -> ReportTable:
    """Tabulate rows that studies give, each once; the column at this place names the holes."""
    rows = sorted(_alike(found, of), key=lambda item: order(item[0]))
    named = [(*row[:at], _which(found, holes), *row[at:]) for row, holes in rows]
    return table(name, named, found.studies[0])


def _facts(
    found: Submission, of: Callable[[Study], Iterable[Fact]]
) -> Iterator[tuple[str, str, str]]:
    """Yield level and words of the facts that studies give, limits first, and the holes' names."""
    alike = _alike(found, lambda study: ((each.level, said(study, each)) for each in of(study)))
    for (level, text), holes in sorted(alike, key=lambda item: LEVELS.index(item[0][0])):
        every = _which(found, holes) == "all"
        yield level, text, "all holes" if every else escape.markdown(title(holes))


def not_met(found: Submission) -> ReportTable | Markdown:
    """Every criterion that is not met or not assessed anywhere, those that refuse first."""
    if not found.not_met:
        return passage(found.studies[0], fact("submission_all_met"))

    def rows(study: Study) -> Iterator[Row]:
        for each in study.criteria:
            if each.refuses or each.is_condition:  # the last is no column
                yield *criterion_row(each, units(study)), "" if each.refuses else "condition"

    return _table("not-met", found, rows, order=lambda row: len(row[-1]))


def holes_table(found: Submission) -> ReportTable:
    """What was found at each hole, in the engineer's words."""
    rows = [
        {"label": hole.label, "serials": listed(hole.serials), "case": hole.case}
        for hole in found.holes
    ]
    stated = {
        "Serial numbers": any(hole.serials for hole in found.holes),
        "Damage as found": any(hole.case.damage for hole in found.holes),
        "Scope": len({hole.case.scope for hole in found.holes}) > 1,  # else said once, above
    }
    return table("holes", rows, without=[head for head, some in stated.items() if not some])


def scope(found: Submission) -> Markdown:
    """What is decided, where it is the same for every hole."""
    scopes = {hole.case.scope for hole in found.holes}
    return Markdown(escape.markdown(scopes.pop()) if len(scopes) == 1 else "")


def allowables(found: Submission) -> ReportTable:
    """Every strength that a hole rests on, once, with its source."""
    return _table("allowables-of-holes", found, allowables_rows)


def notices(found: Submission) -> Markdown:
    """Limits and assumptions of every hole, each once, with the holes that it concerns."""
    several = len(found.holes) > 1
    return points(
        f"**{MARKS[level]}{f' ({holes})' if several else ''}.** {text}"
        for level, text, holes in _facts(found, lambda study: study.limitations)
    )


def open_points(found: Submission) -> Markdown:
    """What is open before the document is issued as final, with the holes that it concerns."""
    of_holes: dict[str, list[str]] = {}
    for _, text, holes in _facts(found, lambda study: study.open_points):
        of_holes.setdefault(holes, []).append(text)
    alike = len(found.holes) == 1 or [*of_holes] == ["all holes"]
    texts = (
        " ".join(some if alike else [f"{words.capital(holes)}:", *some])
        for holes, some in of_holes.items()
    )
    return Markdown(f"**{open_heading(found.studies[0])}** {' '.join(texts)}")


def modes_table(found: Submission) -> ReportTable:
    """Every failure mode of every joint by the reference method; of a lost hole the original's."""
    rows = [
        {"holes": labels(holes), **row}
        for holes in found.joints.values()
        for row in mode_rows(holes[0].study)
        if holes[0].study.holds_insert or row["state"] == "original"
    ]
    return table("modes-of-holes", rows, found.studies[0])


def inputs_table(found: Submission) -> ReportTable:
    """Every input, as entered and as understood, with the holes that have it."""
    return _of_inputs("inputs-of-holes", found, stated=True)


def assumed_table(found: Submission) -> ReportTable:
    """Every input that was not stated and has a value all the same."""
    return _of_inputs("assumed-of-holes", found, stated=False)


def _of_inputs(name: str, found: Submission, *, stated: bool) -> ReportTable:
    """Tabulate inputs with the holes that have them; the rows of one input stand together."""

    def rows(study: Study) -> Iterator[Row]:
        for name, entered, text in entries(study.case):
            if name != words.input_name("quantity") and bool(entered) is stated:
                yield (name, entered, text) if stated else (name, text)

    order = list(dict.fromkeys(row[0] for study in found.studies for row in rows(study)))
    return _table(name, found, rows, 1, order=lambda row: order.index(row[0]))


# ---- one page and one workshop sheet for every different joint


def pages(found: Submission) -> None:
    """Display a page for every different joint: picture, preload and criteria."""
    # Beside the first page: on a page of its own the heading would leave it empty.
    first = [Markdown("## Holes"), passage(found.studies[0], fact("submission_pages"))]
    for holes in found.joints.values():
        study, name = holes[0].study, title(holes)
        heading = f"{escape.markdown(words.capital(name))} {{#{anchor(found, holes[0])}}}"
        display(
            Markdown("::: {.one-page}"),
            *first,
            Markdown(f"### {heading}"),
            of_study(study),
            Markdown(" ".join(filter(None, (_applies(study, holes), as_found(study).data)))),
            section_figure(study, of=name),
            preload_table(study),
            criteria_table(study, of=name),
            Markdown(":::"),
        )
        first = []


def _applies(study: Study, holes: Sequence[StudiedHole]) -> str:
    """Say for which holes and serial numbers a page is."""
    found = []
    if len(holes) > 1:
        found.append(fact("submission_equal", holes=_on_parts(holes)))
    if study.case.serials:
        found.append(fact("hole_on_serials", serials=study.case.serials))
    return said(study, *found)


def _on_parts(holes: Sequence[StudiedHole]) -> tuple[str, ...]:
    """Name holes, with the serial numbers of each where they are not on the same parts."""
    if len({each.serials for each in holes}) == 1:
        return tuple(each.label for each in holes)
    return tuple(
        f"{each.name} ({listed(each.serials)})" if each.serials else each.name for each in holes
    )


def preload_table(study: Study) -> ReportTable | Markdown:
    """Preload and permissible torque of both conditions, which no criterion has; or nothing."""
    if study.preloads is None:
        return Markdown("")
    rows = [
        {"of": each, "window": window(each)} if study.holds_insert or name == "original" else {}
        for name, each in study.preloads.states.items()
    ]
    return table("preload-of-hole", rows, study, set=study.preloads.repaired.what)


def sheets(found: Submission) -> None:
    """Display a workshop sheet for every different joint."""
    from . import workshop  # on use: its drawing brings matplotlib

    for holes in found.joints.values():
        study, name = holes[0].study, title(holes)
        many = "equal" if len(holes) > 1 else "one"
        display(
            Markdown("::: {.small}"),
            Markdown(f"### Sheet for {escape.markdown(name)}"),
            passage(study, fact(f"submission_sheet_{many}", holes=_on_parts(holes))),
            in_short(study),
            workshop.job_table(study),
            workshop.hole_figure(study, of=name),
            workshop.steps_table(study),
            line(study),
            warnings(study),
            workshop.record_table(study, _each(holes)),
            workshop.copies(study),
            Markdown(":::"),
        )


def _each(holes: Sequence[StudiedHole]) -> list[str]:
    """Return the name of every hole to be repaired, on every part that it is repaired on."""
    return [
        f"{hole.name} on {serial}" if serial else hole.name
        for hole in holes
        for serial in hole.serials or ("",)
    ]


def sign_off(found: Submission) -> None:
    """Display room to sign for the holes whose sheets are released, named where others are not."""
    from . import workshop

    released = [each for each in found.holes if each.study.sheet_released]
    if released and len(released) < len(found.holes):
        holes = tuple(each.label for each in released)
        display(passage(found.studies[0], fact("sign_off_of_some", "limit", holes=holes)))
    display(workshop.sign_off((released or found.holes)[0].study))


def spoiled_table(found: Submission) -> ReportTable:
    """Say what to do where a hole does not pass: each row once, with the holes it is for."""
    from .workshop import spoiled_rows

    return _table("spoiled-of-holes", found, spoiled_rows, at=1)
