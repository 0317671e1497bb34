"""A file of points, whatever its columns are called, becomes the same numbers; what cannot be read is counted."""

import json
import struct
from pathlib import Path

import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from analytics.errors import BadInput
from analytics.points import reading
from analytics.points.geo_files import features, geojson_points
from analytics.points.metres import Origin

PLACES = [(-107.25, 52.61), (-107.2499, 52.6101), (-107.2498, 52.6102)]
TIMES = ["2025-09-14 17:05:00", "2025-09-14 17:05:01", "2025-09-14 17:05:03"]
FLOWS = [4.0, 5.0, 6.0]


def written(folder: Path, text: str, name: str = "points.csv") -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file


def read(file: Path, **how: bool) -> reading.PointFile:
    return reading.read_points(file, reading.guess(file), **how)


def csv(names: str = "Time,Longitude,Latitude,Flow (lb/s)", flows: list[object] = FLOWS) -> str:
    rows = [f"{time},{lon},{lat},{flow}" for time, (lon, lat), flow in zip(TIMES, PLACES, flows, strict=True)]
    return "\n".join([names, *rows]) + "\n"


@pytest.fixture
def csv_file(tmp_path: Path) -> Path:
    return written(tmp_path, csv())


def test_columns_are_guessed_by_their_names_with_their_units(tmp_path):
    file = written(tmp_path, "When,Lon,Lat,Yield wet (bu/ac),Swath width ft,Travelled in,Speed mph,Moisture %\n")
    match = reading.guess(file)
    assert match.columns == {
        "recorded_at": "when",
        "longitude": "lon",
        "latitude": "lat",
        "wet_kg_ha": "yield wet (bu/ac)",
        "width_m": "swath width ft",
        "distance_m": "travelled in",
        "speed_m_s": "speed mph",
        "grain_moisture_pct": "moisture %",
    }
    assert match.units == {"wet_kg_ha": "bu/ac", "width_m": "ft", "distance_m": "in", "speed_m_s": "mph"}


def test_a_dried_yield_is_not_taken_for_what_was_weighed(tmp_path):
    assert "wet_kg_ha" not in reading.guess(written(tmp_path, "Lon,Lat,Dry yield\n")).columns


def test_units_become_those_of_the_record(csv_file):
    assert read(csv_file).points["flow_kg_s"].to_list() == pytest.approx([flow * 0.45359237 for flow in FLOWS])


def test_metres_are_counted_from_the_middle_of_the_field(csv_file):
    found = read(csv_file)
    assert found.origin == Origin(longitude=-107.2499, latitude=52.6101)
    assert found.points["east_m"].to_list() == pytest.approx([-6.8, 0.0, 6.8], abs=0.1)
    assert found.points["north_m"].to_list() == pytest.approx([-11.1, 0.0, 11.1], abs=0.1)


@pytest.mark.parametrize(
    ("how", "seconds"),
    [
        ("2025-09-14T17:05:00Z", 1757869500),
        ("2025-09-14T11:05:00-06:00", 1757869500),
        ("2025-09-14T22:35:00+0530", 1757869500),
        ("2025-09-14 17:05:00.5", 1757869500.5),
        ("2025/09/14 17:05:00", 1757869500),
        ("1757869500", 1757869500),
    ],
)
def test_a_time_is_read_in_every_common_form(tmp_path, how, seconds):
    file = written(tmp_path, f"time,lon,lat,flow\n{how},-107.25,52.61,4\n")
    assert read(file).points["seconds"].to_list() == [seconds]


def test_a_time_that_ends_in_z_is_utc_whatever_is_said(tmp_path, csv_file):
    assert (read(csv_file).is_utc, read(csv_file, is_utc=True).is_utc) == (False, True)
    zoned = written(tmp_path, "time,lon,lat,flow\n2025-09-14T17:05:00Z,-107.25,52.61,4\n", "zoned.csv")
    assert read(zoned).is_utc


def test_rows_without_a_place_or_grain_are_counted_and_left_out(tmp_path):
    found = read(written(tmp_path, csv(flows=[4.0, "", "n/a"])))
    assert (found.rows, found.unreadable, found.points.height) == (3, 2, 1)


def test_a_decimal_comma_is_one_between_semicolons(tmp_path):
    text = csv().replace(",", ";").replace(".", ",")
    assert read(written(tmp_path, text)).points["flow_kg_s"].to_list() == pytest.approx(
        [1.8143695, 2.2679619, 2.7215543]
    )


def test_a_comma_beside_numbers_with_points_is_never_taken_for_a_decimal_one(tmp_path):
    """1,234 lb/s read as 1.234 would be a thousandth."""
    text = csv(flows=["1,234", 5.5, 6.5]).replace(",", ";").replace("1;234", "1,234")
    found = read(written(tmp_path, text))
    assert (found.rows, found.unreadable) == (3, 1)


def test_text_of_two_bytes_a_letter_is_told_how_to_be_saved(tmp_path):
    for order in ("utf-16-le", "utf-16-be"):
        (tmp_path / "points.csv").write_bytes(("\ufeff" + csv()).encode(order))
        with pytest.raises(BadInput, match="Save it again as CSV UTF-8"):
            read(tmp_path / "points.csv")


def test_points_in_metres_have_no_origin(tmp_path):
    found = read(written(tmp_path, "easting,northing,mass\n400012.5,5800001.25,3\n400014,5800003,4\n"))
    assert (found.origin, found.has_time) == (None, False)
    assert found.points.select("east_m", "north_m").rows() == [(400012.5, 5800001.25), (400014.0, 5800003.0)]


