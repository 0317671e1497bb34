"""The command compares the pairs of a file: as published, as one object, and refused with the place."""

import json
import math
from pathlib import Path

import pytest

from tests.published import loader


@pytest.fixture
def pairs_file(tmp_path):
    """Call with a header and rows for the path of a CSV."""

    def write(header: str, *rows: object, name: str = "trial.csv") -> Path:
        path = tmp_path / name
        path.write_text(
            "\n".join([header, *(row if isinstance(row, str) else ",".join(map(str, row)) for row in rows)])
        )
        return path

    return write


def test_student_1908_kiln_dried_barley_pairs_over_two_years(standrow, pairs_file):
    """Student 1908, Biometrika 6:1-25, p. 24; exact p and Hodges-Lehmann from R, see tests/published."""
    published = loader.published("student_kiln_dried")
    data = published["data"]
    path = pairs_file(
        "crop_year,standing,windrowed", *zip(data["year"], data["not_kiln_dried"], data["kiln_dried"], strict=True)
    )
    code, out, _ = standrow("compare", "--pairs", path, "--measure", "head corn", "--unit", "lb/ac", "--json")
    got = json.loads(out)
    assert code == 0
    assert counts_of(got) == (11, 11, 2, 0)
    assert got["these_fields"]["estimate"] == pytest.approx(-33.7, abs=0.05)
    assert (got["means"]["standing"], got["means"]["windrowed"]) == pytest.approx((1841.5, 1875.2), abs=0.05)
    assert got["exact"]["sign_flip_p"] == pytest.approx(
        published["expected"]["signflip_p_two_sided"]["value"], rel=1e-9
    )
    assert got["exact"]["hodges_lehmann_low"] == published["expected"]["hodges_lehmann_ci95"]["value"][0]
    assert got["years_to_come"]["finding"] == "too_few"


@pytest.mark.parametrize(
    ("name", "sides"),
    [("preece_barley_12_farms", ("first", "second")), ("immer_barley", ("y1931", "y1932"))],
)
def test_published_farm_pairs_give_the_published_figures(standrow, pairs_file, name, sides):
    """Sources in tests/published; values from R 4.2.2 t.test, exactRankTests and order statistics."""
    published = loader.published(name)
    expected = published["expected"]
    rows = zip(*(published["data"][side] for side in sides), strict=True)
    _, out, _ = standrow("compare", "--pairs", pairs_file("standing,windrowed", *rows), "--json")
    got = json.loads(out)
    these, exact = got["these_fields"], got["exact"]
    assert these["estimate"] == pytest.approx(expected["mean_difference"]["value"], rel=1e-8)
    assert (these["low"], these["high"]) == pytest.approx(expected["t_ci95"]["value"], rel=1e-8)
    assert these["p_value"] == pytest.approx(expected["t_p_two_sided"]["value"], rel=1e-6)
    assert exact["sign_flip_p"] == pytest.approx(expected["signflip_p_two_sided"]["value"], rel=1e-6)
    assert exact["wilcoxon_p"] == pytest.approx(expected["wilcoxon_exact_p"]["value"], rel=1e-6)


def test_immer_as_six_locations_is_the_honest_answer(standrow, pairs_file):
    """Immer 1934 by location means: t 1.66 with 5 df, p 0.158 (R), where 30 pairs give p 0.002."""
    published = loader.published("immer_barley")
    data, expected = published["data"], published["expected"]["by_location_means"]
    rows = zip(data["location"], data["y1931"], data["y1932"], strict=True)
    _, out, _ = standrow("compare", "--pairs", pairs_file("field,standing,windrowed", *rows), "--json")
    these = json.loads(out)["these_fields"]
    assert these["df"] == 5
    assert these["p_value"] == pytest.approx(expected["p"]["value"], rel=1e-6)


