"""Tell what the two versions of ISO 11783-10 task data that are written call the same things."""

from dataclasses import dataclass
from types import ModuleType
from typing import Any, Literal

import isoxml.models.base.v3 as version_3
import isoxml.models.base.v4 as version_4

Number = Literal["4", "3.3"]
"""Versions of the standard, as `[files] task_data` names them."""


@dataclass(frozen=True)
class Edition:
    """A version of the standard.

    Attributes:
        iso: its objects.
        named: the attribute that a customer's name stands in.
        headland: type of the polygon of a headland.
        gate: type of the point of a gate.
        guidance: type of a line to steer by.
        begins: type of the point where such a line begins (A).
        ends: where it ends (B).
        between: of its points between.
        center: of a circle's center.
        groups: whether lines to steer by stand in groups, each with how it is steered; if not, they
            are lines of the field, circles drawn out.
    """

    iso: ModuleType
    named: str
    headland: Any
    gate: Any
    guidance: Any
    begins: Any
    ends: Any
    between: Any
    center: Any
    groups: bool


EDITIONS: dict[Number, Edition] = {
    "4": Edition(
        iso=version_4,
        named="last_name",
        headland=version_4.PolygonType.Headland,
        gate=version_4.PointType.FieldAccess,
        guidance=version_4.LineStringType.GuidancePattern,
        begins=version_4.PointType.GuidanceReferenceA,
        ends=version_4.PointType.GuidanceReferenceB,
        between=version_4.PointType.GuidancePoint,
        center=version_4.PointType.GuidanceReferenceCenter,
        groups=True,
    ),
    "3.3": Edition(
        iso=version_3,
        named="designator",
        headland=version_3.PolygonType.Other,
        gate=version_3.PointType.Other,
        guidance=version_3.LineStringType.GuidancePath,
        begins=version_3.PointType.Other,
        ends=version_3.PointType.Other,
        between=version_3.PointType.Other,
        center=version_3.PointType.Other,
        groups=False,
    ),
}
"""The versions that are written, by number."""
