"""Whoever has only the PDF can recompute what it prints, within the digits that it prints.

Nothing of the package is imported below `recompute`: numbers come from the text of the document,
formulas are written here by hand, from the documents that the report names. Every number is taken
with half of its last digit as doubt, and the doubts of all inputs together bound what the result
may differ by.
"""

import functools
import inspect
import math
import re
import sys
import unicodedata

import nbformat
import pytest
import yaml
from pdf_text import pages_of

from .conftest import in_this_process
from .five_cases import DEMO, FIVE, FREE, MORE, keys, metric

pytestmark = pytest.mark.slow

NOTEBOOK = DEMO.parents[2] / "notebooks" / "repair_justification.ipynb"

# Factors to mm, N, MPa, N·m; exact: 25.4 mm, 4.4482216152605 N.
POUND = 4.4482216152605
UNITS = {
    "mm": 1, "mm²": 1, "kN": 1000, "MPa": 1, "N·m": 1, "K": 1, "10⁻⁶/K": 1e-6, "°": 1, "–": 1,
    "in": 25.4, "in²": 25.4**2, "lbf": POUND, "ksi": 1000 * POUND / 25.4**2,
    "in·lbf": POUND * 0.0254, "°F": 1 / 1.8, "10⁻⁶/°F": 1.8e-6,
}  # fmt: skip
NUMBER = r"[-+]?\d+(?:\.\d+)?"
VALUE = rf"(–|by case|{NUMBER}(?: \({NUMBER}\))?)"
STATES = ("original", "repaired")

