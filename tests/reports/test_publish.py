"""All or nothing: killed or failing at any step, the folder holds one whole report."""

import contextlib
import errno
import json
import multiprocessing
import os
import shutil

import pytest

from thread_repair.errors import ReportError
from thread_repair.reporting import publish

NAMES = {"pdf": "report.pdf", "html": "report.html", "results": "results.json"}
OLD, NEW = "old", "new"

# Every call by which the module changes the disk.
STEPS = [
    (os, "rename"),
    (os, "replace"),
    (os, "link"),
    (os, "fsync"),
    (os, "mkdir"),
    (os, "unlink"),
    (os, "rmdir"),
    (os, "open"),
    (shutil, "rmtree"),
]


def build(folder, version, names=NAMES):
    with publish.workspace(folder) as work:
        for name in names.values():
            (work / name).write_text(f"{version} {name}")
        (work / "report.md").write_text("not published")
        (work / "figures").mkdir()
        return publish.publish(work, names, folder)


def standing(folder):
    """Which version each file is of, with the names of ours that stand there."""
    return {
        path.name: path.read_text().split()[0]
        for path in folder.iterdir()
        if path.name in ("report.pdf", "report.html", "report.docx", "results.json")
    }


def clean(folder):
    return {path.name for path in folder.iterdir()} - set(NAMES.values()) - {"report.docx"} == {
        publish.MANIFEST,
        "case.yaml",
    }


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "case"
    folder.mkdir()
    (folder / "case.yaml").write_text("title: x")
    return folder


def test_a_report_is_published_and_replaced(folder):
    (folder / "notes.txt").write_text("mine")
    published = build(folder, OLD)
    assert published.files["pdf"].read_text() == "old report.pdf"
    assert publish.is_whole(folder)
    build(folder, NEW)
    assert set(standing(folder).values()) == {NEW} and publish.is_whole(folder)
    assert (folder / "notes.txt").read_text() == "mine"
    (folder / "notes.txt").unlink()
    assert clean(folder)


def test_a_format_no_longer_asked_for_does_not_stay_behind(folder):
    build(folder, OLD, {**NAMES, "docx": "report.docx"})
    build(folder, NEW)
    assert "report.docx" not in standing(folder) and clean(folder)


def test_an_edited_file_and_a_stranger_are_kept(folder):
    (folder / "report.pdf").write_text("stranger")
    first = build(folder, OLD)
    assert [path.name for path in first.kept] == ["report (kept 1).pdf"]
    (folder / "report.html").write_text("old annotated")
    (folder / "report.pdf").write_text("old signed")
    second = build(folder, NEW)
    kept = {path.name: path.read_text() for path in second.kept}
    assert kept == {"report (kept 1).html": "old annotated", "report (kept 2).pdf": "old signed"}
    assert (folder / "report (kept 1).pdf").read_text() == "stranger"
    assert set(standing(folder).values()) == {NEW}
    (folder / "report.pdf").write_text("changed")
    assert not publish.is_whole(folder)


def test_a_failed_build_leaves_nothing(tmp_path):
    folder = tmp_path / "a" / "b"
    with pytest.raises(ZeroDivisionError), publish.workspace(folder) as work:
        (work / "report.pdf").write_text("x")
        raise ZeroDivisionError
    assert not (tmp_path / "a").exists()
    with (
        pytest.raises(ReportError, match=r"report\.pdf was not made"),
        publish.workspace(folder) as work,
    ):
        publish.publish(work, NAMES, folder)
    assert not (tmp_path / "a").exists()


def test_two_builds_at_once_are_refused(folder):
    with publish.workspace(folder), pytest.raises(ReportError, match="another build"):
        build(folder, NEW)
    build(folder, NEW)


def test_a_name_in_a_manifest_cannot_lead_out_of_the_folder(folder, tmp_path):
    (tmp_path / "victim").write_text("v")
    (folder / publish.MANIFEST).write_text(
        json.dumps({"format": publish.FORMAT, "files": {"../victim": "0"}})
    )
    build(folder, NEW)
    assert (tmp_path / "victim").read_text() == "v"


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


