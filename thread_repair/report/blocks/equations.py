"""The equations of the study, with the numbers put in; their symbols; where they stand."""

import re
from collections.abc import Iterable, Mapping

import numpy as np
from IPython.display import Markdown
from scipy import special

from ... import inserts, threads, words
from ...facts import Term
from ...joint.sizes import basic_diameters
from ...strength import primary
from ...strength.strip import STATES
from ...study import Study
from ...uncertainty.pull_tests.evidence import GroupEvidence
from ...uncertainty.pull_tests.records import Group
from ...units import plain, side_by_side
from .. import escape
from ..figure import Markup, ReportTable
from ..formulas import notation, of_loads, of_strength
from ..formulas.notation import Equation, Line, Symbol, Values
from ..formulas.of_strength import named, values
from .layout import diameter, in_sound_metal, literal, place, points, table, units


def strength(study: Study) -> Markdown:
    """Strengths, areas, factors, failure modes and required length, each with its numbers."""
    return in_sound_metal(study, _shown(study, of_strength.strength(study)))


def parent_thread(study: Study) -> Markdown:
    """Shear area and strip load of the parent thread alone, for a class."""
    found = [each for part in of_strength.strength(study).values() for each in part]
    shown = tuple(each for each in found if each.id in ("parent-area", "parent-thread"))
    return Markdown(_shown(study, {"": shown}))


def margins(study: Study) -> Markdown:
    """Demand and margin of safety, with the least margin of each condition and strength."""
    return Markdown(_shown(study, {"margins": of_loads.margin(study)}))


def tightening(study: Study) -> Markdown:
    """Preload from torque, preload in service, screw at yield and torque limits."""
    return in_sound_metal(study, _shown(study, of_loads.tightening(study)))


def methods(study: Study) -> Markdown:
    """The load of the parent thread by every published method that gives one."""
    return in_sound_metal(study, _shown(study, {"methods": of_strength.methods(study)}))


def _shown(study: Study, found: Mapping[str, tuple[Equation, ...]]) -> str:
    """Every subject as a heading in bold and its numbered equations."""
    parts = []
    titles = words.catalogue()["terms"]["equations"]
    for subject, equations in found.items():
        parts += [f"#### {titles[subject]}"] if equations and subject in titles else []
        parts += [f"$$ {each.latex(units(study))} $$ {{#{each.label}}}" for each in equations]
    return "\n\n".join(parts)


def clauses() -> Markdown:
    """Where the equations stand and how they are known."""
    return points(
        f"{escape.markdown(each.what)}: {escape.markdown(place(each))}"
        for each in primary.METHOD.references
    )


#: Symbols that no form names, since each line has its own, but that a reader needs.
_ALWAYS = {"j_u", "j_y", "j_s", "phi_max"}


def symbols(study: Study) -> ReportTable:
    """Sizes, strengths, factors and loads by symbol, for both conditions."""
    uses = _uses(every(study))
    return _symbols_table("symbols", study, values(study), ("inputs", "strength"), uses)


def load_symbols(study: Study) -> ReportTable | Markdown:
    """Symbols of margins and of tightening, for both conditions."""
    if not study.margins and study.preloads is None:
        return literal("No load and no tightening are stated.")
    uses = _uses(every(study))
    return _symbols_table("load-symbols", study, values(study), ("margins", "tightening"), uses)


# A value that differs from line to line is "by case" in the table and stands in its equation.


def every(study: Study) -> Mapping[str, tuple[Equation, ...]]:
    """Return all equations of a study, by subject."""
    return {
        **of_strength.strength(study),
        "margins": of_loads.margin(study),
        **of_loads.tightening(study),
        "methods": of_strength.methods(study),
    }


def _uses(found: Mapping[str, tuple[Equation, ...]]) -> set[str]:
    return {symbol for equations in found.values() for each in equations for symbol in each.uses}


def _symbols_table(
    name: str, study: Study, found: Mapping[str, Values], groups: Iterable[str], uses: set[str]
) -> ReportTable:
    rows = []
    for id_, symbol in (item for group in groups for item in notation.symbols()[group].items()):
        known = [each.get(id_) for each in found.values()]
        nowhere = known == [None, None]
        if id_ in uses or (id_ in _ALWAYS and not nowhere):
            missing = "by case" if nowhere else "–"
            texts = [missing if x is None else _value(symbol, x, units(study)) for x in known]
            unit = side_by_side(symbol.unit, units(study)) or "–"
            rows.append((Markup(f"${symbol.sign}$"), symbol.meaning, *texts, unit))
    return table(name, rows, study)


def _value(symbol: Symbol, value: float, system: str) -> str:
    return side_by_side(lambda each: symbol.text(value, each), system)


def friction_lines(study: Study) -> ReportTable | Markdown:
    """Preload and torsion of each friction case."""
    if study.preloads is None:
        return Markdown("")
    inputs = study.preloads.inputs
    lines = tuple(of_loads.friction_lines(study.preloads, notation.lines_of(values(study))))
    scattered = "_wrench" if inputs.wrench else "_scattered" if inputs.tool.scattered else ""
    names = words.catalogue()["terms"]["friction_line"]
    heads, rows = ["Case"], [[line.label] for line in lines]
    for id_, name in names.items():
        symbol = notation.symbol(id_)
        unit = side_by_side(symbol.unit, units(study))
        heads.append(Markup(f"{name} ${symbol.sign}${unit and ', '}{unit}"))
        for row, line in zip(rows, lines, strict=True):
            row.append(_value(symbol, line.values[id_], units(study)))
    return ReportTable(
        heads,
        rows,
        caption=words.term(Term("tightening", f"friction_lines{scattered}")),
        label="friction-lines",
        lead="@tbl:friction-lines gives the friction cases.",
        alignment=["left", *["right"] * len(names)],
    )