#: Symbol and the words that the table has for it.
MEANINGS = {
    "d": "nominal diameter of the screw",
    "P": "pitch",
    "beta": "half the flank angle",
    "L": "engaged length of full thread",
    "dc": "major diameter of the external thread: screw (original), installed insert (repaired)",
    "D2": "pitch diameter of the tapped hole",
    "D1": "minor diameter of the tapped hole",
    "D": "basic major diameter of the tapped hole",
    "ds": "major diameter of the screw",
    "d2": "pitch diameter of the screw",
    "Di1": "minor diameter of the internal thread that engages the screw",
    "Di2": "pitch diameter of the internal thread that engages the screw",
    "s": "outside diameter of the boss",
    "tau0": "shear strength of the parent before its factors",
    "Rn0": "tensile strength of the parent before its factors",
    "Yn0": "yield strength of the parent before its factors",
    "k1": "one-sided tolerance factor for this number of specimens",
    "vp": "coefficient of variation of the specimens",
    "kp": "factor on the mean strength of the specimens",
    "ks": "shear over tensile strength of the parent",
    "kc": "casting factor",
    "kT": "temperature factor on the shear strength of the parent",
    "kTt": "temperature factor on the tensile strength of the parent",
    "kTy": "temperature factor on the yield strength of the parent",
    "kY": "factor by which the yield strength is lowered as the tensile strength is",
    "tau_n": "shear strength of the parent",
    "Rn": "tensile strength of the parent",
    "Yn": "yield strength of the parent",
    "ky": "yield over tensile strength, assumed where the yield strength is not known",
    "sigma_w": "flow stress of the boss wall",
    "Rm": "minimum tensile strength of the screw",
    "RM": "maximum tensile strength of the screw",
    "Rp": "minimum yield strength of the screw",
    "km": "shear over tensile strength of the screw",
    "tau_s": "shear strength of the screw",
    "Ri": "tensile strength of the insert wire",
    "ki": "shear over tensile strength of the insert wire",
    "tau_i": "shear strength of the insert wire",
    "At": "tensile stress area of the screw",
    "An": "shear area of the parent thread",
    "Ae": "shear area of the screw thread",
    "Ai": "shear area of the insert thread",
    "Af": "contact area of the flanks, seen along the axis",
    "pf": "flank pressure at which the parent thread crushes",
    "Rs": "strength ratio of parent thread to screw thread",
    "C1": "published factor for dilation of the hole",
    "Cc": "certified factor of the boss, from the table of certified bounds",
    "Cw": "factor for the wall around the hole",
    "C2": "factor for bending of the screw thread",
    "C3": "factor for bending of the parent thread",
    "q": "flank-bearing load over shear load",
    "q1": "table of overlaps: next lower ratio",
    "q2": "table of overlaps: next higher ratio",
    "Co1": "table of overlaps: factor at the next lower ratio",
    "Co2": "table of overlaps: factor at the next higher ratio",
    "Co": "overlap factor",
    "cb": "certified coefficient of the boss wall",
    "db": "inner diameter of the support of the boss wall",
    "Cb": "certified effective share of the boss wall",
    "Fn": "parent thread, stripping load",
    "Ff": "parent thread, flank-bearing load",
    "Fe": "screw thread, stripping load",
    "Fi": "insert thread, stripping load",
    "Fw": "boss wall, load",
    "Ft": "screw in tension, load",
    "Fpo": "pull-out strength",
    "FM": "screw in tension at its maximum tensile strength, load",
    "Lr": "engaged length at which the screw fails first",
    "Cr": "factor for the wall at that length",
    "FL": "limit load on the joint",
    "ju": "factor of safety against rupture",
    "jy": "factor of safety against yield",
    "js": "factor of safety against separation",
    "jf": "fitting factor",
    "phi_max": "load factor, maximum: part of the load taken by the screw",
    "phi_min": "load factor, minimum: part of the load taken by the screw",
    "cl": "certified lower bound over shear-area formula",
    "Fcm": "parent thread, certified minimum",
    "T": "torque, without prevailing torque",
    "FT": "required preload",
    "Mp": "maximum prevailing torque",
    "e": "error of the torque, plus or minus",
    "eF": "scatter of the preload about its mean, plus or minus",
    "DK": "mean diameter under the head",
    "dm": "basic pitch diameter of the screw",
    "d0": "diameter of the stress area",
    "r": "relaxation of the minimum preload",
    "E": "modulus of elasticity of the screw",
    "ac": "thermal expansion of the clamped part",
    "as": "thermal expansion of the screw",
    "gain": "gain of preload with temperature, maximum",
    "loss": "loss of preload with temperature, maximum",
    "Fmax": "maximum preload as tightened",
    "Fmin": "minimum preload as tightened",
    "Fsmax": "maximum preload in service",
    "Fsmin": "minimum preload in service",
    "Fmid": "mean preload of the original thread",
    "kmid": "torque coefficient at mean friction",
    "To": "torque for the mean preload of the original thread",
}
OF_A_TOOL = ("maximum preload", "maximum torsion", "minimum preload")
LINES = ("mean friction", *OF_A_TOOL, *(f"{name} by hand torque wrench" for name in OF_A_TOOL))
#: Words by which a row of the margins names its mode, the first that fit, and the capacity.
MODES = (
    ("certified", "Fcm"), ("separation", "Fsmin"), ("screw, yield", "yield"),
    ("parent thread, yield", "Fny"), ("flank", "Ff"), ("insert", "Fi"), ("boss", "Fw"),
    ("screw thread", "Fe"), ("screw", "Ft"), ("parent thread", "Fn"),
)  # fmt: skip


DIAMETERS = ("d", "dc", "D", "D1", "D2", "ds", "d2", "Di1", "Di2")


class Printed(tuple):
    """A number as printed, in mm, N, MPa, N·m, and half of its last digit.

    Tables of symbols print `digits` significant ones and leave zeros at the end out.
    """

    def __new__(cls, text, unit, digits=4):
        text = text.split()[0]
        value, decimals = float(text), len(text.partition(".")[2])
        half = 0.5 * 10.0 ** (math.floor(math.log10(abs(value))) + 1 - digits) if value else 0.0
        if decimals:
            half = min(half or 1.0, 0.5 * 10.0**-decimals)
        return super().__new__(cls, (value * UNITS[unit], half * UNITS[unit]))


