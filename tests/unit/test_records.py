"""Entries: read from words, checked against the plan, withdrawn, told, and what comes of them."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from recorded import ACRE_M2, DAY, FOOT_M, MARK, POUND_KG, ROW_M, TODAY, edition

from striplay.errors import RecordError
from striplay.records.check import NO_MOISTURE, check_entry
from striplay.records.entry import Done, Event, Recorded, Remark, Stand, Undo, Yield
from striplay.records.standing import faults_of_new, last_standing, standing, withdrawn_by
from striplay.records.told import entry_line
from striplay.records.words import exact, read_entry, words_of
from striplay.records.yields import stands_of, yields_of

EDITION = edition()
HERE = Path("/nowhere")
AT = datetime(2027, 11, 1, 12, tzinfo=UTC)


def read(kind, folder=HERE, of=EDITION, **words):
    words = {"pass" if name == "number" else name: text for name, text in words.items()}
    return read_entry(kind, {"date": "2027-05-04", **words}, of, TODAY, folder)


def refusal(kind, **words):
    with pytest.raises(RecordError) as refused:
        read(kind, **words)
    return list(refused.value.faults)


def recorded(*entries):
    return [Recorded(number, MARK, AT, one) for number, one in enumerate(entries, start=1)]


# --- reading -------------------------------------------------------------------------------------


def test_a_pass_done_takes_its_strip_from_the_plan():
    words = {
        "operation": "plant corn",
        "number": "3",
        "lot": "A12",
        "start": "7:30",
        "stop": "16:45",
    }
    assert read("done", **words) == Done(
        day=DAY, strip=3, operation="plant corn", pass_number=3, start="07:30", stop="16:45",
        lot="A12",
    )  # fmt: skip
    assert read("done", operation="1", number="1") == Done(
        day=DAY, headland=True, operation="plant corn", pass_number=1
    )
    # a boom's pass works two strips: it is of no one strip
    assert read("done", operation="2", number="1").strip is None


def test_a_stand_is_of_a_thousandth_of_an_acre_unless_its_length_is_stated():
    stand = read("stand", strip="1", stand_count="31")
    # 17 ft 5 in of 30-in rows: Univ. of Tennessee, from memory; 43.56 square feet over 2.5 ft
    assert stand.length_m == pytest.approx(17.424 * FOOT_M)
    assert stand.plants_per_m2 * ACRE_M2 == pytest.approx(31_000)
    metric = read("stand", of=edition(units="metric"), strip="1", stand_count="31")
    assert metric.plants_per_m2 * 10_000 == pytest.approx(31_000)
    own = read("stand", strip="1", row="3", stand_count="9", length="5 ft")
    assert (own.row, own.length_m, own.crop) == (3, pytest.approx(5 * FOOT_M), "corn")
    relay = read("stand", strip="2", crop="wheat", stand_count="40", length="3 ft")
    assert relay.row_m == ROW_M / 2
    # 43,560 square feet to the acre
    frame = read("stand", strip="2", crop="wheat", stand_count="26", frame="1 ft2")
    assert frame.plants_per_m2 * ACRE_M2 == pytest.approx(26 * 43_560)
    assert (frame.length_m, frame.frame_m2) == (None, pytest.approx(0.09290304))


def test_grain_is_of_the_ground_that_is_stated():
    corn = {"strip": "3", "grain": "4210 lb", "moisture": "18.5 %"}
    whole = read("yield", **corn)
    assert whole == Yield(
        day=DAY, strip=3, crop="corn", grain_kg=4210 * POUND_KG, moisture=0.185,
        area_m2=pytest.approx(ACRE_M2),
    )  # fmt: skip
    piece = read("yield", **corn, piece="2")
    assert piece.area_m2 == pytest.approx(ACRE_M2 * 3 / 4)
    # rows: each stands for 30 in; a length of all rows is as wide as the strip
    few = read("yield", **{**corn, "grain": "30 lb"}, row="1-2", length="17.424 ft")
    assert few.area_m2 == pytest.approx(2 * ACRE_M2 / 1000)
    assert few.rows == (1, 2)
    assert read("yield", **corn, length="544.5 ft").area_m2 == pytest.approx(ACRE_M2 / 2)
    half = read("yield", **corn, row="1-8")
    assert half.area_m2 == pytest.approx(ACRE_M2 / 2)
    heavy = read("yield", **corn, test_weight="56 lb/bu")
    # a U.S. bushel is 35.239 L (NIST Handbook 44, appendix C): 56 lb in it are 720.8 g to the liter
    assert heavy.test_weight_kg_per_m3 == pytest.approx(720.8, abs=0.05)


def test_an_event_takes_its_strip_from_its_place():
    event = read("event", what="hail", longitude="-93.4985", latitude="42.0002")
    assert event == Event(day=DAY, strip=2, piece=1, what="hail", lonlat=(-93.4985, 42.0002))
    beside = read("event", what="deer", longitude="-93.5005", latitude="42.0002")
    assert beside.strip is None
    assert read("event", what="hail", strip="1").lonlat is None


def test_a_photo_is_named_from_the_folder_of_the_store(tmp_path):
    (tmp_path / "photos").mkdir()
    (tmp_path / "store").mkdir()
    picture = tmp_path / "photos" / "hail.jpg"
    picture.write_bytes(b"x")
    event = read_entry(
        "event", {"date": "2027-05-04", "what": "hail", "photo": "hail.jpg"}, EDITION, TODAY,
        tmp_path / "store", photos_from=tmp_path / "photos",
    )  # fmt: skip
    assert event.photo == "../photos/hail.jpg"
    assert words_of(event, "us", tmp_path / "store", tmp_path)["photo"] == "photos/hail.jpg"


def test_texts_stand_in_one_line_without_what_moves_a_cursor():
    remark = read("remark", remark="line one\nline two\x1b[2J  ")
    assert remark.remark == "line one line two [2J"
    assert read("remark", remark="雹 وابل हिम").remark == "雹 وابل हिम"


REFUSED = [
    ("yield", {"strip": "400", "grain": "4210", "moisture": "120 %", "date": "2031-05-04"},
     ['grain: "4210" is not a weight of grain; write a number and a unit, such as "4210 lb"',
      f'moisture: "120 %" {NO_MOISTURE}',
      "date: 2031-05-04 is in the future, today is 2027-11-01; give the day it was done",
      "strip: 400 is no strip of the field; its strips are 1-3"]),
    ("yield", {"strip": "1", "grain": "4210 lb", "moisture": "18.5"},
     ['moisture: "18.5" is no moisture; write it in per cent, such as "18.5 %"']),
    ("yield", {"strip": "1", "grain": "4210 lb"},
     ['moisture: is missing: corn is sold by it; for example "18.5 %"']),
    ("yield", {"strip": "1", "grain": "4210 bu", "moisture": "15 %"},
     [('grain: "4210 bu" is no weight: bushels may be by volume, or of grain as if dried; give '
       'what the scale showed, such as "4210 lb"')]),
    ("yield", {"strip": "1", "grain": "-1 lb", "moisture": "15 %"},
     ['grain: "-1 lb" must be zero or more']),
    ("yield", {"strip": "1", "grain": "4,210 lb", "moisture": "15 %"},
     [('grain: "4,210 lb" is not a weight of grain; write a number and a unit, such as "4210 lb"; '
      "write numbers without a comma")]),
    ("yield", {"strip": "1", "grain": "421000 lb", "moisture": "15 %"},
     [("grain: 421,000 lb on 1.00 ac is more than any crop yields; see its unit, and that row and "
      "length say what was harvested")]),
    ("yield", {"strip": "1", "grain": "10 lb", "moisture": "15 %", "length": "3000 ft"},
     ["length: 3,000 ft is more than strip 1 is long, 1,089 ft"]),
    ("yield", {"strip": "1", "grain": "10 lb", "moisture": "15 %", "row": "8-1"},
     ["row: 8-1 has the last row first"]),
    ("yield", {"strip": "1", "grain": "10 lb", "moisture": "15 %", "row": "17"},
     ["row: 17 is no row of strip 1; its corn has rows 1 to 16"]),
    ("yield", {"strip": "1", "grain": "10 lb", "moisture": "15 %", "row": "first"},
     ['row: "first" is no row; write its number, or first and last, such as 1-8']),
    ("yield", {"strip": "1", "grain": "10 lb", "moisture": "15 %", "test_weight": "90 lb/bu"},
     ["test_weight: is more than any grain weighs by volume; see its unit"]),
    ("yield", {"strip": "2", "grain": "10 lb", "moisture": "15 %"},
     ["crop: is missing: strip 2 has soybean, wheat; say which"]),
    ("yield", {"strip": "1", "crop": "maize", "grain": "10 lb", "moisture": "15 %"},
     ['crop: "maize" is not sown in strip 1; it has corn']),
    ("yield", {"grain": "10 lb", "moisture": "15 %"},
     ["strip: is missing: the number of the strip"]),
    ("yield", {"strip": "headland", "grain": "10 lb", "moisture": "15 %"},
     ["strip: is missing: the number of the strip"]),
    ("stand", {"strip": "3", "piece": "3", "stand_count": "31"},
     ["piece: 3 is no piece of strip 3; its pieces are 1-2"]),
    ("stand", {"strip": "1", "piece": "2", "stand_count": "31"},
     ["piece: 2 is no piece of strip 1; it has one piece, 1"]),
    ("stand", {"strip": "1", "stand_count": "34000"},
     [("stand_count: 34,000 plants on 17.4 ft of a row are 34 million to the acre, more than ever "
      "stand; give the count, not plants to the acre")]),
    ("stand", {"strip": "1", "stand_count": "31.5"}, ['stand_count: "31.5" is no whole number']),
    ("stand", {"strip": "1"}, ["stand_count: is missing: plants counted on a length of one row"]),
    ("stand", {"strip": "1", "row": "1-8", "stand_count": "31"},
     ['row: "1-8" is several; a stand is of one row']),
    ("stand", {"strip": "2", "crop": "wheat", "stand_count": "26"},
     [("length: is missing: strip 2 is drilled; say the length of row that was counted, such as 3 "
      "ft, or the frame")]),
    ("stand", {"strip": "1", "stand_count": "26", "frame": "1 ft2", "length": "3 ft"},
     ["frame: is given beside length; a stand is counted in one of them"]),
    ("stand", {"strip": "2", "crop": "wheat", "stand_count": "31000", "frame": "1 ft2"},
     [("stand_count: 31,000 plants in 1 ft2 are 1,350 million to the acre, more than ever stand; "
      "give the count, not plants to the acre")]),
    ("stand", {"strip": "2", "crop": "wheat", "row": "1", "stand_count": "31", "length": "3 ft"},
     ["row: 1 is not known: strip 2 is drilled; leave row out"]),
    ("stand", {"strip": "1", "stand_count": "31", "lot": "A12"},
     ["lot: is nothing that a stand has; leave it out"]),
    ("done", {"operation": "plant wheat"},
     [('operation: "plant wheat" is no operation; the plan\'s are 1 "plant corn", 2 "spray corn + '
      'soybean"')]),
    ("done", {"operation": "3"},
     ['operation: "3" is no operation; the plan\'s are 1 "plant corn", 2 "spray corn + soybean"']),
    ("done", {}, ['operation: is missing: which operation, such as "plant corn"']),
    ("done", {"operation": "1", "number": "9"},
     ["pass: 9 is no pass of plant corn; its passes are 1-3"]),
    ("done", {"operation": "1", "number": "3", "strip": "1"},
     ["pass: 3 of plant corn works strip 3, not strip 1"]),
    ("done", {"operation": "1", "number": "1", "strip": "1"},
     ["pass: 1 of plant corn runs on the headland, not strip 1"]),
    ("done", {"operation": "1", "number": "3", "strip": "headland"},
     ["pass: 3 of plant corn works strip 3, not the headland"]),
    ("done", {"operation": "1", "strip": "2"},
     ["strip: plant corn works strips 1, 3, not strip 2"]),
    ("done", {"operation": "2", "strip": "headland"},
     ["strip: spray corn + soybean works strips 1-2, not the headland"]),
    ("done", {"operation": "1", "start": "half past"},
     ['start: "half past" is no time of day; write it as 07:30 or 16:45']),
    ("event", {}, ["what: is missing: what happened, in a few words, such as hail"]),
    ("event", {"what": "hail", "longitude": "-93.4985"},
     ["latitude: is missing: a place has both"]),
    ("event", {"what": "hail", "longitude": "42.0002", "latitude": "-93.4985"},
     ["longitude: latitude comes first here; write -93.4985 and 42.0002"]),
    ("event", {"what": "hail", "longitude": "-93.4985", "latitude": "42.02"},
     [("longitude, latitude: -93.4985, 42.02 lies 6,930 ft off the field, which is at -93.4985, "
      "42.0005; give degrees as a phone shows them")]),
    ("event", {"what": "hail", "longitude": "12", "latitude": "42.02"},
     [("longitude, latitude: 12, 42.02 lies far off the field, which is at -93.4985, 42.0005; give "
      "degrees as a phone shows them")]),
    ("event", {"what": "hail", "longitude": "93 W", "latitude": "42"},
     [('longitude: "93 W" is no number of degrees; write it such as -93.512, below 0 in the west '
      "and south")]),
    ("event", {"what": "hail", "photo": "none.jpg"},
     ['photo: "none.jpg" is no file; give the path of a picture that is there']),
    ("event", {"what": "hail", "photo": "x" * 1000},
     [f'photo: "{"x" * 57}..." is no file; give the path of a picture that is there']),
    ("event", {"what": "x" * 101}, ["what: has 101 characters; at most 100 are kept"]),
    ("remark", {}, ["remark: is missing: what is there to say?"]),
    ("remark", {"remark": "rain", "date": "5/4/2027"},
     [('date: "5/4/2027" is no day; write year-month-day, such as 2027-05-04; where a spreadsheet '
      "wrote it so, set its column to text")]),
    ("remark", {"remark": "rain", "date": "1827-05-04"},
     ["date: 1827-05-04 must be in the years 1900 to 2199"]),
    ("remark", {"remark": "rain", "piece": "1"}, ["strip: is missing: the number of the strip"]),
    ("planting", {}, ['kind: "planting" is none of done, stand, event, yield, remark']),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "words", "told"), REFUSED)
def test_what_cannot_be_is_refused_with_what_would_do(kind, words, told):
    assert refusal(kind, **words) == told


def test_entries_made_in_python_are_checked_likewise():
    bad = [
        (Stand(day=DAY, strip=1, crop="corn", plants=-1, length_m=1.0, row_m=1.0), "stand_count"),
        (Stand(day=DAY, strip=1, crop="corn", plants=1, length_m=0.0, row_m=1.0), "length"),
        (Stand(day=DAY, strip=1, crop="corn", plants=1, row_m=1.0), "length"),
        (Yield(day=DAY, strip=1, crop="corn", grain_kg=-1, moisture=0.2, area_m2=1), "grain"),
        (Yield(day=DAY, strip=1, crop="corn", grain_kg=1, moisture=1.2, area_m2=1), "moisture"),
        (Yield(day=DAY, strip=1, crop="corn", grain_kg=1, moisture=0.2, area_m2=0), "length"),
        (Remark(day=DAY, remark="a\x1b[2J"), "remark"),
        (Remark(day=DAY, remark="a", strip=1, headland=True), "strip"),
        (Undo(day=DAY), "entry"),
    ]
    for entry, key in bad:
        with pytest.raises(RecordError, match=f"^{key}: "):
            check_entry(entry, EDITION, TODAY)
    with pytest.raises(RecordError, match="the field has no headland"):
        check_entry(Remark(day=DAY, remark="a", headland=True), replace(EDITION, headland=False),
                    TODAY)  # fmt: skip


# --- withdrawing ---------------------------------------------------------------------------------

ONE, TWO = Remark(day=DAY, remark="one"), Remark(day=DAY, remark="two")


def test_an_entry_is_withdrawn_and_comes_back():
    lines = recorded(ONE, TWO, Undo(day=DAY, withdraws=2))
    assert standing(lines) == lines[:1]
    assert withdrawn_by(lines) == {2: 3}
    assert last_standing(lines) == lines[0]
    lines = recorded(ONE, TWO, Undo(day=DAY, withdraws=2), Undo(day=DAY, withdraws=3))
    assert standing(lines) == lines[:2]
    assert withdrawn_by(lines) == {3: 4}
    assert last_standing([]) is None


def test_a_correction_stands_in_place_and_is_undone_as_a_whole():
    better = replace(TWO, remark="better", withdraws=1)
    lines = recorded(ONE, better)
    assert standing(lines) == lines[1:]
    undone = recorded(ONE, better, Undo(day=DAY, withdraws=2))
    assert standing(undone) == undone[:1]


def test_what_may_not_be_added():
    lines = recorded(ONE, TWO, Undo(day=DAY, withdraws=2))
    three = Remark(day=DAY, remark="three")
    new = [
        ONE, TWO, three, three, Undo(day=DAY, withdraws=9), Undo(day=DAY, withdraws=2),
        replace(ONE, withdraws=1),
    ]  # fmt: skip
    twice = "if it was done twice, say so with a remark"
    assert faults_of_new(new, lines) == [
        f"is there already, word for word, as entry 1; {twice}", "", "",
        f"is there twice, word for word; {twice}",
        "entry: 9 is no entry of this plan", "entry: 2 is withdrawn already, by entry 3",
        f"is there twice, word for word; {twice}",
    ]  # fmt: skip
    assert faults_of_new([replace(ONE, withdraws=1)], lines) == [""]


# --- what comes of them --------------------------------------------------------------------------


def grain(lb, moisture="15.5 %", **words):
    return read("yield", grain=f"{lb} lb", moisture=moisture, **words)


def test_yield_at_base_moisture_in_bushels():
    (found,) = yields_of(recorded(grain(10_000, "25 %", strip="1")), EDITION)
    # 11.24 % shrink from 25 to 15.5 %: Iowa State University Extension A3-3, from memory
    assert found.grain_kg == pytest.approx(10_000 * POUND_KG * (1 - 0.1124), rel=1e-4)
    assert found.kg_per_m2 * ACRE_M2 / POUND_KG / 56 == pytest.approx(158.5, abs=0.05)
    assert (found.rows_of, found.loads, found.weighed_kg) == (16, 1, 10_000 * POUND_KG)


def test_loads_of_the_same_ground_add_up_and_samples_are_of_their_own():
    loads = [grain(4000, strip="3"), grain(3000, strip="3", remark="second wagon")]
    (found,) = yields_of(recorded(*loads), EDITION)
    assert found.area_m2 == pytest.approx(ACRE_M2)
    assert found.weighed_kg == pytest.approx(7000 * POUND_KG)
    pieces = [grain(2000, strip="3", piece="1"), grain(6000, strip="3", piece="2")]
    (found,) = yields_of(recorded(*pieces), EDITION)
    assert (found.area_m2, found.loads) == (pytest.approx(ACRE_M2), 2)
    # a sole piece is of that piece
    (found,) = yields_of(recorded(pieces[1]), EDITION)
    assert found.area_m2 == pytest.approx(ACRE_M2 * 3 / 4)
    samples = [grain(10 + n, strip="1", row="1", length="17.424 ft") for n in range(3)]
    (found,) = yields_of(recorded(*samples), EDITION)
    assert found.area_m2 == pytest.approx(3 * ACRE_M2 / 1000)
    assert found.kg_per_m2 == pytest.approx(11 * POUND_KG / (ACRE_M2 / 1000))


def test_yields_of_rows_stand_apart_from_those_of_the_strip():
    lines = recorded(
        grain(10, strip="1", row="1", length="17.424 ft"), grain(9000, strip="1"),
        grain(9, strip="1", row="8", length="17.424 ft"), Undo(day=DAY, withdraws=3),
        read("yield", strip="2", crop="wheat", grain="3000 lb"),
    )  # fmt: skip
    found = yields_of(lines, EDITION)
    assert [(one.strip, one.crop, one.rows) for one in found] == [
        (1, "corn", None), (1, "corn", (1, 1)), (2, "wheat", None),
    ]  # fmt: skip
    assert found[2].grain_kg == found[2].weighed_kg  # of no known base


def test_stands_are_all_plants_over_all_ground():
    lines = recorded(
        read("stand", strip="1", stand_count="30"),
        read("stand", strip="1", stand_count="20", length="8.712 ft"),
    )
    (found,) = stands_of(lines)
    assert found.plants_per_m2 * ACRE_M2 == pytest.approx(50 / 1.5 * 1000)
    assert (found.plants, found.counts, found.day) == (50, 2, DAY)


# --- telling -------------------------------------------------------------------------------------

TOLD = [
    (read("done", operation="1", number="3", lot="A12", start="7:30", operator="R. E."),
     "strip 3: plant corn, pass 3, 07:30, lot A12, by R. E."),
    (read("done", operation="1", number="1"), "headland: plant corn, pass 1"),
    (read("stand", strip="1", row="3", stand_count="31"),
     "strip 1: corn stand of row 3, 31 plants on 17.4 ft of a row, 31,000 to the acre"),
    (read("event", what="hail", longitude="-93.4985", latitude="42.0002", remark="all down"),
     "strip 2/1: hail at 42.000200, -93.498500, all down"),
    (grain(10_000, "25 %", strip="1", test_weight="54 lb/bu"),
     "strip 1: corn yield, 10,000 lb at 25 %, 54 lb/bu, on 1.00 ac, 158.5 bu/acre at 15.5 %"),
    (grain(8, strip="1", row="1-2", length="8.712 ft"),
     "strip 1: corn yield of rows 1 to 2, 8 lb at 15.5 % on 0.0010 ac, 142.9 bu/acre at 15.5 %"),
    (read("yield", strip="2", crop="wheat", grain="3000 lb"),
     "strip 2: wheat yield, 3,000 lb on 1.00 ac, 3,000 lb/acre as weighed"),
    (Undo(day=DAY, withdraws=3), "withdraws entry 3"),
    (replace(ONE, withdraws=4), "one (instead of entry 4)"),
]  # fmt: skip


@pytest.mark.parametrize(("entry", "told"), TOLD)
def test_an_entry_in_a_line(entry, told):
    line = Recorded(7, MARK, AT, entry)
    assert entry_line(line, EDITION) == f"entry 7: 2027-05-04  {told}"


def test_numbers_are_written_without_a_power_of_ten():
    assert [exact(one) for one in (1e-7, 123456789.0, 0.3048)] == [
        "0.0000001",
        "123456789",
        "0.3048",
    ]


def test_a_day_in_the_future_is_one_after_today():
    assert read("remark", remark="a", date=TODAY.isoformat()).day == TODAY
    assert date(2027, 11, 2) > TODAY
    assert refusal("remark", remark="a", date="2027-11-02")
