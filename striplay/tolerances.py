"""Hold every tolerance, each with its reason."""

MAX_MEND_SHARE = 1e-3
"""A self-crossing ring may be mended when that changes its area by less than 0.1 %."""

MAX_MEND_M2 = 20.0
"""It may also be mended when that changes less ground than a tractor stands on (our choice)..."""

MAX_MEND_SHARE_OF_SMALL = 0.01
"""...if that is less than a hundredth of the polygon, so that no small one is changed much."""

WIDTH_M = 1e-6
"""Two widths closer than a micrometer are the same: a strip narrower than this is rounding."""

BEFORE_BORDER_M = 1e-6
"""A row half-way between those of two strips stands so far before their border, to be of one."""

SLIVER_M2 = 1e-6
"""A polygon below a square millimeter is rounding of an overlay and is not drawn."""

SLIVER_SHARE = 1e-12
"""Of ground under 100 ha no more than this share is such rounding: a thousand of them dropped stay
within the 1e-9 to which accounts close. Arithmetic on the smallest field, 22 m across, rounds by
1e-13 m2, a five-thousandth of its 5e-10."""

OFFSET_STEP_M = 0.02
"""Offsets of the set are tried at least this near to each other; steering errs by more."""

FULL_WIDTH_M = 2.0
"""A strip is whole when it has its full width over at least this length; a tip has it over less."""

NEEDLE_M = 1e-8
"""A tip of a polygon thinner than a hundredth of a micrometer is a needle left by an overlay."""

OVERLAY_M = 1e-9
"""Where an overlay fails in floating point its vertices move by half a nanometer at most: over the
boundary of a 2 ha field that is a tenth of what its accounts may miss."""

BESIDE_EDGE_M = 1e-6
"""Beside an edge by a micrometer, a thousand steps of that grid, a point is surely on its side."""

LENGTH_M = 1e-9
"""A piece of row shorter than a nanometer is a vertex touched, not a row, and two vertices nearer
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

AS_STEERED_M = 0.01
"""A line to steer by is true to a centimeter: steering errs by more, and 1e-7 degree is 11 mm."""

MIDDLE_OFF_M = 0.1
"""A machine whose middle is less inside a strip may be told the rate of the one beside it: a
receiver without corrections from a base errs by more (common practice, no source)."""

OVER_FENCE_M = 0.4
"""A swath reaches over a fence by up to half a 30-in row, the ground its last row stands for."""

SHORTEST_PASS_M = 6.0
"""A pass that works what another leaves begins so early that it is at least so long: a machine
sinks and lifts its tools over several meters (our choice)."""

THIN_M = 1e-4
"""Levels nearer than a tenth of a millimeter are one: rounding of a turn sets them apart."""

TOUCH_M = 1e-3
"""Chords a millimeter apart hang together."""

ON_STEP = 1e-9
"""A vertex this near to a step, as a share of it, lies on it."""

HAIR_SHARE = 1e-6
"""A part of a polygon below a millionth of it is what rounding cut off."""

PLANTED_M2 = 1e-3
"""Less planted ground, of sums over a whole field, is rounding: no strip is planted."""

GEOJSON_STEP_DEG = 1e-7
"""GeoJSON is written with 7 decimals: 11 mm."""

EQUAL_COST_SHARE = 1e-4
"""Offsets whose costs differ by less than a hundredth of a per cent are equally good."""

BOUND_SHARE = 1e-7
"""What a heading costs at the least is reckoned lower by so much: far more than a tie."""

ROUNDING_SHARE = 1e-14
"""Adding up some hundred amounts rounds by less than this share of the greatest of them."""

TIE_COST_SHARE = 1e-9
"""Money that differs by less is a tie: processors round each their own way."""

TIE_AIM = 1e-6
"""Aims that differ by less are a tie, which money settles."""

ALIKE_DEG = 0.05
"""Headings so near to each other differ by less than 3 ft over half a mile."""

WIDE_ROWS_M = 40.5 * 0.0254
"""Rows over 40 in apart are no usual spacing: what their rate counts by is told (our choice)."""

ON_ROW_M = 0.05
"""A row nearer than 2 in to another stands on it."""

OPENER_OFF_M = 0.025
"""An opener may stand an inch from where a row is asked: its clamps allow it (our choice)."""

EQUAL_HEIGHT_M = 0.1
"""Crops within 10 cm of each other's height hardly shade."""

ROUNDING_C = 1e-9
"""What adding up may lose."""

