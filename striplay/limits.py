"""Hold every limit on what is read, each with its reason.

A plan or a boundary may come from someone else, or hold a slip of the pen. What is past a limit is
refused before time or memory is asked for it. Each limit lies well beyond any farm (our choice).
"""

MAX_PLAN_BYTES = 1_000_000
"""A plan is a page or two of text; a megabyte is five hundred pages."""

MAX_KEY_PARTS = 32
"""Parts of a key with dots between, such as crops.corn.rate: four are of use; a few dozen cost
nothing, and hardly a text looks like so many."""

MAX_KEY_LENGTH = 400
"""Characters of a key with dots between: four names of the longest."""

MAX_NAME_LENGTH = 100
"""Names of crops and machines stand on sheets and in file columns; a line holds no more."""

MAX_NAME_BYTES = 200
"""Bytes of a file's name that is typed: systems take 255 (common practice, no source), and what is
written first has a longer name beside it."""

MAX_TEXT_LENGTH = 2_000
"""Any text in a plan: the longest is a condition that lists 200 fields by number."""

MAX_WEATHER_BYTES = 20_000_000
"""Daily weather of a thousand years is smaller."""

MAX_FILE_BYTES = 32_000_000
"""A boundary in text (GeoJSON, KML, GML) grows tenfold when it is read."""

MAX_TEXT_VERTICES = 2_000_000
"""Points and lists in a boundary in text, counted before it is read: 200 bytes each then."""

MAX_BINARY_BYTES = 100_000_000
"""A boundary in a binary format, without side files: 6 million vertices of 200 bytes when read."""

MAX_DATA_BYTES = 500_000_000
"""Side files of a boundary, or a zip once it is unpacked."""

MAX_ZIP_FILES = 1_000
"""A zip of one farm's layers, and their side files, holds far fewer."""

MAX_ZIP_DIRECTORY_BYTES = 1_000_000
"""The directory of a zip with some ten thousand files, which is read whole."""

MAX_CRS_LENGTH = 100_000
"""Text of a coordinate reference system; the longest of EPSG's has a tenth of that."""

MAX_NESTING = 100
"""Elements of XML within each other; GML and KML take a dozen."""

MAX_LAYERS = 100
"""A file of one farm has a few layers; counting what is in each takes time."""

MAX_FEATURES = 100_000
"""Features in a layer, before a condition chooses: every field of a county."""

MAX_COLUMNS = 300
"""Columns of a layer; a Shapefile has 255 at most."""

MAX_VALUES = 5_000_000
"""Values in all columns of a layer: 50 each of as many features as are read."""

MAX_VERTICES = 400_000
"""Vertices of all shapes that are read: one for each foot of a boundary of 75 miles."""

MIN_FIELD_AREA_M2 = 500.0
"""Below 0.05 ha a "field" is a mis-digitised or wrongly projected shape, not ground to strip."""

MAX_FIELD_EXTENT_M = 50_000.0
"""Above 50 km the local plane departs from the ground, and no one field is that wide."""

MAX_NESTED = 8
"""Tables, lists or collections within each other, in a plan or a shape: either takes four."""

MAX_DIGITS = 18
"""A whole number with more digits is of no use on a farm."""

MAX_CONDITION_DEPTH = 20
"""Brackets within brackets, beyond what a person can follow."""

MAX_COMPARISONS = 100
"""Comparisons of a condition, each asked of every feature; a list of values is one."""

MAX_PATTERN_LENGTH = 200
"""Characters of a pattern that names are compared with."""

MAX_VALUE_LENGTH = 1_000
"""Characters of a value compared with a pattern; a Shapefile's text has 254 at most."""

MAX_TOLD = 20
"""So many faults of a file are told one by one; more are counted."""

MAX_OFFERED = 12
"""So many known words are named where one is not known; of a longer list a near one, or its first.
"""

MAX_SHOWN = 60
"""Characters of a name or value that are shown; it is cut there, to leave its line readable."""

MAX_LENGTH_M = 100_000.0
"""No length on a farm is longer than 100 km."""

MAX_QUANTITY = 1e12
"""No rate, weight or price on a farm is larger, in SI."""

MIN_SPACING_M = 0.01
"""Rows and openers stand an inch apart or more, flower beds included; a centimeter leaves room."""

MAX_MACHINE_WIDTH_M = 100.0
"""The widest booms in use are about half as wide (from memory)."""

MAX_ROWS = 2_000
"""Rows of a machine or a strip: a mile of 30-in rows."""

MAX_SET_ROWS = 3_000
"""Rows of a whole set: machines are weighed on each, in memory that grows by their square."""

MAX_STRIPS = 60
"""Strips of a set, which repeats over the field; the time to weigh them grows by their square."""

MAX_NUMBERS = 10_000
"""Strips of a field whose numbers a plan carries on: strips of 3 m over 30 km."""

MAX_REPLICATES = 20
"""Replicates of a trial: more are no trial of strips."""

MAX_ROWS_BETWEEN = 20
"""Rows sown between two rows of another crop."""

MAX_TABLES = 100
"""Machines, crops, blocks or the like in a plan."""

MAX_LISTED = 200
"""Places of rows in a pattern."""

YEARS = range(1900, 2200)
"""Years of a farm's calendar."""

MAX_DEGREE_DAYS = 100_000.0
"""Degree days of several years anywhere."""

MAX_HOLES = 10_000
"""Ponds and other holes: each takes some ten milliseconds to lay round."""

