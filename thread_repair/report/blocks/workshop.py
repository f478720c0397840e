"""The hole sheet as passages, tables and a drawing."""

import math
from collections.abc import Iterator, Sequence

from IPython.display import Markdown

from ... import tables, words
from ...case.physical import part_thickness
from ...facts import Range, Term, count, fact, length
from ...figures.cut import CutHole
from ...figures.section import Dimension, hole_section
from ...study import Study
from ...tightening import Preloads
from ...workshop.records import RecordLine
from .. import escape
from ..figure import Markup, ReportFigure, ReportTable
from .inputs import insert_words
from .layout import figure, passage, points, said, table, units

#: Stands around what is printed bold until the text is escaped: a mark without shape.
_BOLD = "\u200c\u200c"
#: Most holes that have a column of their own in the record.
_COLUMNS = 4


def _system(study: Study) -> str:
    """Units of the sheet: those of the report, and inches too for an inch thread."""
    return words.sizes_in(units(study), study.sheet.thread.system)


def job_table(study: Study) -> ReportTable:
    """Say what is made, from what and how often: the head of the sheet."""
    case, made, system = study.case, study.sheet, _system(study)
    tap, serials = made.choices["tap"], f"serial numbers {case.serials}" if case.serials else ""
    screw = f"{made.thread.designation}, {case.screw}"
    if case.screw_reach is not None:
        reach = words.quantity(length(case.screw_reach), system=system, how="plain")
        screw += f", thread reach {reach}"
    notes = (note for each in made.choices.values() for note in each.notes)
    job = {
        "case": case,
        "choices": made.choices,
        "title": words.sentence(made.title, system=system),
        "part": ", ".join(filter(None, (case.item, serials))),
        "insert": insert_words(study),
        "screw": screw,
        "tap": words.filled("{tap}: " if tap.reason else "{tap}", {"tap": tap.name}) + tap.reason,
        "notes": " ".join(words.sentence(note, system=system) for note in notes),
    }
    return table("job", [job])


def cautions(*studies: Study) -> Markdown:
    """List every caution whose condition holds at one of the holes, once."""
    texts = dict.fromkeys(each["text"] for study in studies for each in study.sheet.cautions)
    return points(map(escape.markdown, texts))


def steps_table(study: Study) -> ReportTable | Markdown:
    """Tabulate what to do, in order, with limits and a box to tick, if the sheet is released.

    Whoever works by the steps alone, a page without the conclusion, must not find them there.
    """
    if not study.sheet_released:
        return Markdown(f"**{said(study, fact('no_steps', 'limit'))}**")
    system, rows, stage = _system(study), [], ""
    for number, step in enumerate(study.sheet.steps, start=1):
        limits = {
            each.id: _BOLD + words.limits(each, system=system) + _BOLD for each in step.limits
        }
        text = words.filled(step.text, {**step.values, **limits}, system=system)
        text += "".join(
            f" {words.capital(words.term(Term('limit', id_)))} {limit}."
            for id_, limit in limits.items()
            if f"{{{id_}}}" not in step.text
        )
        if step.stage != stage:
            stage = step.stage
            text = f"{_BOLD}{words.term(Term('stage', stage))}.{_BOLD} {text}"
        marked = escape.markdown(text).replace(_BOLD, "**")
        rows.append((f"{number}", Markup(marked), _letter(step.how_known), "☐"))
    return table("steps-to-do", rows)


def _letter(how_known: str) -> str:
    """Return the letter for how a fact is known, on a page that has no room for more."""
    return words.term(Term("known_letter", how_known))


def rules_table(study: Study) -> ReportTable:
    """Show the rule of this sheet beside the others where sources differ; none without its step."""
    gauged = any(step.id == "gauge-no-go" for step in study.sheet.steps)
    rows = []
    for each in study.sheet.rules:
        if each.topic == "no_go" and not gauged:
            continue
        topic, name = (words.term(Term(*of)) for of in (("topic", each.topic), ("rule", each.rule)))
        known = _letter(each.reference.how_known)
        limit = words.limits(each.limit, system=_system(study))
        rows.append((topic, Markup(f"**{name}**") if each.governs else name, limit, known))
    return table("rules", rows)


def spoiled_table(study: Study) -> ReportTable:
    """Say what to do where the hole, the insert or the part does not pass."""
    return table("spoiled", spoiled_rows(study))


def spoiled_rows(study: Study) -> Iterator[tuple[str, str]]:
    """Yield what is found and what to do; who reads one row alone has all of it."""
    named: dict[str, list[str]] = {}
    for each in study.sheet.if_spoiled:
        notes = (words.sentence(note, system=_system(study)) for note in each.notes)
        found = named.setdefault(" ".join((each.reason, *notes)), [])
        found.append(words.term(Term("finding", each.topic), "title"))
    yield from ((" / ".join(found), action) for action, found in named.items())


def _line(line: RecordLine, system: str) -> tuple[str, str]:
    """Return what is inspected and its limits."""
    if "limit" in line.values:
        name, text = words.term(Term("limit", line.id)), "{limit}"
    else:
        name, text = (words.term(Term("record", line.id), form) for form in ("noun", "limits"))
    return words.capital(name), words.filled(text, line.values, system=system)


def tightening_lines(found: Preloads | None) -> Iterator[RecordLine]:
    """Yield what the margins assume of the tightening: torque window, friction and tool."""
    if found is None:
        return
    state = found.repaired
    if not state.by_torque and state.window is not None:
        yield RecordLine(id="preload", values={"preload": state.set_to})
    else:
        limits = {} if state.window is None else {"window": state.window}
        yield RecordLine(id=f"permissible_torque_{state.permissible}", values=limits)
    frictions = {"thread": found.inputs.thread["repaired"], "head": found.inputs.head}
    ends = {where: each.limits for where, each in frictions.items()}
    yield RecordLine(id="friction", values=ends)
    yield RecordLine(id="tightening_tool", values={"tool": found.inputs.tool.title})


