"""Longitude and latitude as metres east and north of a point near by, and back, without a library of maps."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.errors import BadInput

# The ellipsoid of WGS 84 (defining constants of NIMA TR8350.2; values from memory): half the long axis, and flattening.
LONG_AXIS_M = 6378137.0
FLATTENING = 1 / 298.257223563
SQUARED_ECCENTRICITY = FLATTENING * (2 - FLATTENING)
FARTHEST_M = 30_000.0  # from the origin; beyond it the series is no longer good to a decimetre (our choice, no source)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where east and north are counted from, in degrees; null where a file is in metres already."""

    longitude: float
    latitude: float

    def metres(self, longitude: Array, latitude: Array) -> tuple[Array, Array]:
        """Metres east and north, arrays of the shape given.

        The first terms of the series by which a transverse Mercator projection is worked out around its own centre,
        from the ellipsoid's two radii of curvature (any textbook of geodesy). Within a millimetre of one 5 km off.
        Raises BadInput for points farther off than a field can be.
        >>> east, north = Origin(longitude=-106.0, latitude=52.0).metres(np.array([-106.0]), np.array([52.01]))
        >>> float(east[0]), round(float(north[0]), 1)
        (0.0, 1112.7)
        """
        phi, turned = np.radians(latitude), np.radians(longitude - self.longitude)
        middle = np.radians((latitude + self.latitude) / 2)
        along, across = _radii(middle)[0], _radii(phi)[1]
        north = along * np.radians(latitude - self.latitude) + across * np.sin(phi) * np.cos(phi) * turned**2 / 2
        east = across * np.cos(phi) * turned
        if np.any(np.hypot(east, north) > FARTHEST_M):
            raise BadInput(
                f"points: some lie more than {FARTHEST_M / 1000:.0f} km from the others; allowed one field at a time. "
                "Are longitude and latitude exchanged, or is a 0 among them?"
            )
        return east, north

    def degrees(self, east: float, north: float) -> tuple[float, float]:
        """Longitude and latitude of a point in metres; the other way round, to a millimetre on a field."""
        longitude, latitude = self.longitude, self.latitude
        for _ in range(6):
            found = self.metres(np.array([longitude]), np.array([latitude]))
            along, across = _radii(np.radians(np.array([latitude])))
            longitude += float(np.degrees((east - found[0][0]) / (across[0] * np.cos(np.radians(latitude)))))
            latitude += float(np.degrees((north - found[1][0]) / along[0]))
        return longitude, latitude


def _radii(phi: Array) -> tuple[Array, Array]:
    """Radius of curvature along the meridian and across it, metres, at a latitude in radians."""
    below = 1 - SQUARED_ECCENTRICITY * np.sin(phi) ** 2
    return LONG_AXIS_M * (1 - SQUARED_ECCENTRICITY) / below**1.5, LONG_AXIS_M / np.sqrt(below)
