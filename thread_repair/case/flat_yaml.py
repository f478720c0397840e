"""Flat YAML to key and text. A line that cannot be read costs its own key, not the file."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import yaml

from .. import files
from ..errors import message, shown
from .understanding import Unread

#: More broken lines than this are not a case with slips but another kind of file.
_MOST_BROKEN = 40
#: A line of the file with its break, as YAML breaks lines.
_LINE = re.compile(r"[^\n\r\x85\u2028\u2029]*(?:\r\n|[\n\r\x85\u2028\u2029])|.+\Z")
#: A number sign with something written close to it, "#3", is rather a number than a comment.
_LOST = re.compile(r"[ \t]*(#[^\s#].*)")
_KEY = re.compile(r"[\"']?([A-Za-z_]\w*)[\"']?\s*:(?:\s|$)\s*")


@dataclass(frozen=True, slots=True)
class Flat:
    """What a file says: text by key, `Unread` where the line is broken, and other faults."""

    values: dict[str, str] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    @property
    def all_faults(self) -> list[str]:
        """One sentence for each line that could not be read."""
        return [*self.faults, *(v for v in self.values.values() if isinstance(v, Unread))]


class _BrokenLineError(Exception):
    """In which line, counted from 0, what is wrong."""


_NESTED = "expected 'key: value' on one level, without lists or nested keys"
_MARKED = "anchors and aliases (&, *) and tags (!) are not used in a case file"
#: What the reader of YAML says where a text ought to stand in quotes, and what that means.
_PROBLEMS: Mapping[str, str] = files.data("case_words.toml")["not_yaml"]


class _RefusedError(yaml.MarkedYAMLError):
    """YAML that is refused here, in words of our own."""


class TextLoader(yaml.BaseLoader):
    """YAML in which every scalar stays text (10.9 stays "10.9"), without marks."""

    def compose_node(self, parent: Any, index: Any) -> Any:
        """Refuse what YAML takes away in silence: marks, and a "#3" that ends a text."""
        event = self.peek_event()  # type: ignore[no-untyped-call]
        if any(getattr(event, name, None) is not None for name in ("anchor", "tag")):
            raise _RefusedError(problem=_MARKED, problem_mark=event.start_mark)
        if isinstance(event, yaml.ScalarEvent) and event.style is None:
            end: Any = event.end_mark
            if lost := _LOST.match(end.buffer, end.pointer):
                raise _RefusedError(
                    problem=message("lost_as_comment", behind=shown(lost[1].strip())),
                    problem_mark=end,
                )
        return super().compose_node(parent, index)


class _FlatLoader(TextLoader):
    """The same of one level."""

    def compose_node(self, parent: Any, index: Any) -> Any:
        event = self.peek_event()  # type: ignore[no-untyped-call]
        # Refused as soon as it is met: the time to read a nest grows with the square of its depth.
        if parent is not None and not isinstance(event, (yaml.ScalarEvent, yaml.AliasEvent)):
            raise _RefusedError(problem=_NESTED, problem_mark=event.start_mark)
        return super().compose_node(parent, index)


def flat(text: str) -> Flat:
    """Read flat YAML; each entry that cannot be read is told and left out, and the rest is read.

    Examples
    --------
    >>> print(flat("title: pump: cover").all_faults[0])
    title: line 1: a colon with a space behind it stands in the text; put the text in quotes, \
title: 'pump: cover'
    """
    lines, found = _LINE.findall(text), Flat()
    try:
        pairs = _pairs(text)
    except _BrokenLineError:
        pairs = []
        held = [n for n, line in enumerate(lines) if line.strip() and line.lstrip()[0] != "#"]
        begins = (n for n in held if n == held[0] or lines[n][0] not in " \t")
        for first, end in pairwise((*begins, len(lines))):
            entry = lines[first:end]
            if first == held[0] and entry[0].strip() == "---":
                continue
            try:
                pairs += [(k, value, first + line) for k, value, line in _pairs("".join(entry))]
            except _BrokenLineError as error:
                _set_aside(found, entry, first, *error.args)
            if len(found.all_faults) > _MOST_BROKEN:
                return Flat(
                    faults=[f"more than {_MOST_BROKEN} lines cannot be read: not a case file"]
                )
    for key, value, line in pairs:
        if key in found.values:
            said = f"{key[:60]}: line {line + 1}: given more than once; keep one of the lines"
            value = Unread(said)
        found.values[key] = value
    return found


class _Dumper(yaml.SafeDumper):
    """Writes every text so that it is read back the same; one of several lines as such."""

    def represent_text(self, text: str) -> yaml.ScalarNode:
        """Return a text as a block where it has several lines."""
        style = "|" if "\n" in text else None
        return self.represent_scalar("tag:yaml.org,2002:str", text, style=style)


_Dumper.add_representer(str, _Dumper.represent_text)


def written(values: Mapping[str, str]) -> str:
    """Return key and text as flat YAML, in the order given.

    Examples
    --------
    >>> print(written({"thread": "M8", "screw": "8.8", "title": "pump: cover"}), end="")
    thread: M8
    screw: '8.8'
    title: 'pump: cover'
    """
    return str(
        yaml.dump(dict(values), Dumper=_Dumper, allow_unicode=True, sort_keys=False, width=math.inf)
    )


def _pairs(text: str) -> list[tuple[str, str, int]]:
    try:
        node = yaml.compose(text, Loader=_FlatLoader)
    except yaml.MarkedYAMLError as error:
        # A quote that is never closed is told where it opens, not where the file ends.
        opened = error.context_mark if "scalar" in f"{error.context}" else None
        mark = opened or error.problem_mark
        problem = f"{error.problem}"
        if not isinstance(error, _RefusedError):
            problem = _PROBLEMS.get(problem, f"not YAML ({problem})")
        raise _BrokenLineError(mark.line if mark else 0, problem) from None
    except yaml.reader.ReaderError as error:
        line = len(_LINE.findall(text[: error.position] + ".")) - 1
        raise _BrokenLineError(line, f"not YAML ({error.reason})") from None
    except (yaml.YAMLError, RecursionError) as error:
        raise _BrokenLineError(0, f"not a case file ({error})") from None
    if node is None:
        return []
    if not isinstance(node, yaml.MappingNode):
        raise _BrokenLineError(0, "expected lines 'key: value'")
    return [(key.value.strip(), value.value, key.start_mark.line) for key, value in node.value]


def _set_aside(found: Flat, entry: list[str], first: int, line: int, problem: str) -> None:
    """Tell of an entry that holds a broken line; it begins at the line `first` of its file."""
    key = _KEY.match(entry[0])
    if key is None:
        said = f"line {first + 1}: {shown(entry[0].strip())} is no line 'key: value'"
        found.faults.append(said + _nearly(entry[0]))
        return
    said = f"{key[1]}: line {first + line + 1}: "
    if re.match(r"\s*\t", entry[min(line, len(entry) - 1)]):
        said += "begins with a tab; begin it at the margin"
    else:
        said += f"{problem}; put the text in quotes"
        value = entry[0][key.end() :].strip()
        if not "".join(entry[1:]).strip() and 0 < len(value) <= 60 and value[0] not in "'\"":
            said += f", {key[1]}: '" + value.replace("'", "''") + "'"
    found.values[key[1]] = Unread(said)


def _nearly(line: str) -> str:
    """Return how a line is written that only lacks the colon, or the space behind it."""
    match = re.match(r"\s*([A-Za-z_]\w*)\s*[:=]\s*(.+)", line)
    return "" if match is None else f"; write '{match[1]}: {match[2].strip()[:60]}'"
