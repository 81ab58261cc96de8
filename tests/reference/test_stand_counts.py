"""Stand counts: the length of row that is a thousandth of an acre, as extension sheets list it.

Tables of this kind stand in corn and soybean guides of several state universities; these lengths
are recalled from memory. The acre is 43,560 square feet, exact, so each is 522.72 ft / inches.
"""

import pytest

from striplay.accounts.words import thousandth_of_row
from striplay.units import INCH_M


@pytest.mark.parametrize(
    ("inches", "long"),
    [
        (7.5, "69 ft 8 in"), (15, "34 ft 10 in"), (20, "26 ft 2 in"), (22, "23 ft 9 in"),
        (28, "18 ft 8 in"), (30, "17 ft 5 in"), (36, "14 ft 6 in"), (38, "13 ft 9 in"),
    ],
)  # fmt: skip
def test_a_thousandth_of_an_acre(inches, long):
    assert thousandth_of_row(inches * INCH_M, "us") == long


def test_a_thousandth_of_a_hectare():
    assert thousandth_of_row(0.75, "metric") == "13.33 m"
    assert thousandth_of_row(0.5, "metric") == "20 m"
