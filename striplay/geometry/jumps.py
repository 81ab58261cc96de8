"""Say what changes at the levels of ground, and add that up over the sets of a section, sparsely.

Between the levels of vertices all that a pass is priced by is a polynomial of y (see
`striplay.geometry.fold`), so ground is known by how the polynomial changes at each level: by a jump
of the value, of the slope and of the curve. A level of the set that moves over the ground with the
offset passes each vertex's level once. So a price, added up over all levels and sets, is made of
polynomials of the offset that change as often as there are pairs of a level and a vertex: far fewer
than of an offset and a level.
"""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from striplay.geometry.fold import Profile, levels_of
from striplay.tolerances import ON_STEP

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

KINDS = 6
"""As the rows of `striplay.geometry.fold`: what is known of a level."""


@dataclass(frozen=True)
class Jumps:
    """What changes at the levels of grounds.

    Attributes:
        ground: number of the ground each is of, (n,).
        at: level in steps, (n,).
        begin: the first whole step that is not below it, (n,).
        change: of each kind: by how much the value jumps, the growth by the step, and half the
            growth of that, (kinds, 3, n).
        first: index of each ground's first, and n, (grounds + 1,); empty where they are in no
            order of grounds.
    """

    ground: Integers
    at: Floats
    begin: Integers
    change: Floats
    first: Integers = field(default_factory=lambda: np.empty(0, dtype=np.int64))

    def some(self, which: Integers) -> "Jumps":
        """Give those of some grounds, by number."""
        levels, first = levels_of(self.first, which)
        ground = np.repeat(np.arange(len(which)), np.diff(first))
        return Jumps(ground, self.at[levels], self.begin[levels], self.change[:, :, levels], first)

    @staticmethod
    def joined(jumps: "list[Jumps]") -> "Jumps":
        """Put those of several, each in order of grounds, together."""
        counts = np.concatenate([np.diff(one.first) for one in jumps])
        return Jumps(
            np.repeat(np.arange(len(counts)), counts),
            np.concatenate([one.at for one in jumps]),
            np.concatenate([one.begin for one in jumps]),
            np.concatenate([one.change for one in jumps], axis=2),
            np.append(0, np.cumsum(counts)),
        )

    def of(self, kinds: list[int | None]) -> "Jumps":
        """Give the same with its kinds in another order; None is a kind that never changes."""
        change = np.zeros((len(kinds), *self.change.shape[1:]))
        for row, kind in enumerate(kinds):
            if kind is not None:
                change[row] = self.change[kind]
        return Jumps(self.ground, self.at, self.begin, change)

    def and_of(self, other: "Jumps") -> "Jumps":
        """Put the changes of two together."""
        return Jumps(
            np.concatenate([self.ground, other.ground]),
            np.concatenate([self.at, other.at]),
            np.concatenate([self.begin, other.begin]),
            np.concatenate([self.change, other.change], axis=2),
        )


def jumps_of(profile: Profile, step_m: float) -> Jumps:
    """Give what changes at each level of grounds.

    Args:
        profile: the grounds by level.
        step_m: distance between levels of the set.
    """
    new = np.zeros(len(profile.level_m), dtype=bool)
    new[profile.first[:-1][np.diff(profile.first) > 0]] = True
    height_m = np.where(new, 0.0, np.diff(profile.level_m, prepend=0.0))

    def change(values: Floats, growth: Floats | None = None) -> Floats:
        """Tell by how much each differs from what the level below makes of it."""
        before = np.where(new, 0.0, np.roll(values, 1))
        if growth is not None:
            before = before + np.where(new, 0.0, np.roll(growth, 1)) * height_m
        return np.asarray(values - before)

    found = np.zeros((KINDS, 3, len(profile.level_m)))
    begun, chords = change(profile.begun), change(profile.chords)
    found[0, 0], found[1, 0] = chords - begun, begun
    length = change(profile.length_m, profile.slope), change(profile.slope) * step_m
    varied = change(profile.varied_m, profile.shift), change(profile.shift) * step_m
    for row, (one, other) in enumerate(zip(length, varied, strict=True)):
        found[2, row], found[3, row] = (one - other) / 2, (one + other) / 2
    found[4, 1], found[4, 2] = length[0] * step_m, length[1] * step_m / 2
    found[5, 0] = change(profile.steady)
    at = profile.level_m / step_m
    ground = np.repeat(np.arange(len(profile)), np.diff(profile.first))
    return Jumps(ground, at, np.ceil(at - ON_STEP).astype(np.int64), found, profile.first)


class Offsets:
    """Polynomials of the offset, in steps, each from some offset on: their sum at every offset."""

    def __init__(self, grounds: int, steps: int) -> None:
        """Begin with nothing.

        Args:
            grounds: how many grounds there are.
            steps: offsets of each.
        """
        self.grounds, self.steps = grounds, steps
        self._place: list[Integers] = []
        self._terms: list[Floats] = []

    def add(self, ground: Integers, begin: Integers, terms: Floats) -> None:
        """Add polynomials from an offset on.

        Args:
            ground: of each, (n,).
            begin: the first offset; none where that is `steps`, (n,).
            terms: constant, linear and quadratic, (3, n).
        """
        self.add_at(ground * (self.steps + 1) + begin, terms)

    def add_at(self, place: Integers, terms: Floats) -> None:
        """Add the same by places: those of a ground, `steps` + 1, follow those of the one before.

        Args:
            place: of each, (n,).
            terms: as of `add`.
        """
        self._place.append(place)
        self._terms.append(terms)

    def sums(self) -> Floats:
        """Add all up, (grounds, steps)."""
        grounds, steps = self.grounds, self.steps
        if not self._place:
            return np.zeros((grounds, steps))
        place = np.concatenate(self._place)
        size = grounds * (steps + 1)
        value, growth, curve = (
            np.concatenate([terms[row] for terms in self._terms]) for row in range(3)
        )
        packed = np.empty(size, dtype=np.complex128)  # two sums run up in one pass
        packed.real, packed.imag = (np.bincount(place, one, size) for one in (value, growth))
        both = np.cumsum(packed.reshape(grounds, -1)[:, :-1], axis=1)
        step = np.arange(steps, dtype=np.float64)
        if not curve.any():
            return np.asarray(both.real + both.imag * step)
        jumps = np.bincount(place, curve, size).astype(np.float64)
        found: Floats = np.cumsum(jumps.reshape(grounds, -1)[:, :-1], axis=1)
        found *= step
        found += both.imag
        found *= step
        found += both.real
        return found


