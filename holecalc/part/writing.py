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

from holecalc.part.reading import Path, lines_of

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
    document = tomlkit.parse(text)
    place: Any = document
    wanted: Any = document.unwrap()
    within = wanted
    for key in path:
        place, within = place[key], within[key]
    meant = merged(within, values)
    within.clear()
    within.update(meant)
    new = _replaced(place, values)
    return _as_meant(_inserted(tomlkit.dumps(document), path, new), wanted)


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


def _replaced(place: Any, values: Mapping[str, Any]) -> dict[str, Any]:
    """Replace and take out where they stand; what has no place yet is given back."""
    new: dict[str, Any] = {}
    for key, value in values.items():
        there = place.get(key)
        nested = isinstance(value, Mapping) and key not in _IN_LINE
        if nested and isinstance(there, InlineTable):
            value, nested = merged(there.unwrap(), value) or None, False
        if nested and isinstance(there, Mapping):
            more = _replaced(there, value)
            if more:
                new[key] = more
            elif not there:
                del place[key]
        elif nested:
            if fresh := merged({}, value):
                new[key] = fresh
        elif value is None:
            if there is not None:
                del place[key]
        elif there is None:
            new[key] = value
        elif getattr(there, "unwrap", lambda there=there: there)() != value:
            place[key] = _item(value)
    return new


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
    end = min(stop - 1, len(lines))
    while end and lines[end - 1].strip()[:1] in ("", "#"):
        end -= 1
    return end


def _below(text: str, end: int, block: list[str]) -> str:
    newline = "\r" if "\r\n" in text else ""
    lines = text.split("\n")
    block = [f"{line}{newline}" for line in block]
    rest = lines[end:] or [""]
    # A header stands off from what was written close above it.
    if rest[0].lstrip().startswith("["):
        block.append(newline)
    return "\n".join([*lines[:end], *block, *rest])
