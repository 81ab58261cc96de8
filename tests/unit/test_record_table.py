"""Tables of entries: as record sheets have their columns; a bad line is told by its number."""

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest
from recorded import DAY, MARK, TODAY, edition

from striplay.errors import RecordError
from striplay.files.record_table import read_record_table, record_table
from striplay.records.edition import Pass
from striplay.records.entry import Done, Event, Recorded, Remark, Stand, Yield
from striplay.records.names import OF_ALL, OF_KIND, WORDS
from striplay.sheets.record_sheets import RECORD

EDITION = edition()


def read(tmp_path, text, **how):
    path = tmp_path / "sheet.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_record_table(path, EDITION, TODAY, tmp_path, **how)


def entries(table):
    return [entry for line in table.lines for entry in line.entries]


def refusal(tmp_path, text):
    with pytest.raises(RecordError) as refused:
        read(tmp_path, text)
    return str(refused.value)


def test_columns_are_those_of_the_printed_sheet_and_of_every_kind():
    assert {name.replace(" ", "_") for name in RECORD} <= set(WORDS)
    assert {*OF_ALL, *(word for words in OF_KIND.values() for word in words), "kind"} == set(WORDS)


SHEET = """\
done,strip,piece,date,start,stop,lot,stand count,remark
x,1,1,2027-05-04,7:30,8:10,A12,31,wet at the north end
,2,1,,,,,,
x,3,2,2027-05-04,,,A12,,
x,headland,,2027-05-05,,,,,"two
lines"
,3,1,,,,,29,
"""


def test_a_printed_sheet_typed_in(tmp_path):
    table = read(tmp_path, SHEET, for_all={"operation": "plant corn"})
    assert table.blank == 1
    assert table.told == ["line 7: date: is missing: the day, such as 2027-05-04"]
    done = {"day": DAY, "operation": "plant corn"}
    assert entries(table) == [
        Done(**done, strip=1, piece=1, start="07:30", stop="08:10", lot="A12",
             remark="wet at the north end"),
        Stand(day=DAY, strip=1, piece=1, crop="corn", plants=31,
              length_m=pytest.approx(5.3108352), row_m=0.762),
        Done(**done, strip=3, piece=2, lot="A12"),
        Done(**{**done, "day": DAY.replace(day=5)}, headland=True, remark="two lines"),
    ]  # fmt: skip
    assert [line.number for line in table.lines] == [2, 4, 5]


def test_a_count_on_a_sheet_is_of_the_crop_that_is_planted(tmp_path):
    relay = replace(
        EDITION,
        operations=("plant corn", "plant wheat"),
        passes=(Pass("plant corn", 1, 1, 1), Pass("plant wheat", 2, 2, 1)),
    )
    path = tmp_path / "sheet.csv"
    path.write_text("strip,date,stand count,length\n2,2027-05-04,40,3 ft\n")
    for operation in ("plant wheat", "2"):
        for_all = {"operation": operation}
        table = read_record_table(path, relay, TODAY, tmp_path, for_all=for_all)
        assert table.told == []
        assert entries(table)[1].crop == "wheat"
    table = read_record_table(path, relay, TODAY, tmp_path)
    assert table.told == ["line 2: crop: is missing: strip 2 has soybean, wheat; say which"]


def test_what_stands_once_on_a_sheet_is_of_the_lines_ticked(tmp_path):
    once = {"operation": "plant corn", "date": "2027-05-04", "lot": "A12", "operator": "R. E."}
    text = "done,strip,lot,stand_count\nx,1,,31\n,2,,\nno,2,,\nX,3,B7,\n"
    table = read(tmp_path, text, for_all=once)
    assert (table.told, table.blank) == ([], 2)
    done = {"day": DAY, "operation": "plant corn", "operator": "R. E."}
    first, stand, other = entries(table)
    assert (first, other) == (Done(**done, strip=1, lot="A12"), Done(**done, strip=3, lot="B7"))
    assert (stand.plants, stand.operator) == (31, "R. E.")
    bare = read(tmp_path, "done,strip\nx,1\n")
    assert bare.told == [
        "line 2: date: is missing: the day, such as 2027-05-04",
        'line 2: operation: is missing: which operation, such as "plant corn"',
    ]


