"""Put the finished files of a report into its folder: all of them, or none.

Everything is made and checked in a build folder inside the report's folder (so on the same disk),
and what will be replaced or removed gets a second name there. Renaming that set to `JOURNAL` begins
the change, renaming the manifest out of it over the earlier one completes it. As long as the
manifest is still in the journal, whoever opens the folder next puts back what stood there before;
a failure does so at once. Nothing after the last rename can fail the report.

A folder may hold reports of several notebooks and formats; a build replaces only its own files.
Whatever was made from another state of the case is not left to look current: files of the same
notebook are removed, those of another are renamed "... (outdated).pdf" until it is built again.
Only files that an earlier build wrote are removed. One that was edited since (an annotated DOCX,
a signed PDF) is kept as "... (kept 1).docx".
"""

import contextlib
import hashlib
import json
import os
import shutil
import sys
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypedDict

from ..errors import BuildRunningError, ReportError

#: What stands in the folder, with checksums; replacing it is what publishes a set.
MANIFEST = ".thread-repair.json"
#: A set of files on its way into the folder, with what it replaces.
JOURNAL = ".thread-repair-journal"
_EARLIER = "earlier"
_BUILD = ".thread-repair-build"
_LOCK = ".thread-repair.lock"

FORMAT = "thread-repair-reports/3"
#: Key of `made_from` that tells one state of the case and the program from another.
CASE = "case_sha256"

OUTDATED = " (outdated)"
#: A manifest is believed about such files only.
_SUFFIXES = (".pdf", ".html", ".docx", ".ipynb", ".json")


class Entry(TypedDict):
    """What the manifest says of a file."""

    sha256: str
    made_from: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Published:
    """The files of a report that stand in its folder, by what they are."""

    files: Mapping[str, Path] = field(default_factory=dict)
    #: Files of an earlier report that somebody had changed: their new names.
    kept: tuple[Path, ...] = ()
    #: Files of other reports that were made from another state of the case: their new names.
    outdated: tuple[Path, ...] = ()
    #: What the results hold.
    numbers: Mapping[str, Any] = field(default_factory=dict)


@contextlib.contextmanager
def workspace(folder: Path) -> Iterator[Path]:
    """Hold a report's folder for one build, and give a build folder in it.

    Clears what a killed build left behind. The build folder is gone afterwards, and so is the
    report's folder if it was made for this build and nothing came to stand in it.

    Raises
    ------
    ReportError
        If the folder cannot be written to, or another build of a report in it is running.
    """
    made: list[Path] = []
    try:
        made += (path for path in (folder, *folder.parents) if not path.exists())
        folder.mkdir(parents=True, exist_ok=True)
        with _lock(folder):
            recover(folder)
            build = folder / _BUILD
            _clear(build)
            build.mkdir()
            try:
                yield build
            finally:
                _clear(build)
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        raise ReportError.of(
            "report_not_written", folder=folder, why=error.strerror or error, where=where
        ) from error
    finally:
        for path in made:
            with contextlib.suppress(OSError):
                path.rmdir()


@contextlib.contextmanager
def _lock(folder: Path) -> Iterator[None]:
    """Refuse a second build in the folder; the system drops the lock of a killed process."""
    path = folder / _LOCK
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        try:
            if sys.platform == "win32":
                import msvcrt

                msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
            else:
                import fcntl

                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                # The holder before us may have removed the file between our two calls.
                if not path.exists() or os.fstat(handle).st_ino != path.stat().st_ino:
                    raise BlockingIOError
        except (BlockingIOError, PermissionError):
            raise BuildRunningError.of("build_running", folder=folder) from None
        try:
            yield
        finally:
            with contextlib.suppress(OSError):
                path.unlink()
    finally:
        with contextlib.suppress(OSError):
            os.close(handle)


