"""One line of words, studied: with the insert that it names, else with the one that would do."""

import math
from dataclasses import dataclass

import attrs

from .. import case as cases
from .. import tightening as tg
from ..case import asked, assumed
from ..case.schema import Torque
from .record import Study

#: A torque to find the window at, N·m: the window does not depend on it, but on the tool, and a
#: hand torque wrench is less accurate up to 10 N·m.
_ANY, _SMALL = Torque(20.0), Torque(tg.SMALL)


@dataclass(frozen=True, slots=True)
class Answered:
    """What was asked, as it was read, and the study of it."""

    asked: assumed.Asked
    study: Study

    @property
    def tightened(self) -> tg.Preloads:
        """The joint as tightened; where no torque is stated, for its window alone."""
        if self.study.preloads is not None:
            return self.study.preloads
        found = self._tightened_to(_ANY)
        return found if found.repaired.window_nm[1] > _SMALL else self._tightened_to(_SMALL)

    def _tightened_to(self, torque: Torque) -> tg.Preloads:
        case, evaluation = self.study.case, self.study.evaluation
        friction = case.friction or assumed.usual_friction(evaluation.joint.screw)
        inputs = cases.tightening(attrs.evolve(case, torque=torque, friction=friction))
        assert inputs is not None
        return tg.preloads(inputs, evaluation, ())


def answer(line: str) -> Answered:
    """Return the answer to a line such as "M8 6082-T6 8.8 blind 20".

    Where the line names no insert, the shortest standard one that meets the criteria is taken, and
    where none does, the usual length.

    Parameters
    ----------
    line : str

    Returns
    -------
    Answered

    Raises
    ------
    InputError
        If a word of the line is not understood, or the joint cannot be.
    """
    tokens = asked.ask(line)
    first = assumed.completed(tokens)
    studied = Study(first.case)
    chosen = studied.case.insert_length / studied.evaluation.joint.thread.major
    best = studied.recommended.diameters
    if "insert_length" in first.assumed and not math.isnan(best):
        chosen = best
    final = assumed.completed(tokens, diameters=chosen)
    return Answered(final, studied if final == first else Study(final.case))