def assembly(study: Study) -> ReportTable | Markdown:
    """The strengths and loads at assembly, where margins rest on them."""
    at = next((m.case.at for m in study.margins if m.case.at is not None), None)
    if at is None:
        return Markdown("")
    ids = {"tau_n", "R_n", "Y_n", "R_s", "C_2", "C_3", "F_n", "F_f", "F_e", "F_w", "F_cm"}
    groups = ("inputs", "strength", "margins")
    return _symbols_table("assembly-symbols", study, values(study, at), groups, ids)


def _deviation(value: float, system: str) -> str:
    """A deviation from the basic size; rounded to nothing it has no sign."""
    return re.sub(r"-(?=0\.0+(?!\d))", "", diameter(value, system)).replace("-", "−")


def tolerances(study: Study) -> ReportTable:
    """Class, deviation and tolerance behind every diameter."""
    joint, system = study.evaluation.joint, units(study)
    thread, basic = joint.thread, basic_diameters(joint.thread)
    screw = threads.external_limits(thread, joint.screw_class)
    inner_class = inserts.fitted_class(thread, joint.insert_hole_class)
    outside = inserts.insert_outside(thread, joint.screw_class)
    before, after = (each.sizes for each in study.evaluation.states.values())
    rows = [
        ("screw, major", joint.screw_class, basic.major, screw.major_max, screw.major_min,
         before.screw_major),
        ("screw, pitch", joint.screw_class, basic.pitch, screw.pitch_max, screw.pitch_min,
         before.screw_pitch),
        ("installed insert, major", joint.screw_class, outside.basic, outside.maximum,
         outside.minimum, after.crest),
    ]  # fmt: skip
    for name, class_, size, limits, used, tapped in (
        ("original hole", joint.hole_class, basic,
         threads.internal_limits(thread, joint.hole_class), before, "hole"),
        ("insert hole", joint.insert_hole_class, inserts.enlarged_diameters(thread),
         inserts.insert_hole(thread, joint.insert_hole_class), after, "hole"),
        ("internal thread of the installed insert", inner_class, basic,
         threads.internal_limits(thread, inner_class), after, "inner"),
    ):  # fmt: skip
        for each in ("pitch", "minor"):
            ends = (getattr(limits, f"{each}_{end}") for end in ("min", "max"))
            in_joint = getattr(used, f"{tapped}_{each}")
            rows.append((f"{name}, {each}", class_, getattr(size, each), *ends, in_joint))
    shown = [
        (name, class_, size, _deviation(near - size, system), abs(far - near), in_joint)
        for name, class_, size, near, far, in_joint in rows
    ]
    return table("tolerances", shown, study, position=joint.tolerance_position.replace("-", " "))


# ---- tolerance limits of test specimens


def limits(study: Study) -> Markdown:
    """Tolerance factor, mean, standard deviation and limits of the specimens of a record."""
    found = _of_limits(study.evidence.evidence.groups, units(study))
    return Markdown(_shown(study, {"limits": found}))


def limit_symbols(study: Study) -> ReportTable | Markdown:
    """Symbols of the tolerance limits, for both conditions."""
    groups = study.evidence.evidence.groups
    if not any(each.bounds for each in groups):
        return literal("No lower tolerance limit is stated.")
    found: dict[str, Values] = {}
    for state in STATES:
        some = [each for each in groups if each.group.state == state and each.bounds]
        found[state] = _of_sample(some[0]) if len(some) == 1 else {}
    uses = _uses({"limits": _of_limits(groups, units(study))})
    return _symbols_table("limit-symbols", study, found, ("limits",), uses)


def _of_limits(groups: tuple[GroupEvidence, ...], system: str) -> tuple[Equation, ...]:
    """Return the equations of a record: moments, tolerance factor, limit by each distribution."""
    lines: dict[str, list[Line]] = {}
    for each in groups:
        if not each.bounds:
            continue
        label = f"{each.group.state}{apart(each.group, groups, system)}"
        lines.setdefault("sample", []).append(Line(label=label, values=_of_sample(each)))
        for bound in each.bounds:
            found = {
                **_of_sample(each),
                **named(bound=bound),
                "z_p": float(special.ndtri(bound.coverage)),
                "F_sj": float(np.sort(each.group.load)[max(bound.rank, 1) - 1]),
            }
            line = Line(label=f"{label}, {bound.claim}", values=found)
            lines.setdefault(f"limit-{bound.method}", []).append(line)
    lines["tolerance-factor"] = lines.get("limit-normal", [])
    return notation.equations("limits", lines)


def apart(group: Group, groups: tuple[GroupEvidence, ...], system: str) -> str:
    """Return size and length of a group, for a name, where another is of the same condition."""
    if sum(other.group.state == group.state for other in groups) == 1:
        return ""
    length = plain(group.engagement, dimension="length", system=system)
    return f", {group.size}, {length}"


def _of_sample(each: GroupEvidence) -> Values:
    """Return the numbers of a group that all its limits share."""
    logs = np.log(each.group.load)
    weibull = {fit.shape: fit for fit in each.fits}.get("weibull")
    return {
        **named(scatter=each.scatter, weibull=weibull),
        "F_g": float(np.exp(logs.mean())),
        "s_l": float(logs.std(ddof=1)),
    }
