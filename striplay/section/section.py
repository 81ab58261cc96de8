"""Hold the section: rows, strips, layers and passes of one set, all that later stages read."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from striplay.kept import Kept
from striplay.notices import Notice
from striplay.tolerances import WIDTH_M

Operation = str
"""What is done: plant, spray, spread, cultivate, harvest, mow, till, or a kind added to these."""
Grown = Literal["own", "mixed", "relay", "quick crop", "after harvest"]


@dataclass(frozen=True, slots=True)
class Layer:
    """A crop that rows carry, and how it came into them.

    Attributes:
        crop: its name in the plan.
        label: what the plan calls what is sown: the crop, or the mixture it is part of.
        number: 0 for a strip's own rows, 1 and up for rows sown between or after them.
        grown: as a strip's own crop, part of a mixture, a relay, a quick crop, or sown after
            the harvest of what stood there.
        host: the crop or mixture between whose rows, or after which, it is sown; empty where it is
            a strip's own.
        share: of its own full rate, denser sowing of a mixture included.
        seed_rate_per_m2: seeds dropped, at its share; None where not known by number.
        seed_kg_per_m2: their weight as it stands in the bag; None where not known by weight.
        height_m: how high it is said to stand when its host is harvested.
        tramlines: the machine whose wheels rows are left out for, if any.
        drilled: whether a drill sows it after a harvest, so that its rows are nominal lines.
    """

    crop: str
    label: str
    number: int = 0
    grown: Grown = "own"
    host: str = ""
    share: float = 1.0
    seed_rate_per_m2: float | None = None
    seed_kg_per_m2: float | None = None
    height_m: float | None = None
    tramlines: str | None = None
    drilled: bool = False

    @property
    def follows(self) -> bool:
        """Whether it is sown after its host's harvest, not between its rows."""
        return self.grown == "after harvest"

    @property
    def placed(self) -> str:
        """Where it is sown, for its name to stand before: into its host or after it."""
        return f"{'after' if self.follows else 'into'} {self.host}" if self.host else ""


def placed_words(layers: Iterable[Layer]) -> dict[str, str]:
    """Say where what is sown besides strips' own is sown, by label: into and after its hosts."""
    found: dict[str, dict[str, list[str]]] = {}
    for layer in layers:
        if layer.host:
            how = "after" if layer.follows else "into"
            hosts = found.setdefault(layer.label, {}).setdefault(how, [])
            if layer.host not in hosts:
                hosts.append(layer.host)
    return {
        label: ", ".join(f"{how} {' and '.join(hosts)}" for how, hosts in each.items())
        for label, each in found.items()
    }


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the set.

    Attributes:
        offset_m: distance from the set's first edge; below 0 in a strip that begins before it.
        spacing_m: width of ground it stands for.
        strip: index of its strip in the set, from 0.
        number: its number within the strip and layer, from 1.
        planter: name of the machine that plants it.
        planter_pass: which pass over the strip, from 0.
        unit: which row unit of the planter, from 1 at the first edge.
        sown: the layers it carries; several in a mixed stand, all of one label.
    """

    offset_m: float
    spacing_m: float
    strip: int
    number: int
    planter: str
    planter_pass: int
    unit: int
    sown: tuple[Layer, ...]

    @property
    def layer(self) -> int:
        """0 for a row of its strip's own, 1 and up for one sown between or after them."""
        return self.sown[0].number

    @property
    def label(self) -> str:
        """What the plan calls what is sown in it: a crop or a mixture."""
        return self.sown[0].label


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass of a machine over the set, all distances from the set's first edge.

    Attributes:
        operation: plant, spray, harvest or another kind of work.
        machine: its name in the plan.
        crop: what is planted, sprayed or harvested: a label, or several joined by " + ".
        width_m: how wide the machine is.
        low_m: lower edge of the ground the pass takes.
        high_m: upper edge of it.
        middle_m: the machine's own middle; where the machine is wider than what the pass takes, or
            off its middle, it reaches past these edges.
        rows: the rows it works, as indices of the section's rows.
        strip: index of the strip it runs over; None where it runs over several.
        layer: whose rows it works, as in `Layer`.
        step_m: its middle may only shift by whole steps, for units to meet rows; 0 where by any.
        shared: whether it shares what is planted evenly with the other passes over its strip.
        turned: whether it is turned end for end; None where either way serves.
    """

    operation: Operation
    machine: str
    crop: str
    width_m: float
    low_m: float
    high_m: float
    middle_m: float
    rows: tuple[int, ...]
    strip: int | None
    layer: int = 0
    step_m: float = 0.0
    shared: bool = False
    turned: bool | None = None

    @property
    def fixed(self) -> bool:
        """Whether it can't shift: its row units would meet other strips' rows.

        On tramlines, where it has no rows of its own, they would not.
        """
        return self.strip is None and self.operation == "plant" and bool(self.rows)

    @property
    def work(self) -> tuple[str, str, str, int | None, int]:
        """What the passes beside it over the same strip have in common with it."""
        return self.operation, self.machine, self.crop, self.strip, self.layer

    def moved(self, by_m: float) -> "Pass":
        """Give the pass so far on across the set."""
        return replace(
            self,
            low_m=self.low_m + by_m,
            high_m=self.high_m + by_m,
            middle_m=self.middle_m + by_m,
        )


@dataclass(frozen=True, slots=True)
class Strip:
    """Neighboring rows of one crop.

    Attributes:
        crop: its name in the plan; of a mixed stand, the mixture's.
        left_m: first edge, from the set's first edge; below 0 where it begins before it.
        width_m: its width.
        spacing_m: row spacing.
        rows: number of rows.
        counted: False where the openers are not known, so that rows are nominal lines.
        lead_m: from its first edge to the ground of its first row, where units beside it are empty.
        empty: how many more rows would stand between its own, were no units empty.
        replicate: of a trial that it belongs to, from 1; 0 where there is no trial.
        treatment: what it stands for in a trial: strips, alone or usual.
        stands_for: in a trial, the crop that it is as the farm usually grows it; empty elsewhere.
    """

    crop: str
    left_m: float
    width_m: float
    spacing_m: float
    rows: int
    counted: bool
    lead_m: float = 0.0
    empty: int = 0
    replicate: int = 0
    treatment: str = ""
    stands_for: str = ""

    @property
    def right_m(self) -> float:
        """Second edge, from the set's first edge."""
        return self.left_m + self.width_m

    @property
    def rows_span_m(self) -> tuple[float, float]:
        """Where its rows' ground begins, from its first edge, and how wide it is."""
        return self.lead_m, (self.rows + self.empty) * self.spacing_m


