"""Hold every tolerance, each with its reason."""

MIN_FIELD_AREA_M2 = 500.0
"""Below 0.05 ha a "field" is a mis-digitised or wrongly projected shape, not ground to strip."""

MAX_FIELD_EXTENT_M = 50_000.0
"""Above 50 km the local plane departs from the ground, and no one field is that wide."""

MAX_MEND_SHARE = 1e-3
"""A self-crossing ring may be mended when that changes its area by less than 0.1 %."""

WIDTH_M = 1e-6
"""Two widths closer than a micrometre are the same: a strip narrower than this is rounding."""

BEFORE_BORDER_M = 1e-6
"""A row half-way between those of two strips stands so far before their border, to be of one."""

SLIVER_M2 = 1e-6
"""A polygon below a square millimetre is rounding of an overlay and is not drawn.

Dropping a thousand of them stays within the 1e-9 to which the accounts of a 100 ha field close.
"""

OFFSET_STEP_M = 0.02
"""Offsets of the set are tried at least this near to each other; steering errs by more."""

FULL_WIDTH_M = 2.0
"""A strip is whole when it has its full width over at least this length; a tip has it over less."""

NEEDLE_M = 1e-8
"""A tip of a polygon thinner than a hundredth of a micrometre is a needle left by an overlay."""

LENGTH_M = 1e-9
"""A piece of row shorter than a nanometre is a vertex touched, not a row, and two vertices nearer
than that are one."""

AREA_SHARE = 1e-9
"""Accounts close, and a fast clip agrees with the exact profile, to this share of the area."""

WHOLE_NUMBER = 1e-6
"""A ratio of two widths this near a whole number is whole: text such as "13.333 ft" is not."""

ROUND_TRIP_M = 1.0
"""Coordinates that come back from a projection moved by more lie outside its area of use."""

MITRE_LIMIT = 5.0
"""Offset corners sharper than about 23 degrees are cut off, lest a spike cross the field."""

WIGGLE_SHARE = 0.25
"""With headlands at the ends only, wiggles below this share of the headland do not turn a side."""

SEED_COUNT = 1e-6
"""Seeds are rounded up, but a millionth above a whole seed is rounding of the arithmetic."""

INSIDE_M = 0.01
"""Machines may reach a centimeter past the boundary: steering errs by more."""

OVER_FENCE_M = 0.4
"""A swath reaches over a fence by up to half a 30-in row, the ground its last row stands for."""

SHORTEST_PASS_M = 6.0
"""A pass that works what another leaves begins so early that it is at least so long: a machine
sinks and lifts its tools over several meters (our choice)."""
