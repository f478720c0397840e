"""Units at the edge: "0.5 in", "1.5 D", "45 kN" <-> mm, N, MPa, degC; how a number is printed.

Nothing below this module sees a unit. Text is matched against one pattern before pint reads the
unit, because pint evaluates expressions and a case file is not trusted.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Any, TypeVar

from . import files
from .arrays import FloatArray
from .errors import InputError, nearest

#: One number is printed as one, an array as an array.
_Printed = TypeVar("_Printed", float, FloatArray)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of quantity: its unit inside, the units people type, and how it is printed.

    `aliases` are spellings of the trade that pint does not know, or takes for another unit; `meant`
    are units of something else that are typed for one of this kind, with what is meant.
    """

    noun: str
    unit: str
    pint_unit: str
    examples: tuple[str, ...]
    aliases: Mapping[str, str]
    common: tuple[str, ...]
    meant: Mapping[str, str] = field(default_factory=dict)


#: A pound in a torque is a force, however the two units are joined and in whichever order.
_POUND_TORQUES = {
    arm: [
        joined
        for pound in ("lbf", "lb", "lbs")
        for sign in ("·", "-", ".", "*", " ")
        for joined in (f"{short}{sign}{pound}", f"{pound}{sign}{short}")
    ]
    for arm, short in (("inch", "in"), ("foot", "ft"))
}


def _kinds() -> Iterator[tuple[str, Kind]]:
    for name, told in files.data("units.toml").items():
        lists: dict[str, Any] = {
            key: tuple(each) if isinstance(each, list) else each for key, each in told.items()
        }
        if name == "torque":
            pounds = {text: f"{arm}*lbf" for arm, some in _POUND_TORQUES.items() for text in some}
            lists["aliases"] = {**lists["aliases"], **pounds}
        yield name, Kind(**lists)


_DIMENSIONS: Mapping[str, Kind] = MappingProxyType(dict(_kinds()))

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_QUANTITY = re.compile(
    rf"""\s*(?:(?P<whole>\d+)[ ]+(?P<part>\d+/\d+)   # 1 1/2 in
        |(?P<fraction>[+-]?\d+/\d+)                  # 1/2 in
        |(?P<number>{_NUMBER}))                      # 0.5 in
        \s*(?P<unit>[^\d\s][^\s]*(?:[ ][^\s]+)*)?\s*$""",
    re.VERBOSE,
)
_UNIT = re.compile(r"[A-Za-zµ°\"]{1,12}(?:[*/·.-][A-Za-z]{1,8})?(?:\*\*|\^)?[23²³]?$|N m$")
#: "mm2", "mm^2", "in3" as people write them.
_POWER = re.compile(r"([A-Za-z])(?:\^|\*\*)?([23])\Z")
#: How diameters of the thread are written.
DIAMETERS = ("D", "d", "xD", "x D", "×D", "*D")
#: Longer text is a mistake or an attack; no quantity needs it.
_LONGEST = 60


_POUND_FORCE = 4.4482216152605  # N, exact: 0.45359237 kg x 9.80665 m/s2
#: Factors to the unit inside for what is typed most. All other units are pint's, whose import takes
#: longer than a whole evaluation; a test compares the two.
_DIRECT: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "length": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4},
        "force": {"N": 1.0, "kN": 1000.0, "lbf": _POUND_FORCE},
        "stress": {
            "MPa": 1.0, "N/mm2": 1.0, "N/mm²": 1.0, "GPa": 1000.0,
            "psi": _POUND_FORCE / 25.4**2, "ksi": 1000 * _POUND_FORCE / 25.4**2,
        },
        "temperature": {"degC": 1.0, "°C": 1.0},
        "torque": {
            "N·m": 1.0, "Nm": 1.0, "in·lbf": _POUND_FORCE * 0.0254, "ft·lbf": _POUND_FORCE * 0.3048,
        },
    }
)  # fmt: skip


@cache
def _registry() -> Any:
    import pint  # late: costs as much as the rest of the import together

    return pint.UnitRegistry(cache_folder=None)


