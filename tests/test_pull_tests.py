"""Pull tests: reading with planted faults, and statistics against SciPy and known truth."""

import math
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import optimize, stats

from thread_repair.errors import InputError, InputErrors, ValidityError
from thread_repair.facts import count
from thread_repair.uncertainty.pull_tests import reading
from thread_repair.uncertainty.pull_tests.distributions import (
    anderson_darling,
    fits,
    scatter,
    weibull_fit,
)
from thread_repair.uncertainty.pull_tests.evidence import compare, evidence, over_prediction
from thread_repair.uncertainty.pull_tests.planning import (
    cannot_show,
    pieces_for_bound,
    pieces_for_ratio,
    pieces_without_failure,
)
from thread_repair.uncertainty.pull_tests.reading import read
from thread_repair.uncertainty.pull_tests.tolerance import (
    METHODS,
    bound,
    bounds,
    k_factor,
    order_statistic_rank,
    weibull_factor,
)
from thread_repair.uncertainty.pull_tests.update import (
    Lognormal,
    margin_effect,
    update_shear_strength,
)


def fit(values, shape):
    return {each.shape: each for each in fits(values)}[shape]


HEADER = "piece,state,size,engagement,peak_load,failure_mode"
ROW = "{},original,M8x1.25,8 mm,{} kN,parent_thread_strip"
DEMO = Path(__file__).parents[1] / "reports" / "pull-tests-demo" / "pull_tests.csv"

#: Truth behind the generated record.
TRUE_TAU, TRUE_SCATTER, TRUE_RATIO, AREA = 200.0, 0.03, 1.18, 134.6


def known_record(path: Path, n: int = 12, seed: int = 1) -> Path:
    """A record whose truth is known: lognormal loads about TRUE_TAU x AREA and TRUE_RATIO of it."""
    generator = np.random.default_rng(seed)
    lines = ["# generated with known truth", HEADER]
    for state, mean in (("original", 1.0), ("repaired", TRUE_RATIO)):
        loads = TRUE_TAU * AREA * mean * np.exp(TRUE_SCATTER * generator.standard_normal(n))
        lines += [
            f"{state[0]}{i},{state},M8x1.25,1 D,{load / 1000:.4f} kN,parent_thread_strip"
            for i, load in enumerate(loads)
        ]
    path.write_text("\n".join(lines) + "\n")
    return path


def record(tmp_path: Path, *rows: str, header: str = HEADER) -> Path:
    path = tmp_path / "tests.csv"
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


def faults(path: Path) -> tuple[str, ...]:
    with pytest.raises(InputErrors) as caught:
        read(path)
    return caught.value.faults


# ---- reading


def test_the_demo_is_read_and_marked_invented():
    tests = read(DEMO)
    assert len(tests.pieces) == 24
    assert "INVENTED" in tests.note
    assert [group.name for group in tests.groups()] == [
        "original, M8x1.25, 8 mm",
        "repaired, M8x1.25, 7.2 mm",
    ]


def test_units_of_cell_and_header_come_to_the_same(tmp_path):
    one = read(
        record(
            tmp_path,
            "a,original,M8,1 D,25000 N,parent_thread_strip",
            "b,Original,M8x1.25,8 mm,25 kN,Parent thread strip",
            "c,original,M8 x 1.25,0.31496062992125984 in,5620.2235774 lbf,parent-thread-strip",
        )
    )
    np.testing.assert_allclose(one.pieces["load"], 25000, rtol=1e-9)
    np.testing.assert_allclose(one.pieces["engagement"], 8, rtol=1e-12)
    assert len(one.groups()) == 1
    other = read(
        record(
            tmp_path,
            "a;original;M8;8;25;parent_thread_strip",
            header="piece;state;size;Engagement [mm];Peak load [kN];failure mode",
        )
    )
    assert other.pieces["load"].tolist() == [25000]


def test_columns_may_come_in_any_order_and_others_are_told(tmp_path):
    tests = read(
        record(
            tmp_path,
            "parent_thread_strip,2024-01-05,p1,original,M8,8 mm,25 kN",
            "",
            header="failure_mode,date,piece,state,size,engagement,peak_load",
        )
    )
    assert tests.ignored == ("date",)
    assert tests.pieces["mode"].tolist() == ["parent_thread_strip"]


