"""Serial numbers as a person lists them: "001 to 004, 007"."""

from __future__ import annotations

import re

from ..errors import InputError

#: A longer list is a slip of the typing: no document is about so many parts.
_MOST = 1000

_SEVERAL = re.compile(r"(?P<head>.*?)(?P<first>\d+)\s+to\s+(?P=head)(?P<last>\d+)\Z")


def serial_numbers(text: str) -> tuple[str, ...]:
    """Return each serial number that a text lists.

    Raises
    ------
    InputError
        If one is named twice, or a range runs backwards or beyond all measure.

    Examples
    --------
    >>> serial_numbers("A-098 to A-101; 7")
    ('A-098', 'A-099', 'A-100', 'A-101', '7')
    """
    found: list[str] = []
    for part in filter(None, (part.strip() for part in re.split("[,;\n]", text))):
        found += _range(part)
        if len(found) > _MOST:
            raise InputError(f"{part[:60]!r} makes more than {_MOST} serial numbers")
    twice = next((each for each in found if found.count(each) > 1), None)
    if twice is not None:
        raise InputError(f"{twice[:60]!r} is named twice")
    return tuple(found)


def _range(part: str) -> list[str]:
    several = _SEVERAL.match(part)
    if several is None:
        return [part]
    first, last = int(several["first"]), int(several["last"])
    if not first < last <= first + _MOST:
        raise InputError(
            f"{part[:60]!r} is no range of serial numbers; expected a lower number, 'to' and a "
            f"higher one, at most {_MOST} in all"
        )
    digits = len(several["first"])
    return [f"{several['head']}{number:0{digits}}" for number in range(first, last + 1)]
