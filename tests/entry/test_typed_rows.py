"""Typed rows: what they make, what is refused, what is unlikely, in whatever unit and with either decimal mark."""

import random
from datetime import date

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.entry.checked_rows import read_rows
from analytics.entry.loss_totals import loss_lacks
from analytics.entry.row_words import understood
from analytics.entry.typed_rows import as_recorded, as_typed
from analytics.errors import BadInput
from analytics.records.bin_tables import BINS
from analytics.records.grown_tables import FIELDS, PAIRS, PLOTS, PRICES
from analytics.records.harvest_tables import LOADS, LOSS_CHECKS, SAMPLES
from analytics.records.papers import PAPERS
from analytics.records.tables import TABLES
from analytics.storage.database import open_records, read_table

EAST = {"crop_year": 2026, "field": "North half", "plot": "east"}
WEST = EAST | {"plot": "west"}


def records(**tables):
    """All tables, with one field in two plots of 40 acres, and the rows given."""
    plots = [EAST | {"method": "standing", "acres": 40.0}, WEST | {"method": "windrowed", "acres": 40.0}]
    rows = {"fields": [{"field": "North half"}], "plots": plots} | tables
    return {name: pl.DataFrame(rows.get(name, []), schema=table.polars_schema()) for name, table in TABLES.items()}


FARM = records()


def read(table, *typed, fixed=EAST, units=None, known=None):
    return read_rows(table, typed, fixed=fixed, units=units or {}, records=known or FARM)


def words(table, rows, known=None, level=0.95):
    return understood(table, rows, known or FARM, yield_unit="bu/ac", level=level)


def ticket(number="1187", weight="18998", **more):
    return {"ticket": number, "weight_kg": weight, "dockage_pct": "2", "moisture_pct": "9"} | more


@pytest.mark.parametrize(
    ("typed", "unit"),
    [("18998", "kg"), ("18.998", "t"), ("18,998 t", "kg"), ("18998 kg", "lb"), ("18 998", ""), ("18.998T", "")],
)
def test_a_weight_is_the_same_in_each_unit_and_with_either_decimal_mark(typed, unit):
    if typed == "18,998 t":  # eighteen thousand or eighteen and a bit: asked, never guessed
        (row,) = read(LOADS, ticket(weight=typed), units={"weight_kg": unit})
        assert "Could be 18998 or 18.998" in row.refused[0]
        return
    (row,) = read(LOADS, ticket(weight=typed), units={"weight_kg": unit})
    assert row.values["weight_kg"] == pytest.approx(18998)
    assert row.refused == row.unlikely == ()


def test_bushels_and_pounds_are_those_of_canola():
    rows = read(LOADS, ticket("1", "1000 bu"), ticket("2", "50000 lb"))
    assert [row.values["weight_kg"] for row in rows] == pytest.approx([22679.6185, 22679.6185])  # 50 lb a bushel


def test_a_bushel_of_another_crop_is_refused_and_in_any_other_unit_it_is_not():
    malt = records(plantings=[{"crop_year": 2026, "field": "North half", "crop": "malt barley"}])
    bushels, pounds = read(LOADS, ticket("1", "1000 bu"), ticket("2", "48000 lb"), known=malt)
    assert bushels.refused == (
        "weight, kg: 1000 bu (22680 kg) given; allowed pounds, tonnes or kg. "
        "A bushel of malt barley does not weigh the 50 lb of one of canola: give the weight.",
    )
    assert pounds.refused == ()
    (chosen,) = read(LOADS, ticket("1", "1000"), units={"weight_kg": "bu"}, known=malt)
    assert "A bushel of malt barley does not weigh" in chosen.refused[0]


@pytest.mark.parametrize("crop", ["canola", "Canola", None])
def test_a_bushel_of_canola_is_taken_however_it_is_written(crop):
    known = records(plantings=[{"crop_year": 2026, "field": "North half", "crop": crop}])
    (row,) = read(LOADS, ticket("1", "1000 bu"), known=known)
    assert row.refused == ()


