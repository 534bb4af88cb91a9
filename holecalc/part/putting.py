"""Putting a feature into a part file, with the cutters and the fastener it takes from the drawers.

What a drawer holds is used where it says the same. Where it says otherwise it is changed only if
no other feature takes it; else the new one gets a name of its own. Either is told.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

import tomlkit

from holecalc.part import writing
from holecalc.part.drawer import read_cutter, read_fastener
from holecalc.part.features import Feature
from holecalc.part.reading import Book, Table

__all__ = ["FASTENER_KEYS", "Drawn", "put", "recut"]

FASTENER_KEYS = ("fastener", "washer")
"""Keys of a feature that name a fastener; others that name what is in a drawer name a cutter."""
_RUN_AT = ("spindle_speed", "feed", "chip_load")
Values = Mapping[str, Any]


@dataclass(frozen=True)
class Drawn:
    """What became of one thing for the drawer.

    Parameters
    ----------
    text : str
        The file, with it.
    name : str
        What the drawer calls it.
    told : str
        What was changed; empty where nothing was.
    """

    text: str
    name: str
    told: str


def put(
    text: str, unit: str, feature: Values, drawer: Mapping[str, Values], others: Mapping[str, Any]
) -> tuple[str, tuple[str, ...]]:
    """Put a feature into the text of a part file, with what it takes from the drawers.

    Parameters
    ----------
    text : str
        Of the file.
    unit : {"mm", "in"}
        Of its bare numbers.
    feature : mapping
        As for :meth:`holecalc.part.PartFile.put`.
    drawer : mapping
        Likewise.
    others : mapping of str to str
        What the drawers hold that other features take: by its name, which of them.

    Returns
    -------
    str
        The text with it.
    tuple of str
        What was changed in the drawers.
    """
    document = tomlkit.parse(text).unwrap()
    features = [each.get("name") for each in document.get("feature", [])]
    name = feature["name"]
    at = features.index(name) if name in features else None
    before = {} if at is None else document["feature"][at]
    told, taken = [], {}
    for key, wanted in drawer.items():
        array = "fastener" if key in FASTENER_KEYS else "cutter"
        drawn = _drawn(text, unit, array, wanted, before.get(key), others)
        text, taken[key] = drawn.text, drawn.name
        told += [drawn.told] * bool(drawn.told)
    first = {key: feature[key] for key in ("name", "kind", "face") if key in feature}
    values = {**first, **taken, **feature, **taken}
    text = (
        writing.add(text, "feature", values)
        if at is None
        else writing.put(text, ("feature", at), values)
    )
    return text, tuple(told)


def recut(before: tuple[Feature, ...], after: tuple[Feature, ...], but: str) -> tuple[str, ...]:
    """Which other features are now cut with another cutter, since none is named for them."""

    def cutters(features: tuple[Feature, ...]) -> dict[str, list[str]]:
        return {
            each.name: [cut.cutter.name for cut in each.made.cuts]
            for each in features
            if each.made is not None and each.name != but
        }

    had, have = cutters(before), cutters(after)
    return tuple(
        f"{name}, which names no cutter for all of it, is now cut with {', '.join(have[name])} "
        f"and was with {', '.join(names)}. Name its cutter in the file to keep it."
        for name, names in had.items()
        if name in have and have[name] != names
    )


def _drawn(
    text: str, unit: str, array: str, wanted: Values, used: str | None, others: Mapping[str, str]
) -> Drawn:
    """Find, change or add one thing in a drawer."""
    entries = tomlkit.parse(text).unwrap().get(array, [])
    kind = [n for n, entry in enumerate(entries) if entry.get("kind") == wanted["kind"]]
    # What it took before goes first, where several are alike.
    kind.sort(key=lambda number: entries[number]["name"] != used)
    what = {key: value for key, value in wanted.items() if key not in ("name", *_RUN_AT)}
    same = next((n for n in kind if _says_the_same(array, unit, entries[n], what)), None)
    mine = next((n for n in kind if entries[n]["name"] == used and used not in others), None)
    number = mine if same is None else same
    if number is None:
        return _added(text, array, wanted, [each.get("name") for each in entries])
    entry = entries[number]
    run_at = {key: value for key, value in wanted.items() if key in _RUN_AT}
    if number == mine:
        changes, kept = {**({} if same == mine else what), **run_at}, ""
    else:
        changes, kept = _rates(array, unit, entry, run_at)
    changes = {
        key: value
        for key, value in changes.items()
        if entry.get(key) != value and not _says_the_same(array, unit, entry, {key: value})
    }
    if not changes:
        return Drawn(text, entry["name"], kept)
    told = f"{entry['name']} in the drawer is changed: {_told(entry, changes)}"
    return Drawn(writing.put(text, (array, number), changes), entry["name"], kept or told)


def _added(text: str, array: str, wanted: Values, names: list[Any]) -> Drawn:
    name, number = wanted["name"], 2
    while name in names:
        name = f"{wanted['name']} {number}"
        number += 1
    told = f"{name} is new in the drawer"
    if wanted["kind"] == "end mill" and "flutes" not in wanted:
        # The fewest make the slowest feed.
        wanted = {**wanted, "flutes": 1}
        told += ", with 1 flute since no more was told"
    if name != wanted["name"]:
        told += f", where {wanted['name']} has other dimensions"
    return Drawn(writing.add(text, array, {**wanted, "name": name}), name, told)


def _rates(array: str, unit: str, entry: Values, run_at: Values) -> tuple[dict[str, Any], str]:
    """What the drawer does not say yet of how a cutter is run, and where it says otherwise."""
    given = {key: value for key, value in run_at.items() if value is not None}
    feeds = ("feed", "chip_load")
    fresh = {
        key: value
        for key, value in given.items()
        if key not in entry and not (key in feeds and any(each in entry for each in feeds))
    }
    there = writing.merged(entry, fresh)
    if not given or _read(array, unit, writing.merged(there, run_at)) == _read(array, unit, there):
        return fresh, ""
    says = ", ".join(f"{key} {there[key]}" for key in _RUN_AT if key in there)
    here = ", ".join(f"{key} {value}" for key, value in given.items())
    return {}, (
        f"{entry['name']} is in the drawer with {says}, and here it has {here}: other features "
        "take it too, and the drawer's count".replace("_", " ")
    )


def _told(entry: Values, changes: Values) -> str:
    """Each change, with what was there."""
    rows = []
    for key, value in changes.items():
        was = f" (was {entry[key]})" if key in entry and not isinstance(value, Mapping) else ""
        now = "as measured here" if isinstance(value, Mapping) else value
        rows.append(f"{key.replace('_', ' ')} {'none' if value is None else now}{was}")
    return ", ".join(rows)


def _says_the_same(array: str, unit: str, entry: Values, what: Values) -> bool:
    """Whether an entry says all of what is wanted, and nothing else in its place."""
    there, after = _read(array, unit, entry), writing.merged(entry, what)
    # Readings are more than the dimensions that come of them.
    readings = (key for key, value in entry.items() if isinstance(value, Mapping))
    if there is None or any(entry[key] != after.get(key) for key in readings):
        return False
    return there == _read(array, unit, after)


@dataclass(frozen=True, eq=False)
class _Thing:
    """A thing of the drawer, equal to one of the same dimensions in whatever unit."""

    what: Any

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Thing) and _alike(self.what, other.what)


def _read(array: str, unit: str, values: Values) -> _Thing | None:
    table = Table(Book(unit, {}), values, (), array)
    made = read_cutter(table) if array == "cutter" else read_fastener(table)
    return None if made is None else _Thing(made)


def _alike(one: Any, other: Any) -> bool:
    """Whether two things are the same but for rounding."""
    if hasattr(one, "magnitude") and hasattr(other, "magnitude"):
        return bool(one.check(other.dimensionality)) and math.isclose(
            one.to_base_units().magnitude, other.to_base_units().magnitude, rel_tol=1e-9
        )
    if type(one) is not type(other):
        return False
    if is_dataclass(one):
        return all(
            _alike(getattr(one, field.name), getattr(other, field.name))
            for field in fields(one)
            if field.compare
        )
    if isinstance(one, Mapping):
        return one.keys() == other.keys() and all(_alike(one[key], other[key]) for key in one)
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(map(_alike, one, other))
    return str(one) == str(other)
