"""What is assumed of a joint said in one line: every key that a case needs and the line lacks.

A hole without a word is a through hole, its full thread as deep as the part or the insert asked
for, else 1.5 D where the hole takes it. A screw is of class 8.8, or of the inch grade of that
strength. A blind hole without a depth is as deep as the insert and a plug tap need, or as a longer
full thread; one with a depth too shallow for that is finished with a bottoming tap. All of it is
common practice, without a published source, and is named in the answer.
"""

from collections import ChainMap
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from typing import Any

from .. import inserts, materials, threads, units
from ..errors import InputError, InputErrors, ThreadRepairError
from ..threads.profile import Thread
from . import reading
from .asked import Token
from .schema import Case


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A line as it was read: its tokens, and what was assumed beside them, by key."""

    tokens: tuple[Token, ...]
    assumed: Mapping[str, str]

    @property
    def entered(self) -> dict[str, str]:
        """What the line says and what was assumed, as a case file has it."""
        found = {**{each.key: each.value for each in self.tokens}, **self.assumed}
        guessed = ", ".join(each for each in self.assumed if each not in _PROPOSED)
        return found | ({"assumed": guessed} if guessed else {})

    @property
    def data(self) -> dict[str, Any]:
        """The same as plain data."""
        return {"tokens": [asdict(each) for each in self.tokens], "assumed": dict(self.assumed)}

    @property
    def case(self) -> Case:
        """The case that the line stands for."""
        try:
            return reading.read(self.entered)
        except InputErrors as error:
            # What follows from an assumption is not what the line is to be mended by.
            own = [each for each in error.faults if each.partition(":")[0] not in self.assumed]
            raise InputErrors(own or error.faults) from None


#: What is proposed for the repair, and asserts nothing of the part.
_PROPOSED = ("insert_length", "insert_kind", "tap", "report_units")
#: Nominal length where neither insert nor hole says another, in diameters (common practice).
_USUAL = 1.5
#: The screw assumed where none is said and the size has it; else 8.8.
_USUAL_SCREWS = {"unified": "J429-5"}
_USUAL_FRICTION = {"austenitic screw": "class-C"}


def completed(tokens: Sequence[Token], *, diameters: float | None = None) -> Asked:
    """Return the line with every assumption that a case needs.

    Parameters
    ----------
    tokens : of `ask`
    diameters : nominal length of the insert to assume where the line gives none; None to find out
        which would do: a blind hole without a depth is then taken deep enough for any

    Raises
    ------
    InputError
        If a name of the line is unknown.
    """
    said = {each.key: each.value for each in tokens}
    thread = threads.thread(said["thread"])
    assumed: dict[str, str] = {}
    both = ChainMap(said, assumed)

    def assume(key: str, value: str) -> None:
        if key not in said:
            assumed.setdefault(key, value)

    assume("screw", _screw(thread))
    assume("hole_kind", "through")
    assume("insert_kind", "free-running")
    assume("temperature", "20 degC")
    if thread.system != "metric":
        assume("report_units", "inch")
    if "torque" in said or "preload" in said:
        assume("friction", usual_friction(materials.screw(both["screw"], thread.major)))
    kind = both["hole_kind"]
    usual = _fitting(thread, said, kind)
    assume("insert_length", f"{usual if diameters is None else diameters:g} D")
    length = both["insert_length"]
    thickness = said.get("part_thickness")
    if kind == "through" and thickness:
        assume("engagement", thickness)
    assume("engagement", length if "insert_length" in said else f"{usual:g} D")
    if kind == "blind":
        _assume_depth(thread, said, assumed, length, deepest=diameters is None)
    return Asked(tokens=tuple(tokens), assumed=assumed)


def usual_friction(screw: materials.Screw) -> str:
    """Return the friction class to assume: oiled steel, or stainless steel with wax or paste."""
    return _USUAL_FRICTION.get(screw.family, "class-B")


def _screw(thread: Thread) -> str:
    with suppress(ThreadRepairError):  # the class does not have this size
        return materials.screw(_USUAL_SCREWS.get(thread.system, "8.8"), thread.major).id
    return "8.8"


def _length(thread: Thread, text: str | None) -> float | None:
    """Return a length, mm; None where there is none, or one that the case will refuse."""
    try:
        return None if text is None else units.parse(text, "length", diameter=thread.major)
    except InputError:
        return None


def _fitting(thread: Thread, said: Mapping[str, str], kind: str) -> float:
    """Return the longest standard insert that the hole takes, in diameters, up to the usual."""
    blind = kind == "blind"
    room = _length(thread, said.get("hole_depth" if blind else "part_thickness"))
    needed = {
        n: _drilled(thread, n * thread.major, "bottoming") if blind else n * thread.major
        for n in inserts.LENGTHS
        if n <= _USUAL
    }
    return max((n for n in needed if room is None or needed[n] <= room), default=min(needed))


def _drilled(thread: Thread, length: float, tap: str) -> float:
    return float(inserts.drill_depth(thread, length, tap))


def _assume_depth(
    thread: Thread, said: Mapping[str, str], assumed: dict[str, str], length: str, *, deepest: bool
) -> None:
    """Assume the depth that the insert needs, or for a known depth the tap that finishes it."""
    nominal = _length(thread, length)
    if nominal is None:
        return
    if "hole_depth" not in said:
        longest = inserts.LENGTHS[-1] * thread.major if deepest else nominal
        needed, full = _drilled(thread, longest, said.get("tap", "plug")), said.get("engagement")
        deeper = (_length(thread, full) or 0.0) > needed
        assumed["hole_depth"] = full if full and deeper else f"{needed:.6g} mm"
        return
    depth = _length(thread, said["hole_depth"])
    if depth is not None and "tap" not in said and depth < _drilled(thread, nominal, "plug"):
        assumed["tap"] = "bottoming"