def test_the_object_has_the_keys_of_the_contract(standrow, pairs_file):
    _, out, _ = standrow("compare", "--pairs", pairs_file("standing,windrowed", (3, 1), (4, 3), (6, 2)), "--json")
    got = json.loads(out)
    head = "measure unit direction level margin counts means these_fields years_to_come fields_not_tried basis carries"
    middle = "years_agree firm holm looks shrunken from_published depends_on exact planning by_year field_years"
    assert list(got) == [*head.split(), *middle.split(), "pairs", "cautions", "sentence"]
    answer = (
        "estimate std_error df low high p_value equivalence_low equivalence_high scope finding small better "
        "equivalence_p pairs field_years years"
    )
    assert set(got["these_fields"]) == set(answer.split())
    assert got["basis"] == {"these_fields": "all", "years_to_come": "all", "is_fixed": False}
    row = "row question pairs field_years years estimate low high not_known"
    assert [set(line) for line in got["carries"]] == [set(row.split())] * 16
    assert set(got["years_agree"]) == {"f_p", "gail_simon_p", "disagree", "highest", "lowest"}
    assert set(got["firm"]) == {"leave_one_out", "exact_agrees", "drawn_by_lot"}
    left_out = "question left_out finding is_changed estimate low high"
    assert set(got["firm"]["leave_one_out"][0]) == set(left_out.split())
    assert set(got["fields_not_tried"]) == {"finding", "reason"}
    assert got["years_to_come"]["finding"] == "too_few"
    assert "one year" in got["years_to_come"]["reason"]
    pair = "crop_year field pair standing windrowed difference place kind allocation in_these in_to_come share barred"
    assert set(got["pairs"][0]) == set(pair.split())
    assert set(got["by_year"][0]) == {"crop_year", "field_years", "estimate", "low", "high"}


def test_a_file_of_pairs_names_farms_fields_layouts_and_allocation(standrow, pairs_file):
    path = pairs_file(
        "farm,crop_year,standing_field,windrowed_field,layout,allocation,standing,windrowed",
        ("one", 2024, "Home", "Home", "split field", "drawn by lot", 41.2, 40),
        ("two", 2024, "Home", "Home", "strips", "drawn by lot", 42, 41.5),
        ("one", 2025, "Creek", "Creek", "", "", 39, 40.1),
        ("one", 2025, "Bluff", "Ridge", "neighbouring fields", "chosen", 50, 40),
        ("one", 2025, "Gate", "Long", "matched after harvest", "chosen", 51, 40),
    )
    code, out, err = standrow("compare", "--pairs", path, "--json")
    assert code == 0, err
    got = json.loads(out)
    assert counts_of(got) == (3, 3, 2, 0)
    assert got["counts"]["all"]["pairs"] == 5
    assert [pair["kind"] for pair in got["pairs"]] == ["one_field"] * 3 + ["two_fields", "matched"]
    assert [pair["place"] for pair in got["pairs"][:2]] == ["one, Home", "two, Home"]
    assert [pair["allocation"] for pair in got["pairs"][1:4]] == ["drawn", "not_known", "chosen"]
    assert got["basis"]["these_fields"] == "one_field"


@pytest.mark.parametrize(
    ("header", "row", "words"),
    [
        ("standing_field,windrowed_field,layout", "A,B,split field", "split field in A and B given; allowed split"),
        ("standing_field,windrowed_field,layout", "A,A,neighbouring fields", "neighbouring fields in A given"),
        ("field,layout", "A,halves", "layout: halves given; allowed split field, strips"),
        ("field,layout", "A,split", "neighbouring fields, matched after harvest. Is split field meant?\n"),
        ("field,allocation", "A,tossed", "allocation: tossed given; allowed drawn by lot, chosen.\n"),
        ("field,standing_field,windrowed_field", "A,A,A", "Leave out field, or standing_field and windrowed_field."),
        ("standing_field", "A", "Beside standing_field belongs the field of the other side."),
        ("field", '""', "row 1, field: blank given; allowed a field's name"),
    ],
)
def test_names_and_layouts_that_do_not_fit_are_refused(standrow, pairs_file, header, row, words):
    code, out, err = standrow("compare", "--pairs", pairs_file(f"{header},standing,windrowed", f"{row},2,1"), "--json")
    assert (code, out) == (2, "")
    assert words in err


def test_more_than_ten_thousand_pairs_are_compared_and_listed_when_asked(standrow, pairs_file):
    rows = [(40 + math.sin(number), 39 + math.cos(2 * number)) for number in range(10_001)]
    path = pairs_file("standing,windrowed", *rows)
    short, listed = (
        json.loads(standrow("compare", "--pairs", path, "--json", *option)[1]) for option in ((), ("--list-pairs",))
    )
    assert [len(short["pairs"]), len(listed["pairs"])] == [0, 10_001]
    assert short["counts"]["pairs"] == 10_001
    assert short["these_fields"]["estimate"] == pytest.approx(sum(a - b for a, b in rows) / 10_001)


