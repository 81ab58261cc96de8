"""Say in words what a picture of a section shows: rows, crops between them, key, caption."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from striplay.accounts.sowings import Sowing, label_of, sowings_of
from striplay.mapbook.lanes import Lane
from striplay.mapbook.scene import Scene
from striplay.section.section import Section
from striplay.units import UnitSystem, format_length, format_small, trim

DISTANCES_SHOWN = 2
"""Of more distances between rows than these, the least and the greatest are said."""

SAME_M = 1e-4
"""Distances that differ by less than a tenth of a millimetre are one."""


def distances(metres: Iterable[float], units: UnitSystem) -> str:
    """Say distances between rows: one, two, or from the least to the greatest.

    >>> distances([0.2032, 0.5588, 0.2032], "us")
    '8 in and 22 in'
    """
    ordered = sorted(metres)
    apart = [b for a, b in pairwise([-1.0, *ordered]) if b - a > SAME_M]
    said = list(dict.fromkeys(format_small(value, units) for value in apart))
    if len(said) <= DISTANCES_SHOWN:
        return " and ".join(said)
    return f"{said[0].split()[0]} to {said[-1]}"


def rows_words(section: Section, index: int, units: UnitSystem) -> str:
    """Say a strip's own rows by their true distances; of a drill without openers, nothing known."""
    strip = section.strips[index]
    if not strip.counted:
        return "drilled"
    at_m = [r.offset_m for r in section.rows if r.strip == index and r.layer == 0]
    if len(at_m) == 1:
        return "1 row"
    gaps = distances([high - low for low, high in pairwise(at_m)], units)
    if " " in gaps.replace(" in", "").replace(" cm", ""):
        return f"{len(at_m)} rows, {gaps} apart"
    return f"{len(at_m)} rows of {gaps}"


@dataclass(frozen=True)
class KeyEntry:
    """A line of the key: the plant or sign to draw, or none, and what it is."""

    sowing: Sowing | None
    said: str
    tramline: bool = False

    @property
    def drawn(self) -> bool:
        """Whether something is drawn beside its words."""
        return self.sowing is not None or self.tramline


def key_of(scene: Scene, numbered: Iterable[int]) -> list[KeyEntry]:
    """List what the picture's plants are, and the strips that only have a number under them."""
    entries = [KeyEntry(one, _plant_words(scene, one)) for one in sowings_of(scene.section)]
    groups: dict[str, list[str]] = {}
    units = scene.plan.units
    for index in numbered:
        strip = scene.section.strips[index]
        rows = rows_words(scene.section, index, units)
        said = f"{strip.crop}, {rows}, {format_length(strip.width_m, units)}"
        groups.setdefault(said, []).append(str(index + 1))
    entries += [
        KeyEntry(None, f"strip{'s' if len(of) > 1 else ''} {', '.join(of)}: {said}")
        for said, of in groups.items()
    ]
    return entries


def _plant_words(scene: Scene, sowing: Sowing) -> str:
    if sowing.layer:
        return _between_words(scene, sowing)
    strips = {
        row.strip
        for row in scene.section.rows
        if row.layer == 0 and sowing.crop in {one.crop for one in row.sown}
    }
    mixtures = [name for name in dict.fromkeys(scene.section.strips[i].crop for i in sorted(strips))
                if name in scene.plan.mixtures]  # fmt: skip
    said = [f"{sowing.crop}{_height_words(scene, sowing.crop)}"]
    for name in mixtures:
        mixture = scene.plan.mixtures[name]
        share = mixture.parts[sowing.crop] * (1 + mixture.closer)
        said.append(f"in {name} at {trim(100 * share, 1)} % of its full rate")
    return ", ".join(said)


def _height_words(scene: Scene, crop: str) -> str:
    height_m = scene.height_m(crop)
    known = scene.facts.get(crop)
    if height_m <= 0 or known is None or known.height_m is None:
        return ""
    return f", {format_length(height_m, scene.plan.units)} high"


