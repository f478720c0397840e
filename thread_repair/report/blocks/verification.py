"""What the program was held against: tables and passages of the verification report."""

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby, product

import numpy as np
from IPython.display import Markdown

from ... import inserts, tables, threads, words
from ...errors import ThreadRepairError
from ...facts import Term, condition, count, fact, number, share
from ...figures.certainty import bounds_by_mesh, bounds_of_threads, wall_factor_by_boss
from ...strength.methods import METHODS
from ...strength.primary import ID as PRIMARY
from ...strength.strip import STATES
from ...uncertainty.pull_tests import planning
from ...verification import collapse
from ...verification.checks import Check, summaries
from ...verification.record import Verification, unconfirmed
from .. import escape
from ..figure import Markup, ReportFigure, ReportTable
from .layout import boxed, bullets, figure, known, passage, place, table, table_or_words, title

#: Values and letters in one row of a long table: a row does not run over a page.
_PER_ROW, _LONGEST = 30, 1200
OUTCOMES = ("passed", "known difference", "failed")


def result(found: Verification) -> Markdown:
    """Whether all checks passed, as the first thing on the first page."""
    tabled = len(collapse.cells()) + len(collapse.bosses())
    solved = len(found.statements["solved_anew"])
    shown = () if found.failed else (fact("verification_of_calculation"),)
    read = fact("verification_from_tables", solved=count(solved), tabled=count(tabled))
    colour = "does-not-support" if found.failed else "supports"
    return boxed(colour, None, found.statement, *shown, read)


def counts_table(found: Verification) -> ReportTable:
    """How many checks of each kind passed."""
    rows = [
        (words.term(Term("verification", topic)), *(outcomes[each] for each in OUTCOMES))
        for topic, outcomes in found.counts.items()
    ]
    return table("verified", rows)


def failures(found: Verification, at_most: int = 12) -> Markdown:
    """Name what failed; nothing where nothing did."""
    lines = [
        f"{title(each.printed.reference.source)}, {each.printed.quantity.replace('_', ' ')} "
        f"{' '.join(each.printed.arguments.values())}: printed {each.printed.text}, computed "
        f"{_computed(each)}: {each.reason}"
        for each in found.checks
        if each.outcome == "failed"
    ]
    lines += [f"{each.name}: {each.reason}" for each in found.held if not each.held]
    if len(lines) > at_most:
        lines[at_most:] = [f"{len(lines) - at_most} more, listed in results.json"]
    return Markdown("\n".join(f"- **Failed.** {escape.markdown(line)}" for line in lines))


def _computed(check: Check) -> str:
    """Return the computed value with one digit more than is printed."""
    exponent = np.log10(check.printed.digit)
    return f"{check.computed:.{max(0, 1 - round(float(exponent)))}f}"


def known_passage(found: Verification) -> Markdown:
    """Say how many printed values were seen in print, and how many the program only keeps."""
    ways = Counter(known(each.printed.reference.how_known) for each in found.checks)
    numbers = {
        "total": len(found.checks),
        "kept": sum(each.kept for each in found.checks),
        "documents": len({each.printed.reference.source for each in found.checks}),
        "verified": ways["verified"],
        "recalled": ways["not verified"],
    }
    counts = {name: count(n) for name, n in numbers.items()}
    return passage(None, fact("verification_read", **counts))


def documents_table(found: Verification) -> ReportTable:
    """Count the printed values by document and how they are known."""
    rows = [
        (title(each.document), known(each.how_known), each.values, each.kept, each.passed,
         each.known, each.failed, f"{each.largest:.2f}")
        for each in summaries(found.checks).itertuples()
    ]  # fmt: skip
    sums = map(sum, zip(*(row[2:7] for row in rows), strict=True))
    return table("documents", [*rows, ("All", "", *sums, "")])


def differences_table(found: Verification) -> ReportTable:
    """List what failed and what differs from print: values of one document and reason together."""
    kinds = dict.fromkeys((e.outcome, e.reason) for e in found.checks if e.outcome != "passed")
    return _long_table(
        "differences",
        (
            (f"{document}: {'FAILED: ' * (outcome == 'failed')}{reason}", what, name, each)
            for outcome, reason in sorted(kinds, key=lambda kind: kind[0] != "failed")
            for document, what, name, each in _alike(
                [e for e in found.checks if (e.outcome, e.reason) == (outcome, reason)]
            )
        ),
        lambda each: f"{each.printed.text}, {_computed(each)} ({each.difference:+.2f})",
    )


