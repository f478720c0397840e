"""Any bytes as a case file, any text as a thread or quantity: a value or an error of ours.

`python tests/properties/test_fuzz_input.py [seconds]` runs the same targets under atheris, which
follows the branches of the code (pip install atheris).
"""

import math
import sys
import tempfile
from pathlib import Path

import hypothesis.strategies as st
import pytest
from hypothesis import example, given, settings

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import threads
from thread_repair.errors import ThreadRepairError
from thread_repair.units import parse

pytestmark = pytest.mark.usefixtures("little_memory")

#: Pieces of the two grammars, so that random text gets past the first check.
THREAD = st.lists(
    st.sampled_from(
        ["M", "8", "1.25", "x", "×", "-", "6H", "6g", "/", "1/4", "20", "UNC", "UNF", "UN", "BSF",
         "BSW", "W", "#", "10", " ", ".", "0", "3/8", "\"", "in", "2B", "5", "UNS", ",", "½"]
    ),
    max_size=9,
).map("".join)  # fmt: skip
QUANTITY = st.lists(
    st.sampled_from(
        ["1", "0", ".", "-", "+", "e", "9", " ", "mm", "in", "D", "kN", "N", "MPa", "ksi", "degC",
         "°F", "/", "*", "**", "^", "(", ")", "nan", "inf", ",", "_", "²", "·", "m", "K"]
    ),
    max_size=10,
).map("".join)  # fmt: skip
DIMENSIONS = ("length", "force", "stress", "temperature", "torque")


def sentence(error):
    text = str(error)
    assert text and "Traceback" not in text
    assert all(len(line) < 1500 for line in text.splitlines())


def check_thread(text):
    try:
        thread = threads.thread(text)
    except ThreadRepairError as error:
        sentence(error)
        return
    assert 0 < thread.pitch < thread.major < 1000
    assert threads.thread(thread.designation).major == thread.major


def check_quantity(text, dimension):
    try:
        value = parse(text, dimension, diameter=8.0)
    except ThreadRepairError as error:
        sentence(error)
        return
    assert math.isfinite(value)


def check_file(content):
    with tempfile.TemporaryDirectory() as name:
        file = Path(name) / "case.yaml"
        file.write_bytes(content)
        try:
            case = cases.load(file)
        except ThreadRepairError as error:
            sentence(error)
            return
    assert case.engagement > 0 and math.isfinite(case.insert_length)


@settings(deadline=None, max_examples=200)
@given(THREAD | st.text(max_size=30))
@example("M8x1.25-6H/6g")
@example("1/0-20 UNC")
def test_any_text_as_a_thread(text):
    check_thread(text)


@settings(deadline=None, max_examples=200)
@given(QUANTITY | st.text(max_size=30), st.sampled_from(DIMENSIONS))
@example("1e400 mm", "length")
@example("2**2**2**2**99 mm", "length")
def test_any_text_as_a_quantity(text, dimension):
    check_quantity(text, dimension)


@settings(deadline=None, max_examples=120)
@given(st.binary(max_size=200))
@example(b"a: &a [*a]")
@example(b"title: !!python/object/apply:os.getcwd []")
def test_any_bytes_as_a_case_file(content):
    check_file(content)


BASE = {"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "8 mm",
        "insert_length": "1 D"}  # fmt: skip


@settings(deadline=None, max_examples=120)
@given(
    st.dictionaries(
        st.sampled_from(cases.keys()) | st.text(max_size=12),
        st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=20) | QUANTITY,
        max_size=6,
    )
)
def test_any_mapping_as_a_case(entered):
    try:
        case = cases.read({**BASE, **entered})
    except ThreadRepairError as error:
        sentence(error)
        # Made in Python it is refused alike, but for names that Python does not take.
        known = {key: value for key, value in entered.items() if key in cases.keys()}  # noqa: SIM118
        if known == entered:
            with pytest.raises(ThreadRepairError) as made:
                cases.Case(**{**BASE, **entered})
            assert str(made.value) == str(error)
        return
    check_evaluated(case)


def check_evaluated(case):
    """What is read is evaluated, or refused in a sentence; never a fault of the program."""
    try:
        found = tr.evaluate(case)
        sheet = cases.sheet(case)
    except ThreadRepairError as error:
        sentence(error)
        return
    assert found.pull_out_ratio > 0 and sheet.steps


#: Sizes from absurdly small to absurdly large, in any unit.
EXTREME = st.builds(
    "{}e{} {}".format,
    st.integers(1, 9),
    st.integers(-330, 330) | st.integers(-3, 6),
    st.sampled_from(["mm", "in", "m", "D", "N", "kN", "MPa", "degC", "N·m", ""]),
)


@settings(deadline=None, max_examples=300)
@given(st.dictionaries(st.sampled_from(cases.keys()), EXTREME, min_size=1, max_size=3))
@example({"tool_set_down": "1e12 mm"})  # once a tuple of 2e12 shims
@example({"tool_set_down": "1e4 mm"})  # the longest that is read at all
@example({"engagement": "1e-320 mm"})
@example({"insert_length": "1e-2 mm"})
@example({"quantity": "999999999"})
def test_any_size_as_a_case(entered):
    try:
        case = cases.read({**BASE, **entered})
    except ThreadRepairError as error:
        sentence(error)
        return
    check_evaluated(case)


def main():
    import atheris

    atheris.instrument_all()

    def one(data):
        provider = atheris.FuzzedDataProvider(data)
        which = provider.ConsumeIntInRange(0, 3)
        if which == 0:
            check_thread(provider.ConsumeUnicode(60))
        elif which == 1:
            dimension = provider.PickValueInList(list(DIMENSIONS))
            check_quantity(provider.ConsumeUnicode(60), dimension)
        elif which == 2:
            check_file(provider.ConsumeBytes(2000))
        else:
            text = provider.ConsumeUnicodeNoSurrogates(2000)
            check_file(b"thread: M8\nscrew: '8.8'\nparent: 6061-T6\n" + text.encode())

    seconds = sys.argv[1] if len(sys.argv) > 1 else "600"
    atheris.Setup([sys.argv[0], f"-max_total_time={seconds}", "-timeout=20"], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
