"""Make the mark of a plan on its field, so that sheets and files of one version are told apart."""

import hashlib
import json
from collections.abc import Iterable

import numpy as np
import shapely

from striplay.ground import Ground
from striplay.plan.models import Plan

LETTERS = 8
"""Letters of a mark: two versions share one by chance once in four billion."""
DECIMALS = 8
"""Places of degrees of the boundary that count: about a millimeter."""
LEFT_OUT = ("path", "printed", "paper", "ink", "files", "field", "monitor")
"""Keys that change how a plan is shown, not what it is, and where its boundary comes from."""


def mark_of(plan: Plan, ground: Ground, contents: Iterable[bytes] = ()) -> str:
    """Give the mark: eight letters of the SHA-256 hash of a plan and its field's boundary.

    Args:
        plan: all of it counts but how it is shown.
        ground: its outline and obstacles count, in degrees.
        contents: of the other files that the plan names.
    """
    said = plan.model_dump(mode="json", exclude=set(LEFT_OUT), serialize_as_any=True)
    shapes = [ground.outline, ground.obstacles]
    points_m, shape = shapely.get_coordinates(shapes, return_index=True)
    degrees = np.round(ground.plane.to_lonlat(points_m), DECIMALS) + 0.0
    hashed = hashlib.sha256(json.dumps(said, sort_keys=True).encode())
    hashed.update(degrees.astype("<f8").tobytes())
    hashed.update(shape.astype("<i8").tobytes())
    for content in contents:
        hashed.update(hashlib.sha256(content).digest())
    return hashed.hexdigest()[:LETTERS]