def _long_table(
    name: str, found: Iterable[tuple[str, str, str, Check]], shown: Callable[[Check], str]
) -> ReportTable:
    """List many values in a row, cut where a row would be longer than a page can break."""
    rows: list[tuple[str, Markup]] = []
    for (first, what), some in groupby(found, key=lambda each: each[:2]):
        values = [f"{at}{shown(check)}" for _, _, at, check in some]
        for start in range(0, len(values), _PER_ROW):
            part = escape.markdown("; ".join(values[start : start + _PER_ROW]))
            text = Markup(f"**{escape.markdown(what)}:** {part}")
            if rows and rows[-1][0] == first and len(rows[-1][1]) + len(text) < _LONGEST:
                text = Markup(f"{rows.pop()[1]}. {text}")
            rows.append((first, text))
    return table(name, rows)


def statements_table(found: Verification, topic: str) -> ReportTable:
    """What the solvers are held against, with the ends that they give."""
    some = found.statements[topic]
    without, caption = [], words.term(Term("verification", topic))
    if not any(math.isfinite(each.expected) for each in some):
        without.append("Expected")
    if len(bases := {place(each.reference) for each in some}) == 1:
        without.append("Basis")
        caption += f". Basis: {bases.pop()}"
    label = topic.replace("_", "-")
    return table("statements", some, without=without, label=label, caption=caption)


def anew_table(found: Verification, at_most: int = 40) -> ReportTable:
    """Tabled bounds beside those solved for this report; of many, the failures and the first."""
    some = found.statements["solved_anew"]
    ordered = sorted(some, key=lambda each: (each.held, not each.reason))
    same = sum(each.held and not each.reason for each in some)
    return table("solved-anew", ordered[:at_most], of=str(len(some)), same=str(same))


# ---- bounds


def bounds_passage() -> Markdown:
    """Largest gap of the bounds, and where the formula is certainly not conservative."""
    cells, bosses = collapse.cells(), collapse.bosses()
    widest, wall = (max(some, key=lambda each: each.gap) for some in (cells, bosses))
    over = [each for each in cells if float(each.upper) < 1]
    worst = min(over, key=lambda each: float(each.upper))
    lowest = number(min(float(each.lower) for each in cells))
    gap, excess = share(widest.gap), share(1 / float(worst.upper) - 1)
    n = [count(len(some)) for some in (cells, over, bosses)]
    at = [_which(each) for each in (widest, worst, wall)]
    found = [
        fact("bounds_ends", number=n[0], lower=lowest, gap=gap, widest=at[0]),
        fact("bounds_over", "caution", number=n[1], excess=excess, worst=at[1]),
        fact("bounds_open"),
        fact("bounds_walls", number=n[2], gap=share(wall.gap), widest=at[2]),
    ]
    return bullets(None, found)


def _which(each: collapse.Recorded) -> str:
    position = each.position.replace("-", " ")
    return f"{each.name}, {words.term(condition(each.state)).lower()}, {position}"


def over_table(at_most: int = 12) -> ReportTable:
    """The threads whose upper bound lies furthest below the formula."""
    over = sorted(collapse.cells(), key=lambda each: float(each.upper))[:at_most]
    rows = [
        (each.name, each.state, each.position.replace("-", " "), each.lower, each.upper)
        for each in over
    ]
    return table("not-conservative", rows)


def bounds_figure() -> ReportFigure:
    """Bounds of every thread over the formula's load."""
    panels = {}
    for state, position in product(STATES, ("basic", "minimum-material")):
        points = [
            (each.at["hole_major"] / each.at["pitch"], float(each.lower), float(each.upper))
            for each in collapse.cells()
            if (each.state, each.position) == (state, position)
        ]
        over_pitch, lower, upper = np.array(points).T
        name = f"{words.term(condition(state))}, {position.replace('-', ' ')}"
        panels[name] = (over_pitch, lower, upper)
    return figure("thread-bounds", bounds_of_threads(panels))


def walls_figure() -> ReportFigure:
    """Bounds of bosses of an M8 thread engaged by one diameter of the hole."""
    m8 = threads.thread("M8x1.25")
    holes = {"original": (m8.major, 1.0), "repaired": (inserts.enlarged_diameters(m8).major, 1.0)}
    return figure("walls", wall_factor_by_boss(holes, joint=None)[0])


def mesh_figure() -> ReportFigure:
    """Both bounds over the number of triangles."""
    series = {}
    for name, some in collapse.meshes().items():
        columns = ("triangles", "lower_over_formula", "upper_over_formula")
        series[name.replace("-", " ")] = tuple(some[each].to_numpy() for each in columns)
    return figure("mesh", bounds_by_mesh(series))


