"""The share files of a folder: all of them checked, and of a farm and crop year the newest kept."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from analytics.errors import BadInput, Refused
from analytics.pool.share_files import CheckedShare, checked_path, checked_share, largest_bytes
from analytics.pool.share_form import ENDINGS, RECORDS_ENDING
from analytics.pool.workers import for_each
from analytics.records.faults import Faults, fault_lines
from analytics.storage.checkpoints import log_of
from analytics.trade.numbers_as_text import count

MOST_FILES = 20_000
AT_ONCE = 500  # files handed to a cluster at a time
LARGEST_FOLDER = 4_000_000_000  # bytes of all files together; our choice, no source


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupRows:
    """What a group's files hold together.

    rows : columns of share_files.READ, by farm and crop year
    farms : codes, in order; files : how many were read
    newest : moment of the newest share; replaced : farm-years of which an older share was passed over
    """

    rows: pl.DataFrame
    farms: tuple[str, ...]
    files: int
    newest: str
    replaced: int


def read_group(folder: Path, *, workers: int = 1, cluster: str | None = None) -> GroupRows:
    """The share files in a folder, and records files, each read as what it would share; others are passed over.

    workers, cluster : where the files are checked, see workers.for_each; the result is the same
    Raises BadInput with every fault of every file, Refused where the folder cannot be read.
    """
    try:
        if not folder.is_dir():
            raise BadInput(f"{folder}: there is no such folder. Put the share files of the group in one and name it.")
        read = (*ENDINGS, RECORDS_ENDING)
        found = [file for file in sorted(folder.iterdir()) if file.suffix.lower() in read and file.is_file()]
        opened = [file.name for file in found if file.suffix.lower() == RECORDS_ENDING and log_of(file).exists()]
        size = sum(file.stat().st_size for file in found)
    except OSError as problem:
        raise Refused(f"{folder} cannot be read: {problem.strerror}. Check that you may open it.") from problem
    if opened:
        raise BadInput(
            f"{folder}: {', '.join(opened[:5])} is open in a program, or was when it was copied; allowed records that "
            "were closed. Make a backup there, and put that in its place: standrow backup"
        )
    found = [file for file in found if not file.name.startswith(".")]
    if not found:
        raise BadInput(f"{folder}: no share file is in it; allowed files that end in {' or '.join(ENDINGS)}.")
    if len(found) > MOST_FILES or size > LARGEST_FOLDER:
        raise BadInput(
            f"{folder}: {count(len(found), 'file')}, {size / 1e6:,.0f} MB; allowed {MOST_FILES:,} files and "
            f"{LARGEST_FOLDER / 1e6:,.0f} MB. Take out what is no share file."
        )
    if cluster is None:
        return put_together(for_each(checked_path, [str(file) for file in found], workers=workers))
    # The machines of a cluster need not see the folder, so they get what is in the files, a stretch at a time.
    stretches = (found[start : start + AT_ONCE] for start in range(0, len(found), AT_ONCE))
    return put_together(
        share
        for stretch in stretches
        for share in for_each(_checked, [_content(file) for file in stretch], workers=workers, cluster=cluster)
    )


def read_group_uploads(files: Iterable[tuple[str, bytes]]) -> GroupRows:
    """The same of files given as name and content. Raises BadInput with every fault."""
    return put_together(checked_share(name, content) for name, content in files)


def put_together(shares: Iterable[CheckedShare]) -> GroupRows:
    """Checked files as one group. Raises BadInput with every fault of every file."""
    faults, kept = Faults(), list[CheckedShare]()
    for share in shares:
        faults.add_all(share.faults)
        if not share.faults.total:
            kept.append(share)
    if faults.total:
        told = fault_lines(faults.listed(), faults.total)
        raise BadInput(f"Nothing was pooled, because of {count(faults.total, 'fault')}:\n{told}")
    # With the newest first, the first share of a farm and crop year is the one that counts.
    kept.sort(key=lambda share: (share.shared_at, share.label), reverse=True)
    _refuse_two_of_one_moment(kept)
    taken: set[tuple[str, int]] = set()
    replaced, frames = 0, []
    for share in kept:
        years = set(share.rows["crop_year"].unique())
        new = [year for year in years if (str(share.farm), year) not in taken]
        replaced += len(years) - len(new)
        taken |= {(str(share.farm), year) for year in new}
        frames.append(share.rows if len(new) == len(years) else share.rows.filter(pl.col("crop_year").is_in(new)))
    rows = pl.concat(frames).sort("farm", "crop_year", "measure", "place", "pair")
    return GroupRows(
        rows=rows,
        farms=tuple(rows["farm"].unique().sort()),
        files=len(kept),
        newest=kept[0].shared_at,
        replaced=replaced,
    )


def _refuse_two_of_one_moment(kept: list[CheckedShare]) -> None:
    by_moment: dict[tuple[str | None, str], CheckedShare] = {}
    for share in kept:
        other = by_moment.setdefault((share.farm, share.shared_at), share)
        if other is not share and not other.rows.equals(share.rows):
            raise BadInput(
                f"{share.label} and {other.label}: two different shares of one farm and one moment; allowed one. Take "
                "out the one that is not the farm's."
            )


def _content(file: Path) -> tuple[str, bytes]:
    """Name and content; of a file that cannot be read, or is too large, as much as makes it a fault."""
    try:
        with file.open("rb") as opened:
            return file.name, opened.read(largest_bytes(file.name) + 1)
    except OSError:
        return file.name, b""


def _checked(file: tuple[str, bytes]) -> CheckedShare:
    return checked_share(*file)
