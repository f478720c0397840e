"""The workshop sheet as passages, tables and a drawing."""

from __future__ import annotations

import math

from IPython.display import Markdown

from ... import inserts, tables
from ...case import Case
from ...case.physical import part_thickness
from ...figures.hole_section import Diameter, Dimension, InsertHole, hole_section
from ...study import Study
from ...units import number, plain, printed, show, side_by_side, unit_of
from ...workshop import WorkshopSheet
from ...workshop.records import Limit, limit_system
from .. import escape
from ..figure import FillIn, Markup, ReportFigure, ReportTable, SignOff

#: Letters for how a fact is known, on a page that has no room for more.
_KNOWN = {
    "read": "P", "measured": "M", "derived": "D", "common_practice": "C", "memory": "R",
    "invented": "I",
}  # fmt: skip
KNOWN_WORDS = (
    "P published and read; C common practice without a published source; D derived; "
    "R recalled, confirm before use."
)
#: Most holes that have a column of their own in the record.
_COLUMNS = 4


def job_table(study: Study) -> ReportTable:
    """Say what is made, from what and how often: the head of the sheet."""
    case, made = study.case, study.sheet
    choice = {each.topic: each for each in made.choices}
    rows = [
        ("Hole", made.title),
        ("Part", ", ".join(part for part in (case.item, _serials(case)) if part)),
        ("Insert", _insert(made)),
        ("Screw", f"{made.thread.designation}, {case.screw}{_reach(case, made.system)}"),
        ("Tap", f"{choice['tap'].words}: {choice['tap'].reason}"),
        ("Fitting tool", f"{choice['fitting tool'].words}, {choice['fitting tool'].reason}"),
        ("Protection", f"{choice['galvanic protection'].words} "
                       f"({choice['galvanic protection'].reason})"),
        ("Holes", f"{case.quantity}"),
    ]  # fmt: skip
    return ReportTable(
        ["Item", "As decided"], [row for row in rows if row[1]], alignment=["left", "left"]
    )


def _serials(case: Case) -> str:
    return f"serial numbers {case.serials}" if case.serials else ""


def _insert(made: WorkshopSheet) -> str:
    choice = {each.topic: each for each in made.choices}
    words = (
        f"{made.insert_kind}, {choice['length'].words} ({choice['length'].option}), "
        f"{choice['wire'].words}, {choice['finish'].words.lower()}"
    )
    return words + (f". {choice['length'].note}" if choice["length"].note else "")


def _reach(case: Case, system: str) -> str:
    if case.screw_reach is None:
        return ""
    return f", reaches {plain(case.screw_reach, dimension='length', system=system)} past the face"


def cautions(study: Study) -> Markdown:
    """List every caution whose condition holds for this job."""
    made = study.sheet
    return Markdown("\n".join(f"- {escape.markdown(each.text)}" for each in made.cautions))


def steps_table(study: Study) -> ReportTable:
    """Tabulate what to do, in order, with limits and a box to tick."""
    made = study.sheet
    rows = []
    stage = ""
    for step in made.steps:
        head = "" if step.stage == stage else f"**{step.stage.capitalize()}.** "
        stage = step.stage
        limits = "; ".join(_limit(each) for each in step.limits)
        text = head + escape.markdown(step.text)
        if limits:
            text += f" {limits}."
        rows.append((f"{step.number}", Markup(text), _KNOWN[step.how_known], "☐"))
    return ReportTable(
        ["No.", "Do", "Known", "Done"], rows, alignment=["right", "left", "center", "center"]
    )


def _limit(limit: Limit) -> str:
    name = limit.name[:1].upper() + limit.name[1:]
    return f"{escape.markdown(name)} **{escape.markdown(limit.text)}**"


def rules_table(study: Study) -> ReportTable:
    """Show the rule of this sheet beside the others where sources differ."""
    made = study.sheet
    rows = [
        (
            each.topic,
            Markup(f"**{each.rule}**") if each.governs else each.rule,
            "; ".join(limit.text for limit in each.limits),
            _KNOWN[each.reference.how_known],
        )
        for each in made.disagreements
    ]
    return ReportTable(
        ["Sources differ", "Rule (bold: governs)", "Limits", "Known"], rows,
        alignment=["left", "left", "left", "center"],
    )  # fmt: skip


def spoiled_table(study: Study) -> ReportTable:
    """Say what to do where the hole, the insert or the part does not pass."""
    made = study.sheet
    rows = [
        (each.topic, f"{each.words}: {each.reason}. {each.note}".strip())
        for each in made.if_spoiled
    ]
    return ReportTable(["If found", "Then"], rows, alignment=["left", "left"])


def record_table(study: Study) -> FillIn:
    """Print the limits to inspect, readings and gauges left blank."""
    case, made = study.case, study.sheet
    count = min(case.quantity, _COLUMNS)
    holes = ["Reading"] if count == 1 else [f"Hole {n + 1}" for n in range(count)]
    return FillIn(
        ReportTable(
            ["Inspect", "Limits", *holes, "Gauge, valid until"],
            [(each.item, each.limits, *[""] * count, "") for each in made.record],
            alignment=["left"] * (3 + count),
        )
    )


