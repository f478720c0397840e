"""Read a thread designation as the trade writes it."""

import difflib
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache, lru_cache

from .. import files
from ..errors import InputError, UnknownNameError, nearest
from . import iso, unified, whitworth
from .profile import Thread

#: No designation of the systems covered is longer; longer text is refused unread.
LONGEST = 60

_SIGNS = str.maketrans(
    {"×": "x", "✕": "x", "✖": "x", "*": "x", "⁄": "/", "∕": "/", "″": '"', "”": '"', "“": '"',
     "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "−": "-"}
)  # fmt: skip
_TIMES = re.compile(r"(?<=[\d ])X(?=[\d .,])")
_VULGAR_FRACTION = re.compile(r"(?<=\d)(?=[¼½¾⅐-⅞])")

_METRIC = re.compile(
    r"""M\ ?(?P<major>\d{1,3}(?:[.,]\d{1,3})?)
    (?:\ ?[x-]\ ?(?P<pitch>\d{1,2}(?:[.,]\d{1,3})?)(?![\w/]))?
    (?:\ ?-?\ ?(?P<classes>\d(?:A[ZX]|az|[EFGHefgh])[0-9A-Za-z]{0,4}
        (?:\ ?/\ ?\d[0-9A-Za-z]{1,5})?))?\Z""",
    re.VERBOSE | re.ASCII,
)
_SERIES = r"UNR?(?:C|F|EF|S)?|BSW|BSF|WHITWORTH|WHIT\.?"
_INCH = re.compile(
    rf"""(?:(?P<before>{_SERIES})\ )?(?P<number>\#|NO\.?|NUMBER)?\ ?
    (?P<size>(?:\d{{1,2}}[ -])?\d{{1,3}}/\d{{1,3}}|\d{{0,2}}\.\d{{1,5}}|\d{{1,2}})
    \ ?(?P<inches>"|IN\.?|INCH)?
    (?:\ ?[-x ]\ ?(?P<count>\d{{1,2}}(?:\.\d{{1,2}}|[ -]1/2)?)(?:\ ?TPI)?)?
    (?(before)|(?:\ ?[- ]?\ ?(?:(?P<constant>\d{{1,2}})[- ]?)?(?P<series>{_SERIES}))?)
    (?:\ ?[- ,]?\ ?(?P<classes>[123][AB](?:\ ?[/,]\ ?[123][AB])?|CLOSE|MEDIUM|FREE|NORMAL)
        (?:\ (?:CLASS|FIT))?)?\Z""",
    re.VERBOSE | re.ASCII,
)
#: The size that unreadable text may start with.
_SIZE = re.compile(r"M\d{1,2}(?:\.\d)?(?![\d.])|(?:\d{1,2} )?\d{1,2}/\d{1,2}|\d{1,2}(?![\d.])")
#: Threads that look like ours but are not: pattern, kind, hint.
_OTHERS: Sequence[tuple[str, str, str]] = files.data("thread_systems.toml")["others"]
_EXAMPLES = "M8x1.25, 1/4-20 UNC or 3/8 BSF"


def known() -> tuple[Thread, ...]:
    """Return every thread that is known by name: metric, Unified, Whitworth.

    Others are valid too: metric pitches within the tolerance tables of ISO 965-1, Unified special
    threads (UNS) of any diameter to 6 in.

    Returns
    -------
    tuple of Thread
    """
    return (*iso.known(), *unified.known(), *whitworth.known())


@cache
def names() -> tuple[str, ...]:
    """Return the canonical designations of the known threads, to be typed first in a case.

    Returns
    -------
    tuple of str
    """
    return tuple(known_thread.designation for known_thread in known())


def thread(text: str) -> Thread:
    """Return the thread that a designation names, with the classes it states.

    Parameters
    ----------
    text : "M8", "M8x1", "M10x1.5-5H6H", "1/4-20 UNC-2B", ".250-28 UNF-3A", "No. 10-32", "3/8 BSF",
        "UNC 1/4-20", "1/2 BSW close". A missing pitch means the coarse thread; a missing series the
        one that has this size and pitch; a class without a side (Whitworth) both screw and hole.

    Returns
    -------
    Thread

    Raises
    ------
    InputError
        If the text is no designation, with the nearest valid ones.

    Examples
    --------
    >>> thread("M8 x 1.25 - 6H").designation, thread("m8").designation
    ('M8x1.25', 'M8x1.25')
    >>> thread("No. 10-32").designation, thread("1-1/4-7 UNC-2B").hole_class
    ('10-32 UNF', '2B')
    """
    if not isinstance(text, str):
        raise InputError(f"a thread designation is text such as {_EXAMPLES}, got {text!r:.40}")
    if len(text) > LONGEST:
        raise InputError.of(
            "designation_too_long", longest=LONGEST, length=len(text), examples=_EXAMPLES
        )
    return _read(text)


@lru_cache(maxsize=4096)
def _read(text: str) -> Thread:
    plain = _plain(text)
    for pattern, kind, hint in _OTHERS:
        if re.match(pattern, plain.upper()):
            raise UnknownNameError(f"{kind} are not covered, got {_shown(text)}: {hint}")
    match = _METRIC.match(plain[:1].upper() + _TIMES.sub("x", plain[1:]))
    if match:
        return _metric(match)
    match = _INCH.match(plain.upper().replace("X", "x").replace("B.S.", "BS").rstrip("."))
    if match and (match["count"] or match["series"] or match["before"]):
        return _inch(match)
    raise _unreadable(text, plain)


def _plain(text: str) -> str:
    """Return ordinary characters and single spaces: "1½" becomes "1 1/2", "×" becomes "x"."""
    split = _VULGAR_FRACTION.sub(" ", text)
    return " ".join(unicodedata.normalize("NFKC", split).translate(_SIGNS).split())


def _metric(match: re.Match[str]) -> Thread:
    major, pitch = (
        float(match[name].replace(",", ".")) if match[name] else None for name in ("major", "pitch")
    )
    found = iso.find(major or 0.0, pitch)
    for name in (match["classes"] or "").replace(" ", "").split("/"):
        if name:
            internal = any(letter.isupper() for letter in name)
            own = iso.SYSTEM.canonical_class(name, internal=internal)
            found = replace(found, hole_class=own) if internal else replace(found, screw_class=own)
    return found


def _inch(match: re.Match[str]) -> Thread:
    size, classes = match["size"], match["classes"] or ""
    series = match["before"] or match["series"]
    count = None
    if match["count"]:
        count = Decimal(re.sub(r"[ -]1/2", ".5", match["count"]))
    if series and series.startswith("WHIT"):
        series = "BSW"
    elif series:
        # The rounded root (UNR) of a screw changes none of the limits that the series share.
        series = series.replace("UNR", "UN")
    if match["constant"]:
        if series != "UN" or count not in (None, Decimal(match["constant"])):
            raise InputError.of("two_thread_counts", match=match)
        count = Decimal(match["constant"])
    if series in whitworth.SERIES:
        return _classed(whitworth.find(size, count, series), classes, classes)
    if classes and not classes[0].isdigit():
        raise UnknownNameError.of("unknown_unified_class", classes=classes.lower())
    found = unified.find(
        size, count, series, numbered=bool(match["number"]), inches=bool(match["inches"])
    )
    sides = (re.findall(rf"\d{side}", classes) for side in "BA")
    return _classed(found, *("".join(each[-1:]) for each in sides))


def _classed(found: Thread, hole: str, screw: str) -> Thread:
    canonical = (unified if found.system == "unified" else whitworth).SYSTEM.canonical_class
    return replace(
        found,
        hole_class=canonical(hole, internal=True) if hole else None,
        screw_class=canonical(screw, internal=False) if screw else None,
    )


def _shown(text: str) -> str:
    return repr(text) if len(text) <= 40 else f"{text[:40]!r}..."


def _unreadable(text: str, plain: str) -> UnknownNameError:
    """Build the error with the nearest names; of the same size where the text starts with one."""
    start = _SIZE.match(plain.upper())
    same = [name for name in names() if start and re.match(re.escape(start[0]) + r"[x \-]", name)]
    close = difflib.get_close_matches(plain, same, n=3, cutoff=0.0) or nearest(plain, names())
    hint = f"did you mean {' or '.join(close)}?" if close else f"write for example {_EXAMPLES}"
    return UnknownNameError(f"unknown thread {_shown(text)}; {hint}")