def digits_of(name):
    """Loads, torques that are worked out and lengths required have three digits."""
    three = ("To", "Lr", "gain", "loss")
    return 3 if (name.startswith("F") and name not in ("FL", "FT")) or name in three else 4


def text_of(pages):
    text = "\n".join(pages)
    return re.sub(r"\s+", " ", unicodedata.normalize("NFC", text).replace("−", "-"))


def table_of_symbols(text, *, at_assembly=False):
    """Both conditions by symbol; of the table for the temperature of assembly, if there is one."""
    found = {state: {} for state in STATES}
    text = text[text.rindex("Symbols of strength: meaning and value") :]
    text = text.partition("Values at the temperature of assembly")[2 if at_assembly else 0]
    units = "|".join(sorted(map(re.escape, UNITS), key=len, reverse=True))
    for name, words in MEANINGS.items():
        row = re.search(rf"(?<=[^a-z,:]) {re.escape(words)} {VALUE} {VALUE} ({units})(?= )", text)
        for state, value in zip(STATES, row.groups()[:2] if row else (), strict=False):
            if value not in ("–", "by case"):
                digits = digits_of(name)
                if row[3] == "in" and name in DIAMETERS and float(value.split()[0]) < 0.1:
                    digits = 3  # to a ten-thousandth, as on a drawing
                found[state][name] = Printed(value, row[3], digits)
    return found


def friction_lines(text):
    """Friction in thread and under head, k_G, k, preload and twist, by condition and line."""
    start = text.rfind("Friction cases: preload and torsion from the torque")
    if start < 0:
        return {}
    units = re.match(r".*?, (\S+)[^,]*?, (\S+)[^,]*?, (\S+)[^,]*?, (\S+)", text[start + 52 :])
    one = rf"({NUMBER}|–)(?: \((?:{NUMBER}|–)\))?"
    found = {}
    for state in STATES:
        for name in LINES:
            row = re.search(rf"{state}, {name} " + " ".join([one] * 6), text[start:])
            if row is None and "wrench" in name:
                continue  # only beside a published scatter
            values = dict(zip(("mu_G", "mu_K", "kG", "k", "F", "M"), row.groups(), strict=True))
            of = ("–", "–", *units.groups())
            found[state, name] = {
                key: Printed(value, unit, digits_of(key))
                for (key, value), unit in zip(values.items(), of, strict=True)
                if value != "–"
            }
    return found


def margin_rows(text):
    """Condition, mode, preload, factors, load, demand, capacity, margin of every row."""
    start = text.rfind("Margins of safety: capacity over demand")
    head = re.search(r"Preload, (\S+).*? Demand, (\S+).*? Capacity, ", text[start:])
    force = head[1]
    one = rf"({NUMBER}|–)(?: \({NUMBER}\))?"
    pattern = (
        r"(at assembly: )?(?:maximum|minimum|limit)[a-z, ]*? "
        rf"(ultimate|yield|separation) (original|repaired) thread ([A-Za-z,' ]+?) {one} "
        rf"((?:{NUMBER} × )*{NUMBER}|–) {one} {one} {one} ([-+]\d+\.\d\d)"
    )
    for row in re.finditer(pattern, text[start:]):
        at, against, state, mode, preload, factors, load, demand, capacity, margin = row.groups()
        yield {
            "at": bool(at), "against": against, "state": state, "mode": mode,
            "preload": None if preload == "–" else Printed(preload, force, 3),
            "factors": () if factors == "–" else tuple(map(float, factors.split(" × "))),
            "load": None if load == "–" else Printed(load, force, 3),
            "demand": Printed(demand, force, 3), "capacity": Printed(capacity, force, 3),
            "margin": Printed(margin, "–", 0),
        }  # fmt: skip


