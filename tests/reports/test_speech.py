"""Formulas of the PDF in plain words, read by the pandoc that builds the reports."""

import json
import random
import re
import subprocess
from pathlib import Path

import pypandoc
import pypdf
import pytest

import thread_repair as tr
from thread_repair.report import render
from thread_repair.report.blocks.equations import every
from thread_repair.report.document import DocumentInfo

DEMO = Path(__file__).parents[2] / "reports" / "demo-rig-plate" / "case.yaml"
SPEECH = render._TEMPLATES / "speech.lua"

READ = """
local speech = dofile(arg[1])
local said = {}
for i, formula in ipairs(pandoc.json.decode(io.read("a"))) do said[i] = speech.of(formula) end
print(pandoc.json.encode(said))
"""


@pytest.fixture(scope="module")
def speak(tmp_path_factory):
    script = tmp_path_factory.mktemp("speech") / "read.lua"
    script.write_text(READ)

    def words(formulas):
        command = [pypandoc.get_pandoc_path(), "lua", str(script), str(SPEECH)]
        done = subprocess.run(
            command, input=json.dumps(formulas), capture_output=True, text=True, timeout=60
        )
        assert done.returncode == 0 and done.stderr == "", done.stderr
        return json.loads(done.stdout)

    return words


#: As they stand in the notebooks and in the reports.
SPOKEN = {
    r"A_n = \pi\,d\,\frac{L}{P}\left[\frac{P}{2} + (d - D_2)\tan\frac{\alpha}{2}\right]": (
        "A sub n equals pi times d times L over P, open bracket, P over 2 plus, open bracket, "
        "d minus D sub 2, close bracket, tangent of alpha over 2, close bracket"
    ),
    r"R_s = \frac{R_{m,n}\,A_n}{R_{m,s}\,A_s}": (
        "R sub s equals, start fraction R sub m n times A sub n, over R sub m s times A sub s, "
        "end fraction"
    ),
    r"C_1 = -\left(\frac{s}{D}\right)^2 + 3.8\,\frac{s}{D} - 2.61 \le 1": (
        "C sub 1 equals minus, open bracket, s over D, close bracket, squared plus 3.8 times "
        "s over D minus 2.61 is at most 1"
    ),
    r"C_3 = 0.728 - 2.896\,R_s^2 + 1.296\,R_s^3\ \le 1": (
        "C sub 3 equals 0.728 minus 2.896 times R sub s squared plus 1.296 times R sub s cubed "
        "is at most 1"
    ),
    r"C_1\left(\frac{s}{D} = \frac{24}{8}\right) = 1": (
        "C sub 1, open bracket, s over D equals 24 over 8, close bracket, equals 1"
    ),
    r"F_S = A_s\,R_{m,\min} = 36.61\,\mathrm{mm^2} \times 800.0\,\mathrm{MPa} = 29\,290\,\mathrm{N}": (
        "F sub S equals A sub s times R sub m minimum equals 36.61 square millimetres times "
        "800.0 megapascals equals 29290 newtons"
    ),
    r"Q = L_e \max(J, 1)": ("Q equals L sub e times maximum of, open bracket, J, 1, close bracket"),
    r"m_\mathrm{eff} = m_\mathrm{ges} - 0.8\,P": "m sub eff equals m sub ges minus 0.8 times P",
    r"F = \tfrac{3}{4}\,\pi\,L\,D\,\tau_n\ \text{(original)}, \quad F = \text{--}": (
        "F equals 3 over 4, times pi times L times D times tau sub n, original, F equals no value"
    ),
    r"\frac{q_\mathrm{max}}{q_\mathrm{mean}} = \lambda L_e \coth \lambda L_e .": (
        "q sub max over q sub mean equals lambda times L sub e times hyperbolic cotangent of "
        "lambda times L sub e"
    ),
    r"s'' = \lambda^2 s, \qquad F' = -q": (
        "s double prime equals lambda squared times s, F prime equals minus q"
    ),
    r"L^\ast \approx \mu d_2/(2\cos 30^\circ)": (
        "L star is about mu times d sub 2 divided by, open bracket, 2 times cosine of 30 degrees, "
        "close bracket"
    ),
    r"x \ge \sqrt{a} + \sqrt{a^2 + b^2}": (
        "x is at least square root of a plus square root of a squared plus b squared, end of root"
    ),
    r"1\,\mathrm{in} = 25.4\,\mathrm{mm},\ 3\,\mathrm{lbf},\ 2\,\mathrm{kN},\ 1\,234\,567.8\,\mathrm{psi}": (
        "1 inch equals 25.4 millimetres, 3 pounds force, 2 kilonewtons, "
        "1234567.8 pounds per square inch"
    ),
    r"5\,\mathrm{N/mm^2} + 2\,\mathrm{N\,m} + 20\,\mathrm{^\circ C}": (
        "5 newtons per square millimetre plus 2 newton metres plus 20 degrees Celsius"
    ),
    r"x^{n+1} x_{i-1}": (
        "x to the power of n plus 1, end of power, times x sub i minus 1, end of index"
    ),
    r"\frac12 \nosuch \alpha": "1 over 2 nosuch alpha",
    r"\,": "blank",
}


def test_formulas_are_spoken(speak):
    for formula, said in zip(SPOKEN, speak(list(SPOKEN)), strict=True):
        assert said == SPOKEN[formula], formula


def test_every_equation_is_words(speak):
    study = tr.study(tr.load(DEMO))
    equations = [each.latex("both") for part in every(study).values() for each in part]
    assert len(equations) > 40
    for formula, said in zip(equations, speak(equations), strict=True):
        assert re.fullmatch(r"[A-Za-z0-9., ]+", said), (formula, said)
        assert not re.search(r"\b(t?frac|left|right|q?quad|mathrm|text|tau\d|circ|le|ge)\b", said)


def test_nothing_makes_it_fail(speak):
    parts = [*r"{}[]()_^'|.,&~%$+-*/= \\", *SPOKEN, *"xN15é漢−", r"\frac", r"\sqrt", r"\left",
             r"\right", r"\text{", r"\mathrm", r"\,", r"\begin{a}", "\\", r"\é", r"\bar", r"\tan"]  # fmt: skip
    draw = random.Random(1)
    formulas = ["".join(draw.choices(parts, k=draw.randint(0, 12))) for _ in range(2000)]
    formulas += ["{" * 20000, r"\frac{" * 20000, "a_" * 20000, r"\left(" * 20000]
    for formula, said in zip(formulas, speak(formulas), strict=True):
        assert said and not re.search(r"[\\{}_^\n]", said), formula


def alternatives(node):
    node = node.get_object()
    if isinstance(node, list):
        for kid in node:
            yield from alternatives(kid)
    elif isinstance(node, dict):
        if node.get("/S") == "/Formula":
            yield node["/Alt"]
        if "/K" in node:
            yield from alternatives(node["/K"])


def test_the_pdf_speaks_and_the_html_keeps_its_mathml(tmp_path):
    text = "## A\n\nInline $C_1$.\n\n$$F = \\frac{a}{2}\\,\\mathrm{mm^2}$$ {#eq:f}\n\nSee @eq:f."
    files = render.render(text, DocumentInfo(title="T"), tmp_path, ("pdf", "html"))
    root = pypdf.PdfReader(files["pdf"]).trailer["/Root"]["/StructTreeRoot"]
    assert list(alternatives(root)) == ["C sub 1", "F equals a over 2 square millimetres"]
    html = files["html"].read_text()
    assert "C sub 1" not in html and "\\frac{a}{2}\\,\\mathrm{mm^2}</annotation>" in html
