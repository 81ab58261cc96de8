"""Names in any letters: whole in every file, on the sheets or told of, and harmless everywhere."""

import csv
import json
import math
import os
import subprocess
import sys
import unicodedata
import warnings
from importlib.util import find_spec

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
from fields import SHED, STRIPS, lay_on, square, write_plan_for
from geojson_validator import validate_structure
from pypdf import PdfReader

import striplay
from striplay.column import Column
from striplay.columns import SOWN_CSV
from striplay.errors import PlanError
from striplay.files import write_csv
from striplay.files.plan import read_plan
from striplay.plain import escaped, plain, unseen_in
from striplay.sheets import fonts
from striplay.sheets.flow import lines_of
from striplay.sheets.fonts import fitted, width_pt
from striplay.sheets.style import MM, TEXT_PT

NAMES = {"corn": '=HYPERLINK("x"),a', "soybean": "-2 &<b>'\"; соя"}
GRAVE = "\U00013000"
"""A hieroglyph, which no font here has."""


def named(text, names=NAMES):
    """Give a plan's tables with its crops renamed."""
    for old, new in names.items():
        quoted = json.dumps(new, ensure_ascii=False)
        text = text.replace(f"[crops.{old}]", f"[crops.{quoted}]")
        text = text.replace(f'crop = "{old}"', f"crop = {quoted}")
    return text


@pytest.fixture(scope="module")
def odd(tmp_path_factory):
    folder = tmp_path_factory.mktemp("odd")
    around = named('[headland]\nwhere = "around"\npasses = 2\nmachine = "planter"\ncrop = "corn"\n')
    layout = lay_on(folder, square(1320), shed=named(SHED), strips=named(STRIPS), headland=around)
    told = striplay.save(layout, folder / "out")
    return layout, folder / "out", told


def test_a_spreadsheet_shows_words_and_counts_numbers(odd):
    # a cell that begins so is a formula: OWASP, CSV Injection
    _, folder, _ = odd
    for name in ("strips.csv", "strip_crops.csv"):
        with (folder / name).open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        assert {row["crop"] for row in rows} == {f"'{crop}" for crop in NAMES.values()}
        assert all(float(row["area_m2"]) > 0 and int(row["strip"]) > 0 for row in rows)
        cells = [cell for row in rows for cell in row.values()]
        assert not [cell for cell in cells if cell[:1] in set("=+-@\t\r")]


@pytest.mark.parametrize(
    ("name", "cell"),
    [(" =1+1", "' =1+1"), ("\u00a0@a", "'\u00a0@a"), ("a;=1+1", "a;'=1+1"),
     ("a; -b;+c", "a;' -b;'+c"), ("a;b", "a;b"), ("a = b", "a = b"), ("=a", "'=a")],
)  # fmt: skip
def test_no_cell_is_a_formula_however_cells_are_parted(tmp_path, monkeypatch, name, cell):
    frame = pd.DataFrame({"crop": [name, None], "strip": [1, 2], "share": [0.5, math.nan]})
    monkeypatch.setattr(
        write_csv, "order", lambda _, names: [Column(one, "", (), "") for one in names]
    )
    path = tmp_path / "a.csv"
    path.write_bytes(write_csv.csv_of(frame, SOWN_CSV))
    assert path.read_text(encoding="utf-8").splitlines()[1] == f'"{cell}",1,0.5'
    again = pd.read_csv(path)
    assert again["crop"][0] == cell
    assert again["crop"].isna()[1]
    assert list(again["strip"]) == [1, 2]
    assert again["share"][0] == 0.5
    assert math.isnan(again["share"][1])


def test_open_formats_stay_valid_and_names_whole(odd):
    layout, folder, _ = odd
    for name in ("strips", "rows", "headland", "passes"):
        data = json.loads((folder / f"{name}.geojson").read_text(encoding="utf-8"))
        assert validate_structure(data) == {}
    assert set(gpd.read_file(folder / "strips.geojson")["crop"]) == set(NAMES.values())
    assert set(gpd.read_file(folder / "layout.gpkg", layer="strips")["crop"]) == set(NAMES.values())
    assert len(pyogrio.list_layers(folder / "layout.gpkg")) == 8
    accounts = json.loads((folder / "accounts.json").read_text(encoding="utf-8"))
    assert accounts == layout.accounts
    assert set(accounts["crops"]) == set(NAMES.values())


