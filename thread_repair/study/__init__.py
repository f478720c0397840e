"""The case, studied: every quantity once; criteria and conclusion."""

import sys
from types import ModuleType

from ..case import Case
from .conclusion import CONCLUSIONS, Conclusion
from .criteria import Criterion
from .record import Study, study

__all__ = ["CONCLUSIONS", "Conclusion", "Criterion", "Study", "study"]


class _Callable(ModuleType):
    """A module, this one, which is called as the function that it is named after.

    The package offers that function as `thread_repair.study`; the import of this module puts the
    module into its place.
    """

    def __call__(self, case: Case) -> Study:
        return study(case)


sys.modules[__name__].__class__ = _Callable
