"""Designations as the trade writes them, and what is said of wrong ones."""

import pytest

from thread_repair import threads
from thread_repair.errors import InputError, UnknownNameError

RIGHT = {
    "M8": ("M8x1.25", None, None),
    "M8x1": ("M8x1", None, None),
    "M8 x 1.25 - 6H": ("M8x1.25", "6H", None),
    "M10x1.5-5H6H": ("M10x1.5", "5H6H", None),
    "m8X1.25-6g": ("M8x1.25", None, "6g"),
    "M8×1.25–6H/6g": ("M8x1.25", "6H", "6g"),
    "M20x2-4g6g": ("M20x2", None, "4g6g"),
    "M8-1.25": ("M8x1.25", None, None),
    "M2x0.35": ("M2x0.35", None, None),  # not in ISO 261, but with tolerances in ISO 965-1
    "M8,0x1,25": ("M8x1.25", None, None),
    "Ｍ８ｘ１": ("M8x1", None, None),
    "M12-6AZ": ("M12x1.75", "6AZ", None),
    "M36x4-6az": ("M36x4", None, "6az"),
    "1/4-20 UNC-2B": ("1/4-20 UNC", "2B", None),
    ".250-28 UNF-3A": ("1/4-28 UNF", None, "3A"),
    ".312-24 UNF": ("5/16-24 UNF", None, None),
    "10-32 UNF": ("10-32 UNF", None, None),
    "#10-32": ("10-32 UNF", None, None),
    "UNF #10-32": ("10-32 UNF", None, None),
    "UNC 1/4-20 2B": ("1/4-20 UNC", "2B", None),
    "BSW 3/8": ("3/8 BSW", None, None),
    "No. 10-32": ("10-32 UNF", None, None),
    "0.190-32": ("10-32 UNF", None, None),
    "1/4-20": ("1/4-20 UNC", None, None),
    '1/4"-20': ("1/4-20 UNC", None, None),
    "1/4 UNC": ("1/4-20 UNC", None, None),
    "1/4-20 UNRC-2A": ("1/4-20 UNC", None, "2A"),
    "1 1/4-7 UNC": ("1 1/4-7 UNC", None, None),
    "1-1/4-7 unc": ("1 1/4-7 UNC", None, None),
    "1¼-7 UNC": ("1 1/4-7 UNC", None, None),
    "½-13 UNC": ("1/2-13 UNC", None, None),
    "1-8 UNC": ("1-8 UNC", None, None),
    "1-64": ("1-64 UNC", None, None),
    "2-4 1/2 UNC": ("2-4.5 UNC", None, None),
    "1 1/2 8-UN": ("1 1/2-8 UN", None, None),
    "6-32 UNC 2A/2B": ("6-32 UNC", "2B", "2A"),
    "1/4-27": ("1/4-27 UNS", None, None),
    "19/64-36 UNS": ("19/64-36 UNS", None, None),
    "0.235-20 UNS": ("0.235-20 UNS", None, None),
    "3/8 BSF": ("3/8 BSF", None, None),
    "3/8-16 BSW": ("3/8 BSW", None, None),
    "1½ whitworth": ("1 1/2 BSW", None, None),
    "1/2 BSW close": ("1/2 BSW", "close", "close"),
    "1/2 BSF free": ("1/2 BSF", "normal", "free"),
    "1/2 BSF normal": ("1/2 BSF", "normal", "free"),
}


def test_read(every) -> None:
    @every(RIGHT)
    def _(text):
        thread = threads.thread(text)
        assert (thread.designation, thread.hole_class, thread.screw_class) == RIGHT[text]


WRONG = {
    "M8x1.3": "M8x1.25",
    "M8.5": "M8x1.25",
    "M8x1.25x20": "M8x1.25",
    "M8x1.25-6Q": "M8x1.25",
    "M8-9H": "8H",
    "M8-6h6H": "6H",
    "M10 fine": "M10x1",
    "1/4-21 UNC": "1/4-20 UNC",
    "1/4-20 UNF": "1/4-20 UNC",
    "1/4-20 UNC-4B": "1/4-20 UNC",
    "1-8 UN": "1-8 UNC",
    "1 UNC": "1-64 UNC or 1-8 UNC",
    "#7-32": "6-32 UNC",
    "3/8-20 BSW": "mean 3/8 BSF",  # of 20 threads per inch
    "3/7 BSF": "7/16 BSF",
    "1/2 BSW 2B": "close",
    "1/4-20 UNC close": "2B",
    "UNC 1/4-20 UNF": "UNF",
    "1/0-20 UNC": "denominator is zero",
    "1 1/2-8 12UN": "two numbers of threads per inch",
    "MJ8x1": "MJ threads are not covered",
    "1/4-28 UNJF": "UNJ threads are not covered",
    "M8 LH": "left-hand",
    "1/4 NPT": "pipe",
    "Tr20x4": "trapezoidal",
    "": "write for example",
    "nonsense": "write for example",
    "M٨": "write for example",
    "M8\x00": "M8x1",
    "M" + "9" * 58: "write for example",
    "x" * 100_000: "at most 60 characters",
}


def test_refused_in_one_sentence_with_the_nearest(every) -> None:
    @every(WRONG)
    def _(text):
        with pytest.raises(InputError) as caught:
            threads.thread(text)
        message = str(caught.value).replace("1B to 3B", "2B")
        assert WRONG[text] in message
        assert "\n" not in message
        assert len(message) < 200


@pytest.mark.parametrize("value", [None, 8, ["M8"], b"M8"])
def test_only_text_is_read(value: object) -> None:
    with pytest.raises(InputError, match="a thread designation is text"):
        threads.thread(value)  # type: ignore[arg-type]


def test_canonical_names_are_unique_and_read_back() -> None:
    known = threads.known()
    assert len(set(threads.names())) == len(known) > 600
    for thread in known:
        assert threads.thread(thread.designation) == thread
        assert threads.thread(thread.designation.lower()) == thread


def test_unknown_classes_name_the_nearest() -> None:
    for text, thread_class, hint in (
        ("M8", "6h", "6H"), ("M8", "5H6G", "5H6H"), ("1/4-20", "2A", "2B"), ("3/8 BSF", "tight", "close"),
    ):  # fmt: skip
        with pytest.raises(UnknownNameError, match=hint):
            threads.internal_limits(threads.thread(text), thread_class)
