"""Read a thread designation as the trade writes it."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from ..errors import InputError, UnknownNameError, nearest
from . import iso
from .profile import Thread

#: No designation of the systems covered is longer; longer text is refused unread.
LONGEST = 60

_METRIC = re.compile(
    r"M\s?(?P<major>\d{1,3}(?:\.\d{1,3})?)(?:\s?x\s?(?P<pitch>\d{0,2}(?:\.\d{1,3})?))?"
    r"(?:\s?-?\s?(?P<classes>\d(?:AZ|AX|az|[EFGHefgh])[0-9A-Za-z/]*))?\Z",
)


@lru_cache(maxsize=4096)
def thread(text: str) -> Thread:
    """Return the thread that a designation names.

    Raises
    ------
    InputError
        If the text is no designation, with the nearest valid ones.

    Examples
    --------
    >>> thread("M8 x 1.25 - 6H").designation
    'M8x1.25'
    """
    if not isinstance(text, str):
        raise InputError(f"a thread designation is text, got {type(text).__name__}")
    if len(text) > LONGEST:
        raise InputError(f"a thread designation has at most {LONGEST} characters, got {len(text)}")
    plain = " ".join(text.replace("×", "x").replace("X", "x").split())
    plain = plain[:1].upper() + plain[1:]
    match = _METRIC.match(plain)
    if match is None:
        raise _unreadable(text)
    pitch = match["pitch"]
    found = iso.find(float(match["major"]), float(pitch) if pitch else None)
    for name in filter(None, (match["classes"] or "").split("/")):
        if iso.is_hole_class(name):
            found = replace(found, hole_class=iso.canonical_class(name, internal=True))
        else:
            found = replace(found, screw_class=iso.canonical_class(name, internal=False))
    return found


def _unreadable(text: str) -> UnknownNameError:
    close = nearest(text, (known.designation for known in iso.known()))
    hint = f"did you mean {' or '.join(close)}?" if close else "write for example M8x1.25"
    return UnknownNameError(f"unknown thread {text!r}; {hint}")
