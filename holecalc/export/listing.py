"""Plain RS-274 for one bore, one counterbore or one countersink: to read, check and adapt.

A listing is text for a person at a control. It holds the moves of one hole and nothing that acts
unseen: no spindle start, no tool change, no offset, no subroutine. Every position is absolute and
in the plate's coordinates, with Z0 on its face and up as plus; circles are cut as half circles by
their centre, so that no control can take a whole one for none; comments say what each number is.

No control's dialect is promised. Read it line by line, and prove it on the machine in air, with Z
set well above the plate, before it meets one.

::

             G3 ->  .-------.         a turn is two half circles, each half the pitch down:
                  .'         '.
                 |      o------| start, at X + R
                  '.   centre.'       I, J: from the start of each half circle to the centre
                    '-------'  <- G3
"""

from __future__ import annotations

import math
from functools import partial

from holecalc import checks, sizes
from holecalc.cutting import RingRun, Run
from holecalc.helix import Bore
from holecalc.relations import Solution
from holecalc.sizes import Quantity, Size

__all__ = ["ListingError", "bore", "counterbore", "countersink"]

_rate = sizes.show_rate

_WIDEST = 80
_PLAIN = str.maketrans({"(": "[", ")": "]", "°": " deg", "³": "3", "−": "-", "×": "x"})


class ListingError(ValueError):
    """What was asked for cannot be listed; the message says why, and what can."""


def bore(
    run: Run,
    *,
    at: tuple[Size, Size] = (0, 0),
    safe_height: Size | None = None,
    climb: bool = True,
) -> str:
    """List a helical bore.

    Parameters
    ----------
    run : holecalc.cutting.Run
        The bore at its speed and feed.
    at : (size, size), default (0, 0)
        Where its axis is, in X and Y.
    safe_height : size, optional
        Above the plate's face, clear of clamps: 10 mm or 0.4 in by default.
    climb : bool, default True
        Climb milling, which inside a bore is counter-clockwise with a spindle that turns
        clockwise; else conventional.

    Returns
    -------
    str
        Lines of RS-274, in the unit of the bore.

    Raises
    ------
    ListingError
        The safe height is not above the face.
    holecalc.sizes.SizeError
        A value cannot be read.

    References
    ----------
    Words and modes are those of RS-274 (EIA RS-274-D, and the RS274/NGC report NISTIR 6556),
    from memory.

    Examples
    --------
    >>> from holecalc import cutters, cutting, helix
    >>> made = helix.bore(
    ...     cutters.EndMill("6 mm", flutes=1), bore_diameter="9 mm", depth="2 mm", passes=1
    ... )
    >>> text = bore(cutting.run(made, spindle_speed=18000, wall_feed="2400 mm/min"))
    >>> print(text[text.index("G17") :])
    G17 G21 G40 G90 G94 (XY PLANE, MM, NO CUTTER OFFSET, ABSOLUTE, FEED A MINUTE)
    G0 Z10.000 (UP TO THE SAFE HEIGHT)
    G0 X1.500 Y0.000 (ABOVE THE START OF THE HELIX)
    G1 Z0.000 F800.0 (DOWN TO WHERE IT STARTS, NOT CUTTING YET)
    G3 X-1.500 Y0.000 Z-1.000 I-1.500 J0.000 (TURN 1)
    G3 X1.500 Y0.000 Z-2.000 I1.500 J0.000 (TURN 1, 2.000 DEEP)
    G3 X-1.500 Y0.000 I-1.500 J0.000 (FLAT TURN 1 AT DEPTH)
    G3 X1.500 Y0.000 I1.500 J0.000 (FLAT TURN 1 AT DEPTH)
    G1 X0.000 Y0.000 (TO THE MIDDLE, OFF THE WALL)
    G0 Z10.000 (UP TO THE SAFE HEIGHT)
    <BLANKLINE>
    """
    return _listed("HELICAL BORE", run, at, safe_height, climb)


