"""The preload of one condition, from the wrench into service."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, not_negative, positive
from ..tables import cited
from .records import Tightening
from .state import StateTightening, tighten
from .torque_preload import Band, yield_preload

REFERENCES = cited("service")
THERMAL_REFERENCE = cited("service-thermal")[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicePreload:
    """Preload of one condition, as tightened and in service.

    Attributes
    ----------
    tightened : torque, preload and twist as tightened
    service : Band, N, after relaxation and with the change of temperature
    changes : what temperature adds to the preload, N, by temperature, degC; that of assembly, with
        nothing, comes first; NaN where the expansion is not known
    yield_preload : Band, N, at which the screw yields, twist included: with the friction of the
        twisted line, then with that of the maximum preload
    """

    tightened: StateTightening
    service: Band
    changes: Mapping[float, float]
    yield_preload: Band

    @property
    def known_changes(self) -> Mapping[float, float]:
        """The same with nothing for what is not known, as a fact of the tightening says."""
        return {t: 0.0 if math.isnan(each) else each for t, each in self.changes.items()}


def service_preload(inputs: Tightening, state: str) -> ServicePreload:
    """Return the preload of one condition: as tightened, then in service.

    Parameters
    ----------
    inputs : Tightening
    state : str
        "original" or "repaired".

    Returns
    -------
    ServicePreload
    """
    shape, prevailing = inputs.shape, inputs.prevailing_nm[state][1]
    tightened = tighten(
        shape,
        torque_nm=inputs.torque_nm,
        preload=inputs.preload,
        thread_friction=(inputs.thread[state].low, inputs.thread[state].high),
        head_friction=(inputs.head.low, inputs.head.high),
        error=inputs.tool.error,
        scattered=inputs.tool.scattered,
        prevailing_nm=prevailing,
    )
    area = np.pi / 4 * ((shape.pitch_diameter + shape.minor_diameter) / 2) ** 2
    assembly = inputs.temperatures[0]
    # Any clamped length gives the same: a longer screw is softer and expands more.
    changes = {
        each: float(
            thermal_preload(
                screw_stiffness=inputs.screw_modulus * area / shape.major,
                joint_stiffness=None,
                length=shape.major,
                temperature_change=each - assembly,
                screw_expansion=inputs.screw_expansion,
                joint_expansion=inputs.clamped_expansion,
            )
        )
        for each in inputs.temperatures[1:]
    }
    known = [0.0, *(each for each in changes.values() if not math.isnan(each))]
    at_yield = [
        float(
            yield_preload(
                yield_strength=inputs.screw_yield,
                pitch=shape.pitch,
                pitch_diameter=shape.pitch_diameter,
                minor_diameter=shape.minor_diameter,
                thread_friction=line.thread_friction,
                flank_angle=shape.flank_angle,
                prevailing_nm=prevailing,
            )
        )
        for line in (tightened.twisted, tightened.maximum)
    ]
    return ServicePreload(
        tightened=tightened,
        service=in_service(
            tightened.preload,
            relaxation=inputs.relaxation,
            thermal_gain=max(known),
            thermal_loss=-min(known),
        ),
        changes={assembly: 0.0, **changes},
        yield_preload=Band(least=at_yield[0], middle=math.nan, highest=at_yield[1]),
    )


def in_service(
    tightened: Band,
    *,
    relaxation: ArrayLike = 0.0,
    thermal_gain: ArrayLike = 0.0,
    thermal_loss: ArrayLike = 0.0,
) -> Band:
    """Preload of a tightened joint after relaxation and with temperature.

    Parameters
    ----------
    tightened : Band, N
        Right after tightening.
    relaxation : array_like
        Loss after tightening as a fraction of what remains; 0.05 in the source's tables.
    thermal_gain, thermal_loss : array_like, N
        Most that temperature adds, most that it takes away, both as positive numbers.

    Returns
    -------
    Band, N
        Highest + gain; least / (1 + r) - loss, which may be negative: all preload lost. The middle
        stays.

    Source: NASA TM-106943 (1995), eqs. (14) to (16), read. The division by 1 + r is what its
    printed factor 0.714 for a scatter of 0.25 and r = 0.05 implies; 0.75 (1 - r) would give 0.7125.
    """
    r, gain, loss = not_negative(
        relaxation=relaxation, thermal_gain=thermal_gain, thermal_loss=thermal_loss
    )
    return Band(
        least=(tightened.least / (1 + r) - loss)[()],
        middle=tightened.middle,
        highest=(tightened.highest + gain)[()],
    )


def thermal_preload(
    *,
    screw_stiffness: ArrayLike,
    joint_stiffness: ArrayLike | None,
    length: ArrayLike,
    temperature_change: ArrayLike,
    screw_expansion: ArrayLike,
    joint_expansion: ArrayLike,
) -> Floats:
    """Change of preload with temperature.

    Parameters
    ----------
    screw_stiffness, joint_stiffness : array_like, N/mm
        Without the joint's it is taken as rigid, which gives the most that the change can be.
    length : array_like, mm
        Clamped length.
    temperature_change : array_like, K
        From assembly; negative when colder.
    screw_expansion, joint_expansion : array_like, 1/K
        Coefficients of thermal expansion.

    Returns
    -------
    float or ndarray, N
        Kb Kj / (Kb + Kj) L dT (alpha_j - alpha_b); positive: preload is gained.

    Notes
    -----
    Both members at one temperature, elastic. The expansion of the insert's wire is secondary and
    left out.

    Source: NASA TM-106943 (1995), eq. (10) p. 5, read.

    Examples
    --------
    >>> gain = thermal_preload(screw_stiffness=375150, joint_stiffness=1875750, length=20,
    ...     temperature_change=100, screw_expansion=11.5e-6, joint_expansion=23.4e-6)
    >>> print(f"{gain:.0f} N")
    7440 N
    """
    kb, grip, screw, joint = positive(
        screw_stiffness=screw_stiffness,
        length=length,
        screw_expansion=screw_expansion,
        joint_expansion=joint_expansion,
    )
    springs = kb
    if joint_stiffness is not None:
        (kj,) = positive(joint_stiffness=joint_stiffness)
        springs = kb * kj / (kb + kj)
    change = np.asarray(temperature_change, dtype=np.float64)
    return (springs * grip * change * (joint - screw))[()]