def test_geojson_wkt_and_geoparquet_say_the_same_as_a_csv(tmp_path, csv_file):
    wanted = read(csv_file).points
    rows = list(zip(TIMES, PLACES, FLOWS, strict=True))
    listed = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": list(place)},
            "properties": {"time": time, "Flow (lb/s)": flow},
        }
        for time, place, flow in rows
    ]
    as_json = written(tmp_path, json.dumps({"type": "FeatureCollection", "features": listed}), "points.geojson")
    lines = [f"{time};POINT ({place[0]} {place[1]});{flow}" for time, place, flow in rows]
    as_wkt = written(tmp_path, "\n".join(["time|geometry|flow lb", *lines]).replace(";", "|"), "wkt.txt")
    as_parquet = tmp_path / "points.parquet"
    write_geoparquet(as_parquet, crs=None)
    for file in (as_json, as_wkt, as_parquet):
        found = read(file).points.select(wanted.columns)
        assert found.drop("machine").equals(wanted.drop("machine")), file.name


def write_geoparquet(file: Path, *, crs: object) -> None:
    frame = pl.DataFrame(
        {
            "time": TIMES,
            "Flow (lb/s)": FLOWS,
            "geometry": [struct.pack("<BIdd", 1, 1, lon, lat) for lon, lat in PLACES],
        }
    )
    about = {"version": "1.0.0", "primary_column": "geometry", "columns": {"geometry": {"encoding": "WKB", "crs": crs}}}
    pq.write_table(frame.to_arrow().replace_schema_metadata({"geo": json.dumps(about)}), file)


def test_geoparquet_in_another_projection_is_refused(tmp_path):
    write_geoparquet(tmp_path / "p.parquet", crs={"id": {"authority": "EPSG", "code": 32613}})
    with pytest.raises(BadInput, match=r"in EPSG:32613; allowed longitude and latitude"):
        reading.scan(tmp_path / "p.parquet")


def test_features_are_read_piece_by_piece_also_where_a_piece_ends_within_one(tmp_path, monkeypatch):
    monkeypatch.setattr("analytics.points.geo_files.CHUNK_LETTERS", 40)
    listed = [{"type": "Feature", "properties": {"n": at}} for at in range(25)]
    file = written(tmp_path, json.dumps({"type": "FeatureCollection", "features": listed}), "f.geojson")
    assert [feature["properties"]["n"] for feature in features(file)] == list(range(25))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("time,lat,flow\n1,2,3\n", "not matched yet: longitude and latitude"),
        ("lon,lat\n1,2\n", "not matched yet: the grain"),
        ("lon,lat,wet yield\n1,2,3\n", "the width that the monitor reckoned its yield with"),
        ("lon,lat,flow\n1,2,3\n", "date and time of each point"),
        ("lon,lat,mass\nx,y,z\n", "none of 1 rows has a place and grain"),
        ("lon,lat,mass\n-107.25,52.6,1\n-107.25,52.6,1\n0,0,1\n", "more than 30 km from the others"),
        ("lon,LON,mass\n1,2,3\n", "two columns are called 'lon'"),
        ("", "the first row is blank"),
    ],
)
def test_what_cannot_be_read_is_told_with_what_to_do(tmp_path, text, says):
    file = written(tmp_path, text)
    with pytest.raises(BadInput, match=says):
        read(file)


def test_more_points_than_memory_is_meant_for_are_refused(csv_file, monkeypatch):
    monkeypatch.setattr("analytics.points.reading.MOST_POINTS", 2)
    with pytest.raises(BadInput, match=r"3 points given; allowed 2 at a time\. Bring in field by field"):
        read(csv_file)


DEEP = '{"a":' * 100_000 + "1" + "}" * 100_000
POINT = '"geometry": {"type": "Point", "coordinates": [5, 6]}'


def test_a_broken_collection_of_features_is_refused(tmp_path):
    for text in ("[]", '{"features": [1]}', '{"features": [{"a": 1}, {"b"', f'{{"features": [{DEEP}]}}'):
        with pytest.raises(BadInput):
            list(features(written(tmp_path, text, "f.geojson")))


@pytest.mark.parametrize(
    "feature",
    [
        f'{{"properties": [1], {POINT}}}',
        f'{{"properties": "x", {POINT}}}',
        f'{{"properties": {{"a": "\\ud800"}}, {POINT}}}',
        f'{{"properties": {{"\\ud800": 1}}, {POINT}}}',
        f'{{"geometry": 5}}, {{{POINT}}}',
        f'{{"geometry": {{"type": "Point", "coordinates": 5}}}}, {{{POINT}}}',
    ],
)
def test_a_point_stays_one_whatever_stands_beside_it(tmp_path, feature):
    file = written(tmp_path, f'{{"features": [{feature}]}}', "f.geojson")
    assert geojson_points(file).select("longitude", "latitude").rows() == [("5", "6")]


@pytest.mark.parametrize("told", [b"no JSON", b"[" * 100_000, b"[]", b'{"columns": [], "primary_column": 5}'])
def test_geoparquet_that_says_nonsense_of_its_places_is_refused_or_read_without(tmp_path, told):
    rows = pa.table({"yield": [1.0]}).replace_schema_metadata({b"geo": told})
    pq.write_table(rows, tmp_path / "p.parquet")
    with pytest.raises(BadInput, match=r"no JSON|a column that is not there"):
        reading.scan(tmp_path / "p.parquet")