PLANTED = [
    ("p2,original,M8x1.25,8 mm,25 kg,parent_thread_strip", "peak_load", "'25 kg' is not a force"),
    ("p2,original,M8x1.25,8 mm,25 mm,parent_thread_strip", "peak_load", "not a force"),
    ("p2,original,M8x1.25,8 kN,25 kN,parent_thread_strip", "engagement", "not a length"),
    ("p2,original,M8x1.25,8 mm,25,parent_thread_strip", "peak_load", "has no unit"),
    ("p2,original,M8x1.25,8 mm,-25 kN,parent_thread_strip", "peak_load", "must be above zero"),
    ("p2,original,M8x1.25,8 mm,0 kN,parent_thread_strip", "peak_load", "must be above zero"),
    ("p2,original,M8x1.25,8 mm,nan kN,parent_thread_strip", "peak_load", "not a force"),
    ("p2,original,M8x1.25,8 mm,1e999 kN,parent_thread_strip", "peak_load", "is not a force"),
    ("p2,original,M8x1.25,8 mm,,parent_thread_strip", "peak_load", "not a force"),
    ('p2,original,M8x1.25,8 mm,"25,3 kN",parent_thread_strip', "peak_load", "decimal comma"),
    ("p2,original,M8x1.25,8 mm,25,3 kN,parent_thread_strip", "peak_load", "decimal comma"),
    ("p2,original,M8x1.25,8,5 mm,25 kN,parent_thread_strip", "engagement", "decimal comma"),
    ('p2,original,M8x1.25,8 mm,"25,300 N",parent_thread_strip', "peak_load", "thousands"),
    ("P1,original,M8x1.25,8 mm,25 kN,parent_thread_strip", "piece", "already in row 2"),
    (",original,M8x1.25,8 mm,25 kN,parent_thread_strip", "piece", "no name"),
    ("p2,orignal,M8x1.25,8 mm,25 kN,parent_thread_strip", "state", "did you mean 'original'"),
    ("p2,original,M8x1.26,8 mm,25 kN,parent_thread_strip", "size", "M8x1.25"),
    ("p2,original,M8x1.25,8 mm,25 kN,parent_strip", "failure_mode", "parent_thread_strip"),
    ("p2,original,M8x1.25,8 mm,25.0 N,parent_thread_strip", "peak_load", "wrong unit?"),
]


@pytest.mark.parametrize(("row", "column", "text"), PLANTED)
def test_a_planted_fault_is_named_with_row_and_column(tmp_path, row, column, text):
    others = [ROW.format(f"q{i}", 25 + i / 10) for i in range(4)]
    found = faults(record(tmp_path, ROW.format("p1", 25), row, *others))
    assert len(found) == 1
    assert found[0].startswith(f"tests.csv: row 3, column {column}: ")
    assert text in found[0]


def test_a_column_without_one_good_cell_is_told_cell_by_cell(tmp_path):
    found = faults(record(tmp_path, "a,orig,M9x9,8 mm,25 kg,x", "b,orig,M9x9,1 D,25 kg,x"))
    assert [f.split(": ")[1] for f in found] == [
        f"row {row}, column {column}"
        for row in (2, 3)
        for column in ("state", "size", "peak_load", "failure_mode")
    ]


def test_all_faults_of_a_file_are_listed_at_once(tmp_path):
    rows = [ROW.format("p1", 25)]
    for i, (row, _, _) in enumerate(PLANTED[:13]):
        rows.append(row.replace("p2", f"x{i}"))
    rows.append("y,orignal,M9x9,8 kg,25 kg,strip")
    found = faults(record(tmp_path, *rows))
    assert len(found) == 13 + 5
    assert [f.split(",")[0].split("row ")[1] for f in found[:13]] == [str(i) for i in range(3, 16)]
    assert all("row 16" in f for f in found[13:])


def test_a_missing_column_is_named_with_its_likely_name(tmp_path):
    found = faults(
        record(
            tmp_path, "a,original,M8,8 mm,25 kN,x", header=HEADER.replace("peak_load", "peakload")
        )
    )
    assert found == (
        "tests.csv: row 1, column peak_load: the column is missing from the header; "
        "is it 'peakload'?",
    )


def test_a_column_twice_is_refused(tmp_path):
    found = faults(record(tmp_path, header=HEADER + ",state"))
    assert "column state: the column stands twice" in found[0]


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (b"", "no header"),
        (HEADER.encode(), "no test piece"),
        (b"\xff\x00p", "not UTF-8"),
        (HEADER.encode("utf-16-le"), "NUL characters"),
        (HEADER.encode("utf-16") + b"x", "not UTF-16 text"),
        (b"sep=|\n" + HEADER.encode(), "'sep=|' names no separator"),
        (b"piece;state,size\n", "semicolons part the header alike"),
        ((HEADER + "\na,original,M8\n").encode(), "3 cells where the header has 6"),
    ],
)
def test_broken_files_are_refused_in_words(tmp_path, content, text):
    path = tmp_path / "broken.csv"
    path.write_bytes(content)
    with pytest.raises(InputError, match=text):
        read(path)


def test_no_file_is_said(tmp_path):
    with pytest.raises(InputError, match="no file"):
        read(tmp_path / "nothing.csv")


def test_a_spreadsheet_mark_at_the_head_does_no_harm(tmp_path):
    path = tmp_path / "bom.csv"
    path.write_text("\ufeff" + HEADER + "\n" + ROW.format("a", 25) + "\n", encoding="utf-8")
    assert len(read(path).pieces) == 1


def test_a_header_that_contradicts_a_cell_is_a_fault(tmp_path):
    path = record(
        tmp_path,
        "a,original,M8,8 mm,25 N,parent_thread_strip",
        header=HEADER.replace("peak_load", "peak_load [kN]"),
    )
    assert "contradicts the unit 'kN'" in faults(path)[0]


