"""Place labels along a line so that none meets another."""

from collections.abc import Sequence


def spread(wanted: Sequence[tuple[float, float]], low: float, high: float) -> list[float]:
    """Give the middles of labels along a line, moved apart by as little as squares allow.

    Args:
        wanted: where each would stand, its middle, and how wide it is; kept in the order given.
        low: where the line begins; no label begins before, if all have room.
        high: where it ends.

    >>> spread([(5.0, 4.0), (6.0, 4.0)], 0.0, 20.0)
    [3.5, 7.5]
    >>> spread([(1.0, 4.0)], 0.0, 20.0)
    [2.0]
    """
    # how far each label's middle is from the start of the first, when all stand edge to edge
    before = [
        sum(width for _, width in wanted[:index]) + wanted[index][1] / 2
        for index in range(len(wanted))
    ]
    # then labels are in order as long as their starts never fall: pool those that would
    pools: list[tuple[float, int]] = []
    for (middle, _), offset in zip(wanted, before, strict=True):
        start, count = middle - offset, 1
        while pools and pools[-1][0] > start:
            other, many = pools.pop()
            start, count = (start * count + other * many) / (count + many), count + many
        pools.append((start, count))
    latest = max(low, high - sum(width for _, width in wanted))
    starts = [min(max(start, low), latest) for start, count in pools for _ in range(count)]
    return [start + offset for start, offset in zip(starts, before, strict=True)]