def test_the_running_yield_waits_for_every_dockage():
    rows = read(
        LOADS, ticket("1", "18620", dockage_pct="0"), ticket("2", "18620", dockage_pct=""), ticket("3", "18620")
    )
    assert words(LOADS, rows) == [
        "= 18.62 t clean, 20.53 bu/ac so far",
        "= 18.62 t, dockage unknown, yield once every dockage is known",
        "= 18.25 t clean, yield once every dockage is known",
    ]
    known = records(loads=[EAST | {"ticket": "0", "weight_kg": 18620.0}])
    assert words(LOADS, rows[:1], known) == ["= 18.62 t clean, yield once every dockage is known"]


def test_a_ticket_says_clean_tonnes_and_the_running_yield():
    rows = read(
        LOADS, ticket("1", "18,62", dockage_pct="0"), ticket("2", "18,62", dockage_pct="0"), units={"weight_kg": "t"}
    )
    assert words(LOADS, rows) == ["= 18.62 t clean, 20.53 bu/ac so far", "= 18.62 t clean, 41.05 bu/ac so far"]


def test_loads_on_record_that_are_not_typed_count_in_the_running_yield():
    known = records(loads=[EAST | {"ticket": "0", "weight_kg": 18620.0, "dockage_pct": 0.0}])
    rows = read(LOADS, ticket("1", "18620", dockage_pct="0"), known=known)
    assert words(LOADS, rows, known) == ["= 18.62 t clean, 41.05 bu/ac so far"]


def test_green_seed_comes_with_its_exact_interval():
    rows = read(SAMPLES, {"sample": "1", "seeds_crushed": "500", "green_seeds": "10"})
    assert words(SAMPLES, rows) == ["= 2.00\u202f% green (0.96 to 3.65)"]  # Clopper and Pearson 1934, 10 of 500


def test_a_pan_says_how_concentrated_it_is_and_its_loss():
    pan = {"checked_on": "14 Sep", "place": "pan behind combine", "spot": "1", "grams": "3", "area_m2": "1 sq ft"}
    rows = read(
        LOSS_CHECKS,
        pan | {"cut_width_m": "30", "discharge_width_m": "5"},
        units=dict.fromkeys(("cut_width_m", "discharge_width_m"), "ft"),
    )
    # Canola Council of Canada, quiz of 2017: 30 ft cut and 5 ft discharge is 6; 3 g on a square foot is then 0.96
    assert words(LOSS_CHECKS, rows) == ["= 6.0 times concentrated (cut over discharge), 3.0 g, 0.96 bu/ac lost"]


def test_millilitres_become_grams_by_the_usual_bulk_density():
    (row,) = read(
        LOSS_CHECKS,
        {
            "checked_on": "2026-09-14",
            "place": "ground before harvest",
            "spot": "1",
            "grams": "10 mL",
            "area_m2": "0,25",
        },
    )
    assert row.values["grams"] == pytest.approx(6.5)


def test_seeds_count_by_the_thousand_seed_weight_of_the_plot_or_wait_for_one():
    counted = {
        "checked_on": "2026-09-14",
        "place": "ground before harvest",
        "spot": "1",
        "seeds": "130",
        "area_m2": "1 sq ft",
    }
    assert "once a thousand seed weight is known" in words(LOSS_CHECKS, read(LOSS_CHECKS, counted))[0]
    known = records(samples=[EAST | {"sample": "1", "thousand_seed_g": 4.0}])
    # Canola Council of Canada 2012: 130 seeds of 4 g on a square foot are 1 bu/ac
    assert words(LOSS_CHECKS, read(LOSS_CHECKS, counted, known=known), known) == ["= 0.5 g, 1.00 bu/ac lost"]


def test_plots_and_prices_say_days_and_dollars_a_bushel():
    plot = {
        "field": "North half",
        "plot": "west",
        "method": "windrowed",
        "windrowed_on": "Aug 20 2026",
        "harvested_on": "2 Sep",
    }
    assert words(PLOTS, read(PLOTS, plot, fixed={"crop_year": 2026})) == ["= 13 days in the windrow"]
    price = {"crop": "canola", "grade": "1", "dollars_per_tonne": "600"}
    assert words(PRICES, read(PRICES, price, fixed={"crop_year": 2026})) == ["= $13.61 a bushel"]


def test_a_thousand_seed_weight_of_36_is_refused_with_what_is_allowed():
    (row,) = read(SAMPLES, {"sample": "1", "thousand_seed_g": "36"})
    assert row.refused == ("thousand seed, g: 36 given; allowed a number from 1 to 10. Was a decimal mark left out?",)
    assert not row.is_kept


