"""What went wrong, in one sentence a user can act on."""

import difflib
import tomllib
from collections.abc import Collection, Iterable, Mapping
from functools import cache
from importlib import resources
from typing import Self, TypeVar

T = TypeVar("T")


class ThreadRepairError(Exception):
    """Base of every error the package raises on purpose.

    The text is one sentence that names the field, the value, what was expected and, where one
    exists, the nearest valid choice. The command line prints it and exits with 2; a notebook shows
    it as the output of the cell.
    """

    def _render_traceback_(self) -> list[str]:
        """What IPython shows instead of a traceback, which is no help to a reader."""
        return str(self).splitlines()

    @classmethod
    def of(cls, name: str, /, **values: object) -> Self:
        """Return the error with a sentence of `data/errors.toml`, see `message`."""
        return cls(message(name, **values))


class InputError(ThreadRepairError, ValueError):
    """A value that cannot be true of any joint: wrong unit, negative length, unknown word."""


class UnknownNameError(InputError):
    """A name that no table or file knows (thread, parent, screw, key)."""


class GeometryError(InputError):
    """Sizes that do not fit together: threads that do not overlap, a hole too shallow."""


class ValidityError(ThreadRepairError, ValueError):
    """A possible case that the named source does not cover; nothing is extrapolated."""


class DataError(ThreadRepairError, RuntimeError):
    """A shipped data file is broken."""


class ReportError(ThreadRepairError, RuntimeError):
    """The notebook failed or a document could not be compiled; nothing was published."""


class BuildRunningError(ReportError):
    """Another build of the report is running."""


class MissingPackageError(ThreadRepairError, ImportError):
    """A package is not installed that some of the work needs, not all."""

    def __init__(self, package: object, extra: str = "report") -> None:
        super().__init__(package, extra)  # what it is made from again in another process

    def __str__(self) -> str:
        package, extra = self.args
        return (
            f"this needs the package {package}, which is not installed; "
            f"type: pip install 'thread-repair[{extra}]'"
        )


class InputErrors(InputError):  # noqa: N818 - it holds several
    """All faults of one file, one sentence each."""

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(self.faults))


def refuse(faults: Iterable[str]) -> None:
    """Raise all faults, if there are any.

    Raises
    ------
    InputErrors
    """
    if found := tuple(faults):
        raise InputErrors(found)


@cache
def _sentences() -> Mapping[str, str]:
    return tomllib.loads((resources.files(__package__) / "data" / "errors.toml").read_text("utf-8"))


def message(name: str, /, **values: object) -> str:
    """Return a sentence of `data/errors.toml` with its values put in.

    Examples
    --------
    >>> message("no_hardness", entered="soft")
    "'soft' is no hardness; expected a scale and a number, such as 'HB 75'"
    """
    return _sentences()[name].format(**values)


#: A list of this many choices can be read in one sentence.
_FEW = 12
#: Kinds that have more names than that; the command line lists them.
_LISTED = {"parent": "parents", "screw": "screws", "source": "sources"}


#: Of a wrong entry so much is repeated that a person recognises it.
_SHOWN = 60


def shown(entry: object) -> str:
    """Return an entry in quotes for a message, cut where it is longer than anybody would read.

    Examples
    --------
    >>> shown("M8x1.26"), len(shown("a" * 5000))
    ("'M8x1.26'", 65)
    """
    text = str(entry)
    return repr(text if len(text) <= _SHOWN else text[:_SHOWN] + "...")


def nearest(
    name: str, known: Iterable[str], count: int = 3, *, likeness: float = 0.5
) -> tuple[str, ...]:
    """Return the known names most like the given one, best first; `likeness` 1 is the same.

    Examples
    --------
    >>> nearest("engagment", ["engagement", "edge_distance"])
    ('engagement',)
    """
    table = {known_name.casefold(): known_name for known_name in known}
    # No name is longer, and comparing with a long text takes long.
    close = difflib.get_close_matches(
        str(name)[:200].casefold(), list(table), n=count, cutoff=likeness
    )
    return tuple(table[match] for match in close)


def unknown(
    kind: str, name: str, known: Iterable[str], *, count: int = 3, likeness: float = 0.5
) -> UnknownNameError:
    """Build the error for an unknown name, with the nearest known ones, at most `count`.

    Where none is near, a short list is named in full, and of a long one the command that shows it.

    Examples
    --------
    >>> print(unknown("key", "engagment", ["engagement", "edge_distance"]))
    unknown key 'engagment'; did you mean 'engagement'?
    >>> print(unknown("status", "x", ["draft", "final"]))
    unknown status 'x'; expected one of draft, final
    """
    choices = tuple(known)
    close = nearest(name, choices, count, likeness=likeness)
    text = f"unknown {kind} {shown(name)}"
    if close:
        text += f"; did you mean {' or '.join(repr(match) for match in close)}?"
    elif len(choices) <= _FEW:
        text += f"; expected one of {', '.join(choices)}"
    elif kind in _LISTED:
        text += f"; 'thread-repair list {_LISTED[kind]}' shows those that are known"
    return UnknownNameError(text)


def check_known(kind: str, name: str, known: Collection[str]) -> None:
    """Refuse a name that is none of those known.

    Raises
    ------
    UnknownNameError
        Naming the nearest ones.
    """
    if not isinstance(name, str) or name not in known:
        raise unknown(kind, name, known)


def looked_up(kind: str, name: str, known: Mapping[str, T]) -> T:
    """Return what stands under a name, or refuse the name.

    Raises
    ------
    UnknownNameError
        Naming the nearest known ones.
    """
    check_known(kind, name, known)
    return known[name]
