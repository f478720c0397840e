"""The published formulas in plain arithmetic, apart from the package, for joints worked by hand.

Everything is mm, N, MPa; torques N·mm. Nothing of the package is used here, so that a slip in a
formula and a slip in what joins the formulas both show.
"""

import math

#: tan 30 degrees as the documents print it.
TAN = 0.57735
#: Strength of the wire of a fitted insert: 1035 MPa (ASME B18.29.2M, read), sheared at 1/sqrt(3).
WIRE_SHEAR = 1035 * 0.57735


def internal_area(length, pitch, crest, pitch_diameter):
    """FED-STD-H28/2B Appendix B: the hole's thread on the cylinder of the crest in it."""
    return math.pi * crest * (length / pitch) * (pitch / 2 + TAN * (crest - pitch_diameter))


def external_area(length, pitch, minor, pitch_diameter):
    """FED-STD-H28/2B Appendix B: the screw's thread on the cylinder of the hole's minor."""
    return math.pi * minor * (length / pitch) * (pitch / 2 + TAN * (pitch_diameter - minor))


def stress_area(major, pitch):
    """ISO 898-1: the mean of d - 0.6495 P and d - 1.2269 P is the diameter."""
    return math.pi / 4 * (major - 0.938194 * pitch) ** 2


def c1(boss, hole_major):
    """SAE 770420: widening of a nut 1.4 to 1.9 diameters across flats."""
    ratio = boss / hole_major
    return 1.0 if ratio >= 1.9 else 3.8 * ratio - ratio**2 - 2.61


def c2(ratio):
    """SAE 770420, screw thread, no credit above 1; 1 above the paper's range (2.2)."""
    if ratio <= 1:
        return 0.897
    if ratio > 2.2:
        return 1.0
    return min(
        1.0, 5.594 - 13.682 * ratio + 14.107 * ratio**2 - 6.057 * ratio**3 + 0.9353 * ratio**4
    )


def c3(ratio):
    """SAE 770420, parent thread, no credit above 1; 1 below the paper's range (0.4)."""
    if ratio >= 1:
        return 0.897
    if ratio < 0.4:
        return 1.0
    return min(1.0, 0.728 + 1.769 * ratio - 2.896 * ratio**2 + 1.296 * ratio**3)


def bearing_area(length, pitch, crest, minor):
    """Flanks in contact seen along the axis, one ring a pitch."""
    return math.pi / 4 * (crest**2 - minor**2) * length / pitch


def bearing_stress(shear):
    """Blunt wedge of 90 + 30 degrees pressed on one flank: 2 tau (1 + pi/6)."""
    return 2 * shear * (1 + math.pi / 6)


def lever(thread_friction, head_friction, *, pitch, pitch_diameter, bearing_diameter):
    """VDI 2230-1: torque over preload of a 60 degree thread, mm; 1/(2 cos 30) is 0.57735."""
    return (
        pitch / (2 * math.pi)
        + TAN * thread_friction * pitch_diameter
        + head_friction * bearing_diameter / 2
    )


def torsion_lever(thread_friction, *, pitch, pitch_diameter):
    """The part of it that twists the shank."""
    return pitch / (2 * math.pi) + TAN * thread_friction * pitch_diameter


def equivalent(load, twist, diameter):
    """Distortion energy of pull and elastic twist on a round bar, MPa."""
    pull = load / (math.pi / 4 * diameter**2)
    shear = twist / (math.pi / 16 * diameter**3)
    return math.sqrt(pull**2 + 3 * shear**2)


def load_at_yield(strength, twist_lever, diameter, *, pull=0.0, twist=0.0):
    """Preload F at which F + `pull` and F times `twist_lever` + `twist` bring a bar to yield.

    The quadratic a F^2 + b F + c = 0 of the distortion energy, its greater root.
    """
    area, section = math.pi / 4 * diameter**2, math.pi / 16 * diameter**3
    a = 1 / area**2 + 3 * twist_lever**2 / section**2
    b = 2 * pull / area**2 + 6 * twist_lever * twist / section**2
    c = pull**2 / area**2 + 3 * twist**2 / section**2 - strength**2
    return (-b + math.sqrt(b**2 - 4 * a * c)) / (2 * a)