@pytest.mark.parametrize(("typed", "refused"), [("1", False), ("0,999", True), ("10", False), ("10.001", True)])
def test_the_limits_of_a_thousand_seed_weight_are_met_at_the_edge_and_not_past_it(typed, refused):
    (row,) = read(SAMPLES, {"sample": "1", "thousand_seed_g": typed})
    assert bool(row.refused) is refused


def test_an_ambiguous_date_is_asked_about():
    (row,) = read(LOADS, ticket(delivered_on="04/05/2026"))
    assert "Could be 2026-04-05 or 2026-05-04" in row.refused[0]


@pytest.mark.parametrize("typed", ["2026-09-14", "14 Sep", "Sep 14 2026", "2026/9/14"])
def test_dates_as_people_type_them(typed):
    (row,) = read(LOADS, ticket(delivered_on=typed))
    assert row.values["delivered_on"].isoformat() == "2026-09-14"


def test_an_unlikely_weight_is_kept_only_with_a_word_why():
    (row,) = read(LOADS, ticket(weight="75"), units={"weight_kg": "t"})
    assert row.unlikely == ("weight, t: 75 (75000 kg) given; usual is 500 to 70000 kg. Is it in kg?",)
    assert not row.is_kept
    (row,) = read(LOADS, ticket(weight="75", why="two trailers"), units={"weight_kg": "t"})
    assert row.is_kept
    assert row.why == "two trailers"


def test_a_ticket_number_on_another_plot_is_unlikely_and_twice_on_one_plot_is_refused():
    known = records(loads=[WEST | {"ticket": "1187", "weight_kg": 18998.0}])
    (row,) = read(LOADS, ticket(), known=known)
    assert "on record for North half, west as well" in row.unlikely[0]
    first, again = read(LOADS, ticket(), ticket())
    assert first.refused == ()
    assert "Row 1 has the same" in again.refused[0]


@pytest.mark.parametrize("name", ["north half", "North  half", "Nоrth half", "North hаlf\u200b", "NORTH HALF"])
def test_a_new_field_that_looks_like_one_on_record_is_unlikely(name):
    known = records(fields=[{"field": "North half"}])
    (row,) = read(FIELDS, {"field": name}, fixed={}, known=known)
    assert any("looks like North half, and would be a second field." in said for said in row.unlikely)


def test_a_new_field_that_looks_like_one_typed_above_is_unlikely_and_one_on_record_is_not():
    known = records(fields=[{"field": "North half"}])
    same, first, again = read(FIELDS, *({"field": one} for one in ("North half", "Slough", "slough")), fixed={},
                              known=known)  # fmt: skip
    assert (same.unlikely, first.unlikely) == ((), ())
    assert again.unlikely == ("field: slough looks like Slough, and would be a second field.",)


def test_a_new_plot_or_bin_that_looks_like_one_of_the_same_field_or_year_is_unlikely():
    known = records(bins=[{"crop_year": 2026, "bin": "Bin 7"}])
    typed = [{"field": field, "plot": "East", "method": "standing", "acres": "40"} for field in ("North half", "Mill")]
    plots = read(PLOTS, *typed, fixed={"crop_year": 2026}, known=known)
    assert ["plot: East looks like east, and would be a second plot." in one.unlikely for one in plots] == [True, False]
    (again,) = read(BINS, {"bin": "BIN 7"}, fixed={"crop_year": 2026}, known=known)
    assert again.unlikely == ("bin: BIN 7 looks like Bin 7, and would be a second bin.",)


def loads(plot, *weights, **more):
    return [
        plot | {"ticket": f"0{n}", "weight_kg": weight, "dockage_pct": 2.0} | more for n, weight in enumerate(weights)
    ]


def test_pounds_typed_as_kg_are_asked_about_beside_the_neighbour_and_do_not_hold_the_save():
    known = records(loads=loads(WEST, 21_000.0, 20_500.0, 21_200.0))
    rows = read(LOADS, *(ticket(str(n), "46300") for n in range(3)), known=known)  # 21,000 kg are 46,297 lb
    assert [row.asks for row in rows[:2]] == [(), ()]
    assert "2.2 times the" in rows[2].asks[0]
    assert "were pounds typed as kg?" in rows[2].asks[0]
    assert all(row.is_kept for row in rows)