def test_many_faults_are_counted_once_the_first_thousand_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(reading, "MOST_FAULTS", 5)
    rows = [f"p{i},original,M8,8 mm,{i} kg,strip" for i in range(1, 11)]
    found = faults(record(tmp_path, *rows))
    assert len(found) == 7
    assert found[5].endswith("rows 4 to 11, column failure_mode: 8 more faults")
    assert found[6].endswith("rows 5 to 11, column peak_load: 7 more faults")


def test_a_record_is_read_only(tmp_path):
    tests = read(known_record(tmp_path / "known.csv"))
    with pytest.raises(ValueError, match="read-only"):
        tests.groups()[0].load[0] = 1.0
    assert len(tests.pieces) == 24


@pytest.mark.slow
def test_a_hundred_thousand_rows_with_three_faults(tmp_path):
    path = tmp_path / "many.csv"
    planted = {5: "-3 kN", 50_000: '"25,3 kN"', 99_999: "25 mm"}
    with path.open("w") as file:
        file.write(HEADER + "\n")
        for i in range(100_000):
            load = planted.get(i, f"{24 + i % 200 / 100:.2f} kN")
            file.write(f"p{i},repaired,M8x1.25,1.5 D,{load},parent_thread_strip\n")
    found = faults(path)
    assert [f.split(":")[1].strip() for f in found] == [
        f"row {i + 2}, column peak_load" for i in planted
    ]


def test_curves_are_refused_and_a_column_without_any_is_told(tmp_path):
    rows = ROW.format("a", 25), ROW.format("b", 26)
    curved = f"{rows[0]},a.csv", ROW.format("b", -1) + ","
    told, other = faults(record(tmp_path, *curved, header=HEADER + ",Curve"))
    assert told.startswith("tests.csv: row 1, column curve: curves of single test pieces are not")
    assert "row 3, column peak_load" in other
    empty = read(record(tmp_path, *(f"{row}, " for row in rows), header=HEADER + ",Curve"))
    assert empty.ignored == ("Curve",) and len(empty.pieces) == 2


def test_a_number_with_a_unit_that_the_trade_writes():
    assert reading.quantity("1/2 in", "length", diameter=8) == pytest.approx(12.7)
    assert reading.header_unit("Peak-load (lbf)") == ("peak_load", "lbf")


# ---- scatter and shapes


def test_scatter_agrees_with_scipy():
    x = np.random.default_rng(3).normal(25, 1, 9)
    found = scatter(x)
    low, high = stats.t.interval(0.95, 8, x.mean(), stats.sem(x))
    assert (found.mean_low, found.mean_high) == pytest.approx((low, high))


@pytest.mark.parametrize("n", [3, 12, 200])
def test_weibull_fit_agrees_with_scipy(n):
    x = stats.weibull_min.rvs(25, scale=25e3, size=n, random_state=n)
    shape, _, scale = stats.weibull_min.fit(x, floc=0)
    found = fit(x, "weibull")
    # SciPy's simplex search stops at about 1e-5
    assert found.location == pytest.approx(scale, rel=1e-5)
    assert found.spread == pytest.approx(shape, rel=2e-4)


def test_anderson_darling_of_a_normal_agrees_with_scipy():
    x = np.random.default_rng(5).gamma(4, size=15)
    theirs = stats.goodness_of_fit(stats.norm, x, statistic="ad", n_mc_samples=10, rng=1)
    assert anderson_darling(x[None, :], "normal")[0] == pytest.approx(
        _ad(stats.norm(x.mean(), x.std(ddof=1)), x)
    )
    assert theirs.statistic == pytest.approx(anderson_darling(x[None, :], "normal")[0], rel=1e-9)


def _ad(distribution, x):
    """Textbook sum, by SciPy's distributions."""
    x, n = np.sort(x), len(x)
    i = np.arange(1, n + 1)
    inner = distribution.logcdf(x) + distribution.logsf(x[::-1])
    return -n - np.sum((2 * i - 1) / n * inner)


def test_anderson_darling_of_a_weibull_agrees_with_scipy():
    x = stats.weibull_min.rvs(20, scale=30, size=14, random_state=2)
    shape, _, scale = stats.weibull_min.fit(x, floc=0)
    ours = anderson_darling(np.log(x)[None, :], "weibull")[0]
    assert ours == pytest.approx(_ad(stats.weibull_min(shape, scale=scale), x), rel=1e-4)


def test_p_value_of_the_normal_check_agrees_with_scipy():
    x = np.random.default_rng(8).normal(25, 1, 12) ** 2
    theirs = stats.goodness_of_fit(stats.norm, x, statistic="ad", n_mc_samples=2000, rng=1).pvalue
    assert fit(x, "normal").p_value == pytest.approx(theirs, abs=0.04)


