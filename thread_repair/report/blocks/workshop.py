"""The hole sheet as passages, tables and a drawing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from IPython.display import Markdown

from ... import inserts, tables, words
from ...case.physical import part_thickness
from ...facts import Range, Term, Value, count, fact, length
from ...figures.hole_section import Diameter, Dimension, InsertHole, hole_section
from ...study import Study
from ...tightening import Preloads
from ...workshop.records import RecordLine
from .. import escape
from ..figure import FillIn, Markup, ReportFigure, ReportTable, SignOff
from .layout import table
from .lost import in_sound_metal

#: Letters for how a fact is known, on a page that has no room for more.
_KNOWN = {
    "read": "V", "measured": "M", "derived": "D", "common_practice": "C", "memory": "U",
    "invented": "I",
}  # fmt: skip
KNOWN_WORDS = (
    "V verified against the source; C common practice without a published source; D derived; "
    "U not verified, confirm before use."
)
#: Stands around what is printed bold until the text is escaped: a mark without shape.
_BOLD = "\u200c\u200c"
#: Most holes that have a column of their own in the record.
_COLUMNS = 4


def _system(study: Study) -> str:
    """Units of the sheet: those of the report, and inches too for an inch thread."""
    return words.sizes_in(study.case.report_units, study.sheet.thread.system)


def insert_words(study: Study) -> str:
    """Name length, wire and finish of the insert."""
    choices = study.sheet.choices
    return (
        f"length {choices['length'].option}; wire: {choices['wire'].name}; "
        f"finish: {choices['finish'].name}"
    )


def job_table(study: Study) -> ReportTable:
    """Say what is made, from what and how often: the head of the sheet."""
    case, made, system = study.case, study.sheet, _system(study)
    choices = made.choices
    reach = "" if case.screw_reach is None else ", thread reach {reach:plain}"
    serials = f"serial numbers {case.serials}" if case.serials else ""

    def text(template: str, **values: Value) -> str:
        return words.filled(template, values, system=system)

    tap = choices["tap"]
    rows = [
        ("Hole", words.sentence(made.title, system=system)),
        ("Part", ", ".join(part for part in (case.item, serials) if part)),
        ("Insert", insert_words(study)),
        ("Screw", text("{thread}, {screw}" + reach, thread=made.thread.designation,
                       screw=case.screw, reach=length(case.screw_reach or 0.0))),
        ("Tap", text("{name}: {reason}" if tap.reason else "{name}", name=tap.name,
                     reason=tap.reason)),
        ("Installation tool", text("{name}", name=choices["fitting_tool"].name)),
        ("Protection", text("{name}", name=choices["galvanic_protection"].name)),
        ("Notes", " ".join(words.sentence(note, system=system)
                           for each in choices.values() for note in each.notes)),
        ("Holes", f"{case.quantity}"),
    ]  # fmt: skip
    return table("job", [row for row in rows if row[1]])


def cautions(study: Study) -> Markdown:
    """List every caution whose condition holds for this job."""
    return Markdown(
        "\n".join(f"- {escape.markdown(each['text'])}" for each in study.sheet.cautions)
    )


def steps_table(study: Study) -> ReportTable | Markdown:
    """Tabulate what to do, in order, with limits and a box to tick; nothing in a hole that is lost.

    Whoever works by the steps alone must not find them there.
    """
    if not study.holds_insert:
        return Markdown(f"**{words.sentence(fact('no_steps', 'limit'))}**")
    system, rows, stage = _system(study), [], ""
    for number, step in enumerate(study.sheet.steps, start=1):
        limits = {
            each.id: _BOLD + words.limits(each, system=system) + _BOLD for each in step.limits
        }
        text = words.filled(step.text, {**step.values, **limits}, system=system)
        text += "".join(
            f" {_capital(words.term(Term('limit', id_)))} {limit}."
            for id_, limit in limits.items()
            if f"{{{id_}}}" not in step.text
        )
        if step.stage != stage:
            stage = step.stage
            text = f"{_BOLD}{words.term(Term('stage', stage))}.{_BOLD} {text}"
        marked = escape.markdown(text).replace(_BOLD, "**")
        rows.append((f"{number}", Markup(marked), _KNOWN[step.how_known], "☐"))
    return table("steps-to-do", rows)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def rules_table(study: Study) -> ReportTable:
    """Show the rule of this sheet beside the others where sources differ."""
    rows = [
        (
            words.term(Term("topic", each.topic)),
            Markup(f"**{name}**") if each.governs else name,
            words.limits(each.limit, system=_system(study)),
            _KNOWN[each.reference.how_known],
        )
        for each in study.sheet.rules
        for name in (words.term(Term("rule", each.rule)),)
    ]
    return table("rules", rows)


def spoiled_table(study: Study) -> ReportTable:
    """Say what to do where the hole, the insert or the part does not pass; each note once."""
    rows, said = [], set[str]()
    for each in study.sheet.if_spoiled:
        notes = [words.sentence(note, system=_system(study)) for note in each.notes]
        text = " ".join((each.reason, *(note for note in notes if note not in said)))
        rows.append((words.term(Term("finding", each.topic)), text))
        said.update(notes)
    return table("spoiled", rows)


def _line(line: RecordLine, system: str) -> tuple[str, str]:
    """Return what is inspected and its limits."""
    if "limit" in line.values:
        name, text = words.term(Term("limit", line.id)), "{limit}"
    else:
        name, text = (words.term(Term("record", line.id), form) for form in ("noun", "limits"))
    return _capital(name), words.filled(text, line.values, system=system)


def tightening_lines(found: Preloads | None) -> Iterator[RecordLine]:
    """Yield what the margins assume of the tightening: torque window, friction and tool."""
    if found is None:
        return
    window, high = found.repaired.window, found.repaired.window_nm[1]
    if window is None:
        yield RecordLine(id=f"permissible_torque_{'open' if math.isnan(high) else 'none'}")
    else:
        yield RecordLine(id="permissible_torque", values={"window": window})
    ends = {
        where: Range(least=each.low, most=each.high, dimension="number", decimals=2)
        for where, each in (
            ("thread", found.inputs.thread["repaired"]),
            ("head", found.inputs.head),
        )
    }
    yield RecordLine(id="friction", values=ends)
    yield RecordLine(id="tightening_tool", values={"tool": found.inputs.tool.title})


def record_table(study: Study) -> FillIn | Markdown:
    """Print the limits to inspect, readings and gauges left blank; nothing in a lost hole."""
    if not study.holds_insert:
        return Markdown(words.sentence(fact("no_record", "limit")))
    columns = min(study.case.quantity, _COLUMNS)
    holes = ["Reading"] if columns == 1 else [f"Hole {n + 1}" for n in range(columns)]
    lines = (*study.sheet.record, *tightening_lines(study.preloads))
    return FillIn(
        ReportTable(
            ["Inspect", "Limits", *holes, "Gauge, valid until"],
            [(*_line(each, _system(study)), *[""] * columns, "") for each in lines],
            alignment=["left"] * (3 + columns),
        )
    )


def copies(study: Study) -> Markdown:
    """Say how many records the holes of the job need."""
    holes = study.case.quantity
    if holes <= _COLUMNS:
        return Markdown("")
    records = count(math.ceil(holes / _COLUMNS))
    return Markdown(words.sentence(fact("copies", "info", holes=count(holes), records=records)))


def sign_off() -> SignOff:
    """Leave room for who made, inspected and accepted the hole."""
    return SignOff({"Drilled and tapped": "", "Insert installed": "", "Inspected, accepted": ""})


@in_sound_metal
def hole_figure(study: Study, of: str = "") -> ReportFigure:
    """Draw the insert hole in section, to scale, with its limits.

    `of` names the hole, where a document has several; such a figure has no label.
    """
    case, made = study.case, study.sheet
    # One system, as in every figure; an inch thread has both on its drawing.
    system = "inch" if case.report_units == "inch" else "SI"
    limits_in = words.sizes_in(system, made.thread.system)
    sink = inserts.countersink(made.thread)
    numbers = made.numbers
    through = made.hole_kind == "through"
    set_down = (made.set_down.least + made.set_down.most) / 2
    fitted = (numbers["fitted_length_min_mm"] + numbers["fitted_length_max_mm"]) / 2
    coil = (set_down, set_down + fitted)
    drilled = math.inf if through else made.drilled
    bottoming = made.drilled <= numbers["drill_depth_bottoming_mm"]
    incomplete = tables.constant(
        "insert_tap_incomplete_bottoming" if bottoming else "insert_tap_incomplete_plug"
    )
    hole = InsertHole(
        pitch=made.thread.pitch,
        half_angle=made.thread.flank_angle / 2,
        minor=(made.hole.minor_min + made.hole.minor_max) / 2,
        major=made.hole.major_min,
        countersink=(sink.diameter_min + sink.diameter_max) / 2,
        countersink_angle=sink.angle,
        full_thread=math.inf if through else numbers["full_thread_min_mm"],
        incomplete=incomplete.value,
        drilled=drilled,
        thickness=max(part_thickness(case) or 0.0, numbers["part_thickness_min_mm"]),
        coil=coil,
        screw_end=math.nan if case.screw_reach is None else case.screw_reach,
    )

    def limit(
        least: float, most: float | None, decimals: int = 2, units: str = limits_in
    ) -> str:  # fmt: skip
        return words.limits(Range(least=least, most=most, decimals=decimals), system=units)

    def dimensions(units: str) -> list[Dimension]:
        def between(least: float, most: float | None) -> str:
            return limit(least, most, units=units)

        installed = between(numbers["fitted_length_min_mm"], numbers["fitted_length_max_mm"])
        found = [
            (0.0, coil[0], f"set-down {between(made.set_down.least, made.set_down.most)}"),
            (*coil, f"installed insert {installed}"),
        ]
        if through:
            thickness = between(numbers["part_thickness_min_mm"], None)
            found.append((0.0, hole.end, f"thickness {thickness}"))
        else:
            full = between(hole.full_thread, None)
            found.append((0.0, hole.full_thread, f"full thread {full}"))
            found.append((0.0, drilled, f"drilled depth {between(drilled, case.hole_depth)}"))
        if case.screw_reach is not None:
            reach = words.quantity(length(case.screw_reach), system=units, how="4")
            found.append((0.0, case.screw_reach, f"thread reach of the screw {reach}"))
        return [
            Dimension(start=start, end=end, text=text)
            for start, end, text in sorted(found, key=lambda each: each[1])
        ]

    diameters = tuple(
        # Inches have a line of their own.
        text.replace(" (", "\n(")
        for text in (
            limit(made.hole.minor_min, made.hole.minor_max, 3),
            limit(sink.diameter_min, sink.diameter_max, 1),
        )
    )
    return ReportFigure(
        hole_section(
            hole,
            dimensions(limits_in),
            (
                Diameter(size=hole.minor, text=f"hole Ø {diameters[0]}"),
                Diameter(
                    size=hole.countersink, text=f"countersink Ø {diameters[1]}, {sink.angle:g}°"
                ),
            ),
            system=system,
        ),
        caption=f"Section of the insert hole{of and f' ({of})'}, class {made.hole.hole_class}, to "
        "scale. Insert and countersink are drawn at the mean of their limits"
        + ("" if case.screw_reach is None else "; broken line: end of the screw")
        + ".",
        alt="Section through the hole: "
        + "; ".join(each.text for each in dimensions(_system(study)))
        + ".",
        label="" if of else "hole",
    )


def known() -> Markdown:
    """Explain the letters of the column "Basis"."""
    return Markdown(f"Basis: {KNOWN_WORDS}")
