"""`standrow points`: the invented file goes in, the pairs come out, and nothing is kept before it is said so."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from analytics import cli
from analytics.errors import BadInput
from analytics.points.simulated import HOURS_FROM_UTC
from analytics.storage.database import open_records, read_table
from tests.prepared import begun


@pytest.fixture(scope="module")
def example(files: tuple[Path, ...]) -> Path:
    """The folder of the invented field."""
    return files[0].parent


def run(*options: object, answer: str = "") -> str:
    """What the command prints, its lines in one."""
    got = CliRunner().invoke(cli.app, ["points", *map(str, options)], input=answer)
    if got.exception is not None and not isinstance(got.exception, SystemExit):
        raise got.exception
    return " ".join(got.output.split())


@pytest.fixture(scope="module")
def no_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records without a row, into which nothing may come."""
    path = tmp_path_factory.mktemp("empty") / "records.duckdb"
    with begun(path):
        return path


def given(example: Path, records: Path) -> list[object]:
    files = [example / "monitor points.csv", "--strips", example / "strips.csv", "--records", records]
    return [*files, "--utc", "--hours-from-utc", HOURS_FROM_UTC]


def test_the_example_goes_into_new_records_and_comes_out_as_pairs(example, field, tmp_path):
    records = tmp_path / "records.duckdb"
    said = run(*given(example, records), "--certified-kg", field.certified_kg, "--yes")
    assert "line up best at a delay of 10.2 s" in said
    assert "standing plots yielded 1.6 bu/ac more (0.3 to 2.8)" in said.lower()  # 90 kg/ha, 1.6 bu/ac, was put in
    assert "Kept: 12 strips as plots with a load each, and 6 pairs. To take it back: standrow undo 1" in said
    with open_records(records) as connection:
        assert read_table(connection, "pairs").height == 6


def test_unscaled_points_carry_no_answer_and_nothing_is_kept_without_a_yes(example, no_records):
    said = run(*given(example, no_records), answer="n\n")
    assert "Unscaled: no certified weight stands behind these yields, so they carry no answer." in said
    assert "plots yielded" not in said
    assert "Nothing was written." in said
    with open_records(no_records) as connection:
        assert read_table(connection, "plots").is_empty()


def test_without_strips_the_passes_are_listed(example):
    said = run(example / "monitor points.csv", "--utc")
    assert "Passes, from left to right within each heading" in said
    assert "Say which strip each is in" in said


def test_the_example_is_written_with_how_to_use_it(tmp_path):
    assert "--certified-kg 29727" in run("--example", tmp_path / "new")
    assert (tmp_path / "new" / "monitor points.csv").stat().st_size < 600_000


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ([], "no file given"),
        (["--threshold", "stars=1"], "threshold: stars given"),
        (["--threshold", "start_m"], "--threshold: start_m given; allowed a name, =, and a value"),
        (["--column", "flow_kg_s=Nothing"], "no column nothing"),
        (["--column", "speed=Flow (lb/s)"], "points: speed given; allowed recorded_at"),
        (["--strips", "strips.csv", "--certified-kg", "0"], "certified kg: 0 given; allowed 1 to 50000000"),
        (["--strips", "strips.csv", "--delay", "900"], "delay, s: 900 given; allowed −60 to 120"),
        (["--unit", "flow_kg_s=stone"], "flow_kg_s: unit 'stone' given; allowed kg/s, lb/s"),
    ],
)
def test_what_cannot_be_done_is_told(example, no_records, options, says):
    files = [example / "monitor points.csv", "--records", no_records] if options else []
    options = [example / one if one == "strips.csv" else one for one in options]
    with pytest.raises(BadInput, match=says.replace("(", r"\(").replace(")", r"\)")):
        run(*files, *options)


def test_the_example_never_replaces_a_file_of_the_user(field, tmp_path):
    (tmp_path / "strips.csv").write_text("mine")
    with pytest.raises(BadInput, match=r"holds strips\.csv already"):
        field.write(tmp_path)
    assert [(file.name, file.read_text()) for file in tmp_path.iterdir()] == [("strips.csv", "mine")]
