"""All or nothing: killed or failing at any step, the folder holds whole reports and every edit."""

import contextlib
import errno
import io
import json
import multiprocessing
import os
import shutil
import tempfile
from pathlib import Path

import pytest

from tests.whole import is_whole
from thread_repair.errors import ReportError
from thread_repair.report import publish

NAMES = {"pdf": "report.pdf", "html": "report.html", "results": "results.json"}
OTHER = {"pdf": "review.pdf", "results": "results.json"}
OLD, NEW = "old", "new"
EDIT = "signed by hand"

# Every call by which the module reads or changes the disk.
STEPS = [
    (os, "rename"),
    (os, "replace"),
    (os, "link"),
    (os, "fsync"),
    (os, "mkdir"),
    (os, "unlink"),
    (os, "rmdir"),
    (os, "open"),
    (os, "close"),
    (io, "open"),
]


def made_from(version, names):
    bases = {name.partition(".")[0] for name in names.values()}
    return {base: {publish.CASE: version} for base in sorted(bases)}


def build(folder, version, names=NAMES):
    with publish.workspace(folder) as work:
        for name in names.values():
            (work / name).write_text(f"{version} {name}")
        (work / "report.md").write_text("not published")
        (work / "figures").mkdir()
        return publish.publish(work, names, folder, made_from=made_from(version, names))


def found(folder):
    """Name and text of every file there, without ours that nobody is meant to see."""
    return {
        path.name: path.read_text()
        for path in folder.iterdir()
        if path.is_file() and not path.name.startswith(".")
    }


def expected(version, names=NAMES, **more):
    return {"case.yaml": "title: x"} | {n: f"{version} {n}" for n in names.values()} | more


def clean(folder):
    return {p.name for p in folder.iterdir() if p.name.startswith(".")} == {publish.MANIFEST}


@pytest.fixture
def tmp_path(tmp_path):
    """A folder in memory where a machine has one: thousands of steps would wait for a disk."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as name:
        yield Path(name)


@pytest.fixture
def folder(tmp_path):
    return fresh(tmp_path / "case")


def fresh(folder):
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    (folder / "case.yaml").write_text("title: x")
    return folder


def test_a_report_is_published_and_replaced(folder):
    (folder / "notes.txt").write_text("mine")
    published = build(folder, OLD)
    assert published.files["pdf"].read_text() == "old report.pdf"
    assert is_whole(folder)
    build(folder, NEW)
    assert found(folder) == expected(NEW, **{"notes.txt": "mine"})
    assert is_whole(folder) and clean(folder)


def test_other_formats_and_notebooks_of_the_same_case_stay(folder):
    build(folder, OLD)
    build(folder, OLD, {"docx": "report.docx", "results": "results.json"})
    build(folder, OLD, OTHER)
    names = {**NAMES, "docx": "report.docx", "other": "review.pdf"}
    assert found(folder) == expected(OLD, names) and is_whole(folder)
    assert publish.stands(folder, names.values(), made_from(OLD, names))
    assert not publish.stands(folder, names.values(), made_from(NEW, names))


def test_nothing_of_an_earlier_state_of_the_case_looks_current(folder):
    build(folder, OLD)
    build(folder, OLD, OTHER)
    published = build(folder, NEW, {"html": "report.html", "results": "results.json"})
    assert found(folder) == expected(
        NEW,
        {"html": "report.html", "results": "results.json"},
        **{"review (outdated).pdf": "old review.pdf"},
    )
    assert [path.name for path in published.outdated] == ["review (outdated).pdf"]
    assert is_whole(folder)
    build(folder, "third")  # no second outdated one beside the first
    assert found(folder) == expected("third", **{"review (outdated).pdf": "old review.pdf"})
    build(folder, "third", OTHER)
    assert found(folder) == expected("third", {**NAMES, "other": "review.pdf"})


def test_after_a_case_went_wrong_its_report_says_that_it_is_old(folder):
    build(folder, OLD)
    (folder / "report.html").write_text(EDIT)
    assert publish.mark_outdated(folder, OLD) == ((), ())
    outdated, kept = publish.mark_outdated(folder)
    aside = {
        "report (outdated).pdf": "old report.pdf",
        "results (outdated).json": "old results.json",
        "report (kept 1).html": EDIT,
    }
    assert {path.name for path in (*outdated, *kept)} == set(aside)
    assert found(folder) == expected(OLD, {}, **aside)
    assert publish.mark_outdated(folder) == ((), ())
    build(folder, OLD)
    assert found(folder) == expected(OLD, **{"report (kept 1).html": EDIT})


def test_an_edited_file_and_a_stranger_are_kept(folder):
    (folder / "report.pdf").write_text("stranger")
    first = build(folder, OLD)
    assert [path.name for path in first.kept] == ["report (kept 1).pdf"]
    (folder / "report.html").write_text("old annotated")
    (folder / "report.pdf").write_text("old signed")
    second = build(folder, NEW)
    kept = {path.name: path.read_text() for path in second.kept}
    assert kept == {"report (kept 1).html": "old annotated", "report (kept 2).pdf": "old signed"}
    assert found(folder) == expected(NEW, **kept, **{"report (kept 1).pdf": "stranger"})
    (folder / "report.pdf").write_text("changed")
    assert not is_whole(folder)


def test_a_failed_build_leaves_nothing(tmp_path):
    folder = tmp_path / "a" / "b"
    with pytest.raises(ZeroDivisionError), publish.workspace(folder) as work:
        (work / "report.pdf").write_text("x")
        raise ZeroDivisionError
    assert not (tmp_path / "a").exists()
    with (
        pytest.raises(ReportError, match=r"report\.pdf is in the way"),
        publish.workspace(folder) as work,
    ):
        publish.publish(work, NAMES, folder, made_from=made_from(NEW, NAMES))
    assert not (tmp_path / "a").exists()


def test_two_builds_at_once_are_refused(folder):
    with publish.workspace(folder), pytest.raises(ReportError, match="another build"):
        build(folder, NEW)
    build(folder, NEW)


@pytest.mark.parametrize("name", ["../victim.pdf", "case.yaml", "", "\0.pdf", 3])
def test_a_manifest_is_believed_about_our_own_files_only(folder, tmp_path, name):
    """One that was made by hand: the checksum is right, the name is none of a report's."""
    victim = tmp_path / "victim.pdf"
    victim.write_text("title: x")
    entry = {"sha256": publish._sha256(victim), "made_from": {publish.CASE: OLD}}
    (folder / publish.MANIFEST).write_text(
        json.dumps({"format": publish.FORMAT, "files": {name: entry}, "replaced": {}})
    )
    assert not publish.manifest(folder)
    build(folder, NEW)
    publish.mark_outdated(folder)
    assert victim.exists() and (folder / "case.yaml").read_text() == "title: x"


