"""Units at the edge: what people type, what is refused, what is printed."""

import math
import re
import subprocess
import sys
from pathlib import Path

import pytest

from thread_repair.errors import InputError
from thread_repair.units import DIMENSIONS, _converted, dimension_of, number, parse, plain, show

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("0.5 in", "length", 12.7),
        ("1 1/2 in", "length", 38.1),
        ("1-1/2 in", "length", 38.1),
        ('1/2"', "length", 12.7),
        ("12", "length", 12.0),
        (12, "length", 12.0),
        ("1.5 D", "length", 12.0),
        ("1.5D", "length", 12.0),
        ("8 kN", "force", 8000.0),
        ("1 lbf", "force", 4.4482216152605),
        ("27 ksi", "stress", 186.158446915546),
        ("200 N/mm²", "stress", 200.0),
        ("176 °F", "temperature", 80.0),
        ("80 C", "temperature", 80.0),
        ("−20 °C", "temperature", -20.0),  # the sign that reports print
        ("22 Nm", "torque", 22.0),
        ("22000 Nmm", "torque", 22.0),
        ("100 in-lb", "torque", 11.2984829027617),
    ],
)
def test_reads_what_people_type(text, dimension, value):
    assert parse(text, dimension, diameter=8.0) == pytest.approx(value, rel=1e-12)


def test_a_temperature_is_the_same_in_fahrenheit():
    read = {
        each: parse(f"{each * 18 / 10 + 32:.1f} degF", "temperature") for each in range(-55, 300)
    }
    assert {each: value for each, value in read.items() if value != each} == {}


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("12 kg", "force", "load: '12 kg' is not a force; expected for example '8 kN'"),
        ("12 mm", "force", "is not a force"),
        ("12 lb", "force", "is not a force"),  # a pound of mass
        ("12,5 mm", "length", "write '12.5 mm'"),
        ("3\u202f000 N", "force", "write '3000 N'"),
        ("3\u00a0000 N", "force", "write '3000 N'"),
        ("200 Mpa", "stress", "did you mean 'MPa'"),
        ("nan", "length", "is not a length"),
        ("inf mm", "length", "is not a length"),
        ("1e999 mm", "length", "is not a length"),
        ("9**9**9**9 mm", "length", "is not a length"),
        ("__import__('os') mm", "length", "is not a length"),
        ("1/0 in", "length", "is not a length"),
        ("9" * 100, "length", "is not a length"),
        ("", "length", "is not a length"),
        (True, "length", "is not a length"),
        (None, "length", "is not a length"),
    ],
)
def test_refuses_in_one_sentence(text, dimension, says):
    with pytest.raises(InputError) as raised:
        parse(text, dimension, field="load")
    assert says in str(raised.value)
    assert "\n" not in str(raised.value)


def test_diameters_need_a_thread():
    with pytest.raises(InputError, match="1 D"):
        parse("1.5 D", "length")
    for wrong in ("eleven", "12 kg"):  # where they are refused they are no example
        with pytest.raises(InputError, match=r"expected .*'0\.5 in'$"):
            parse(wrong, "length")
        with pytest.raises(InputError, match=r"'1\.5 D'"):
            parse(wrong, "length", diameter=8.0)


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (25.0693, 3, "25.1"),
        (25069.3, 3, "25100"),
        (0.012345, 3, "0.0123"),
        (0.0, 3, "0"),
        (-1.234, 3, "−1.23"),
        (math.nan, 3, "–"),
        (99.96, 3, "100"),
    ],
)
def test_prints_significant_digits(value, digits, text):
    assert number(value, digits) == text


def test_what_comes_from_another_unit_has_no_more_digits_than_anybody_reads():
    torque = parse("20 lbf·ft", "torque")
    assert plain(torque, dimension="torque", as_typed=True) == "27.11636 N·m"
    assert plain(parse("25/64 in", "length"), dimension="length", as_typed=True) == "9.921875 mm"
    # 1.5 diameters of 3/8 in; a length that has as many digits in inches was typed in mm
    inch = parse("9/16 in", "length")
    assert plain(inch, dimension="length", system="both") == "14.3 mm (0.5625 in)"
    assert plain(100.125, dimension="length") == "100.125 mm"
    assert plain(12.345678, 12.3400003, dimension="length") == "12.3 and 12.3 mm"  # computed
    assert plain(parse("3/8 in", "length"), dimension="length") == "9.525 mm"


def test_prints_both_systems():
    assert show(25069.3, "force", system="both") == "25.1 kN (5640 lbf)"
    assert show(20.0, "temperature", system="inch") == "68.0 °F"


@pytest.mark.parametrize(
    ("dimension", "unit"), [(d, unit) for d, kind in DIMENSIONS.items() for unit in kind.direct]
)
def test_what_is_converted_directly_is_what_pint_gives(dimension, unit):
    for value in (1.0, 0.5, 12.7, 1.0e-3, 98765.4321):
        slow = _converted(value, unit, f"{value} {unit}", DIMENSIONS[dimension])
        assert parse(f"{value!r} {unit}", dimension) == pytest.approx(slow, rel=2e-14)


def test_every_unit_that_a_sentence_may_offer_is_read():
    """Not "mil": pint takes it for an angle, and a workshop in millimetres for one of these."""
    for dimension, kind in DIMENSIONS.items():
        for unit in (*kind.common, *kind.aliases, *kind.meant.values()):
            if "times the number" not in unit:
                assert parse(f"3 {unit}", dimension) != 0, unit
                assert dimension_of(unit) == dimension, unit


def test_the_demonstration_needs_no_pint():
    code = (
        "import sys, thread_repair as tr;"
        "tr.evaluate(tr.load('reports/demo-rig-plate'));"
        "print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT)
    assert done.stdout.strip() == "False", done.stderr


@pytest.mark.parametrize("text", ["315.553 N", "1.500", "12.340 N"])
def test_both_ways_to_write_a_load_that_may_be_thousands_are_read(text):
    """The first of them was the text that had just been refused."""
    with pytest.raises(InputError) as raised:
        parse(text, "force")
    first, second = re.findall(r"'([^']+)'", str(raised.value))[1:]
    number = float(text.removesuffix(" N"))
    assert parse(first, "force") == pytest.approx(number)
    assert parse(second, "force") == pytest.approx(1000 * number)


@pytest.mark.parametrize("fahrenheit", [-65, -40, 0, 5, 86, 212])
def test_a_temperature_in_fahrenheit_is_printed_as_it_was_typed(fahrenheit):
    inside = parse(f"{fahrenheit} degF", "temperature")
    shown = plain(inside, dimension="temperature", system="inch")
    assert shown == f"{fahrenheit} °F".replace("-", "−")