def _between_words(scene: Scene, sowing: Sowing) -> str:
    """Say between which rows a crop is sown, how many, and how far from the nearest."""
    section, units = scene.section, scene.plan.units
    rows = [row for row in section.rows if row.layer == sowing.layer]
    strips = list(dict.fromkeys(row.strip for row in rows))
    hosts = list(dict.fromkeys(label_of(scene.plan, section, index, 0) for index in strips))
    counts = list(dict.fromkeys(sum(row.strip == index for row in rows) for index in strips))
    near = distances(nearest_own_m(section, sowing.layer), units)
    number = " or ".join(str(count) for count in counts)
    return (
        f"{sowing.crop} between {' and '.join(hosts)}{_height_words(scene, sowing.crop)}: "
        f"{number} row{'' if counts == [1] else 's'} a strip, {near} from the nearest row"
    )


def nearest_own_m(section: Section, layer: int) -> list[float]:
    """Give how far each row between stands from the nearest that is not, in the next set too."""
    own = [row.offset_m for row in section.rows if row.layer == 0]
    repeated = [at_m + turn * section.width_m for turn in (-1, 0, 1) for at_m in own]
    return [
        min(abs(row.offset_m - at_m) for at_m in repeated)
        for row in section.rows
        if row.layer == layer
    ]


def caption(scene: Scene, marks: Iterable[str], lanes: Iterable[Lane]) -> list[str]:
    """Say what the picture shows and what its marks mean, of those that are drawn.

    Args:
        scene: what it shows.
        marks: lines drawn at strips' edges: guess, border.
        lanes: machines drawn.
    """
    when = (
        "at full height" if scene.day is None else f"as on {scene.day.isoformat()}, growth assumed"
    )
    width = format_length(scene.section.width_m, scene.plan.units)
    lines = [f"One set, {width} across, to scale both ways, looking along the rows; plants {when}."]
    told = _mark_words(scene, set(marks)) + _lane_words(list(lanes))
    lines.append(" ".join(told))
    unknown = [
        crop
        for crop in scene.section.crops
        if scene.facts.get(crop) is None or scene.facts[crop].height_m is None
    ]
    if unknown:
        lines.append(f"Height of {', '.join(unknown)} not known: drawn at half a metre.")
    return lines


def _mark_words(scene: Scene, marks: set[str]) -> list[str]:
    section = scene.section
    said = []
    if any(row.unit and section.strips[row.strip].counted for row in section.rows):
        said.append("Numbers at the ground: row units.")
    if "guess" in marks:
        said.append("Dashed: guess rows, where planter passes meet, with the gap between rows.")
    if "border" in marks:
        said.append("Dotted: strips' borders within a pass, with the gap between rows.")
    if any(not strip.counted for strip in section.strips):
        said.append("Drilled strips: openers are not given, so their rows are nominal.")
    states = {scene.state(crop) for crop in section.crops}
    bare = [state.replace("not", "not yet") for state in ("not sown", "not up") if state in states]
    if bare:
        said.append(f"Ring at the ground: a row {' or '.join(bare)}.")
    if "harvested" in states:
        said.append("Short stroke: a row harvested.")
    return said


def _lane_words(lanes: list[Lane]) -> list[str]:
    boxes = [box for lane in lanes for box in lane.boxes]
    if not boxes:
        return []
    said = ["Boxes: passes."]
    if any(box.open_low or box.open_high for box in boxes):
        said.append("Arrow: a pass runs on beyond the set.")
    states = {part.state for box in boxes for part in box.parts}
    if "on" in states:
        said.append(
            "Booms: grey sections spray" + (", white are shut off." if "off" in states else ".")
        )
    if "edge" in states:
        said.append("Hatched: a section over its strip's edge.")
    if any(box.wheels for box in boxes):
        said.append("Black: wheels.")
    return said


def tramline_machines(scene: Scene) -> str:
    """Name the machines whose wheels rows are left out for."""
    asked = (*scene.plan.relays, *scene.plan.quick_crops)
    return " and ".join(dict.fromkeys(one.tramlines for one in asked if one.tramlines))
