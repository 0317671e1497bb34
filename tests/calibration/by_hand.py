"""A calibration that is run by hand: how many, from which seed, and where its tables go."""

import argparse
from collections.abc import Callable
from pathlib import Path


def run_by_hand(described: str | None, tables: Callable[[int, int], str], *, of: str, many: int, seed: int) -> None:
    """Write or print tables(many, seed), as Markdown; the options of the command line come before the defaults.

    of : what `many` counts, which is the option's name: "farms", "groups"
    """
    parser = argparse.ArgumentParser(description=described)
    parser.add_argument("-o", type=Path, help="file for the tables; else they are printed")
    parser.add_argument(f"--{of}", dest="many", type=int, default=many)
    parser.add_argument("--seed", type=int, default=seed)
    options = parser.parse_args()
    text = tables(options.many, options.seed)
    if options.o:
        options.o.write_text(text, encoding="utf-8")
    else:
        print(text)