# ---- methods and tests


def methods_table(found: Verification) -> ReportTable:
    """Every method over the reference method."""

    def ends(pair: tuple[float, float]) -> str:
        return " to ".join(dict.fromkeys(f"{each:.2f}" for each in pair))

    rows = [
        (each["title"], each["joints"], ends(each["original"]), ends(each["repaired"]),
         ends(each["change"]) if each["for_wire_inserts"] else None)
        for each in found.methods
    ]  # fmt: skip
    return table("methods-range", rows)


#: Scatter of strip loads in one lot that a test is planned for: assumed, no published source.
PLANNED_SCATTER = 0.05


def plan_table() -> ReportTable:
    """How many specimens each claim needs."""
    cov, rows = PLANNED_SCATTER, dict[str, str]()
    for required in (0.90, 0.85, 0.80):
        try:
            plan = planning.pieces_for_bound(
                requirement=required, mean=1.0, cov=cov, coverage=0.99, shape="weibull"
            )
            needed = str(plan.n)
        except ThreadRepairError:
            needed = "no number is enough"
        rows[f"99 % of threads carry {required:.2f} of the mean, 95 % confidence"] = needed
    for ratio in (1.05, 1.10, 1.20):
        n = planning.pieces_for_ratio(expected=ratio, cov=cov).n
        claim = f"repaired stronger than original where the ratio is {ratio:.2f}"
        rows[claim] = f"{n} of each condition"
    for coverage in (0.90, 0.99):
        n = planning.pieces_without_failure(coverage=coverage)
        rows[f"{100 * coverage:.0f} % pass a proof load, no distribution assumed"] = str(n)
    return table("plan", rows.items(), scatter=share(cov))


def own_tests_table(found: Verification) -> ReportTable | Markdown:
    """Tested over predicted load of the user's own pieces, by method."""
    rows = [
        (
            title,
            f"{group.group.size}, {words.term(condition(group.group.state)).lower()}",
            each.n, "reference method" if each.method == PRIMARY else METHODS[each.method].title,
            each.ratio, (each.low, each.high), each.verdict,
        )
        for title, group, each in found.own_tests
    ]  # fmt: skip
    return table_or_words("own-tests", rows)


# ---- credibility and open values


def credibility_table() -> ReportTable:
    """What there is to each factor of credibility."""
    return table("credibility", tables.rows("credibility.csv"))


def open_values_table() -> ReportTable:
    """Values known from memory, by the document that would settle them."""
    rows = [
        (title(source), some.total(), ", ".join(some)) for source, some in unconfirmed().items()
    ]
    return table("open-values", rows)


# ---- all values

#: An argument with more different values than this tells the values of a row apart.
_FEW = 8
_MARK = {"passed": "", "known difference": "*", "failed": " ✗"}


def all_values_table(found: Verification) -> ReportTable:
    """Every printed value with its difference in the last digit, many in a row."""
    return _long_table(
        "all-values",
        _alike(found.checks),
        lambda each: f"{each.printed.text} ({_short(each.difference)}){_MARK[each.outcome]}",
    )


def _short(difference: float) -> str:
    return "0" if abs(difference) < 5e-3 else f"{difference:+.2f}"


def _alike(found: Sequence[Check]) -> Iterator[tuple[str, str, str, Check]]:
    """Gather the values of one place and quantity that share the arguments that vary little.

    Yields
    ------
    place; quantity with those arguments; the rest of its arguments; the check
    """

    def key(check: Check) -> tuple[str, str]:
        return place(check.printed.reference), check.printed.quantity

    for (document, quantity), together in groupby(sorted(found, key=key), key=key):
        some = [(each.printed.arguments, each) for each in together]
        many = {name: len({given.get(name) for given, _ in some}) for name in some[0][0]}
        apart = [n for n in many if many[n] > _FEW] or [max(many, key=lambda name: many[name])]
        unit = some[0][1].printed.unit
        quantity += f", {unit}" if unit != "-" else ""
        shared = [
            (", ".join(f"{k} {v}" for k, v in given.items() if k not in apart), given, each)
            for given, each in some
        ]
        for rest, given, each in sorted(shared, key=lambda item: item[0].replace("_", " ")):
            what = f"{quantity} ({rest})" if rest else quantity
            at = " ".join(given[name] for name in apart)
            yield document, what.replace("_", " "), f"{at}: ", each
