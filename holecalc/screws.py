"""Screws into captured threads: which length to buy, and how it engages.

A screw clamps what lies between its head and the first turn of the thread, fills some of that
thread, and comes through it into whatever room there is. Sizes are given as everywhere in
holecalc; results are in millimetres for metric threads and in inches for inch threads.
Derivations: ``references/derivations-counterbore.md``.
"""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType

from holecalc import nuts, sizes
from holecalc.nuts import Thread
from holecalc.sizes import Quantity, Size

__all__ = ["ScrewError", "ScrewLength", "screw_length"]

_fine = partial(sizes.show, fine=True)

_CLOSE = 1e-6
"""Millimetres; below what rounding or any person would notice."""


class ScrewError(ValueError):
    """No screw does what is asked; the message says why, and what would."""


@dataclass(frozen=True)
class ScrewLength:
    """A screw of one length in its thread.

    Parameters
    ----------
    thread : Thread
        Of the screw.
    length : pint.Quantity
        Under the head; including it for a flat head.
    clamped : mapping of str to pint.Quantity
        What lies between the head and the thread's first turn.
    thread_length : pint.Quantity
        Of the nut.
    engaged : pint.Quantity
        Overlap of screw and nut.
    tip : pint.Quantity
        How far the screw comes through the nut's thread; negative where it ends inside.
    room : pint.Quantity or None
        Beyond the nut's thread; None where nothing is in the way.
    blind : bool
        Whether a floor is there, else only a face that is to stay clear.
    shortest : pint.Quantity
        That would do.
    longest : pint.Quantity or None
        That would do; None where nothing is in the way.
    would_do : tuple of pint.Quantity
        The lengths on the list from shortest to longest.
    least_engaged : pint.Quantity
        What was asked for.
    """

    thread: Thread
    length: Quantity
    clamped: Mapping[str, Quantity]
    thread_length: Quantity
    engaged: Quantity
    tip: Quantity
    room: Quantity | None
    blind: bool
    shortest: Quantity
    longest: Quantity | None
    would_do: tuple[Quantity, ...]
    least_engaged: Quantity

    @property
    def grip(self) -> Quantity:
        """All that is clamped."""
        return sum(self.clamped.values(), 0 * self.length)

    @property
    def turns(self) -> float:
        """Engaged thread in turns."""
        return float(sizes.mm(self.engaged) / sizes.mm(self.thread.pitch))

    @property
    def diameters(self) -> float:
        """Engaged thread in screw diameters."""
        return float(sizes.mm(self.engaged) / sizes.mm(self.thread.diameter))

    @property
    def beyond(self) -> Quantity | None:
        """How far the tip goes past the room there is; not above 0 where it stays inside."""
        return None if self.room is None else self.tip - self.room

    @property
    def bottoms(self) -> bool:
        """Whether the tip meets the floor of a blind hole before the head clamps."""
        return self.blind and self.beyond is not None and sizes.mm(self.beyond) > -_CLOSE

    @property
    def proud(self) -> bool:
        """Whether the tip stands out of a face that should stay clear."""
        return not self.blind and self.beyond is not None and sizes.mm(self.beyond) > _CLOSE

    def rows(self) -> list[tuple[str, str]]:
        """The whole as lines of label and text."""
        unit = self.length.units
        parts = ", ".join(
            f"{name} {_fine(size.to(unit))}" for name, size in self.clamped.items() if size
        )
        pitches = abs(sizes.mm(self.tip) / sizes.mm(self.thread.pitch))
        if self.tip.magnitude >= 0:
            tip = f"{_fine(self.tip)} through the thread, {pitches:.1f} pitches"
        else:
            tip = f"{_fine(-self.tip)} short of the thread's end"
        if self.beyond is not None and self.tip.magnitude >= 0:
            where = "floor" if self.blind else "face"
            if abs(sizes.mm(self.beyond)) < 0.0005:
                tip += f"; level with the {where}"
            else:
                way = "past" if self.beyond.magnitude > 0 else "short of"
                tip += f"; {_fine(abs(self.beyond))} {way} the {where}"
        longest = "" if self.longest is None else f" to {_fine(self.longest)}"
        least = " or longer" if self.longest is None else ""
        return [
            ("clamped", f"{_fine(self.grip)}: {parts}" if parts else _fine(self.grip)),
            (
                "engaged",
                f"{_fine(self.engaged)}: {self.turns:.1f} turns, {self.diameters:.2f} diameters",
            ),
            ("tip", tip),
            ("would do", f"{_fine(self.shortest)}{longest}{least}"),
        ]

    def __str__(self) -> str:
        head = f"{self.thread} screw, {sizes.show(self.length)} long"
        return "\n".join([head, *(f"  {label:<17}  {text}" for label, text in self.rows())])

    def _repr_html_(self) -> str:
        rows = [("screw", str(self).partition("\n")[0]), *self.rows()]
        cells = "".join(
            f"<tr><td style='text-align:left'>{html.escape(label)}</td>"
            f"<td style='text-align:left'>{html.escape(text)}</td></tr>"
            for label, text in rows
        )
        return f"<table>{cells}</table>"


