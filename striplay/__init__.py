"""Plan strip and row intercropping in whole passes on the real field.

The flow, one way and with no circles::

    plan file -> plan -> section --+
    boundary  -> ground -----------+-> layout -> accounts -> files, map book

From Python::

    import striplay
    plan = striplay.read_plan("plan.toml")
    layout = striplay.lay(plan)
    layout.strips        # GeoDataFrame in the field's local plane, meters

Importing this package is cheap; the geospatial libraries are loaded by the first call.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from striplay.errors import BoundaryError, OutputError, PlanError, StriplayError

if TYPE_CHECKING:
    from striplay import steps
    from striplay.crop_pairs import Paired, pair
    from striplay.files.plan import read_plan
    from striplay.flow import Layout, fit, lay, read_ground, weigh
    from striplay.handover import draw_section, save
    from striplay.notices import Notice
    from striplay.plan.models import Plan

__version__ = "0.1.0"

__all__ = [
    "BoundaryError",
    "Layout",
    "Notice",
    "OutputError",
    "Paired",
    "Plan",
    "PlanError",
    "StriplayError",
    "__version__",
    "draw_section",
    "fit",
    "lay",
    "pair",
    "read_ground",
    "read_plan",
    "save",
    "steps",
    "weigh",
]

_HOME = {
    "Layout": "flow",
    "Notice": "notices",
    "Paired": "crop_pairs",
    "Plan": "plan.models",
    "draw_section": "handover",
    "fit": "flow",
    "lay": "flow",
    "pair": "crop_pairs",
    "read_ground": "flow",
    "read_plan": "files.plan",
    "save": "handover",
    "weigh": "flow",
}
"""Where each name that is loaded on first use stands."""


def __getattr__(name: str) -> Any:  # noqa: ANN401 - the type of a lazy name is that of what it loads
    """Load a name on first use, so that `striplay --help` stays instant."""
    if name == "steps":
        return import_module("striplay.steps")
    if name not in _HOME:
        raise AttributeError(f"module 'striplay' has no attribute {name!r}")
    return getattr(import_module(f"striplay.{_HOME[name]}"), name)


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted({*globals(), *__all__})