def test_a_wrong_shape_is_contradicted_and_the_right_one_is_not():
    x = np.random.default_rng(1).lognormal(10, 0.8, 40)
    found = {f.shape: f for f in fits(x)}
    assert found["normal"].rejected
    assert not found["lognormal"].rejected
    assert found["normal"].fact().id == "distribution_rejected"
    assert found["lognormal"].fact().id == "distribution_not_rejected"
    ten = fit(np.linspace(24, 27, 10), "lognormal").fact()
    assert ten.id == "distribution_not_rejected"
    few = fit([24, 25, 25.5, 26, 27, 24.5], "lognormal").fact()
    assert few.id == "distribution_not_rejected_few" and few.values["specimens"] == count(6)


def test_the_five_per_cent_check_rejects_five_per_cent():
    generator = np.random.default_rng(9)
    x = generator.normal(25, 1, (1000, 8))
    rejected = np.mean([fit(row, "normal").rejected for row in x])
    assert rejected == pytest.approx(0.05, abs=0.02)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: scatter([1.0]), "2 test pieces or more, got 1"),
        (lambda: scatter([1.0, math.nan]), "value 2 is not a number"),
        (lambda: scatter([1.0, -2.0]), "above zero"),
        (lambda: fit([1, 1, 1], "normal"), "the same load"),
        (lambda: k_factor(1, coverage=0.9, confidence=0.95), "two pieces"),
        (lambda: k_factor(10, coverage=99, confidence=0.95), "0.95 is 95 %"),
        (lambda: order_statistic_rank(10, coverage=99, confidence=0.95), "0.95 is 95 %"),
        (lambda: compare([1, 1], [2, 2], seed=1), "same load"),
        (lambda: over_prediction([1, 2, 3], {"m": [1, 2]}), "each of the 3 pieces"),
        (
            lambda: update_shear_strength([1.0], [1.0, 2.0], prior=Lognormal(median=1, log_sd=0.1)),
            "areas",
        ),
        *(
            # without scatter the bound of the first two was the load itself
            (lambda m=m: bound([2, 2, 2], m, coverage=0.9, confidence=0.95), "the same load")
            for m in METHODS
        ),
        (lambda: bound([1, 2, 3], "weibul", coverage=0.9, confidence=0.95), "weibull"),
        (lambda: bound([1, 2], "weibull", coverage=0.9, confidence=0.95), "3 test pieces"),
    ],
)
def test_impossible_input_is_refused_in_words(call, text):
    with pytest.raises(InputError, match=text):
        call()


# ---- tolerance bounds


@pytest.mark.parametrize("coverage", [0.99, 0.90])
@pytest.mark.parametrize("method", ["normal", "lognormal", "weibull"])
@pytest.mark.parametrize("n", [5, 12])
def test_bounds_cover_at_their_confidence(coverage, method, n):
    """2,000 data sets: 93 to 97 % of the bounds lie below the true quantile."""
    generator = np.random.default_rng(
        [n, round(100 * coverage), {"normal": 1, "lognormal": 2, "weibull": 3}[method]]
    )
    if method == "weibull":
        x = generator.weibull(30, (2000, n))
        scale, shape = weibull_fit(np.log(x))
        found = scale * np.exp(-weibull_factor(n, coverage=coverage, confidence=0.95) / shape)
        assert found[0] == pytest.approx(
            bound(x[0], "weibull", coverage=coverage, confidence=0.95).value
        )
        quantile = (-math.log(coverage)) ** (1 / 30)
    else:
        z = generator.standard_normal((2000, n))
        x = 25 + z if method == "normal" else np.exp(0.04 * z)
        k = k_factor(n, coverage=coverage, confidence=0.95)
        y = x if method == "normal" else np.log(x)
        found = y.mean(axis=1) - k * y.std(axis=1, ddof=1)
        single = bound(x[0], method, coverage=coverage, confidence=0.95).value
        assert (found[0] if method == "normal" else math.exp(found[0])) == pytest.approx(single)
        low = stats.norm.ppf(1 - coverage)
        quantile = 25 + low if method == "normal" else 0.04 * low
    assert 0.93 <= np.mean(found <= quantile) <= 0.97


def test_order_statistics_cover_whatever_the_shape():
    generator = np.random.default_rng(4)
    x = generator.gamma(3, size=(2000, 60))
    found = [bound(row, "order_statistic", coverage=0.90, confidence=0.95).value for row in x[:500]]
    covered = np.mean(np.array(found) <= stats.gamma.ppf(0.10, 3))
    # rank 2 of 60 holds with 98.6 % by the binomial distribution: ranks are whole numbers
    exact = 1 - stats.binom.cdf(1, 60, 0.1)
    assert covered == pytest.approx(exact, abs=0.02)


def test_too_few_pieces_for_one_order_statistic_are_bound_by_two():
    found = bound(np.arange(1, 13), "order_statistic", coverage=0.99, confidence=0.95)
    assert math.isnan(found.value)
    both = bounds(np.arange(1, 13), coverage=0.99, confidence=0.95)
    assert [each.method for each in both][-1] == "hanson_koopmans"