def parse(text: object, dimension: str, *, field: str = "", diameter: float | None = None) -> float:
    """Read a quantity as people type it and return it in the unit used inside.

    Parameters
    ----------
    text : str or number
        "12 mm", "1/2 in", "1.5 D"; a bare number is in mm, N, MPa, degC or N·m.
    dimension : {"length", "area", "force", "stress", "temperature", "torque"}
    field : the name to put before the error, if any
    diameter : what 1 D means, mm; without it "1.5 D" is refused

    Raises
    ------
    InputError
        One sentence naming the field, the value, what was expected and examples.

    Examples
    --------
    >>> parse("0.5 in", "length")
    12.7
    >>> parse("1.5 D", "length", diameter=8)
    12.0
    >>> parse("12 kg", "force", field="design_load")
    Traceback (most recent call last):
        ...
    thread_repair.errors.InputError: design_load: '12 kg' is not a force; expected for example \
'8 kN' or '1800 lbf'; did you mean 'kgf'?
    """
    kind = _DIMENSIONS[dimension]
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise _refused(field, text, kind)
    if not isinstance(text, str):
        return _finite(float(text), field, text, kind)
    match = _QUANTITY.match(text) if len(text) <= _LONGEST else None
    if match is None:
        raise _refused(field, text, kind)
    number = _number(match, field, text, kind)
    unit = match["unit"]
    if dimension == "force" and unit in (None, "N") and _POINT_OF_THOUSANDS.match(text):
        plain_ = re.sub(r"\.", "", text).strip()
        raise InputError(
            f"{_before(field)}{text!r} may be {number:g} N or a thousand times that; write "
            f"'{number:g} N' or {plain_!r}"
        )
    if unit is None:
        return _finite(number, field, text, kind)
    if unit in DIAMETERS and dimension == "length":
        if diameter is None:
            raise InputError(f"{_before(field)}{text!r} needs a known thread to say what 1 D is")
        return _finite(number * diameter, field, text, kind)
    factor = _DIRECT.get(dimension, {}).get(unit)
    if factor is not None:
        value = number if factor == 1.0 else float(f"{number * factor:.14g}")
        return _finite(value, field, text, kind)
    return _finite(_converted(number, unit, field, text, kind), field, text, kind)


def dimension_of(unit: str) -> str | None:
    """Return which kind of quantity a unit is of, None where people do not write it so.

    Examples
    --------
    >>> dimension_of("kN"), dimension_of("ft-lb"), dimension_of("blind")
    ('force', 'torque', None)
    """
    if unit in DIAMETERS:
        return "length"
    return next(
        (
            name
            for name, kind in _DIMENSIONS.items()
            if unit in kind.aliases or unit in kind.common or unit in _DIRECT.get(name, {})
        ),
        None,
    )


def noun(dimension: str) -> str:
    """Return what a dimension is called, with how it may be written.

    Examples
    --------
    >>> noun("force")
    "a force, for example '8 kN' or '1800 lbf'"
    """
    kind = _DIMENSIONS[dimension]
    return f"{kind.noun}, {_examples(kind)}"


def unit_inside(dimension: str) -> str:
    """Return the unit of the numbers that `parse` returns."""
    return _DIMENSIONS[dimension].unit


def _number(match: re.Match[str], field: str, text: str, kind: Kind) -> float:
    try:
        if match["part"]:
            return float(int(match["whole"]) + Fraction(match["part"]))
        if match["fraction"]:
            return float(Fraction(match["fraction"]))
        return float(match["number"])
    except (ZeroDivisionError, OverflowError):
        raise _refused(field, text, kind) from None


def _converted(number: float, unit: str, field: str, text: str, kind: Kind) -> float:
    """Convert by pint, which knows every unit there is."""
    import pint

    known = kind.aliases.get(unit)
    if known is None and not _UNIT.match(unit):
        raise _refused(field, text, kind, unit)
    name = known or _POWER.sub(r"\1**\2", unit.replace("²", "2")).replace("·", "*")
    try:
        quantity = _registry().Quantity(number, name).to(kind.pint_unit)
    except pint.DimensionalityError:
        raise _refused(field, text, kind, unit) from None
    except Exception:  # pint raises many kinds for text that is no unit
        hint = _hint(unit, kind)
        raise InputError(
            f"{_before(field)}{text!r} has the unknown unit {unit!r}; "
            f"expected {kind.noun}, {_examples(kind)}{hint}"
        ) from None
    # Conversions are exact ratios, but pint multiplies in an order that leaves 12.699999999999999.
    return float(f"{float(quantity.magnitude):.14g}")


def _before(field: str) -> str:
    return f"{field}: " if field else ""


def _examples(kind: Kind) -> str:
    return "for example " + " or ".join(repr(e) for e in kind.examples)


def _hint(unit: str, kind: Kind) -> str:
    """Return which unit of the kind was meant, as the end of a sentence; empty where none is near.

    Upper and lower case, powers and signs between the parts of a unit are where people differ.
    """
    meant = kind.meant.get(unit)
    if meant is None:
        written = {_bare(each): each for each in reversed(kind.common)}
        close = nearest(unit, kind.common, count=1)
        meant = written.get(_bare(unit)) or (close[0] if close else None)
    return "" if meant is None or meant == unit else f"; did you mean {meant!r}?"


def _bare(unit: str) -> str:
    return re.sub(r"[^a-z0-9]", "", unit.casefold())