def test_right_tickets_are_not_asked_about_while_the_neighbours_are_not_all_in():
    known = records(loads=loads(WEST, 21_000.0))
    rows = read(LOADS, *(ticket(str(n), "21000") for n in range(3)), known=known)
    assert all(row.asks == row.unlikely == () for row in rows)


@pytest.mark.parametrize(("weight", "is_asked"), [("46300", True), ("9500", False), ("30000", False)])
def test_one_load_in_pounds_among_the_others_of_its_plot_is_asked_about(weight, is_asked):
    rows = read(LOADS, *(ticket(str(n), "21000") for n in range(3)), ticket("9", weight))
    assert any("Was it in pounds?" in words for words in rows[3].asks) is is_asked


@pytest.mark.parametrize(("area", "asked"), [("1", "Was 1 sq ft meant"), ("1 sq ft", ""), ("2 sq ft", "")])
def test_a_pan_of_one_square_metre_among_square_feet_is_asked_about(area, asked):
    pan = {"checked_on": "14 Sep", "place": "pan behind combine", "grams": "3", "cut_width_m": "9"}
    pan |= {"discharge_width_m": "2"}
    others = [pan | {"spot": str(n), "area_m2": "1 sq ft"} for n in range(3)]
    rows = read(LOSS_CHECKS, *others, pan | {"spot": "9", "area_m2": area})
    assert any(asked in words for words in rows[3].asks) if asked else rows[3].asks == ()
    assert rows[3].is_kept


def test_a_day_of_weather_without_a_year_is_in_the_crop_year_that_was_chosen():
    frost = {"happened_on": "10 Sep", "event": "frost"}
    (row,) = read_rows(TABLES["weather"], [frost], fixed={}, units={}, records=FARM, crop_year=2026)
    assert row.values["happened_on"] == date(2026, 9, 10)
    (row,) = read_rows(TABLES["weather"], [frost], fixed={}, units={}, records=FARM)
    assert "The year is missing" in row.refused[0]


def test_a_moisture_far_from_all_on_this_farm_is_unlikely():
    loads = [WEST | {"ticket": str(n), "weight_kg": 20_000.0, "moisture_pct": 8 + n / 20} for n in range(20)]
    (row,) = read(LOADS, ticket("99", moisture_pct="14"), known=records(loads=loads))
    assert any("on this farm so far it was 8 to 8.95" in line for line in row.unlikely)
    (row,) = read(LOADS, ticket("99", moisture_pct="14"), known=records(loads=loads[1:]))
    assert not any("on this farm" in line for line in row.unlikely)


def test_a_name_that_is_not_on_record_is_refused_with_the_near_one():
    (row,) = read(LOADS, ticket(field="North half", plot="eas"), fixed={"crop_year": 2026})
    assert any("Is 2026 / North half / east meant?" in line for line in row.refused)


def test_the_side_of_a_pair_must_have_been_cut_that_way():
    pair = {"pair": "A", "standing_field": "North half", "standing_plot": "west", "layout": "split field"}
    (row,) = read(PAIRS, pair, fixed={"crop_year": 2026})
    assert any("a standing plot" in line for line in row.refused)


def test_blank_rows_are_passed_over_and_a_row_without_its_key_is_refused():
    rows = read(LOADS, {}, {"ticket": " "}, {"weight_kg": "18998"})
    assert [row.number for row in rows] == [3]
    assert "ticket: nothing given" in rows[0].refused[0]


def test_a_row_on_record_reads_back_as_it_was():
    known = records(loads=[EAST | {"ticket": "1", "weight_kg": 18998.0, "moisture_pct": 9.1, "dockage_pct": 2.0}])
    for unit in ("kg", "t", "lb", "bu"):
        units = {"weight_kg": unit}
        typed = as_typed(known["loads"].row(0, named=True), LOADS, EAST)
        (row,) = read(LOADS, typed, units=units, known=known)
        assert row.is_as_before


def test_more_than_200_rows_are_sent_to_a_file():
    with pytest.raises(BadInput, match="201 rows given"):
        read(LOADS, *(ticket(str(n)) for n in range(201)))