def _killed_child(folder, at):
    interrupt(pytest.MonkeyPatch(), at, lambda: os._exit(9))
    build(folder, NEW)
    os._exit(0)


def _recovering_child(folder, at):
    interrupt(pytest.MonkeyPatch(), at, lambda: os._exit(9))
    with publish.workspace(folder):
        pass
    os._exit(0)


def forked(target, *args):
    process = multiprocessing.get_context("fork").Process(target=target, args=args)
    process.start()
    process.join()
    return process.exitcode


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_killed_at_any_step_and_again_while_recovering(folder):
    names = {**NAMES, "docx": "report.docx"}
    seen = set()
    for at in range(1, 200):
        shutil.rmtree(folder)
        folder.mkdir()
        (folder / "case.yaml").write_text("title: x")
        build(folder, OLD, names)
        code = forked(_killed_child, folder, at)
        assert set(NAMES.values()) <= set(standing(folder))  # never a moment with one missing
        if code == 0:
            break
        forked(_recovering_child, folder, at % 7 + 1)
        with publish.workspace(folder):
            pass
        versions = set(standing(folder).values())
        assert len(versions) == 1, at
        assert publish.is_whole(folder) and clean(folder), at
        seen |= versions
    assert code == 0 and at > 20 and seen == {OLD, NEW}


@pytest.mark.slow
def test_refused_by_the_system_at_any_step(folder, monkeypatch):
    code = errno.ENOSPC

    def refuse():
        raise OSError(code, os.strerror(code))

    for at in range(1, 200):
        shutil.rmtree(folder)
        folder.mkdir()
        (folder / "case.yaml").write_text("title: x")
        build(folder, OLD)
        with monkeypatch.context() as patch:
            count = interrupt(patch, at, refuse)
            try:
                build(folder, NEW)
                told = None
            except ReportError as error:
                told = str(error)
        assert len(set(standing(folder).values())) == 1, at
        assert set(standing(folder)) == set(NAMES.values()), at
        if told is not None:
            assert "\n" not in told
            assert os.strerror(code) in told or "another build" in told
        with publish.workspace(folder):
            pass
        assert publish.is_whole(folder) and clean(folder), at
        if count[0] < at:
            break
    assert at > 20 and told is None and set(standing(folder).values()) == {NEW}


def test_without_hard_links(folder, monkeypatch):
    def refuse(*_):
        raise OSError(errno.EPERM, "no links")

    monkeypatch.setattr(os, "link", refuse)
    build(folder, OLD)
    build(folder, NEW)
    assert set(standing(folder).values()) == {NEW} and clean(folder)


def _refuse(*_):
    raise OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.slow
def test_a_first_report_refused_halfway_leaves_nothing(folder, monkeypatch):
    for at in range(1, 200):
        with monkeypatch.context() as patch:
            count = interrupt(patch, at, _refuse)
            with contextlib.suppress(ReportError):
                build(folder, NEW)
        with publish.workspace(folder):
            pass
        assert set(standing(folder)) in (set(), set(NAMES.values())), at
        if count[0] < at:
            break
        for name in (*NAMES.values(), publish.MANIFEST):
            (folder / name).unlink(missing_ok=True)
        assert [path.name for path in folder.iterdir()] == ["case.yaml"], at
    assert at > 20


def _refused_then_killed_child(folder, refused_at, killed_at):
    interrupt(pytest.MonkeyPatch(), refused_at, _refuse)
    interrupt(pytest.MonkeyPatch(), killed_at, lambda: os._exit(9))
    try:
        build(folder, NEW)
    finally:
        os._exit(0)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_killed_while_undoing(folder):
    build(folder, OLD)
    # The renames of the middle of a publication, each refused, then killed soon after.
    for refused_at in range(17, 30):
        for killed_at in range(refused_at + 1, refused_at + 14):
            forked(_refused_then_killed_child, folder, refused_at, killed_at)
            assert set(NAMES.values()) <= set(standing(folder))
            with publish.workspace(folder):
                pass
            assert len(set(standing(folder).values())) == 1, (refused_at, killed_at)
            assert publish.is_whole(folder) and clean(folder), (refused_at, killed_at)
            if NEW in standing(folder).values():
                build(folder, OLD)