class Book:
    """Compares what is recomputed with what is printed."""

    def __init__(self):
        self.checked = []

    def agree(self, name, printed, function, inputs):
        """The result of a function of printed numbers, against a printed number.

        The function names what it takes; half a digit of each, one at a time, bounds the doubt.
        """
        names = tuple(inspect.signature(function).parameters)
        middle = [inputs[each][0] for each in names]
        value = function(*middle)
        doubt = 0.0
        for place, each in enumerate(names):
            moved = [*middle]
            moved[place] += inputs[each][1]
            doubt += abs(function(*moved) - value)
        allowed = 1.02 * (doubt + printed[1]) + 1e-9
        assert abs(value - printed[0]) <= allowed, (name, value, printed, doubt)
        # A check that would pass whatever is printed is none.
        assert allowed < 0.02 * abs(printed[0]) + 0.02, (name, allowed, printed)
        self.checked.append(name)
        return value


def recompute(text, system):
    """Recompute a report; return what was checked. Asserts."""
    book, both, lines = Book(), table_of_symbols(text), friction_lines(text)
    for state, v in both.items():
        strengths(book, state, v)
        sizes(book, state, v, system)
        loads(book, state, v)
    if lines:
        for state, v in both.items():
            tightening(book, state, v, lines, both)
    rows = tuple(margin_rows(text))
    margins(book, rows, both, lines, table_of_symbols(text, at_assembly=True))
    return book.checked


def strengths(book, state, v):
    def check(name, function):
        book.agree(f"{state} {name}", v[name], function, v)

    if "kp" in v:
        check("kp", lambda k1, vp: 1 - k1 * vp)
    for factor in ("kp", "kc", "kT", "kTt", "kTy", "kY"):
        v.setdefault(factor, (1.0, 0.0))
    if "tau0" in v:
        check("tau_n", lambda tau0, kp, kc, kT: tau0 * kp * kc * kT)
    elif "ks" in v:
        check("tau_n", lambda Rn0, ks, kp, kc, kT: Rn0 * ks * kp * kc * kT)
    if "Rn0" in v:
        check("Rn", lambda Rn0, kp, kc, kTt: Rn0 * kp * kc * kTt)
    if "Yn0" in v:
        check("Yn", lambda Yn0, kp, kY, kc, kTy: Yn0 * kp * kY * kc * kTy)
    if "s" in v and "ky" in v:
        check("sigma_w", lambda Rn, ky, tau_n: min((1 + ky) / 2 * Rn, math.sqrt(3) * tau_n))
    elif "s" in v:
        check("sigma_w", lambda Rn, Yn, tau_n: min((Rn + min(Yn, Rn)) / 2, math.sqrt(3) * tau_n))
    check("tau_s", lambda km, Rm: km * Rm)
    if state == "repaired":
        check("tau_i", lambda ki, Ri: ki * Ri)


def tan(degrees):
    return math.tan(math.radians(degrees))


def sizes(book, state, v, system):
    def check(name, function):
        book.agree(f"{state} {name}", v[name], function, v)

    # ISO 898-1; ASME B1.1; BS 84, mean of minor and pitch diameter
    depth = {"metric": 0.938194, "unified": 0.9743, "whitworth": 0.9604905}[system]
    check("At", lambda d, P: math.pi / 4 * (d - depth * P) ** 2)
    # FED-STD-H28/2B Appendix B
    check(
        "An",
        lambda dc, D2, L, P, beta: math.pi * dc * L / P * (P / 2 + (dc - D2) * tan(beta)),
    )
    check(
        "Ae",
        lambda Di1, d2, L, P, beta: math.pi * Di1 * L / P * (P / 2 + (d2 - Di1) * tan(beta)),
    )
    if state == "repaired":
        check(
            "Ai",
            lambda ds, Di2, L, P, beta: math.pi * ds * L / P * (P / 2 + (ds - Di2) * tan(beta)),
        )
    check("Af", lambda dc, D1, L, P: math.pi / 4 * (dc**2 - D1**2) * L / P)
    check("pf", lambda tau_n, beta: 2 * tau_n * (1 + math.radians(beta)))


