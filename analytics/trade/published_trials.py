"""Published trials and surveys of the two methods: what was found, where, how, and what it cannot tell.

The table is sql/published/harvest_method_trials.csv, one row a finding, with the edition and the day it was entered.
"""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from analytics.errors import BadInput
from analytics.trade.units import PER_BU_AC

FILE = Path(__file__).resolve().parents[2] / "sql" / "published" / "harvest_method_trials.csv"
OF_YIELD = "% of yield"
SURVEY = "survey"
BU_AC_PER = {unit: 1 / per for unit, per in PER_BU_AC.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedFinding:
    """One finding as it was published.

    topics : what it is about: yield, loss, green_seed, dockage, net_return, early_cutting
    told_of : "difference" (standing less windrowed), "standing", "windrowed", "both methods", "cutting early", "cutting
        later", or "context"
    low, high : the published range, equal for a single figure; None where only words are published; in `unit`
    kind : "small plots", "field scale" or "survey"; in a survey each grower has his own method and his own fields
    cannot_tell : completes "It cannot tell ..."
    read : whether the source was read, or is from memory
    """

    source_id: str
    topics: tuple[str, ...]
    told_of: str
    low: float | None
    high: float | None
    unit: str
    in_words: str
    years: str
    sites: str
    kind: str
    region: str
    crop: str
    cannot_tell: str
    source: str
    read: bool
    edition: str
    entered_on: str

    @property
    def is_survey(self) -> bool:
        """Unlike growers, never an effect of the method."""
        return self.kind == SURVEY

    def in_bu_ac(self, *, yield_bu_ac: float | None = None) -> tuple[float, float] | None:
        """The range in bu/ac; a share of the yield needs the farm's own, else None, as where there are only words."""
        if self.low is None or self.high is None:
            return None
        if self.unit == OF_YIELD:
            return None if yield_bu_ac is None else (self.low * yield_bu_ac / 100, self.high * yield_bu_ac / 100)
        if self.unit not in BU_AC_PER:
            return None
        return self.low * BU_AC_PER[self.unit], self.high * BU_AC_PER[self.unit]


@cache
def published_findings() -> tuple[PublishedFinding, ...]:
    """All of them, as in the table."""
    with FILE.open(encoding="utf-8", newline="") as file:
        return tuple(_finding(row) for row in csv.DictReader(file))


def findings_about(topic: str) -> tuple[PublishedFinding, ...]:
    """Those about one topic. Raises BadInput for one that nothing was published about here."""
    found = tuple(finding for finding in published_findings() if topic in finding.topics)
    if not found:
        known = sorted({topic for finding in published_findings() for topic in finding.topics} - {"context"})
        raise BadInput(f"published trials: {topic!r} given; allowed {', '.join(known)}.")
    return found


def _finding(row: dict[str, str]) -> PublishedFinding:
    return PublishedFinding(
        source_id=row["id"],
        topics=tuple(row["about"].split()),
        told_of=row["told_of"],
        low=float(row["low"]) if row["low"] else None,
        high=float(row["high"]) if row["high"] else None,
        unit=row["number_unit"],
        in_words=row["in_words"],
        years=row["years"],
        sites=row["sites"],
        kind=row["kind"],
        region=row["region"],
        crop=row["crop"],
        cannot_tell=row["cannot_tell"],
        source=row["source"],
        read=row["read_or_memory"] == "read",
        edition=row["edition"],
        entered_on=row["entered_on"],
    )
