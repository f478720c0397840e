"""Every equation gives the number that it ends with, by the signs that are printed."""

import dataclasses
import functools
import math
import re
import types

import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair.report.blocks import comparison, equations
from thread_repair.report.formulas import notation, of_loads, of_strength
from thread_repair.tightening.permissible import ABOVE_SMALL

from .five_cases import DEMO, FIVE, keys

# What the five do not show: a published scatter with a locking insert, the boss held in a way that
# is not known, iron whose shear strength limits its wall, Whitworth, a very strong inch screw.
MORE = {
    "scatter": {
        "tightening_tool": "torque-wrench",
        "insert_kind": "locking",
        "prevailing_torque": "2 N·m",
    },
    "support not known": {"boss_support": "unknown", "boss_diameter": "14 mm"},
    "iron": {"parent": "EN-GJL-250", "boss_diameter": "16 mm"},
    "hardness": {"parent": "unknown-aluminium-casting", "parent_hardness": "HB 75"},
    "yield lowered as a mean tensile strength is": {
        "parent_tensile_strength": "240 MPa",
        "parent_source": "invented test report TR-7",
        "parent_strength_basis": "mean",
        "parent_strength_pieces": "9",
        "parent_strength_scatter": "4 %",
    },
    "preload asked for, other friction in the insert": {
        "torque": "",
        "preload": "11 kN",
        "insert_friction": "0.12 to 0.18",
    },
    "a preload by elongation": {"torque": "", "preload": "11 kN", "tightening_tool": "elongation"},
    "a window from below 10 N·m": {"design_load": "5 kN", "tightening_tool": ""},
    "a scatter widened by the friction": {
        "tightening_tool": "by-feel",
        "friction": "0.08 to 0.18",
    },
    "a scatter widened by the friction, locking": {
        "tightening_tool": "by-feel",
        "friction": "0.08 to 0.18",
        "insert_kind": "locking",
        "prevailing_torque": "2 N·m",
    },
    "bare": {"torque": "", "friction": "", "design_load": "", "tightening_tool": ""},
    "weaker when hot, no change of preload": {
        "temperature": "150 degC",
        "clamped_material": "screw",
        "insert_wire": "",
    },
    "yield strength unknown in the heat": {
        "parent": "356.0-T6-sand",
        "temperature": "100 degC",
        "insert_wire": "",
    },
    "Whitworth": {
        "thread": "1/2-12 BSW",
        "hole_class": "",
        "screw_class": "",
        "insert_hole_class": "",
        "engagement": "1 D",
        "hole_depth": "34 mm",
        "screw_reach": "20 mm",
        "boss_diameter": "",
        "bush_diameter_thin": "",
        "bush_diameter_heavy": "",
    },
    "hole drilled far too wide": {
        **FIVE["measured sizes, worn hole"],
        "measured_hole_minor": "7.6 mm",
        "measured_insert_hole_minor": "9.3 mm",
    },
}
BASE = "demonstration, both systems"


def study_of(name):
    given = keys(name) if name in FIVE else {**keys(BASE), **MORE[name]}
    return tr.study(cases.read({key: value for key, value in given.items() if value != ""}))


@pytest.fixture(scope="module", params=[*FIVE, *MORE])
def study(request):
    return study_of(request.param)


@functools.cache
def every(study):
    return [each for found in equations.every(study).values() for each in found]


def python(form):
    """Return a form as an expression of Python: the few commands that the forms use."""
    text = form.replace(r"\left", "").replace(r"\right", "").replace(r"\ ", " ")
    text = text.replace("[", "(").replace("]", ")").replace("180°", "180")
    while match := re.search(r"\\frac\{((?:[^{}]|\{[^{}]*\})*)\}\{((?:[^{}]|\{[^{}]*\})*)\}", text):
        text = f"{text[: match.start()]}(({match[1]})/({match[2]})){text[match.end() :]}"
    text = re.sub(r"\\(tan|cos)<beta>", r"\1(radians(<beta>))", text)
    text = re.sub(r"(?<=\d)(?=cos)", "*", text)
    text = re.sub(r"\\sqrt\{", "sqrt(", text).replace("{", "(").replace("}", ")")
    text = text.replace(r"\pi", "pi").replace("^", "**").replace(r"\times", "*")
    text = text.replace(r"\min", "min").replace(r"\max", "max")
    return re.sub(r"<(\w+)>", r"v['\1']", text)


def worked_out(equation, line):
    """The number of a line, in N, mm, MPa; torques in N·mm."""
    v = {
        name: value * (1000 if notation.symbol(name).dimension == "torque" else 1)
        for name, value in line.values.items()
        if name in equation.uses
    }
    own = {name: getattr(math, name) for name in ("tan", "cos", "radians", "sqrt", "pi")}
    return eval(python(equation.form), {**own, "min": min, "max": max, "v": v}), v[equation.result]


