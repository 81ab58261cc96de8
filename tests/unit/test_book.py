"""The whole map book, on paper: every page of every sample, in color and in gray."""

from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
import shapely
from fields import SAMPLES, SHED, STRIPS, lay_on, sample, square, write_line, write_plan_for
from pdfs import Page, check_page, pages
from pypdf import PdfReader

from striplay.cautions import cautions_for
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.handover import print_operation
from striplay.laid_plan import Layout
from striplay.limits import MAX_NAME_LENGTH
from striplay.looks import Ink
from striplay.section.occasions import occasions_of
from striplay.sheets.appendix_sheets import MARKED
from striplay.sheets.bind import write_map_book
from striplay.sheets.spoken import spoken

PLANS = sorted(str(path.relative_to(SAMPLES).with_suffix("")) for path in SAMPLES.glob("*/*.toml"))
COLORLESS = 8
"""Levels of 255 by which a gray dot's colors may differ where it is drawn."""
GRAY = ("creek_side/plan", "pivot_circle/all_systems")


@cache
def layout_of(name: str) -> Layout:
    """Lay a sample's plan, once for all tests."""
    folder, plan = name.split("/")
    return sample(folder) if plan == "plan" else lay(read_plan(SAMPLES / f"{name}.toml"))


def written(layout: Layout, path: Path, ink: Ink = "color") -> list[Page]:
    assert write_map_book(layout, path, ink=ink) == []
    return pages(path)


def hold_every_page(layout: Layout, made: list[Page]) -> None:
    """Hold each page to type, overlaps and margins, and to what its head and foot say."""
    for page in made:
        check_page(page)
        said = page.text
        assert layout.plan.title in said, page.number
        assert f"plan {layout.mark}" in said, page.number
        assert f"page {page.number} of {len(made)}" in said, page.number
        assert "WGS 84, true north; not a legal survey" in said, page.number
        if layout.plan.printed is not None:
            assert layout.plan.printed.isoformat() in said, page.number


@pytest.mark.parametrize("name", PLANS)
def test_every_page_of_every_sample_is_in_order(tmp_path, name):
    layout, path = layout_of(name), tmp_path / "book.pdf"
    made = written(layout, path)
    hold_every_page(layout, made)
    reader = PdfReader(path)
    assert reader.metadata.title == layout.plan.title
    # each sheet has its entry in the list of contents, where its page has its name
    entries = [one for one in reader.outline if not isinstance(one, list)]
    numbers = [reader.get_destination_page_number(one) + 1 for one in entries]
    assert numbers == sorted(numbers)
    assert numbers[0] == 1
    for entry, number in zip(entries, numbers, strict=True):
        assert " ".join(entry.title.split()) in made[number - 1].text
    titles = [one.title for one in entries]
    assert titles[-1].casefold().endswith(MARKED)
    # an operation's double page begins on the left, and says its work
    for sheet in layout.worksheets:
        name = spoken(layout.plan)(sheet.name)
        (number,) = [
            at for at, title in zip(numbers, titles, strict=True)
            if title == name or title.startswith(f"{name}, ")
        ]  # fmt: skip
        assert number % 2 == 0, sheet.name
    # what can hurt: in short on the cover, in full at the end
    cover = made[0].text
    (first, *_) = [
        number
        for number, title in zip(numbers, titles, strict=True)
        if title.casefold().endswith(MARKED)
    ]
    appendix = " ".join(page.text for page in made[first - 1 :])
    for one in cautions_for(
        occasions_of(layout.plan, layout.section, holed=not layout.ground.holes.is_empty),
        layout.plan.units,
    ):
        assert one.short in cover, one.about
        assert one.text in appendix, one.about
    assert all(MARKED in page.text.casefold() for page in made[first - 1 :])


