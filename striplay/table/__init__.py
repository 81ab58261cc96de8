"""Plan with the farmer: a page on the adviser's own machine, and its talk with the engine.

The talk is JSON, a message a text, over one WebSocket. A line is what `striplay.page.shapes` makes
of it: its first point, then steps, in centimeters on the local plane, x east and y north. All text
that a person reads is made here; the page words nothing twice, and shows it as text alone.

From the page, each with a number of its own, which the answer or refusal gives back (0 where it is
of none of the page's, as at the start)::

    {"do": "change", "number": 7, "stroke": 3, "changes": {"direction.heading": 93.2}}
        changes by dotted key, as the plan file would have them; null takes a key away. Changes of
        one stroke (a drag, a key held) are one step of undo; null is a stroke of its own.
    {"do": "undo"}  {"do": "redo"}
    {"do": "reset"}                         back to the saved plan; it can be undone
    {"do": "save", "name": "north_2.toml"}
    {"do": "best"}                          best heading; its result is an answer
    {"do": "cancel"}
    {"do": "open", "name": "x.geojson", "bytes": "<base64>"}     the name tells its kind alone
    {"do": "draw", "ring_m": [[x, y], ...], "latitude": 42.0, "longitude": -93.0}
    {"do": "document", "toml": "..."}       after a new start of the engine

To the page::

    {"say": "ground", "title", "file", "units": "us" | "metric", "empty": false,
     "field": [[line, ...], ...], "obstacles": [[line, ...], ...], "area_text", "where_text",
     "lengths_m": {"ft": 0.3048, ...}, "most_bytes": 20000000}
        areas as lists of rings; empty: no boundary yet, one is opened or drawn; file: the plan's
        name; where_text: where on the earth it lies; lengths_m: units that lengths may be typed in;
        most_bytes: of a boundary that is opened
    {"say": "offers", "crops": [{"name", "letter", "color", "hatch"}], "planter_m", "row_m",
     "sets": [{"label", "words", "changes"}], "headlands": [{"label", "changes"}],
     "systems": [{"label", "verdict", "can", "words", "changes"}], "starts": [{"label", "changes"}],
     "chosen": as in an answer}             sent again where systems are judged
        planter_m, row_m: what a press of a key moves the offset by
    {"say": "answer", "number", "milliseconds", "heading_deg", "heading_text", "offset_m",
     "offset_text", "set_m", "start": "left" | "right", "straight": true,
     "chosen": {"sets": 2, "headlands": 0, "systems": 0, "starts": -1},
        places among the offers, -1 for none
     "strips": [{"name", "crop", "across", "between", "words", "rings", "guide", "rows",
                 "rows_between"}],
        as the field page is sent them (`striplay.page.sent`); crop: its place among those offered
     "labels": {"strip": [...]}, "headland": [[line, ...], ...], "headland_words",
        headland_words: as the field page's key has it, such as "Headland: corn"
     "section": {"set_text", "rows": [{"crop", "offset_m", "layer"}],
                 "strips": [{"crop", "offset_m", "width_m", "words"}],
                 "lanes": [{"label", "passes": [{"offset_m", "width_m", "turned"}]}]},
        one set across, from its left edge looking along the heading; crop: its place among those
        offered; offset_m: of a row, or of a left edge; words: such as "16 rows, 40 ft"; a lane is
        a machine at one work, labeled such as "planter, plants corn"; passes may reach past the
        set; layer: 0 for a strip's own crop, turned: driven against the way that is looked
     "changed": ["..."],                    what differs from the saved plan, in words
     "figures": [{"label", "text", "saved_text", "change_text"}],
     "crops": [{"crop", "facts": [{"label", "text", "saved_text", "change_text"}]}],
     "money": [{"label", "text", "saved_text", "change_text"}], "money_words",
        change_text: such as "+1.2 acres" or "the same"; money_words: what money is told in
     "verdicts": [{"operation", "verdict", "words", "spot": [x, y] | null}],
     "notices": [{"severity", "first", "word", "text", "spot": [x, y] | null}],
        gravest first; first: stands before the figures; verdict: "yes" | "at a cost" | "no";
        severity: as `striplay.notices` has it, word: the same for a person
     "can_undo", "can_redo", "document": "...toml"}
    {"say": "driven", "number", "facts": [{"label", "text", "saved_text", "change_text"}],
     "verdicts": [...], "notices": [...]}
        what needs passes, and comes later: at first what they tell side by side, with no facts yet;
        then, in order, hours and margin; at last the same with the saved plan's beside it. Its
        verdicts and notices take the place of those that came with the answer of its number
    {"say": "progress", "doing": "...", "share": 0.4}    null where not known; 1 when done
    {"say": "refused", "number": 7, "faults": ["..."]}   the state before stays
    {"say": "saved", "name", "where", "command": "striplay lay north_2.toml -o DIR"}
    {"say": "lost", "words"}
"""
