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
    from striplay.choosing.compare import Comparison, compare
    from striplay.choosing.systems import Judged, judge_systems
    from striplay.crop_pairs import Paired, pair
    from striplay.economics.indices import (
        Grown,
        aggressivity,
        area_time_equivalent_ratio,
        best_alone,
        competitive_ratio,
        land_equivalent_ratio,
        monetary_advantage,
        monetary_equivalent_ratio,
        net_effect,
        net_effect_ratio,
        value_together,
    )
    from striplay.economics.pay import Pay
    from striplay.files.plan import read_plan
    from striplay.files.trials import read_trials
    from striplay.flow import fit, lay, read_ground, weigh
    from striplay.following import Following, next_plan
    from striplay.handover import draw_section, save, write_comparison
    from striplay.laid_plan import Layout
    from striplay.notices import Notice
    from striplay.paying import pay
    from striplay.plan.models import Plan
    from striplay.recording import Records, open_records

__version__ = "0.1.0"

__all__ = [
    "BoundaryError",
    "Comparison",
    "Following",
    "Grown",
    "Judged",
    "Layout",
    "Notice",
    "OutputError",
    "Paired",
    "Pay",
    "Plan",
    "PlanError",
    "Records",
    "StriplayError",
    "__version__",
    "aggressivity",
    "area_time_equivalent_ratio",
    "best_alone",
    "compare",
    "competitive_ratio",
    "draw_section",
    "fit",
    "judge_systems",
    "land_equivalent_ratio",
    "lay",
    "monetary_advantage",
    "monetary_equivalent_ratio",
    "net_effect",
    "net_effect_ratio",
    "next_plan",
    "open_records",
    "pair",
    "pay",
    "read_ground",
    "read_plan",
    "read_trials",
    "save",
    "steps",
    "value_together",
    "weigh",
    "write_comparison",
]

_HOME = {
    "Comparison": "choosing.compare",
    "Following": "following",
    "Judged": "choosing.systems",
    "Grown": "economics.indices",
    "Layout": "laid_plan",
    "Notice": "notices",
    "Paired": "crop_pairs",
    "Pay": "economics.pay",
    "Plan": "plan.models",
    "Records": "recording",
    "aggressivity": "economics.indices",
    "area_time_equivalent_ratio": "economics.indices",
    "best_alone": "economics.indices",
    "compare": "choosing.compare",
    "competitive_ratio": "economics.indices",
    "draw_section": "handover",
    "fit": "flow",
    "judge_systems": "choosing.systems",
    "land_equivalent_ratio": "economics.indices",
    "lay": "flow",
    "monetary_advantage": "economics.indices",
    "monetary_equivalent_ratio": "economics.indices",
    "net_effect": "economics.indices",
    "net_effect_ratio": "economics.indices",
    "next_plan": "following",
    "open_records": "recording",
    "pair": "crop_pairs",
    "pay": "paying",
    "read_ground": "flow",
    "read_plan": "files.plan",
    "read_trials": "files.trials",
    "save": "handover",
    "value_together": "economics.indices",
    "weigh": "flow",
    "write_comparison": "handover",
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
