"""The invented farm in sample_records: reproducible, of the promised size and spread, with its oddities in place."""

import csv
import statistics
import subprocess
import sys
from collections import Counter, defaultdict
from datetime import date
from functools import cache
from pathlib import Path

import pytest

SAMPLE_RECORDS = Path(__file__).resolve().parents[2] / "sample_records"
KEYS = {
    "fields": ("field",),
    "plantings": ("crop_year", "field"),
    "plots": ("crop_year", "field", "plot"),
    "pairs": ("crop_year", "pair"),
    "loads": ("crop_year", "field", "plot", "ticket"),
    "samples": ("crop_year", "field", "plot", "sample"),
    "loss_checks": ("crop_year", "field", "plot", "checked_on", "place", "spot"),
    "operations": ("crop_year", "field", "plot", "done_on", "operation"),
    "weather": ("happened_on", "field", "event"),
    "prices": ("crop_year", "crop", "grade"),
    "field_distances": ("field", "other_field"),
    "plot_totals": ("crop_year", "field", "plot"),
    "spring_counts": ("crop_year", "field", "plot", "counted_on", "spot"),
    "bins": ("crop_year", "bin"),
    "bin_fills": ("crop_year", "bin", "filled_on", "field", "plot"),
    "bin_checks": ("crop_year", "bin", "checked_on", "place"),
}
LIMITS = {
    ("fields", "acres"): (60, 320),
    ("plots", "acres"): (10, 320),
    ("loads", "weight_kg"): (8_000, 70_000),
    ("loads", "moisture_pct"): (4, 12),
    ("loads", "dockage_pct"): (0.4, 4),
    ("samples", "seeds_crushed"): (500, 1000),
    ("samples", "green_seeds"): (0, 100),
    ("samples", "test_weight_kg_hl"): (62, 68),
    ("samples", "thousand_seed_g"): (2.8, 4.6),
    ("loss_checks", "area_m2"): (0.0929, 0.25),
    ("prices", "dollars_per_tonne"): (400, 850),
    ("field_distances", "distance_km"): (0.5, 15),
    ("bin_checks", "temperature_c"): (-20, 30),
    ("bin_checks", "moisture_pct"): (6, 10),
}

Plot = tuple[str, str, str]
Row = dict[str, str]