@pytest.mark.parametrize("text", ["", "[]", '{"format": "thread-repair-reports/3"}', "{"])
def test_a_manifest_that_is_none(folder, text):
    (folder / publish.MANIFEST).write_text(text)
    build(folder, NEW)
    assert found(folder) == expected(NEW)


@pytest.mark.parametrize("name", ["case.yaml", "../case.yaml", "", "none.pdf"])
def test_a_journal_made_by_hand_undoes_nothing_of_others(folder, name):
    journal = folder / publish.JOURNAL
    (journal / "earlier").mkdir(parents=True)
    (journal / publish.MANIFEST).write_text("{}")
    build(folder, OLD)
    (journal / "earlier").mkdir(parents=True)
    (journal / "earlier" / "case.yaml").write_text("forged")
    entry = {"sha256": publish._sha256(folder / "case.yaml"), "made_from": {publish.CASE: OLD}}
    data = {"format": publish.FORMAT, "files": {name: entry}, "replaced": {name: None}}
    (journal / publish.MANIFEST).write_text(json.dumps(data))
    build(folder, NEW)
    assert found(folder) == expected(NEW)


def test_what_is_no_file_is_named(folder):
    os.mkfifo(folder / "report.pdf")
    with pytest.raises(ReportError, match=r"report\.pdf is in the way: it is not a file"):
        build(folder, NEW)


def test_without_hard_links_or_rights(folder, monkeypatch):
    """As on an exFAT stick."""

    def refuse(*_, **__):
        raise OSError(errno.EPERM, "not permitted")

    monkeypatch.setattr(os, "link", refuse)
    monkeypatch.setattr(os, "chmod", refuse)
    build(folder, OLD)
    (folder / "report.pdf").write_text(EDIT)
    build(folder, NEW)
    assert found(folder) == expected(NEW, **{"report (kept 1).pdf": EDIT}) and clean(folder)


