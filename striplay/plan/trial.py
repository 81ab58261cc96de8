"""Say what a plan holds of a trial: strips held against check strips of crops alone."""

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field

from striplay.limits import MAX_REPLICATES, MAX_STRIPS
from striplay.plan.faults import Faults
from striplay.plan.quantities import CheckCrops, Length
from striplay.plan.table import Table


class Trial(Table):
    """Strips held against check strips of crops alone, in replicates across the field: [trial]."""

    checks: CheckCrops | None = Field(
        None,
        description="Crops or mixtures that stand alone in a check strip of each replicate; a crop "
        "as the farm usually grows it is one more under [crops]. Left out: every one of the set.",
        examples=[["corn", "soybean"]],
    )
    usual: dict[str, str] = Field(
        {},
        description="Crops as the farm usually grows them, each one more under [crops] with its "
        "planter, rows and rate and `like`: in a check strip of each replicate, held against the "
        "crop it stands for; left out: none.",
        examples=[{"corn": "corn_usual"}],
    )
    replicates: Annotated[int, Field(ge=2, le=MAX_REPLICATES)] = Field(
        4,
        description="How often the set and each check stand across the field, each time in an "
        "order drawn anew; left out: 4.",
        examples=[4],
    )
    sets: Annotated[int, Field(ge=1, le=MAX_STRIPS)] = Field(
        1, description="Sets beside each other in a replicate; left out: 1.", examples=[2]
    )
    width_m: Length | None = Field(
        None,
        alias="width",
        description="Width of a check strip; left out: the narrowest that all machines of all "
        "checks cover in whole passes, three of each harvester at least, so that one runs beside "
        "no neighbor.",
        examples=["80 ft"],
    )
    seed: Annotated[int, Field(ge=0, le=1_000_000)] = Field(
        1, description="Where the draws of the order begin: the same number, the same order; left "
        "out: 1.", examples=[7],
    )  # fmt: skip
    difference: Annotated[float, Field(gt=0, le=1)] | None = Field(
        None,
        description="Difference that the trial is to show, as a share of the yield; with `spread`, "
        "`lay` says how surely it would.",
        examples=[0.1],
    )
    spread: Annotated[float, Field(gt=0, le=1)] | None = Field(
        None,
        description="Usual spread of strips treated alike on this farm, as a share of the yield: "
        "their standard deviation over their mean.",
        examples=[0.08],
    )


def read_trial(faults: Faults, raw: Mapping[str, object], grown: list[str]) -> Trial | None:
    """Read [trial], and check that its crops are there and that its set can be laid out."""
    if "trial" not in raw:
        return None
    found = faults.read(Trial, raw["trial"], "trial")
    if raw.get("row_set"):
        faults.add("trial", "needs [[strips]]; beside a row set no strip can stand alone")
    elif not raw.get("strips"):
        faults.add("trial", "needs [[strips]] to hold checks against")
    if found is None:
        return None
    strips = raw.get("strips")
    tables = strips if isinstance(strips, list) else []
    crops = [one.get("crop") for one in tables if isinstance(one, Mapping)]
    checks = found.checks or tuple(dict.fromkeys(crop for crop in crops if isinstance(crop, str)))
    for name in found.checks or ():
        faults.check_name("trial.checks", name, grown, "crop")
    _check_usual(faults, found, [crop for crop in crops if isinstance(crop, str)], grown)
    if (found.difference is None) != (found.spread is None):
        faults.add("trial", "needs both difference and spread to say how surely it shows one")
    count = found.replicates * (found.sets * len(tables) + len(checks) + len(found.usual))
    if count > MAX_STRIPS:
        told = f"makes {count:,} strips; at most {MAX_STRIPS} are laid out"
        faults.add("trial", f"{told}, so fewer replicates, sets or checks would do")
    return found


def _check_usual(faults: Faults, found: Trial, crops: list[str], grown: list[str]) -> None:
    """Check that what stands for a crop as usual is a crop of its own, and of one of the set."""
    for crop, usual in found.usual.items():
        key = f"trial.usual.{crop}"
        faults.check_name(key, crop, dict.fromkeys(crops), "crop of the set")
        if usual in {*crops, *(found.checks or ())}:
            faults.add(
                key,
                f"{usual} stands in the trial already; give {crop} as it is usually grown a crop "
                f'of its own, such as [crops.{crop}_usual], with like = "{crop}"',
            )
        else:
            faults.check_name(key, usual, grown, "crop")
    doubled = {one for one in found.usual.values() if [*found.usual.values()].count(one) > 1}
    for one in sorted(doubled):
        faults.add("trial.usual", f"names {one} twice; it stands for one crop")
