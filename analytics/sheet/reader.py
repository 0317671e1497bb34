"""Who reads a sheet."""

from enum import StrEnum


class Reader(StrEnum):
    """Who the sheet is for."""

    BANKER = "banker"
    AGRONOMIST = "agronomist"
