"""A cutter's profile as DXF and CSV, read back."""

import csv
import io
import math

import ezdxf
import numpy as np
import pytest
from ezdxf.math import bulge_to_arc

from holecalc.export import form_profile
from holecalc.form_cutter import Arc, FormCutter

CUTTERS = {
    shape: FormCutter(
        shape,
        begin_diameter="12.7 mm",
        stub_diameter="4.8 mm",
        stub_height="5 mm",
        shoulder_height="1 mm",
        shank_diameter="8 mm",
        **(
            {"flank_angle": 45, "arc_height": "6 mm"}
            if shape == "straight"
            else {"radius": "6.35 mm"}
        ),
    )
    for shape in ("concave", "convex", "straight")
}
INCH = FormCutter("concave", begin_diameter="1/2 in", radius="1/4 in")


def read_back(profile, path):
    form_profile.write_dxf(profile, path)
    drawing = ezdxf.readfile(path)
    assert not drawing.audit().errors
    (polyline,) = drawing.modelspace()
    assert polyline.dxftype() == "LWPOLYLINE"
    assert polyline.dxf.layer == "PROFILE"
    return drawing, polyline


@pytest.mark.parametrize("shape", CUTTERS)
def test_dxf_holds_the_profile_as_one_closed_polyline(shape, tmp_path):
    profile = CUTTERS[shape].profile()
    _, polyline = read_back(profile, tmp_path / "cutter.dxf")
    assert polyline.closed
    vertices = list(polyline.get_points("xyb"))
    assert len(vertices) == len(profile)
    for (x, y, bulge), segment in zip(vertices, profile, strict=True):
        assert (x, y) == pytest.approx(segment.start, abs=1e-9)
        if isinstance(segment, Arc):
            centre, _, _, radius = bulge_to_arc(segment.start, segment.end, bulge)
            assert (centre.x, centre.y) == pytest.approx(segment.centre)
            assert radius == pytest.approx(segment.radius)
        else:
            assert bulge == 0


@pytest.mark.parametrize("shape", CUTTERS)
def test_dxf_arcs_bend_the_right_way(shape, tmp_path):
    """The area that ezdxf draws is the profile's: a bulge of the wrong sign would miss it."""
    profile = CUTTERS[shape].profile()
    _, polyline = read_back(profile, tmp_path / "cutter.dxf")
    points = np.array([point.vec2 for point in ezdxf.path.make_path(polyline).flattening(1e-4)])
    x, y = points.T
    area = abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2
    assert area == pytest.approx(profile.area, rel=1e-3)


@pytest.mark.parametrize(
    ("cutter", "code", "metric", "radius"),
    [(CUTTERS["concave"], 4, 1, 6.35), (INCH, 1, 0, 0.25)],
    ids=["mm", "in"],
)
def test_dxf_is_in_the_persons_unit(cutter, code, metric, radius, tmp_path):
    drawing, polyline = read_back(cutter.profile(), tmp_path / "cutter.dxf")
    assert drawing.header["$INSUNITS"] == code
    assert drawing.header["$MEASUREMENT"] == metric
    (arc,) = (entity for entity in polyline.virtual_entities() if entity.dxftype() == "ARC")
    assert arc.dxf.radius == pytest.approx(radius)


def rows_of(profile):
    return list(csv.DictReader(io.StringIO(form_profile.csv_text(profile))))


@pytest.mark.parametrize("shape", CUTTERS)
def test_csv_read_back_is_the_profile(shape, tmp_path):
    profile = CUTTERS[shape].profile()
    path = form_profile.write_csv(profile, tmp_path / "cutter.csv")
    assert path.read_bytes() == form_profile.csv_text(profile).encode()
    for row, segment in zip(rows_of(profile), profile, strict=True):
        assert row["part"] == segment.part
        start = float(row["start_radius_mm"]), float(row["start_height_mm"])
        end = float(row["end_radius_mm"]), float(row["end_height_mm"])
        assert start == pytest.approx(segment.start, abs=1e-5)
        assert end == pytest.approx(segment.end, abs=1e-5)
        assert row["kind"] == ("arc" if isinstance(segment, Arc) else "line")
        if isinstance(segment, Arc):
            centre = float(row["centre_radius_mm"]), float(row["centre_height_mm"])
            assert math.dist(start, centre) == pytest.approx(float(row["arc_radius_mm"]), abs=2e-5)
        else:
            assert row["arc_radius_mm"] == row["centre_radius_mm"] == ""


def test_csv_names_its_unit_and_writes_no_minus_nothing():
    text = form_profile.csv_text(INCH.profile())
    assert "arc_radius_in" in text.splitlines()[0]
    assert rows_of(INCH.profile())[1]["arc_radius_in"] == "0.2500000"
    assert "-0.0" not in text


def test_a_unit_that_dxf_has_no_code_for_becomes_millimetres(tmp_path):
    thou = FormCutter("concave", begin_diameter="500 thou", radius="250 thou")
    drawing, _ = read_back(thou.profile(), tmp_path / "cutter.dxf")
    assert drawing.header["$INSUNITS"] == 4
    assert "start_radius_mm" in form_profile.csv_text(thou.profile())


def test_a_place_that_cannot_be_written_is_an_os_error(tmp_path):
    for write in (form_profile.write_dxf, form_profile.write_csv):
        with pytest.raises(OSError, match="missing"):
            write(INCH.profile(), tmp_path / "missing" / "cutter")