def test_a_bound_below_zero_is_said_to_be_useless():
    found = bound([1.0, 5.0], "normal", coverage=0.99, confidence=0.95)
    assert math.isnan(found.value) and found.note.id == "limit_says_nothing"
    far = bound([20.0, 25.0], "hanson_koopmans", coverage=0.99, confidence=0.95)
    assert far.value < 0.001 and far.note.id == "limit_says_little"


def test_bounds_stand_side_by_side():
    found = bounds(np.random.default_rng(1).normal(25, 1, 30), coverage=0.9, confidence=0.95)
    assert [b.method for b in found] == ["normal", "lognormal", "weibull", "order_statistic"]
    assert {b.claim for b in found} == {"90/95"}
    few = bounds([25.0, 26.0], coverage=0.9, confidence=0.95)
    assert [b.method for b in few] == ["normal", "lognormal", "hanson_koopmans"]
    three = bounds([25.0, 26.0, 27.0], coverage=0.9, confidence=0.95)
    assert [b.method for b in three] == ["normal", "lognormal", "weibull", "hanson_koopmans"]


def test_a_bound_by_two_pieces_by_hand():
    """CMH-17-1G, Table 8.5.14 and 8.5.15: k = 35.177 (90/95) and 80.0038 (99/95) for two pieces.

    25 (24.9/25)^35.177 = 25 exp(-0.0040080 x 35.177) = 25 x 0.86850 = 21.712;
    25 exp(-0.0040080 x 80.0038) = 25 x 0.72567 = 18.142.
    """
    found = bounds([24.9, 25.0], coverage=0.90, confidence=0.95)[-1]
    assert found.value == pytest.approx(21.712, abs=2e-3)
    found = bounds([24.9, 25.0], coverage=0.99, confidence=0.95)[-1]
    assert found.value == pytest.approx(18.142, abs=2e-3)
    # 51 pieces take the factor printed for 50
    found = bound(np.linspace(24, 26, 51), "hanson_koopmans", coverage=0.99, confidence=0.95)
    assert found.factor == 1.62313


def test_the_bound_by_two_pieces_covers_whatever_the_shape():
    generator = np.random.default_rng(31)
    for draw, quantile in (
        (lambda: generator.normal(25, 1, (2000, 6)), stats.norm.ppf(0.1, 25, 1)),
        (lambda: generator.weibull(20, (2000, 6)), stats.weibull_min.ppf(0.1, 20)),
        (lambda: 20 + generator.gamma(2, 1, (2000, 6)), 20 + stats.gamma.ppf(0.1, 2)),
    ):
        x = np.sort(draw(), axis=1)
        found = x[:, 4] * (x[:, 0] / x[:, 4]) ** 3.064  # Table 8.5.14: n = 6, rank 5
        assert found[0] == pytest.approx(
            bound(x[0], "hanson_koopmans", coverage=0.90, confidence=0.95).value
        )
        assert np.mean(found <= quantile) >= 0.94


def test_a_contradicted_shape_gives_no_bound_that_counts(tmp_path):
    """Two lots in one: ten pieces near 20 kN, ten near 30 kN fit none of the shapes."""
    loads = [20 + i / 100 for i in range(10)] + [30 + i / 100 for i in range(10)]
    rows = [ROW.format(f"a{i}", load) for i, load in enumerate(loads)]
    [group] = evidence(read(record(tmp_path, *rows)), seed=1).groups
    assert all(fit.rejected for fit in group.fits)
    assert group.governing("99/95").method == "hanson_koopmans"
    # 30.09 (20/30.09)^2.36683 = 30.09 exp(-2.36683 x 0.40843) = 30.09 x 0.38035 = 11.445 kN
    assert group.governing("99/95").value == pytest.approx(11445, rel=1e-3)


def test_the_least_bound_by_a_shape_that_fits_counts(tmp_path):
    values = stats.norm.ppf((np.arange(1, 13) - 0.3) / 12.4, 25, 1)
    rows = [ROW.format(f"a{i}", round(load, 3)) for i, load in enumerate(values)]
    [group] = evidence(read(record(tmp_path, *rows)), seed=1).groups
    assert not any(fit.rejected for fit in group.fits)
    shaped = [
        b.value
        for b in group.bounds
        if b.claim == "99/95" and b.method in {f.shape for f in group.fits}
    ]
    assert len(shaped) == 3 and group.governing("99/95").value == min(shaped)


def test_two_pieces_have_a_bound_and_one_has_none(tmp_path):
    two = evidence(read(record(tmp_path, ROW.format("a", 25), ROW.format("b", 24.9))), seed=1)
    assert two.groups[0].governing("99/95").method == "hanson_koopmans"
    one = evidence(read(record(tmp_path, ROW.format("a", 25))), seed=1)
    assert one.groups[0].governing("99/95") is None


