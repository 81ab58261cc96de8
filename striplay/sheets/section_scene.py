"""Gather what a picture of a section shows, and say it in words."""

from collections import Counter
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

from striplay.accounts.words import rate_words
from striplay.files.crop_table import crop_table
from striplay.growing import season_of
from striplay.looks import Look, looks_of
from striplay.plan.models import Plan
from striplay.season.calendar import Window
from striplay.season.facts import CropFacts, facts_of
from striplay.season.growth import grown_share
from striplay.section.section import Layer, Pass, Row, Section, placed_words
from striplay.units import UnitSystem, format_length, format_small, trim

NO_HEIGHT_M = 0.5
"""Height drawn for a crop whose height is not known."""
DISTANCES_SHOWN = 2
"""Of more distances between rows than these, the least and the greatest are said."""
SAME_M = 1e-4
"""Distances that differ by less than a tenth of a millimeter are one."""


@dataclass(frozen=True)
class Scene:
    """What a picture of a section shows.

    Attributes:
        plan: the machines.
        section: the set.
        facts: what is known of each crop.
        windows: when each crop stands.
        day: the day plants are drawn as on; None for full height.
        south: whether the field lies south of the equator; None where that is not known, and
            plants grow as north of it.
        looks: how each crop is shown; as in color when left out.
        strips: what each strip is called; its place in the set when left out.
        booms: passes of booms over several strips, as driven over this set; None where no field is
            laid, and they lie as over the first set of their pattern.
    """

    plan: Plan
    section: Section
    facts: Mapping[str, CropFacts]
    windows: Mapping[str, Window]
    day: date | None
    south: bool | None = None
    looks: Mapping[str, Look] = field(default_factory=dict)
    strips: tuple[str, ...] = ()
    booms: tuple[Pass, ...] | None = None

    def state(self, crop: str) -> str:
        """Say whether a crop stands on the day, is not yet sown or up, or is harvested."""
        window = self.windows.get(crop)
        if self.day is None or window is None:
            return "stands"
        if window.stands_on(self.day):
            return "stands" if self.height_m(crop) > 0 else "not up"
        return "not sown" if self.day <= window.sown else "harvested"

    def height_m(self, crop: str) -> float:
        """Give a crop's height on the day, by assumed growth; 0 before sowing and after harvest."""
        known, window = self.facts[crop], self.windows.get(crop)
        full_m = NO_HEIGHT_M if known.height_m is None else known.height_m
        if self.day is None or window is None:
            return full_m
        if not window.stands_on(self.day):
            return 0.0
        south = bool(self.south)
        return full_m * grown_share(known, window.sown, window.harvested, self.day, south=south)

    @property
    def top_m(self) -> float:
        """Give the height of the tallest row drawn, at least half a meter."""
        crops = {layer.crop for row in self.drawn for layer in row.sown}
        return max(0.5, *(self.height_m(crop) for crop in crops))

    def color(self, crop: str) -> str:
        """Give a crop's color, as on the maps."""
        looks = self.looks or looks_of(self.section.names, "color")
        return looks[crop].fill.color

    @property
    def drawn(self) -> tuple[Row, ...]:
        """The rows that are drawn: what follows a harvest on a day alone.

        At full height it would stand among what it follows.
        """
        rows = self.section.rows
        return rows if self.day else tuple(row for row in rows if not row.sown[0].follows)

    def name_of(self, strip: int) -> str:
        """Give what a strip of the set is called."""
        return self.strips[strip] if self.strips else str(strip + 1)


def scene_of(plan: Plan, section: Section, day: date | None, *, south: bool | None = None) -> Scene:
    """Gather what a picture of a plan's section shows; errors as in `season_of`.

    Args:
        plan: its crops and machines.
        section: the set.
        day: the day plants are drawn as on; None for full height.
        south: whether the field lies south of the equator; None where that is not known.
    """
    table = crop_table()
    facts = {crop: facts_of(crop, table, plan.crops.get(crop)) for crop in section.crops}
    windows = season_of(plan, south=bool(south)).windows
    return Scene(plan, section.from_first_strip(), facts, windows, day, south)