@pytest.mark.parametrize("table", ["crops", "machines", "mixtures"])
@pytest.mark.parametrize(
    "sign",
    ["\n", "\x1b", "\x7f", "\x9b", "\u202e", "\u2028", "\u206a", "\u200b", "\u2060",
     "\u180e", "\u00ad", "\u3164", "\ufffe", "\ue000", "\u200d", "\u034f", "\U000e0041"],
)  # fmt: skip
def test_a_name_that_cannot_be_shown_is_refused(tmp_path, table, sign):
    path = write_plan_for(tmp_path, square())
    path.write_text(f'{path.read_text()}\n[{table}."a\\U{ord(sign):08x}b"]\n')
    with pytest.raises(PlanError) as refusal:
        read_plan(path)
    shown = "a\u200db" if sign == "\u200d" else "a b"  # terminals join no letters of ours by it
    assert refusal.value.faults[0] == (
        f"{table}.{shown}: has a character in its name that can't be shown (U+{ord(sign):04X}); "
        "write the name in letters, digits and spaces"
    )
    assert all(one.isprintable() or one in "\n\u200d" for one in str(refusal.value))


@pytest.mark.parametrize(
    ("name", "sign"),
    [("نخود\u200cفرنگی", None), ("क्\u200dष", None), ("ක්\u200dරමය", None), ("\u0601 1", None),
     ("corn\u200c", "\u200c"), ("\u200dcorn", "\u200d"), ("نخود\u200c", "\u200c"),
     ("co\u200drn", "\u200d"), ("玉\u200d米", "\u200d")],
)  # fmt: skip
def test_joiners_pass_where_a_script_needs_them(name, sign):
    """Persian and Sinhala words as they are written; RFC 5892, appendix A, for where."""
    assert unseen_in(name) == sign


def test_a_name_without_letters_is_refused(tmp_path):
    path = write_plan_for(tmp_path, square())
    path.write_text(f'{path.read_text()}\n[crops." "]\nplanter = "planter"\n')
    with pytest.raises(PlanError) as refusal:
        read_plan(path)
    assert refusal.value.faults == (
        'crops: holds a name without letters; write one, such as "corn"',
    )


def test_a_title_is_shown_on_one_line(tmp_path):
    path = write_plan_for(tmp_path, square())
    text = path.read_text()
    path.write_text(text.replace('"Test"', r'"  North\n\tforty\u0000\u200f"'))
    assert read_plan(path).title == "North  forty"
    path.write_text(text.replace('"Test"', r'"\n"'))
    assert read_plan(path).title == "field"


def test_what_is_unseen_is_what_the_standard_says():
    """Held to the Unicode Character Database: categories, and fillers by their own names.

    Signs before numbers: Prepended_Concatenation_Mark in its PropList.txt (from memory).
    """
    prepended = {*range(0x600, 0x606), 0x6DD, 0x70F, 0x890, 0x891, 0x8E2, 0x110BD, 0x110CD}
    for number in (*range(0x30000), *range(0xE0000, 0xE0200), 0xF0000, 0x10FFFF):
        one = chr(number)
        turns = unicodedata.bidirectional(one) in {"LRE", "RLE", "PDF", "LRO", "RLO", "LRI", "RLI",
                                                   "FSI", "PDI"}  # fmt: skip
        name, kind = unicodedata.name(one, ""), unicodedata.category(one)
        blank = ("HANGUL" in name and "FILLER" in name) or "VOWEL INHERENT" in name
        blank |= "GRAPHEME JOINER" in name
        number_sign = number in prepended
        joiner = one in "\u200c\u200d"
        bad = (kind[0] == "C" or kind in {"Zl", "Zp"} or blank) and not (number_sign or joiner)
        assert not turns or bad
        assert not bad or plain(one) == " ", hex(number)
        assert (unseen_in(one) is None) == (not bad and not joiner), hex(number)
        letter = (kind[0] in "LMNPS" and not blank) or one in " \u200c\u200d" or number_sign
        assert not letter or plain(one) == one, hex(number)
    text = json.dumps({"a\x7f\x9b": "b\u202e\n\U000e0041"}, ensure_ascii=False, indent=1)
    assert json.loads(escaped(text)) == json.loads(text)
    assert plain(escaped(text).replace("\n", "")) == escaped(text).replace("\n", "")


SCRIPTS = {
    "Cyrillic": "Кукуруза", "Greek": "Καλαμπόκι", "Arabic": "ذرة", "Hebrew": "תירס",
    "Devanagari": "मक्का", "Chinese": "玉米地", "Japanese": "とうもろこし", "Korean": "옥수수",
}  # fmt: skip
OWN_FONT = ("Cyrillic", "Greek", "Arabic", "Hebrew")