def counterbore(
    run: Run,
    *,
    at: tuple[Size, Size] = (0, 0),
    safe_height: Size | None = None,
    climb: bool = True,
) -> str:
    """List a counterbore: a blind bore round a hole that is there already.

    Parameters
    ----------
    run : holecalc.cutting.Run
        Of a :func:`holecalc.helix.bore` with a depth and a pilot hole.
    at, safe_height, climb
        As for :func:`bore`.

    Returns
    -------
    str
        Lines of RS-274, in the unit of the counterbore.

    Raises
    ------
    ListingError
        It goes through, has no hole, or would leave part of its floor uncut.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc import cutters, cutting, helix
    >>> made = helix.bore(
    ...     cutters.EndMill("6 mm", flutes=2), bore_diameter="11 mm", depth="6.8 mm",
    ...     pilot_diameter="6.6 mm", max_pitch="2 mm",
    ... )
    >>> print(counterbore(cutting.run(made, spindle_speed=18000, chip_load="0.1 mm"))[:56])
    (COUNTERBORE: A LISTING TO READ, CHECK AND ADAPT)
    (READ
    """
    made = run.bore
    if made.breakthrough is not None or not made.pilot_diameter.magnitude:
        raise ListingError(
            "a counterbore is blind and round a hole. Plan it with a depth and a pilot diameter, "
            "or list it as a bore."
        )
    if made.core_diameter is not None:
        raise ListingError(
            f"a ring of the floor up to {sizes.show(made.core_diameter, fine=True)} across would "
            "be left standing. Plan it in rings."
        )
    if not made.finishing_turn:
        raise ListingError("without a finishing turn the floor is a ramp. Plan it with one.")
    return _listed("COUNTERBORE", run, at, safe_height, climb)


def countersink(
    cut: Solution,
    *,
    axis_feed: Size,
    passes: int = 2,
    at: tuple[Size, Size] = (0, 0),
    safe_height: Size | None = None,
    climb: bool = True,
) -> str:
    """List a countersink: the circle of a vee cutter, wound down to it.

    Parameters
    ----------
    cut : Solution
        Of :data:`holecalc.countersink.CUT`. A circle of 0 is listed as a plunge.
    axis_feed : feed
        At the cutter's axis.
    passes : int, default 2
        Turns from the face down to the depth; a flat turn follows.
    at, safe_height, climb
        As for :func:`bore`.

    Returns
    -------
    str
        Lines of RS-274, in the unit of the top diameter.

    Raises
    ------
    ListingError
        The turns are not 1, 2, 3 …, or the safe height is not above the face.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    The clearance hole must be there already: the tip is not meant to cut.

    Examples
    --------
    >>> from holecalc.countersink import CUT
    >>> cut = CUT.solve(
    ...     top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm",
    ...     included_angle=90,
    ... )
    >>> text = countersink(cut, axis_feed="500 mm/min", passes=1)
    >>> print(text[text.index("G3 X") :])
    G3 X-2.000 Y0.000 Z-2.100 I-2.000 J0.000 (TURN 1)
    G3 X2.000 Y0.000 Z-4.200 I2.000 J0.000 (TURN 1, 4.200 DEEP)
    G3 X-2.000 Y0.000 I-2.000 J0.000 (FLAT TURN 1 AT DEPTH)
    G3 X2.000 Y0.000 I2.000 J0.000 (FLAT TURN 1 AT DEPTH)
    G1 X0.000 Y0.000 (TO THE MIDDLE, OFF THE WALL)
    G0 Z10.000 (UP TO THE SAFE HEIGHT)
    <BLANKLINE>
    """
    if isinstance(passes, bool) or not isinstance(passes, int) or passes < 1:
        raise ListingError(f"turns down to a countersink are 1, 2, 3 …, not {passes!r}.")
    block = _Block(cut.top_diameter, at, safe_height, climb)
    feed = sizes.feed(axis_feed, block.unit)
    if feed.magnitude <= 0:
        raise ListingError(f"a feed of {_rate(feed)} never gets there. Give more than 0.")
    circle, number = cut.circle_diameter, block.number
    block.head("COUNTERSINK")
    block.say(
        f"TOP DIAMETER {number(cut.top_diameter)}, VEE CUTTER OF "
        f"{sizes.show(cut.included_angle)}, TIP FLAT {number(cut.tip_diameter)}"
    )
    if "hole_diameter" in cut:
        block.say(f"THE HOLE OF {number(cut.hole_diameter)} MUST BE THERE ALREADY")
    plunge = not circle.magnitude
    block.say(
        f"DEPTH OF THE TIP {number(cut.depth)}, "
        + (
            "STRAIGHT DOWN: THE WHOLE FLANK CUTS AT ONCE"
            if plunge
            else f"ON A CIRCLE OF {number(circle)}, IN {passes} TURNS OF "
            f"{number(cut.depth / passes)}"
        )
    )
    if not plunge:
        block.sense()
        at_face = (feed * cut.top_diameter / circle).to(feed.units)
        block.say(f"F: {block.feed(feed)} AT THE AXIS IS {block.feed(at_face)} ALONG THE TOP EDGE")
    block.modes()
    if plunge:
        block.plunge(cut.depth, feed)
    else:
        block.ring(circle, 0 * cut.depth, cut.depth, passes, 1, feed, to_middle=True)
    return block.text()


