"""Weigh a change in a farm's work by what it adds and what it takes away, in money."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PartialBudget:
    """What changes, and nothing else: money by field, by acre or by year, all in one of these.

    Attributes:
        added_returns: earned by the change.
        saved_costs: no longer spent.
        lost_returns: no longer earned.
        added_costs: newly spent.
    """

    added_returns: float = 0.0
    saved_costs: float = 0.0
    lost_returns: float = 0.0
    added_costs: float = 0.0

    @property
    def gains(self) -> float:
        """What speaks for the change."""
        return self.added_returns + self.saved_costs

    @property
    def losses(self) -> float:
        """What speaks against it."""
        return self.lost_returns + self.added_costs

    @property
    def net(self) -> float:
        """What is left of it.

        >>> PartialBudget(97_500, 55_000, 88_000, 69_000).net
        -4500
        """
        return self.gains - self.losses


def break_even_price_ratio(gained: float, lost: float) -> float:
    """Give the price of the losing crop over that of the gaining one at which both weigh even.

    Dearer than that, what is lost of the one crop costs more than is gained of the other.

    Args:
        gained: yield that the one crop gains by area, above 0.
        lost: yield that the other loses on as much land, above 0.
    """
    return gained / lost
