"""Count area, row length and seed, to the piece of strip and to the crop."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.accounts.sowings import NO_SEED, Seed, added, seed_of
from striplay.errors import AccountsError
from striplay.laid import Laid
from striplay.layout.pieces import Pieces, RowPieces
from striplay.operations.route import Route
from striplay.operations.under import rows_sown, rows_under
from striplay.plan.crops import Crop
from striplay.plan.models import Plan
from striplay.section.mixture import blend, is_mixture, sown_of
from striplay.section.section import Layer, Section
from striplay.section.strips import row_spacing_m
from striplay.tolerances import AREA_SHARE, SEED_COUNT

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, repr=False)
class PieceFigures:
    """Figures of each piece of strip, (n,).

    Attributes:
        rows: planted rows of its strip's own; for a drill whose openers are not given, its
            nominal lines.
        area_m2: ground.
        row_length_m: length of those rows; 0 for nominal lines.
        seeds: seeds dropped in them, not rounded; NaN where not known by number.
        seed_units: units of that seed, not rounded; NaN where no rate or unit is stated, and where
            its own rows hold several crops, whose units can't be added.
        seed_kg: weight of that seed, as it stands in the bag; NaN where not known by weight.
        sown_rows: planted rows by layer, in the section's order, (n, layers).
        sown_row_m: length of row by layer, (n, layers).
        sown_m2: ground sown by layer, row length x the ground a row stands for, (n, layers).
    """

    rows: npt.NDArray[np.int64]
    area_m2: Floats
    row_length_m: Floats
    seeds: Floats
    seed_units: Floats
    seed_kg: Floats
    sown_rows: npt.NDArray[np.int64]
    sown_row_m: Floats
    sown_m2: Floats

    def __repr__(self) -> str:
        return f"PieceFigures of {len(self.rows)} pieces, {self.area_m2.sum():.2f} m2"


def count_laid(laid: Laid, plan: Plan) -> PieceFigures:
    """Count every piece of strip of every block, in order."""
    each = [count_pieces(block.pieces, laid.section, plan) for block in laid.blocks]
    return PieceFigures(
        *(np.concatenate([getattr(f, name.name) for f in each]) for name in fields(PieceFigures))
    )


def count_pieces(pieces: Pieces, section: Section, plan: Plan) -> PieceFigures:
    """Count every piece of strip.

    Seed is row length x row spacing x rate, so a row shut off or cut short by a slanting end takes
    none (identity: seeds per foot = rate x spacing in inches / 522,720 with a rate per acre).
    """
    rows, count = pieces.rows, len(pieces.strips.strip)
    kinds = section.rows
    spacing_m = np.array([row.spacing_m for row in kinds])[rows.kind]
    counted = np.array(section.counted_row)[rows.kind]
    own_row = np.array(section.own_row)
    length_m = np.where(counted, rows.length_m, 0.0)
    sown, layers = rows_sown(section), section.layers

    def total(values: Floats) -> Floats:
        return np.bincount(rows.owner, values, minlength=count).astype(np.float64)

    sown_m2 = np.stack([total(rows.length_m * spacing_m * one[rows.kind]) for one in sown], axis=1)
    own = [seed_of(plan, one, m2) for one, m2 in zip(layers, sown_m2.T, strict=True)
           if one.number == 0]  # fmt: skip
    seed = sum(own, NO_SEED)
    return PieceFigures(
        rows=_planted(rows, own_row, count),
        area_m2=shapely.area(pieces.strips.polygon),
        row_length_m=total(length_m * own_row[rows.kind]),
        seeds=seed.seeds,
        seed_units=np.where(_several(section)[pieces.strips.kind], np.nan, seed.seed_units),
        seed_kg=seed.seed_kg,
        sown_rows=np.stack([_planted(rows, each, count) for each in sown], axis=1),
        sown_row_m=np.stack([total(length_m * each[rows.kind]) for each in sown], axis=1),
        sown_m2=sown_m2,
    )


def _several(section: Section) -> npt.NDArray[np.bool_]:
    """Tell which strips' own rows hold several crops."""
    own = [(row.strip, one.crop) for row in section.rows if row.layer == 0 for one in row.sown]
    kinds = range(len(section.strips))
    return np.array([len({crop for strip, crop in own if strip == kind}) > 1 for kind in kinds])


