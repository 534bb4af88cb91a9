"""What a person types to be told of each thing that may go wrong.

For each workbook: a piece of what is then said, how much it matters, and what is typed into the
first panel, field by field. Fields are named as they are on the panel; a slider takes a key. The
numbers are worked out by hand, where that is not the work of a fit.
``tests/test_provocations.py`` sees to it that no finding is left out; ``test_findings.py`` and
``test_findings_of_a_part.py``, beside this file, type all of it in a browser.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from holecalc.checks import Weight

STOP, LOOK, NOTE = Weight.STOP, Weight.LOOK, Weight.NOTE


@dataclass(frozen=True)
class Provocation:
    """What is typed, and what is then said.

    `says` is a piece of the finding's own sentence; `typed` what goes into which field. Nothing is
    typed where the workbook opens with it.
    """

    says: str
    weight: Weight
    typed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Edit:
    """What is changed in the text of the demo part, and what is then said.

    `typed` is what is put in place of what; `more` is written below all of it.
    """

    says: str
    weight: Weight
    typed: Mapping[str, str] = field(default_factory=dict)
    more: str = ""

    def of(self, text: str) -> str:
        """The text with the changes in it."""
        for old, new in self.typed.items():
            assert text.count(old) == 1, (old, text.count(old))
            text = text.replace(old, new)
        return f"{text}\n{self.more}" if self.more else text


# An M6 flat head of 12.6 mm to its sharp edge over a hole of 6.6; plate 20; cutter 10, its tip
# 0.2; circle 3.6.
COUNTERSINKS = [
    # 12.6 - 3.6.
    Provocation(
        "At the face the cut needs 9.000 mm of the cutter and it is 8.000 mm wide",
        STOP,
        {"cutter diameter": "8 mm"},
    ),
    # 4 + 3.
    Provocation(
        "The tip sweeps 7.000 mm and the hole is 6.600 mm",
        STOP,
        {"circle diameter": "4 mm", "tip flat or radius": "3 mm"},
    ),
    # 6.6 - 4.4, and a quarter of 10 is 2.5.
    Provocation(
        "At the hole's edge the cutter cuts at 2.200 mm of its 10.000 mm",
        LOOK,
        {"circle diameter": "4.4 mm"},
    ),
    # (12.6 - 6.6)/2.
    Provocation(
        "The cone ends 3.000 mm down and the plate is 3.000 mm",
        STOP,
        {"plate thickness": "3 mm", "tip below plate": "5 mm"},
    ),
    # (12.6 - 3.6 - 0.2)/2.
    Provocation(
        "The tip goes 4.400 mm deep in a plate of 4.000 mm: 0.400 mm into what lies under it",
        STOP,
        {"plate thickness": "4 mm"},
    ),
    # A land of 0.65 and (11.3 - 6)/2.
    Provocation(
        "The head goes 3.300 mm down and the plate is 3.200 mm",
        STOP,
        {"plate thickness": "3.2 mm", "tip below plate": "5 mm"},
    ),
    Provocation(
        "Under the head only 0.700 mm of the plate is left",
        LOOK,
        {"plate thickness": "4 mm", "tip below plate": "1 mm"},
    ),
    Provocation("A circle of 0 is a plunge", NOTE, {"circle diameter": "0"}),
    Provocation("The head's angle is 90° and the sink's 82°", LOOK, {"cutter angle": "82°"}),
    Provocation(
        "The sink is as wide as the head measures, 11.300 mm",
        LOOK,
        {"head lies by": "top diameter", "top diameter": "11.3 mm"},
    ),
    Provocation("The head stands 0.300 mm proud", LOOK, {"recess": "-0.3 mm"}),
]

# A T-nut: flange 22 by 1.5, barrel 9.8 by 9, prongs 6; plate 20; cutter 6; what is screwed on is
# 14 thick with washers of 1.6. Pockets 23 and 10 wide, 2 and 11.5 deep.
HEXAGON = {"fastener": "hexagon nut"}
OWN_SCREW = {"screw": "at hand"}
CAPTURED_NUTS = [
    # 13 + 0.2 + 11 (1 - sin 60°).
    Provocation(
        "The pocket is 14.674 mm across flats and a nut may be only 14.380 mm over its corners",
        STOP,
        {**HEXAGON, "cutter diameter": "11 mm"},
    ),
    Provocation("The nut turns up to", LOOK, {**HEXAGON, "cutter": "End"}),
    Provocation("The nut turns up to 13.73°", LOOK, {**HEXAGON, "clearance": "0"}),
    Provocation("It stands 0.400 mm proud of the face", LOOK, {"recess": "-0.4 mm"}),
    # 15 - 11.5; a quarter is 3.75.
    Provocation(
        "Only 3.500 mm of the plate's 15.000 mm is left", LOOK, {"plate thickness": "15 mm"}
    ),
    # 10/(2 tan 59°); an insert of 12 takes 14.7 of the plate.
    Provocation(
        "A 118° drill would go 3.004 mm deeper at its point and break through the 2.300 mm",
        NOTE,
        {"fastener": "insert", "plate thickness": "17 mm"},
    ),
    Provocation(
        "The prongs are 18.500 mm long and the plate under the flange 18.000 mm",
        STOP,
        {"prong length": "18.5 mm"},
    ),
    Provocation(
        "The barrel is 9.000 mm long below the flange and its pocket 9.000 mm",
        LOOK,
        {"gap below barrel": "0"},
    ),
    Provocation(
        "The barrel is 9.000 mm long below the flange and its pocket 8.900 mm",
        STOP,
        {"gap below barrel": "-0.1 mm"},
    ),
    Provocation(
        "across and the hole under it 10.000 mm: a ring of 0.500 mm carries all",
        LOOK,
        {"flange diameter": "11 mm"},
    ),
    Provocation("nothing is left to press on", STOP, {"flange diameter": "10 mm"}),
    Provocation(
        "The cutter is 11.000 mm and the barrel pocket 10.000 mm: it does not go in",
        STOP,
        {"cutter diameter": "11 mm"},
    ),
    Provocation(
        "The pocket is 11.500 mm deep and the cutter reaches 10.000 mm",
        STOP,
        {"cutter's reach": "10 mm"},
    ),
    Provocation(
        "The pocket is 11.500 mm deep and the flutes are 10.000 mm long",
        LOOK,
        {"flute length": "10 mm"},
    ),
    Provocation("screw does not reach the thread", STOP, {**OWN_SCREW, "screw length": "20 mm"}),
    Provocation(
        "screw meets the floor of the hole",
        STOP,
        {"fastener": "insert", **OWN_SCREW, "screw length": "40 mm"},
    ),
    Provocation("screw stands", LOOK, {**OWN_SCREW, "screw length": "40 mm"}),
    Provocation("screw engages", LOOK, {**OWN_SCREW, "screw length": "30 mm"}),
    Provocation("No screw: ", STOP, {"mating part": "12 mm"}),
    Provocation(
        "it beds into the plate at 1.508 kN", STOP, {"load": "2 kN", "material": "birch plywood"}
    ),
    Provocation("shears a plug out", STOP, {"load": "20 kN", "material": "birch plywood"}),
    Provocation("without the material's strengths neither was compared", NOTE, {"load": "1 kN"}),
]

# A bore of 47 through a plate of 20 and 0.5 below it; a cutter of 12 with 2 flutes of 26 that
# reaches 35.
TURNS = {"find": "pitch, from the turns"}
BORES = [
    # 20.5/2 down on a circle of 13 - 12: arctan(10.25/π).
    Provocation(
        "a ramp of 72.96°, more down than round, is a plunge",
        STOP,
        {"bore diameter": "13 mm", **TURNS, "turns": "2"},
    ),
    Provocation("each turn goes down 20.500 mm", STOP, {"bore diameter": "13 mm", "turns": "Home"}),
    # 20.5/8 on a circle of 6: arctan(2.5625/6π).
    Provocation(
        "The ramp at the axis is 7.74° and the cutter may ramp at most 3°",
        STOP,
        {"bore diameter": "18 mm", **TURNS, "turns": "8", "ramp allowed": "3°"},
    ),
    Provocation(
        "The ramp at the axis is 28.54°, and how steep the cutter may ramp was not given",
        LOOK,
        {"bore diameter": "18 mm", **TURNS, "turns": "2"},
    ),
    Provocation(
        "The pitch is 10.250 mm and the flutes are 10.000 mm long",
        STOP,
        {**TURNS, "turns": "2", "flute length": "10 mm"},
    ),
    Provocation(
        "The pitch of 6.833 mm is 57 % of the cutter's diameter", LOOK, {**TURNS, "turns": "3"}
    ),
    Provocation(
        "if it is over 6.000 mm, a pip stays there",
        LOOK,
        {"bore diameter": "18 mm", "end cuts": "not in the middle"},
    ),
    Provocation(
        "if it is over 1.000 mm, a pip stays there",
        STOP,
        {"bore diameter": "13 mm", **TURNS, "turns": "2", "end cuts": "not in the middle"},
    ),
    Provocation(
        "The cutter is not centre-cutting, so its end sets how steep it may ramp",
        LOOK,
        {"end cuts": "not in the middle"},
    ),
    Provocation(
        "The length of the cutter's flutes is not given, so whether it is long enough for "
        "20.500 mm was not checked",
        NOTE,
        {"flute length": ""},
    ),
    Provocation(
        "The bore goes 20.500 mm below the face and the cutter reaches 15.000 mm",
        STOP,
        {"flute length": "12 mm", "reach": "15 mm"},
    ),
    Provocation(
        "The wall is 20.500 mm high and the flutes 15.000 mm: above them the shank",
        LOOK,
        {"flute length": "15 mm"},
    ),
    # (12/13)².
    Provocation("The cutter fills 85 % of the bore", LOOK, {"bore diameter": "13 mm"}),
    Provocation(
        "The bore is 3.4 times as deep as wide",
        LOOK,
        {"cutter diameter": "3 mm", "bore diameter": "6 mm"},
    ),
    # 47 - 2 · 12.
    Provocation("A core of 23.000 mm comes loose", STOP, {"a wide bore": "leaves a core"}),
    Provocation(
        "A core of 23.000 mm is left standing in the bore, 12.000 mm high",
        LOOK,
        {"a wide bore": "leaves a core", "goes": "blind", "depth": "12 mm"},
    ),
    Provocation("Without a finishing turn up to", LOOK, {"finishing turn": "no"}),
    Provocation(
        "The helix is less than one turn",
        STOP,
        {"find": "turns, from the pitch", "pitch": "30 mm", "finishing turn": "no"},
    ),
    Provocation(
        "The plate's thickness is not given, so whether the bore goes through it",
        NOTE,
        {"goes": "blind", "depth": "12 mm", "plate thickness": ""},
    ),
    Provocation(
        "The bore is to be blind and 20.000 mm deep, and the plate is 20.000 mm",
        STOP,
        {"goes": "blind", "depth": "20 mm"},
    ),
    Provocation("exactly", LOOK, {"below the plate": "0"}),
    Provocation("The cutter's maximum speed is not given", NOTE, {"marked speed": ""}),
    Provocation(
        "is more than the 6000 rev/min marked on the cutter", STOP, {"marked speed": "6000"}
    ),
    Provocation("The feed to type is", NOTE),
    # At the wall a bore of 18 is cut 18/6 times as fast as the axis of a cutter of 12 goes.
    Provocation(
        "7200 mm/min at the wall: 1.19 times what was meant",
        LOOK,
        {"bore diameter": "18 mm", "typed instead": "2400"},
    ),
    Provocation(
        "18000 mm/min at the wall: 2.98 times what was meant",
        STOP,
        {"bore diameter": "18 mm", "typed instead": "6000"},
    ),
    Provocation(
        "The spindle speed is 2000 rev/min; usual in plywood is", LOOK, {"spindle speed": "2000"}
    ),
]

# A rounding-over cutter of R 6.35 that begins at 12.72, its stub 4.8 by 5; plate 20.
POINTS = """height [mm]; diameter [mm]
5.5; 12.73
6.0; 12.87
6.5; 13.04
7.0; 13.35
7.5; 13.74
8.0; 14.52
8.5; 14.83
9.0; 15.52
9.5; 16.44
10.0; 17.60
10.5; 19.11
11.0; 21.24
11.5; 25.38
12.5; 25.40"""
FEW = "\n".join(POINTS.split("\n")[:6])
TRACED = {"measured as": "traced points"}
FORM_CUTTERS = [
    Provocation("At 42000 rev/min the largest diameter", STOP, {"spindle speed": "42000"}),
    Provocation("what the spindle turns at is not given", NOTE, {"spindle speed": ""}),
    Provocation("The bearing is off, which held the cut", LOOK),
    Provocation(
        "The measurements disagree by more than they may be off",
        LOOK,
        {"largest diameter": "26.10 mm"},
    ),
    Provocation(
        "A traced point lies on no part of the cutter: row 7",
        LOOK,
        {**TRACED, "points": POINTS},
    ),
    Provocation(
        "From this trace the tangent setting is known only within",
        LOOK,
        {**TRACED, "points": FEW},
    ),
    Provocation(
        "across, runs 0.380 mm into the stock on the wall",
        STOP,
        {"stub diameter": "12.7 mm", "stock on wall": "0.38 mm"},
    ),
    Provocation("with any runout it marks it", NOTE, {"stub diameter": "12.7 mm"}),
    Provocation("a step of 0.050 mm down from the face", LOOK, {"error of depth": "PageUp"}),
    Provocation("short of tangent to the face", LOOK, {"error of depth": "PageDown"}),
    Provocation(
        "the shoulder's height is not given, so whether its top stays above the face",
        NOTE,
        {"shoulder height": "", "error of depth": "PageUp"},
    ),
    Provocation(
        "The top of the shoulder is",
        STOP,
        {"shoulder height": "0.5 mm", "find": "offset", "depth": "13 mm"},
    ),
    Provocation(
        "The plate is 6.000 mm and the cut leaves nothing of its wall",
        LOOK,
        {"plate thickness": "6 mm"},
    ),
    Provocation("below the plate, into what it lies on", LOOK, {"plate thickness": "10 mm"}),
    Provocation(
        "The cuts from both faces meet before the wall",
        LOOK,
        {"worked from": "both faces alike", "plate thickness": "12 mm"},
    ),
]

# The bearing plate of the demo: 240 by 180 by 19.8.
NUT = """
[[fastener]]
name = "nut"
kind = "hexagon nut"
standard = "ISO 4032"
size = "M8"

