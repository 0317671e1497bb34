"""The invented field whose truth is known, read, cut and cleaned once for all who look at it."""

from pathlib import Path

import pytest

from analytics.points import reading
from analytics.points.simulated import HOURS_FROM_UTC, SEED, SimulatedField, simulate
from analytics.points.strip_yields import FieldYields, yields_of
from analytics.points.strips import Strip, read_strips_file
from analytics.points.thresholds import AS_STARTED


@pytest.fixture(scope="session")
def field() -> SimulatedField:
    return simulate(SEED)


@pytest.fixture(scope="session")
def files(field: SimulatedField, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ...]:
    """Its points and its strips, in a folder of their own."""
    return field.write(tmp_path_factory.mktemp("field"))


@pytest.fixture(scope="session")
def points(files: tuple[Path, ...]) -> reading.PointFile:
    return reading.read_points(files[0], reading.guess(files[0]), is_utc=True)


@pytest.fixture(scope="session")
def strips(files: tuple[Path, ...], points: reading.PointFile) -> tuple[Strip, ...]:
    return read_strips_file(files[1], points.origin)


@pytest.fixture(scope="session")
def found(points: reading.PointFile, strips: tuple[Strip, ...], field: SimulatedField) -> FieldYields:
    """Its strips' yields, scaled by the certified weight of the field."""
    return yields_of(points, strips, AS_STARTED, certified_kg=field.certified_kg, hours_from_utc=HOURS_FROM_UTC)


@pytest.fixture(scope="session")
def unscaled(points: reading.PointFile, strips: tuple[Strip, ...]) -> FieldYields:
    """The same as the monitor weighs."""
    return yields_of(points, strips, AS_STARTED, hours_from_utc=HOURS_FROM_UTC)
