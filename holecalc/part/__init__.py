"""A whole part: its file, its plate and drawers, its features, and how it is turned over.

A part file is TOML that a person writes and reads. Sizes stand in it as the shop writes them, and
a bare number is in the file's unit; positions are from the plate's lower left corner as face A is
seen::

    part = "bracket"
    unit = "mm"

    [plate]
    material = "plywood"
    size = [300, 200]          # along X, along Y
    thickness = 19.8           # as measured

    [turn]
    about = "Y"                # turned over like a page
    registers = "dowel holes"
    pin_diameter = 7.98

    [[cutter]]
    name = "6 mm"
    kind = "end mill"          # or drill, vee, form
    diameter = 6
    flutes = 2

    [[fastener]]
    name = "M6 flat head"
    kind = "flat head"         # or T-nut, hexagon nut, square nut, insert, cap screw, washer
    standard = "ISO 7046-2"
    size = "M6"

    [[feature]]
    name = "cover screws"
    callout = "5X ⌀6.6 THRU ⌵ ⌀12.6 X 90°"
    fastener = "M6 flat head"
    cutter = "90 degree vee"
    face = "A"
    at = {pattern = "bolt circle", centre = [150, 100], diameter = 90, count = 5, start = 90}

Kinds of features: ``countersink``, ``counterbore`` (and pockets for nuts), ``bore`` (a helix),
``hole`` and ``edge``. NEAR SIDE and FAR SIDE of a callout are faces A and B, since everything is
told as face A is seen. What was measured on the first part goes under ``measured``. A key that a
feature makes no use of is refused, and so is a callout that another key contradicts.

What a cutter is run at: ``spindle_speed``, and ``feed`` or, of an end mill, ``chip_load``. The feed
of an end mill is that of the wall; straight down it has its ``plunge_feed``. Beyond what cuts,
``reach`` (``length`` of a drill's flutes) and ``maximum_spindle_speed`` are checked where they are
told. Positions: ``at = [x, y]``, several such pairs, or the patterns ``line``,
``grid`` and ``bolt circle``. Keys that are not known are kept, and told.

A form cutter stands in the drawer by its dimensions, or as it was measured: what calipers read
under ``[cutter.calipers]``, traced points under ``[cutter.trace]``. A counterbore may say which
screw is wanted (``mating_part``, ``washers``, ``behind``, ``screw_length``) and what it carries
(``load``, ``bearing_strength``, ``shear_strength``); the part is then checked for both. What only
a panel asks for stands under ``[feature.panel]``, and makes the part no other.
"""

from holecalc.part.bench import Bench
from holecalc.part.drawer import Cutter
from holecalc.part.features import CornersCut, Cut, Drilled, Feature, FlatsCut, Made, Plate
from holecalc.part.file import PartFile, begin_file, files_in, load, open_file
from holecalc.part.measuring import Measurement, to_measure
from holecalc.part.model import KeepClear, Machine, Part, Turn, loads
from holecalc.part.positions import BoltCircle, Grid, Line, Points
from holecalc.part.reading import Fault, PartError
from holecalc.part.store import SaveError
from holecalc.part.turning import Registration, Setup, TurningError

__all__ = [
    "Bench",
    "BoltCircle",
    "CornersCut",
    "Cut",
    "Cutter",
    "Drilled",
    "Fault",
    "Feature",
    "FlatsCut",
    "Grid",
    "KeepClear",
    "Line",
    "Machine",
    "Made",
    "Measurement",
    "Part",
    "PartError",
    "PartFile",
    "Plate",
    "Points",
    "Registration",
    "SaveError",
    "Setup",
    "Turn",
    "TurningError",
    "begin_file",
    "files_in",
    "load",
    "loads",
    "open_file",
    "to_measure",
]
