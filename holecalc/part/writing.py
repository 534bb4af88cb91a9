"""Writing into the text of a part file: what stood there stays, with its remarks and its order.

A value that is there is replaced where it stands. What is new goes below the last line of its
table, above the remarks that head what follows::

    [[cutter]]
    name = "6 mm"
    diameter = 6
                                  <- a new key of this cutter, or a new cutter
    # --- fasteners ---

    [[fastener]]
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, InlineTable

from holecalc.part.reading import KEY, Path, lines_of

__all__ = ["LayoutError", "add", "merged", "put"]

ORDER = ("cutter", "fastener", "feature")
"""How the lists of a file follow each other where one has to be begun."""
_IN_LINE = ("at",)
"""Tables that are written in one line, and replaced whole."""


class LayoutError(ValueError):
    """The way the text is laid out leaves no place for it; the message says what would."""


def merged(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """A table with values put in: None takes a key out, tables are merged in their turn.

    Examples
    --------
    >>> merged({"recess": 0, "measured": {"top": 12.6}}, {"recess": None, "measured": {"top": 13}})
    {'measured': {'top': 13}}
    """
    result = copy.deepcopy(dict(old))
    for key, value in new.items():
        if isinstance(value, Mapping) and key not in _IN_LINE:
            there = result.get(key)
            value = merged(there if isinstance(there, Mapping) else {}, value) or None
        if value is None:
            result.pop(key, None)
        else:
            result[key] = value
    return result


def put(text: str, path: Path, values: Mapping[str, Any]) -> str:
    r"""Put values into a table of a TOML text, as :func:`merged` does.

    Parameters
    ----------
    text : str
        TOML.
    path : tuple
        Keys and numbers down to the table.
    values : mapping
        What to put in; None takes a key out.

    Returns
    -------
    str

    Examples
    --------
    >>> print(put("[plate]\nthickness = 20 # sold as\n\n# remark\n", ("plate",), {"size": [3, 2]}))
    [plate]
    thickness = 20 # sold as
    size = [3, 2]
    <BLANKLINE>
    # remark
    """
    wanted: Any = tomlkit.parse(text).unwrap()
    within = _at(wanted, path)
    meant = merged(within, values)
    within.clear()
    within.update(meant)
    for key, value in values.items():
        text = _put_one(text, path, key, value)
    return _as_meant(text, wanted)


def add(text: str, array: str, values: Mapping[str, Any]) -> str:
    r"""Add a table to a list of tables, ``[[array]]``, below the last.

    Examples
    --------
    >>> print(add('[[cutter]]\nname = "a"\n\n# fasteners\n', "cutter", {"name": "b"}))
    [[cutter]]
    name = "a"
    <BLANKLINE>
    [[cutter]]
    name = "b"
    <BLANKLINE>
    # fasteners
    """
    document = tomlkit.parse(text)
    wanted, there = document.unwrap(), document.get(array, [])
    if there and not isinstance(there, AoT):
        raise LayoutError(
            f"the file has each {array} in one list. Write each as a table of its own, under "
            f"[[{array}]]."
        )
    fresh = merged({}, values)
    wanted.setdefault(array, []).append(fresh)
    if there:
        end = _end(text, (array, len(there) - 1), deep=True)
    else:
        later = ORDER[ORDER.index(array) + 1 :]
        firsts = [line for path, line in lines_of(text).items() if path[0] in later]
        end = _last(text.split("\n"), min(firsts, default=len(text) + 1))
    return _as_meant(_below(text, end, ["", f"[[{array}]]", *_lines((array,), fresh)]), wanted)


def _as_meant(text: str, wanted: Mapping[str, Any]) -> str:
    """The text, if it says what it was to say, and of all else what it said before."""
    try:
        if tomlkit.parse(text).unwrap() == wanted:
            return text
    except (TOMLKitError, ValueError, KeyError):
        pass
    raise LayoutError(
        "the way the file is laid out leaves no place for it. Write the tables below a feature "
        "under headers of their own, such as [feature.measured]."
    )


def _at(document: Any, path: Path) -> Any:
    for key in path:
        document = document[key]
    return document


def _put_one(text: str, path: Path, key: str, value: Any) -> str:
    there = _at(tomlkit.parse(text), path).get(key)
    if _is_section(key, value) and isinstance(there, InlineTable):
        # Replaced whole, in its line.
        value = merged(there.unwrap(), value) or None
    elif _is_section(key, value) and isinstance(there, Mapping):
        for inner, each in value.items():
            text = _put_one(text, (*path, key), inner, each)
        emptied = not _at(tomlkit.parse(text), (*path, key))
        return _without_table(text, (*path, key)) if emptied else text
    elif _is_section(key, value):
        value = merged({}, value) or None
    if there is None:
        return text if value is None else _inserted(text, path, {key: value})
    if value is None and isinstance(there, Mapping) and not isinstance(there, InlineTable):
        return _without_table(text, (*path, key))
    # The library gives true and false as they are in Python.
    plain = there if isinstance(there, bool) else there.unwrap()
    return text if plain == value else _spliced(text, (*path, key), there, value)


def _spliced(text: str, path: Path, there: Any, value: Any) -> str:
    """Another value in place of one, or none and no line for it; its remark stays or goes."""
    line = _line(text, path)
    start = sum(len(each) + 1 for each in text.split("\n")[: line - 1])
    key = KEY.match(text, start)
    old = str(there).lower() if isinstance(there, bool) else there.as_string()
    begin = len(text) if key is None else key.end()
    begin += len(text[begin:]) - len(text[begin:].lstrip(" \t"))
    if not text.startswith(old, begin):
        raise LayoutError(f"line {line} cannot be changed where it stands. Write it by hand.")
    end = begin + len(old)
    if value is not None:
        return f"{text[:begin]}{_item(value).as_string()}{text[end:]}"
    after = text.find("\n", end)
    return text[:start] + (text[after + 1 :] if after >= 0 else "")


def _without_table(text: str, path: Path) -> str:
    line, end, lines = _line(text, path), _end(text, path, deep=True), text.split("\n")
    # The blank line above a header goes with it.
    above = line - 1 - (line > 1 and not lines[line - 2].strip())
    return "\n".join(lines[:above] + lines[end:])


def _line(text: str, path: Path) -> int:
    try:
        return lines_of(text)[path]
    except KeyError:
        raise LayoutError(f"{path[-1]} stands in no line of its own. Write it by hand.") from None


def _inserted(text: str, path: Path, new: Mapping[str, Any]) -> str:
    keys = {key: value for key, value in new.items() if not _is_section(key, value)}
    if keys:
        text = _below(text, _end(text, path, deep=False), _lines((), keys))
    for key, value in new.items():
        if not _is_section(key, value):
            continue
        if (*path, key) in lines_of(text):
            text = _inserted(text, (*path, key), value)
        else:
            names = tuple(each for each in path if isinstance(each, str))
            text = _below(text, _end(text, path, deep=True), _lines(names, {key: value}))
    return text


def _is_section(key: str, value: Any) -> bool:
    return isinstance(value, Mapping) and key not in _IN_LINE


def _lines(names: tuple[str, ...], values: Mapping[str, Any]) -> list[str]:
    """A table's lines: its keys, then the tables in it under headers of their own."""
    lines = [
        f"{tomlkit.key(key).as_string()} = {_item(value).as_string()}"
        for key, value in values.items()
        if not _is_section(key, value)
    ]
    for key, value in values.items():
        if _is_section(key, value):
            inner = (*names, key)
            header = tomlkit.key(inner).as_string()
            lines += ["", f"[{header}]", *_lines(inner, value)]
    return "\n".join(lines).split("\n")


