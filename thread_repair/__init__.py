"""Compare the pull-out strength of a repaired thread with that of the thread it replaces.

Units inside: mm, N, MPa, degC. See README.md for the job and DEVELOPERS.md for the code.
"""

from __future__ import annotations

__version__ = "0.1.0"
