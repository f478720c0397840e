"""Units at the edge: "0.5 in", "1.5 D", "45 kN" <-> mm, N, MPa, degC; how a number is printed.

Nothing below this module sees a unit. Text is matched against one pattern before pint reads the
unit, because pint evaluates expressions and a case file is not trusted.
"""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache
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
    are units of something else that are typed for one of this kind, with what is meant; `direct`
    has factors to the unit inside, `printed` by system the unit, two numbers whose ratio leads
    there from the unit inside, and the offset; `bounds` what a case may say of it, and `typed` how
    an entry in inch units ends, the unit of a sentence on it and how finely that rounds. What is
    only computed has no noun.
    """

    unit: str
    noun: str = ""
    pint_unit: str = ""
    examples: Sequence[str] = ()
    aliases: Mapping[str, str] = field(default_factory=dict)
    common: Sequence[str] = ()
    meant: Mapping[str, str] = field(default_factory=dict)
    direct: Mapping[str, float] = field(default_factory=dict)
    printed: Mapping[str, tuple[str, float, float, float]] = field(default_factory=dict)
    bounds: tuple[float, float] = (-math.inf, math.inf)
    typed: tuple[str, str, int] = ("", "", 1)


DIMENSIONS: Mapping[str, Kind] = {
    name: Kind(**told) for name, told in files.data("units.toml").items()
}
#: A length where no thread says what 1 D is: "1.5 D" is no example of it.
_LENGTH_ALONE = replace(DIMENSIONS["length"], examples=DIMENSIONS["length"].examples[:2])

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_QUANTITY = re.compile(
    rf"""\s*(?:(?:(?P<whole>\d+)(?:[ ]+|-)(?=\d))?(?P<fraction>[+-]?\d+/\d+)   # 1 1/2 in, 1-1/2 in
        |(?P<number>{_NUMBER}))                                         # 0.5 in
        \s*(?P<unit>[^\d\s][^\s]*(?:[ ][^\s]+)*)?\s*$""",
    re.VERBOSE,
)
_UNIT = re.compile(r"[A-Za-zµ°\"]{1,12}(?:[*/·.-][A-Za-z]{1,8})?(?:\*\*|\^)?[23²³]?$|N m$")
#: A pound in a torque is a force, however the two units are joined and in whichever order.
_POUND_TORQUE = re.compile(r"(in|ft)[·.* -]lb[fs]?|lb[fs]?[·.* -](in|ft)")
#: "mm2", "mm^2", "in3" as people write them.
_POWER = re.compile(r"([A-Za-z])(?:\^|\*\*)?([23])\Z")
#: How diameters of the thread are written.
DIAMETERS = ("D", "d", "xD", "x D", "×D", "*D")
#: Longer text is a mistake or an attack; no quantity needs it.
_LONGEST = 60


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
    kind = DIMENSIONS[dimension]
    if kind.unit == "mm" and diameter is None:
        kind = _LENGTH_ALONE
    try:
        value = _read(text, kind, diameter)
        if math.isfinite(value):
            return value
        raise _refused(text, kind)
    except InputError as error:
        raise InputError(f"{field}: {error}" if field else str(error)) from None


def _read(text: object, kind: Kind, diameter: float | None) -> float:
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        return float(text)
    if isinstance(text, str):
        text = text.replace("\N{MINUS SIGN}", "-")  # as reports print it
    match = _QUANTITY.match(text) if isinstance(text, str) and len(text) <= _LONGEST else None
    if match is None or not isinstance(text, str):
        raise _refused(text, kind)
    try:
        whole, fraction = match["whole"] or 0, match["fraction"]
        number = float(match["number"] or Fraction(whole) + Fraction(fraction))
    except (ZeroDivisionError, OverflowError):
        raise _refused(text, kind) from None
    unit = match["unit"]
    if fraction and unit is None and kind.unit == "mm":
        raise InputError(f"{text!r} has no unit; write '{text.strip()} in' or '{text.strip()} mm'")
    if kind.unit == "N" and unit in (None, "N") and _POINT_OF_THOUSANDS.match(text):
        short, thousands = f"{number:g} N", text.replace(".", "").strip()
        plainly = f"{number:.4f} N" if _POINT_OF_THOUSANDS.match(short) else short
        raise InputError.of(
            "newtons_or_thousands", text=text, number=number, plainly=plainly, thousands=thousands
        )
    if unit in DIAMETERS and kind.unit == "mm":
        if diameter is None:
            raise InputError(f"{text!r} needs a known thread to say what 1 D is")
        return number * diameter
    if unit is None or kind.direct.get(unit) == 1:
        return number
    if unit in kind.direct:
        return float(f"{number * kind.direct[unit]:.14g}")
    return _converted(number, unit, text, kind)


def dimension_of(unit: str) -> str | None:
    """Return which kind of quantity a unit is of, None where people do not write it so.

    Examples
    --------
    >>> dimension_of("kN"), dimension_of("ft-lb"), dimension_of("blind")
    ('force', 'torque', None)
    """
    if unit in DIAMETERS:
        return "length"
    if _POUND_TORQUE.fullmatch(unit):
        return "torque"
    for name, kind in DIMENSIONS.items():
        if unit in {*kind.aliases, *kind.common, *kind.direct}:
            return name
    return None


def meant(unit: str) -> str | None:
    """Return the unit that is meant by one of another kind, such as a pound for a force.

    Examples
    --------
    >>> meant("lb"), meant("mm")
    ('lbf', None)
    """
    return next((k.meant[unit] for k in DIMENSIONS.values() if unit in k.meant), None)


def noun(dimension: str) -> str:
    """Return what a dimension is called, with how it may be written.

    Examples
    --------
    >>> noun("force")
    "a force, for example '8 kN' or '1800 lbf'"
    """
    kind = DIMENSIONS[dimension]
    return f"{kind.noun}, {_examples(kind)}"


def unit_inside(dimension: str) -> str:
    """Return the unit of the numbers that `parse` returns."""
    return DIMENSIONS[dimension].unit


def _converted(number: float, unit: str, text: str, kind: Kind) -> float:
    """Convert by pint, which knows every unit there is."""
    import pint

    pound = _POUND_TORQUE.fullmatch(unit) if kind.unit == "N·m" else None
    known = f"{pound[1] or pound[2]}*lbf" if pound else kind.aliases.get(unit)
    other = dimension_of(unit)  # asked here: not every release of pint knows all that we write
    if known is None and (not _UNIT.match(unit) or (other and DIMENSIONS[other].unit != kind.unit)):
        raise _refused(text, kind, unit)
    name = known or _POWER.sub(r"\1**\2", unit.replace("²", "2")).replace("·", "*")
    try:
        quantity = _registry().Quantity(number, name).to(kind.pint_unit)
    except pint.DimensionalityError:
        raise _refused(text, kind, unit) from None
    except Exception:  # pint raises many kinds for text that is no unit
        raise InputError.of(
            "unknown_unit",
            text=text,
            unit=unit,
            kind=kind,
            examples=_examples(kind),
            hint=_hint(unit, kind),
        ) from None
    # Conversions are exact ratios, but pint multiplies in an order that leaves 12.699999999999999,
    # and takes 41 degF by way of 278.15 K to 5.0000000000001 degC.
    value = float(f"{float(quantity.magnitude):.14g}")
    return round(value, 11) if kind is DIMENSIONS["temperature"] else value


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
_GROUPED = re.compile(r"\s*([+-]?\d{1,3}(?:[,' ’\u00a0\u202f]\d{3})+)(\D*)")


def _refused(text: object, kind: Kind, unit: str = "") -> InputError:
    shown = repr(text) if len(repr(text)) <= _LONGEST else repr(text)[:_LONGEST] + "...'"
    if isinstance(text, str) and (grouped := _GROUPED.fullmatch(text)):
        thousands, decimal = (
            re.sub(r"[,' ’\u00a0\u202f]", sign, grouped[1]) + grouped[2].rstrip()
            for sign in ("", ".")
        )
        other = f", or {decimal!r} if it is a decimal comma" if grouped[1].count(",") == 1 else ""
        return InputError(f"{shown} has its digits in groups; write {thousands!r}{other}")
    if isinstance(text, str) and re.fullmatch(r"\s*[+-]?\d+,\d+\s*\D*", text):
        point = text.replace(",", ".").strip()
        if kind.unit == "mm" and point[-1].isdigit():  # bare, it may be asked back: mm or diameters
            other = "" if kind is _LENGTH_ALONE else f" or '{point} D'"
            return InputError(f"{shown} has a decimal comma and no unit; write '{point} mm'{other}")
        return InputError(f"{shown} has a decimal comma; write {point!r}")
    hint = _hint(unit, kind) if unit in kind.meant or _bare(unit) in map(_bare, kind.common) else ""
    return InputError(f"{shown} is not {kind.noun}; expected {_examples(kind)}{hint}")


def unit_of(dimension: str, system: str = "SI") -> str:
    """Return the unit a dimension is printed in."""
    return DIMENSIONS[dimension].printed[system][0]


def printed(value: _Printed, dimension: str, system: str = "SI") -> _Printed:
    """Convert from the unit inside to the unit that is printed; arrays too.

    Examples
    --------
    >>> printed(25_069.0, "force")
    25.069
    """
    _, over, under, offset = DIMENSIONS[dimension].printed[system]
    return value * (over / under) + offset


def number(value: float, digits: int = 3) -> str:
    """Return a number with a fixed count of significant digits, without an exponent.

    NaN, which means that a source gives no value, prints as a dash.

    Examples
    --------
    >>> number(25.069), number(134.627, 4), number(-3.0), number(float("nan"))
    ('25.1', '134.6', '−3.00', '–')
    >>> number(19.05) == number(1.5 * 12.7)
    True
    """
    if math.isnan(value):
        return "–"
    if math.isinf(value):
        return "∞" if value > 0 else "−∞"
    if value == 0:
        return "0"
    # First the value itself: 0.75 in and 1.5 x 1/2 in differ in their last bit alone, in mm.
    rounded = float(f"{float(f'{value:.12g}'):.{digits - 1}e}")
    decimals = digits - 1 - math.floor(math.log10(abs(rounded)))
    return _minus(f"{rounded:.{min(max(0, decimals), 12)}f}")


def signed(value: float, decimals: int = 2) -> str:
    """Return a number with its sign, as a margin is printed; one below zero never prints as zero.

    Examples
    --------
    >>> signed(0.1), signed(-0.351), signed(-0.0021), signed(2602.27)
    ('+0.10', '−0.35', '−0.002', '+2600')
    """
    if value >= 100:
        return f"+{number(value)}"
    if value < 0 and round(value, decimals) == 0:
        return number(value, 1)
    return _minus(f"{value:+.{decimals}f}")


def _minus(text: str) -> str:
    """Return a number with the sign that is as wide as a plus, not the hyphen of a keyboard."""
    return text.replace("-", "−")


#: The systems that a report prints side by side.
SYSTEMS: Mapping[str, tuple[str, ...]] = {"SI": ("SI",), "inch": ("inch",), "both": ("SI", "inch")}
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
    file, N instead of kN, and seven digits are kept.

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
        if is_typed:
            found, unit = [_without_zeros(number(v, 7)) for v in values], unit_inside(dimension)
        else:
            # 0 degF is kept as -17.77777777778 degC, which is not quite zero again.
            both = (each, "inch" if each == "SI" else "SI")
            found = [
                _given(*(round(float(printed(v, dimension, of)), 9) for of in both)) for v in values
            ]
            unit = unit_of(dimension, each)
        shown = f"{joined.join(found)} {unit}"
        return shown.replace("−", "-") if as_typed else shown

    return side_by_side(text, system)


def to_decimals(value: float, *, decimals: int, dimension: str, system: str = "SI") -> str:
    """Return a value to a fixed number of decimals, as a drawing gives a length.

    Examples
    --------
    >>> to_decimals(1.4, decimals=2, dimension="length")
    '1.40 mm'
    >>> to_decimals(1.4, decimals=2, dimension="length", system="inch")
    '0.055 in'
    """

    def text(each: str) -> str:
        found = f"{printed(value, dimension, each):.{decimals_of(dimension, decimals, each)}f}"
        return f"{_minus(found)} {unit_of(dimension, each)}"

    return side_by_side(text, system)


def decimals_of(dimension: str, decimals: int, system: str) -> int:
    """Return the decimals that say about as much in a system as `decimals` of the SI unit.

    Examples
    --------
    >>> decimals_of("length", 2, "inch"), decimals_of("force", 1, "inch")
    (3, 0)
    """
    (_, over, under, _), (_, up, down, _) = (
        DIMENSIONS[dimension].printed[each] for each in (system, "SI")
    )
    return max(0, decimals - round(math.log10(over * down / (under * up))))


def side_by_side(text: Callable[[str], str], system: str) -> str:
    """Return what `text` makes of a system; for "both" inches that differ stand behind in brackets.

    Examples
    --------
    >>> side_by_side(lambda each: f"in {each}", "both")
    'in SI (in inch)'
    """
    first, *second = dict.fromkeys(text(each) for each in SYSTEMS[system])
    return first + "".join(f" ({each})" for each in second)


def _given(value: float, other: float) -> str:
    """Print a number as given; `other` is it in the other unit, in which it may have been."""
    text, beside = (_without_zeros(number(each, _COMPUTED_DIGITS)) for each in (value, other))
    digits, fewer = (sum(map(str.isdigit, each.lstrip("−0."))) for each in (text, beside))
    computed = digits >= _COMPUTED_DIGITS or not math.isclose(
        value, float(f"{value:.{_COMPUTED_DIGITS}g}"), rel_tol=_TYPED
    )
    return _without_zeros(number(value)) if computed or digits > max(4, fewer) else text


def _without_zeros(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text
