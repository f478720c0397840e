"""Symbols and equations: in signs, with numbers, as LaTeX."""

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Any, Self

from ... import files
from ...units import SYSTEMS, number, printed, signed, unit_of
from ..blocks.layout import diameter

Values = Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A sign of the equations: LaTeX, what it means, in what it is measured."""

    sign: str
    meaning: str
    dimension: str
    digits: int | None = None
    of: str = ""

    def text(self, value: float, system: str) -> str:
        """Return a value as tables and equations print it, without its unit."""
        if math.isnan(value):
            return "–"
        if self.dimension == "margin":
            return signed(value)
        if self.dimension == "diameter":
            return diameter(value, system)
        if self.dimension in ("force", "torque") and self.digits is None:
            return number(printed(value, self.dimension, system))
        shown = value if self.dimension in _BARE else printed(value, self.dimension, system)
        text = number(shown, self.digits or 4)
        return text.rstrip("0").rstrip(".") if "." in text and self.digits != 3 else text

    def unit(self, system: str) -> str:
        """Return the unit, empty for a number."""
        if self.dimension == "angle":
            return "°"
        if self.dimension in _BARE:
            return ""
        return unit_of("length" if self.dimension == "diameter" else self.dimension, system)


#: Dimensions that are printed alike in every system.
_BARE = frozenset({"number", "margin", "angle"})


def forms(subject: str) -> Mapping[str, Mapping[str, Any]]:
    """Return the equations of a subject as their file has them."""
    return files.data("equations.toml")["equations"][subject]


@cache
def symbols() -> Mapping[str, Mapping[str, Symbol]]:
    """Return the symbols by group and id."""
    return {
        group: {id_: Symbol(**each) for id_, each in found.items()}
        for group, found in files.data("equations.toml")["symbols"].items()
    }


@cache
def symbol(id_: str) -> Symbol:
    """Return a symbol."""
    return next(group[id_] for group in symbols().values() if id_ in group)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """An equation with numbers: the condition or case it is for, and the numbers by symbol.

    `given` says why the result stands without the form, as LaTeX with symbols; empty elsewhere.
    """

    label: str
    values: Values
    given: str = ""

    @property
    def state(self) -> str:
        """The condition that the label begins with."""
        return self.label.partition(",")[0]

    def knows(self, ids: Iterable[str]) -> bool:
        """Whether there is a number for every symbol."""
        return not any(math.isnan(self.values.get(id_, math.nan)) for id_ in ids)

    def named(self, label: str = "", /, **more: float) -> Self:
        """Return the line with more numbers, and with another label, if one is given."""
        return replace(self, label=label or self.label, values={**self.values, **more})


@dataclass(frozen=True, slots=True, kw_only=True)
class Equation:
    """An equation of a study: its form, and a line for each condition or case."""

    id: str
    result: str
    form: str
    bare: bool
    lines: tuple[Line, ...]

    @property
    def uses(self) -> set[str]:
        """Ids of the symbols in it."""
        return {self.result, *_PLACE.findall(self.form)}

    @property
    def label(self) -> str:
        """Label for references."""
        return label_of(self.id)

    def latex(self, system: str) -> str:
        """Return the equation in signs, and below it every line with its numbers."""
        result = symbol(self.result)
        rows = [rf"{result.sign} &= {_signs(self.form)}"]
        for line in self._merged(system):
            first, *more = dict.fromkeys(
                _with_unit(result, line.values[self.result], each) for each in SYSTEMS[system]
            )
            end = first + "".join(rf"\ \left({each}\right)" for each in more)
            label = rf"\quad\text{{({line.label})}}" if line.label else ""
            if line.given:
                rows.append(rf"&= {end}\quad\text{{for }}{_signs(line.given)}{label}")
                continue
            put_in = _numbers(self.form, line.values, SYSTEMS[system][0], bare=self.bare)
            wide = _width(put_in) + _width(end) + _LABEL * len(line.label) > _WIDEST
            rows += [f"&= {put_in}"] if wide else []
            rows.append(f"&= {end}{label}" if wide else f"&= {put_in} = {end}{label}")
        return r"\begin{aligned} " + r" \\ ".join(rows) + r" \end{aligned}"

    def _merged(self, system: str) -> Iterator[Line]:
        """Yield the lines; those of both conditions that print the same as one."""
        groups: dict[tuple[str, ...], list[Line]] = {}
        for line in self.lines:
            printed_ = [symbol(self.result).text(line.values[self.result], each)
                        for each in SYSTEMS[system]]  # fmt: skip
            printed_ += [] if line.given else [
                symbol(id_).text(line.values[id_], SYSTEMS[system][0]) for id_ in sorted(self.uses)
            ]  # fmt: skip
            ending = line.label.removeprefix("original").removeprefix("repaired")
            groups.setdefault((ending, line.given, *printed_), []).append(line)
        for (ending, *_), same in groups.items():
            label = ending.removeprefix(", ") if len(same) > 1 else same[0].label
            yield replace(same[0], label=label)


def equations(
    subject: str,
    lines: Mapping[str, Iterable[Line]],
    made: Mapping[str, str] = MappingProxyType({}),
    given: Callable[[Values], Mapping[str, str]] = lambda _: {},
) -> tuple[Equation, ...]:
    """Return the equations of a subject that have a line with a number for every symbol.

    Parameters
    ----------
    subject : as the file of the equations names it
    lines : by the name that the file has for what an equation has a line for
    made : forms that take the place of those in the file, by id; an empty one: no equation
    given : why a result stands without the form, by id of the equation, from the numbers of a line
    """
    found = []
    for id_, spec in forms(subject).items():
        form, own = made.get(id_, spec["form"]), []
        for name in spec.get("lines", "condition").replace("own", id_).split():
            for line in lines.get(name, ()):
                why = given(line.values).get(id_, "")
                if line.knows((spec["result"], *_PLACE.findall(why or form))):
                    own.append(replace(line, given=why))
        if "plain" in spec and id_ not in made and not any(line.values["M_p"] for line in own):
            form = spec["plain"]
        if form and own:
            bare = "bare" in spec and form != spec.get("plain")
            shown = {"result": spec["result"], "form": form, "bare": bare}
            found.append(Equation(id=id_, **shown, lines=tuple(own)))
    return tuple(found)


#: Signs and digits side by side that a line has room for, and how much of it a letter takes.
_WIDEST, _LABEL = 63, 0.7


def _width(latex: str) -> int:
    """Return about how many signs numbers are wide: of a fraction its wider part."""
    text = re.sub(r"\\mathrm\{([^{}]*)\}", r"\1", latex)
    text = re.sub(r"\\(?:left|right|sqrt|[, ])|\^", "", text)
    text = re.sub(r"\\(?!frac)[a-z]+", "xx", text).replace(" ", "")
    inner = re.compile(r"\\frac\{([^{}]*)\}\{([^{}]*)\}|\{([^{}]*)\}(?=[^{])")
    while (shorter := inner.sub(lambda m: m[3] or max(m[1], m[2], key=len), text)) != text:
        text = shorter
    return len(text)


_PLACE = re.compile(r"<(\w+)>")
_PLACES = re.compile(r"<(\w+)>(\^?)")


def _signs(form: str) -> str:
    """Return a form in signs."""
    return _PLACE.sub(lambda found: f"{{{symbol(found[1]).sign}}}", form).replace("*", r"\,")


def _numbers(form: str, values: Values, system: str, *, bare: bool) -> str:
    """Return a form with the numbers of a line."""

    def put(found: re.Match[str]) -> str:
        each = symbol(found[1])
        text = _ascii(each.text(values[found[1]], system))
        is_bare = bare and each.dimension != "angle"
        shown = text if is_bare else _with_unit(each, values[found[1]], system)
        if (found[2] and shown != text) or text.startswith("-"):
            shown = rf"\left({shown}\right)"
        return f" {shown}{found[2]}"

    return _PLACES.sub(put, form).replace("*", r" \times ")


def _ascii(text: str) -> str:
    """Return a number as LaTeX writes it, which makes the minus sign itself."""
    return text.replace("−", "-")


def _with_unit(each: Symbol, value: float, system: str) -> str:
    text, unit = _ascii(each.text(value, system)), each.unit(system)
    if unit == "°" or not unit:
        return text + unit
    if each.dimension == "expansion":
        return rf"{text} \times 10^{{-6}}\,\mathrm{{/" + unit.partition("/")[2] + "}"
    return rf"{text}\,\mathrm{{" + unit.replace("²", "^2").replace("·", r"\cdot ") + "}"


def label_of(id_: str) -> str:
    """Return the label of an equation."""
    return f"eq:{id_.replace('_', '-')}"


def lines_of(found: Mapping[str, Values]) -> tuple[Line, ...]:
    """Return a line for each condition."""
    return tuple(Line(label=state, values=each) for state, each in found.items())