def test_a_place_with_more_than_200_rows_on_record_is_opened_and_typed_like_any_other():
    """It was shut before, though nothing had been typed."""
    known = records(
        loads=[EAST | {"ticket": str(n), "weight_kg": 18000.0 + n, "moisture_pct": 9.0} for n in range(231)]
    )
    loaded = [as_typed(row, LOADS, EAST) for row in known["loads"].iter_rows(named=True)]
    typed = [*loaded, ticket("new", "18998")]
    rows = read_rows(LOADS, typed, fixed=EAST, units={}, records=known, loaded=loaded)
    assert sum(row.is_as_before for row in rows) == 231
    assert rows[-1].values["weight_kg"] == 18998
    with pytest.raises(BadInput, match="201 rows given"):
        read_rows(
            LOADS, [*loaded, *(ticket(f"n{n}") for n in range(201))], fixed=EAST, units={}, records=known, loaded=loaded
        )


def test_a_comma_that_could_be_thousands_is_asked_about_whatever_else_is_typed():
    """In a file the other numbers may settle it, and that is said; who types is asked."""
    (row,) = read(LOADS, ticket(weight="22,910", moisture_pct="8.9", dockage_pct="1.2"))
    assert "Could be 22910 or 22.910" in row.refused[0]


@pytest.mark.parametrize("grids", [2, pytest.param(10, marks=pytest.mark.slow)])
def test_hundreds_of_typed_weights_are_read_without_a_silent_change(grids):
    draw = random.Random(5)
    for start in range(grids):
        values = [round(draw.uniform(1, 60), draw.choice((1, 2))) for _ in range(100)]
        texts = [str(value).replace(".", draw.choice(",.")) for value in values]
        rows = read(LOADS, *(ticket(f"{start} {n}", text) for n, text in enumerate(texts)), units={"weight_kg": "t"})
        assert [row.values["weight_kg"] for row in rows] == pytest.approx([value * 1000 for value in values])


TEXTS = st.lists(st.text(max_size=30), min_size=4, max_size=4)


@settings(max_examples=15)
@given(TEXTS)
def test_any_text_is_understood_or_refused_but_never_an_error(texts):
    check_texts(texts)


@pytest.mark.slow
@settings(max_examples=200)
@given(TEXTS)
def test_any_text_is_understood_or_refused_200_times(texts):
    check_texts(texts)


def check_texts(texts):
    rows = read(LOADS, dict(zip(("ticket", "weight_kg", "delivered_on", "weighed_by"), texts, strict=True)))
    assert all(row.refused or row.values["ticket"] for row in rows)
    assert len(words(LOADS, rows)) == len(rows)


def test_every_paper_reads_an_empty_grid():
    for paper in PAPERS.values():
        assert read(paper.table, {}, fixed=paper.place(2026, "North half", "east")) == ()


def test_a_distance_may_be_typed_in_miles_and_is_kept_in_km():
    known = records(fields=[{"field": "North half"}, {"field": "Home"}])
    distances = TABLES["field_distances"]
    (row,) = read(
        distances, {"field": "Home", "other_field": "North half", "distance_km": "1,5 mi"}, fixed={}, known=known
    )
    assert row.values["distance_km"] == pytest.approx(1.5 * 1.609344)
    assert row.refused == ()


def test_a_distance_typed_the_other_way_round_is_refused_and_says_where_it_stands():
    known = records(
        fields=[{"field": "North half"}, {"field": "Home"}],
        field_distances=[{"field": "North half", "other_field": "Home", "distance_km": 2.4}],
    )
    distances = TABLES["field_distances"]
    (row,) = read(distances, {"field": "Home", "other_field": "North half", "distance_km": "2"}, fixed={}, known=known)
    assert "on record as North half / Home already" in row.refused[0]


def test_a_day_of_weather_on_the_whole_farm_is_known_again_though_its_key_names_no_field():
    frost = {"happened_on": date(2026, 9, 3), "field": None, "event": "frost", "reading": -2.0, "unit": "C"}
    known = records(weather=[frost])
    typed = as_typed(known["weather"].row(0, named=True), TABLES["weather"], {})
    (row,) = read(TABLES["weather"], typed, fixed={}, known=known)
    assert row.is_as_before