def test_an_outlier_is_named_and_kept(tmp_path):
    """By hand: 9 pieces 25.0 to 25.8 kN and one at 22: mean 250.6/10 = 25.06, squares 11.004,
    sd sqrt(11.004/9) = 1.1057, distance 3.06/1.1057 = 2.767.

    Critical for ten pieces at 5 % on both sides: 2.290 (ASTM E178).
    """
    loads = [25.0, 25.1, 25.2, 25.3, 25.4, 25.5, 25.6, 25.7, 25.8, 22.0]
    rows = [ROW.format(f"a{i}", load) for i, load in enumerate(loads)]
    [group] = evidence(read(record(tmp_path, *rows)), seed=1).groups
    assert group.outlier.piece == "a9" and group.outlier.found
    assert group.outlier.distance == pytest.approx(2.767, abs=1e-3)
    assert group.outlier.critical == pytest.approx(2.290, abs=1e-3)
    assert group.scatter.n == 10 and group.scatter.least == 22000
    assert [f.values.get("specimen") for f in group.cautions if f.id == "outlier"] == ["a9"]


# ---- comparison


def test_welch_and_permutation_agree_with_scipy():
    generator = np.random.default_rng(6)
    x, y = generator.normal(25, 1, 8), generator.normal(26, 1.5, 10)
    found = compare(x, y, seed=3)
    # the p-value is that of the ratio, so that it says what the interval of the ratio says
    assert found.welch_p == pytest.approx(
        stats.ttest_ind(np.log(y), np.log(x), equal_var=False).pvalue
    )
    permuted = stats.permutation_test(
        (np.log(x), np.log(y)),
        lambda a, b, axis: np.abs(stats.ttest_ind(a, b, axis=axis, equal_var=False).statistic),
        vectorized=True,
        alternative="greater",
        n_resamples=4000,
        rng=np.random.default_rng(1),
    )
    assert found.permutation_p == pytest.approx(permuted.pvalue, abs=0.03)


def test_permutation_of_few_pieces_counts_every_split():
    """Of 20 splits of 3 + 3 two are the most extreme: p = 2/20, which decides nothing at 5 %."""
    found = compare([1.0, 1.1, 1.2], [2.0, 2.1, 2.2], seed=1)
    assert found.permutation_p == pytest.approx(0.1)
    assert found.verdict == "stronger" and found.contradicted
    assert not compare([1.0, 1.1, 1.2, 1.15], [2.0, 2.1, 2.2, 2.15], seed=1).contradicted


def test_interval_and_p_value_of_the_ratio_never_disagree():
    generator = np.random.default_rng(14)
    for _ in range(40):
        x, y = generator.lognormal(0, 0.05, 5), generator.lognormal(0.06, 0.09, 7)
        found = compare(x, y, seed=1)
        assert (found.welch_p < 0.05) == (found.verdict != "not decided")


def test_interval_of_the_ratio_covers_at_its_confidence(monkeypatch):
    """1,000 pairs of data sets with unequal scatter and size; the permutations are another test."""
    monkeypatch.setattr(stats, "permutation_test", lambda *_, **__: SimpleNamespace(pvalue=1.0))
    generator = np.random.default_rng(12)
    covered = 0
    for _ in range(1000):
        x = 25 * np.exp(0.03 * generator.standard_normal(10))
        y = 25 * 1.18 * np.exp(0.05 * generator.standard_normal(14))
        found = compare(x, y, seed=1)
        covered += found.ratio_low <= 1.18 <= found.ratio_high
    assert 0.93 <= covered / 1000 <= 0.97


def test_verdict_follows_the_interval():
    x = 25 + np.array([-0.5, 0.0, 0.5, 0.2])
    assert compare(x, 1.3 * x, seed=1).verdict == "stronger"
    assert compare(1.3 * x, x, seed=1).verdict == "weaker"
    undecided = compare(x, x + 0.01, seed=1)
    assert undecided.verdict == "not decided"
    assert undecided.fact().id == "comparison_not_decided"


def test_over_prediction_of_each_method():
    x = np.array([24.0, 25.0, 26.0])
    safe, unsafe, same = over_prediction(x, {"low": 15, "high": 40, "fit": [24, 25, 26.1]})
    assert (safe.verdict, unsafe.verdict, same.verdict) == ("safe side", "unsafe side", "agrees")
    assert unsafe.high < 1 < safe.low
    # by hand: logarithms of -0.1, 0 and 0.1, Student with 2 degrees of freedom 4.303
    (hand,) = over_prediction(20 * np.exp([-0.1, 0.0, 0.1]), {"hand": 20})
    assert (hand.least, hand.greatest) == pytest.approx((math.exp(-0.1), math.exp(0.1)))
    assert all(hand.values()[end].value == getattr(hand, end) for end in ("low", "high", "least"))
    assert np.log([hand.low, hand.ratio, hand.high]) == pytest.approx(
        np.array([-1, 0, 1]) * 4.303 * 0.1 / math.sqrt(3), abs=1e-4
    )
    single = over_prediction([25.0], {"one": 20})[0]
    assert single.ratio == pytest.approx(1.25)
    assert single.verdict == "not decided" and math.isnan(single.low)


# ---- update of the shear strength


def test_conjugate_update_by_hand():
    """Prior 200 MPa, 4 %; four pieces at ln-mean of 210 MPa, 4 %: weights 1 to 4."""
    found = update_shear_strength(
        [210.0] * 4, 1.0, prior=Lognormal(median=200, log_sd=0.04), scatter=0.04
    )
    assert found.posterior.median == pytest.approx(200 ** (1 / 5) * 210 ** (4 / 5))
    assert found.posterior.log_sd == pytest.approx(0.04 / math.sqrt(5))