def conditions(study: Study) -> ReportTable:
    """List the limits of the part that the stated strength rests on."""
    made = study.sheet
    return ReportTable(
        ["The strength holds for", "Limits"],
        [(each.limit.name, each.limit.text) for each in made.assumed],
        alignment=["left", "left"],
        caption="Limits of the part on which the strength of the repaired hole rests",
        label="conditions",
    )


def copies(study: Study) -> Markdown:
    """Say how many records the holes of the job need."""
    case = study.case
    if case.quantity <= _COLUMNS:
        return Markdown("")
    sheets = math.ceil(case.quantity / _COLUMNS)
    return Markdown(f"Copy this page: {case.quantity} holes need {sheets} records.")


def sign_off() -> SignOff:
    """Leave room for who made, inspected and accepted the hole."""
    return SignOff({"Drilled and tapped": "", "Insert fitted": "", "Inspected, accepted": ""})


def hole_figure(study: Study) -> ReportFigure:
    """Draw the insert hole in section, to scale, with its limits."""
    case, made = study.case, study.sheet
    # One system, as in every figure; an inch thread has both on its drawing.
    limits_in = limit_system(made.thread, "inch" if made.system == "inch" else "SI")
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
        thickness=max(part_thickness(case) or 0.0, made.numbers["part_thickness_min_mm"]),
        coil=coil,
        screw_end=math.nan if case.screw_reach is None else case.screw_reach,
    )

    def limit(least: float | None = None, most: float | None = None, decimals: int = 2) -> str:
        return Limit(name="", least=least, most=most, system=limits_in, decimals=decimals).text

    dimensions = [
        Dimension(start=0, end=coil[0],
                  text=f"set-down {limit(made.set_down.least, made.set_down.most)}"),
        Dimension(start=coil[0], end=coil[1], text="fitted insert "
                  f"{limit(numbers['fitted_length_min_mm'], numbers['fitted_length_max_mm'])}"),
    ]  # fmt: skip
    if through:
        dimensions.append(
            Dimension(
                start=0, end=hole.end, text=f"thickness {limit(numbers['part_thickness_min_mm'])}"
            )
        )
    else:
        dimensions += [
            Dimension(start=0, end=hole.full_thread,
                      text=f"full thread {limit(hole.full_thread)}"),
            Dimension(start=0, end=drilled, text=f"drilled {limit(drilled, case.hole_depth)}"),
        ]  # fmt: skip
    if case.screw_reach is not None:
        dimensions.append(
            Dimension(start=0, end=case.screw_reach,
                      text=f"screw reaches {_length(case.screw_reach, limits_in)}")
        )  # fmt: skip
    dimensions.sort(key=lambda each: each.end)
    drilled_words = Limit(
        name="", least=made.hole.minor_min, most=made.hole.minor_max, system=limits_in
    ).text
    sink_words = limit(sink.diameter_min, sink.diameter_max, 1)
    return ReportFigure(
        hole_section(
            hole,
            dimensions,
            (
                Diameter(size=hole.minor, text=f"hole Ø {_lines(drilled_words)}"),
                Diameter(
                    size=hole.countersink,
                    text=f"countersink Ø {_lines(sink_words)}, {sink.angle:g}°",
                ),
            ),
            system="inch" if made.system == "inch" else "SI",
        ),
        caption=f"The insert hole in section, class {made.hole.hole_class}, to scale. Insert and "
        "countersink stand at the middle of their limits"
        + ("" if case.screw_reach is None else "; broken line: end of the screw")
        + ".",
        alt=_alt(case, made),
        label="hole",
    )


def _length(value: float, system: str) -> str:
    return show(value, "length", system=system, digits=4)


def _lines(text: str) -> str:
    """Put inches on a line of their own."""
    return text.replace(" (", "\n(")


def _alt(case: Case, made: WorkshopSheet) -> str:
    numbers = made.numbers

    def set_down(system: str) -> str:
        least, most = (
            number(printed(value, "length", system))
            for value in (made.set_down.least, made.set_down.most)
        )
        return f"{least} to {most} {unit_of('length', system)}"

    words = (
        f"Section through the hole: insert from {side_by_side(set_down, made.system)} below the "
        "face"
    )
    if made.hole_kind == "blind":
        words += (
            f", full thread at least {_length(numbers['full_thread_min_mm'], made.system)} deep, "
            f"drilled at least {_length(made.drilled, made.system)}"
        )
    if case.screw_reach is not None:
        words += f"; the screw ends {_length(case.screw_reach, made.system)} below the face"
    return words + "."


def known() -> Markdown:
    """Explain the letters of the column "Known"."""
    return Markdown(f"Known: {KNOWN_WORDS}")
