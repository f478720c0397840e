"""Run the cells of a notebook in this process, and tell what each puts out as a kernel does."""

import contextlib
import io
import os
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from multiprocessing.connection import Connection
from typing import Any, BinaryIO

from IPython.core.displayhook import DisplayHook
from IPython.core.displaypub import DisplayPublisher
from IPython.core.interactiveshell import InteractiveShell
from traitlets.config import Config

Output = dict[str, Any]

#: What the running cell has put out so far.
_OUTPUTS = list[Output]()
#: Of that, what has a name by which it can be replaced.
_NAMED = dict[str | None, Output]()


def run(sources: Sequence[str], to: Connection) -> None:
    """Run cells one after the other, up to one that fails.

    Sends for each what it put out, as nbformat names it; name and text of its error, or nothing;
    and what stands on standard error, whoever wrote it. At last it sends the state of controls.
    """
    quiet = Config({"HistoryManager": {"enabled": False}})
    shown = {"display_pub_class": _Published, "displayhook_class": _Value}
    shell: Any = InteractiveShell.instance(config=quiet, **shown)
    sys.stdout = _StandardOutput()
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    with _in_place_of(1) as printed, _in_place_of(2) as errors:
        for source in sources:
            _OUTPUTS.clear()
            _NAMED.clear()
            done = shell.run_cell(source, store_history=True)
            sys.stdout.write(_taken(printed))
            error = done.error_before_exec or done.error_in_exec
            to.send((_OUTPUTS, error and (type(error).__name__, str(error)), _taken(errors)))
            if error:
                return
    controls: Any = sys.modules.get("ipywidgets")
    to.send(controls and controls.Widget.get_manager_state())


@contextlib.contextmanager
def _in_place_of(number: int) -> Iterator[BinaryIO]:
    """Give a file that takes what any program writes to an open file."""
    with tempfile.TemporaryFile(buffering=0) as file:
        os.dup2(file.fileno(), number)
        yield file


def _taken(file: BinaryIO) -> str:
    """Return what stands in a file, and empty it."""
    file.seek(0)
    text = file.read().decode("utf-8", "backslashreplace")
    file.seek(0)
    file.truncate()
    return text


class _StandardOutput(io.TextIOBase):
    """Standard output: it stands among what is displayed, in the order of both."""

    def write(self, text: str) -> int:
        if text and not (_OUTPUTS and _OUTPUTS[-1]["output_type"] == "stream"):
            _OUTPUTS.append({"output_type": "stream", "name": "stdout", "text": ""})
        if text:
            _OUTPUTS[-1]["text"] += text
        return len(text)


class _Published(DisplayPublisher):
    """What is displayed, and what takes the place of what was displayed in the same cell."""

    def publish(
        self, data: Any, metadata: Any = None, *_: Any, transient: Any = None,
        update: bool = False, **__: Any,
    ) -> None:  # fmt: skip
        shown = _display("display_data", data, metadata)
        name = (transient or {}).get("display_id")
        if update:
            _NAMED[name].update(shown)
            return
        _OUTPUTS.append(shown)
        _NAMED[name] = shown

    def clear_output(self, wait: bool = False) -> None:
        _OUTPUTS.clear()


class _Value(DisplayHook):
    """The value that a cell ends with."""

    def write_output_prompt(self) -> None:
        pass

    def write_format_data(self, data: Any, metadata: Any = None) -> None:
        shown = _display("execute_result", data, metadata)
        _OUTPUTS.append({**shown, "execution_count": self.prompt_count})


def _display(kind: str, data: Mapping[str, Any], metadata: Mapping[str, Any] | None) -> Output:
    return {"output_type": kind, "data": dict(data), "metadata": dict(metadata or {})}