@pytest.mark.parametrize(
    ("level", "scatter", "n"), [(210, 0.03, 7), (300, 0.15, 400), (130, 0.15, 400)]
)
def test_grid_agrees_with_the_conjugate_answer(level, scatter, n):
    """Precisions add: those of the pieces, near the prior or far off, to a prior of 5 %."""
    logs = math.log(level) + scatter * np.random.default_rng(2).standard_normal(n)
    prior = Lognormal(median=200, log_sd=0.05)
    found = update_shear_strength(np.exp(logs), 1.0, prior=prior, scatter=scatter)
    own, weight = 1 / 0.05**2, n / scatter**2
    centre, sd = (
        (own * math.log(200) + weight * logs.mean()) / (own + weight),
        (own + weight) ** -0.5,
    )
    assert found.posterior.median == pytest.approx(math.exp(centre), rel=1e-6)
    assert found.posterior.log_sd == pytest.approx(sd, rel=1e-4)
    low, high = np.exp(centre + sd * stats.norm.ppf([0.05, 0.95]))
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-4)


def test_known_truth_is_recovered_from_a_record(tmp_path):
    group = read(known_record(tmp_path / "known.csv", n=40)).groups()[0]
    found = update_shear_strength(group.load, AREA, prior=Lognormal(median=190, log_sd=0.06))
    assert found.low < TRUE_TAU < found.high
    assert found.posterior.median == pytest.approx(TRUE_TAU, rel=0.015)
    assert found.scatter == pytest.approx(TRUE_SCATTER, rel=0.3)
    assert found.cautions() == ()


def test_credible_interval_covers_when_the_prior_is_true():
    """2,000 lots drawn from the prior, six pieces each: 95 % intervals hold 93 to 97 %."""
    generator = np.random.default_rng(21)
    prior = Lognormal(median=200, log_sd=0.05)
    covered = 0
    for _ in range(2000):
        level = prior.median * math.exp(prior.log_sd * generator.standard_normal())
        x = level * np.exp(0.03 * generator.standard_normal(6))
        found = update_shear_strength(x, 1.0, prior=prior, scatter=0.03, credible=0.95)
        covered += found.low <= level <= found.high
    assert 0.93 <= covered / 2000 <= 0.97


def test_a_broken_screw_raises_the_strength():
    x, prior = [210.0, 212.0, 208.0, 205.0], Lognormal(median=200, log_sd=0.05)
    plain = update_shear_strength(x, 1.0, prior=prior)
    broke = update_shear_strength(x, 1.0, prior=prior, screw_broke=[True, False, False, False])
    assert broke.posterior.median > plain.posterior.median
    [first, few] = broke.cautions()
    assert (first.id, few.id) == ("screw_first", "scatter_little_known")
    assert (first.values["screws"], first.values["specimens"]) == (count(1), count(4))
    only = update_shear_strength(x, 1.0, prior=prior, screw_broke=[True] * 4)
    assert only.posterior.median > 200


def test_tests_far_from_the_prior_are_said_to_conflict():
    found = update_shear_strength(
        [150.0, 151.0, 149.0], 1.0, prior=Lognormal(median=200, log_sd=0.04)
    )
    assert [f.id for f in found.cautions()] == ["strength_conflict_below", "scatter_little_known"]
    assert found.cautions()[1].values["specimens"] == count(3)


def test_margin_moves_with_the_strength():
    found = update_shear_strength(
        [210.0] * 4, 1.0, prior=Lognormal(median=200, log_sd=0.04), scatter=0.04
    )
    for wrong in ("area", "demand"):
        with pytest.raises(InputError, match=f"^{wrong}"):
            margin_effect(found, **{"area": 100, "demand": 15000, wrong: 0}, bound=165.0)
    effect = margin_effect(found, area=100, demand=15000, bound=165.0)
    assert effect["at_bound"] == pytest.approx(165 * 100 / 15000 - 1)  # +0.10
    assert effect["before"] == pytest.approx(found.prior.mean / 150 - 1)
    assert effect["after_low"] < effect["after"]
    assert effect["after"] > effect["before"]


# ---- planning


def test_planned_pieces_reach_their_power():
    plan = pieces_for_bound(requirement=21000, mean=25000, cov=0.036, coverage=0.99)
    generator = np.random.default_rng(1)
    for n, enough in ((plan.n, True), (plan.n - 1, False)):
        x = generator.normal(25000, 900, (20000, n))
        k = k_factor(n, coverage=0.99, confidence=0.95)
        shown = np.mean(x.mean(axis=1) - k * x.std(axis=1, ddof=1) >= 21000)
        assert (shown >= 0.80 - 0.01) if enough else (shown < 0.80 + 0.01)