def publish(
    build: Path,
    names: Mapping[str, str],
    folder: Path,
    *,
    made_from: Mapping[str, Mapping[str, str]],
) -> Published:
    """Move finished files from the build folder into the report's folder.

    Parameters
    ----------
    build, folder : Path
        From `workspace`.
    names : mapping
        What a file is ("pdf", "results") to its name in both folders.
    made_from : mapping
        Base name of files to what they were made from: `CASE`, the same for all, and whatever
        else would make other files.

    Raises
    ------
    ReportError, OSError
        The folder then holds what it held before, or will when it is opened next.
    """
    case = next(iter(made_from.values()))[CASE]
    kept, outdated = _change(build, folder, names.values(), made_from, case)
    files = {kind: folder / name for kind, name in names.items()}
    return Published(files=files, kept=kept, outdated=outdated)


def mark_outdated(folder: Path, case: str | None = None) -> tuple[tuple[Path, ...], ...]:
    """Give reports that were made from another state of the case a name that says so.

    Parameters
    ----------
    folder : Path
    case : str, optional
        The checksum (`CASE`) that the case has now; without it every report is outdated.

    Returns
    -------
    two tuples of Path
        The new names of what is outdated, and of what had been edited and is kept.
    """
    if all(entry["made_from"].get(CASE) == case for entry in manifest(folder).values()):
        return (), ()
    with workspace(folder) as build:
        kept, outdated = _change(build, folder, (), {}, case)
    return outdated, kept


def _change(
    build: Path,
    folder: Path,
    names: Iterable[str],
    made_from: Mapping[str, Mapping[str, str]],
    case: str | None,
) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Put files from the build folder in place, set aside what is of another state of the case.

    Returns the second names of files that were not as an earlier build wrote them, and the names
    of what is outdated.
    """
    before = manifest(folder)
    after = {
        name: Entry(sha256=_sha256(build / name), made_from=made_from[_base(name)])
        for name in names
    }
    outdated = []
    for name, entry in before.items():
        base = _base(name)
        made = made_from.get(base, entry["made_from"])
        if name in after or (
            base in made_from and (OUTDATED in name or entry["made_from"] != made)
        ):
            continue
        if made.get(CASE) == case or OUTDATED in name:
            after[name] = entry
        elif _is_as_published(folder / name, entry["sha256"]):  # else gone, or edited and kept
            outdated.append(base + OUTDATED + Path(name).suffix)
            after[outdated[-1]] = entry
            _second_name(folder / name, build / outdated[-1])
    put = (*names, *outdated)
    if not put and before == after:
        return (), ()
    kept = _move(build, folder, put, before, after)
    return kept, tuple(folder / name for name in outdated)


def _move(
    build: Path,
    folder: Path,
    put: Collection[str],
    before: Mapping[str, Entry],
    after: Mapping[str, Entry],
) -> tuple[Path, ...]:
    """Put files in place and remove others, all or nothing; keep what is not ours."""
    ready, journal = build / "set", folder / JOURNAL
    (ready / _EARLIER).mkdir(parents=True)
    replaced: dict[str, str | None] = {}
    kept: list[Path] = []
    try:
        for name in sorted({*put, *(before.keys() - after.keys())}):
            file, replaced[name] = folder / name, None
            if name in put:
                os.rename(build / name, ready / name)
            if file.exists():
                replaced[name] = _sha256(file)
                _second_name(file, ready / _EARLIER / name)
                known = [each[name]["sha256"] for each in (before, after) if name in each]
                if replaced[name] not in known:
                    kept.append(keep(file))
        data = {"format": FORMAT, "files": after, "replaced": replaced}
        (ready / MANIFEST).write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
        for name in (MANIFEST, *put):
            _flush(ready / name)
        os.rename(ready, journal)
        for name in put:
            os.replace(journal / name, folder / name)
        for name in replaced.keys() - put:
            (folder / name).unlink(missing_ok=True)
        with contextlib.suppress(OSError):
            _flush(folder)
        os.replace(journal / MANIFEST, folder / MANIFEST)
    except BaseException:
        # Not yet published: else the journal would be there without its manifest.
        if not journal.exists() or (journal / MANIFEST).exists():
            recover(folder)
            for copy in kept:
                with contextlib.suppress(OSError):
                    copy.unlink()
        raise
    with contextlib.suppress(OSError):
        _flush(folder)
    _clear(journal)
    return tuple(kept)


def recover(folder: Path) -> None:
    """Put back what a change had replaced that was not completed; clear up after one that was.

    Can be killed at any point and called again.
    """
    journal = folder / JOURNAL
    if (journal / MANIFEST).is_file():
        after, replaced = _read(journal)
        for name, checksum in replaced.items():
            file, saved = folder / name, journal / _EARLIER / name
            new = after[name]["sha256"] if name in after else None
            if saved.is_file():
                if file.exists() and _sha256(file) not in (checksum, new):
                    keep(file)  # somebody wrote it since
                os.replace(saved, file)
            elif checksum is None and not (journal / name).exists() and _is_as_published(file, new):
                file.unlink()
        (journal / MANIFEST).unlink()
    _clear(journal)


def _clear(folder: Path) -> None:
    with contextlib.suppress(OSError):  # it raises some that it is told to ignore
        shutil.rmtree(folder, ignore_errors=True)


def stands(folder: Path, names: Iterable[str], made_from: Mapping[str, Mapping[str, str]]) -> bool:
    """Whether these files stand in the folder as they were published, made from just that."""
    found = manifest(folder)
    return not (folder / JOURNAL / MANIFEST).exists() and all(
        name in found
        and found[name]["made_from"] == made_from[_base(name)]
        and _is_as_published(folder / name, found[name]["sha256"])
        for name in names
    )


def manifest(folder: Path) -> Mapping[str, Entry]:
    """Return what the folder's manifest says of each file, of our own kinds of file only."""
    return _read(folder)[0]


