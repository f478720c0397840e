"""Files of the package's own data; files that an input file names: beside it or below it."""

import contextlib
import os
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from importlib import resources
from pathlib import Path, PurePosixPath, PureWindowsPath
from tempfile import NamedTemporaryFile
from typing import Any

from .errors import InputError, shown


@cache
def data(name: str) -> Mapping[str, Any]:
    """Return a TOML file of the package's data; it is read once, and nobody changes it.

    Parameters
    ----------
    name : str

    Returns
    -------
    Mapping[str, Any]
    """
    return tomllib.loads(own_text(name))


def own_text(name: str) -> str:
    """Return a text of the package's data.

    Parameters
    ----------
    name : str
    """
    return (resources.files(__package__) / "data" / name).read_text("utf-8")


def check_new(path: Path) -> None:
    """Refuse a place where a file stands: what a person keeps is not overwritten.

    Raises
    ------
    InputError
    """
    if path.exists():
        raise InputError(f"{path} exists already; give another path")


def new_file(path: Path, make: Callable[[], str | bytes], *, encoding: str = "utf-8") -> Path:
    """Write a new file, whole or not at all; nothing is overwritten.

    Parameters
    ----------
    path : Path
    make : callable
        Returns the content; not called where a file stands.
    encoding : str
        Of a text.

    Raises
    ------
    InputError
        If the file exists or cannot be written.
    """
    check_new(path)
    content = make()
    with writing(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}-") as draft:
            draft.write(content.encode(encoding) if isinstance(content, str) else content)
            draft.flush()
            Path(draft.name).chmod(0o644)
            os.link(draft.name, path)  # fails where a file has come to stand meanwhile
    return path


@contextlib.contextmanager
def writing(path: Path) -> Iterator[None]:
    """Say in one sentence why a file cannot be written.

    Raises
    ------
    InputError
    """
    try:
        yield
    except (OSError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f"{path} cannot be written: {why}") from None


def check_is_file(path: Path) -> None:
    """Refuse a pipe or a device, which would be waited for or read without end.

    Raises
    ------
    InputError
    """
    if os.path.exists(path) and not path.is_file():
        raise InputError(f"{path} is not a file")


def text(path: Path, *, largest: int, what: str, named: str = "") -> str:
    """Return the text of a file that a person wrote.

    Parameters
    ----------
    path : Path
    largest : int
        Bytes; a longer file is something else.
    what : str
        What the file should be, as "a case file".
    named : str, optional
        What stands before the name of one that cannot be read.

    Raises
    ------
    InputError
        If it is no file, too large, not UTF-8, or cannot be read.
    """
    try:
        check_is_file(path)
        if path.stat().st_size > largest:
            raise InputError(f"{path}: larger than {largest} bytes, not {what}")
        return path.read_text("utf-8")
    except UnicodeDecodeError:
        raise InputError(f"{path}: not UTF-8 text; save it as UTF-8") from None
    except (OSError, ValueError) as error:  # a name with a null character is the latter
        if isinstance(error, InputError):
            raise
        why = getattr(error, "strerror", None) or error
        raise InputError(f"{named}{shown(path)} cannot be read: {why}") from None


def below(folder: Path, pattern: str) -> list[Path]:
    """Return the files of a pattern in a folder and below it; hidden folders are not looked into.

    Parameters
    ----------
    folder : Path
    pattern : str

    Returns
    -------
    list of Path, sorted
    """
    found = (file for file in folder.rglob(pattern) if file.is_file())
    return sorted(f for f in found if not re.search(r"(^|/)\.", f.relative_to(folder).as_posix()))


@contextlib.contextmanager
def in_one_step(file: Path) -> Iterator[Path]:
    """Give a place aside that takes the place of a file when the block ends well.

    The folder of the file is made where there is none.
    """
    file.parent.mkdir(parents=True, exist_ok=True)
    aside = file.with_name(f".{file.name}-{os.getpid()}")
    try:
        yield aside
        os.replace(aside, file)
    finally:
        with contextlib.suppress(OSError):
            aside.unlink(missing_ok=True)


def beside(folder: Path, name: str) -> Path:
    """Return the file of a name that stands in a folder or below it.

    Parameters
    ----------
    folder : Path
    name : str
        Relative path, parts joined by "/".

    Raises
    ------
    InputError
        If the name leads out of the folder, also through a symbolic link, or no such file exists.

    Examples
    --------
    >>> beside(Path(), "../secret.csv")
    Traceback (most recent call last):
    thread_repair.errors.InputError: '../secret.csv' leads out of the folder of the file that \
names it; expected a name like 'pull_tests.csv'
    """
    shown = repr(name if len(name) <= 60 else name[:60] + "...")
    outside = InputError.of("leads_out", shown=shown)
    if "\0" in name:
        raise outside
    posix, windows = PurePosixPath(name), PureWindowsPath(name)
    if posix.is_absolute() or windows.anchor or ".." in (*posix.parts, *windows.parts):
        raise outside
    path = folder / name
    try:
        if not path.resolve().is_relative_to(folder.resolve()):
            raise outside
        if not path.is_file():
            raise InputError(f"no file {shown} in the folder of the file that names it")
    except OSError as error:
        raise InputError(f"{shown} cannot be read: {error.strerror}") from None
    return path
