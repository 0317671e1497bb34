"""How long files of pairs of many farms take beside the engine's own reading: python -m tests.benchmarks.group_sizes

    [50000 500000 ...]

For each size a file is made, DuckDB reads and groups it in a process of its own, then `standrow compare --pairs --json`
answers everything asked of it, in another. Last figures: groups.md beside this file.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import polars as pl

from tests.benchmarks.measured import STANDROW, program_cost

SIZES = (50_000, 500_000, 4_999_999)  # the last is as many lines as are read at a time
PAIRS_A_FARM, YEARS = 250, 6
ENGINE = """
import duckdb, sys
query = "select farm, crop_year, field, avg(standing - windrowed), count(*) from read_csv($file) group by all"
duckdb.connect().execute(query, {"file": sys.argv[1]}).fetchnumpy()
"""


def write_pairs(path: Path, pairs: int) -> None:
    """Farms with effects of their own in years that all share; two strips on each field."""
    random = np.random.default_rng(3)
    farms = max(pairs // PAIRS_A_FARM, 4)
    place = np.arange(pairs)
    farm, year, field = place % farms, place // farms % YEARS, place // farms // YEARS // 2
    of_farm, of_year = random.normal(size=farms), random.normal(size=YEARS)
    windrowed = np.round(40 + 6 * random.normal(size=pairs), 1)
    gap = of_farm[farm] + of_year[year] + 2.5 * random.normal(size=pairs)
    columns = {
        "farm": [f"f{number}" for number in farm],
        "crop_year": 2020 + year,
        "field": field,
        "standing": np.round(windrowed + gap, 1),
        "windrowed": windrowed,
    }
    pl.DataFrame(columns).write_csv(path)


def main() -> None:
    sizes = [int(given) for given in sys.argv[1:]] or SIZES
    print(
        "| pairs | file, MB | DuckDB, s | compare, s | times | DuckDB, processor, s | compare, processor, s | times | "
        "memory, MB |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    )
    with TemporaryDirectory() as folder:
        for pairs in sizes:
            file = Path(folder) / "pairs.csv"
            write_pairs(file, pairs)
            engines = [program_cost([sys.executable, "-c", ENGINE, str(file)]) for _ in range(3)]
            runs = [program_cost([*STANDROW, "compare", "--pairs", str(file), "--json"]) for _ in range(2)]
            seconds = [min(cost.clock_ms for cost in costs) / 1000 for costs in (engines, runs)]
            processor = [min(cost.processor_ms for cost in costs) / 1000 for costs in (engines, runs)]
            memory = max(cost.memory_mb for cost in runs)
            print(
                f"| {pairs:,} | {file.stat().st_size / 1e6:,.0f} | {seconds[0]:.2f} | {seconds[1]:.2f} | "
                f"{seconds[1] / seconds[0]:.1f} | {processor[0]:.2f} | {processor[1]:.2f} | "
                f"{processor[1] / processor[0]:.1f} | {memory:,.0f} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