def c3(ratio):
    """SAE 770420, not above 1, and 1 where the paper has no value."""
    if ratio < 0.4:
        return 1.0
    if ratio >= 1:
        return 0.897
    return min(1, 0.728 + 1.769 * ratio - 2.896 * ratio**2 + 1.296 * ratio**3)


def c2(ratio):
    if ratio > 2.2:
        return 1.0
    if ratio <= 1:
        return 0.897
    found = 5.594 - 13.682 * ratio + 14.107 * ratio**2 - 6.057 * ratio**3 + 0.9353 * ratio**4
    return min(1, found)


def loads(book, state, v):
    def check(name, function):
        book.agree(f"{state} {name}", v[name], function, v)

    check("Rs", lambda Rn, An, Rm, Ae: Rn * An / (Rm * Ae))
    check("C2", lambda Rs: c2(Rs))
    check("C3", lambda Rs: c3(Rs))
    check("q", lambda pf, Af, tau_n, An: pf * Af / (tau_n * An))
    if "s" in v:
        assert ("C1" in v) == (v["s"][0] / v["D"][0] >= 1.4)  # the paper's range
        if "C1" in v:
            check(
                "C1",
                lambda s, D: 1.0 if s / D >= 1.9 else min(1, -((s / D) ** 2) + 3.8 * s / D - 2.61),
            )
            check("Cw", lambda C1, Cc: min(C1, Cc))
        else:
            check("Cw", lambda Cc: Cc)
        check("Cb", lambda cb, s, db, D: cb * (s**2 - db**2) / (s**2 - D**2))
        check(
            "Fw",
            lambda Cb, sigma_w, s, D, L, beta: (
                Cb * sigma_w * math.pi / 4 * (s - D) * min(s + D, 4 * L / tan(beta))
            ),
        )
    check(
        "Co",
        lambda q, q1, q2, Co1, Co2: 1.0 if q >= q2 else Co1 + (Co2 - Co1) * (q - q1) / (q2 - q1),
    )
    check("Fn", lambda tau_n, An, Cw, C3, Co: tau_n * An * Cw * C3 * Co)
    check("Ff", lambda pf, Af, Cw, C3: pf * Af * Cw * C3)
    check("Fe", lambda tau_s, Ae, Cw, C2: tau_s * Ae * Cw * C2)
    check("Ft", lambda Rm, At: Rm * At)
    check("FM", lambda RM, At: RM * At)
    if state == "repaired":
        check("Fi", lambda tau_i, Ai: tau_i * Ai)
    out = min(v[name] for name in ("Fn", "Ff", "Fe", "Fi", "Fw") if name in v)
    assert v["Fpo"] == out
    if "Lr" in v and "Cr" not in v:
        check("Lr", lambda L, RM, At, Fpo: L * RM * At / Fpo)
    elif "Lr" in v:  # there the thread holds what the strongest screw does

        def at_length(Lr, L, Cr, Cw, Fn, Ff, Fe):
            return min(Fn, Ff, Fe) * Lr / L * Cr / Cw

        book.agree(f"{state} Fr", v["FM"], at_length, v)
    check("Fcm", lambda cl, Fn, Co: cl * Fn / Co)


def preload_with(sign):
    """Preload at the error of the tool, up or down."""
    return lambda T, Mp, e, k: ((T + Mp) * (1 + sign * e) - Mp) * 1000 / k


def scattered_with(sign):
    """Preload of a tool whose scatter contains that of the friction."""
    return lambda T, eF, kmid: (1 + sign * eF) * T * 1000 / kmid


