"""What is fetched for a part besides its cutters: screws, nuts, inserts and washers, counted."""

from __future__ import annotations

from dataclasses import dataclass, replace

from holecalc import sizes
from holecalc.fasteners import FlatHead
from holecalc.nuts import CapScrew, Insert, Nut, TNut, Washer
from holecalc.part import Feature, Part
from holecalc.part.drawer import Fastener

__all__ = ["Fetched", "to_fetch"]

UNTOLD_LENGTH = "length not told"


@dataclass(frozen=True)
class Fetched:
    """One kind of fastener to fetch.

    Parameters
    ----------
    count : int
        How many.
    name : str
        What the drawer calls it; ``"screw"`` for one that a nut asks for.
    what : str
        What it is, with its size and its length where that is known.
    features : tuple of str
        What it is for.
    """

    count: int
    name: str
    what: str
    features: tuple[str, ...]


def to_fetch(part: Part) -> tuple[Fetched, ...]:
    """The fasteners of a part, one for each place of each feature that takes it.

    Parameters
    ----------
    part : Part
        The part.

    Returns
    -------
    tuple of Fetched
        In the order of the features; of a screw that no feature tells, nothing.

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> for each in to_fetch(loads(demo.text("bearing-plate"))):
    ...     print(f"{each.count} × {each.name}: {each.what}; for {', '.join(each.features)}")
    5 × M6 flat head: M6 flat head, ISO 7046-2, length not told; for cover screws
    3 × M8 T-nut: T-nut M8×1.25, barrel 9.00 mm long; for leg T-nuts
    """
    found: dict[tuple[str, str], Fetched] = {}
    with sizes.shown_in(part.unit):
        for feature in part.features:
            for name, what in _of_one(part, feature):
                before = found.get((name, what), Fetched(0, name, what, ()))
                found[name, what] = replace(
                    before,
                    count=before.count + feature.count,
                    features=(*before.features, feature.name),
                )
    return tuple(found.values())


def _of_one(part: Part, feature: Feature) -> list[tuple[str, str]]:
    """Name and description of what one place of a feature takes."""
    names = [str(feature.given.get(key)) for key in ("fastener", "washer")]
    taken = [(name, _told(name, part.fasteners[name])) for name in names if name in part.fasteners]
    made = feature.made
    if made is not None and made.screw is not None:
        screw = made.screw
        taken.append(("screw", f"{screw.thread}, {sizes.show(screw.length)} long"))
    elif made is not None and made.no_screw:
        taken.append(("screw", "no length on the list fits: see the checks"))
    return taken


def _told(name: str, fastener: Fastener) -> str:
    """What it is, in a few words: as its standard calls it, or as it was measured."""
    by_standard = fastener.name if fastener.name != name else ""
    told = by_standard or _measured(fastener)
    return f"{told}, {UNTOLD_LENGTH}" if isinstance(fastener, FlatHead | CapScrew) else told


def _measured(fastener: Fastener) -> str:
    show = sizes.show
    if isinstance(fastener, FlatHead):
        return f"flat head {show(fastener.head_diameter)}, {show(fastener.head_angle)}"
    if isinstance(fastener, CapScrew):
        return f"cap screw {fastener.thread}, head {show(fastener.head_diameter)}"
    if isinstance(fastener, TNut):
        return f"T-nut {fastener.thread}, barrel {show(fastener.barrel_length)} long"
    if isinstance(fastener, Nut):
        return f"{fastener.shape} nut {fastener.thread}, {show(fastener.across_flats)} across flats"
    if isinstance(fastener, Insert):
        return f"insert {fastener.thread}, {show(fastener.length)} long"
    assert isinstance(fastener, Washer)
    inside, outside = show(fastener.inside_diameter), show(fastener.outside_diameter)
    return f"washer, hole {inside}, {outside} across, {show(fastener.thickness)} thick"