#: No load on a screw is known to a thousandth of a newton.
_POINT_OF_THOUSANDS = re.compile(r"\s*[1-9]\d{0,2}\.\d{3}(?!\d)")
#: Digits in groups of three, which one reader takes for thousands and another for decimals.
_GROUPED = re.compile(r"\s*([+-]?\d{1,3}(?:[,' ’]\d{3})+)(\D*)")


def _refused(field: str, text: object, kind: Kind, unit: str = "") -> InputError:
    shown = repr(text) if len(repr(text)) <= _LONGEST else repr(text)[:_LONGEST] + "...'"
    grouped = _GROUPED.fullmatch(text) if isinstance(text, str) else None
    if isinstance(text, str) and grouped:
        thousands, decimal = (
            re.sub(r"[,' ’]", sign, grouped[1]) + grouped[2].rstrip() for sign in ("", ".")
        )
        other = f", or {decimal!r} if it is a decimal comma" if grouped[1].count(",") == 1 else ""
        return InputError(
            f"{_before(field)}{shown} has its digits in groups; write {thousands!r}{other}"
        )
    if isinstance(text, str) and re.fullmatch(r"\s*[+-]?\d+,\d+\s*\D*", text):
        return InputError(
            f"{_before(field)}{shown} has a decimal comma; write {text.replace(',', '.').strip()!r}"
        )
    hint = _hint(unit, kind) if unit in kind.meant or _bare(unit) in map(_bare, kind.common) else ""
    return InputError(
        f"{_before(field)}{shown} is not {kind.noun}; expected {_examples(kind)}{hint}"
    )


def _finite(value: float, field: str, text: object, kind: Kind) -> float:
    if not math.isfinite(value):
        raise _refused(field, text, kind)
    return value


#: How each dimension is printed: (unit, factor from the unit inside, offset).
_PRINTED: Mapping[tuple[str, str], tuple[str, float, float]] = MappingProxyType(
    {
        ("length", "SI"): ("mm", 1.0, 0.0),
        ("length", "inch"): ("in", 1 / 25.4, 0.0),
        ("area", "SI"): ("mm²", 1.0, 0.0),
        ("area", "inch"): ("in²", 1 / 25.4**2, 0.0),
        ("force", "SI"): ("kN", 1e-3, 0.0),
        ("force", "inch"): ("lbf", 1 / 4.4482216152605, 0.0),  # exact: 0.45359237 kg x 9.80665
        ("stress", "SI"): ("MPa", 1.0, 0.0),
        ("stress", "inch"): ("ksi", 1 / 6.894757293168361, 0.0),  # lbf/in2 from the same, x 1000
        ("temperature", "SI"): ("°C", 1.0, 0.0),
        ("temperature", "inch"): ("°F", 1.8, 32.0),
        ("kelvin", "SI"): ("K", 1.0, 0.0),  # a difference of temperature
        ("kelvin", "inch"): ("°F", 1.8, 0.0),
        ("expansion", "SI"): ("10⁻⁶/K", 1e6, 0.0),
        ("expansion", "inch"): ("10⁻⁶/°F", 1e6 / 1.8, 0.0),
        ("torque", "SI"): ("N·m", 1.0, 0.0),
        ("torque", "inch"): ("in·lbf", 1 / 0.1129848290276167, 0.0),  # lbf x 25.4 mm
        ("energy", "SI"): ("J", 1.0, 0.0),
        ("energy", "inch"): ("in·lbf", 1 / 0.1129848290276167, 0.0),
    }
)


def unit_of(dimension: str, system: str = "SI") -> str:
    """Return the unit a dimension is printed in."""
    return _PRINTED[dimension, system][0]


def printed(value: _Printed, dimension: str, system: str = "SI") -> _Printed:
    """Convert from the unit inside to the unit that is printed; arrays too.

    Examples
    --------
    >>> printed(25_069.0, "force")
    25.069
    """
    _, factor, offset = _PRINTED[dimension, system]
    return value * factor + offset


def number(value: float, digits: int = 3) -> str:
    """Return a number with a fixed count of significant digits, without an exponent.

    NaN, which means that a source gives no value, prints as a dash.

    Examples
    --------
    >>> number(25.069), number(134.627, 4), number(-3.0), number(float("nan"))
    ('25.1', '134.6', '−3.00', '–')
    """
    if math.isnan(value):
        return "–"
    if math.isinf(value):
        return "∞" if value > 0 else "−∞"
    if value == 0:
        return "0"
    rounded = float(f"{value:.{digits - 1}e}")
    decimals = digits - 1 - math.floor(math.log10(abs(rounded)))
    return _minus(f"{rounded:.{min(max(0, decimals), 12)}f}")


