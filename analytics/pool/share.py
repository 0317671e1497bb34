"""What this farm gives to its group: both sides of each pair under codes drawn by lot, and nothing else.

No field's name, ticket, product, note, place or date of the farm is in it. The codes are kept on the farm and are the
same the next year. Values have one decimal more than is shown, which is enough for any answer and tells no ticket.
"""

import io
import secrets
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import duckdb
import polars as pl

from analytics.answer.review import pairs_of
from analytics.errors import BadInput, Refused
from analytics.files.new_files import write_whole
from analytics.pairs.compared_pairs import all_pair_rows, pair_facts
from analytics.pool.share_form import CODE_LETTERS, COLUMNS, ENDINGS, PROGRAM, SAME_IN_ALL, VERSION
from analytics.records.own_tables import SHARE_CODES
from analytics.settings import read_settings
from analytics.statistics.given_pairs import ALLOCATIONS, KINDS
from analytics.statistics.places import field_years, place_names
from analytics.storage.database import read_table
from analytics.storage.history import TableSave, save
from analytics.storage.transactions import transaction
from analytics.trade.measures import MEASURES, find_measure
from analytics.trade.units import MAX_DRY_PCT

ASKED_FOR = ("net_return",)  # money leaves only where it is named
THIS_FARM = "this farm"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Share:
    """What would leave: `rows` with the columns of share_form.COLUMNS, and the codes drawn for it that are not kept
    yet, as rows of share_codes.
    """

    farm: str
    rows: pl.DataFrame
    new_codes: pl.DataFrame

    @property
    def told_once(self) -> list[tuple[str, str]]:
        """What stands in every row alike: column and value."""
        return [(name, str(self.rows[name][0])) for name in SAME_IN_ALL]

    @property
    def told_by_row(self) -> pl.DataFrame:
        """All other columns, all rows, as they leave."""
        return self.rows.drop(SAME_IN_ALL)


def what_could_be_shared(connection: duckdb.DuckDBPyConnection) -> tuple[list[str], list[int]]:
    """Measures and crop years that have a complete pair."""
    return _measures_and_years(_complete(connection))


def _measures_and_years(complete: Mapping[str, pl.DataFrame]) -> tuple[list[str], list[int]]:
    known = {name: rows for name, rows in complete.items() if rows.height}
    years = {year for rows in known.values() for year in rows["crop_year"]}
    return [name for name in MEASURES if name in known], sorted(years)


def unless_named(measures: Iterable[str]) -> list[str]:
    """What is shared where no measure is named."""
    return [name for name in measures if name not in ASKED_FOR]


def prepare_share(
    connection: duckdb.DuckDBPyConnection,
    *,
    measures: Collection[str] = (),
    crop_years: Collection[int] = (),
    shared_at: datetime | None = None,
) -> Share:
    """What would leave this farm; nothing is written, and codes that were not drawn before are only drawn.

    measures : names; none takes all but net return
    crop_years : none takes all
    shared_at : moment of the share, with its time zone; now by default
    Raises BadInput for a measure or year that has no complete pair, Refused where no pair is complete at all.
    """
    complete = _complete(connection)
    known_measures, known_years = _measures_and_years(complete)
    if not known_measures:
        raise Refused("There is nothing to share yet: no pair has both sides. See what is missing: standrow check")
    for name in measures:
        if find_measure(name).name not in known_measures:
            raise BadInput(f"measure: {name} given, of which no pair is complete; allowed {', '.join(known_measures)}.")
    for year in crop_years:
        if year not in known_years:
            allowed = ", ".join(map(str, known_years))
            raise BadInput(f"year: {year} given, of which no pair is complete; allowed {allowed}.")
    codes = _Codes(connection)
    chosen = [name for name in known_measures if name in (measures or unless_named(known_measures))]
    facts, moisture = pair_facts(connection), read_settings(connection).one_moisture_pct
    frames = [_measure_rows(name, complete[name], facts, codes, crop_years or known_years, moisture) for name in chosen]
    rows = pl.concat(frames)
    if rows.is_empty():
        raise BadInput("share: no pair is complete in these measures and years; choose others.")
    moment = (shared_at or datetime.now(UTC)).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    head = {"share_version": VERSION, "program": PROGRAM, "shared_at": moment, "farm": codes.farm}
    whole = rows.with_columns(pl.lit(value).alias(name) for name, value in head.items())
    whole = whole.select(pl.col(name).cast(kind) for name, (kind, _) in COLUMNS.items())
    return Share(farm=codes.farm, rows=whole.sort("measure", "crop_year", "place", "pair"), new_codes=codes.drawn())


def keep_codes(connection: duckdb.DuckDBPyConnection, share: Share, *, done_by: str, source: str) -> None:
    """Keep the codes drawn for this share, so that the next one has the same.

    Raises Refused where somebody else drew one of them since: a farm's code never changes.
    """
    if share.new_codes.is_empty():
        return
    with transaction(connection):
        if share.new_codes.join(read_table(connection, "share_codes"), on=["kind", "name"], how="semi").height:
            raise Refused("Another window drew codes just now, and those hold. Nothing was written. Do it again.")
        change = TableSave(table=SHARE_CODES, saved=share.new_codes, removed=share.new_codes.clear())
        save(connection, [change], done_by=done_by, source=source, why="codes for sharing with a group drawn by lot")


