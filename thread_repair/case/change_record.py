"""The change record of a case: what was changed in which revision."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One line of a change record."""

    revision: str
    date: str
    words: str


def changes(text: str) -> tuple[Change, ...]:
    """Return the lines "revision | date | what changed" of the key `changes`.

    Examples
    --------
    >>> changes("A | 2026-11-25 | first issue")
    (Change(revision='A', date='2026-11-25', words='first issue'),)
    """
    found = []
    for line in text.splitlines():
        parts = [part.strip() for part in line.split("|", 2)]
        if len(parts) == 3:
            found.append(Change(revision=parts[0], date=parts[1], words=parts[2]))
    return tuple(found)


def faults(text: str) -> Iterator[str]:
    """Yield a sentence for each line that is not of that form."""
    for number, line in enumerate(text.splitlines(), start=1):
        parts = [part.strip() for part in line.split("|", 2)]
        if not line.strip():
            continue
        if len(parts) != 3 or not all(parts):
            yield (
                f"changes: line {number}: {line.strip()[:60]!r} is no change; expected a line "
                "such as 'B | 2026-11-25 | torque corrected'"
            )
            continue
        try:
            datetime.date.fromisoformat(parts[1])
        except ValueError:
            yield (
                f"changes: line {number}: {parts[1][:40]!r} is not a date; expected one like "
                "'2026-11-25'"
            )