GRADE_DIGITS = 9
"""Grades nearer than this are one grade: the first stretch that has it is named."""

OUT_SHARE = 0.1
"""Ground beside a pass's rows lies outside the field where more than a tenth of it does."""

AHEAD_M = 0.5
"""An obstacle stops a pass that ends no farther before it."""

BORDERS_SHARE = 0.3
"""A narrow strip that shares so much of its outline with the headland lies beside it."""

DRAWN_M = 1.0
"""Boundaries of neighbors are drawn apart from each other, from a picture or a drive, to about a
meter: fields that share a strip no wider share none (our choice)."""

TOLD_M2 = 50.0
"""Less ground than about a hundredth of an acre is not worth a word."""

STRIPS_SHARE = 0.25
"""A field with less than a quarter of it in strips is told: it was hardly meant so (our choice)."""

HEADLAND_SHARE = 0.4
"""A headland over two fifths of the field is told: two passes of a 40-ft planter take a third of a
square of 20 acres, so more is a small field or a slip (our choice)."""

LARGE_FIELD_M2 = 1000 * 4046.8564224
"""A field over 1,000 acres, more than a section and a half, is told: it may be many fields, or an
outline in another coordinate system (our choice)."""

STILL_M = 0.001
"""A key line that moves by less than a millimeter has come to rest."""

SHARE_STEP = 0.01
"""Shares of land are wished, and met, to the whole per cent: 0.33 and 0.3333 are one wish."""

SHARE_MISSED = 0.05
"""A crop's share of the land further off its wish than five percentage points is told (our choice):
a strip more or less moves it by about so much on a small field."""

SAME_FIELD = 0.99
"""Two boundaries that share so much of the larger are one field, drawn twice (our choice): fences
and end rows taken differently are less."""
NEAR_DEG = 1.0
"""Fields farther apart than a degree are not one, and are not brought to one plane."""

SWAP_M = 0.0254
"""Strips whose widths differ by an inch at most are equally wide: steering errs by as much."""

TRACKS_M = 0.001
"""Strips whose edges move by a millimeter at most from season to season lie on the same tracks:
the best steering repeats a line to an inch."""

OFF_DEG = 0.1
"""What so little off a heading costs is told: the cost dips at a fence, where no row ends early."""

LOAD_SHARE = 1e-9
"""What is left lasts a pass that needs a billionth of a load more: rounding of sums."""

DAY_SHARE = 1e-6
"""Work that runs into a day by less than a tenth of a second is rounding."""

STATION_M = 2.0
"""What stands beside a row is looked at every 2 m along it: of half a mile a part in 400."""

SENT_STEP_M, SENT_OFF_M = 0.01, 0.05
"""The field page has shapes to the centimeter, their lines simplified by a hand's breadth at most:
a phone is meters off."""

GAP_S, GAP_STEPS = 5.0, 3.0
"""A yield monitor's record has a gap where its next point is this late, and so many usual steps."""

DRIVEN_S = 2.0
"""Which way and how fast a combine drives is told from so long before to so long after a point: a
receiver's noise of a foot is then a twentieth of the way (our choice)."""

STEADY_S = 7.0
"""A combine's line is the median of its places across from so long before to so long after."""

ACROSS_SHARE = 0.5
"""What goes across by over half of its way is turning, not harvesting along the rows: 30 degrees
(our choice)."""

ON_PASS_SHARE = 0.3
"""A run within so much of the header's width of a planned pass is that pass (our choice): a whole
pass beside it would be off by a width."""

OVER_SHARE, OVER_M = 0.15, 0.75
"""A header that reaches over the next strip by more than this share of its width, and this far, is
over two strips: receivers without a local correction are off by less (from memory)."""

CUT_ALONG_M, CUT_ACROSS_M = 5.0, 0.25
"""What was cut before is looked up in cells of this length and width: a fortieth of a header."""

AROUND_S = 10.0
"""A yield is held against the median of those from so long before to so long after it."""

WRONG_FIELD = 0.5
"""A file with over half its points outside the field is of another (our choice)."""

DELAY_OFF_S = 4.0
"""Grain that comes so much sooner or later than the delay says is told (our choice)."""

NO_SPREAD = 1e-9
"""Plots that stray by less than this share of their mean stray by the digits of numbers alone."""

HEADINGS_APART_DEG = 30.0
"""Blocks whose strips run within so few degrees of each other run one way: shade and light differ
little (our choice)."""