def _planted(rows: RowPieces, chosen: npt.NDArray[np.bool_], count: int) -> npt.NDArray[np.int64]:
    """Count the rows, of those chosen, that are planted in each piece, cut up or not."""
    of_these = chosen[rows.kind]
    planted = np.unique(rows.owner[of_these] * len(chosen) + rows.kind[of_these])
    return np.bincount(planted // len(chosen), minlength=count).astype(np.int64)


UNKNOWN = Seed(math.nan, math.nan, math.nan)


def crop_account(
    crop: Crop, *, strips: int, area_m2: float, row_length_m: float, seed: Seed
) -> dict[str, Any]:
    """Write the account of one crop: whole seeds and whole units, both rounded up."""
    known = rounded_up(seed)
    account: dict[str, Any] = {
        "strips": strips,
        "area_m2": area_m2,
        "row_length_m": row_length_m,
        "seeds": known["seeds"],
        "seed_units": known["seed_units"],
    }
    if known["seeds"] is not None and crop.standing is not None:
        account["expected_stand"] = round(float(seed.seeds) * crop.standing)
    if known["seed_kg"] is not None:
        account["seed_kg"] = known["seed_kg"]
    return account


def rounded_up(seed: Seed) -> dict[str, float | None]:
    """Give an amount in whole seeds and whole units, both rounded up; None where not known."""
    return {
        name: amount if amount is None or name == "seed_kg" else math.ceil(amount - SEED_COUNT)
        for name, amount in seed.data.items()
    }


def count_crops(plan: Plan, laid: Laid, figures: PieceFigures) -> dict[str, dict[str, Any]]:
    """Count every crop of the strips, by name, in the order of the set.

    A crop's area is that of the strips it stands in, shared with others or not. One that stands in
    none before a harvest says after what.
    """
    section = laid.section
    standing = [set(section.crops_of(index)) for index in range(len(section.strips))]
    kind = np.concatenate([block.pieces.strips.kind for block in laid.blocks])
    number = np.concatenate([b.strip_number for b in laid.blocks])
    accounts = {}
    for name in [label for label in section.labels if is_mixture(plan, label)]:
        mine = np.array([strip.crop == name for strip in section.strips])[kind]
        accounts[name] = crop_account(
            plan.crops[name],
            strips=len(np.unique(number[mine])),
            area_m2=float(figures.area_m2[mine].sum()),
            row_length_m=float(figures.row_length_m[mine].sum()),
            seed=UNKNOWN,
        ) | {"parts": [asdict(part) for part in blend(plan, name)]}
    for name in section.crops:
        mine = np.array([name in crops for crops in standing])[kind]
        of_crop = np.array([one.crop == name for one in section.layers])
        accounts[name] = crop_account(
            plan.crops[name],
            strips=len(np.unique(number[mine])),
            area_m2=float(figures.area_m2[mine].sum()),
            row_length_m=float(figures.sown_row_m[:, of_crop].sum()),
            seed=added(plan, strip_ground(section, figures, name)),
        )
        beside = sorted({o for s in standing if name in s for o in s} - {name})
        if beside:
            accounts[name]["with"] = beside
        layers = [one for one in section.layers if one.crop == name]
        if all(one.follows for one in layers):
            accounts[name]["after"] = list(dict.fromkeys(one.host for one in layers))
    return accounts


def strip_ground(section: Section, figures: PieceFigures, crop: str) -> list[tuple[Layer, float]]:
    """List the layers of a crop, each with the ground sown in all strips."""
    sown = zip(section.layers, figures.sown_m2.sum(axis=0), strict=True)
    return [(layer, float(ground_m2)) for layer, ground_m2 in sown if layer.crop == crop]


def count_headland(plan: Plan, area_m2: float) -> dict[str, dict[str, Any]]:
    """Count what the headland plants; empty where it plants nothing.

    Its rows follow the boundary. Between two mitered offsets the area is width x mean length, so
    the rows' length is area / spacing.
    """
    name = plan.headland_crop
    if name is None or area_m2 == 0.0:
        return {}
    crop, planter = plan.crops[name], plan.planter(name)
    seed = added(plan, [(layer, area_m2) for layer in sown_of(plan, name)])
    counted = planter.row_units is not None
    account = crop_account(
        crop,
        strips=0,
        area_m2=area_m2,
        row_length_m=area_m2 / row_spacing_m(plan, name) if counted else 0.0,
        seed=Seed(seed.seeds, math.nan, seed.seed_kg) if is_mixture(plan, name) else seed,
    )
    if is_mixture(plan, name):
        account["parts"] = [asdict(part) for part in blend(plan, name)]
    return {name: account}


def count_passes(routes: Iterable[Route]) -> list[dict[str, Any]]:
    """Count the passes and their length, by kind of work and machine, the headland's included."""
    totals: dict[tuple[str, str], list[float]] = {}
    for route in routes:
        total = totals.setdefault((route.job.does, route.job.machine), [0, 0.0])
        total[0] += len(route)
        total[1] += float(shapely.length(route.line).sum())
    return [
        {"machine": machine, "operation": operation, "count": int(count), "length_m": length_m}
        for (operation, machine), (count, length_m) in totals.items()
    ]


def pieces_worked(
    route: Route, laid: Laid
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Pair a route's passes with the pieces of strips they work, in the order driven.

    Returns:
        The pass of each pair, from 0, the number of the strip and that of its piece, (k,).
    """
    found = [np.empty((3, 0), dtype=np.int64)]
    first = 0
    for group in route.groups:
        if group.runs is not None:
            block = laid.blocks[group.block]
            rows = block.pieces.rows
            one, row, _ = rows_under(group, rows, laid.section, block.path)
            owner = rows.owner[row]
            strip, piece = block.strip_number[owner], block.pieces.strips.piece[owner]
            found.append(np.unique(np.stack([one + first, strip, piece]), axis=1))
        first += len(group)
    of, strip, piece = np.concatenate(found, axis=1)
    return of, strip, piece


def passes_over_strips(routes: Iterable[Route], laid: Laid) -> dict[str, Counter[int]]:
    """Count the passes that work each strip, by kind of work; a strip's number is its key."""
    counts: dict[str, Counter[int]] = {}
    for route in routes:
        of, strip, _ = pieces_worked(route, laid)
        over = np.unique(np.stack([of, strip]), axis=1)[1]
        counts.setdefault(route.job.does, Counter()).update(over.tolist())
    return counts


def check_closed(areas_m2: Mapping[str, float], field_m2: float) -> None:
    """Check that areas add up to the field, to `AREA_SHARE` of it.

    Raises:
        AccountsError: they do not.
    """
    off_m2 = sum(areas_m2.values()) - field_m2
    if abs(off_m2) > AREA_SHARE * field_m2:
        raise AccountsError(
            f"the areas of this layout miss the field's by {off_m2:.6f} m2, which is a fault of "
            "striplay; another heading or headland width may do meanwhile"
        )
