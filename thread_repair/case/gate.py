"""What a final report needs of its case, besides numbers."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from .. import files
from ..errors import message
from ..facts import Fact, Value, fact
from . import starter, strengths
from .schema import Case

#: Fewest words of a reason that a reader can judge: "accepted" or "see above" is none.
_REASON_WORDS = 3
_WORDS = files.data("case_words.toml")
#: First words of an entry that is still to be made.
_LATER = frozenset(_WORDS["later"]["words"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """Who accepts a negative margin, by office, and why."""

    role: str
    reason: str

    def fact(self, id_: str, **values: Value) -> Fact:
        """What is accepted, by whom and why."""
        return fact(id_, "limit", **values, role=self.role, reason=self.reason.rstrip("."))


def acceptance(case: Case) -> Acceptance | None:
    """Return the acceptance of a negative margin that a case names, None where it names none.

    Examples
    --------
    >>> from .reading import read
    >>> acceptance(read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "1 D",
    ...     "insert_length": "1 D",
    ...     "accept_negative_margin": "stress office | proof loaded to 12 kN, report 7"}))
    Acceptance(role='stress office', reason='proof loaded to 12 kN, report 7')
    """
    role, _, reason = (part.strip() for part in case.accept_negative_margin.partition("|"))
    return Acceptance(role=role, reason=reason) if role or reason else None


def acceptance_faults(case: Case) -> Iterator[str]:
    """Yield a sentence where an acceptance lacks a role or a reason."""
    role, _, reason = case.accept_negative_margin.partition("|")
    whole = any(map(str.isalpha, role)) and len(reason.split()) >= _REASON_WORDS
    if case.accept_negative_margin and not whole:
        yield message("acceptance_without_role", entered=case.accept_negative_margin[:60])


class Change(NamedTuple):
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
    lines = ([part.strip() for part in line.split("|", 2)] for line in text.splitlines())
    return tuple(Change(*parts) for parts in lines if len(parts) == 3)


def change_faults(case: Case) -> Iterator[str]:
    """Yield a sentence for each line of the change record that is not of that form."""
    for number, line in enumerate(case.changes.splitlines(), start=1):
        found = changes(line)
        whole = found and all((found[0].revision, found[0].date, found[0].words))
        if whole and any(is_date(part.strip()) for part in found[0].words.split("|")):
            yield message("two_changes_in_line", number=number, words=found[0].words[:60])
        elif line.strip() and not whole:
            yield message("no_change_in_line", number=number, entered=line.strip()[:60])
        elif found and not is_date(found[0].date):
            yield message("change_without_date", number=number, date=found[0].date[:40])


def is_date(text: str) -> bool:
    """Whether a text is a date as documents have it, year, month and day."""
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return False
    return True


def fatigue_is_open(case: Case) -> bool:
    """Whether a critical screw lacks the document, with number or date, that states its fatigue."""
    said = case.fatigue_statement
    return case.critical == "yes" and not (any(map(str.isdigit, said)) and _states(said))


def factors_are_open(case: Case) -> bool:
    """Whether a load has factors of safety for which no document is named."""
    return case.design_load is not None and not _states(case.load_factor_source)


def _states(text: str) -> bool:
    """Whether a text says anything, and not only that it will be said."""
    words = [word.strip(".,:;()").casefold() for word in text.split()]
    return any(map(str.isalnum, text)) and words[0] not in _LATER


def _revision_faults(case: Case) -> Iterator[str]:
    """Yield a sentence where the change record does not end with the revision of the document."""
    record = changes(case.changes)
    if not case.revision or not all(is_date(each.date) for each in record):
        return

    def day(change: Change) -> datetime.date:
        return datetime.date.fromisoformat(change.date)

    own = [day(each) for each in record if each.revision == case.revision]
    newest = max(record, key=day, default=None)
    if newest is None or not own:
        date = case.date or "2026-11-25"
        yield message("no_change_of_revision", revision=case.revision[:40], date=date)
    elif day(newest) > max(own):
        yield message("later_change", newest=newest, revision=case.revision[:40])
    elif is_date(case.date) and day(newest) > datetime.date.fromisoformat(case.date):
        yield message("change_after_date", newest=newest, date=case.date)


def document_faults(case: Case) -> Iterator[str]:
    """Yield a sentence for each thing that a final report needs and the case does not say."""
    if case.status != "final":
        return
    needed = {**_WORDS["final"]}
    if strengths.supplied(case):
        needed |= _WORDS["final_with_strengths"]
    for key, expected in needed.items():
        said = getattr(case, key)
        if not _states(said):
            why = f"{said[:40]!r} states nothing" if said.strip() else "missing"
            yield f"{key}: {why}; a final report needs {expected}"
    for key in starter.PLACEHOLDERS:
        if getattr(case, key) == starter.EXAMPLE[key]:
            yield message("own_instead_of_starter", key=key, example=starter.EXAMPLE[key])
    yield from _revision_faults(case)
    if strengths.supplied(case) and case.parent_strength_basis is None:
        yield message("basis_for_final")
    if case.assumed:
        yield message("assumed_in_final", keys=case.assumed)
    if fatigue_is_open(case):
        statement = case.fatigue_statement
        why = f"{statement[:60]!r} names no document" if statement else "missing"
        yield message("fatigue_without_document", why=why)