def tightening(book, state, v, lines, both):
    def check(name, function):
        book.agree(f"{state} {name}", v[name], function, v)

    check("d0", lambda At: math.sqrt(4 * At / math.pi))
    v.setdefault("Mp", (0.0, 0.0))
    for name in (each for of, each in lines if of == state):
        line = {**v, **lines[state, name]}
        label = f"{state} {name}"
        book.agree(
            f"{label} kG",
            line["kG"],
            lambda P, mu_G, dm, beta: (
                P / (2 * math.pi) + mu_G * dm / 2 / math.cos(math.radians(beta))
            ),
            line,
        )
        book.agree(f"{label} k", line["k"], lambda kG, mu_K, DK: kG + mu_K * DK / 2, line)
        sign = 0 if name == "mean friction" else -1 if name.startswith("minimum") else 1
        if "eF" in v and "wrench" not in name:
            book.agree(f"{label} F", line["F"], scattered_with(sign), line)
        else:
            book.agree(f"{label} F", line["F"], preload_with(sign), line)
        if "M" in line:
            book.agree(f"{label} M", line["M"], lambda F, kG, Mp: F * kG / 1000 + Mp, line)
    forces = [each["F"] for (of, name), each in lines.items() if of == state]
    assert (v["Fmin"], v["Fmax"]) == (min(forces), max(forces))
    assert v["Fmid"] == lines["original", "mean friction"]["F"]
    if "FT" in v:
        check("T", lambda FT, kmid: FT * kmid / 1000)
    check("Fsmax", lambda Fmax, gain: Fmax + gain)
    check("Fsmin", lambda Fmin, r, loss: max(0, Fmin / (1 + r) - loss))
    check("To", lambda Fmid, kmid: Fmid * kmid / 1000)


def capacity_at_yield(v, line, demand):
    """Load at which pull and twist bring the screw to yield, in proportion to the demand."""
    d0, twist = v["d0"][0], line["M"][0] * 1000
    pull = 4 * demand / (math.pi * d0**2)
    shear = 16 * twist / (math.pi * d0**3)
    return demand * v["Rp"][0] / math.sqrt(pull**2 + 3 * shear**2)


def margins(book, rows, both, lines, at_assembly):
    for row in rows:
        v, label = both[row["state"]], f"{row['state']} {row['mode']} {row['against']}"
        if row["at"]:
            v = {**v, **at_assembly[row["state"]]}
        preload, load = row["preload"] or (0.0, 0.0), row["load"] or (0.0, 0.0)
        # Products of factors and share as they stand; a lone 1 is printed as 1.
        product = math.prod(row["factors"]) if row["load"] else 0.0
        inputs = {
            "preload": preload, "load": load, "demand": row["demand"],
            "capacity": row["capacity"], "product": (product, 0.0),
        }  # fmt: skip
        book.agree(
            f"{label} demand", row["demand"],
            lambda preload, product, load: preload + product * load, inputs,
        )  # fmt: skip
        book.agree(
            f"{label} margin", row["margin"],
            lambda capacity, demand: capacity / demand - 1, inputs,
        )  # fmt: skip
        source = next(name for words, name in MODES if words in row["mode"].lower())
        if source == "Fny":
            book.agree(f"{label} capacity", row["capacity"],
                       lambda Fn, Yn, Rn: Fn * Yn / Rn, v)  # fmt: skip
        elif source == "yield":
            choices = [v["Rp"][0] * v["At"][0]] if not row["preload"] else [
                capacity_at_yield(v, line, row["demand"][0])
                for (of, name), line in lines.items() if of == row["state"] and "M" in line
            ]  # fmt: skip
            nearest = min(choices, key=lambda each: abs(each - row["capacity"][0]))
            assert nearest == pytest.approx(row["capacity"][0], rel=6e-3), label
            book.checked.append(f"{label} capacity")
        else:
            assert row["capacity"] == pytest.approx(v[source], abs=row["capacity"][1]), label
            book.checked.append(f"{label} capacity")
        if row["preload"]:
            changes = (0.0, v["gain"][0], -v["loss"][0])
            possible = [
                line["F"][0] + change
                for (of, name), line in lines.items()
                if of == row["state"] and name.startswith("maximum")
                for change in changes
            ]
            nearest = min(possible, key=lambda each: abs(each - preload[0]))
            assert nearest == pytest.approx(preload[0], rel=6e-3), label


# ---------------------------------------------------------------------------------------------


