"""A part as DXF, read back by the library from the file."""

import io
import math

import ezdxf
import numpy as np
import pytest

from holecalc import demo, part, sizes
from holecalc.export import dxf
from holecalc.plan import plan


@pytest.fixture(params=demo.names(), name="made")
def _made(request):
    return part.loads(demo.text(request.param), request.param)


@pytest.fixture(name="space")
def _space(made, tmp_path):
    path = dxf.write(made, tmp_path / "part.dxf")
    document = ezdxf.readfile(path)
    assert not document.audit().errors
    assert document.header["$INSUNITS"] == {"mm": 4, "in": 1}[made.unit]
    return document.modelspace()


def unit(made):
    return 25.4 if made.unit == "in" else 1.0


def test_every_operation_has_its_layer_its_centres_and_its_circles(made, space):
    for operation in plan(made).operations:
        layer = dxf.layer_of(operation)
        assert operation.feature.name in layer
        points = space.query(f'POINT[layer=="{layer}"]')
        circles = space.query(f'CIRCLE[layer=="{layer}"]')
        assert len(points) == len(operation.xy)
        assert len(circles) == len(operation.xy) * len(operation.circles)
        got = sorted((round(p.dxf.location.x, 6), round(p.dxf.location.y, 6)) for p in points)
        wanted = sorted(map(tuple, np.round(operation.xy / unit(made), 6).tolist()))
        assert np.array(got) == pytest.approx(np.array(wanted))
        for circle in circles:
            nearest = min(abs(2 * circle.dxf.radius * unit(made) - d) for d in operation.circles)
            assert nearest < 1e-9


def test_layers_are_plain_words(space):
    names = {entity.dxf.layer for entity in space}
    assert "setup 1 face A up - plate" in names or "setup 1 face B up - plate" in names
    assert all(len(name) <= 255 for name in names)
    assert any("operation 1, " in name for name in names)


def test_the_plate_is_as_large_as_it_is(made, space):
    plates = [each for each in space.query("LWPOLYLINE") if each.dxf.layer.endswith("- plate")]
    assert len(plates) == len(made.setups)
    for plate in plates:
        assert plate.closed
        corners = np.array([(x, y) for x, y, *_ in plate])
        assert corners.min(axis=0).tolist() == [0, 0]
        size = [sizes.mm(made.plate.length), sizes.mm(made.plate.width)]
        assert corners.max(axis=0) * unit(made) == pytest.approx(size)


def run_round(path):
    """The length of a polyline with the arcs of its bulges."""
    total, points = 0.0, list(path.get_points("xyb"))
    for (x, y, bulge), (nx, ny, _) in zip(points, [*points[1:], points[0]], strict=True):
        chord = math.hypot(nx - x, ny - y)
        sweep = 4 * math.atan(bulge)
        total += chord if not bulge else chord * sweep / (2 * math.sin(sweep / 2))
    return total


def test_an_edge_runs_at_the_offset_of_each_pass_all_round():
    """Its length is that of the straight sides and one circle of the offset."""
    made = part.loads(demo.text("bearing-plate"))
    space = dxf.drawing(made).modelspace()
    paths = [each for each in space.query("LWPOLYLINE") if "upper edge" in each.dxf.layer]
    offsets = [3.857, 3.412, 3.2]
    for path, offset in zip(paths, offsets, strict=True):
        assert run_round(path) == pytest.approx(2 * (240 + 180) + 2 * math.pi * offset, abs=0.004)


NUT = """
part = "p"
unit = "mm"
[plate]
size = [100, 60]
thickness = 25
[turn]
about = "Y"
[[cutter]]
name = "2"
kind = "end mill"
diameter = 2
flutes = 2
[[cutter]]
name = "6"
kind = "end mill"
diameter = 6
flutes = 2
[[cutter]]
name = "drill"
kind = "drill"
diameter = 3
[[fastener]]
name = "nut"
kind = "{shape} nut"
across_flats = {across}
height = 10
thread = "M8"
[[feature]]
name = "n"
kind = "counterbore"
face = "B"
fastener = "nut"
cutter = "{cutter}"
hole_cutter = "6"
turned = {turned}
at = [30, 20]
"""


def pocket(**values):
    space = dxf.drawing(part.loads(NUT.format(**values))).modelspace()
    laps = [each for each in space.query("LWPOLYLINE") if "across flats" in each.dxf.layer]
    plunges = [each for each in space.query("POINT") if "relieved" in each.dxf.layer]
    circles = [each for each in space.query("CIRCLE") if "relieved" in each.dxf.layer]
    return laps, plunges, circles


def test_every_lap_of_a_square_is_drawn_as_it_lies():
    # 24.786 across with a cutter of 2: laps on 19.326, 21.056 and 22.786, by hand in test_plan.
    # Turned over about Y, X 30 of 100 becomes 70; a corner 10° from X becomes one 170° from it.
    laps, _, _ = pocket(shape="square", across=24, cutter="2", turned=10)
    for path, across in zip(laps, [19.326, 21.056, 22.786], strict=True):
        corners = np.array([(x - 70, y - 20) for x, y, *_ in path])
        assert np.hypot(*corners.T) == pytest.approx(across / math.sqrt(2), abs=1e-3)
        angles = np.degrees(np.arctan2(corners[:, 1], corners[:, 0])) % 90
        assert angles == pytest.approx(170 % 90)


def test_corners_that_are_relieved_are_points_and_no_circle_to_run_on():
    laps, plunges, circles = pocket(
        shape="hexagon", across=13, cutter='6"\nrelief_cutter = "drill', turned=0
    )
    assert len(laps) == 1
    assert circles == []
    # 13.2 across: its corners are 13.2/√3 = 7.621 out, and the drill's middle 1.5 less.
    away = [math.dist((p.dxf.location.x, p.dxf.location.y), (70, 20)) for p in plunges]
    assert away == pytest.approx([6.121] * 6, abs=1e-3)


def test_flats_are_those_of_the_hexagon_as_it_lies():
    made = part.loads(demo.text("table-insert"))
    space = dxf.drawing(made).modelspace()
    paths = [
        each
        for each in space.query("LWPOLYLINE")
        if "hexagon" in each.dxf.layer and "operation" in each.dxf.layer
    ]
    assert len(paths) == 2
    step = next(each.cut.work.step for each in plan(made).operations if "hexagon" in each.cut.what)
    across = (sizes.mm(step.across) - 3.175) / 25.4
    corners = np.array([(x, y) for x, y, *_ in paths[0]])
    assert np.hypot(*(corners - corners.mean(axis=0)).T) == pytest.approx(across / math.sqrt(3))


def test_a_name_that_no_layer_may_have_is_mended():
    text = demo.text("bearing-plate").replace('"bearing bore"', '"a<b>|c*:=\\\\?;/`"')
    document = dxf.drawing(part.loads(text))
    stream = io.StringIO()
    document.write(stream)
    stream.seek(0)
    names = {layer.dxf.name for layer in ezdxf.read(stream).layers}
    assert any("bore 47.00 mm, a b c" in name for name in names)


def test_only_a_drawing_made_here_is_written_over(tmp_path):
    made = part.loads(demo.text("table-insert"))
    path = tmp_path / "a.dxf"
    dxf.write(made, path)
    dxf.write(made, path)
    assert ezdxf.readfile(path).modelspace().query("CIRCLE")
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(OSError, match="not made here"):
        dxf.write(made, path)
    assert path.read_text(encoding="utf-8") == "mine"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.dxf"]
