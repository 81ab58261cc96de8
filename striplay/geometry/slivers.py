"""Take slivers off the parts of areas: bits of ground that an overlay's rounding cut off.

What is dropped is lost to the accounts, so how small a sliver is goes by the ground it is cut from.
"""

from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.tolerances import SLIVER_M2, SLIVER_SHARE

Geometries = npt.NDArray[np.object_]


def sliver_m2(ground_m2: float) -> float:
    """Give the area up to which a part of some ground is a sliver, in square meters.

    >>> sliver_m2(1_000.0), sliver_m2(5e7)
    (1e-09, 1e-06)
    """
    return min(SLIVER_M2, SLIVER_SHARE * ground_m2)


def real_parts(
    areas: Any,  # noqa: ANN401 - one geometry or an array
    ground_m2: float | None = None,
) -> tuple[Geometries, npt.NDArray[np.int64]]:
    """Give the polygons in areas, and in collections of them, without slivers and lines.

    Args:
        areas: a geometry, or an array of them.
        ground_m2: of the ground that they were cut from; where None, what they have together.

    Returns:
        The polygons, and which of the areas each is of, (n,).
    """
    parts, source = shapely.get_parts(areas, return_index=True)
    nested, again = shapely.get_parts(parts, return_index=True)
    each_m2 = shapely.area(nested)
    real = each_m2 > sliver_m2(float(each_m2.sum()) if ground_m2 is None else ground_m2)
    return np.asarray(nested[real], dtype=object), source[again[real]].astype(np.int64)