def _listed(
    title: str, run: Run, at: tuple[Size, Size], safe_height: Size | None, climb: bool
) -> str:
    made = run.bore
    block = _Block(made.bore_diameter, at, safe_height, climb)
    block.head(title)
    _caution(block, run)
    _describe(block, made)
    block.sense()
    flutes = made.cutter.flutes
    block.say(
        f"SPINDLE {_rate(run.spindle_speed)}, {flutes} FLUTE{'S' * (flutes > 1)}, "
        f"ABOUT {_rate(run.time)} OF CUTTING"
    )
    for index, ring in enumerate(run.rings, start=1):
        _describe_ring(block, f"RING {index}: " if len(run.rings) > 1 else "", ring)
    block.say(
        "F IS ALONG THE HELIX. WHERE THE CONTROL TAKES IT FOR THE CIRCLE ALONE, TYPE "
        f"{' / '.join(block.feed(ring.plane_feed) for ring in run.rings)}"
    )
    block.modes()
    for ring in run.rings:
        flat = made.flat_turns(ring.ring)
        block.ring(
            ring.ring.cut.path_diameter,
            made.start_depth,
            made.depth,
            float(ring.ring.cut.passes.magnitude),
            flat,
            ring.axis_feed,
            to_middle=bool(flat) and made.core_diameter is None,
        )
    return block.text()


def _describe(block: _Block, made: Bore) -> None:
    number = block.number
    block.say(
        f"BORE DIAMETER {number(made.bore_diameter)}, CUTTER DIAMETER "
        f"{number(made.cutter.cutting_diameter)}"
    )
    depth = f"DEPTH {number(made.depth)}"
    if made.start_depth.magnitude:
        depth = f"FROM {number(made.start_depth)} DOWN TO {depth}"
    if made.breakthrough is not None and made.plate_thickness is not None:
        depth += (
            f": PLATE {number(made.plate_thickness)} AND {number(made.breakthrough)} BELOW IT, "
        )
        depth += "INTO A BOARD THAT MUST LIE THERE"
    block.say(depth)
    if made.pilot_diameter.magnitude:
        block.say(f"THE HOLE OF {number(made.pilot_diameter)} MUST BE THERE ALREADY")


def _caution(block: _Block, run: Run) -> None:
    with sizes.shown_in(block.unit):
        findings = checks.helix(run.bore, run)
    for finding in findings:
        if finding.weight is checks.Weight.STOP:
            block.say(f"STOP: {finding.what} {finding.cure}")


def _describe_ring(block: _Block, name: str, ring: RingRun) -> None:
    cut, number = ring.ring.cut, block.number
    block.say(
        f"{name}AXIS ON A CIRCLE OF {number(cut.path_diameter)}, RADIUS "
        f"{number(cut.path_diameter / 2)}; {_rate(cut.passes)} TURNS, EACH "
        f"{number(cut.pitch)} DOWN, A RAMP OF {sizes.show(cut.ramp_angle)}"
    )
    block.say(
        f"{name}F: {block.feed(ring.wall_feed)} AT THE WALL IS {block.feed(ring.axis_feed)} AT THE "
        f"AXIS, {block.feed(ring.down_feed)} OF IT DOWN"
    )