def book_of(folder, title):
    """Write a map book of a small field; give the text of its first sheet, and what was told."""
    path = write_plan_for(folder, square(1320))
    text = path.read_text(encoding="utf-8").replace('"Test"', json.dumps(title, ensure_ascii=False))
    path.write_text(text, encoding="utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        told = striplay.save(striplay.lay(striplay.read_plan(path)), folder / "out")
    return PdfReader(folder / "out" / "mapbook.pdf").pages[0].extract_text(), told


def test_every_script_is_printed_or_told_of(tmp_path):
    """A title in eight scripts, and a sign that no font has."""
    said, told = book_of(tmp_path, " ".join([*SCRIPTS.values(), GRAVE]))
    missing = {one for word in SCRIPTS.values() for one in word if fonts.printed(one) != one}
    assert not missing & set("".join(SCRIPTS[script] for script in OWN_FONT))
    assert fonts.INSTEAD in said
    assert "Кукуруза" in said
    (notice,) = told
    assert (notice.kind, notice.severity) == ("sheets", "mind")
    assert notice.text.startswith("the sheets print □ for ")
    if not missing:
        assert notice.text == (
            f'the sheets print □ for "{GRAVE}" (egyptian hieroglyph a001), which no font here has; '
            'pip install "striplay[scripts]" brings fonts of more scripts, or write the name in '
            "other letters"
        )


@pytest.mark.skipif(find_spec(fonts.PACKAGES[0]) is None, reason="striplay[scripts] is not there")
def test_more_scripts_come_with_the_extra():
    assert fonts.printed(SCRIPTS["Devanagari"]) == SCRIPTS["Devanagari"]
    with fonts.watched() as missing:
        fonts.width_pt(SCRIPTS["Devanagari"])
    assert fonts.unprinted(missing) == []
    # letters that join are narrower than the letters apart: fonts shape them
    apart = sum(width_pt(one) for one in "क\u094dष")
    assert width_pt("क्ष") < apart


def test_arabic_letters_join():
    joined, apart = width_pt("ذرة صفراء"), sum(map(width_pt, "ذرة صفراء"))
    assert joined < 0.95 * apart


def test_without_fonts_of_a_script_boxes_stand_for_its_letters(monkeypatch):
    kept = (fonts._more, fonts._font_of, fonts._missing, fonts._runs)
    for one in kept:
        one.cache_clear()
    monkeypatch.setattr(fonts, "PACKAGES", ())
    try:
        assert fonts._more() == ()
        assert fonts.printed("玉 corn") == "□ corn"
        assert fonts.printed("a\U000e0020b") == "ab"
        with fonts.watched() as missing:
            for _ in range(2):  # told of every time, though it is found but once
                fonts.width_pt("玉米 corn")
        (notice,) = fonts.unprinted(missing)
        assert '"玉" (cjk unified ideograph-7389)' in notice.text
        assert '"米" (cjk' in notice.text
    finally:
        for one in kept:
            one.cache_clear()


def test_a_long_name_takes_no_longer_than_its_letters(monkeypatch):
    """What has room is found by halving: 14 measures for a line of what may be 16,000 letters."""
    measured = []
    real = fonts.runs
    monkeypatch.setattr(
        fonts, "runs", lambda text, **how: measured.append(text) or real(text, **how)
    )
    for letters in (300, 16_000):
        name = "".join(chr(97 + number * 7 % 26) for number in range(letters))
        measured.clear()
        short = fitted(name, 60.0 * MM)
        assert len(measured) <= 14
        assert short.endswith("…")
        assert width_pt(short, TEXT_PT) <= 60.0 * MM
        assert width_pt(f"{name[: len(short)]}…", TEXT_PT) > 60.0 * MM
        measured.clear()
        lines = lines_of(name, 60.0 * MM)
        assert len(measured) <= 18 * len(lines)
        assert "".join(lines) == name
        assert all(width_pt(line, 7.0) <= 60.0 * MM for line in lines)


def test_settings_in_the_folder_worked_in_change_nothing(odd, tmp_path):
    layout, folder, _ = odd
    (tmp_path / "matplotlibrc").write_text(
        "figure.facecolor: red\nfont.family: serif\naxes.linewidth: 5\ntext.usetex: True\n"
        "savefig.dpi: 7\nnonsense: 1\n"
    )
    code = (
        "import sys; from striplay import lay, read_plan, save\n"
        "save(lay(read_plan(sys.argv[1])), sys.argv[2])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(layout.plan.path), str(tmp_path / "out")],
        cwd=tmp_path, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    book = (tmp_path / "out" / "mapbook.pdf").read_bytes()
    assert book == (folder / "mapbook.pdf").read_bytes()


def test_settings_of_the_caller_change_nothing_and_stay(odd, tmp_path):
    import matplotlib as mpl  # noqa: PLC0415

    layout, folder, _ = odd
    with mpl.rc_context({"figure.facecolor": "red", "axes.linewidth": 5.0}):
        striplay.save(layout, tmp_path / "out")
        assert mpl.rcParams["axes.linewidth"] == 5.0
    assert (tmp_path / "out" / "mapbook.pdf").read_bytes() == (folder / "mapbook.pdf").read_bytes()