def _weighed(weight: Floats, change: Floats) -> Floats:
    """Add up changes of all kinds, (kinds, 3, n), by weights, (k, kinds): (3, k, n)."""
    found = weight @ change.reshape(len(change), -1)
    return found.reshape(len(weight), *change.shape[1:]).swapaxes(0, 1)


def _about(change: Floats, above: Floats) -> Floats:
    """Give polynomials of what lies above an offset as polynomials of the offset, (3, ...).

    Args:
        change: value, growth and curve, each of the same shape.
        above: how far above the change the offset 0 is seen.
    """
    value, growth, curve = change
    found = np.empty((3, *above.shape))
    steeper = curve * above
    np.add(growth, steeper, out=found[1])
    np.multiply(found[1], above, out=found[0])
    found[0] += value
    found[1] += steeper
    np.negative(found[1], out=found[1])
    found[2] = curve
    return found


def add_sets(into: Offsets, jumps: Jumps, levels: Integers, weight: Floats) -> Floats:
    """Add what levels of all sets see at every offset; each kind's weights add up to 0 or to ends.

    What begins and what ends must cancel above the ground, as the two edges of a pass do.

    Args:
        into: where to.
        jumps: of grounds that begin at level 0 or above.
        levels: in steps from a set's first edge, (k,).
        weight: of each kind at each, (k, kinds).

    Returns:
        The greatest amount that was added up, by ground of `into`: what rounding is a share of.
    """
    grounds, steps = into.grounds, into.steps
    count = len(jumps.at)
    if not count:
        return np.zeros(grounds)
    changes = value, growth, curve = _weighed(weight, jumps.change)
    turn, level = np.divmod(levels[:, None], steps)
    begun, begin = np.divmod(jumps.begin, steps)
    seen = level - begin
    before = seen < 0
    seen[before] += steps
    first = before + (begun - turn)  # the set that sees it at some offset, and no more after that
    above = seen + (jumps.begin - jumps.at)
    place = jumps.ground * (steps + 1) + 1 + seen
    removed = _about(changes, above)
    into.add_at(place.ravel(), -removed.reshape(3, -1))
    sets = first.max(initial=0) + 1 - first
    once = sets * (sets - 1) / 2 * steps
    twice = once * (2 * sets - 1) / 3 * steps
    far = sets * above + once
    farther = (far + once) * above + twice
    linear, quadratic = growth * far, curve * farther
    base = np.array(
        [
            (sets * value + linear + quadratic).sum(axis=0),
            -(growth * sets + 2 * curve * far).sum(axis=0),
            (curve * sets).sum(axis=0),
        ]
    )
    into.add_at(jumps.ground * (steps + 1), base)
    size = np.abs(linear).sum(axis=0) + np.abs(quadratic).sum(axis=0)
    return np.bincount(jumps.ground, size, grounds).astype(np.float64)


@dataclass(frozen=True)
class Side:
    """A stretch of offsets at which something lies on land by 1, 2, 3 ... steps at a side.

    Attributes:
        level: of the side of each ground, in steps, (grounds,).
        way: 1 from the side at the lowest level inward, -1 from that at the highest.
        edge: what lies so far inside the side: a level of the set.
        count: how many offsets, of each ground, (grounds,).
        outside: how many steps outside the edge it is asked what is seen, (k,).
        weight: of each kind there, (k, kinds).
    """

    level: Integers
    way: int
    edge: int
    count: Integers
    outside: Integers
    weight: Floats


def add_side(into: Offsets, jumps: Jumps, side: Side) -> None:
    """Add what is seen at the offsets of a side; nothing is seen beyond it.

    Args:
        into: where to.
        jumps: of the grounds.
        side: the offsets, and what is asked.
    """
    if not len(side.outside):
        return
    way, steps = side.way, into.steps
    past = way * (jumps.begin - side.level[jumps.ground]) + (way < 0)
    near = np.flatnonzero(past + side.outside.min() <= side.count[jumps.ground])
    counted = np.maximum(past[near] + side.outside[:, None], 1)
    term, place = np.nonzero(counted <= side.count[jumps.ground[near]])
    if not len(term):
        return
    counted, one = counted[term, place], near[place]
    ground = jumps.ground[one]
    change = way * _weighed(side.weight, jumps.change[:, :, near])[:, term, place]
    most = side.count[ground]
    # offsets, perhaps of other sets, from the first at which it is seen to the last
    begin = side.edge - side.level[ground] - way * (most if way > 0 else counted)
    length = most - counted + 1
    first = begin % steps
    above = side.edge - way * side.outside[term] - jumps.at[one] + (first - begin)
    terms = _about(change, above)
    last = first + length
    into.add(ground, first, terms)
    into.add(ground, np.minimum(last, steps), -terms)
    over = np.flatnonzero(last > steps)
    if len(over):
        terms = _about(change[:, over], above[over] - steps)
        into.add(ground[over], np.zeros(len(over), dtype=np.int64), terms)
        into.add(ground[over], last[over] - steps, -terms)