def distances(meters: Iterable[float], units: UnitSystem) -> str:
    """Say distances between rows: one, two, or from the least to the greatest.

    >>> distances([0.2032, 0.5588, 0.2032], "us")
    '8 in and 22 in'
    """
    ordered = sorted(meters)
    apart = [b for a, b in pairwise([-1.0, *ordered]) if b - a > SAME_M]
    said = list(dict.fromkeys(format_small(value, units) for value in apart))
    if len(said) <= DISTANCES_SHOWN:
        return " and ".join(said)
    return f"{said[0].split()[0]} to {said[-1]}"


@dataclass(frozen=True)
class KeyEntry:
    """A line of the key: its words, and the plant or tramline drawn beside them, if any."""

    said: str
    layer: Layer | None = None
    tramline: bool = False


def key_of(scene: Scene, numbered: Iterable[int]) -> list[KeyEntry]:
    """List what the picture's plants are, and the strips that only have a number under them."""
    entries = [
        KeyEntry(_between_words(scene, one) if one.number else _own_words(scene, one.crop), one)
        for one in _shown(scene.section)
    ]
    groups: dict[str, list[str]] = {}
    for index in numbered:
        said = ", ".join(strip_words(scene, index))
        groups.setdefault(said, []).append(scene.name_of(index))
    entries += [
        KeyEntry(f"strip{'s' if len(of) > 1 else ''} {', '.join(of)}: {said}")
        for said, of in groups.items()
    ]
    if scene.section.tramlines_m:
        asked = (one.tramlines for one in scene.section.layers if one.tramlines)
        machines = " and ".join(dict.fromkeys(asked))
        said = f"tramline: a row left out for wheels of {machines}"
        entries.append(KeyEntry(said, tramline=True))
    return entries


def _shown(section: Section) -> list[Layer]:
    """List the layers that are drawn apart: a crop once, in strips' own rows or mixtures.

    What follows several harvests is one.
    """
    first = {
        (layer.crop, "after" if layer.follows else layer.number): layer
        for layer in reversed(section.layers)
    }
    return sorted(first.values(), key=section.layers.index)


def strip_words(scene: Scene, index: int) -> list[str]:
    """Say a strip's crop, its own rows by their true distances, and its width.

    Of a drill without openers no rows are known.
    """
    strip, units = scene.section.strips[index], scene.plan.units
    at_m = [r.offset_m for r in scene.section.rows if r.strip == index and r.layer == 0]
    gaps = distances((high - low for low, high in pairwise(at_m)), units)
    rows = f"{len(at_m)} rows of {gaps}"
    if not strip.counted:
        rows = "drilled"
    elif len(at_m) == 1:
        rows = "1 row"
    elif " and " in gaps or " to " in gaps:
        rows = f"{len(at_m)} rows, {gaps} apart"
    return [strip.crop, rows, format_length(strip.width_m, units)]


def _own_words(scene: Scene, crop: str) -> str:
    """Say a crop of strips' own rows, with its share in each mixture of theirs."""
    said = [f"{crop}{_height_words(scene, crop)}"]
    said += [
        f"in {layer.label} at {trim(100 * layer.share, 1)} % of its full rate"
        for layer in scene.section.layers
        if layer.crop == crop and layer.number == 0 and layer.grown == "mixed"
    ]
    return ", ".join(said)


def _height_words(scene: Scene, crop: str) -> str:
    height_m = scene.height_m(crop)
    if height_m <= 0 or scene.facts[crop].height_m is None:
        return ""
    return f", {format_length(height_m, scene.plan.units)} high"


