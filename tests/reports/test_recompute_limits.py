"""Whoever has only the PDF on pull tests can recompute its tolerance limits.

Nothing of the package is imported below `loads_of`: loads, factors and limits come from the text of
the document; the formulas are those of the documents that it names, by a general library.
"""

import re
import unicodedata

import numpy as np
import pytest
from scipy import stats

pytestmark = pytest.mark.slow

STATES = ("original", "repaired")
CLAIMS = {"99/95": (0.99, 0.95), "90/95": (0.90, 0.95)}


@pytest.fixture(scope="module")
def text(shipped_pages):
    found = "\n".join(shipped_pages("pull_test_evidence", "pull-tests-demo"))
    return re.sub(r"\s+", " ", unicodedata.normalize("NFC", found).replace("−", "-"))


def loads_of(text, state):
    found = re.findall(rf"[AB]\d\d {state} thread (\d+\.\d+) parent thread, stripping", text)
    assert len(found) == 12
    return np.array([float(each) for each in found])


def limit(text, state, claim, distribution):
    """Factor and limit as the table has them."""
    row = re.search(
        rf"{state} thread {claim} {re.escape(distribution)} 12 (\d+\.\d+) (\d+\.\d+)", text
    )
    return float(row[1]), float(row[2])


def symbols(text, words):
    start = text.rindex("Symbols of the tolerance limits: meaning and value")
    row = re.search(rf"{re.escape(words)} ([\d.]+) ([\d.]+) ", text[start:])
    return dict(zip(STATES, map(float, row.groups()), strict=True))


def tolerance_factor(pieces, coverage, confidence):
    """ISO 16269-6: by the noncentral t distribution."""
    shift = stats.norm.ppf(coverage) * np.sqrt(pieces)
    return stats.nct.ppf(confidence, pieces - 1, shift) / np.sqrt(pieces)


def recompute(text):
    count = 0
    for state in STATES:
        load = loads_of(text, state)
        logs = np.log(load)
        shape, _, scale = stats.weibull_min.fit(load, floc=0)
        printed = {
            "mean load of the specimens": load.mean(),
            "standard deviation of the loads": load.std(ddof=1),
            "geometric mean of the loads": np.exp(logs.mean()),
            "standard deviation of the logarithms of the loads": logs.std(ddof=1),
            "Weibull scale, by maximum likelihood": scale,
            "Weibull shape, by maximum likelihood": shape,
            "lowest load": load.min(),
        }
        for words, value in printed.items():
            assert symbols(text, words)[state] == pytest.approx(value, rel=1.5e-3), words
        for claim, pair in CLAIMS.items():
            k = tolerance_factor(load.size, *pair)
            factor, normal = limit(text, state, claim, "normal")
            assert factor == pytest.approx(k, abs=6e-4)
            assert normal == pytest.approx(load.mean() - k * load.std(ddof=1), abs=0.011)
            factor, lognormal = limit(text, state, claim, "lognormal")
            assert factor == pytest.approx(k, abs=6e-4)
            assert lognormal == pytest.approx(np.exp(logs.mean() - k * logs.std(ddof=1)), abs=0.011)
            factor, weibull = limit(text, state, claim, "Weibull")
            assert weibull == pytest.approx(scale * np.exp(-factor / shape), abs=0.02)
            exponent, free = limit(text, state, claim, "any usual (Hanson-Koopmans)")
            by_rank = load * (load.min() / load) ** exponent
            assert np.abs(by_rank - free).min() < 0.02
            count += 4
    return count


def test_the_printed_limits_can_be_recomputed(text):
    assert recompute(text) == 16


@pytest.mark.parametrize(
    "words", ["normal 12 3.747 ", "mean load of the specimens ", "Weibull 12 4.066 "]
)
def test_a_limit_that_is_wrong_is_seen(text, words):
    """The check can fail: one printed number is raised by 2 %."""
    start = text.rindex(words) + len(words)
    number = re.match(r"[\d.]+", text[start:])[0]
    with pytest.raises(AssertionError):
        recompute(text[:start] + f"{float(number) * 1.02:.4g}" + text[start + len(number) :])


def test_every_equation_of_a_limit_has_a_number(text):
    """Moments, factor and four limits: nine equations at the end of the report."""
    appendix = text[text.rindex("Appendix: equations of the tolerance limits") :]
    assert [n for n in range(1, 10) if f"({n})" in appendix] == list(range(1, 10))