def signed(value: float, decimals: int = 2) -> str:
    """Return a number with its sign, as a margin is printed.

    Examples
    --------
    >>> signed(0.1), signed(-0.351)
    ('+0.10', '−0.35')
    """
    return _minus(f"{value:+.{decimals}f}")


def _minus(text: str) -> str:
    """Return a number with the sign that is as wide as a plus, not the hyphen of a keyboard."""
    return text.replace("-", "−")


#: The systems that a report prints side by side.
SYSTEMS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"SI": ("SI",), "inch": ("inch",), "both": ("SI", "inch")}
)
#: A number that still has this many digits was computed or converted, not typed: sixty-fourths of
#: an inch have fewer, in either system. It is printed with three.
_COMPUTED_DIGITS = 8
#: A number that was typed is the same when it is printed with these digits.
_TYPED = 1e-12


def show(value: float, dimension: str, *, system: str = "SI", digits: int = 3) -> str:
    """Return a value with its unit, as a report prints it; "both" gives SI and inch.

    Examples
    --------
    >>> show(25_069.0, "force")
    '25.1 kN'
    >>> show(25_069.0, "force", system="both")
    '25.1 kN (5640 lbf)'
    """

    def text(each: str) -> str:
        return f"{number(printed(value, dimension, each), digits)} {unit_of(dimension, each)}"

    return side_by_side(text, system)


def percent(share: float) -> str:
    """Return a share in whole per cent, as a report prints it.

    Examples
    --------
    >>> percent(0.423)
    '42 %'
    """
    return f"{100 * float(share):.0f} %"


def plain(
    *values: float,
    dimension: str,
    system: str = "SI",
    joined: str = " and ",
    as_typed: bool = False,
) -> str:
    """Return values that were given rather than computed, without zeros at the end.

    One that no person typed, since it comes from another unit or a formula, has three digits.
    Several share one unit, `joined` by words. With `as_typed` the SI unit is the one of a case
    file, N instead of kN, and every digit is kept.

    Examples
    --------
    >>> plain(12.0, dimension="length"), plain(12.0, dimension="length", system="both")
    ('12 mm', '12 mm (0.472 in)')
    >>> plain(14.0, dimension="length", system="both")  # 0.55118110 in
    '14 mm (0.551 in)'
    >>> plain(0.5, 0.25, dimension="length"), plain(9000.0, dimension="force", as_typed=True)
    ('0.5 and 0.25 mm', '9000 N')
    """

    def text(each: str) -> str:
        is_typed = as_typed and each == "SI"
        found = [
            _without_zeros(number(value, 10))
            if is_typed
            else _given(float(printed(value, dimension, each)))
            for value in values
        ]
        unit = unit_inside(dimension) if is_typed else unit_of(dimension, each)
        shown = f"{joined.join(found)} {unit}"
        return shown.replace("−", "-") if as_typed else shown

    return side_by_side(text, system)


def to_decimals(
    *values: float, decimals: int, dimension: str, system: str = "SI", joined: str = " to "
) -> str:
    """Return values to a fixed number of decimals, as a drawing gives a length.

    Examples
    --------
    >>> to_decimals(1.4, decimals=2, dimension="length")
    '1.40 mm'
    >>> to_decimals(0.5, 1.4, decimals=2, dimension="length", system="inch")
    '0.020 to 0.055 in'
    """

    def text(each: str) -> str:
        places = decimals_of(dimension, decimals, each)
        found = [_minus(f"{printed(value, dimension, each):.{places}f}") for value in values]
        return f"{joined.join(found)} {unit_of(dimension, each)}"

    return side_by_side(text, system)


def decimals_of(dimension: str, decimals: int, system: str) -> int:
    """Return the decimals that say about as much in a system as `decimals` of the SI unit."""
    if system == "SI":
        return decimals
    _, factor, _ = _PRINTED[dimension, system]
    return max(0, decimals + (1 if factor < 1 else -1))


def side_by_side(text: Callable[[str], str], system: str) -> str:
    """Return what `text` makes of a system; for "both" the inches stand behind in brackets.

    Examples
    --------
    >>> side_by_side(lambda each: f"in {each}", "both")
    'in SI (in inch)'
    """
    first, *second = (text(each) for each in SYSTEMS[system])
    return first + "".join(f" ({each})" for each in second)


def _given(value: float) -> str:
    text = _without_zeros(number(value, _COMPUTED_DIGITS))
    computed = sum(map(str.isdigit, text.lstrip("−0."))) >= _COMPUTED_DIGITS or not math.isclose(
        value, float(f"{value:.{_COMPUTED_DIGITS}g}"), rel_tol=_TYPED
    )
    return _without_zeros(number(value)) if computed else text


def _without_zeros(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text
