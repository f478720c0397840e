"""Which keys of a case change nothing, because what they belong to is not given."""

from __future__ import annotations

from collections.abc import Iterator

from .. import files
from .schema import Case


def without_effect(case: Case) -> Iterator[tuple[str, str]]:
    """Yield each key that was given and changes nothing, with the keys it lacks beside it.

    Parameters
    ----------
    case : Case

    Yields
    ------
    tuple of str

    Examples
    --------
    >>> from .reading import read
    >>> case = read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "1 D",
    ...              "insert_length": "1 D", "load_factor": "1.5"})
    >>> list(without_effect(case))
    [('load_factor', 'design_load')]
    """
    for key, groups in files.data("key_needs.toml").items():
        if key in case.entered:
            for group in groups:
                if not any(_is_given(case, each) for each in group):
                    yield key, " or ".join(group)
                    break


def _is_given(case: Case, needed: str) -> bool:
    key, _, value = needed.partition(": ")
    given = getattr(case, key)
    return given == value if value else given not in (None, "")