def screw_length(
    thread: str | Thread,
    *,
    mating_part: Size,
    washers: Size = 0,
    plate: Size = 0,
    thread_length: Size,
    room: Size | None = None,
    blind: bool = False,
    least_engaged: Size | None = None,
    length: Size | None = None,
    lengths: Sequence[Size] | None = None,
) -> ScrewLength:
    """The standard length of a screw, and how it engages.

    ::

         head |                                        | thread_length | room |
         =====|=========================================+++++++++++++++++++>   |
              | washers | mating part |      plate     |               | tip  |

        shortest   clamped + least_engaged, where the thread is that long;
                   else through it by a pitch, or level with it where there is no room
        longest    clamped + thread_length + room; a pitch less above a floor

    Of the lengths between, the shortest is taken whose tip comes through by a pitch; above a
    floor, the shortest that fills the thread; where there is none, the longest.

    Parameters
    ----------
    thread : str or Thread
        As :func:`holecalc.nuts.thread` reads it.
    mating_part : size
        Between the head or its washer and the plate; where the head is let into it, what is left
        under the head. May be 0.
    washers : size, optional
        Thickness of all of them; none by default.
    plate : size, optional
        Plate between the mating part and the thread's first turn: the web, and any gap.
    thread_length : size
        Of the nut, barrel or insert.
    room : size, optional
        Beyond the thread, to a face that should stay clear or to the floor of a blind hole; as
        much as it takes, by default.
    blind : bool, default False
        Whether a floor ends that room.
    least_engaged : size, optional
        Thread that has to be engaged. One screw diameter by default, for steel in steel (common
        practice, no source); a nut that is thinner has to be filled.
    length : size, optional
        Of the screw at hand, to be looked at instead of choosing one.
    lengths : sequence of size, optional
        To choose from; by default the standard ones, metric or inch as the thread.

    Returns
    -------
    ScrewLength

    Raises
    ------
    ScrewError
        No length would do, or none on the list.
    holecalc.fasteners.FastenerError
        The thread cannot be read.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    The tip through the nut by one to two pitches is common practice, with no source: the first
    turn of a screw is chamfered and holds little. Screws are threaded along their whole length
    here; on one that is not, the plain shank must be shorter than what is clamped. A screw may be
    off its nominal length by half a millimetre or so: where it matters, measure it and give it.

    References
    ----------
    Lengths: ISO 4762 after ISO 888; inch lengths from memory. See ``references/sources.toml``.

    Examples
    --------
    >>> screw = screw_length(
    ...     "M8", mating_part="12 mm", washers="1.6 mm", plate="8.2 mm", thread_length="6.8 mm"
    ... )
    >>> print(screw.length, f"{screw.turns:.1f} turns")
    30.0 mm 5.4 turns
    """
    turns = nuts.thread(thread)
    unit = turns.diameter.units
    held = _positive(thread_length, "thread length").to(unit)
    clamped = {
        label: _not_negative(value, label, turns.diameter).to(unit)
        for label, value in (("mating part", mating_part), ("washers", washers), ("plate", plate))
    }
    grip = sum(clamped.values(), 0 * held)
    free = None if room is None else _or_zero(room, "room", held).to(unit)
    if least_engaged is None:
        wanted = turns.diameter
    else:
        wanted = _positive(least_engaged, "least engaged").to(unit)

    longest = None
    if free is not None:
        longest = grip + held + free - (turns.pitch if blind else 0 * free)
    if held >= wanted:
        shortest = grip + wanted
    else:
        fits = not blind and (free is None or sizes.mm(free) >= sizes.mm(turns.pitch) - _CLOSE)
        shortest = grip + held + (turns.pitch if fits else 0 * held)
    listed = sorted(
        (sizes.length(each) for each in lengths)
        if lengths is not None
        else nuts.screw_lengths(turns.metric)
    )
    listed = [each.to(unit) for each in listed]
    would_do = tuple(
        each
        for each in listed
        if sizes.mm(each) >= sizes.mm(shortest) - _CLOSE
        and (longest is None or sizes.mm(each) <= sizes.mm(longest) + _CLOSE)
    )
    if length is not None:
        chosen = _positive(length, "length").to(unit)
    else:
        if not would_do:
            raise ScrewError(_no_screw(turns, grip, shortest, longest, listed))
        best = grip + held + (0 * held if blind else turns.pitch)
        chosen = next((each for each in would_do if each >= best), would_do[-1])
    reaches = chosen - grip
    return ScrewLength(
        turns,
        chosen,
        MappingProxyType(clamped),
        held,
        min(max(reaches, 0 * held), held),
        reaches - held,
        free,
        blind,
        shortest,
        longest,
        would_do,
        wanted,
    )


