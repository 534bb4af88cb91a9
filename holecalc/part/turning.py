r"""Turning the part over, and what registers it then.

Positions are given as face A is seen. A setup has its own coordinates, from the plate's lower
left corner as it then lies on the table:

::

      face A up                turned about Y            turned about X

      W +-----------+          W +-----------+          W +-----------+
        | o         |            |         o |            |           |
      Y |           |          Y |           |          Y |           |
        +-----------+            +-----------+            | o         |
        0     X     L            0     X     L            +-----------+
        (x, y)                   (L - x, y)               (x, W - y)

Turned over, the part is held by two pins in two of its holes. With the room :math:`c_1, c_2` on
the radius between each and its pin, the part can lie off its place: shifted, and turned by up to

.. math:: \theta = \frac{c_1 + c_2}{S}

with S from pin to pin. What is cut then stands off what was cut from the first face by as much;
the further from the pins, the more of it is rotation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

import numpy as np

from holecalc import sizes
from holecalc.part.positions import XY
from holecalc.sizes import Quantity

__all__ = ["Registration", "Setup", "TurningError"]

_fine = partial(sizes.show, fine=True)


class TurningError(ValueError):
    """What was given does not register the part; the message says why, and what would."""


@dataclass(frozen=True)
class Setup:
    """How the part lies on the table.

    Parameters
    ----------
    number : int
        1 for the first.
    face : {"A", "B"}
        Which is up.
    about : {"X", "Y"}
        Along which the part is turned to bring up face B.
    length, width : pint.Quantity
        Of the plate.
    """

    number: int
    face: str
    about: str
    length: Quantity
    width: Quantity

    def xy(self, positions: XY) -> XY:
        """Positions as face A is seen, in this setup's coordinates [mm]; and back again.

        Examples
        --------
        >>> over = Setup(2, "B", "Y", sizes.length("300 mm"), sizes.length("200 mm"))
        >>> over.xy(np.array([[20.0, 30.0]])).tolist()
        [[280.0, 30.0]]
        """
        if self.face == "A":
            return np.array(positions, dtype=float)
        size = np.array([sizes.mm(self.length), sizes.mm(self.width)])
        column = 0 if self.about == "Y" else 1
        turned = np.array(positions, dtype=float)
        turned[:, column] = size[column] - turned[:, column]
        return turned

    def angle(self, angle: Quantity) -> Quantity:
        """A direction as face A is seen, in this setup's coordinates; and back again."""
        if self.face == "A":
            return angle
        return (sizes.angle(180) if self.about == "Y" else 0 * angle) - angle

    @property
    def datum(self) -> str:
        """Which corner of the part its zero is on."""
        if self.face == "A":
            return "lower left corner, with face A up"
        corner = "lower right" if self.about == "Y" else "upper left"
        return (
            f"corner that was the {corner} one on face A, now the lower left one: turned about "
            f"{self.about}, with face B up"
        )

    def __str__(self) -> str:
        return f"setup {self.number}, face {self.face} up"


@dataclass(frozen=True)
class Registration:
    """Two holes on two pins, and how far the part can lie off its place.

    Parameters
    ----------
    first, second : (float, float)
        X and Y of the holes [mm].
    room : (pint.Quantity, pint.Quantity)
        Between hole and pin, on the diameter, at each.
    hole_diameter, pin_diameter : pint.Quantity
        What they were reckoned from.

    Raises
    ------
    TurningError
        The pins do not enter, or the holes are at one place.
    """

    first: tuple[float, float]
    second: tuple[float, float]
    room: tuple[Quantity, Quantity]
    hole_diameter: Quantity
    pin_diameter: Quantity

    def __post_init__(self) -> None:
        if min(sizes.mm(room) for room in self.room) < 0:
            raise TurningError(
                f"a pin of {_fine(self.pin_diameter)} does not enter a hole of "
                f"{_fine(self.hole_diameter)}. Make the hole wider."
            )
        if sizes.mm(self.distance) < 1e-6:
            raise TurningError(
                "two holes at one place do not keep the part from turning. Put them far apart."
            )

    @property
    def distance(self) -> Quantity:
        """From pin to pin."""
        return sizes.from_mm(math.dist(self.first, self.second), self.pin_diameter.units)

    @property
    def rotation(self) -> Quantity:
        """The most the part can be turned, either way."""
        one, two = (sizes.mm(room) / 2 for room in self.room)
        return sizes.from_rad(math.asin(min(1.0, (one + two) / sizes.mm(self.distance))))

    def offsets(self, positions: XY) -> XY:
        r"""The most that a feature at each position can stand off its place [mm].

        With u along the line of pins and v across it, moved by little, the part takes the same u
        to both pins, and v in proportion along the line:

        .. math:: v(s) = v_1 + (v_2 - v_1) s / S, \quad u(h) = u - (v_2 - v_1) h / S

        where s is along the line and h across. :math:`u^2 + v_i^2 \le c_i^2`. The farthest is
        where both rooms are used up, since it grows either way from the middle.

        Parameters
        ----------
        positions : array
            X and Y [mm], in the coordinates of the holes.

        Returns
        -------
        array
            One offset [mm] for each position; twice that is the diameter of the zone of a
            concentricity tolerance (ISO 1101).

        Examples
        --------
        >>> mm = sizes.length
        >>> pins = Registration(
        ...     (0, 0), (200, 0), (mm("0.04 mm"), mm("0.04 mm")), mm("8.02 mm"), mm("7.98 mm")
        ... )
        >>> pins.offsets(np.array([[100.0, 0.0], [0.0, 0.0], [300.0, 0.0]])).round(4).tolist()
        [0.02, 0.02, 0.04]
        """
        start, end = np.array(self.first), np.array(self.second)
        span = float(np.linalg.norm(end - start))
        along = (end - start) / span
        relative = np.atleast_2d(positions) - start
        share = relative @ along / span
        across = (relative @ np.array([-along[1], along[0]])) / span
        one, two = (sizes.mm(room) / 2 for room in self.room)
        u = min(one, two) * np.sin(np.linspace(-math.pi / 2, math.pi / 2, 181))
        farthest = np.zeros(len(relative))
        # Moving everything the other way gives the same offsets, so v1 may stay positive.
        v1 = np.sqrt(np.maximum(one**2 - u**2, 0))
        for sign in (1.0, -1.0):
            v2 = sign * np.sqrt(np.maximum(two**2 - u**2, 0))
            v = v1 + (v2 - v1) * share[:, None]
            shifted = u - (v2 - v1) * across[:, None]
            farthest = np.maximum(farthest, np.hypot(shifted, v).max(axis=1))
        return farthest

    def __str__(self) -> str:
        return (
            f"pins {_fine(self.pin_diameter)} in holes {_fine(self.hole_diameter)}, "
            f"{_fine(self.distance)} apart: {_fine(max(self.room) / 2)} of shift, "
            f"{sizes.show(self.rotation, places=3)} of rotation either way"
        )
