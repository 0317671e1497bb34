"""A group's answers as the objects that other programs read: unknown is null, and so is what may not be shown."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from analytics.answer.as_json import COUNTED
from analytics.pool import group_words
from analytics.pool.farms_object import answer_object, farms_object
from analytics.pool.group_files import GroupRows
from analytics.pool.group_review import FarmsDependOn, GroupMeasure, GroupRow
from analytics.pool.share_form import PROGRAM


def group_json(group: GroupRows, found: Mapping[str, GroupMeasure], *, own: str | None) -> str:
    """The object of `standrow pool --json`. own : this farm's code, where it is known."""
    years = group.rows["crop_year"].unique().sort().to_list()
    whole = {
        "program": PROGRAM,
        "newest_share": group.newest,
        "farms": len(group.farms),
        "files": group.files,
        "replaced_farm_years": group.replaced,
        "crop_years": years,
        "this_farm": own if own in group.farms else None,
        "measures": [_measure(one) for one in found.values()],
    }
    return json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False)


def _measure(one: GroupMeasure) -> dict[str, Any]:
    comparison = one.comparison
    return {
        "measure": comparison.measure,
        "unit": comparison.unit,
        "direction": comparison.direction,
        "level": comparison.level,
        "margin": comparison.margin,
        "counts": {"farms": one.farms, **{name: getattr(comparison, name) for name in COUNTED}},
        "basis": comparison.these_fields.basis,
        "these_records": answer_object(comparison.these_fields),
        **farms_object(one.answers),
        "holm": None if one.holm is None else asdict(one.holm),
        "years_agree": {"f_p": comparison.years_agree.f_p, "gail_simon_p": comparison.years_agree.gail_simon_p},
        "by_year": [asdict(year) for year in comparison.by_year],
        "years_not_shown": one.hidden_years,
        "carries": [_row(row) for row in one.carries],
        "depends_on": [_depends_on(line) for line in one.depends_on],
        "cautions": list(group_words.group_cautions(one)),
        "sentence": group_words.group_sentence(one),
    }


def _row(row: GroupRow) -> dict[str, Any]:
    told = {"these_records": row.these_records, "another_farm": row.another_farm}
    ranges = {
        name: None if values is None else dict(zip(("estimate", "low", "high"), values, strict=True))
        for name, values in told.items()
    }
    counts = {"farms": row.farms, "field_years": row.field_years}
    return {"row": row.row, "is_hidden": row.is_hidden, **counts, **ranges}


def _depends_on(line: FarmsDependOn) -> dict[str, Any]:
    if isinstance(line.found, str):
        return {"name": line.name, "reason": line.found}
    found = {name.rstrip("_"): value for name, value in asdict(line.found).items()}
    numbers = {name: getattr(line, name) for name in ("low", "high", "p", "holm_p", "field_years")}
    return {"name": line.name, **found, **numbers}
