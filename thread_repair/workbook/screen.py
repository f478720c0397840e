"""The workbook on the screen: the form, the conclusion that follows it, pictures and files."""

import asyncio
import os
from collections.abc import Callable, Coroutine, Mapping
from functools import partial
from pathlib import Path
from typing import Any

import ipywidgets

from .. import case as cases
from ..errors import InputError, ThreadRepairError
from ..files import own_text
from ..report.escape import html
from ..report.jobs import Outcome
from ..study import Study
from . import storage
from .answers import CHARTS, Answer, answer, chart, shown
from .form import field

#: Pause of the typing, seconds, after which the pictures are drawn.
_PAUSE = 0.25
#: Time between two pictures in which an entry is taken.
_BREATH = 0.02
_HOLE_SHEET = "hole_preparation"
_CHANGED = "Changed since it was opened or saved."


class Workbook:
    """A case in the making: what stands in the form, and what follows from it.

    Parameters
    ----------
    case_file : str
        A case to open; empty for a new one.
    """

    def __init__(self, case_file: str = "") -> None:
        groups = cases.sections()
        self.fields = {key: field(key) for keys in groups.values() for key in keys}
        self.stored: storage.Stored | None = None
        self.last: Study | None = None
        #: The entries that the report was made from whose files are shown.
        self.reported: Mapping[str, str] = {}
        self._refused: tuple[storage.Stored, Mapping[str, str]] | None = None
        self.found = Answer()
        self._drawing: asyncio.Task[None] | None = None
        self._quiet = False
        self.answer, self.message, self.links = (ipywidgets.HTML() for _ in range(3))
        self.charts = {heading: ipywidgets.HTML() for heading in CHARTS}
        beside = {"style": {"description_width": "initial"}}
        self.file = ipywidgets.Text(
            description="Case file",
            placeholder="file or folder, such as cases/pump-cover",
            continuous_update=False,  # sent whole, before the press of a button
            **beside,
        )
        self.notebook = ipywidgets.Combobox(
            description="Report", options=storage.reports(), value="repair_justification", **beside
        )
        self.build = _button("Build the report", lambda: _later(self._build(self.notebook.value)))
        self.sheet = _button("Hole sheet", lambda: _later(self._build(_HOLE_SHEET)))
        #: What opens a group of keys, and the box in which they then stand.
        self._groups = {
            group: (_button(group, partial(self._switch, group)), ipywidgets.VBox())
            for group in groups
            if group
        }
        self.whole = self._whole()
        self.follow()
        if case_file:
            self.file.value = case_file
            self._try(self._open)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return self.whole._repr_mimebundle_(**kwargs)

    def _whole(self) -> Any:
        parts = self._rows("")
        for switch, box in self._groups.values():
            switch.add_class("tr-group")
            parts += [switch, box]
        for each in self.fields.values():
            each.control.observe(self.follow, names="value")
        upload = ipywidgets.FileUpload(
            accept=".yaml,.yml", description="Upload", layout={"width": "auto"}
        )
        upload.observe(
            lambda sent: sent.new and self._try(partial(self._upload, upload)), names="value"
        )
        opens = _button("Open", lambda: self._try(self._open))
        saves = _button("Save", lambda: _later(self._save_later()))
        bar = _box("tr-bar", self.file, opens, upload, saves, self.notebook, self.build, self.sheet,
                   kind=ipywidgets.HBox)  # fmt: skip
        form = _box("tr-form", *parts)
        pictures = _box("tr-pictures", *self.charts.values(), kind=ipywidgets.Box)
        right = _box("tr-right", self.answer, pictures)
        columns = _box("tr-columns", form, right, kind=ipywidgets.HBox)
        style = f"<style>{own_text('workbook.css')}</style>"
        hidden = ipywidgets.HTML(style, layout={"display": "none"})
        return _box("tr-workbook", hidden, bar, self.message, self.links, columns)

    def _rows(self, group: str) -> list[Any]:
        return [self.fields[key].whole for key in cases.sections()[group]]

    @property
    def entries(self) -> dict[str, str]:
        """What stands in the form, by key; empty fields are left out."""
        typed = {key: each.control.value for key, each in self.fields.items()}
        return {key: value for key, value in typed.items() if value.strip()}

    @property
    def folder(self) -> Path:
        """Where files stand that the case names."""
        if self.stored is not None and self.stored.file is not None:
            return self.stored.file.parent
        return Path(os.environ.get(storage.FOLDER, "."))

    # --- form and answer

    def follow(self, _change: object = None) -> None:
        """Bring the answer in line with the form; the pictures follow when the typing pauses."""
        if self._quiet:
            return
        self.found = answer(self.entries, self.folder)
        self.answer.value = shown(self.found, self.last)
        for key, each in self.fields.items():
            each.say(self.found.faults.get(key, ""))
        self._label_groups()
        self._mark_outdated()
        (self.whole.add_class if self._is_unsaved else self.whole.remove_class)("tr-unsaved")
        if self._is_changed:
            self._say(_CHANGED)
        elif _CHANGED in self.message.value:
            self.message.value = ""
        if self.found.study is None:
            return  # what is being drawn belongs to the conclusion that stays
        if self._drawing is not None:
            self._drawing.cancel()
        self.last = self.found.study
        self._drawing = _later(self.draw(self.last))

    async def draw(self, study: Study) -> None:
        """Draw the pictures one by one, so that an entry is taken between two of them."""
        await asyncio.sleep(_PAUSE)
        for heading, each in self.charts.items():
            try:
                each.value = chart(heading, study)
            except ThreadRepairError as error:
                each.value = f"<h2>{html(heading)}</h2><p>{html(error)}</p>"
            self._mark_outdated()
            await asyncio.sleep(_BREATH)

    @property
    def _is_changed(self) -> bool:
        return self.stored is not None and self.stored.entries != self.entries

    @property
    def _is_unsaved(self) -> bool:
        """Whether the form holds entries that stand in no file: who leaves the page is asked."""
        return self._is_changed if self.stored else bool(self.entries)

    def _mark_outdated(self) -> None:
        """Mark what belongs to the entries of before; nothing that is empty."""
        parts = dict.fromkeys(self.charts.values(), self.found.study is None)
        parts[self.links] = self.reported != self.entries
        for part, old in parts.items():
            (part.add_class if old and part.value else part.remove_class)("tr-outdated")

    def _switch(self, group: str) -> None:
        _, box = self._groups[group]
        box.children = () if box.children else self._rows(group)
        self._label_groups()

    def _label_groups(self) -> None:
        """Say at each group whether it is open, how many entries it has, and what is wrong."""
        stated = self.entries.keys()
        for group, (switch, box) in self._groups.items():
            keys = cases.sections()[group]
            if set(keys) & set(self.found.faults) and not box.children:
                box.children = self._rows(group)
            sign, filled = "−" if box.children else "+", len(stated & set(keys))
            switch.description = f"{sign} {group.capitalize()}: {filled} of {len(keys)} stated"

    # --- files

    def _try(self, action: Callable[[], str]) -> bool:
        """Do what a button says, show what came of it in a sentence, return whether it was done."""
        try:
            self._say(action())
        except ThreadRepairError as error:
            self._say(str(error), wrong=True)
            return False
        return True

    def _say(self, words: str, *, wrong: bool = False) -> None:
        kind = 'class="tr-fault" role="alert"' if wrong else 'role="status"'
        self.message.value = f"<p {kind}>{'<br>'.join(map(html, words.splitlines()))}</p>"

    def _fill(self, stored: storage.Stored, said: str = "") -> str:
        """Put a case into the form, and return what is said of it."""
        self._quiet = True
        try:
            for key, each in self.fields.items():
                each.control.value = stored.entries.get(key, "")
        finally:
            self._quiet = False
        self.stored, self.last, self.links.value = stored, None, ""
        for each in self.charts.values():
            each.value = ""
        if self._drawing is not None:
            self._drawing.cancel()  # it belongs to the case of before
        self.follow()
        lost = " Its comments will not be kept when it is saved." if stored.has_comments else ""
        return f"Opened {said}{lost}"

    def _not_to_be_lost(self, stored: storage.Stored) -> None:
        """Refuse once to put a case in the place of entries that stand in no file."""
        if self._is_unsaved and self._refused != (stored, self.entries):
            self._refused = stored, self.entries
            raise InputError.of("form_not_saved")

    def _open(self) -> str:
        stored = storage.opened(self.file.value)
        self._not_to_be_lost(stored)
        return self._fill(stored, f"{stored.file}.")

    def _upload(self, upload: Any) -> str:
        (sent,) = upload.value
        upload.value = ()  # so that the same file, sent once more, is told
        stored = storage.uploaded(sent.name, bytes(sent.content))
        self._not_to_be_lost(stored)
        return self._fill(stored, f"{sent.name}. To save it, name a case file.")

    def _save(self) -> str:
        before = self.stored
        self.stored = storage.saved(self.file.value, self.entries, before)
        self.follow()  # files that the case names are looked for beside it
        lost, left = "", ""
        if before and before.has_comments and before is not self.stored:
            lost = " The comments of the file were not kept."
        if faults := len(self.found.faults) + len(self.found.missing):
            wrong = "1 entry is" if faults == 1 else f"{faults} entries are"
            left = f" {wrong} missing or wrong: no report yet."
        return f"Saved {self.stored.file}.{lost}{left}"

    async def _save_later(self) -> None:
        """Save when the last letter typed has come, which the press of a button may overtake."""
        await asyncio.sleep(_PAUSE)
        self._try(self._save)

    # --- report

    async def _build(self, notebook: str) -> None:
        """Save the case and build its report in another thread, so that the form goes on."""
        await asyncio.sleep(_PAUSE)  # as in `_save_later`
        if self.found.study is None:
            self._say("No report of a case that has missing or wrong entries.", wrong=True)
            return
        if not self._try(self._save):
            return
        made_from, loop = self.stored, asyncio.get_running_loop()
        assert made_from is not None and made_from.file is not None
        build = partial(storage.built, made_from.file, notebook)

        def progress(line: str) -> None:
            if line:
                loop.call_soon_threadsafe(self._say, line)

        self.build.disabled = self.sheet.disabled = True
        try:
            self._built(await asyncio.to_thread(build, progress), made_from)
        except ThreadRepairError as error:
            self._say(str(error), wrong=True)
        finally:
            self.build.disabled = self.sheet.disabled = False

    def _built(self, outcome: Outcome, made_from: storage.Stored) -> None:
        if outcome.faults:
            self._say("\n".join(outcome.faults), wrong=True)
            return
        self.reported, earlier = made_from.entries, "Made from an earlier state of the case, now"
        concluded = outcome.numbers["conclusion"]["text"]
        if self.reported != self.entries:
            concluded = (
                f"Of {made_from.file} as it was saved then, not of what stands in the form now."
            )
        self._say("\n".join((
            "Finished and unchanged." if outcome.unchanged else "Built.",
            *(f"Kept what was changed by hand as {each}." for each in outcome.kept),
            *(f"{earlier} {each}." for each in outcome.outdated),
            concluded,
        )))  # fmt: skip
        self.links.value = f"<ul>{storage.links(outcome.files.values())}</ul>"
        self._mark_outdated()


def show(case_file: str = "") -> Workbook:
    """Return the workbook, with a case opened if one is named here or on the command line."""
    return Workbook(case_file or os.environ.get(storage.OPENED, ""))


def _box(name: str, *parts: Any, kind: Any = ipywidgets.VBox) -> Any:
    made = kind(parts)
    made.add_class(name)
    return made


def _button(words: str, press: Callable[[], object]) -> Any:
    made = ipywidgets.Button(description=words, layout={"width": "auto"})
    made.on_click(lambda _: press())
    return made


def _later(work: Coroutine[Any, Any, None]) -> asyncio.Task[None] | None:
    """Have work done by the loop of the notebook; without one it is left out."""
    try:
        return asyncio.get_running_loop().create_task(work)
    except RuntimeError:
        work.close()
        return None