def _item(value: Any) -> Any:
    if isinstance(value, str) and "\n" in value:
        return tomlkit.string(value, multiline=True)
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        table.update(value)
        return table
    return tomlkit.item(value)


def _end(text: str, path: Path, *, deep: bool) -> int:
    """How many lines there are up to the last of a table, with or without the tables in it."""
    known, lines = lines_of(text), text.split("\n")

    def beyond(other: Path, line: int) -> bool:
        if line <= known.get(path, 0):
            return False
        inside = other[: len(path)] == path
        return not inside or (not deep and lines[line - 1].lstrip().startswith("["))

    stops = [line for other, line in known.items() if beyond(other, line)]
    return _last(lines, min(stops, default=len(lines) + 1))


def _last(lines: list[str], stop: int) -> int:
    """How many lines there are before one, without the blank ones and the remarks above it."""
    end, texts = min(stop - 1, len(lines)), _inside_texts(lines)
    while end and end not in texts and lines[end - 1].strip()[:1] in ("", "#"):
        end -= 1
    return end


def _inside_texts(lines: list[str]) -> set[int]:
    """Numbers of the lines that belong to a text of several lines, but for its first."""
    inside, quotes = set(), ""
    for number, line in enumerate(lines, start=1):
        if quotes:
            inside.add(number)
            quotes = "" if quotes in line else quotes
            continue
        for mark in ('"""', "'''"):
            if line.count(mark) % 2:
                quotes = mark
    return inside


def _below(text: str, end: int, block: list[str]) -> str:
    newline = "\r" if "\r\n" in text else ""
    lines = text.split("\n")
    block = [f"{line}{newline}" for line in block]
    rest = lines[end:] or [""]
    # A header stands off from what was written close above it.
    if rest[0].lstrip().startswith("["):
        block.append(newline)
    return "\n".join([*lines[:end], *block, *rest])
