"""Hole callouts, as they stand on a drawing.

A callout says what a hole is, in the signs of ASME Y14.5 (⌀ diameter, ⌵ countersink, ⌴
counterbore, ↧ depth) or in words a keyboard has, and from the top down::

    4X ⌀6.6 THRU ⌵ ⌀12.6 X 90°          4X 6.6 DIA THRU CSK 12.6 DIA X 90 DEG
    6X ⌀8.5 THRU ⌴ ⌀22 ↧ 2 FAR SIDE     6 × ⌀8,5 THRU ALL CBORE ⌀22 X 2 FAR SIDE
    ⌀.266 THRU CSK ⌀.507 X 82°          2 HOLES 17/64 DRILL .5 DP

The grammar, with what may be left out in brackets::

    callout      = [count] diameter [depth] { [,;/] step } [n PLACES]
    count        = n X | n HOLES
    diameter     = ⌀ size | DIA size | size [DIA | DRILL]
    depth        = THRU [ALL] | ↧ size | DP size | size DP | X size
    step         = ( ⌵ diameter X angle | ⌵ angle X diameter
                   | ⌴ diameter [depth] | SF diameter [depth] ) [side]
    side         = NEAR SIDE | FAR SIDE | BOTH SIDES

What is read is written back in the signs, or in words, so that it reads as the same callout. What
is not read is pointed at, by its column. Tolerances and threads are not read.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from holecalc import sizes
from holecalc.sizes import Quantity, Size, SizeError

__all__ = ["Callout", "CalloutError", "CalloutStep", "read", "write"]

LONGEST = 300
MOST_HOLES = 9999


class CalloutError(ValueError):
    """The callout cannot be read; the message points at where, and says what would do.

    Parameters
    ----------
    reason : str
        Why.
    text : str
        The callout.
    position : int
        Of the first character that is not understood, from 0.

    Attributes
    ----------
    line, column : int
        The same place, both from 1.
    """

    def __init__(self, reason: str, text: str, position: int) -> None:
        before = text[:position]
        self.reason = reason
        self.line = before.count("\n") + 1
        self.column = position - (before.rfind("\n") + 1) + 1
        written = text.split("\n")[self.line - 1]
        where = (
            f"line {self.line}, column {self.column}" if "\n" in text else f"column {self.column}"
        )
        super().__init__(f"{where}: {reason}\n  {written}\n  {' ' * (self.column - 1)}^")


@dataclass(frozen=True)
class CalloutStep:
    """What is cut round a hole.

    Parameters
    ----------
    kind : {"countersink", "counterbore", "spotface"}
        What.
    diameter : pint.Quantity
        In the face.
    included_angle : pint.Quantity or None
        Of a countersink.
    depth : pint.Quantity or None
        Of a counterbore; a spotface may go without, and is then as deep as cleans up.
    side : {"", "near", "far", "both"}
        Where it is told.
    """

    kind: str
    diameter: Quantity
    included_angle: Quantity | None = None
    depth: Quantity | None = None
    side: str = ""


@dataclass(frozen=True)
class Callout:
    """A hole as its callout says it.

    Parameters
    ----------
    diameter : pint.Quantity
        Of the hole.
    depth : pint.Quantity or None
        Of a blind hole; None for one that goes through.
    count : int
        How many there are.
    steps : tuple of CalloutStep
        What is cut round it.
    through_all : bool
        Whether the callout says THRU ALL.
    through_told : bool
        Whether it says THRU; a hole with no depth goes through all the same.
    """

    diameter: Quantity
    depth: Quantity | None = None
    count: int = 1
    steps: tuple[CalloutStep, ...] = ()
    through_all: bool = False
    through_told: bool = True

    def __str__(self) -> str:
        return write(self)

    @property
    def kind(self) -> str:
        """What to make: ``"countersink"``, ``"counterbore"`` or ``"hole"``."""
        kinds = {step.kind for step in self.steps}
        if "countersink" in kinds:
            return "countersink"
        return "counterbore" if kinds else "hole"


# --- reading -------------------------------------------------------------------------------------

_WORDS = {
    "dia": ("DIA", "DIA.", "DIAM", "DIAMETER"),
    "drill": ("DRILL",),
    "thru": ("THRU", "THROUGH"),
    "all": ("ALL",),
    "depth": ("DP", "DP.", "DEEP", "DEPTH"),
    "csk": ("CSK", "CSINK", "C'SINK", "COUNTERSINK", "COUNTERSUNK"),
    "cbore": ("CBORE", "C'BORE", "COUNTERBORE"),
    "sf": ("SF", "SFACE", "SPOTFACE", "S'FACE"),
    "by": ("X",),
    "holes": ("HOLES", "HOLE"),
    "places": ("PLACES", "PLACE", "PLCS", "PLC", "PL"),
    "near": ("NEAR",),
    "far": ("FAR",),
    "both": ("BOTH",),
    "side": ("SIDE", "SIDES"),
    "to": ("TO",),
}
_SIGNS = {
    "⌀": "dia", "Ø": "dia", "ø": "dia", "∅": "dia",
    "⌵": "csk", "⌴": "cbore", "↧": "depth", "×": "by",
    "/": "stop", ";": "stop", ",": "stop",
}  # fmt: skip
_MEANINGS = {word: kind for kind, words in _WORDS.items() for word in words}
_STEPS = {"csk": "countersink", "cbore": "counterbore", "sf": "spotface"}

_SIZE = re.compile(
    r"""(?: \#\s*[0-9]{1,2} | (?:no\.?|number)\s*[0-9]{1,2}(?![0-9.,/]) | letter\s*[a-z](?![a-z])
        | (?:[0-9]+\s*-\s*|[0-9]+[ ]+)? [0-9]+\s*/\s*[0-9]+
        | [0-9]+[.,][0-9]+ | [0-9]+\. (?![0-9]) | [0-9]+ | [.][0-9]+ )
        (?: \s* (?: mm | inch(?:es)? | in\.? | " | '' | ″ | thou ) (?![a-z]) )?""",
    re.IGNORECASE | re.VERBOSE,
)
_DEGREES = re.compile(r"\s*(?:°|º|deg(?:rees?|\.)?(?![a-z]))", re.IGNORECASE)
_WORD = re.compile(r"[A-Za-z][A-Za-z']*\.?")
_COUNT = re.compile(r"([0-9]+)\s*(?:[xX×](?![A-Za-z])|HOLES?\b(?:\s*[,;:])?)", re.IGNORECASE)


@dataclass(frozen=True)
class _Token:
    kind: str
    text: str
    position: int
    value: Any = None


def read(text: str, unit: str | None = None) -> Callout:
    """Read a hole callout.

    Parameters
    ----------
    text : str
        The callout, on one line or several.
    unit : str, optional
        What sizes without a unit are in: the drawing's.

    Returns
    -------
    Callout

    Raises
    ------
    CalloutError
        Something in it is not understood, or does not describe a hole.

    References
    ----------
    ASME Y14.5, symbols and their order; ISO 129-1 and ISO 15786 for ``n × ⌀d`` and ``⌀d × depth``
    (all from memory).

    Examples
    --------
    >>> callout = read("4X ⌀6.6 THRU ⌵ ⌀12.6 X 90°", "mm")
    >>> print(callout.count, callout.diameter, callout.steps[0].included_angle)
    4 6.6 mm 90.0 deg
    >>> print(read("17/64 DIA THRU CSK .507 DIA X 82", "in"))
    ⌀.265625 THRU ⌵ ⌀.507 X 82°
    >>> read("4X ⌀6.6 THRUU", "mm")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    holecalc.callouts.CalloutError: column 9: 'THRUU' is not understood. ...
      4X ⌀6.6 THRUU
              ^
    """
    return _Parser(text, unit).callout()


class _Parser:
    """One pass over the tokens; every refusal knows its place."""

    def __init__(self, text: str, unit: str | None) -> None:
        if len(text) > LONGEST:
            raise CalloutError(f"a callout of {len(text)} characters is too long.", text[:60], 0)
        self.text, self.unit = text, unit
        self.count, start = self._leading_count()
        self.tokens = self._tokens(start)
        self.next = 0

    def _leading_count(self) -> tuple[int | None, int]:
        start = len(self.text) - len(self.text.lstrip())
        found = _COUNT.match(self.text, start)
        if not found:
            return None, start
        return self._counted(found[1], start), found.end()

    def _counted(self, digits: str, position: int) -> int:
        if len(digits) > 6 or not 1 <= int(digits) <= MOST_HOLES:
            raise self.refuse(f"{digits} holes cannot be meant.", position)
        return int(digits)

    def _tokens(self, position: int) -> list[_Token]:
        tokens = []
        while position < len(self.text):
            character = self.text[position]
            if character.isspace():
                position += 1
                continue
            token, position = self._token(character, position)
            tokens.append(token)
        return [*tokens, _Token("end", "", len(self.text.rstrip()))]

    def _token(self, character: str, position: int) -> tuple[_Token, int]:
        size = _SIZE.match(self.text, position)
        if size:
            degrees = _DEGREES.match(self.text, size.end())
            end = degrees.end() if degrees else size.end()
            kind = "angle" if degrees else "size"
            written = self.text[position:end]
            return _Token(kind, written, position, size[0].strip()), end
        if character in _SIGNS:
            return _Token(_SIGNS[character], character, position), position + 1
        word = _WORD.match(self.text, position)
        if word:
            for written in (word[0], word[0].rstrip(".")):
                kind = _MEANINGS.get(written.upper(), "")
                if kind:
                    return _Token(kind, written, position), position + len(written)
            # An X that leans on a word, as in XCSK, is not one.
            raise self.refuse(
                f"{word[0]!r} is not understood. Words that are: THRU, THRU ALL, DIA, DP, CSK, "
                "CBORE, SF, NEAR SIDE, FAR SIDE.",
                position,
            )
        hint = " Tolerances are not read here; leave them out." if character in "±+-" else ""
        raise self.refuse(f"{character!r} is not understood.{hint}", position)

    def refuse(self, reason: str, position: int | None = None) -> CalloutError:
        place = self.tokens[self.next].position if position is None else position
        return CalloutError(reason, self.text, place)

    # --- tokens

    def at(self, *kinds: str) -> bool:
        return self.tokens[self.next].kind in kinds

    def take(self, *kinds: str) -> _Token | None:
        token = self.tokens[self.next]
        if token.kind not in kinds:
            return None
        self.next += 1
        return token

    def length(self, token: _Token) -> Quantity:
        try:
            size = sizes.length(token.value, self.unit)
        except SizeError as error:
            raise self.refuse(str(error), token.position) from None
        if not size.magnitude > 0:
            raise self.refuse(f"{token.text.strip()} is not more than 0.", token.position)
        return size

    def told(self) -> str:
        token = self.tokens[self.next]
        return f"{token.text.strip()!r} stands here" if token.kind != "end" else "it ends here"

    # --- grammar

    def callout(self) -> Callout:
        if self.at("csk", "cbore", "sf"):
            raise self.refuse("the hole itself is not told. Write its diameter first.")
        place = self.tokens[self.next].position
        diameter = self.diameter()
        depth, through, all_through = self.depth()
        made = Callout(diameter, depth, self.count or 1, (), all_through, through)
        steps: list[CalloutStep] = []
        while not self.at("end"):
            if self._places():
                break
            self.take("stop")
            token = self.take(*_STEPS)
            if token is None:
                if self._places():
                    break
                raise self.refuse(f"⌵, ⌴ or the end is wanted, and {self.told()}.")
            steps.append(self.step(token, made))
        if not self.at("end"):
            raise self.refuse(f"the end is wanted, and {self.told()}.")
        if depth is not None and through:
            raise self.refuse("THRU and a depth were both told.", place)
        return replace(made, count=self.count or 1, steps=tuple(steps))

    def _places(self) -> bool:
        token, after = self.tokens[self.next], self.tokens[min(self.next + 1, len(self.tokens) - 1)]
        if token.kind != "size" or after.kind != "places":
            return False
        if self.count is not None:
            raise self.refuse("the number of holes is told twice.")
        if not token.value.isdigit():
            raise self.refuse(f"{token.text.strip()} is no number of holes.")
        self.count = self._counted(token.value, token.position)
        self.next += 2
        return True

    def diameter(self) -> Quantity:
        sign = self.take("dia")
        token = self.take("size")
        if token is None:
            raise self.refuse(f"a diameter is wanted, and {self.told()}.")
        if sign is None and not self.take("dia"):
            self.take("drill")
        else:
            self.take("drill")
        return self.length(token)

    def depth(self, *, through_too: bool = True) -> tuple[Quantity | None, bool, bool]:
        """A depth, whether THRU is told, and whether THRU ALL."""
        if through_too and self.take("thru"):
            return None, True, self.take("all") is not None
        if self.take("depth", "by"):
            token = self.take("size")
            if token is None:
                raise self.refuse(f"a depth is wanted, and {self.told()}.")
            self.take("depth")
            return self.length(token), False, False
        if self.at("size") and self.tokens[self.next + 1].kind == "depth":
            token = self.take("size")
            self.take("depth")
            assert token is not None
            return self.length(token), False, False
        return None, False, False

    def step(self, token: _Token, hole: Callout) -> CalloutStep:
        kind = _STEPS[token.kind]
        place = self.tokens[self.next].position
        angle = depth = None
        if kind == "countersink":
            diameter, angle = self.cone()
        else:
            diameter = self.diameter()
            depth, _, _ = self.depth(through_too=False)
            if depth is None and kind == "counterbore":
                raise self.refuse(f"the counterbore's depth is wanted, and {self.told()}.")
        if not diameter > hole.diameter:
            raise self.refuse(
                f"a {kind} of {sizes.show(diameter)} is not wider than the hole of "
                f"{sizes.show(hole.diameter)}.",
                place,
            )
        return CalloutStep(kind, diameter, angle, depth, self.side())

    def cone(self) -> tuple[Quantity, Quantity]:
        if self.at("angle"):
            angle = self.angle()
            if not self.take("by", "to"):
                raise self.refuse(f"X and a diameter are wanted, and {self.told()}.")
            return self.diameter(), angle
        diameter = self.diameter()
        if not self.take("by"):
            raise self.refuse(f"X and the countersink's angle are wanted, and {self.told()}.")
        return diameter, self.angle()

    def angle(self) -> Quantity:
        token = self.take("angle", "size")
        if token is None:
            raise self.refuse(f"an angle is wanted, and {self.told()}.")
        try:
            angle = sizes.angle(token.value)
        except SizeError as error:
            raise self.refuse(str(error), token.position) from None
        if not 0 < angle.m_as("deg") < 180:
            raise self.refuse("a countersink's angle is between 0° and 180°.", token.position)
        return angle

    def side(self) -> str:
        token = self.take("near", "far", "both")
        if token is None:
            return ""
        if not self.take("side"):
            raise self.refuse(f"SIDE is wanted, and {self.told()}.")
        return token.kind


# --- writing -------------------------------------------------------------------------------------


def write(callout: Callout, *, unit: str | None = None, plain: bool = False) -> str:
    """Write a callout, on one line.

    Parameters
    ----------
    callout : Callout
        What to write.
    unit : str, optional
        The drawing's unit; sizes in any other carry theirs. The hole's own by default.
    plain : bool, default False
        In words a keyboard has, instead of signs.

    Returns
    -------
    str
        That :func:`read` reads as the same callout, given the same unit. Every digit is written.

    Examples
    --------
    >>> callout = read("6X ⌀8.5 THRU ⌴ ⌀22 ↧ 2 FAR SIDE", "mm")
    >>> print(write(callout, plain=True))
    6X 8.5 DIA THRU CBORE 22 DIA X 2 DP FAR SIDE
    """
    bare = sizes.length(1, unit).units if unit else callout.diameter.units
    parts = [f"{callout.count}X"] if callout.count > 1 else []
    parts.append(_diameter(callout.diameter, bare, plain))
    if callout.depth is not None:
        parts.append(_depth(callout.depth, bare, plain))
    elif callout.through_told:
        parts.append("THRU ALL" if callout.through_all else "THRU")
    for step in callout.steps:
        sign = {"countersink": "⌵", "counterbore": "⌴", "spotface": "SF"}[step.kind]
        word = {"countersink": "CSK", "counterbore": "CBORE", "spotface": "SF"}[step.kind]
        parts += [word if plain else sign, _diameter(step.diameter, bare, plain)]
        if step.included_angle is not None:
            degrees = _digits(step.included_angle.m_as("deg"))
            parts.append(f"X {degrees} DEG" if plain else f"X {degrees}°")
        if step.depth is not None:
            parts.append(_depth(step.depth, bare, plain, by=True))
        if step.side:
            parts.append(f"{step.side.upper()} SIDE{'S' if step.side == 'both' else ''}")
    return " ".join(parts)


def _diameter(size: Quantity, bare: Any, plain: bool) -> str:
    return f"{_size(size, bare)} DIA" if plain else f"⌀{_size(size, bare)}"


def _depth(size: Quantity, bare: Any, plain: bool, *, by: bool = False) -> str:
    if plain:
        return f"{'X ' if by else ''}{_size(size, bare)} DP"
    return f"↧ {_size(size, bare)}"


def _size(size: Size, bare: Any) -> str:
    if size.units == sizes.ureg.thou != bare:
        return f"{_digits(float(size.magnitude))} thou"
    digits = _digits(float(size.magnitude))
    inches = size.units == sizes.ureg.inch
    # ASME Y14.5 writes inches without a nought before the point, and millimetres with one.
    digits = digits[1:] if inches and digits.startswith("0.") else digits
    return digits if size.units == bare else f"{digits} {size.units:~P}"


def _digits(value: float) -> str:
    return str(np.format_float_positional(value, trim="-"))