@pytest.mark.parametrize("seen", ["open", "fsync"])
def test_a_folder_that_cannot_be_read_or_flushed(folder, monkeypatch, seen):
    """Only its names cannot be forced to the disk: the report is published all the same."""
    real = getattr(os, seen)
    folders = set()

    def refuse(what, *rest, **named):
        is_folder = os.path.isdir(what) if seen == "open" else what in folders
        if is_folder:
            raise OSError(errno.EINVAL, "Invalid argument")
        return real(what, *rest, **named)

    if seen == "fsync":
        opened = os.open

        def remembered(path, *rest, **named):
            handle = opened(path, *rest, **named)
            (folders.add if os.path.isdir(path) else folders.discard)(handle)
            return handle

        monkeypatch.setattr(os, "open", remembered)
    build(folder, OLD)
    (folder / "report.pdf").write_text(EDIT)
    monkeypatch.setattr(publish.shutil, "rmtree", lambda *_, **__: None)  # it opens folders too
    monkeypatch.setattr(os, seen, refuse)
    build(folder, NEW)
    assert found(folder) == expected(NEW, **{"report (kept 1).pdf": EDIT})


def interrupt(monkeypatch, at, how):
    """Call `how` in place of the step number `at`; returns the counter of steps."""
    count = [0]

    def wrap(real):
        def step(*args, **kwargs):
            count[0] += 1
            if count[0] == at:
                how()
            return real(*args, **kwargs)

        return step

    for module, name in STEPS:
        monkeypatch.setattr(module, name, wrap(getattr(module, name)))
    return count


@pytest.fixture(scope="module")
def edited(tmp_path_factory):
    """Return a function that makes of a folder two reports of one case, one edited by hand."""
    model = fresh(tmp_path_factory.mktemp("model") / "case")
    build(model, OLD, OTHER)
    build(model, OLD)
    (model / "report.pdf").write_text(EDIT)

    def copy(folder):
        shutil.rmtree(folder)
        shutil.copytree(model, folder)

    return copy


def state(folder):
    """Return OLD or NEW if the folder is wholly one, with the edit in it; else what is there."""
    there = found(folder)
    old = expected(OLD, {**NAMES, "other": "review.pdf"}) | {"report.pdf": EDIT}
    new = expected(NEW) | {"review (outdated).pdf": "old review.pdf", "report (kept 1).pdf": EDIT}
    spare = {name: text for name, text in there.items() if "(kept" in name and text == EDIT}
    if there in (old, old | spare):
        return OLD
    return NEW if there in (new, new | spare) else there


@pytest.mark.parametrize(
    "code",
    [
        errno.ENOSPC,
        pytest.param(errno.EACCES, marks=pytest.mark.slow),
        pytest.param(errno.EIO, marks=pytest.mark.slow),
    ],
)
def test_refused_by_the_system_at_any_step(folder, edited, monkeypatch, code):
    """Each call in turn fails: what stood there stands there, with what was edited."""

    def refuse():
        raise OSError(code, os.strerror(code))

    seen = []
    for at in range(1, 300):
        edited(folder)
        with monkeypatch.context() as patch:
            count = interrupt(patch, at, refuse)
            try:
                build(folder, NEW)
                told = None
            except ReportError as error:
                told = str(error)
        now = state(folder)
        assert now == (NEW if told is None else OLD), (at, told, now)
        if told is not None:
            assert "\n" not in told
            assert os.strerror(code) in told or "another build" in told
        with publish.workspace(folder):
            pass
        assert state(folder) == now and clean(folder), at
        seen.append(now)
        if count[0] < at:
            break
    assert len(seen) > 60 and {OLD, NEW} <= set(seen) and told is None


@pytest.mark.slow
def test_refused_from_any_step_on(folder, edited, monkeypatch):
    """Each call in turn fails and all after it too, as on a disk that is gone: undone later."""
    for at in range(1, 300):
        edited(folder)
        with monkeypatch.context() as patch:
            count = [0]

            def refuse_on(real, count=count, at=at):
                def step(*args, **kwargs):
                    count[0] += 1
                    if count[0] >= at:
                        raise OSError(errno.EIO, "gone")
                    return real(*args, **kwargs)

                return step

            for module, name in set(STEPS) - {(os, "close")}:  # or the lock would be held on
                patch.setattr(module, name, refuse_on(getattr(module, name)))
            with contextlib.suppress(ReportError, OSError):
                build(folder, NEW)
        with publish.workspace(folder):
            pass
        assert state(folder) in (OLD, NEW) and clean(folder), at
        if count[0] < at:
            break
    assert at > 60