def test_a_form_is_read_as_it_is_printed():
    form = r"\frac{<a>^2}{2*\pi} + \sqrt{\left(\frac{<b>}{\tan<beta>}\right)^2}"
    own = {name: getattr(math, name) for name in ("tan", "radians", "sqrt", "pi")}
    value = eval(python(form), {**own, "v": {"a": 2, "b": 3, "beta": 45}})
    assert value == pytest.approx(4 / (2 * math.pi) + 3)


def test_zeros_go_behind_the_point_alone():
    texts = [notation.symbol("R_m").text(value, "SI") for value in (1220.0, 800.0, 0.6)]
    assert texts == ["1220", "800", "0.6"]


def test_an_equation_stands_where_every_symbol_has_a_number():
    def shown(**more):
        line = notation.Line(label="original", values={"k_m": 0.6, "R_m": 800.0, **more})
        return [each.id for each in notation.equations("strengths", {"condition": [line]})]

    assert shown(tau_s=480.0) == ["screw-shear"]
    assert shown(tau_s=math.nan) == shown() == []


def test_every_equation_gives_the_number_that_it_ends_with(study):
    checked = 0
    for equation in every(study):
        for line in equation.lines:
            if line.given:
                continue
            found, ends = worked_out(equation, line)
            # A required length in a boss is read between the points of a fine table.
            rel = 1e-4 if equation.id.startswith("required-") else 1e-6
            if equation.result == "T_e":
                rel = 1e-5
            assert found == pytest.approx(ends, rel=rel, abs=1e-9), (equation.id, line.label)
            checked += 1
    assert checked > 40


def test_what_is_said_instead_of_a_form_is_true(study):
    for equation in every(study):
        for line in equation.lines:
            if line.given:
                said = line.given.replace(r"\text{ alone}", f" == <{equation.result}>")
                said = python(said.replace(r"\ge", ">=").replace(r"\le", "<="))
                assert eval(said, {"v": line.values}), (equation.id, line.label, line.given)


def test_a_yield_strength_known_at_assembly_alone_is_worked_out_there():
    study = study_of("yield strength unknown in the heat")
    ends = {
        line.label: line.values["F_ny"]
        for equation in every(study)
        if equation.result == "F_ny"
        for line in equation.lines
    }
    assert ends == {
        f"{m.state}, at assembly": m.capacity
        for m in study.margins
        if (m.mode, m.against) == ("parent_thread_strip", "yield")
    }


def test_the_loads_are_those_of_the_study(study):
    by_id = {each.id: each for each in every(study)}
    for name, state in study.evaluation.states.items():
        for mode in state.modes:
            if mode.primary:
                equation = by_id[of_strength.mode_label(mode.mode).removeprefix("eq:")]
                (line,) = (each for each in equation.lines if each.label == name)
                assert line.values[equation.result] == mode.capacity
        lengths = {
            line.label: line.values["L_r"]
            for equation in every(study)
            if equation.id.startswith("required-")
            for line in equation.lines
        }
        assert lengths.get(name, math.nan) == pytest.approx(state.required_engagement, nan_ok=True)


def test_what_differs_between_the_conditions_is_worked_out_for_both(study):
    """A number of the table of symbols ends a line, if any equation ends with its symbol."""
    shown = {}
    for equation in every(study):
        for line in equation.lines:
            shown.setdefault(equation.result, set()).add(line.values[equation.result])
    for symbol, worked in shown.items():
        told = {of.get(symbol, math.nan) for of in of_strength.values(study).values()}
        assert not {each for each in told if not math.isnan(each)} - worked, symbol


def test_every_sign_is_defined(study):
    defined = set()
    for table in (equations.symbols(study), equations.load_symbols(study)):
        defined |= {str(row[0]) for row in getattr(table, "rows", ())}
    for equation in every(study):
        for id_ in equation.uses:
            assert f"${notation.symbol(id_).sign}$" in defined, (equation.id, id_)


def test_no_two_symbols_share_a_sign():
    signs = [each.sign for group in notation.symbols().values() for each in group.values()]
    assert len(signs) == len(set(signs))


def test_the_modes_table_refers_to_an_equation_that_stands(study):
    labels = {each.label for each in every(study)}
    assert len(labels) == len(every(study))
    heads = comparison.modes_table(study).header
    for row in comparison.modes_table(study).rows:
        assert str(row[heads.index("Eq.")])[3:-1] in labels


def test_two_numbers_have_a_sign_between_them(study):
    """ "1.5 0.640327 P" of a Whitworth screw can be read as one number."""
    for each in (equations.strength(study), equations.margins(study), equations.tightening(study)):
        assert not re.search(r"\d(\\,|\s)+\d", each.data)


