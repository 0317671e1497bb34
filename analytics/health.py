"""Whether the file of the records is sound, and what is missing in it."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from analytics.backups import contents, list_backups
from analytics.database import failed_checks, open_records, read_table, schema_files
from analytics.pairs import pair_rows
from analytics.records import TABLES


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """`problems` are sentences; the file is sound when there are none. Gaps are not a problem, only work left."""

    path: Path
    version: int
    size_bytes: int
    last_backup: datetime | None
    rows: dict[str, int]
    problems: tuple[str, ...]
    pairs: int
    pairs_complete: int
    gaps: tuple[str, ...]

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems


def examine(path: Path) -> Health:
    """Open the file, read every row of every table, run every check. Raises Refused when it cannot be opened."""
    with open_records(path) as connection:
        contents(connection)  # damage shows only where it is read
        backups = list_backups(path)
        rows = {name: read_table(connection, name).height for name in TABLES}
        pairs = pair_rows(connection, "yield")
        gaps = [
            f"Pair {row['pair']}, {row['crop_year']}: {row['missing']}"
            for row in pairs.iter_rows(named=True)
            if row["missing"]
        ]
        return Health(
            path=path,
            version=len(schema_files()),
            size_bytes=path.stat().st_size,
            last_backup=backups[0].made_at if backups else None,
            rows=rows,
            problems=tuple(failed_checks(connection)),
            pairs=pairs.height,
            pairs_complete=pairs.height - len(gaps),
            gaps=tuple(gaps),
        )
