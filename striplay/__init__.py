"""Plan strip and row intercropping in whole passes on the real field.

The flow, one way and with no circles::

    plan file -> plan -> section --+
    boundary  -> ground -----------+-> layout -> accounts -> files, map book

From Python::

    import striplay
    plan = striplay.read_plan("plan.toml")
    layout = striplay.lay(plan)
    layout.strips        # GeoDataFrame in the field's local plane, metres

Importing this package is cheap; the geospatial libraries are loaded by the first call.
"""

from typing import TYPE_CHECKING, Any

from striplay.errors import BoundaryError, OutputError, PlanError, StriplayError

if TYPE_CHECKING:
    from striplay.files.plan import read_plan
    from striplay.flow import Layout, fit, lay, weigh
    from striplay.handover import save

__version__ = "0.1.0"

__all__ = [
    "BoundaryError",
    "Layout",
    "OutputError",
    "PlanError",
    "StriplayError",
    "__version__",
    "fit",
    "lay",
    "read_plan",
    "save",
    "weigh",
]


def __getattr__(name: str) -> Any:  # noqa: ANN401 - the type of a lazy name is that of what it loads
    """Load the flow on first use, so that `striplay --help` stays instant."""
    if name == "read_plan":
        from striplay.files.plan import read_plan  # noqa: PLC0415 - lazy on purpose

        return read_plan
    if name == "save":
        from striplay.handover import save  # noqa: PLC0415 - lazy on purpose

        return save
    if name in {"Layout", "fit", "lay", "weigh"}:
        from striplay import flow  # noqa: PLC0415 - lazy on purpose

        return getattr(flow, name)
    raise AttributeError(f"module 'striplay' has no attribute {name!r}")
