"""ASME B18.29.2M-2005 (R2017), Helical Coil Screw Thread Inserts (metric), Table 8: highest
tensile strength of screws by property class, MPa, and the requirement on the wire, 1035 MPa before
coiling. Read in Machinery's Handbook, 31st ed., p. 1746, 1750 and 1757, which reproduces them.
"""

import pytest

from thread_repair.materials import screw, wire


@pytest.mark.parametrize(
    ("name", "highest"),
    [
        ("4.6", 705),
        ("4.8", 705),
        ("5.8", 705),
        ("8.8", 1055),
        ("9.8", 1115),
        ("10.9", 1215),
        ("12.9", 1435),
    ],
)
def test_highest_tensile_strength(name, highest):
    found = screw(name, 10)
    assert found.tensile_max == highest
    assert found.reference("tensile_max").source == "asme-b18-29-2m"
    assert found.reference("tensile_max").how_known == "read"


def test_wire():
    assert wire("S30200").tensile == 1035
    assert wire("S30200").reference("tensile").how_known == "read"
