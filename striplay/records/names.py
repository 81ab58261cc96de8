"""Name the words of an entry: options of the command line, and columns of tables."""

from collections.abc import Mapping

HEADLAND = "headland"
"""The word for the headland in place of a strip's number, as the printed sheets have it."""

WORDS: Mapping[str, str] = {
    "kind": "done, stand, event, yield or remark; left out: done, and with a stand_count a stand "
    "besides, as the printed record sheets have it",
    "date": "the day, year-month-day",
    "operation": "name of the operation, as sheets have it, or its number there",
    "pass": "number of the pass, as sheets have it",
    "strip": "number of the strip, or headland",
    "piece": "number of the piece of that strip",
    "row": "number of the row within the strip; of a yield also the first and last, such as 1-8",
    "crop": "the crop; left out: the strip's",
    "start": "when it began, such as 07:30",
    "stop": "when it ended",
    "lot": "lot of the seed or product",
    "stand_count": "plants counted on a length of one row, or in a frame",
    "length": "of row that was counted or harvested, with its unit; of a stand left out: 1/1000 "
    "acre, or hectare, of row; of a yield left out: the whole length",
    "frame": "ground in a frame that plants were counted in, such as 1 ft2",
    "grain": "weight of grain as harvested, with its unit, such as 4210 lb",
    "moisture": "of that grain in per cent, such as 18.5 %",
    "test_weight": "of that grain, with its unit, such as 56 lb/bu",
    "what": "what happened, in a few words",
    "longitude": "of the place, degrees, below 0 in the west",
    "latitude": "of the place, degrees, below 0 in the south",
    "photo": "path of a picture, from the folder of the table",
    "operator": "who did it",
    "remark": "whatever else there is to say",
}
"""The words of an entry and what each means, in the order of the columns of a table."""

OF_ALL = ("date", "strip", "piece", "operator", "remark")
OF_KIND: Mapping[str, tuple[str, ...]] = {
    "done": ("operation", "pass", "start", "stop", "lot"),
    "stand": ("row", "crop", "stand_count", "length", "frame"),
    "event": ("what", "longitude", "latitude", "photo"),
    "yield": ("row", "crop", "grain", "moisture", "test_weight", "length"),
    "remark": (),
}
"""The words that a kind of entry takes besides those of all."""

NOT_READ = ("number", "mark")
"""Columns of tables that are for people: what an export tells."""