def test_options_govern_a_file_of_pairs(standrow, pairs_file):
    path = pairs_file("standing,windrowed", (1.0, 2.1), (0.5, 1.4), (0.9, 2.2), (1.1, 2.0))
    _, out, _ = standrow(
        "compare",
        "--pairs",
        path,
        "--measure",
        "green",
        "--unit",
        "%",
        "--lower-is-better",
        "--level",
        "0.9",
        "--margin",
        "0.5",
        "--json",
    )
    got = json.loads(out)
    assert (got["measure"], got["unit"], got["direction"], got["level"], got["margin"]) == (
        "green",
        "%",
        "lower",
        0.9,
        0.5,
    )
    assert (got["these_fields"]["finding"], got["these_fields"]["better"]) == ("standing_lower", "standing")


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([], "no complete pair"),
        ([(41, 40)], "at least 3"),
        ([(41, 40), (42, 41)], "at least 3"),
        ([(41, 40), (42, 41), (44, 43)], "no spread"),
    ],
    ids=["none", "one", "two", "all equal"],
)
def test_too_few_says_why_and_holds_no_nan(standrow, pairs_file, rows, words):
    code, out, _ = standrow("compare", "--pairs", pairs_file("standing,windrowed", *rows), "--json")
    got = json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} in the JSON"))
    assert code == 0
    assert got["these_fields"]["finding"] == "too_few"
    assert words in got["these_fields"]["reason"]


def test_numbers_are_read_as_any_program_writes_them(standrow, pairs_file):
    path = pairs_file("standing,windrowed", ("1e+05", "9.9999e4"), ("4.82e-05", "-1E-5"), (2, "1.5"))
    code, out, _ = standrow("compare", "--pairs", path, "--json")
    assert code == 0
    assert [pair["difference"] for pair in json.loads(out)["pairs"]] == pytest.approx([1.0, 5.82e-05, 0.5])


def test_a_row_that_lacks_a_side_is_left_out_and_counted(standrow, pairs_file):
    path = pairs_file("standing,windrowed", (41, 40), (45, ""), ("", 39), (43, 41.5), (44, 41))
    _, out, _ = standrow("compare", "--pairs", path, "--json")
    assert counts_of(json.loads(out)) == (3, 3, 1, 2)


@pytest.mark.parametrize(
    ("header", "row", "words"),
    [
        ("standing,windrowed", "41,forty", "row 2, windrowed: forty given; allowed a number"),
        ("standing,windrowed", "inf,40", "row 2, standing: inf given; allowed a number"),
        ("standing,windrowed", "41,1e999", "row 2, windrowed: 1e999 given; allowed a number"),
        ("standing,swathed", "41,40", "Missing: windrowed. Not known: swathed."),
        ("standing,windrowed,crop_year", "41,40,2024.5", "row 2, crop_year: 2024.5 given; allowed a whole number"),
    ],
)
def test_a_faulty_file_is_refused_with_the_place(standrow, pairs_file, header, row, words):
    code, out, err = standrow("compare", "--pairs", pairs_file(header, row), "--json")
    assert (code, out) == (2, "")
    assert words in err


@pytest.mark.parametrize("option", [("--level", "1"), ("--level", "0.5"), ("--margin", "0"), ("--margin", "-1")])
def test_an_option_out_of_range_is_bad_input(standrow, pairs_file, option):
    code, _, err = standrow("compare", "--pairs", pairs_file("standing,windrowed", (2, 1), (3, 1), (4, 1.5)), *option)
    assert code == 2
    assert "allowed" in err


def test_two_years_of_yield_are_told_beside_the_published_trials_in_words_and_as_an_object(standrow, pairs_file):
    path = pairs_file(
        "crop_year,field,standing,windrowed",
        (2024, "North half", 41.2, 40),
        (2024, "Creek quarter", 43.4, 40),
        (2025, "North half", 42, 40),
        (2025, "Creek quarter", 39, 40),
    )
    _, out, _ = standrow("compare", "--pairs", path)
    said = " ".join(out.split())
    begun = said.index("What have others found? bu/ac, standing minus windrowed")
    places = [said.index(whose, begun) for whose in ("Published by others", "This farm's own", "Both together")]
    assert places == sorted(places)
    got = json.loads(standrow("compare", "--pairs", path, "--json")[1])
    assert got["from_published"]["years"] == 2
    assert got["from_published"]["sentence"] in said
    assert got["years_to_come"]["finding"] == "too_few"
    got = json.loads(standrow("compare", "--pairs", path, "--measure", "moisture", "--json")[1])
    assert got["from_published"] is None


def test_a_file_of_pairs_that_is_not_there_is_asked_for_by_its_columns(standrow, tmp_path):
    code, _, said = standrow("compare", "--pairs", tmp_path / "none.csv")
    assert code == 2
    assert "there is no such file. Give a CSV or an .xlsx with the columns standing, windrowed." in said


def counts_of(got):
    return tuple(got["counts"][name] for name in ("pairs", "field_years", "years", "left_out"))
