r"""Speeds and feeds, at the edge that cuts and at the axis that the control moves.

A cutter of diameter c that turns n times a minute runs past the work at the surface speed v; its
z flutes each take the chip load f and so feed it at F:

.. math:: v = \pi c n, \quad F = n z f

On a circle, F belongs where the cutter touches the work, and the control is told the speed of the
axis. The two turn about the same centre, so their speeds are as their diameters:

::

        inside a bore                            outside a boss

        |<------- D ------->|                 |<------- B ------->|
        |         |<- P/2 ->o                  \_________________/|<- c ->|
        |         |     .---|---.                      |<----- P/2 ---o-->|
        wall      axis  |<- c ->|
                                                 P = B + c
        P = D - c                                G = F P / B, faster than the wall
        G = F P / D, slower than the wall

Type the wall's feed at the control for a 9 mm bore and a 6 mm cutter, and the wall goes by three
times as fast as was meant.

Every starting value here is common practice, with no source: a place to begin in scrap. What the
cutter's maker says goes before it, and the speed marked on the cutter before everything.
Derivations: ``references/derivations-helix.md``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from holecalc import sizes, tables
from holecalc.cutters import EndMill
from holecalc.helix import Bore, Ring
from holecalc.relations import (
    COUNT,
    FEED_RATE,
    LENGTH,
    SPINDLE_SPEED,
    SURFACE_SPEED,
    Relations,
    Variable,
)
from holecalc.sizes import Quantity, Size

__all__ = [
    "BOSS_FEED",
    "FEED",
    "SPEED",
    "CuttingError",
    "Range",
    "RingRun",
    "Run",
    "Speed",
    "Starting",
    "materials",
    "run",
    "spindle_speed_for",
    "starting",
]

_fine = partial(sizes.show, fine=True)
_rate = sizes.show_rate


class CuttingError(ValueError):
    """No speed or feed can be told for this; the message says why, and what would help."""


SPEED = Relations(
    "cutting speed",
    Variable("surface_speed", "v", SURFACE_SPEED, "of the cutting edge past the work"),
    Variable("cutter_diameter", "c", LENGTH, "diameter the cutter cuts"),
    Variable("spindle_speed", "n", SPINDLE_SPEED, "turns of the cutter a minute"),
    equations=("v = pi*c*n",),
)
"""Surface speed, cutter diameter and spindle speed.

Examples
--------
>>> speed = SPEED.solve(cutter_diameter="6 mm", spindle_speed="18000 rpm")
>>> print(_rate(speed.surface_speed), _rate(speed.surface_speed, "ft/min"))
339.3 m/min 1113 ft/min
"""

_FEED_VARIABLES = (
    Variable("spindle_speed", "n", SPINDLE_SPEED, "turns of the cutter a minute", optional=True),
    Variable("flutes", "z", COUNT, "cutting edges", optional=True),
    Variable("chip_load", "f", LENGTH, "feed for each flute and turn, at the wall", optional=True),
    Variable("wall_feed", "F", FEED_RATE, "feed where the cutter touches the wall"),
    Variable("cutter_diameter", "c", LENGTH, "diameter the cutter cuts", optional=True),
    Variable("path_diameter", "P", LENGTH, "circle the cutter's axis runs on", optional=True),
    Variable("axis_feed", "G", FEED_RATE, "feed of the axis, to be typed", optional=True),
)

FEED = Relations(
    "feed inside a bore",
    *_FEED_VARIABLES,
    Variable("bore_diameter", "D", LENGTH, "diameter of the bore", optional=True),
    equations=("F = n*z*f", "P = D - c", "G = F*P/D"),
)
"""Feed inside a bore: spindle speed, flutes and chip load to the wall and the axis, and back.

Examples
--------
>>> print(_rate(FEED.solve(spindle_speed=18000, flutes=1, chip_load="0.25 mm").wall_feed))
4500 mm/min
>>> feed = FEED.solve(wall_feed="2400 mm/min", bore_diameter="9 mm", cutter_diameter="6 mm")
>>> print(_rate(feed.axis_feed))
800 mm/min
"""

BOSS_FEED = Relations(
    "feed round a boss",
    *_FEED_VARIABLES,
    Variable("boss_diameter", "B", LENGTH, "diameter of the boss", optional=True),
    equations=("F = n*z*f", "P = B + c", "G = F*P/B"),
)
"""Feed round the outside of a boss, where the axis goes faster than the wall.

