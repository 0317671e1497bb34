"""Files given as names and contents, checked as an import checks them; and those of a farm of two plots."""

from collections.abc import Sequence
from functools import cache

import polars as pl

from analytics.files import text_tables
from analytics.files.import_plan import ImportPlan, Incoming, check_incoming
from analytics.records.own_tables import SAVED_TABLES


def incoming_of(files: Sequence[tuple[str, bytes]]) -> Incoming:
    """The tables of CSV files or a workbook, typed and checked."""
    found = text_tables.read_files(files, SAVED_TABLES)
    return check_incoming(found, found.tables)


FARM = {
    "fields": "field,acres\nHome,160\nEast,80\n",
    "plots": "crop_year,field,plot,method,acres,windrowed_on,harvested_on\n"
    "2024,Home,north,standing,80,,2024-09-14\n"
    "2024,Home,south,windrowed,80,2024-08-28,2024-09-10\n",
    "pairs": "crop_year,pair,standing_field,standing_plot,windrowed_field,windrowed_plot,layout\n"
    "2024,H1,Home,north,Home,south,split field\n",
    "loads": "crop_year,field,plot,ticket,delivered_on,weight_kg,moisture_pct,dockage_pct,weighed_by\n"
    "2024,Home,north,1187,2024-09-14,18620,8.9,1.2,certified scale\n"
    "2024,Home,south,1188,2024-09-10,20310,9.4,1.0,certified scale\n",
}


def incoming(**files: str) -> Incoming:
    return incoming_of([(f"{name}.csv", text.encode()) for name, text in files.items()])


def farm(**changed: str) -> Incoming:
    """The farm of two plots with some files changed."""
    return incoming(**{**FARM, **changed})


@cache
def on_record() -> dict[str, pl.DataFrame]:
    return farm().tables


def sentences(found: Incoming | ImportPlan) -> list[str]:
    return [str(fault) for fault in found.faults]


def loads(*rows: str, header: str = FARM["loads"].splitlines()[0]) -> str:
    return "\n".join([header, *rows]) + "\n"


def one_load(**cells: str) -> Incoming:
    """One load in which some cells are changed."""
    row = {
        "crop_year": "2024",
        "field": "Home",
        "plot": "north",
        "ticket": "1187",
        "delivered_on": "2024-09-14",
        "weight_kg": "18620",
        "moisture_pct": "8.9",
        "dockage_pct": "1.2",
        "weighed_by": "certified scale",
    } | cells
    return incoming(loads="\t".join(row) + "\n" + "\t".join(row.values()) + "\n")


def load_value(column: str, text: str) -> object:
    found = one_load(**{column: text})
    assert sentences(found) == []
    return found.tables["loads"][column][0]


def only_fault(found: Incoming | ImportPlan) -> str:
    (fault,) = sentences(found)
    return fault