#: The cells of the report that print what is recomputed.
RECOMPUTED = (
    "equations.symbols(study)", "equations.load_symbols(study)", "equations.friction_lines(study)",
    "equations.assembly(study)", "comparison.margins_table(study)",
)  # fmt: skip


#: These are built whole, of the others the numbers.
DEMONSTRATION, INCH = (next(each for each in FIVE if word in each) for word in ("demo", "inch"))


@pytest.fixture(scope="module")
def texts(tmp_path_factory, shipped_pages, without_chances):
    """Text of the PDF of each case, built once."""
    from thread_repair.cli import main

    node = nbformat.read(NOTEBOOK, as_version=4)
    some = [cell for cell in node.cells if cell.source in RECOMPUTED]
    assert len(some) == len(RECOMPUTED)
    node.cells = [*node.cells[:3], *some]
    short = tmp_path_factory.mktemp("short") / "numbers.ipynb"
    nbformat.write(node, short)

    @functools.cache
    def text(name):
        if name == DEMONSTRATION:
            return text_of(shipped_pages(NOTEBOOK.stem))
        folder, book = tmp_path_factory.mktemp("five"), NOTEBOOK.stem if name == INCH else short
        given = {**keys(name), **(FREE if name == INCH else {}), "samples": "1024"}
        (folder / "case.yaml").write_text(yaml.safe_dump(given, allow_unicode=True))
        with in_this_process(pictures=False):
            assert main(["report", str(folder), "--notebook", str(book), "--to", "pdf"]) == 0
        (file,) = folder.glob("*.pdf")
        return text_of(pages_of(file))

    return text


def system_of(name):
    thread = keys(name)["thread"]
    return "unified" if "UN" in thread else "whitworth" if "BS" in thread else "metric"


@pytest.mark.parametrize("name", [*FIVE, *MORE])
def test_the_printed_numbers_can_be_recomputed(texts, name):
    checked = recompute(texts(name), system_of(name))
    assert len(checked) > 60
    assert sum(each.endswith("margin") for each in checked) >= 8


@pytest.mark.parametrize("symbol", ["An", "Fn", "C3", "Fcm", "kmid", "tau_n", "Fsmin", "E"])
def test_a_number_that_is_wrong_is_seen(texts, symbol):
    """The check can fail: one printed number of the demonstration is raised by 2 %."""
    text = texts(DEMONSTRATION)
    row = re.search(rf"(?<=[^a-z,:]) {re.escape(MEANINGS[symbol])} ({NUMBER})", text)
    if row is None:
        assert symbol == "E"  # no temperature, no expansion: it is not printed
        return
    wrong = f"{float(row[1]) * 1.02:.4g}"
    with pytest.raises(AssertionError):
        recompute(text[: row.start(1)] + wrong + text[row.end(1) :], "metric")


def test_a_margin_that_is_wrong_is_seen(texts):
    text = texts(DEMONSTRATION)
    start = text.rfind("Margins of safety: capacity over demand")
    row = re.compile(r"\+(\d\.\d)\d (?=[a-z])").search(text, start)
    with pytest.raises(AssertionError):
        recompute(f"{text[: row.start()]}+{float(row[1]) + 0.1:.1f}0 {text[row.end() :]}", "metric")


def test_an_inch_report_is_inch_everywhere(texts):
    """Millimetres stand in the names of nothing that the report says itself.

    At the sheet of the same joint test_hole_preparation.py looks, at what the calls of the others
    show tests/test_report_units.py.
    """
    text = texts(INCH)
    assert not metric(text)
    assert "in" in text and "lbf" in text
    # Its conclusion is one page in inches, too.
    first, _, rest = text.partition("DRAFT Contents")
    assert "page 1 of" in first and "page 2 of" not in first and "page 2 of" in rest


def test_the_recomputation_needs_nothing_of_the_package():
    source = inspect.getsource(sys.modules[__name__])
    assert (
        "thread_repair"
        not in source[: source.index("def texts")].partition('"""')[2].partition('"""')[2]
    )