@pytest.fixture(scope="module")
def demo_rows(demo_records):
    """The first rows of each table that has a paper."""
    with open_records(demo_records) as connection:
        return {paper.table.name: read_table(connection, paper.table.name).head(50) for paper in PAPERS.values()}


@pytest.mark.parametrize("paper", PAPERS.values(), ids=lambda paper: paper.name)
def test_a_row_of_the_records_comes_back_from_its_texts_as_it_was(demo_rows, paper):
    rows = demo_rows[paper.table.name]
    fixed = [paper.place(row.get("crop_year"), row.get("field"), row.get("plot")) for row in rows.iter_rows(named=True)]
    for row, place in zip(rows.iter_rows(named=True), fixed, strict=True):
        assert as_recorded(as_typed(row, paper.table, place), paper.table, place) == row


@pytest.mark.parametrize(("comma", "weight"), [("thousands", "22,910"), ("decimal mark", "22,910 t")])
def test_what_the_farm_said_of_the_comma_holds_for_what_is_typed(comma, weight):
    (row,) = read_rows(LOADS, [ticket(weight=weight)], fixed=EAST, units={}, records=FARM, comma=comma)
    assert (row.refused, row.values["weight_kg"]) == ((), 22_910)


def test_a_comma_is_asked_about_all_the_same_where_the_other_numbers_say_otherwise():
    typed = [ticket("1", "22,910"), ticket("2", "18,62 t")]
    rows = read_rows(LOADS, typed, fixed=EAST, units={}, records=FARM, comma="thousands")
    assert "Could be 22910 or 22.910" in rows[0].refused[0]


def test_a_price_may_be_typed_by_the_bushel_of_canola_and_of_no_other_crop():
    """17.20 $/bu at 44.0925 bushels a tonne."""
    fixed = {"crop_year": 2026}
    typed = [{"crop": crop, "grade": "1", "dollars_per_tonne": "17.20"} for crop in ("canola", "oats")]
    canola, oats = read(PRICES, *typed, fixed=fixed, units={"dollars_per_tonne": "$/bu"})
    assert canola.refused == ()
    assert canola.values["dollars_per_tonne"] == pytest.approx(758.39, abs=0.005)
    assert "A bushel of oats does not weigh the 50 lb" in oats.refused[0]


def test_green_seed_and_loss_in_percent_are_taken_as_they_are_and_said_to_be_so():
    slip = read(SAMPLES, {"sample": "1", "green_pct": "1,6"})
    assert words(SAMPLES, slip) == ["= 1.60\u202f% green on the slip, without a count and so without a range"]
    check = {"checked_on": "2026-09-14", "place": "pan behind combine", "spot": "1", "loss_pct": "1.8"}
    (percent,) = read(LOSS_CHECKS, check)
    assert (percent.refused, percent.unlikely) == ((), ())
    assert words(LOSS_CHECKS, [percent]) == ["= 1.8\u202f% of the plot's yield, by somebody else's method"]
    (bare,) = read(LOSS_CHECKS, check | {"loss_pct": "", "grams": "3"})
    assert "the area of the frame or pan" in " ".join(bare.refused)


def test_while_pans_are_typed_it_is_said_what_a_total_needs_on_both_sides():
    pair = {"crop_year": 2026, "pair": "1", "standing_field": "North half", "standing_plot": "east"}
    known = records(pairs=[pair | {"windrowed_field": "North half", "windrowed_plot": "west"}])
    pan = {"checked_on": "2026-09-14", "place": "pan behind combine", "spot": "1", "grams": "3", "area_m2": "1"}
    pan |= {"cut_width_m": "9", "discharge_width_m": "3"}
    ground = pan | {"place": "ground behind header"}
    east, west = loss_lacks(read(LOSS_CHECKS, pan, known=known), known)
    assert east == "North half, east: a total loss needs a count on the ground behind the header too."
    both = "a count on the ground behind the pick-up and a pan behind the combine too."
    assert west == f"North half, west: a total loss needs {both}"
    assert loss_lacks(read(LOSS_CHECKS, pan, ground), FARM) == []


def test_a_row_typed_twice_is_told_by_what_was_typed_alone():
    rows = read(LOADS, ticket("7"), ticket("7"))
    assert rows[1].refused == ("ticket: 7 is typed twice. Row 1 has the same; keep one, or give it a name of its own.",)
