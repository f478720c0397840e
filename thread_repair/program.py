"""Which program made this: its version from the state of the clone, and the packages it used."""

import hashlib
import platform
import re
import subprocess
from collections.abc import Mapping
from functools import cache
from importlib import metadata
from pathlib import Path

import thread_repair

#: What computes, reads, draws, runs and sets a report; pandoc is in pypandoc_binary.
_USED = (
    "numpy", "scipy", "pandas", "clarabel", "attrs", "pint", "PyYAML", "matplotlib", "papermill",
    "nbclient", "nbformat", "ipykernel", "pypandoc_binary", "typst",
)  # fmt: skip

_PACKAGE = Path(thread_repair.__file__).parent


@cache
def version() -> str:
    """Return the version with the commit it stands at, "-dirty" if files were changed since.

    A checksum of the package's files, its data among them, then stands behind the commit; outside a
    clone, or without git, in its place.
    """
    state = f"p{_files_digest()[:12]}"
    if (_PACKAGE.parent / ".git").exists():
        command = ("git", "describe", "--always", "--dirty", "--abbrev=12", "--exclude=*")
        try:
            done = subprocess.run(
                command, cwd=_PACKAGE.parent, capture_output=True, text=True, timeout=10
            )
            if done.returncode == 0:
                commit = done.stdout.strip()
                # one change of the data from another: each would be the same commit, "-dirty"
                changed = f".{state}" if commit.endswith("-dirty") else ""
                state = f"g{commit}{changed}"
        except (OSError, subprocess.SubprocessError):
            pass
    return f"{thread_repair.__version__}+{state}"


def name() -> str:
    """Return name and version, as in `thread-repair 0.1.0+g0123456789ab`."""
    return f"thread-repair {version()}"


@cache
def packages() -> Mapping[str, str]:
    """Return name and version of Python and every package that a report passes through.

    These are the ones used here and all that they need in turn, as far as they are installed.
    """
    found: dict[str, str] = {}
    waiting = list(_USED)
    while waiting:
        each = waiting.pop()
        if _key(each) in found:
            continue
        try:
            package = metadata.metadata(each)
        except metadata.PackageNotFoundError:
            continue  # needed on another system only
        found[_key(each)] = package["Version"]
        for need in package.get_all("Requires-Dist") or ():
            if "extra ==" not in need:
                waiting.append(re.split(r"[^\w.-]", need, maxsplit=1)[0])
    return {"python": platform.python_version(), **dict(sorted(found.items()))}


def sentence() -> str:
    """Return the line at the end of a report that names what made it."""
    found = packages()
    used = ", ".join(f"{each} {found.get(_key(each), 'missing')}" for each in _USED)
    return f"Made by {name()} with Python {found['python']}, {used}."


def _key(package: str) -> str:
    """Return the one spelling of a package's name."""
    return re.sub(r"[-_.]+", "-", package).lower()


@cache
def digest() -> str:
    """Return the SHA-256 of the package as it stands here and of all packages it uses."""
    text = f"{_files_digest()} {sorted(packages().items())}"
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _files_digest() -> str:
    whole = hashlib.sha256(thread_repair.__version__.encode())
    for file in sorted(_PACKAGE.rglob("*")):
        if file.is_file() and "__pycache__" not in file.parts:
            whole.update(file.relative_to(_PACKAGE).as_posix().encode() + b"\0")
            whole.update(hashlib.sha256(file.read_bytes()).digest())
    return whole.hexdigest()