def _no_screw(
    turns: Thread,
    grip: Quantity,
    shortest: Quantity,
    longest: Quantity | None,
    listed: Sequence[Quantity],
) -> str:
    if longest is not None and longest < shortest:
        return (
            f"to engage enough thread an {turns} screw has to be {_fine(shortest)} long, and there "
            f"is room for only {_fine(longest)}. Recess the nut deeper, let the tip stand proud, "
            "or accept less thread."
        )
    if longest is None:
        span = f"{_fine(shortest)} or more"
    else:
        span = f"from {_fine(shortest)} to {_fine(longest)}"
    cures = []
    under = [each for each in listed if each < shortest]
    over = [each for each in listed if longest is not None and each > longest]
    if under:
        less = shortest - under[-1]
        if less < grip:
            cures.append(
                f"clamp {_fine(less)} less, such as by a pocket that much deeper, for "
                f"{sizes.show(under[-1])}"
            )
    if over and longest is not None:
        more = over[0] - longest
        cures.append(
            f"put {_fine(more)} of washers more under the head for {sizes.show(over[0])}, or cut "
            "that down"
        )
    told = f" Either {'; or '.join(cures)}." if cures else ""
    return f"no length on the list is {span}.{told}"


def _positive(value: Size, label: str) -> Quantity:
    size = _not_negative(value, label, sizes.length("1 mm"))
    if not size.magnitude > 0:
        raise ScrewError(f"the {label} is {sizes.show(size)}; it must be more than 0.")
    return size


def _not_negative(value: Size, label: str, like: Quantity) -> Quantity:
    size = _or_zero(value, label, like)
    if size.magnitude < 0:
        raise ScrewError(f"the {label} is {sizes.show(size)}; it cannot be negative.")
    return size


def _or_zero(value: Size, label: str, like: Quantity) -> Quantity:
    """A size; 0 needs no unit."""
    if isinstance(value, int | float) and not isinstance(value, bool) and value == 0:
        return 0 * like
    try:
        return sizes.length(value)
    except sizes.SizeError as error:
        raise sizes.SizeError(f"{label}: {error}") from None