def _between_words(scene: Scene, layer: Layer) -> str:
    """Say between which rows a crop is sown, how many, and how far from the nearest."""
    section = scene.section
    if layer.follows:
        return _following_words(scene, layer)
    rows = [row for row in section.rows if row.layer == layer.number]
    strips = list(dict.fromkeys(row.strip for row in rows))
    hosts = dict.fromkeys(section.strips[index].crop for index in strips)
    counts = list(dict.fromkeys(sum(row.strip == index for row in rows) for index in strips))
    own = [row.offset_m for row in section.rows if row.layer == 0]
    repeated = [at_m + turn * section.width_m for turn in (-1, 0, 1) for at_m in own]
    many = f"{' or '.join(map(str, counts))} row{'' if counts == [1] else 's'} a strip"
    near_m = (min(abs(row.offset_m - at_m) for at_m in repeated) for row in rows)
    return (
        f"{layer.crop} between {' and '.join(hosts)}{_height_words(scene, layer.crop)}: "
        f"{many}, {distances(near_m, scene.plan.units)} from the nearest row"
    )


def _following_words(scene: Scene, layer: Layer) -> str:
    """Say after which crops one is sown, and how: by its drill's width and rate, or in rows."""
    section, plan = scene.section, scene.plan
    of = [row for row in section.rows if row.label == layer.label and row.sown[0].follows]
    if layer.drilled:
        how = f"drilled {format_length(plan.planter(layer.label).width_m, plan.units)} wide"
        rates = {"seeds": layer.seed_rate_per_m2, "kg": layer.seed_kg_per_m2}
        by = "kg" if plan.crops[layer.crop].by_weight else "seeds"
        known = [unit for unit in (by, *rates) if rates[unit] is not None]
        how += f", {rate_words(rates[known[0]] or 0.0, known[0], plan.units)}" if known else ""
    else:
        counts = dict.fromkeys(Counter(row.strip for row in of).values())
        how = f"{' or '.join(map(str, counts))} row{'' if [*counts] == [1] else 's'} a strip"
    placed = placed_words(row.sown[0] for row in of)[layer.label]
    return f"{layer.crop} {placed}: {how}{'' if scene.day else ', not drawn'}"


def caption_of(scene: Scene, marks: Container[str], machines: Iterable[str]) -> list[str]:
    """Say what the picture shows and what its marks mean, of those that are drawn.

    Args:
        scene: what it shows.
        marks: lines drawn at strips' edges: guess, border.
        machines: what is said of machines.
    """
    section, day = scene.section, scene.day
    when = "at full height" if day is None else f"as on {day.isoformat()}, growth assumed"
    if day is not None and scene.south is None:
        when += " as north of the equator, since no boundary says where the field lies"
    width = format_length(section.width_m, scene.plan.units)
    states = {scene.state(crop) for crop in section.crops}
    bare = [state.replace("not", "not yet") for state in ("not sown", "not up") if state in states]
    drawn = {
        "Numbers at the ground: row units.": any(
            row.unit and section.strips[row.strip].counted for row in section.rows
        ),
        "Dashed: guess rows, where planter passes meet, with the gap between rows.": (
            "guess" in marks
        ),
        "Dotted: strips' borders within a pass, with the gap between rows.": "border" in marks,
        "Drilled strips: openers are not given, so their rows are nominal.": not all(
            strip.counted for strip in section.strips
        ),
        f"Ring at the ground: a row {' or '.join(bare)}.": bool(bare),
        "Short stroke: a row harvested.": "harvested" in states,
    }
    shown = dict.fromkeys(layer.crop for row in scene.drawn for layer in row.sown)
    unknown = [crop for crop in shown if scene.facts[crop].height_m is None]
    height = f"Height of {', '.join(unknown)} not known: drawn at half a meter."
    return [
        f"One set, {width} across, to scale both ways, looking along the rows; plants {when}.",
        " ".join([*(said for said, is_drawn in drawn.items() if is_drawn), *machines]),
        height if unknown else "",
    ]