class _Block:
    """Lines being written, in one unit and round one axis."""

    def __init__(
        self, like: Quantity, at: tuple[Size, Size], safe_height: Size | None, climb: bool
    ) -> None:
        inches = sizes.system_of(like) == "in"
        self.unit = "in" if inches else "mm"
        self._places = 4 if inches else 3
        self._climb = climb
        self._x, self._y = (self._round(self._length(value)) for value in at)
        usual = "0.4 in" if inches else "10 mm"
        self._safe = self._length(usual if safe_height is None else safe_height)
        if self._safe <= 0:
            raise ListingError(
                f"a safe height of {safe_height} is not above the plate's face. Make it clear the "
                "clamps."
            )
        self._lines: list[str] = []

    def text(self) -> str:
        return "\n".join([*self._lines, ""])

    def number(self, size: Quantity) -> str:
        return self._word(float(size.m_as(self.unit)))

    def feed(self, feed: Quantity) -> str:
        return f"{float(feed.m_as(f'{self.unit}/min')):.1f}"

    def say(self, text: str) -> None:
        """A comment, in plain capitals, over as many lines as it takes."""
        # A bracket inside a comment would end it, and a control may know nothing but ASCII.
        plain = text.translate(_PLAIN).upper()
        line = ""
        for word in plain.encode("ascii", "replace").decode().split():
            if line and len(line) + len(word) + 3 > _WIDEST:
                self._lines.append(f"({line})")
                line = "  " + word
            else:
                line = f"{line} {word}" if line else word
        self._lines.append(f"({line})")

    def head(self, title: str) -> None:
        self.say(f"{title}: A LISTING TO READ, CHECK AND ADAPT")
        self.say("READ EVERY LINE. PROVE IT IN AIR FIRST, WITH Z SET WELL ABOVE THE PLATE")
        self.say("IT STARTS NO SPINDLE, CHANGES NO TOOL AND SETS NO OFFSET: DO THAT BEFORE")
        self.say(
            f"LENGTHS IN {'INCHES' if self.unit == 'in' else 'MM'}, FEEDS IN "
            f"{self.unit.upper()}/MIN. Z0 IS THE PLATE'S FACE, PLUS IS UP"
        )
        self.say(
            f"HOLE AXIS AT X{self._word(self._x)} Y{self._word(self._y)}, SAFE HEIGHT "
            f"{self._word(self._safe)}: CHECK THAT IT CLEARS THE CLAMPS"
        )
        self.say(
            "X Y Z: WHERE A MOVE ENDS. I J: FROM THE START OF A HALF CIRCLE TO ITS CENTRE, ALSO "
            "IN G90. F: FEED OF THE AXIS"
        )

    def sense(self) -> None:
        if self._climb:
            self.say("CLIMB MILLING: G3, COUNTER-CLOCKWISE, WITH THE SPINDLE TURNING CLOCKWISE")
        else:
            self.say("CONVENTIONAL MILLING: G2, CLOCKWISE, WITH THE SPINDLE TURNING CLOCKWISE")

    def modes(self) -> None:
        code, unit = ("G20", "INCH") if self.unit == "in" else ("G21", "MM")
        self._move(
            f"G17 {code} G40 G90 G94",
            f"XY PLANE, {unit}, NO CUTTER OFFSET, ABSOLUTE, FEED A MINUTE",
        )
        self._up()

    def plunge(self, depth: Quantity, feed: Quantity) -> None:
        self._move(f"G0 {self._position(self._x, self._y)}", "ABOVE THE MIDDLE OF THE HOLE")
        self._move(f"G1 Z{self.number(-depth)} F{self.feed(feed)}", "STRAIGHT DOWN")
        self._up()

    def ring(
        self,
        circle: Quantity,
        start: Quantity,
        end: Quantity,
        turns: float,
        flat_turns: int,
        feed: Quantity,
        *,
        to_middle: bool,
    ) -> None:
        """A helix, the flat turns after it, and the way out."""
        radius = self._round(self._length(circle) / 2)
        point = partial(self._point, radius)
        top, bottom = self._length(start), self._length(end)
        self._move(f"G0 {self._position(*point(0.0))}", "ABOVE THE START OF THE HELIX")
        self._move(
            f"G1 Z{self._word(-top)} F{self.feed(feed)}",
            "DOWN TO WHERE IT STARTS, NOT CUTTING YET",
        )
        halves = math.ceil(2 * turns * (1 - 1e-9))
        for half in range(halves):
            here, there = half / 2, min((half + 1) / 2, turns)
            deep = top + (bottom - top) * there / turns
            whole = half % 2 == 1 or half == halves - 1
            self._arc(
                point(here),
                point(there),
                f" Z{self._word(-deep)}",
                f"TURN {half // 2 + 1}" + (f", {self._word(deep)} DEEP" if whole else ""),
            )
        for half in range(2 * flat_turns):
            here = turns + half / 2
            self._arc(point(here), point(here + 0.5), "", f"FLAT TURN {half // 2 + 1} AT DEPTH")
        if to_middle:
            self._move(f"G1 {self._position(self._x, self._y)}", "TO THE MIDDLE, OFF THE WALL")
        self._up()

    def _arc(
        self, start: tuple[float, float], end: tuple[float, float], down: str, comment: str
    ) -> None:
        # From the rounded start, so that the centre is the same from every half circle.
        i, j = self._x - start[0], self._y - start[1]
        centre = f"I{self._word(i)} J{self._word(j)}"
        code = "G3" if self._climb else "G2"
        self._move(f"{code} {self._position(*end)}{down} {centre}", comment)

    def _point(self, radius: float, turns: float) -> tuple[float, float]:
        angle = 2 * math.pi * (turns % 1.0) * (1 if self._climb else -1)
        return (
            self._round(self._x + radius * math.cos(angle)),
            self._round(self._y + radius * math.sin(angle)),
        )

    def _up(self) -> None:
        self._move(f"G0 Z{self._word(self._safe)}", "UP TO THE SAFE HEIGHT")

    def _move(self, words: str, comment: str) -> None:
        self._lines.append(f"{words} ({comment})")

    def _position(self, x: float, y: float) -> str:
        return f"X{self._word(x)} Y{self._word(y)}"

    def _length(self, value: Size) -> float:
        if isinstance(value, int | float) and value == 0:
            return 0.0
        return float(sizes.length(value).m_as(self.unit))

    def _round(self, value: float) -> float:
        return round(value, self._places)

    def _word(self, value: float) -> str:
        # Adding zero turns a minus zero into a plain one.
        return f"{self._round(value) + 0.0:.{self._places}f}"