[[cutter]]
name = "relief"
{relief}

[[feature]]
name = "nut pocket"
kind = "counterbore"
face = "B"
fastener = "nut"
cutter = "5 mm end mill"
hole_cutter = "5 mm end mill"
relief_cutter = "relief"
recess = {recess}
at = [50, 150]
"""
MILL = 'kind = "end mill"\ndiameter = {}\nflutes = 2\ncutting_length = 12\nreach = 12'
DRILL = """
[[cutter]]
name = "8 mm drill"
kind = "drill"
diameter = 8
length = 22
spindle_speed = 6000
feed = 300

[[feature]]
name = "vent"
kind = "hole"
diameter = 8
at = [60, 150]
"""


def bores(diameter: float, *places: tuple[float, float], depth: str = "", face: str = "A") -> str:
    """Bores by themselves, one to a place."""
    deep = f"depth = {depth}\n" if depth else ""
    return "".join(
        f'[[feature]]\nname = "bore {number}"\nkind = "bore"\nface = "{face}"\n'
        f'diameter = {diameter}\n{deep}cutter = "5 mm end mill"\nat = [{x}, {y}]\n'
        for number, (x, y) in enumerate(places, start=1)
    )


PARTS = [
    Edit("Perhaps note is meant", LOOK, {'note = "chamfered"': 'notes = "chamfered"'}),
    Edit(
        "'13 mm end mill' is not in the drawer",
        STOP,
        {'cutter = "12 mm end mill"': 'cutter = "13 mm end mill"'},
    ),
    Edit("bearing bore (line 124) cannot be made", STOP, {"diameter = 47\n": "diameter = 10\n"}),
    Edit(
        "As corrected by what was measured: At the face the cut needs 12.900 mm",
        STOP,
        {"circle_diameter = 3.4\n": "circle_diameter = 3.4\nmeasured = {top_diameter = 8.9}\n"},
    ),
    Edit(
        "bearing bore: what was measured changes the",
        LOOK,
        {"diameter = 47\n": "diameter = 47\nmeasured = {bore_diameter = 45.8}\n"},
    ),
    Edit(
        "more than a machine is ever off by: a slip",
        STOP,
        {"diameter = 47\n": "diameter = 47\nmeasured = {bore_diameter = 4.702}\n"},
    ),
    # (12.6 - 3.4 - 0.2)/2.
    Edit("goes 4.500 mm deep and it reaches 4.000 mm", STOP, {"reach = 20\n": "reach = 4\n"}),
    # 19.8 + 0.5, and the point's 4/tan 59°.
    Edit("goes 22.703 mm deep and its flutes are 22.000 mm long", STOP, more=DRILL),
    Edit(
        "goes straight down in the corners, and has no edge in its middle",
        STOP,
        more=NUT.format(relief=f"{MILL.format(2)}\ncentre_cutting = false", recess=2),
    ),
    # The nut is 6.8 high; the point of the drill is 1.5/tan 59° high.
    Edit(
        "goes 19.901 mm deep in the corners, through the plate of 19.800 mm",
        STOP,
        more=NUT.format(relief='kind = "drill"\ndiameter = 3\nlength = 30', recess=12.2),
    ),
    Edit(
        "12 mm end mill: 18500 rev/min is more than the 18000 rev/min marked on it",
        STOP,
        {"spindle_speed = 14000\nchip_load": "spindle_speed = 18500\nchip_load"},
    ),
    Edit(
        "90 degree vee: 5000 rev/min is asked for, and the spindle turns at least 6000 rev/min",
        STOP,
        {"spindle_speed = 12000": "spindle_speed = 5000"},
    ),
    Edit(
        "cutter: 16000 rev/min is asked for, and the spindle turns at most 15000 rev/min",
        STOP,
        {'fastest = "18000 rpm"': 'fastest = "15000 rpm"'},
    ),
    Edit("90 degree vee: its axis feed is not told", NOTE, {'feed = "600 mm/min" ': ""}),
    Edit(
        "90 degree vee: The cutter's reach is not given, so whether it is long enough for cover "
        "screws (4.500 mm)",
        NOTE,
        {"reach = 20\n": ""},
    ),
    Edit(
        "12 mm end mill: The length of the cutter's reach is not given, so whether it is long "
        "enough for bearing bore (20.300 mm)",
        NOTE,
        {"cutting_length = 32\nreach = 45\n": "cutting_length = 32\n"},
    ),
    Edit(
        "8 mm drill: The length of the drill's flutes is not given, so whether it is long enough "
        "for vent (22.703 mm)",
        NOTE,
        more=DRILL.replace("length = 22\n", ""),
    ),
    Edit(
        "The fastest that 90 degree vee may turn is not told",
        NOTE,
        {'reach = 20\nmaximum_spindle_speed = "18000 rpm"\n': "reach = 20\n"},
    ),
    Edit(
        "bearing bore: only 0.100 mm of the plate is left",
        LOOK,
        {"finishing = 0.3\n": "finishing = 0.3\ndepth = 19.7\n"},
    ),
    # Of four rows of five, 7 apart, 16 + 15 pairs leave 1 and 24 leave 7√2 - 6; 40 are told.
    Edit(
        "15 more pairs of features stand as near as that; the nearest of them leave 3.899 mm",
        LOOK,
        more=bores(6, *((50 + 7 * (step % 5), 130 + 7 * (step // 5)) for step in range(20))),
    ),
    # Ten have 45 pairs. The farthest are 0.9 apart, the five next to those 0.8 and 0.7.
    Edit(
        "5 more pairs of features stand as near as that; the nearest of them run 5.300 mm into",
        STOP,
        more=bores(6, *((60 + 0.1 * step, 150) for step in range(10))),
    ),
    Edit(
        "5 more pairs of features on one axis do not go together",
        STOP,
        more=bores(6, *[(60, 150)] * 10),
    ),
    Edit(
        "is what registers the part, and does not stay as it is",
        STOP,
        more=bores(25, (20, 90)),
    ),
    Edit("are on one axis and do not go together", STOP, more=bores(10, (120, 155))),
    Edit("are the same hole of 47.000 mm, cut twice", STOP, more=bores(47, (120, 90))),
    Edit(
        "both go through on one axis, with holes of 47.000 mm and 20.000 mm",
        LOOK,
        more=bores(20, (120, 90)),
    ),
    Edit(
        "leave 1.800 mm of plate between them",
        LOOK,
        more=bores(20, (60, 150), depth="10")
        + bores(20, (60, 150), depth="8", face="B").replace("bore 1", "bore 2"),
    ),
    Edit(
        "cover screws and leg T-nuts leave 3.200 mm of plate between them",
        LOOK,
        {"[120, 155]": "[120, 150]"},
    ),
    Edit(
        "cover screws and leg T-nuts run 2.000 mm into each other", STOP, {"[40, 35]": "[95, 65]"}
    ),
    Edit(
        "upper edge and lower edge all run round the edge of face A",
        LOOK,
        {'face = "B"\ncutter = "45': 'face = "A"\ncutter = "45'},
    ),
    Edit(
        "upper edge and lower edge: The cuts from both faces meet",
        LOOK,
        {"thickness = 19.8": "thickness = 7"},
    ),
    Edit(
        "dowel holes breaks out of the plate's left edge by 2.010 mm",
        STOP,
        {"[[20, 90], ": "[[2, 90], "},
    ),
    Edit(
        "dowel holes leaves 3.990 mm of plate to the left edge",
        LOOK,
        {"[[20, 90], ": "[[8, 90], "},
    ),
    Edit(
        "The part is turned over and nothing registers it",
        LOOK,
        {'registers = "dowel holes"\npin_diameter = 7.98 ': ""},
    ),
    Edit(
        "dowel holes registers the part when it is turned over, and is itself cut from face A",
        STOP,
        {'first = "A"': 'first = "B"'},
    ),
    Edit(
        "dowel holes: a single hole, and the part turns about its pin",
        STOP,
        {"[[20, 90], [220, 90]]": "[20, 90]"},
    ),
    Edit(
        "the holes are 3.000 mm deep and the pins 7.980 mm in diameter",
        STOP,
        {"diameter = 8.02\n": "diameter = 8.02\ndepth = 3\n"},
    ),
    Edit(
        "the holes are 6.000 mm deep and the pins 7.980 mm in diameter",
        LOOK,
        {"diameter = 8.02\n": "diameter = 8.02\ndepth = 6\n"},
    ),
    Edit("On its pins the part can be 0.020 mm off", NOTE),
    Edit(
        "On its pins the part can be 0.260 mm off",
        LOOK,
        {"pin_diameter = 7.98": "pin_diameter = 7.5"},
    ),
    Edit(
        "hold-down screw, left is there while face B is up, and nothing is cut from that face",
        NOTE,
        {
            'face = "B"\nfastener': 'face = "A"\nfastener',
            'face = "B"\ncutter = "45': 'face = "A"\ncutter = "45',
            'face = "A"\nat = [12, 14]': 'face = "B"\nat = [12, 14]',
        },
    ),
    Edit("into hold-down screw, left", STOP, {"at = [12, 14]": "at = [26, 90]"}),
    # What the panels of the single features do not ask for.
    Edit(
        "The middle of the cutter, 5.000 mm without an edge, never leaves the bore's axis",
        STOP,
        {
            "diameter = 12\nflutes = 2\n": "diameter = 12\nflutes = 2\ncentre_cutting = false\n"
            "dead_diameter = 5\n",
            "diameter = 47\n": "diameter = 16\n",
        },
    ),
    Edit(
        "the shank is 0.500 mm wider on the radius and runs into the face",
        STOP,
        {
            "diameter = 5\nflutes = 1\ncutting_length = 22": "diameter = 5\nshank_diameter = 6\n"
            "flutes = 1\ncutting_length = 15"
        },
    ),
    Edit(
        "pocket was worked out for a cutter of 5.000 mm and this one is 6.000 mm",
        STOP,
        more=NUT.format(relief=MILL.format(6), recess=2),
    ),
    Edit(
        "The cutter's own arc is less than a quarter",
        NOTE,
        {'radius = "1/4 in"\n': 'radius = "1/4 in"\nend_angle = 70\n'},
    ),
]

OF_A_PANEL = {
    "01-countersinks.ipynb": COUNTERSINKS,
    "02-captured-nuts.ipynb": CAPTURED_NUTS,
    "03-helical-bores.ipynb": BORES,
    "04-form-cutters.ipynb": FORM_CUTTERS,
}