def test_what_is_written_after_a_crash_is_not_undone(folder, edited, monkeypatch):
    """Killed between two renames, then edited: undoing keeps the edit under a second name."""
    edited(folder)
    real = os.replace

    def refuse(source, target):
        if str(target).endswith("results.json"):
            raise KeyboardInterrupt
        real(source, target)

    monkeypatch.setattr(os, "replace", refuse)
    monkeypatch.setattr(publish, "recover", lambda _: None)
    with pytest.raises(KeyboardInterrupt):
        build(folder, NEW)
    monkeypatch.undo()
    assert (folder / "report.html").read_text() == "new report.html"
    (folder / "report.html").write_text("edited meanwhile")
    with publish.workspace(folder):
        pass
    assert found(folder)["report.html"] == "old report.html"
    assert found(folder)["report (kept 1).html"] == "edited meanwhile"
    assert found(folder)["report.pdf"] == EDIT


def test_undoing_twice_takes_no_file_whose_bytes_are_the_same(folder, monkeypatch):
    """Killed between two renames, and again after the first file was put back."""
    build(folder, OLD)
    real = os.replace

    def killed(source, target):
        if str(target).endswith("results.json"):
            raise KeyboardInterrupt
        real(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", killed)
        patch.setattr(publish, "recover", lambda _: None)
        with pytest.raises(KeyboardInterrupt), publish.workspace(folder) as work:
            for name in NAMES.values():
                (work / name).write_text(f"{OLD} {name}")
            publish.publish(work, NAMES, folder, made_from=made_from(NEW, NAMES))
    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", killed)
        with pytest.raises(KeyboardInterrupt):
            publish.recover(folder)
    publish.recover(folder)
    assert found(folder) == expected(OLD) and clean(folder)


def _killed_child(folder, at):
    interrupt(pytest.MonkeyPatch(), at, lambda: os._exit(9))
    build(folder, NEW)
    os._exit(0)


def _recovering_child(folder, at):
    interrupt(pytest.MonkeyPatch(), at, lambda: os._exit(9))
    with publish.workspace(folder):
        pass
    os._exit(0)


def _fork_each(orders):
    """Fork for every call that comes and send back how its process ended."""
    for target, *args in iter(orders.recv, None):
        pid = os.fork()
        if pid == 0:
            target(*args)
        orders.send(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]))


@pytest.fixture(scope="module")
def forked():
    """Return a function that makes a call in a process of its own: its exit code.

    It is forked from a small one, not from this one with all that other tests left in it.
    """
    ours, theirs = multiprocessing.Pipe()
    process = multiprocessing.get_context("spawn").Process(target=_fork_each, args=(theirs,))
    process.start()

    def call(*order):
        ours.send(order)
        return ours.recv()

    yield call
    ours.send(None)
    process.join()


@pytest.mark.slow
def test_killed_at_any_step_and_again_while_recovering(folder, edited, forked):
    seen = set()
    for at in range(1, 300):
        edited(folder)
        code = forked(_killed_child, folder, at)
        assert set(NAMES.values()) <= set(found(folder))  # never a moment with one missing
        assert EDIT in found(folder).values(), at
        if code == 0:
            break
        forked(_recovering_child, folder, at % 9 + 1)
        with publish.workspace(folder):
            pass
        assert state(folder) in (OLD, NEW) and clean(folder), (at, state(folder))
        seen.add(state(folder))
    assert code == 0 and at > 60 and seen == {OLD, NEW}


def _refused_then_killed_child(folder, refused_at, killed_at):
    def refuse():
        raise OSError(errno.ENOSPC, "No space left on device")

    interrupt(pytest.MonkeyPatch(), refused_at, refuse)
    interrupt(pytest.MonkeyPatch(), killed_at, lambda: os._exit(9))
    try:
        build(folder, NEW)
    finally:
        os._exit(0)


@pytest.mark.slow
def test_killed_while_undoing(folder, edited, forked):
    # The later half of a publication, each step refused, then killed soon after.
    for refused_at in range(40, 76, 3):
        for killed_at in range(refused_at + 1, refused_at + 16, 2):
            edited(folder)
            forked(_refused_then_killed_child, folder, refused_at, killed_at)
            assert set(NAMES.values()) <= set(found(folder))
            with publish.workspace(folder):
                pass
            assert state(folder) in (OLD, NEW) and clean(folder), (refused_at, killed_at)