def test_planned_comparison_reaches_its_power():
    plan = pieces_for_ratio(expected=1.05, cov=0.04)
    generator = np.random.default_rng(2)
    x = np.log(1 + 0.04 * generator.standard_normal((5000, plan.n)))
    y = np.log(1.05 * (1 + 0.04 * generator.standard_normal((5000, plan.n))))
    ends = stats.ttest_ind(y, x, axis=1, equal_var=False).confidence_interval(0.95)
    assert np.mean(ends.low > 0) == pytest.approx(plan.power, abs=0.02)  # as `compare` decides
    # Of three and three the permutation test can contradict any result: 2 of 20 splits.
    assert pieces_for_ratio(expected=1.5, cov=0.02).n == 4


def test_planned_pieces_reach_the_load_by_the_limit_that_counts():
    claim = {"coverage": 0.99, "confidence": 0.95}
    asked = {"requirement": 21.7, "mean": 31.0, "cov": 0.05, **claim}
    of_shape, generator = stats.weibull_min, np.random.default_rng(3)
    shape = optimize.brentq(lambda k: of_shape.std(k) / of_shape.mean(k) - 0.05, 5, 99)

    def shown(n):
        reached = 0
        for loads in 31.0 / of_shape.mean(shape) * generator.weibull(shape, (400, n)):
            sound = {each.shape for each in fits(loads) if not each.rejected}
            of_shapes = (each.value for each in bounds(loads, **claim) if each.method in sound)
            reached += min(of_shapes, default=0) >= 21.7
        return reached / 400

    plan = pieces_for_bound(**asked, shape="weibull")
    assert shown(plan.n) == pytest.approx(plan.power, abs=0.1)
    by_normal = pieces_for_bound(**asked)
    assert by_normal.power > 0.8 and shown(by_normal.n) < 0.6
    with pytest.raises(ValidityError, match="no number of pieces"):
        pieces_for_bound(**{**asked, "requirement": 29.0}, shape="weibull")


def test_claims_that_no_number_of_pieces_can_show():
    with pytest.raises(ValidityError, match="no number of pieces"):
        pieces_for_bound(requirement=24500, mean=25000, cov=0.04, coverage=0.99)
    with pytest.raises(ValidityError, match="no number of pieces"):
        pieces_for_ratio(expected=1.0, cov=0.04)
    with pytest.raises(ValidityError, match="more than 2000"):
        pieces_for_ratio(expected=1.0005, cov=0.04)


def test_small_samples_say_what_they_cannot_show():
    assert [f.id for f in cannot_show(1)[:2]] == ["no_scatter", "distribution_unknown_one"]
    three = cannot_show(3)[0]
    assert three.id == "scatter_unknown"
    assert three.values["times"].value == pytest.approx(6.285, abs=1e-3)  # sqrt(2/chi2(0.025, 2))
    assert three.values["factor"].value == pytest.approx(10.55, abs=5e-3)  # Handbook 91, A-7
    assert [f.values["needed"] for f in cannot_show(100)] == [count(299)]
    assert cannot_show(299) == ()
    assert pieces_without_failure(coverage=0.90, confidence=0.90) == 22


# ---- the whole record


def test_evidence_of_the_demo():
    found = evidence(
        read(DEMO), seed=7, predictions={("original", "M8x1.25", 8.0): {"some_method": 25000.0}}
    )
    assert found.comparison.verdict == "stronger"
    assert found.comparison.seed == 7
    assert found.groups[0].governing("99/95").value < found.groups[0].governing("90/95").value
    assert [a.method for a in found.groups[0].agreement] == ["some_method"]


def test_evidence_of_one_piece_only_says_what_is_missing(tmp_path):
    found = evidence(read(record(tmp_path, ROW.format("a", 25))), seed=1)
    assert found.comparison is None
    assert found.groups[0].scatter is None
    assert {"no_scatter", "not_compared_groups"} <= {c.id for c in found.cautions()}


@pytest.mark.parametrize("alone", ["original", "repaired"])
def test_one_piece_of_a_condition_is_not_compared_with_several_of_the_other(tmp_path, alone):
    states = ("repaired", "original", "repaired" if alone == "original" else "original")
    rows = [ROW.format(i, 25 + i).replace("original", state) for i, state in enumerate(states)]
    found = evidence(read(record(tmp_path, *rows)), seed=1)
    assert found.not_compared.id == "not_compared_few"


def test_mixed_modes_are_cautioned_against(tmp_path):
    rows = [ROW.format(f"a{i}", 25 + i / 10) for i in range(3)]
    rows.append("b,original,M8x1.25,8 mm,25 kN,screw_tension")
    tests = read(record(tmp_path, *rows))
    said = tests.groups()[0].caution()
    assert said.id == "mixed_modes"
    assert [mode.id for mode in said.values["modes"]] == ["parent_thread_strip", "screw_tension"]


def test_a_state_of_two_lengths_is_not_pooled(tmp_path):
    tests = read(
        record(tmp_path, ROW.format("a", 25), "b,original,M8x1.25,12 mm,37 kN,parent_thread_strip")
    )
    assert [group.engagement for group in tests.groups()] == [8, 12]