@dataclass(frozen=True, slots=True)
class Tramlines:
    """Lines that a machine runs on over several strips, whatever crop it passes over.

    Attributes:
        operation: what the machine does.
        machine: its name in the plan.
        width_m: how wide it is.
        sets: after how many sets the pattern of lines repeats.
        set_m: how wide a set is.
        middles_m: of each line of the pattern, from the first edge of its first set.
        crops: what it passes over, each by itself: a label, or several joined by " + ".
        step_m: it may only shift by whole steps, for its wheels to run between rows; 0 by any.
        left_m: where the first line's even share begins: at the set's first strip.
    """

    operation: Operation
    machine: str
    width_m: float
    sets: int
    set_m: float
    middles_m: tuple[float, ...]
    crops: tuple[str, ...]
    step_m: float = 0.0
    left_m: float = 0.0

    @property
    def labels(self) -> frozenset[str]:
        """Name what it passes over one by one."""
        return frozenset(label for crop in self.crops for label in crop.split(" + "))

    @property
    def pattern_m(self) -> float:
        """How wide the pattern is."""
        return self.sets * self.set_m

    def without(self, labels: Iterable[str]) -> "Tramlines":
        """Give the same lines, not driven over some crops."""
        gone = set(labels)
        return replace(
            self, crops=tuple(one for one in self.crops if not gone & {*one.split(" + ")})
        )

    def moved(self, by_m: float) -> "Tramlines":
        """Give the lines so far on across the set."""
        middles_m = tuple(at_m + by_m for at_m in self.middles_m)
        return replace(self, middles_m=middles_m, left_m=self.left_m + by_m)