@pytest.mark.parametrize("name", GRAY)
def test_every_page_is_in_order_in_gray(tmp_path, name):
    layout = layout_of(name)
    made = written(layout, tmp_path / "book.pdf", ink="gray")
    hold_every_page(layout, made)
    # nothing of it is in color: each dot's red, green and blue are alike
    with pdfium.PdfDocument(tmp_path / "book.pdf") as document:
        for page in document:
            dots = page.render(scale=0.5).to_numpy().astype(int)
            assert np.ptp(dots, axis=2).max() <= COLORLESS


def test_the_same_layout_gives_the_same_bytes(tmp_path):
    layout = layout_of("pivot_circle/plan")
    written(layout, tmp_path / "a.pdf")
    written(layout, tmp_path / "b.pdf")
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def renamed(names: dict[str, str]) -> dict[str, str]:
    """Give the tests' shed and strips with some names changed."""
    parts = {"shed": SHED, "strips": STRIPS}
    for old, new in names.items():
        for kind in ("crops", "machines"):
            parts = {key: text.replace(f"[{kind}.{old}]", f'[{kind}."{new}"]')
                     for key, text in parts.items()}  # fmt: skip
        parts = {key: text.replace(f'= "{old}"', f'= "{new}"') for key, text in parts.items()}
    return parts


def test_what_no_page_can_print_is_told_of(tmp_path):
    """A crop's name has a sign that no font has: boxes on every sheet, one notice, every time."""
    names = renamed({"corn": "\U00013000 corn"})
    layout = lay_on(tmp_path, square(1320), headland="", **names)
    for _ in range(2):
        (notice,) = write_map_book(layout, tmp_path / "book.pdf")
        assert 'the sheets print □ for "\U00013000" (egyptian hieroglyph a001)' in notice.text
    (notice,) = print_operation(layout, "1", tmp_path / "one.pdf")
    assert "egyptian hieroglyph a001" in notice.text
    for page in (*pages(tmp_path / "book.pdf"), *pages(tmp_path / "one.pdf")):
        check_page(page)


def test_names_and_titles_as_long_as_may_be_have_room_on_every_page(tmp_path):
    """A title of 300 letters; farm, crops and machines with names as long as a plan takes."""
    long = ("mais für silage, früh gesät im april " * 3)[:MAX_NAME_LENGTH].strip()
    names = {
        "corn": long, "soybean": "ذرة صفراء मक्का 玉米 " + "x" * 60, "planter": "sä" + "m" * 90,
        "sprayer": "spritze " * 12, "platform": "दरांती " * 14,
    }  # fmt: skip
    names = {old: new[:MAX_NAME_LENGTH].strip() for old, new in names.items()}
    path = write_plan_for(tmp_path, square(1320), headland="", **renamed(names))
    title = "Ein Feld, dessen Titel kein Ende nehmen will, am Weg hinter dem Hof; " * 5
    keys = ("name", "operator", "prepared_by", "county", "state", "legal")
    farm = "".join(f'{key} = "{key} {title[:80]}"\n' for key in keys)
    text = path.read_text(encoding="utf-8").replace('"Test"', f'"{title[:300]}"')
    path.write_text(f"{text}\n[farm]\n{farm}", encoding="utf-8")
    layout = lay(read_plan(path))
    write_map_book(layout, tmp_path / "book.pdf")
    for page in pages(tmp_path / "book.pdf"):
        check_page(page)


@pytest.mark.parametrize("rows", ["pivot = [-93.5, 42.0]", 'along = "key.geojson"'])
def test_rows_along_curves_have_a_book_too(tmp_path, rows):
    write_line(tmp_path, shapely.LineString([(-250, -60), (0, 0), (250, -30)]))
    layout = lay_on(tmp_path, shapely.Point(0, 0).buffer(220, 16), direction=rows)
    write_map_book(layout, tmp_path / "book.pdf")
    found = pages(tmp_path / "book.pdf")
    for page in found:
        check_page(page)
    assert len(found) > 2 * len(layout.worksheets)
