"""Write a boundary that was drawn by hand."""

import json
from itertools import pairwise

import numpy as np
import numpy.typing as npt

DRAWN = "drawn"
"""The property that says of a boundary that it is a sketch."""
DECIMALS = 9
"""Of degrees: a tenth of a millimeter, so that what is read closes as it was drawn."""


def drawn_text(lonlat_deg: npt.NDArray[np.float64]) -> bytes:
    """Give a field's outline as GeoJSON, marked as drawn by hand.

    Args:
        lonlat_deg: its corners, longitude and latitude in degrees, WGS 84, (n, 2).
    """
    ring = [[round(float(x), DECIMALS), round(float(y), DECIMALS)] for x, y in lonlat_deg]
    if ring[0] != ring[-1]:
        ring.append(ring[0])
    twice_m2 = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring))
    feature = {
        "type": "Feature",
        "properties": {"name": "drawn by hand", DRAWN: True},
        "geometry": {"type": "Polygon", "coordinates": [ring if twice_m2 > 0 else ring[::-1]]},
    }
    return (json.dumps({"type": "FeatureCollection", "features": [feature]}) + "\n").encode()
