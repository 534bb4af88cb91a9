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


def test_an_edge_runs_at_its_offset_all_round():
    """Its length with the bulges' arcs is that of the straight sides and one circle."""
    made = part.loads(demo.text("bearing-plate"))
    space = dxf.drawing(made).modelspace()
    (path,) = (each for each in space.query("LWPOLYLINE") if "upper edge" in each.dxf.layer)
    total, points = 0.0, list(path.get_points("xyb"))
    for (x, y, bulge), (nx, ny, _) in zip(points, [*points[1:], points[0]], strict=True):
        chord = math.hypot(nx - x, ny - y)
        sweep = 4 * math.atan(bulge)
        total += chord if not bulge else chord * sweep / (2 * math.sin(sweep / 2))
    assert total == pytest.approx(2 * (240 + 180) + 2 * math.pi * 3.2)


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
