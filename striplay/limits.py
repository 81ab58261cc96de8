"""Hold every limit on what is read, each with its reason.

A plan or a boundary may come from someone else, or hold a slip of the pen. What is past a limit is
refused before time or memory is asked for it. Each limit lies well beyond any farm (our choice).
"""

MAX_PLAN_BYTES = 1_000_000
"""A plan is a page or two of text; a megabyte is five hundred pages."""

MAX_NAME_LENGTH = 100
"""Names of crops and machines stand on sheets and in file columns; a line holds no more."""

MAX_TITLE_LENGTH = 200
"""A title stands on one line of a sheet."""

MAX_WEATHER_BYTES = 20_000_000
"""Daily weather of a thousand years is smaller."""

MAX_FILE_BYTES = 64_000_000
"""A boundary in text (GeoJSON, KML, GML) grows tenfold when it is read."""

MAX_DATA_BYTES = 500_000_000
"""A boundary in a binary format, side files included, or in a zip once it is unpacked."""

MAX_ZIP_FILES = 1_000
"""A zip of one farm's layers, and their side files, holds far fewer."""

MAX_ZIP_DIRECTORY_BYTES = 1_000_000
"""The directory of a zip with some ten thousand files, which is read whole."""

MAX_NESTING = 100
"""Elements of XML within each other; GML and KML take a dozen."""

MAX_LAYERS = 100
"""A file of one farm has a few layers; counting what is in each takes time."""

MAX_FEATURES = 100_000
"""Features in a layer, before a condition chooses: every field of a county."""

MAX_VERTICES = 400_000
"""Vertices of all shapes that are read: one for each foot of a boundary of 75 miles."""

MAX_CONDITION_LENGTH = 2_000
"""A condition is a line; so many letters list 200 fields by number."""

MAX_CONDITION_DEPTH = 20
"""Brackets within brackets, beyond what a person can follow."""

MAX_TOLD = 20
"""So many faults of a file are told one by one; more are counted."""