@pytest.mark.parametrize("system", ["SI", "inch", "both"])
def test_braces_close(study, system):
    for equation in every(study):
        text = equation.latex(system)
        assert text.count("{") == text.count("}")
        assert "nan" not in text and "–" not in text, (equation.id, text)
        if system == "inch":
            assert not re.search(r"mathrm\{(mm|kN|MPa|N)", text), (equation.id, text)


@pytest.mark.parametrize("tool", ["wrench-to-10", "by-feel"])
def test_the_window_of_a_locking_insert_begins_where_the_wrench_leaves_no_preload(tool):
    """T = M e / (1 - e): at that very torque nothing is left, by rounding a little less."""
    changes = {
        "insert_kind": "locking", "design_load": "", "tightening_tool": tool,
        "friction": "0.08 to 0.18",
    }  # fmt: skip
    for tenth in (10, 16, 17):
        prevailing = f"{tenth / 10} N·m"
        given = {**keys(BASE), **changes, "prevailing_torque": prevailing}
        study = tr.study(cases.read({key: value for key, value in given.items() if value != ""}))
        error = study.preloads.inputs.turned.error
        (least,) = (e for e in of_loads.tightening(study)["torque"] if e.id == "window-prevailing")
        (line,) = least.lines
        assert line.values["T_e"] == pytest.approx(tenth / 10 * error / (1 - error))


def test_a_friction_that_nobody_stated_is_called_equivalent():
    """A published scatter of the preload has friction in it: its lines are not the stated one."""
    told = "the friction is the equivalent one"
    assert told in equations.friction_lines(study_of("scatter")).caption
    assert told not in equations.friction_lines(study_of(BASE)).caption


def test_a_deviation_has_a_minus_sign_and_a_section_without_equations_says_why():
    joint = {"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm"}
    bare = tr.study(cases.read({**joint, "insert_length": "1.5 D"}))
    shown = [str(row[3]) for row in equations.tolerances(bare).rows]
    assert "−0.028" in shown and not [each for each in shown if "-" in each]
    assert "No load and no tightening" in equations.load_symbols(bare).data


@pytest.mark.parametrize("name", ["scatter", "a scatter widened by the friction, locking", BASE])
def test_every_end_of_a_window_that_a_margin_gives_has_its_equation(name):
    """Each with the error of its own line: of a published scatter or of a wrench."""
    study = study_of(name)
    ends = [
        each for e in of_loads.tightening(study)["torque"] if "window" in e.id for each in e.lines
    ]
    finite = [
        (state, nm)
        for state, each in study.preloads.states.items()
        for nm in each.window_nm
        if 1e-8 < nm < math.inf and nm != ABOVE_SMALL
    ]
    assert sorted((each.state, each.values["T_e"]) for each in ends) == sorted(finite)


def test_a_stress_put_into_an_equation_for_a_stress_has_its_unit():
    """Lengths that give an area stand without; 940 over a number is not 756 MPa."""
    study = tr.study(cases.load(DEMO))
    (found,) = (e for e in of_loads.tightening(study)["service"] if e.id == "yield-stress")
    _, *rows = found.latex("SI").split(r"\\")
    assert rows and all(row.count(r"\mathrm{MPa}") == 2 for row in rows)


def test_no_known_margin_hides_one_that_is_not_known():
    """The criterion of a mode without a yield strength is not assessed: nor is the least of all."""
    study = tr.study(cases.load(DEMO))
    last = study.margins[-1]
    unknown = dataclasses.replace(last, capacity=math.nan)
    held = types.SimpleNamespace(margins=(*study.margins, unknown), **{
        name: getattr(study, name) for name in ("case", "evaluation", "preloads", "holds_insert")
    })  # fmt: skip
    (found,) = (e for e in of_loads.margin(held) if e.id == "margin")
    before = next(e for e in of_loads.margin(study) if e.id == "margin")
    assert len(found.lines) == len(before.lines) - 1


def test_no_deviation_that_is_there_prints_as_nothing_in_one_of_the_units():
    """3/8 BSW: 0.001 mm was 0.0000 in."""
    keys_ = {"thread": "3/8-16 BSW", "parent": "6061-T6", "screw": "8.8", "engagement": "12 mm",
             "insert_length": "1.5 D", "report_units": "both"}  # fmt: skip
    printed = [row[3] for row in equations.tolerances(tr.study(cases.read(keys_))).rows]
    assert "0.001 (0.00004)" in printed and "0.000 (0.0000)" in printed
    for each in printed:
        millimetres, inches = each.rstrip(")").replace("\u2212", "").split(" (")
        assert (float(millimetres) == 0) is (float(inches) == 0)