Examples
--------
>>> feed = BOSS_FEED.solve(wall_feed="60 in/min", boss_diameter="1 in", cutter_diameter="1/4 in")
>>> print(_rate(feed.axis_feed))
75 in/min
"""


@dataclass(frozen=True)
class Speed:
    """A spindle speed within what spindle and cutter can take.

    Parameters
    ----------
    spindle_speed, surface_speed : pint.Quantity
        What it comes to.
    because : str
        What decided it.
    limited : bool
        Whether it is not the one wanted.
    """

    spindle_speed: Quantity
    surface_speed: Quantity
    because: str
    limited: bool

    def __str__(self) -> str:
        return f"{_rate(self.spindle_speed)}, {_rate(self.surface_speed)}: {self.because}"


def spindle_speed_for(
    surface_speed: Size,
    cutter: EndMill,
    *,
    slowest: Size | None = None,
    fastest: Size | None = None,
) -> Speed:
    """The spindle speed for a surface speed, within the limits of spindle and cutter.

    Parameters
    ----------
    surface_speed : surface speed
        The one wanted.
    cutter : EndMill
        Its diameter, and the maximum speed marked on it.
    slowest, fastest : spindle speed, optional
        What the spindle can do.

    Returns
    -------
    Speed

    Raises
    ------
    CuttingError
        The spindle cannot turn as slowly as the cutter must.
    holecalc.relations.RelationsError
        The surface speed is not more than 0.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> cutter = EndMill("6 mm", flutes=1, maximum_spindle_speed=20000)
    >>> print(spindle_speed_for("500 m/min", cutter, fastest="24000 rpm"))
    20000 rev/min, 377 m/min: at most 20000 rev/min is marked on the cutter; 500 m/min would need \