@pytest.mark.parametrize("apart", [",", ";", "\t"])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_cells_apart_by_whatever_a_spreadsheet_writes(tmp_path, apart, ends):
    lines = ["Strip, DATE ,stand_count", '1,2027-05-04,"31"', ""]
    text = ends.join(line.replace(",", apart) for line in lines)
    (stand,) = entries(read(tmp_path, b"\xef\xbb\xbf" + text.encode()))
    assert (stand.strip, stand.plants) == (1, 31)


def test_the_kind_of_a_line_is_what_it_says(tmp_path):
    table = read(
        tmp_path,
        "kind,date,strip,grain,moisture,what,operation,stand_count,lot,remark\n"
        ",2027-05-04,1,4210 lb,18.5 %,,,,,\n"
        ",2027-05-04,1,,,hail,,,,\n"
        ",2027-05-04,1,,,,,31,,\n"
        ",2027-05-04,,,,,,,,rain\n"
        ",2027-05-04,1,,,,plant corn,,,\n"
        ",2027-05-04,1,,,,plant corn,31,,\n"
        "stand,2027-05-04,1,,,,,31,,counted twice\n"
        "Remark,2027-05-04,1,,,,,,,capital\n",
    )
    assert table.told == []
    kinds = [[type(entry) for entry in line.entries] for line in table.lines]
    assert kinds == [[Yield], [Event], [Stand], [Remark], [Done], [Done, Stand], [Stand], [Remark]]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("400,2027-05-04,31,,", "strip: 400 is no strip of the field; its strips are 1-3"),
        ("1,2027-05-04,31,,,x", "has more cells than the 5 columns; see its commas"),
        ("1,2027-05-04,,A12,", 'operation: is missing: which operation, such as "plant corn"'),
        ("1,4 May,31,,", 'date: "4 May" is no day; write year-month-day, such as 2027-05-04'),
        ("1,2031-05-04,31,,",
         "date: 2031-05-04 is in the future, today is 2027-11-01; give the day it was done"),
    ],
)  # fmt: skip
def test_a_bad_line_is_told_by_its_number_and_the_others_are_read(tmp_path, line, told):
    head = "strip,date,stand_count,lot,remark\n"
    table = read(tmp_path, f"{head}1,2027-05-04,31,,\n{line}\n3,2027-05-04,30,,\n")
    assert table.told == [f"line 3: {told}"]
    assert [line.number for line in table.lines] == [2, 4]


KNOWN = ", ".join(WORDS)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", f"line 1: names no columns of entries; known are {KNOWN}"),
        ("a,b\n1,2\n", f"line 1: names no columns of entries; known are {KNOWN}"),
        ("strip,date,yield\n", f'line 1: unknown column "yield"; known are {KNOWN}; leave it out'),
        ("strip,date,Strip\n", 'line 1: has the column "strip" twice; keep one of them'),
        ('strip,date\n1,"2027\n', "line 1: what follows is no line of a CSV"),
        (b"strip,date\n\xff\n", "is no text in UTF-8; save it as CSV in UTF-8"),
    ],
)
def test_a_file_that_is_no_table_of_entries(tmp_path, text, told):
    assert refusal(tmp_path, text).endswith(f"sheet.csv: {told}")


def test_no_file(tmp_path):
    with pytest.raises(RecordError, match=r"none\.csv: is not there; are name and"):
        read_record_table(tmp_path / "none.csv", EDITION, TODAY, tmp_path)


HOSTILE = [
    '=HYPERLINK("http://x";"y")', "+1", "-1", "@SUM(A1)", "'=1", "''=1", "'", "a;=1", "a;'=1",
    '"quoted", and parted', "＝1", "雹 وابل हिम",  # noqa: RUF001 - full width
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_words_are_no_formulas_in_a_spreadsheet_and_come_back(tmp_path, text):
    entry = Event(day=DAY, what=text, operator=text, remark=text)
    data = record_table([Recorded(1, MARK, None, entry)], "us", tmp_path, tmp_path)
    _, line = csv.reader(io.StringIO(data.decode()))
    for cell in (cell for piece in line for cell in piece.split(";")):
        assert not cell.lstrip().startswith(("=", "+", "-", "@", "＝"))  # noqa: RUF001 - likewise
    assert entries(read(tmp_path, data)) == [entry]


def test_places_in_the_west_are_numbers(tmp_path):
    entry = Event(day=DAY, strip=1, what="hail", lonlat=(-93.4995, 42.0002))
    data = record_table([Recorded(1, MARK, None, entry)], "us", Path("/a"), Path("/a"))
    assert b'"-93.4995","42.0002"' in data
    assert entries(read(tmp_path, data)) == [entry]
