"""The strips of a field as somebody types them, or as a file of polygons: where, how cut, how wide a cut."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from analytics.errors import BadInput
from analytics.files.checking import check_table
from analytics.files.text_tables import TextTable, no_file_words, plain_name, read_all
from analytics.points.geo_files import features, object_in, texts_of
from analytics.points.metres import Origin
from analytics.points.outlines import MOST_OVERLAP_M, Corner, Outline, from_corners, from_start, overlap_m
from analytics.records.columns import CROP_YEAR, FIELD, METHODS, PLOT
from analytics.records.faults import Faults, fault_lines
from analytics.records.form import Column, Rule, Table

WAYS = ("corners", "start", "passes")

STRIPS = Table(
    name="strips",
    meaning="strips of one field, each cut one way",
    key=("crop_year", "field", "plot"),
    columns=(
        CROP_YEAR,
        FIELD,
        PLOT,
        Column(name="method", kind="choice", meaning="how it was cut", required=True, choices=METHODS),
        Column(
            name="cut_width_m",
            kind="number",
            meaning="width of one pass, m: of the header where it was cut standing, of the windrower's cut (never of "
            "the pick-up) where it was windrowed",
            required=True,
            low=1,
            high=60,
            usual_low=4,
            usual_high=16,
            remedy="Is it in metres? A foot is 0.3048 m.",
        ),
        Column(name="corners", kind="note", meaning="four corners, each longitude latitude, with ; between them"),
        Column(name="start", kind="text", meaning="middle of the short side where it begins: longitude latitude"),
        Column(name="heading_deg", kind="number", meaning="where it runs to, degrees from north", low=0, high=360),
        Column(name="length_m", kind="number", meaning="length, m", low=10, high=5000),
        Column(name="width_m", kind="number", meaning="width, m", low=2, high=1000),
        Column(name="passes", kind="text", meaning="numbers of the passes that it is made of: 1-4 7"),
        Column(name="dockage_pct", kind="number", meaning="dockage on the slip, percent", low=0, high=50),
        Column(
            name="certified_kg",
            kind="number",
            meaning="what a certified scale says the strip brought, kg, where it was weighed by itself",
            low=1,
            high=5_000_000,
        ),
    ),
    rules=(
        Rule(
            name="one_way_of_drawing",
            columns=WAYS,
            holds=pl.sum_horizontal(pl.col(name).is_not_null() for name in WAYS) == 1,
            allowed="four corners, or a start with heading_deg, length_m and width_m, or passes",
            remedy="Fill in one of the three.",
        ),
        Rule(
            name="start_is_whole",
            columns=("start", "heading_deg", "length_m", "width_m"),
            holds=pl.col("start").is_null()
            | pl.all_horizontal(pl.col("heading_deg", "length_m", "width_m").is_not_null()),
            allowed="heading_deg, length_m and width_m beside a start",
            remedy="Fill in all of them.",
        ),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One strip. It has an outline, or the numbers of its passes.

    cut_width_m : width of one pass as it was cut
    dockage_pct, certified_kg : null where not known
    """

    crop_year: int
    field: str
    plot: str
    method: str
    cut_width_m: float
    outline: Outline | None
    passes: frozenset[int]
    dockage_pct: float | None
    certified_kg: float | None


def read_strips_file(path: Path, origin: Origin | None) -> tuple[Strip, ...]:
    """The strips of a CSV, a workbook or a GeoJSON file; see read_strips. Raises BadInput."""
    if not path.is_file():
        raise BadInput(f"{no_file_words(path)}; allowed a CSV, an .xlsx or a GeoJSON file of strips.")
    if path.suffix.lower() in (".geojson", ".json"):
        return checked_strips(_polygons(path), origin)
    return checked_strips(read_all([(path.name, path.read_bytes())]).tables[0], origin)


def checked_strips(text: TextTable, origin: Origin | None) -> tuple[Strip, ...]:
    """The strips of a table of text, in its order.

    origin : that of the file of points; null where that is in metres, and then corners and starts are too
    Raises BadInput with every fault: a cell, a rule, an outline that is none, two fields, outlines that overlap.
    """
    faults, doubts = Faults(), Faults()
    blank = [column.name for column in STRIPS.columns if not column.required and column.name not in text.cells.columns]
    known = TextTable(
        name=STRIPS.name,
        label=text.label,
        cells=text.cells.select(
            *(name for name in text.cells.columns if name in STRIPS.column_names),
            *(pl.lit(None, dtype=pl.String).alias(name) for name in blank),
        ),
        rows=text.rows,
        is_whole=text.is_whole,
    )
    checked = check_table(STRIPS, known, faults, doubts, [])
    if faults.total:
        raise BadInput(fault_lines(faults.listed(), faults.total))
    if checked.frame.is_empty():
        raise BadInput(f"{text.label}: no strip in it; allowed a row a strip.")
    strips = tuple(_strip(row, text.label, origin) for row in checked.frame.iter_rows(named=True))
    places = sorted({(strip.field, strip.crop_year) for strip in strips})
    if len(places) > 1:
        named = " and ".join(f"{field}, {year}" for field, year in places[:3])
        raise BadInput(f"{text.label}: strips of {named} given; allowed one field and crop year for a file of points.")
    _refuse_overlaps(strips, text.label)
    return strips