def farm_code(connection: duckdb.DuckDBPyConnection) -> str | None:
    """The code under which this farm shares; None until it has shared."""
    kept = read_table(connection, "share_codes").filter(kind="farm")
    return str(kept["code"][0]) if kept.height else None


def checked_share_ending(name: str) -> str:
    """The ending of a share file. Raises BadInput with the allowed ones."""
    ending = Path(name).suffix.lower()
    if ending not in ENDINGS:
        raise BadInput(f'file: "{Path(name).name}" given; allowed a name that ends in {" or ".join(ENDINGS)}.')
    return ending


def share_bytes(share: Share, ending: str) -> bytes:
    """The file's content; ending : one of share_form.ENDINGS."""
    if ending == ".csv":
        return share.rows.write_csv().encode()
    out = io.BytesIO()
    share.rows.write_parquet(out)
    return out.getvalue()


def write_share(share: Share, path: Path) -> None:
    """Write the file whole or not at all. Raises BadInput for its ending, Refused when it cannot be written."""
    write_whole(path, share_bytes(share, checked_share_ending(path.name)))


def _complete(connection: duckdb.DuckDBPyConnection) -> dict[str, pl.DataFrame]:
    return {
        name: rows.filter(pl.col("barred").is_null()).drop_nulls("difference")
        for name, rows in all_pair_rows(connection).items()
    }


def _measure_rows(
    name: str,
    rows: pl.DataFrame,
    facts: pl.DataFrame,
    codes: "_Codes",
    years: Collection[int],
    moisture: float,
) -> pl.DataFrame:
    """The rows of one measure. A place is that of all its complete pairs: fields that pairs of a year join are one."""
    pairs = pairs_of(rows, facts)
    found = field_years(pairs, pairs.counted)
    places = codes.of_places(place_names(pairs, found))
    known = rows.join(facts, on=["crop_year", "pair"], how="left", maintain_order="left")
    early = pl.Series([None if no else yes for yes, no in zip(pairs.is_early, pairs.is_early_unknown, strict=True)])
    told = {
        "early_cut": early,
        "shatter_tolerant": known["is_shatter_tolerant"],
        "preharvest_product": known["has_preharvest_product"],
        "same_variety": ~known["is_variety_different"],
    }
    decimals = MEASURES[name].decimals + 1
    # Groups compare at one moisture, whatever each farm compares at: yield goes by what is not water.
    factor = (100 - moisture) / (100 - MAX_DRY_PCT) if name == "yield" else 1.0
    frame = pl.DataFrame(
        {
            "crop_year": rows["crop_year"],
            "place": [places[number] for number in found.of_pair.tolist()],
            "name": rows["pair"],
            "kind": [KINDS[number].value for number in pairs.kind.tolist()],
            "allocation": [ALLOCATIONS[number].value for number in pairs.allocation.tolist()],
            **{fact: _yes_no(values) for fact, values in told.items()},
            "standing": (rows["standing"] * factor).round(decimals),
            "windrowed": (rows["windrowed"] * factor).round(decimals),
        }
    )
    numbered = frame.with_columns(pair=codes.numbers(rows), measure=pl.lit(name)).drop("name")
    return numbered.filter(pl.col("crop_year").is_in(list(years)))


def _yes_no(values: pl.Series) -> pl.Series:
    return values.cast(pl.Boolean).replace_strict({True: "yes", False: "no"}, return_dtype=pl.String)


class _Codes:
    """The codes that are kept, and those drawn for names that have none yet."""

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        kept = read_table(connection, "share_codes")
        self._known = {(row["kind"], row["name"]): row["code"] for row in kept.iter_rows(named=True)}
        self._new: dict[tuple[str, str], str] = {}
        numbered = read_table(connection, "pairs").select("crop_year", "pair").sort("crop_year", "pair")
        self._numbered = numbered.with_columns(number=pl.int_range(1, pl.len() + 1).over("crop_year"))
        self.farm = self._code("farm", THIS_FARM)

    def of_places(self, names: Sequence[str]) -> list[str]:
        """A code for each name; of one name always the same."""
        return [self._code("place", name) for name in names]

    def numbers(self, rows: pl.DataFrame) -> pl.Series:
        """The number of each pair among all of its crop year."""
        both = ["crop_year", "pair"]
        return rows.select(both).join(self._numbered, on=both, how="left", maintain_order="left")["number"]

    def drawn(self) -> pl.DataFrame:
        """The new ones as rows of share_codes."""
        rows = [{"kind": kind, "name": name, "code": code} for (kind, name), code in self._new.items()]
        return pl.DataFrame(rows, schema=SHARE_CODES.polars_schema())

    def _code(self, kind: str, name: str) -> str:
        key = (kind, name)
        if key not in self._known:
            taken = set(self._known.values())
            while (code := _lot() if kind == "place" else f"{_lot()}-{_lot()}") in taken:
                pass
            self._known[key] = self._new[key] = code
        return str(self._known[key])


def _lot() -> str:
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(4))