def _read(folder: Path) -> tuple[dict[str, Entry], dict[str, str | None]]:
    """Return the files of a manifest, and the checksums of what stood in their places before."""
    file = folder / MANIFEST
    try:
        data = json.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}
        if data["format"] != FORMAT:
            return {}, {}
        files = {
            name: Entry(
                sha256=str(entry["sha256"]),
                made_from={key: str(value) for key, value in entry["made_from"].items()},
            )
            for name, entry in data["files"].items()
            if _is_ours(name)
        }
        return files, {name: each for name, each in data["replaced"].items() if _is_ours(name)}
    except OSError as error:
        raise ReportError(f"{file} cannot be read: {error.strerror or error}") from None
    except (ValueError, KeyError, TypeError, AttributeError):
        return {}, {}


def _base(name: str) -> str:
    return Path(name).stem.removesuffix(OUTDATED)


def _is_ours(name: str) -> bool:
    return Path(name).name == name and "\0" not in name and Path(name).suffix in _SUFFIXES


def keep(file: Path) -> Path:
    """Give a file a second name, "report (kept 1).pdf", and return it."""
    number = 1
    while (copy := file.with_name(f"{file.stem} (kept {number}){file.suffix}")).exists():
        number += 1
    _second_name(file, copy)
    return copy


def _second_name(file: Path, name: Path) -> None:
    try:
        os.link(file, name)
    except OSError:  # a disk without hard links; one without rights cannot copy these either
        shutil.copyfile(file, name)


def _is_as_published(file: Path, checksum: str | None) -> bool:
    return file.is_file() and _sha256(file) == checksum


def _sha256(path: Path) -> str:
    if not path.is_file():  # a FIFO would be waited for
        raise ReportError(f"{path} is in the way: it is not a file")
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _flush(path: Path) -> None:
    """Have the bytes of a file, or the names in a folder, on the disk before they count.

    Not every system lets us do so with a folder, or read it.
    """
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