def record_table(study: Study, names: Sequence[str] = ()) -> ReportTable | Markdown:
    """Print the limits to inspect, readings and gauges left blank, if the sheet is released.

    The columns have the `names` of the holes where they are known and all; a page that is to be
    copied has a line to write them.
    """
    if not study.sheet_released:
        return passage(study, fact("no_record", "limit"))
    columns = min(study.case.quantity, _COLUMNS)
    holes = ["Reading"] if columns == 1 else [f"Hole {n + 1}" for n in range(columns)]
    if columns > 1 and len(names) == study.case.quantity <= _COLUMNS:
        holes = [*names]
    to_write = [RecordLine(id="hole")] * (study.case.quantity > _COLUMNS)
    lines = (*to_write, *study.sheet.record, *tightening_lines(study.preloads))
    return ReportTable(
        ["Inspect", "Limits", *holes, "Gauge, valid until"],
        [(*_line(each, _system(study)), *[""] * columns, "") for each in lines],
        division="fill-in",
    )


def copies(study: Study) -> Markdown:
    """Say how many records the holes of the job need."""
    holes = study.case.quantity
    if holes <= _COLUMNS or not study.sheet_released:
        return Markdown("")
    records = count(math.ceil(holes / _COLUMNS))
    return passage(study, fact("copies", holes=count(holes), records=records))


def sign_off(study: Study) -> ReportTable | Markdown:
    """Leave room for who made, inspected and accepted the holes, if the sheet is released."""
    if not study.sheet_released:
        return passage(study, fact("no_sign_off", "limit"))
    return table("hole-sign-off")


def hole_figure(study: Study, of: str = "") -> ReportFigure:
    """Draw the insert hole in section, to scale, with its limits.

    `of` names the hole, where a document has several; such a figure has no label.
    """
    case, made = study.case, study.sheet
    # One system, as in every figure; an inch thread has both on its drawing.
    system = "inch" if units(study) == "inch" else "SI"
    limits_in = words.sizes_in(system, made.thread.system)
    sink = made.sink
    least = {each.id: each.least for each in made.assumed if each.least is not None}
    through = made.hole_kind == "through"
    set_down = (made.set_down.least + made.set_down.most) / 2
    tap = "bottoming" if made.drilled <= made.depths["bottoming"] else "plug"
    hole = CutHole(
        pitch=made.thread.pitch,
        half_angle=made.thread.flank_angle / 2,
        minor=(made.hole.minor_min + made.hole.minor_max) / 2,
        major=made.hole.major_min,
        countersink=(sink.diameter_min + sink.diameter_max) / 2,
        countersink_angle=sink.angle,
        full_thread=math.inf if through else least["full_thread"],
        incomplete=tables.constant(f"insert_tap_incomplete_{tap}").value,
        drilled=math.inf if through else made.drilled,
        thickness=max(part_thickness(case) or 0.0, least.get("part_thickness") or math.nan),
        coil=(set_down, set_down + sum(made.fitted) / 2),
        reach=math.nan if case.screw_reach is None else case.screw_reach,
    )
    # Inches have a line of their own.
    ends = (
        Range(least=made.hole.minor_min, most=made.hole.minor_max),
        Range(least=sink.diameter_min, most=sink.diameter_max, decimals=1),
    )
    bore, sunk = (words.limits(each, system=limits_in).replace(" (", "\n(") for each in ends)
    sunk = f"countersink Ø {sunk}, {sink.angle:g}°"
    diameters = ((hole.minor, f"hole Ø {bore}"), (hole.countersink, sunk))
    drawn = hole_section(hole, _dimensions(study, hole, limits_in), diameters, system=system)
    return figure(
        "hole",
        drawn,
        study,
        named=not of,
        of=of and f" ({of})",
        hole_class=made.hole.hole_class,
        screw="" if case.screw_reach is None else "; broken line: end of the screw",
        told="; ".join(words for _, _, words in _dimensions(study, hole, _system(study))),
    )


def _dimensions(study: Study, hole: CutHole, system: str) -> list[Dimension]:
    """Return the lengths along the axis with their words, the shallowest first."""
    case, made = study.case, study.sheet
    assumed = {each.id: words.limits(each, system=system) for each in made.assumed}

    def between(least: float, most: float | None) -> str:
        return words.limits(Range(least=least, most=most, decimals=2), system=system)

    found: list[Dimension] = [
        (0.0, hole.coil[0], f"set-down {between(made.set_down.least, made.set_down.most)}"),
        (*hole.coil, f"installed insert {between(*made.fitted)}"),
    ]
    if hole.is_through:
        found.append((0.0, hole.bottom, f"thickness {assumed['part_thickness']}"))
    else:
        full = between(hole.full_thread, None)
        found.append((0.0, hole.full_thread, f"full thread {full}"))
        found.append((0.0, hole.drilled, f"drilled depth {assumed['drilled_depth']}"))
    if case.screw_reach is not None:
        reach = words.quantity(length(case.screw_reach), system=system, how="4")
        found.append((0.0, case.screw_reach, f"thread reach of the screw {reach}"))
    return sorted(found, key=lambda each: each[1])


def known() -> Markdown:
    """Explain the letters of the column "Basis"."""
    return Markdown(words.sentence(fact("basis_letters")))