26526 rev/min
    """
    wanted = SPEED.solve(surface_speed=surface_speed, cutter_diameter=cutter.cutting_diameter)
    least = None if slowest is None else sizes.spindle_speed(slowest)
    highest = _highest(cutter, fastest)
    if least is not None and highest is not None and least > highest[0]:
        raise CuttingError(
            f"the spindle turns at least {_rate(least)} and {highest[1]}. Take another cutter, or "
            "a slower spindle."
        )
    speed, because = wanted.spindle_speed, f"as {_rate(wanted.surface_speed)} needs"
    needs = f"; {_rate(wanted.surface_speed)} would need {_rate(speed)}"
    if highest is not None and speed > highest[0]:
        speed, because = highest[0], highest[1] + needs
    elif least is not None and speed < least:
        speed, because = least, f"the spindle turns at least {_rate(least)}{needs}"
    got = SPEED.solve(spindle_speed=speed, cutter_diameter=cutter.cutting_diameter)
    reached = got.surface_speed.to(wanted.surface_speed.units)
    return Speed(speed, reached, because, limited=speed != wanted.spindle_speed)


@dataclass(frozen=True)
class Range:
    """From a low to a high value.

    Parameters
    ----------
    low, high : pint.Quantity
        Its ends.
    """

    low: Quantity
    high: Quantity

    @property
    def middle(self) -> Quantity:
        """Halfway between the ends."""
        return (self.low + self.high) / 2

    def contains(self, value: Quantity) -> bool:
        """Whether a value lies between the ends, but for the last bits of a float."""
        return bool(self.low * (1 - 1e-9) <= value <= self.high * (1 + 1e-9))

    def __str__(self) -> str:
        show = _fine if self.low.check("[length]") or _is_angle(self.low) else _rate
        return f"{show(self.low)} to {show(self.high)}"


@dataclass(frozen=True)
class Starting:
    """Where to begin with a material and a cutter: common practice, with no source.

    Parameters
    ----------
    material : str
        The material.
    surface_speed, spindle_speed, chip_load, pitch, ramp_angle : Range
        Ranges; the spindle speed is kept within what was said of spindle and cutter. The ramp is
        at the cutter's axis.
    limited : str
        What keeps the spindle speed below what the surface speed asks for; empty where nothing
        does.
    remark : str
        What to mind with the material.
    """

    material: str
    surface_speed: Range
    spindle_speed: Range
    chip_load: Range
    pitch: Range
    ramp_angle: Range
    limited: str
    remark: str

    def __str__(self) -> str:
        rows = [
            ("surface speed", self.surface_speed),
            ("spindle speed", self.spindle_speed),
            ("chip load", self.chip_load),
            ("pitch", self.pitch),
            ("ramp at the axis", self.ramp_angle),
        ]
        lines = [f"{self.material}: common practice, no source; the cutter maker's data go before"]
        lines += [f"  {label:<16}  {span}" for label, span in rows]
        if self.limited:
            lines.append(f"  {self.limited}")
        return "\n".join([*lines, f"  {self.remark}"])


def materials() -> tuple[str, ...]:
    """The materials there are starting values for.

    Examples
    --------
    >>> materials()
    ('HDPE', 'acrylic', 'polycarbonate', 'plywood', 'hardwood', 'aluminium')
    """
    return tuple(dict.fromkeys(row["material"] for row in tables.rows("starting-values")))


def starting(
    material: str,
    cutter: EndMill,
    *,
    slowest: Size | None = None,
    fastest: Size | None = None,
) -> Starting:
    """Starting values for a material and a cutter.

    Chip load and pitch are shares of the cutter's diameter.

    Parameters
    ----------
    material : str
        One of :func:`materials`.
    cutter : EndMill
        The cutter.
    slowest, fastest : spindle speed, optional
        What the spindle can do.

    Returns
    -------
    Starting

    Raises
    ------
    CuttingError
        There is no such material, or no value for such a cutter.
    holecalc.sizes.SizeError
        A value cannot be read.

    References
    ----------
    None: common practice, table ``starting-values``.

    Notes
    -----
    For carbide cutters in a machine and a workholding that are stiff for the job. A light machine
    wants the low ends. Grades of a material differ by more than the ranges say.

    Examples
    --------
    >>> cutter = EndMill("6 mm", flutes=1, maximum_spindle_speed=24000)
    >>> print(starting("HDPE", cutter, slowest=8000, fastest=18000))
    HDPE: common practice, no source; the cutter maker's data go before
      surface speed     150 m/min to 500 m/min
      spindle speed     8000 rev/min to 18000 rev/min
      chip load         0.150 mm to 0.300 mm
      pitch             1.500 mm to 4.500 mm
      ramp at the axis  5° to 15°
      the spindle turns at most 18000 rev/min; 500 m/min would need 26526 rev/min
      It melts before it burns: a thick chip carries the heat away.
    """
    named = material.strip().lower()
    rows = [row for row in tables.rows("starting-values") if row["material"].lower() == named]
    if not rows:
        raise CuttingError(
            f"there are no starting values for {material!r}. There are for "
            f"{', '.join(materials())}. Ask the cutter's maker."
        )
    fitting = [row for row in rows if int(row["flutes"]) == cutter.flutes]
    if not fitting:
        known = " or ".join(row["flutes"] for row in rows)
        raise CuttingError(
            f"there are no starting values for {cutter.flutes} flutes in {rows[0]['material']}, "
            f"for {known} there are: more of them leave no room for the chips. Ask the cutter's "
            "maker."
        )
    (row,) = fitting
    diameter = cutter.cutting_diameter
    least, most = (sizes.length(row[f"diameter_{end}"], "mm") for end in ("min", "max"))
    if not least <= diameter <= most:
        raise CuttingError(
            f"the starting values are for cutters from {sizes.show(least)} to {sizes.show(most)}, "
            f"and this one is {sizes.show(diameter)}. Ask the cutter's maker."
        )

    def shares(column: str) -> Range:
        return Range(*(float(row[f"{column}_{end}"]) * diameter for end in ("min", "max")))

    speeds = [sizes.surface_speed(row[f"surface_speed_{end}"], "m/min") for end in ("min", "max")]
    if _in_inches(diameter):
        speeds = [speed.to("ft/min") for speed in speeds]
    low, high = (
        spindle_speed_for(speed, cutter, slowest=slowest, fastest=fastest) for speed in speeds
    )
    return Starting(
        material=row["material"],
        surface_speed=Range(*speeds),
        spindle_speed=Range(low.spindle_speed, high.spindle_speed),
        chip_load=shares("chip_load_share"),
        pitch=shares("pitch_share"),
        ramp_angle=Range(*(sizes.angle(row[f"ramp_angle_{end}"]) for end in ("min", "max"))),
        limited=high.because if high.limited else "",
        remark=row["remark"],
    )


@dataclass(frozen=True)
class RingRun:
    """One ring at its feed.

    Parameters
    ----------
    ring : holecalc.helix.Ring
        The ring.
    axis_feed : pint.Quantity
        Along the helix, at the cutter's axis: what to type.
    plane_feed : pint.Quantity
        Its part in the plane of the circle: what to type where the control takes a helix's feed
        for that of the circle alone.
    down_feed : pint.Quantity
        Its part straight down.
    wall_feed : pint.Quantity
        Of a flat turn where the cutter touches the wall.
    chip_load : pint.Quantity
        Feed for each flute and turn, at the wall of a flat turn.
    wall_chip : pint.Quantity
        How far apart along the ramped wall two flutes touch it.
    side_chip : pint.Quantity
        The thickest chip a flute takes with its side, anywhere from the wall inwards.
    end_chip : pint.Quantity
        The chip a flute takes with its end.
    removal_rate : pint.Quantity
        Material removed a minute, on the helix.
    helix_time, flat_time : pint.Quantity
        For the helix and for the flat turns after it.
    """

    ring: Ring
    axis_feed: Quantity
    plane_feed: Quantity
    down_feed: Quantity
    wall_feed: Quantity
    chip_load: Quantity
    wall_chip: Quantity
    side_chip: Quantity
    end_chip: Quantity
    removal_rate: Quantity
    helix_time: Quantity
    flat_time: Quantity

    @property
    def thickest_chip(self) -> Quantity:
        """The thicker of what side and end take."""
        return max(self.side_chip, self.end_chip)

    @property
    def ratio(self) -> float:
        """How many times faster the wall goes by than the axis."""
        return float((self.ring.cut.bore_diameter / self.ring.cut.path_diameter).m_as(""))

    def __str__(self) -> str:
        return (
            f"{_rate(self.wall_feed)} at the wall is {_rate(self.axis_feed)} at the axis, "
            f"{_rate(self.down_feed)} of it down; thickest chip {_fine(self.thickest_chip)}, "
            f"{_rate(self.removal_rate)}; {_rate(self.helix_time + self.flat_time)}"
        )


@dataclass(frozen=True)
class Run:
    """A bore at its speed and feed.

    Parameters
    ----------
    bore : holecalc.helix.Bore
        The bore.
    spindle_speed, surface_speed : pint.Quantity
        Of the cutter.
    rings : tuple of RingRun
        From the middle outwards.
    """

    bore: Bore
    spindle_speed: Quantity
    surface_speed: Quantity
    rings: tuple[RingRun, ...]

    @property
    def time(self) -> Quantity:
        """Of all helices and flat turns; without the moves between, and without slowing down."""
        times = [ring.helix_time + ring.flat_time for ring in self.rings]
        return sum(times[1:], start=times[0])

    @property
    def removal_rate(self) -> Quantity:
        """Material removed a minute: the volume of the whole bore over its time."""
        unit = self.rings[0].removal_rate.units
        return (self.bore.volume / self.time).to(unit)

    def __str__(self) -> str:
        head = f"{_rate(self.spindle_speed)}, {_rate(self.surface_speed)}"
        length = sizes.show(self.bore.path_length)
        whole = f"{length} of path in {_rate(self.time)}, {_rate(self.removal_rate)} on average"
        return "\n".join([head, *map(str, self.rings), whole])


def run(
    made: Bore,
    *,
    spindle_speed: Size,
    chip_load: Size | None = None,
    wall_feed: Size | None = None,
    axis_feed: Size | None = None,
) -> Run:
    r"""Put a bore to its speed and feed: times, chips and material removed.

    The axis goes along the helix at the feed G, so that in the plane it goes G cos r and straight
    down G sin r. Between one flute and the next it advances a share 1/(n z) of either. Seen from
    above, the edge at the angle t from the outward direction then moves G cos r sin t / (n z)
    into the material, which is most at t = 90° or, where less is engaged, at its end:

    .. math::

        s = \frac{G \cos r}{n z} \sin(\min(t_e, 90°)), \quad
        q = \frac{G \sin r}{n z}, \quad
        m = \frac{G}{n z} \frac{D \cos r}{P \cos e}

    s is the chip at the side, q at the end, and m how far apart two flutes touch the ramped wall:
    there a circle of diameter D is gone round while the axis goes round P.

    Parameters
    ----------
    made : holecalc.helix.Bore
        The bore.
    spindle_speed : spindle speed
        Of the cutter.
    chip_load : size, optional
        Feed for each flute and turn, at the wall of a flat turn.
    wall_feed : feed, optional
        Instead of that.
    axis_feed : feed, optional
        Instead of that: one feed typed for all rings, to see what it does.

    Returns
    -------
    Run

    Raises
    ------
    CuttingError
        Not exactly one of chip load, wall feed and axis feed was given.
    holecalc.relations.RelationsError
        A value is not more than 0.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    A rigid machine that holds its feed. On a small circle a light machine slows down, and takes
    longer and thinner chips. The removal rate is that of a helix well under way in the solid.

    Examples
    --------
    >>> from holecalc import helix
    >>> made = helix.bore(
    ...     EndMill("6 mm", flutes=1), bore_diameter="9 mm", plate_thickness="20 mm", passes=8
    ... )
    >>> print(run(made, spindle_speed=18000, wall_feed="2400 mm/min"))
    18000 rev/min, 339.3 m/min
    2400 mm/min at the wall is 800 mm/min at the axis, 209.9 mm/min of it down; thickest chip
    0.043 mm, 13.35 cm³/min; 6.6 s
    87.56 mm of path in 6.6 s, 11.62 cm³/min on average
    """
    given = {"chip_load": chip_load, "wall_feed": wall_feed, "axis_feed": axis_feed}
    known = {name: value for name, value in given.items() if value is not None}
    if len(known) != 1:
        raise CuttingError(
            f"{len(known)} of chip_load, wall_feed and axis_feed were given, and each fixes the "
            "others. Give one."
        )
    cutter = made.cutter
    speed = SPEED.solve(cutter_diameter=cutter.cutting_diameter, spindle_speed=spindle_speed)
    rings = tuple(_ring_run(made, ring, speed.spindle_speed, known) for ring in made.rings)
    return Run(made, speed.spindle_speed, speed.surface_speed, rings)


def _ring_run(made: Bore, ring: Ring, spindle_speed: Quantity, known: dict[str, Size]) -> RingRun:
    cut, engaged = ring.cut, ring.engagement
    length = cut.bore_diameter.units
    feed = FEED.solve(
        bore_diameter=cut.bore_diameter,
        path_diameter=cut.path_diameter,
        spindle_speed=spindle_speed,
        flutes=made.cutter.flutes,
        **known,
    )
    axis = feed.axis_feed
    ramp, edge = cut.base["ramp_angle"], cut.base["edge_ramp_angle"]
    widest = min(sizes.rad(engaged.engaged_angle), math.pi / 2)
    advance = feed.base["axis_feed"] / feed.base["spindle_speed"] / feed.base["flutes"]
    along = cut.base["bore_diameter"] * math.cos(ramp) / cut.base["path_diameter"] / math.cos(edge)
    rate = engaged.effective_width * engaged.height * axis * math.cos(ramp)
    rate_unit = "in**3/min" if _in_inches(cut.bore_diameter) else "cm**3/min"
    flat = made.flat_turns(ring) * ring.turn_length

    def out(value: float) -> Quantity:
        return sizes.from_mm(value, length)

    return RingRun(
        ring=ring,
        axis_feed=axis,
        plane_feed=axis * math.cos(ramp),
        down_feed=axis * math.sin(ramp),
        wall_feed=feed.wall_feed,
        chip_load=feed.chip_load.to(length),
        wall_chip=out(advance * along),
        side_chip=out(advance * math.cos(ramp) * math.sin(widest)),
        end_chip=out(advance * math.sin(ramp)),
        removal_rate=rate.to(rate_unit),
        helix_time=(cut.path_length / axis).to("s"),
        flat_time=(flat / axis).to("s"),
    )


def _highest(cutter: EndMill, fastest: Size | None) -> tuple[Quantity, str] | None:
    """The fastest that cutter and spindle may turn, and which of them says so."""
    limits = []
    if cutter.maximum_spindle_speed is not None:
        marked = cutter.maximum_spindle_speed
        limits.append((marked, f"at most {_rate(marked)} is marked on the cutter"))
    if fastest is not None:
        most = sizes.spindle_speed(fastest)
        limits.append((most, f"the spindle turns at most {_rate(most)}"))
    return min(limits, key=lambda limit: limit[0], default=None)


def _in_inches(length: Quantity) -> bool:
    return bool(length.units in (sizes.ureg.inch, sizes.ureg.foot, sizes.ureg.thou))


def _is_angle(quantity: Quantity) -> bool:
    return bool(quantity.units in (sizes.ureg.degree, sizes.ureg.radian))
