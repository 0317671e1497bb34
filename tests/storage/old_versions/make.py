"""Writes the small records file of the newest schema version, to be kept beside this script for good.

Run once by whoever adds a migration, after putting rows for its new tables or columns into ROWS:
    .venv/bin/python tests/storage/old_versions/make.py

A file that is there is never made anew: it was written by the program of its time. Versions 1 to 4 were written by
this script in checkouts of the last commit with that version (51bce60^, 65f54da^, 01085e4^, f6378f2^), version 5 in
f6378f2 without its last migration.
"""

from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import polars as pl

from analytics.storage.database import open_records
from analytics.storage.sql_texts import schema_files

FOLDER = Path(__file__).parent
BLOCK_BYTES = 16_384  # the smallest there is, so that a file of few rows is small


def parquet(rows: pl.DataFrame) -> str:
    """The rows as a Parquet file, in hexadecimal digits."""
    content = BytesIO()
    rows.write_parquet(content)
    return content.getvalue().hex()


# A few rows for what each migration brought, as its own time would have written them.
ROWS = {
    1: """
insert into fields values
    ('North', 160, 'clay loam', 'level', 'an "old" note, with a comma'), ('Süd', null, null, null, null);
insert into plantings values
    (2021, 'North', 'canola', 'Variety A', true, 'system 1', '2021-05-12', 'low', 'average', null),
    (2022, 'North', 'canola', 'Variety B', false, null, null, null, null, null);
insert into plots (
    crop_year, field, plot, method, acres, seed_colour_change_pct, windrowed_on, preharvest_on, preharvest_product,
    preharvest_interval_days, harvested_on, notes
) values
    (2021, 'North', 'east', 'standing', 40, 75, null, '2021-09-02', 'pre-harvest product', 14, '2021-09-20', null),
    (2021, 'North', 'west', 'windrowed', 38.5, 62.5, '2021-08-28', null, null, null, '2021-09-12', null),
    (2022, 'North', 'east', 'windrowed', 40, null, '2022-08-30', null, null, null, '2022-09-10', null),
    (2022, 'North', 'west', 'standing', 38.5, null, null, null, null, null, '2022-09-21', null);
insert into pairs values
    (2021, 'N1', 'North', 'east', 'North', 'west', 'split field', 'drawn by lot', null),
    (2022, 'N1', 'North', 'west', 'North', 'east', 'split field', 'chosen', null);
insert into loads values
    (2021, 'North', 'east', '1187', '2021-09-20', 18620, 9.1, 2.5, 'certified scale'),
    (2021, 'North', 'east', '1188', '2021-09-21', 17400.5, 8.8, 2.25, 'certified scale'),
    (2021, 'North', 'west', '1101', '2021-09-12', 33010, 8.2, 1.5, 'certified scale'),
    (2022, 'North', 'east', '2201', '2022-09-10', 36100, 8.4, null, null),
    (2022, 'North', 'west', '2210', '2022-09-21', 35200, null, 1.9, 'grain cart');
insert into samples (crop_year, field, plot, sample, taken_on, graded_by, grade, seeds_crushed, green_seeds, heated_pct,
    total_damage_pct, admixture_pct, test_weight_kg_hl, thousand_seed_g) values
    (2021, 'North', 'east', 'a', '2021-09-20', 'elevator', '1', 500, 4, 0.02, 1.1, 0.4, 65.2, 3.1),
    (2021, 'North', 'west', 'a', '2021-09-12', 'elevator', '2', 500, 14, 0, 2.3, null, null, null);
insert into loss_checks (crop_year, field, plot, checked_on, place, spot, seeds, grams, area_m2, cut_width_m,
    discharge_width_m, seconds_note) values
    (2021, 'North', 'east', '2021-09-20', 'ground behind header', '1', 34, null, 0.25, null, null, null),
    (2021, 'North', 'east', '2021-09-20', 'pan behind combine', '1', null, 0.8, 0.25, 12.2, 1.5, 'pan');
insert into operations (crop_year, field, plot, done_on, operation, dollars_per_acre) values
    (2021, 'North', 'west', '2021-08-28', 'windrowing', 11.5);
insert into weather (happened_on, field, event, reading, unit, notes) values
    ('2021-09-05', null, 'wind', 78, 'km/h', null),
    ('2021-09-06', 'North', 'hail', null, null, 'light');
insert into prices values (2021, 'canola', '1', 812.5), (2021, 'canola', '2', 790);
insert into settings values ('farm_name', 'A farm'), ('margin.yield', '1.5');
insert into acts (done_by, source, why) values ('A grower', 'import', 'from papers'), ('A grower', 'setting', null);
insert into changes values
    (1, 'fields', '{"field":"Süd"}', null, '{"field":"Süd","acres":null,"soil":null,"topography":null,"notes":null}'),
    (2, 'settings', '{"name":"margin.yield"}', null, '{"name":"margin.yield","value":"1.5"}');
""",
    2: "insert into field_totals values (2021, 'North', 69100, 'sum of the scale tickets');",
    3: """
insert into cost_assumptions values ('windrowing', 9, 11.5, 14, 2021, 'own invoices');
insert into planning_rules values ('shatter tolerance', true, null, 'this farm');
insert into draws values (2021, 'N1', '2021-06-01 08:00', 4711, 1, 'North east', 'North west', 'standing');
insert into broken_draws values (2021, 'N1', '2021-09-01', 'too wet for the windrower');
""",
    4: """
insert into drafts (paper, crop_year, field, plot, typed_by, content) values
    ('loads', 2022, 'North', 'east', 'A grower', '{"rows": [{"ticket": "2202"}], "loaded": [], "units": {}}');
""",
    5: "insert into field_distances values ('North', 'Süd', 3.2);",
    6: "insert into column_matches values ('scale house', 'loads', 'weight_kg', 'Net', 'kg');",
    7: """
insert into drafts (paper, crop_year, field, plot, typed_by, content) values
    ('field_distances', 2022, null, null, 'A grower', '{"rows": [{"field": "North"}], "loaded": [], "units": {}}');
""",
    8: """
insert into acts (done_by, source, why) values ('A grower', 'terminal', 'methods for 2022 drawn with seed 4711');
""",
    9: "insert into share_codes values ('farm', 'this farm', 'B2C3-D4F5'), ('place', 'North', 'G6H7');",
    10: """
insert into bins values (2021, 'Bin 1', '2021-09-25', '2022-02-10', null);
insert into bin_fills values (2021, 'Bin 1', '2021-09-20', 'North', 'east', 36020.5, 9.1, 22.5, 'warm');
insert into bin_checks values
    (2021, 'Bin 1', '2021-10-01', 'core', 14.5, 8.1, 9, 'fresh', 'fan on'),
    (2021, 'Bin 1', '2021-10-01', 'top', 13, null, 9, null, null);
""",
    11: """
insert into samples (crop_year, field, plot, sample, green_pct) values (2022, 'North', 'east', 'slip', 1.6);
insert into loss_checks (crop_year, field, plot, checked_on, place, spot, loss_pct) values
    (2022, 'North', 'east', '2022-09-10', 'pan behind combine', '1', 1.8);
""",
    12: """
insert into operations values
    (2021, 'North', 'west', '2021-09-12', 'combining', 31, 4.5, 210.5, 2, 'combine', 'A', 'west side', 'damp at first');
insert into plots values
    (2021, 'Süd', 'whole', 'windrowed', 12, null, '2021-08-28', null, null, null, '2021-09-12', 6.5, null);
""",
    13: """
insert into monitor_strips values
    (2022, 'North', 'west', 'points.csv', 'c0ffee', 590, 540, 11, 12.2, 0.99, 5210.5, 61000, null, 0.2, 'start_m 20',
    '-107.2 52.6; -107.1 52.6; -107.1 52.7; -107.2 52.7');
insert into monitor_removals values (2022, 'North', 'west', 'start or end of a pass', 50);
insert into monitor_cells values
    (2022, 'North', 'west', 1, 10.5, 20, 2210, null), (2022, 'North', 'west', 2, 10.5, 40, null, 'header up');
""",
    14: """
insert into loss_checks values
    (2021, 'Süd', 'whole', '2021-09-12', 'pan behind combine', '1', 40, null, 0.25, 9.1, 1.5, 'pan', null, 14.5, 6.5,
    21, 38, 'fan as usual');
insert into weather values ('2021-09-07', 'Süd', 'frost', -2.5, 'C', 4, null);
insert into spring_counts values (2021, 'Süd', 'whole', '2022-05-20', '1', 17, 0.25);
""",
    15: "insert into plot_totals values (2022, 'North', 'west', 35150, 'over the elevator');",
    16: """
insert into changes values
    (3, 'plot_totals', '{"crop_year":2022,"field":"North","plot":"west"}', null,
    '{"crop_year":2022,"field":"North","plot":"west","weight_kg":35150.0,"notes":"over the elevator"}');
""",
    17: f"""
insert into acts (done_by, source, why) values ('A grower', 'import', 'very many rows');
insert into packed_rows
select max(act_id), 'fields', ['field'], from_hex('{parquet(pl.DataFrame({"field": ["North"], "acres": [160.0]}))}')
from acts;
insert into packed_places select max(act_id), 'fields', null, 'North', null, 1 from acts;
""",  # noqa: S608 - the digits are our own
}


def main() -> None:
    version = len(schema_files())
    kept = FOLDER / f"version_{version}.duckdb"
    if kept.exists():
        raise SystemExit(f"{kept.name} is there and stays as it is.")
    if version not in ROWS:
        raise SystemExit(f"Put a few rows for what migration {version} brought into ROWS first.")
    with TemporaryDirectory() as folder:
        with open_records(Path(folder) / "records.duckdb", create=True) as connection:
            for number in range(1, version + 1):
                connection.execute(ROWS[number])
        with duckdb.connect() as copying:
            copying.execute("attach $path as written (read_only)", {"path": f"{folder}/records.duckdb"})
            copying.execute(f"attach $path as kept (block_size {BLOCK_BYTES})", {"path": f"{kept}"})
            copying.execute("copy from database written to kept")
    print(f"{kept.name} was written; add it to the repository.")


if __name__ == "__main__":
    main()