@cache
def rows(table: str) -> list[Row]:
    with (SAMPLE_RECORDS / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def plot_of(row: Row) -> Plot:
    return row["crop_year"], row["field"], row["plot"]


def side(pair: Row, method: str) -> Plot:
    return pair["crop_year"], pair[f"{method}_field"], pair[f"{method}_plot"]


def of_plot(table: str, plot: Plot) -> list[Row]:
    return [row for row in rows(table) if plot_of(row) == plot]


def the_plot(plot: Plot) -> Row:
    (row,) = of_plot("plots", plot)
    return row


def the_pair(crop_year: str, name: str) -> Row:
    (row,) = [row for row in rows("pairs") if (row["crop_year"], row["pair"]) == (crop_year, name)]
    return row


def yield_bu_ac(plot: Plot) -> float | None:
    """At 10 % moisture; None where a load lacks a figure or there is none."""
    loads = of_plot("loads", plot)
    if not loads or any("" in (load["moisture_pct"], load["dockage_pct"]) for load in loads):
        return None
    kg = sum(
        float(load["weight_kg"]) * (1 - float(load["dockage_pct"]) / 100) * (100 - float(load["moisture_pct"])) / 90
        for load in loads
    )
    return kg / 22.6796185 / float(the_plot(plot)["acres"])


def green_pct(plot: Plot) -> float:
    samples = of_plot("samples", plot)
    return 100 * sum(int(row["green_seeds"]) for row in samples) / sum(int(row["seeds_crushed"]) for row in samples)


def differences() -> dict[tuple[str, str], float]:
    """Standing minus windrowed, bu/ac, of every pair with both yields."""
    found = {}
    for pair in rows("pairs"):
        standing, windrowed = yield_bu_ac(side(pair, "standing")), yield_bu_ac(side(pair, "windrowed"))
        if standing is not None and windrowed is not None:
            found[pair["crop_year"], pair["pair"]] = standing - windrowed
    return found


def days_between(earlier: str, later: str) -> int:
    return (date.fromisoformat(later) - date.fromisoformat(earlier)).days


def test_script_writes_the_same_bytes_again(tmp_path):
    subprocess.run([sys.executable, "-m", "sample_records.make_demo_farm", tmp_path], check=True, timeout=60)
    assert {path.name for path in tmp_path.iterdir()} == {f"{table}.csv" for table in KEYS}
    for table in KEYS:
        assert (tmp_path / f"{table}.csv").read_bytes() == (SAMPLE_RECORDS / f"{table}.csv").read_bytes(), table


def test_files_use_plain_line_ends():
    assert not [table for table in KEYS if b"\r" in (SAMPLE_RECORDS / f"{table}.csv").read_bytes()]


@pytest.mark.parametrize("table", KEYS)
def test_keys_are_whole_and_unique(table):
    keys = [tuple(row[column] for column in KEYS[table]) for row in rows(table)]
    assert keys
    assert len(keys) == len(set(keys))
    assert all(all(key) for key in keys) or table == "weather"  # a blank field there is the whole farm


@pytest.mark.parametrize(("table", "column"), LIMITS)
def test_figures_are_of_a_likely_size(table, column):
    low, high = LIMITS[table, column]
    figures = [float(row[column]) for row in rows(table) if row[column]]
    assert min(figures) >= low
    assert max(figures) <= high


def test_every_row_refers_to_something_on_record():
    fields = {row["field"] for row in rows("fields")}
    sown = {(row["crop_year"], row["field"]) for row in rows("plantings") if row["crop"] == "canola"}
    plots = {plot_of(row): row["method"] for row in rows("plots")}
    assert {row["field"] for row in rows("plantings")} <= fields
    assert {row["field"] for row in rows("weather")} <= fields | {""}
    assert {plot[:2] for plot in plots} == sown
    for table in ("loads", "samples", "loss_checks", "operations", "bin_fills"):
        assert {plot_of(row) for row in rows(table)} <= set(plots)
    for pair in rows("pairs"):
        assert {method: plots[side(pair, method)] for method in ("standing", "windrowed")} == {
            "standing": "standing",
            "windrowed": "windrowed",
        }


def test_a_plot_belongs_to_at_most_one_pair_and_one_standing_plot_to_none():
    sides = [side(pair, method) for pair in rows("pairs") for method in ("standing", "windrowed")]
    assert len(sides) == len(set(sides))
    assert {plot_of(row) for row in rows("plots")} - set(sides) == {("2022", "Long eighty", "whole")}


def test_six_years_of_twenty_to_twenty_six_pairs_in_every_layout():
    assert {pair["crop_year"] for pair in rows("pairs")} == {str(year) for year in range(2020, 2026)}
    assert 20 <= len(rows("pairs")) <= 26
    assert Counter(pair["layout"] for pair in rows("pairs")) == {
        "strips": 12,
        "split field": 6,
        "neighbouring fields": 5,
        "matched after harvest": 3,
    }
    strips = Counter(
        (pair["crop_year"], pair["standing_field"]) for pair in rows("pairs") if pair["layout"] == "strips"
    )
    assert sorted(strips.values()) == [3, 4, 5]
    allocations = Counter(pair["allocation"] for pair in rows("pairs"))
    assert allocations["chosen"] > allocations["drawn by lot"] > 0


def test_halves_and_strips_lie_in_one_field_and_do_not_exceed_it():
    acres = {row["field"]: float(row["acres"]) for row in rows("fields")}
    taken = defaultdict(float)
    for row in rows("plots"):
        taken[row["crop_year"], row["field"]] += float(row["acres"])
    assert all(total <= acres[field] + 1 for (_, field), total in taken.items())
    for pair in rows("pairs"):
        one_field = pair["standing_field"] == pair["windrowed_field"]
        assert one_field == (pair["layout"] in ("strips", "split field"))


def test_spreads_are_those_of_real_farms():
    yields = {plot_of(row): yield_bu_ac(plot_of(row)) for row in rows("plots")}
    known = {plot: value for plot, value in yields.items() if value is not None}
    assert 38 < statistics.mean(known.values()) < 46
    by_year = defaultdict(list)
    for (crop_year, _, _), value in known.items():
        by_year[crop_year].append(value)
    assert 4 < statistics.stdev(statistics.mean(values) for values in by_year.values()) < 10
    assert all(20 < value < 65 for value in known.values())
    found = differences()
    strips = [
        found[pair["crop_year"], pair["pair"]]
        for pair in rows("pairs")
        if pair["layout"] == "strips" and pair["crop_year"] != "2021"
    ]
    assert 1.5 < statistics.stdev(strips) < 5
    assert -1 < statistics.mean(found.values()) < 3


def test_dates_run_from_seeding_to_harvest_as_on_the_prairie():
    seeded = {(row["crop_year"], row["field"]): row["seeded_on"] for row in rows("plantings")}
    for row in rows("plots"):
        year = row["crop_year"]
        assert f"{year}-04-25" <= seeded[year, row["field"]] <= f"{year}-05-20"
        assert f"{year}-08-20" <= row["harvested_on"] <= f"{year}-09-20"
        if row["method"] == "windrowed":
            assert f"{year}-08-10" <= row["windrowed_on"] <= f"{year}-08-31"
            assert 7 <= days_between(row["windrowed_on"], row["harvested_on"]) <= 16
    for pair in rows("pairs"):
        standing, windrowed = the_plot(side(pair, "standing")), the_plot(side(pair, "windrowed"))
        assert 5 <= days_between(windrowed["harvested_on"], standing["harvested_on"]) <= 10


def test_wind_decided_2021():
    (wind,) = [row for row in rows("weather") if row["event"] == "wind" and float(row["reading"]) >= 90]
    for row in rows("plots"):
        if row["crop_year"] == "2021":
            assert (row["harvested_on"] < wind["happened_on"]) == (row["method"] == "windrowed")
    by_year = defaultdict(list)
    for (crop_year, _), difference in differences().items():
        by_year[crop_year].append(difference)
    means = {crop_year: statistics.mean(values) for crop_year, values in by_year.items()}
    assert min(means, key=means.__getitem__) == "2021"
    assert means["2021"] < -1.5


def test_shatter_on_the_ground_is_heavy_in_the_windy_year_only():
    seed_g = 3.6  # near enough for a bound
    spots = defaultdict(list)
    for row in rows("loss_checks"):
        if row["place"] == "ground before harvest" and the_plot(plot_of(row))["method"] == "standing":
            grams = float(row["grams"]) if row["grams"] else int(row["seeds"]) * seed_g / 1000
            spots[plot_of(row)].append(grams / float(row["area_m2"]) / 5.60426)
    shatter = {plot: statistics.mean(values) for plot, values in spots.items()}
    assert {plot[0] for plot in shatter} == {"2021", "2022", "2023", "2024", "2025"}
    assert all(2.4 < value < 7 for plot, value in shatter.items() if plot[0] == "2021")
    assert all(0.1 < value < 1.4 for plot, value in shatter.items() if plot[0] != "2021")


def test_frost_made_green_seed_in_2023_and_more_of_it_in_windrows():
    green = defaultdict(list)
    for row in rows("plots"):
        green[row["crop_year"] == "2023", row["method"]].append(green_pct(plot_of(row)))
    mean = {key: statistics.mean(values) for key, values in green.items()}
    assert 2.5 < mean[True, "standing"] < mean[True, "windrowed"] < 8
    assert 0.2 < mean[False, "standing"] < mean[False, "windrowed"] < 1.5
    (frost,) = [row for row in rows("weather") if row["event"] == "frost" and float(row["reading"]) <= -3]
    for row in rows("plots"):
        if row["crop_year"] == "2023" and row["method"] == "windrowed":
            assert row["windrowed_on"] < frost["happened_on"] < row["harvested_on"]


def test_one_windrow_was_cut_early_and_the_others_in_time():
    colour = {plot_of(row): int(row["seed_colour_change_pct"]) for row in rows("plots") if row["windrowed_on"]}
    assert {plot: pct for plot, pct in colour.items() if not 55 <= pct <= 75} == {
        ("2022", "Creek quarter", "whole"): 30
    }


def test_one_plot_has_no_loads_and_its_pair_says_so():
    assert {plot_of(row) for row in rows("plots")} - {plot_of(row) for row in rows("loads")} == {
        ("2025", "Slough eighty", "whole")
    }
    pair = the_pair("2025", "N1")
    assert side(pair, "windrowed") == ("2025", "Slough eighty", "whole")
    assert "Without partner" in pair["notes"]


def test_one_load_without_moisture_leaves_its_pair_without_yield():
    (load,) = [row for row in rows("loads") if "" in row.values()]
    assert load["moisture_pct"] == ""
    assert plot_of(load) == side(the_pair("2022", "H1"), "windrowed")
    complete = {(pair["crop_year"], pair["pair"]) for pair in rows("pairs")} - {("2022", "H1"), ("2025", "N1")}
    assert set(differences()) == complete


def test_one_pair_is_a_tie():
    pairs = {(pair["crop_year"], pair["pair"]): pair for pair in rows("pairs")}
    ties = [
        key
        for key in differences()
        if round(yield_bu_ac(side(pairs[key], "standing")), 2) == round(yield_bu_ac(side(pairs[key], "windrowed")), 2)
    ]
    assert ties == [("2025", "H1")]


def test_one_pair_was_weighed_in_two_ways():
    mixed = {}
    for pair in rows("pairs"):
        ways = [{row["weighed_by"] for row in of_plot("loads", side(pair, m))} for m in ("standing", "windrowed")]
        if all(ways) and ways[0] != ways[1]:
            mixed[pair["crop_year"], pair["pair"]] = ways
    assert mixed == {("2025", "H2"): [{"certified scale"}, {"yield monitor"}]}
    assert {row["weighed_by"] for row in rows("loads")} == {
        "certified scale", "grain cart", "bin measure", "yield monitor",
    }  # fmt: skip


def test_one_pair_differs_in_variety_and_one_in_seeding_date():
    sown = {(row["crop_year"], row["field"]): row for row in rows("plantings")}
    varieties, dates = [], []
    for pair in rows("pairs"):
        standing, windrowed = sown[side(pair, "standing")[:2]], sown[side(pair, "windrowed")[:2]]
        if standing["variety"] != windrowed["variety"]:
            varieties.append((pair["crop_year"], pair["pair"]))
        if abs(days_between(standing["seeded_on"], windrowed["seeded_on"])) > 7:
            dates.append((pair["crop_year"], pair["pair"]))
    assert (varieties, dates) == ([("2024", "N1")], [("2024", "M1")])


def test_one_interval_after_the_product_is_shorter_than_the_label_says():
    sprayed = [row for row in rows("plots") if row["preharvest_on"]]
    assert {row["method"] for row in sprayed} == {"standing"}
    short = [
        plot_of(row)
        for row in sprayed
        if days_between(row["preharvest_on"], row["harvested_on"]) < int(row["preharvest_interval_days"])
    ]
    assert short == [("2025", "Willow quarter", "east")]


def test_grades_follow_the_counts_but_for_one():
    """Canada Grain Regulations, Schedule 3, Table 19 (2019): green 2/6/20, heated 0.1/0.5/2.0, damage 5/12/25 %."""
    disagree = []
    for row in rows("samples"):
        if row["graded_by"] == "own count":
            assert row["grade"] == ""
            continue
        green = int(100 * int(row["green_seeds"]) / int(row["seeds_crushed"]) + 0.5)
        damage = int(float(row["total_damage_pct"]) + 0.5)
        limits = [("1", 2, 0.1, 5), ("2", 6, 0.5, 12), ("3", 20, 2.0, 25)]
        as_counted = next(g for g, a, b, c in limits if green <= a and float(row["heated_pct"]) <= b and damage <= c)
        if row["grade"] != as_counted:
            disagree.append((*plot_of(row), row["grade"], as_counted))
    assert disagree == [("2022", "Bluff quarter", "whole", "2", "1")]
    rounded = ("2024", "Bluff quarter", "whole")
    assert [(r["green_seeds"], r["grade"]) for r in of_plot("samples", rounded) if r["grade"]] == [("12", "1")]


def test_behind_the_header_lies_at_least_what_lay_there_before():
    earlier = {"standing": "ground before harvest", "windrowed": "ground after windrower"}
    lying = defaultdict(dict)
    for row in rows("loss_checks"):
        assert (row["seeds"] == "") != (row["grams"] == "")
        assert (row["cut_width_m"] != "") == (row["place"] == "pan behind combine") == (row["discharge_width_m"] != "")
        if row["cut_width_m"]:
            assert 5 <= float(row["cut_width_m"]) / float(row["discharge_width_m"]) <= 8
        lying[plot_of(row), row["spot"]][row["place"]] = float(row["seeds"] or row["grams"])
    compared = 0
    for (plot, _), amount in lying.items():
        before, behind = amount.get(earlier[the_plot(plot)["method"]]), amount.get("ground behind header")
        if before is not None and behind is not None:
            assert behind >= before
            compared += 1
    assert compared > 50


def test_most_plots_since_2021_have_loss_checks_and_a_few_lack_a_place():
    needed = {"ground before harvest", "ground behind header", "pan behind combine"}
    places = defaultdict(set)
    for row in rows("loss_checks"):
        places[plot_of(row)].add(row["place"])
    later = {plot_of(row): row["method"] for row in rows("plots") if row["crop_year"] > "2020"}
    assert set(places) <= set(later)
    assert len(later) - len(places) == 3
    windrowed = [seen for plot, seen in places.items() if later[plot] == "windrowed"]
    assert all("ground after windrower" in seen for seen in windrowed)
    lacking = {method: [seen for plot, seen in places.items() if later[plot] == method and needed - seen] for method in
               ("standing", "windrowed")}  # fmt: skip
    assert (len(lacking["standing"]), len(lacking["windrowed"])) == (3, 7)


def test_several_windrowed_plots_have_the_count_behind_the_pick_up_and_several_lack_it():
    counted = {plot_of(row) for row in rows("loss_checks") if row["place"] == "ground behind header"}
    checked = {plot_of(row) for row in rows("loss_checks")}
    windrowed = {plot_of(row) for row in rows("plots") if row["method"] == "windrowed"} & checked
    assert (len(windrowed & counted), len(windrowed - counted)) == (16, 6)


def test_money_has_a_price_for_every_grade_and_the_field_work_of_every_plot():
    years = {row["crop_year"] for row in rows("plots")}
    assert {(row["crop_year"], row["grade"]) for row in rows("prices")} == {
        (year, grade) for year in years for grade in ("1", "2", "3", "Sample")
    }
    for row in rows("plots"):
        done = {work["operation"] for work in of_plot("operations", plot_of(row))}
        assert "combining" in done
        assert ("windrowing" in done) == (row["method"] == "windrowed")
        assert ("pre-harvest product" in done) == ("application" in done) == bool(row["preharvest_on"])
    assert all(float(row["dollars_per_acre"]) > 0 for row in rows("operations"))
    costs = defaultdict(set)
    for row in rows("operations"):
        if row["operation"] == "windrowing":
            costs[row["crop_year"]].add(float(row["dollars_per_acre"]))
    yearly = [max(costs[year]) for year in sorted(costs)]
    assert yearly == sorted(yearly)
    assert yearly[0] < yearly[-1]