@dataclass(frozen=True)
class Section:
    """One set across: strips, rows and passes from its first edge to its last.

    The first edge is that of a planter pass. Where a strip lies across it, as in a row set whose
    passes meet in one crop, the strip begins before the set and its end is the next set's.

    Attributes:
        width_m: width of the set.
        strips: its strips, in order.
        rows: its rows, by offset.
        passes: every pass over the set that is not on tramlines.
        tramlines: of machines that pass over several strips.
        notices: what the user should know about its fit.
        tramlines_m: where rows between others are left out for wheels, from its first edge.
        usual: the set without check strips; None where it is no trial.
        kept: what is found from it, wherever it is laid.
    """

    width_m: float
    strips: tuple[Strip, ...]
    rows: tuple[Row, ...]
    passes: tuple[Pass, ...] = ()
    tramlines: tuple[Tramlines, ...] = ()
    notices: tuple[Notice, ...] = ()
    tramlines_m: tuple[float, ...] = ()
    usual: "Section | None" = None
    kept: Kept = field(default_factory=Kept, init=False, repr=False, compare=False)

    @property
    def plain(self) -> "Section":
        """The set without check strips of a trial."""
        return self.usual or self

    @property
    def left_m(self) -> float:
        """Where its first strip begins, from its first edge; 0 or below."""
        return self.strips[0].left_m

    @cached_property
    def layers(self) -> tuple[Layer, ...]:
        """The layers its rows carry: strips' own first, in the order of the set."""
        found = dict.fromkeys(layer for row in self.rows for layer in row.sown)
        order = {crop: place for place, crop in enumerate(self.crops)}
        return tuple(sorted(found, key=lambda one: (one.number, order[one.crop])))

    @property
    def following(self) -> tuple[str, ...]:
        """Name what is sown in strips after a harvest, in order."""
        return tuple(dict.fromkeys(layer.label for layer in self.layers if layer.follows))

    @cached_property
    def own_rows(self) -> tuple[Row, ...]:
        """Its strips' own rows, none sown between them."""
        return tuple(row for row in self.rows if row.layer == 0)

    @cached_property
    def main_row(self) -> tuple[bool, ...]:
        """Tell of each row whether it is of its strip's own or after their harvest, not between."""
        return tuple(row.layer == 0 or row.sown[0].follows for row in self.rows)

    @cached_property
    def main_rows(self) -> tuple[Row, ...]:
        """Its strips' own rows and those sown after their harvest, none sown between."""
        return tuple(row for row, main in zip(self.rows, self.main_row, strict=True) if main)

    @cached_property
    def grown(self) -> tuple[frozenset[str], ...]:
        """Name what each strip grows, its own crop and those after its harvest, none between."""
        each: list[set[str]] = [set() for _ in self.strips]
        for row in self.main_rows:
            each[row.strip].add(row.label)
        return tuple(frozenset(labels) for labels in each)

    def planted(self, machine: str, crop: str) -> tuple[int, ...]:
        """Give the rows that a planter's passes over a crop plant, as indices."""
        lines = self.lines_for(machine, crop.split(" + "))
        if lines is not None and lines.operation == "plant":
            main = zip(self.rows, self.main_row, strict=True)
            return tuple(at for at, (row, own) in enumerate(main) if own and row.label == crop)
        mine = (one for one in self.passes
                if (one.operation, one.machine, one.crop) == ("plant", machine, crop))  # fmt: skip
        return tuple(index for one in mine for index in one.rows)

    def counts(self, strip: int, layer: Layer) -> bool:
        """Tell whether rows of a layer are counted in a strip, not nominal lines."""
        return not layer.drilled and (layer.follows or self.strips[strip].counted)

    @cached_property
    def counted_row(self) -> tuple[bool, ...]:
        """Tell of each row whether it is counted, not a nominal line."""
        return tuple(self.counts(row.strip, row.sown[0]) for row in self.rows)

    def lines_for(self, machine: str, labels: Iterable[str]) -> "Tramlines | None":
        """Give the tramlines that a machine runs on over some crops; None where strip by strip."""
        asked = set(labels)
        mine = (one for one in self.tramlines if one.machine == machine)
        return next((one for one in mine if asked & one.labels), None)

    @property
    def machines(self) -> tuple[str, ...]:
        """Name the machines that pass over it."""
        names = [*(one.machine for one in self.passes), *(one.machine for one in self.tramlines)]
        return tuple(dict.fromkeys(names))

    @property
    def widest_m(self) -> float:
        """Width of the widest machine that passes over it."""
        return max(
            [*(one.width_m for one in self.passes), *(one.width_m for one in self.tramlines)]
        )

    @cached_property
    def own_row(self) -> tuple[bool, ...]:
        """Tell of each row whether it is of its strip's own crop, not sown between."""
        return tuple(row.layer == 0 for row in self.rows)

    def crops_of(self, strip: int) -> tuple[str, ...]:
        """Name the crops sown in a strip, its own first."""
        return self._crops_by_strip[strip]

    @cached_property
    def _crops_by_strip(self) -> tuple[tuple[str, ...], ...]:
        rows = sorted(self.rows, key=lambda row: row.layer)
        sown = [(row.strip, layer.crop) for row in rows for layer in row.sown]
        return tuple(
            tuple(dict.fromkeys(crop for strip, crop in sown if strip == index))
            for index in range(len(self.strips))
        )

    @cached_property
    def crops(self) -> tuple[str, ...]:
        """Name all crops, strip by strip."""
        return tuple(dict.fromkeys(crop for crops in self._crops_by_strip for crop in crops))

    @property
    def names(self) -> tuple[str, ...]:
        """Name all crops and mixtures once: those of strips first, in the order of the set.

        A mixture that is sown between or after them comes before its parts.
        """
        sown = ((one.label, crop) for crop in self.crops for one in self.layers if one.crop == crop)
        return tuple(dict.fromkeys([*self.labels, *(name for both in sown for name in both)]))

    def before_harvest(self) -> "Section":
        """Give the same set without what is sown in it after a harvest."""
        if not self.following:
            return self
        kept = [place for place, row in enumerate(self.rows) if not row.sown[0].follows]
        place = {old: new for new, old in enumerate(kept)}
        after = {layer.number for layer in self.layers if layer.follows}
        lines = (one.without(self.following) for one in self.tramlines)
        return replace(
            self,
            tramlines=tuple(one for one in lines if one.crops),
            rows=tuple(self.rows[old] for old in kept),
            passes=tuple(
                replace(one, rows=tuple(place[row] for row in one.rows))
                for one in self.passes
                if one.layer not in after
            ),
        )

    def from_first_strip(self) -> "Section":
        """Give the same set with distances counted from its first strip's edge."""
        by_m = -self.left_m
        return replace(
            self,
            strips=tuple(replace(one, left_m=one.left_m + by_m) for one in self.strips),
            rows=tuple(replace(one, offset_m=one.offset_m + by_m) for one in self.rows),
            passes=tuple(one.moved(by_m) for one in self.passes),
            tramlines=tuple(one.moved(by_m) for one in self.tramlines),
            tramlines_m=tuple(at_m + by_m for at_m in self.tramlines_m),
        )

    def mirrored(self) -> "Section":
        """Give the same set as it is seen where its first strip lies at the right.

        Distances are counted from the other edge of its strips; rows, strips and passes are in
        order from there.
        """
        span_m, last = 2 * self.left_m + self.width_m, len(self.strips) - 1
        place = len(self.rows) - 1
        return replace(
            self,
            strips=tuple(
                replace(
                    one,
                    left_m=span_m - one.right_m,
                    lead_m=one.width_m - sum(one.rows_span_m),
                )
                for one in self.strips[::-1]
            ),
            rows=tuple(
                replace(one, offset_m=span_m - one.offset_m, strip=last - one.strip)
                for one in self.rows[::-1]
            ),
            passes=tuple(
                replace(
                    one,
                    low_m=span_m - one.high_m,
                    high_m=span_m - one.low_m,
                    middle_m=span_m - one.middle_m,
                    rows=tuple(place - row for row in one.rows[::-1]),
                    strip=None if one.strip is None else last - one.strip,
                )
                for one in self.passes[::-1]
            ),
            tramlines=tuple(
                replace(
                    one,
                    middles_m=tuple(span_m - at_m for at_m in one.middles_m[::-1]),
                    left_m=span_m - one.left_m - one.pattern_m,
                )
                for one in self.tramlines
            ),
            tramlines_m=tuple(span_m - at_m for at_m in self.tramlines_m[::-1]),
        )

    def passes_across(self) -> tuple[Pass, ...]:
        """List the passes that lie over the set, those of sets beside that reach into it too."""
        low_m, high_m = self.left_m + WIDTH_M, self.left_m + self.width_m - WIDTH_M
        repeated = []
        for one in self.passes:
            for turn in (-1, 0, 1) if one.strip is None else (0,):
                by_m = turn * self.width_m
                if one.low_m + by_m < high_m and one.high_m + by_m > low_m:
                    repeated.append(one.moved(by_m))
        return tuple(repeated)

    @property
    def labels(self) -> tuple[str, ...]:
        """Name what the plan calls its strips' crops and mixtures, in the order of the set."""
        return tuple(dict.fromkeys(strip.crop for strip in self.strips))