def _strip(row: Mapping[str, object], label: str, origin: Origin | None) -> Strip:
    where = f"{label}, {row['plot']}"
    outline = None
    if row["corners"] is not None:
        outline = from_corners(_places(str(row["corners"]).split(";"), where, origin), where)
    elif row["start"] is not None:
        (start,) = _places([str(row["start"])], where, origin)
        size = {name: float(str(row[name])) for name in ("heading_deg", "length_m", "width_m")}
        outline = from_start(start, where=where, **size)
    return Strip(
        crop_year=int(str(row["crop_year"])),
        field=str(row["field"]),
        plot=str(row["plot"]),
        method=str(row["method"]),
        cut_width_m=float(str(row["cut_width_m"])),
        outline=outline,
        passes=_numbers(str(row["passes"]), where) if row["passes"] is not None else frozenset(),
        dockage_pct=None if row["dockage_pct"] is None else float(str(row["dockage_pct"])),
        certified_kg=None if row["certified_kg"] is None else float(str(row["certified_kg"])),
    )


def _places(texts: Sequence[str], where: str, origin: Origin | None) -> list[Corner]:
    """Pairs of numbers as metres; `texts` are "-106.01 52.2", a comma between them allowed."""
    found = []
    for text in filter(str.strip, texts):
        try:
            first, second = (float(number) for number in text.replace(",", " ").split())
        except ValueError:
            allowed = "east and north in metres" if origin is None else "longitude and latitude, as -106.0123 52.2345"
            raise BadInput(f"{where}: {text.strip()} given; allowed {allowed}, with a space between them.") from None
        found.append((first, second) if origin is None else _metres(first, second, where, origin))
    return found


def _metres(longitude: float, latitude: float, where: str, origin: Origin) -> Corner:
    try:
        east, north = origin.metres(pl.Series([longitude]).to_numpy(), pl.Series([latitude]).to_numpy())
    except BadInput as problem:
        raise BadInput(
            f"{where}: {longitude} {latitude} given; allowed a place in the field of the points, longitude first, near "
            f"{origin.longitude} {origin.latitude}."
        ) from problem
    return float(east[0]), float(north[0])


def _numbers(text: str, where: str) -> frozenset[int]:
    """Numbers of passes: "1-4 7" are 1, 2, 3, 4 and 7."""
    found: set[int] = set()
    for part in text.replace(",", " ").split():
        first, _, last = part.partition("-")
        if not first.isdecimal() or (last and not last.isdecimal()) or len(part) > 12:
            raise BadInput(f"{where}, passes: {part} given; allowed numbers as the list of passes has them, as 1-4 7.")
        found |= set(range(int(first), min(int(last or first), int(first) + 10_000) + 1))
    return frozenset(found)


def _polygons(path: Path) -> TextTable:
    """The polygons of a GeoJSON file as a table of strips: their properties, and the outer ring as corners."""
    rows = []
    for feature in features(path):
        geometry = object_in(feature, "geometry")
        try:
            ring = "; ".join(f"{place[0]!r} {place[1]!r}" for place in geometry["coordinates"][0])
        except (KeyError, IndexError, TypeError):
            ring = ""
        if geometry.get("type") != "Polygon" or not ring:
            raise BadInput(f"{path.name}: a {geometry.get('type')} given; allowed polygons, one a strip.")
        rows.append({plain_name(name): text for name, text in texts_of(feature).items()} | {"corners": ring})
    if not rows:
        raise BadInput(f"{path.name}: no polygon in it; allowed polygons, one a strip.")
    cells = pl.DataFrame(rows, infer_schema_length=None).cast(pl.String)
    numbered = pl.int_range(1, len(rows) + 1, eager=True)
    return TextTable(name="strips", label=path.name, cells=cells, rows=numbered, is_whole=True)


def _refuse_overlaps(strips: Sequence[Strip], label: str) -> None:
    drawn = [(strip, strip.outline) for strip in strips if strip.outline is not None]
    for place, (one, outline) in enumerate(drawn):
        for other, beside in drawn[place + 1 :]:
            if (depth := overlap_m(outline, beside)) > MOST_OVERLAP_M:
                raise BadInput(
                    f"{label}: {one.plot} and {other.plot} lie {depth:.1f} m over each other; allowed strips side by "
                    "side. Check corners, widths and headings."
                )
    given: dict[int, str] = {}
    for strip in strips:
        for number in sorted(strip.passes):
            if number in given:
                raise BadInput(f"{label}: pass {number} given to {given[number]} and {strip.plot}; allowed to one.")
            given[number] = strip.plot