MAX_ROW_PIECES = 2_000_000
"""Pieces of row, as estimated: 100,000 ha of 30-in rows round 8,000 ponds have 0.7 million. At 2.4
million a run had taken 1.7 GB, and not ended, after 100 s."""

MAX_STRIP_PIECES = 250_000
"""Pieces of strips and passes together, as estimated, each a shape of its own: the same 100,000 ha
have 0.2 million. Twice as many took over 600 MB and 100 s."""

MAX_CURVE_VERTICES = 30_000_000
"""Vertices of rows, strips and passes along curves, as estimated: a 30-in pivot half a mile in
radius has 4 million, and 86 million took 3.0 GB."""

MAX_CROWD = 60_000.0
"""Pairs of vertices that turn against each other within a headland's width: offsetting so ragged
a boundary took about ten seconds and 700 MB."""

MAX_SET_OF_FIELD = 4.0
"""A set wider than so many fields is a slip: most of it would never be planted."""

MAX_FILLS = 1_000
"""Fills of one pass on its way that are counted; more come of a slip in a rate or in what a machine
holds, and one is told of either way."""

MAX_JOB_DAYS = 366.0
"""A job that takes over a year is reckoned as a year: a slip in a speed or in hours a day."""

MAX_TRIAL_BYTES = 2_000_000
"""A line for each crop of ten thousand trials is smaller."""

MAX_MONITOR_BYTES = 200_000_000
"""A point a second for two hundred hours of harvest, in lines of 250 characters."""

MOST_STATIONS = 2_000_000
"""Places across and along where it is looked at what stands beside rows: of a section of 30-in rows
one every 2 m; of more, they lie farther apart, in 100 MB of memory."""

EDGE_ROWS = 3
"""Rows from a strip's edge that may yield otherwise than those inside; trials report no more."""

MOST_GAIN = 2.0
"""What an outer row may yield more, as a share: several times the most that is published."""

MAX_ROWS_SENT_BYTES = 400_000
"""Rows of the field page, as written: more than that would take a phone long to draw, and the page
past 1 MB."""

MAX_ROW_VERTICES_SIMPLIFIED = 500_000
"""Vertices of rows that are simplified for the field page, which takes half a second; of rows round
a pivot there are millions."""

MAX_RECORDS_BYTES = 20_000_000
"""A table of records: a hundred thousand lines of two hundred characters."""

MAX_STORE_BYTES = 2_000_000_000
"""A store of records: ten years of fifty fields take a fiftieth of that."""

MOST_PLANTS_PER_M2 = 2_500.0
"""Plants that are counted by area: flax, sown as thickly as anything, has a third of that (from
memory); a number of plants to the acre in place of a count is beyond it."""

MOST_YIELD_KG_PER_M2 = 25.0
"""Yield that is weighed, 250 t/ha: twice the heaviest beets (from memory); a slip of the pen is
beyond it."""

MOST_OFF_FIELD_M = 1_000.0
"""An event farther than so from its field is of another field, or has its degrees wrong."""

MOST_TEST_WEIGHT_KG_PER_M3 = 1_100.0
"""Grain by volume: wheat has 770, at 60 lb to the bushel, and the heaviest seed hardly 900 (from
memory); water has 1,000."""

MAX_MANY_BYTES = 20_000_000_000
"""A file of many fields that is taken a feature at a time: ten million of 60 vertices have half of
that."""

MAX_JOBS = 256
"""Worker processes of one machine: each holds some 200 MB."""

MOST_FIELDS_A_WORKER = 5_000
"""Fields after which a worker process is replaced: what libraries keep of each is then given back
every ten minutes or so, at the cost of a second."""

MOST_FIELD_S = 900.0
"""Time for one field among many: a field that takes longer has a fault, or is to be laid alone."""

MOST_FIELD_BYTES = 2_000_000_000
"""Memory that a worker process may take: laying most rows that one field may have has taken 1.7 GB,
and what takes more is to be laid alone, on a machine that has it."""

MOST_OPEN_PARTS = 4
"""Parts of many fields that are open at once: so far others run ahead of a field that takes long,
in some 20 MB of memory each."""

MAX_LEDGER_BYTES = 50_000_000
"""What a run keeps of some hundred fields, unpacked: some hundred times what it is."""

MOST_FIELDS_ON_PAGE = 5_000
"""Fields of a page with their maps: some eight megabytes, which sort in a second or two."""

MOST_FIELDS_COMPARED = 100_000
"""Fields of a file that are held beside each other to find those that overlap or share a name, in
some 150 MB, and twice that while they are compared; of a file of more none are."""

MOST_OVERLAPS = 1_000
"""Pairs of fields that overlap, up to which more are looked for: a file that holds one field a
thousand times, to try a thousand plans on it, has half a million."""

MOST_TOLD_PAIRS = 5
"""Pairs of fields that overlap, and names given more than once, that are told one by one."""

MOST_TOLD_FIELDS = 20
"""Refused fields among many that a run tells one by one; all stand in its summary."""

MAX_TALK_BYTES = 140_000_000
"""A message of the planning page: a boundary of the largest size that is read, as text."""

MAX_DRAWN_CORNERS = 1_000
"""Corners of a field drawn by hand: a day's clicking."""

MAX_DESKS = 50
"""Pages that one planning table talks with at a time."""

MOST_SETS = 20_000
"""Combinations of strips' widths ranked at most; of more, each strip keeps only its best widths."""

MOST_AT_ONCE = 1_000
"""More passes of a group are ordered so many at a time: what lies between their ends grows with
their square, 32 MB of it for so many."""
