"""Load of each thread in both conditions, elastic, as bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..units import number, percent
from .live_svg import COLOUR, PAPER, Drawing, Plot

if TYPE_CHECKING:
    from ..strength.sharing.states import StateSharing

#: End of the scale, per cent: more than the first of three threads carries.
_TOP = 60.0


def live_thread_loads(original: StateSharing, repaired: StateSharing, *, threads: float) -> Drawing:
    """Draw the part of the load on each thread from the joint face, in per cent.

    Parameters
    ----------
    original, repaired : StateSharing
        Of one joint; each has one load a thread.
    threads : threads of the longest insert, which end the scale
    """
    picture = Drawing(356)
    plot = Plot(picture=picture, box=(48, 62, 470, 312), x=(0.2, threads + 0.8), y=(0.0, _TOP))
    step = max(1, round(threads / 10))
    plot.scales(range(1, int(threads) + 1, step), (0, 20, 40), "thread, from the joint face")
    picture.text(2, 57, "%")
    for row, each in enumerate((original, repaired)):
        name, loads = each.state, 100 * np.minimum(each.elastic.loads, _TOP / 100)
        left = np.arange(len(loads)) + 1 - 0.42 + 0.42 * row
        sides = np.stack((left, left, left + 0.42, left + 0.42), axis=-1)
        tops = np.stack((0 * loads, loads, loads, 0 * loads), axis=-1)
        plot.shape(np.stack((sides, tops), axis=-1), moves=True, stroke_width=1.5,
                   stroke=COLOUR[name], fill=COLOUR[name] if row else PAPER)  # fmt: skip
        picture.text(
            48, 20 + 20 * row,
            f"{'■' if row else '□'} {name}: first thread "
            f"{percent(float(each.first_thread_share))}, "
            f"peak / mean {number(float(each.peak_over_mean))}",
            colour=COLOUR[name], bold=True,
        )  # fmt: skip
        has = number(float(each.ductility_capacity), 2) if each.ductility_known else "not known"
        picture.text(
            470, 84 + 20 * row,
            f"slip ratio needed {number(float(each.ductility_demand), 2)}, available {has}",
            anchor="end", colour=COLOUR[name], backed=True,
        )  # fmt: skip
    return picture


def thread_loads_words(original: StateSharing, repaired: StateSharing) -> str:
    """Say in a sentence what the picture shows."""
    parts = [
        f"The first thread carries {percent(float(original.first_thread_share))} of the load in "
        f"the original hole and {percent(float(repaired.first_thread_share))} in the repaired one."
    ]
    for each in (original, repaired):
        if not each.ductility_known:
            parts.append(f"Whether the parent stretches enough is not known ({each.state}).")
        elif each.full_strength:
            parts.append(f"All threads yield before the first one parts ({each.state}).")
        else:
            parts.append(f"The first thread may part before the last one yields ({each.state}).")
    return " ".join(parts)
