"""Strips as typed: corners, a start and a heading, or polygons; what makes no strip is refused with the reason."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.files.text_tables import read_all
from analytics.points.metres import Origin
from analytics.points.outlines import from_corners, from_start, overlap_m
from analytics.points.strips import checked_strips, read_strips_file

HEADER = "crop_year,field,plot,method,cut_width_m"
SQUARE = [(0, 0), (10, 0), (10, 30), (0, 30)]


def strips_of(text: str, origin: Origin | None = None):
    return checked_strips(read_all([("strips.csv", text.encode())]).tables[0], origin)


def test_corners_in_either_turn_and_with_spare_ones_make_the_same_outline():
    wanted = from_corners(SQUARE, "A")
    assert from_corners(SQUARE[::-1], "A").area_m2 == wanted.area_m2 == 300
    assert from_corners([*SQUARE, SQUARE[0]], "A") == wanted
    assert from_corners([(0, 0), (5, 0.1), (10, 0), (10, 30), (0, 30)], "A") == wanted
    assert (wanted.width_m, wanted.heading, wanted.middle) == (10, 0, (5, 15))


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        (SQUARE[:3], "3 corners given; allowed four"),
        ([(0, 0), (10, 0), (15, 15), (10, 30), (0, 30)], "5 corners given; allowed four"),
        ([(0, 0), (10, 30), (10, 0), (0, 30)], "make no strip"),
        ([(0, 0), (10, 0), (3, 5), (0, 30)], "make no strip"),
    ],
)
def test_what_makes_no_strip_is_refused(corners, says):
    with pytest.raises(BadInput, match=says):
        from_corners(corners, "A")


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 360), st.floats(20, 900), st.floats(3, 19))
def test_a_strip_drawn_from_its_start_has_the_size_and_heading_given(heading, length, width):
    outline = from_start((100.0, -50.0), heading_deg=heading, length_m=length, width_m=width, where="A")
    assert outline.area_m2 == pytest.approx(length * width)
    assert outline.width_m == pytest.approx(width)
    assert (outline.heading - heading + 90) % 180 == pytest.approx(90)


def test_overlap_is_how_deep_two_run_into_each_other():
    one = from_corners(SQUARE, "A")
    beside = from_corners([(east + 10, north) for east, north in SQUARE], "B")
    into = from_corners([(east + 8, north) for east, north in SQUARE], "C")
    assert (overlap_m(one, beside), overlap_m(one, into), overlap_m(into, one)) == (0, 2, 2)


def test_the_three_ways_of_drawing():
    found = strips_of(
        f"{HEADER},corners,start,heading_deg,length_m,width_m,passes,dockage_pct\n"
        "2025,North,a,standing,12.2,0 0; 10 0; 10 30; 0 30,,,,,,1.5\n"
        "2025,North,b,windrowed,9.1,,15 0,0,30,10,,\n"
        "2025,North,c,standing,12.2,,,,,,1-3 7,\n"
    )
    assert [strip.method for strip in found] == ["standing", "windrowed", "standing"]
    assert found[1].outline is not None
    assert found[1].outline == from_corners([(10, 0), (20, 0), (20, 30), (10, 30)], "b")
    assert (found[2].outline, found[2].passes) == (None, {1, 2, 3, 7})
    assert (found[0].dockage_pct, found[1].dockage_pct) == (1.5, None)


def test_polygons_of_a_geojson_file_are_strips_in_degrees(tmp_path):
    origin = Origin(longitude=-107.25, latitude=52.61)
    ring = [list(origin.degrees(*corner)) for corner in [*SQUARE, SQUARE[0]]]
    properties = {"crop_year": 2025, "Field": "North", "plot": "a", "method": "standing", "cut_width_m": 12.2}
    feature = {"type": "Feature", "properties": properties, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    file = tmp_path / "strips.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    (strip,) = read_strips_file(file, origin)
    assert strip.outline is not None
    assert strip.outline.area_m2 == pytest.approx(300, abs=0.01)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("2025,North,a,standing,12.2,,", "allowed four corners, or a start with"),
        ("2025,North,a,standing,12.2,0 0; 9 0; 9 9; 0 9,1-3", "allowed four corners, or a start with"),
        ("2025,North,a,standing,,,1", "cut_width_m"),
        ("2025,North,a,mown,12.2,,1", "allowed standing, windrowed"),
        ("2025,North,a,standing,12.2,,1-x", "passes: 1-x given"),
        ("2025,North,a,standing,12.2,0 0; 9 0; 9 nine; 0 9,", "9 nine given; allowed east and north in metres"),
        ("2025,North,a,standing,12.2,,1-3\n2025,South,b,standing,12.2,,4", "allowed one field and crop year"),
        ("2025,North,a,standing,12.2,,1-3\n2025,North,b,standing,12.2,,3", "pass 3 given to a and b"),
        (
            "2025,North,a,standing,12.2,0 0; 9 0; 9 30; 0 30,\n2025,North,b,windrowed,9,7 0; 16 0; 16 30; 7 30,",
            "a and b lie 2.0 m over each other",
        ),
    ],
)
def test_a_fault_is_told_with_the_place_and_what_is_allowed(rows, says):
    with pytest.raises(BadInput, match=says):
        strips_of(f"{HEADER},corners,passes\n{rows}\n")


def test_exchanged_degrees_are_told_as_such():
    with pytest.raises(BadInput, match=r"longitude first, near -107.25 52.61"):
        strips_of(
            f"{HEADER},start,heading_deg,length_m,width_m\n2025,North,a,standing,9,52.61 -107.25,0,30,9\n",
            Origin(longitude=-107.25, latitude=52.61),
        )


@pytest.mark.parametrize(
    "geometry", [None, 5, {"type": "Polygon"}, {"type": "Polygon", "coordinates": [[5]]}, {"type": "Point"}]
)
def test_what_is_no_polygon_is_no_strip(tmp_path, geometry):
    file = tmp_path / "strips.geojson"
    file.write_text(json.dumps({"features": [{"type": "Feature", "properties": {}, "geometry": geometry}]}))
    with pytest.raises(BadInput, match="allowed polygons, one a strip"):
        read_strips_file(file, None)
    file.write_text('{"features": []}')
    with pytest.raises(BadInput, match="no polygon in it"):
        read_strips_file(file, None)


def test_no_row_is_no_strip():
    with pytest.raises(BadInput, match="no strip in it"):
        strips_of(f"{HEADER},passes\n")
