"""Put the finished files of a report into its folder: all of them, or none.

Everything is made and checked in a build folder inside the report's folder (so on the same disk).
The build folder is renamed to `COMMITTED` in one step: from then on the new report is what counts.
Then each file is renamed over the earlier one, so that at no moment one is missing. A process that
is killed in between is finished by the next one that opens the folder. A failure is undone.

Only files that an earlier build wrote are replaced. One that was edited since (an annotated DOCX,
a signed PDF) is kept under another name.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from ..errors import ReportError

#: The list of a report's files with their checksums; the last to be put in place.
MANIFEST = ".thread-repair.json"
#: A finished set of files on its way into the report's folder.
COMMITTED = ".thread-repair-committed"
#: One whose publication failed and is being undone.
_ABORTED = ".thread-repair-aborted"
_UNDO = ".thread-repair-undo"
_BUILD = ".thread-repair-build-"
_LOCK = ".thread-repair.lock"

FORMAT = "thread-repair-report/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """The files of a report that stand in its folder."""

    folder: Path
    files: Mapping[str, Path]
    #: Files of an earlier report that somebody had changed: their new names.
    kept: tuple[Path, ...] = ()


@contextlib.contextmanager
def workspace(folder: Path) -> Iterator[Path]:
    """Hold a report's folder for one build, and give a build folder in it.

    Finishes or clears what a killed build left behind. The build folder is gone afterwards, and
    so is the report's folder if it was made for this build and nothing came to stand in it.

    Raises
    ------
    ReportError
        If the folder cannot be written to, or another build of the same report is running.
    """
    folder = Path(folder)
    made = [path for path in (folder, *folder.parents) if not path.exists()]
    with _sentences(folder):
        folder.mkdir(parents=True, exist_ok=True)
        try:
            with _lock(folder):
                recover(folder)
                build = Path(tempfile.mkdtemp(prefix=_BUILD, dir=folder))
                try:
                    yield build
                finally:
                    shutil.rmtree(build, ignore_errors=True)
        finally:
            for path in made:
                with contextlib.suppress(OSError):
                    path.rmdir()


@contextlib.contextmanager
def _sentences(folder: Path) -> Iterator[None]:
    """Say in one sentence what the operating system refused."""
    try:
        yield
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        raise ReportError(
            f"the report in {folder} could not be written: {error.strerror or error}{where}"
        ) from error


@contextlib.contextmanager
def _lock(folder: Path) -> Iterator[None]:
    """Refuse a second build of the same report; the system drops the lock of a killed process."""
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
            raise ReportError(
                f"another build of the report in {folder} is running; wait for it to end"
            ) from None
        try:
            yield
        finally:
            with contextlib.suppress(OSError):
                path.unlink()
    finally:
        os.close(handle)


def publish(
    build: Path, names: Mapping[str, str], folder: Path, *, extra: Mapping[str, str] | None = None
) -> Published:
    """Move finished files from the build folder into the report's folder.

    Parameters
    ----------
    build, folder : Path
        From `workspace`.
    names : mapping
        What a file is ("pdf", "results") to its name in both folders.
    extra : mapping, optional
        More to keep in the manifest, such as the checksum of the inputs.
    """
    for name in names.values():
        if not (build / name).is_file():
            raise ReportError(f"{name} was not made")
    for entry in build.iterdir():
        if entry.is_dir():
            shutil.rmtree(entry)
        elif entry.name not in names.values():
            entry.unlink()
    files = {name: _sha256(build / name) for name in sorted(names.values())}
    text = json.dumps({"format": FORMAT, **(extra or {}), "files": files}, indent=1)
    (build / MANIFEST).write_text(text + "\n", encoding="utf-8")
    for entry in build.iterdir():
        _flush(entry)
    kept = _keep_edited(folder, files)
    try:
        os.rename(build, folder / COMMITTED)
        _put_in_place(folder)
    except OSError:
        for copy in kept:
            copy.unlink(missing_ok=True)
        raise
    done = {kind: folder / name for kind, name in names.items()}
    return Published(folder=folder, files=MappingProxyType(done), kept=kept)


def recover(folder: Path) -> None:
    """Finish what a killed process had begun, forwards once the new report was complete."""
    if (folder / COMMITTED).is_dir():
        _put_in_place(folder)
    elif (folder / _ABORTED).is_dir():
        _restore(folder)
    else:
        _discard(folder, _UNDO)
    for left in folder.glob(_BUILD + "*"):
        shutil.rmtree(left, ignore_errors=True)


def is_whole(folder: Path) -> bool:
    """Whether the folder holds one complete report, every file as it was published."""
    files = manifest(folder).get("files")
    if not isinstance(files, dict) or not files:
        return False
    if (folder / COMMITTED).exists() or (folder / _ABORTED).exists():
        return False
    return all(_is_as_published(folder / name, checksum) for name, checksum in files.items())


def manifest(folder: Path) -> Mapping[str, object]:
    """Return what the report in the folder says of itself; empty if there is none."""
    try:
        found = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) and found.get("format") == FORMAT else {}


def _put_in_place(folder: Path) -> None:
    """Rename every committed file over the earlier one, the manifest last; undo on failure.

    Can be killed at any point and called again.
    """
    committed, undo = folder / COMMITTED, folder / _UNDO
    if (committed / MANIFEST).exists():
        new = _files(committed)
        try:
            undo.mkdir(exist_ok=True)
            for name in new:
                if (committed / name).exists():  # else moved before the earlier process was killed
                    if (folder / name).exists():
                        _second_name(folder / name, undo / name)
                    os.replace(committed / name, folder / name)
            for name in _files(folder):
                if name not in new and (folder / name).exists():
                    os.replace(folder / name, undo / name)
            if (folder / MANIFEST).exists():
                _second_name(folder / MANIFEST, undo / MANIFEST)
            os.replace(committed / MANIFEST, folder / MANIFEST)
        except OSError:
            os.rename(committed, folder / _ABORTED)
            _restore(folder)
            raise
    _discard(folder, _UNDO, COMMITTED)
    _flush_folder(folder)


def _restore(folder: Path) -> None:
    """Put the earlier report back; can be killed at any point and called again."""
    aborted, undo = folder / _ABORTED, folder / _UNDO
    earlier = [path.name for path in undo.iterdir()] if undo.is_dir() else []
    for name in earlier:
        spare = undo / (name + ".restored")
        if not name.endswith(".restored"):
            _second_name(undo / name, spare)
            os.replace(spare, folder / name)
    for name in _files(aborted):
        if name not in earlier and not (aborted / name).exists():
            (folder / name).unlink(missing_ok=True)
    # In this order: without the copies, what they restored would look new, and be deleted.
    _discard(folder, _ABORTED, _UNDO)


def _discard(folder: Path, *names: str) -> None:
    """Take folders out of play in one step each, then delete them."""
    for name in names:
        if (folder / name).exists():
            aside = Path(tempfile.mkdtemp(prefix=_BUILD, dir=folder))
            os.rename(folder / name, aside / name)
            shutil.rmtree(aside, ignore_errors=True)


def _second_name(file: Path, name: Path) -> None:
    if name.exists():
        return
    try:
        os.link(file, name)
    except OSError:  # a disk without hard links
        shutil.copy2(file, name)


def _keep_edited(folder: Path, names: Iterable[str]) -> tuple[Path, ...]:
    """Give a second name to what stands in our place but is not as we wrote it."""
    ours = _files(folder)
    kept = []
    for name in sorted({*names, *ours}):
        file = folder / name
        if file.exists() and not _is_as_published(file, ours.get(name)):
            kept.append(keep(file))
    return tuple(kept)


def keep(file: Path) -> Path:
    """Give a file a second name, "report (kept 1).pdf", and return it."""
    number = 1
    while (copy := file.with_name(f"{file.stem} (kept {number}){file.suffix}")).exists():
        number += 1
    _second_name(file, copy)
    return copy


def _files(folder: Path) -> dict[str, str]:
    """Return the names and checksums in a folder's manifest, only names of the folder itself."""
    files = manifest(folder).get("files")
    if not isinstance(files, dict):
        return {}
    return {name: str(value) for name, value in files.items() if Path(name).name == name}


def _is_as_published(file: Path, checksum: str | None) -> bool:
    return file.is_file() and _sha256(file) == checksum


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _flush(path: Path) -> None:
    """Have the file's bytes on the disk before its name counts."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _flush_folder(folder: Path) -> None:
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
