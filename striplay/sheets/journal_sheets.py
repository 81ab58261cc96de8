"""Tell a season as it was: planned and done, seen, yields in pictures, and what they tell."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable

from striplay.looks import Fill, Look
from striplay.operations.amounts import base_moisture, bushel_kg
from striplay.plan.models import Plan
from striplay.records.analysis import Interval
from striplay.records.edge_gains import EdgeGain
from striplay.records.journal import CropInStrip, Season, WorkDone
from striplay.records.measures import format_yield, yield_shown
from striplay.records.sentences import sentences
from striplay.records.told import entry_line
from striplay.section.trial import STRIPS
from striplay.sheets.book import Book
from striplay.sheets.flow import (
    Column,
    Story,
    begin,
    gap,
    heading,
    paragraph,
    part,
    side_by_side,
    table,
    together,
)
from striplay.sheets.journal_charts import Bar, bar_chart
from striplay.sheets.journal_map import season_map
from striplay.sheets.style import TEXT_PT
from striplay.units import ACRE_M2, HECTARE_M2, trim

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

GAP_MM = 6.0
MOST_TOLD = 60
"""So many events and remarks are told; `striplay record list` has them all."""
NOTHING = "-"
PLAIN = Look(Fill("#ffffff"), "")


def journal_story(book: Book, layout: "Layout", season: Season) -> Story:
    """Make the sheets of a season.

    Args:
        book: their paper, units and ink.
        layout: the plan, laid.
        season: what they tell.
    """
    plan = layout.plan
    checks = _checks(layout)
    return [
        *begin("Season journal"),
        paragraph(_intro(season), TEXT_PT, below_mm=0.8),
        heading("Planned and done"),
        _work_table(book, season.journal.work),
        *_told(season),
        *_yields(book, plan, season, checks),
        *_rows(book, season),
        *_tells(plan, season),
        *part("Strip by strip"),
        _strip_table(book, plan, season.journal.strips, checks),
        *_map(book, layout, season),
    ]


def _checks(layout: "Layout") -> frozenset[int]:
    """Give the strips that are checks of a trial."""
    strips = layout.strips
    if "treatment" not in strips:
        return frozenset()
    return frozenset(strips["strip"][strips["treatment"] != STRIPS].tolist())


def _map(book: Book, layout: "Layout", season: Season) -> Story:
    """Draw where strips yielded more or less; nothing where none was weighed."""
    if not season.journal.weighed:
        return []
    named = "Season journal: where strips yielded more or less"
    return [*begin(named, level=1), season_map(book, layout, season.journal)]


def _intro(season: Season) -> str:
    """Say of what and when the records are."""
    journal, days = season.journal, season.journal.days
    weighed = sum(one.kg_per_m2 is not None for one in journal.strips)
    counted = sum(one.plants_per_m2 is not None for one in journal.strips)
    each = len(journal.strips)
    when = "" if days is None else f" from {days[0]} to {days[1]}"
    return (
        f"{journal.entries:,} entries{when}. Of {each} plantings in strips (a strip and a crop), "
        f"{counted} were counted and {weighed} weighed. What the farm recorded stands here as it "
        "was recorded; what is not recorded is not known."
    )


def _day(day: date | None) -> str:
    return NOTHING if day is None else day.isoformat()


def _work_table(book: Book, work: Sequence[WorkDone]) -> Flowable:
    """Set each operation's day and passes as planned beside those recorded."""
    widths = (24.0, 44.0, 50.0, 28.0)
    columns = [
        Column("operation", book.inner_mm - sum(widths)),
        Column("planned", widths[0]),
        Column("done", widths[1]),
        Column("lot", widths[2]),
        Column("passes driven", widths[3], right=True),
    ]
    rows = []
    for one in work:
        done = NOTHING
        if one.first is not None:
            done = _day(one.first) if one.first == one.last else f"{one.first} to {one.last}"
        driven = f"{one.done:,} of {one.passes:,}"
        lots = ", ".join(one.lots) or NOTHING
        rows.append([book.say(one.name), _day(one.planned), done, lots, driven])
    return table(columns, rows)


def _told(season: Season) -> Story:
    """List events and remarks."""
    told = season.journal.told
    if not told:
        return []
    lines = [entry_line(one, season.edition) for one in told[:MOST_TOLD]]
    more = len(told) - MOST_TOLD
    lines += [f"and {more:,} more, which striplay record list tells"] if more > 0 else []
    return [
        heading("What was seen"),
        *(paragraph(line, hang_mm=2.0, below_mm=0.4) for line in lines),
    ]


def _yields(book: Book, plan: Plan, season: Season, checks: frozenset[int]) -> Story:
    """Draw what strips yielded, crop by crop."""
    crops = season.journal.weighed
    each = {crop: [one for one in season.journal.strips if one.crop == crop] for crop in crops}
    few = all(len(mine) <= FEW for mine in each.values())
    width_mm = (book.inner_mm - GAP_MM) / 2 if few else book.inner_mm
    charts = [
        [
            heading(f"Yield of {crop}{_at(plan, crop)}"),
            _yield_chart(book, plan, mine, checks, width_mm),
        ]
        for crop, mine in each.items()
    ]
    return _paired(charts, width_mm) if few else [together(*chart) for chart in charts]


FEW = 16
"""So many bars have room in half the width of a page."""


def _paired(charts: Sequence[list[Flowable]], width_mm: float) -> Story:
    """Set charts two by two."""
    pairs = [charts[at : at + 2] for at in range(0, len(charts), 2)]
    return [one for pair in pairs for one in (gap(2.0), side_by_side(pair, width_mm, GAP_MM))]


def _yield_chart(
    book: Book, plan: Plan, mine: Sequence[CropInStrip], checks: frozenset[int], width_mm: float
) -> Flowable:
    """Draw what the strips of a crop yielded."""
    crop, stated = mine[0].crop, mine[0].stated_kg_per_m2
    bushel = bushel_kg(plan, crop)

    def shown(kg_per_m2: float | None) -> float | None:
        return None if kg_per_m2 is None else yield_shown(kg_per_m2, bushel, plan.units)[0]

    words = ""
    if stated is not None:
        words = f"dashed: planned alone, {format_yield(stated, bushel, plan.units)}"
    bars = [Bar(str(one.strip), shown(one.kg_per_m2), one.strip in checks) for one in mine]
    dots = "; dots: checks" if any(bar.dot for bar in bars) else ""
    unit = f"{yield_shown(0.0, bushel, plan.units)[1]}, by strip{dots}"
    look = _look(book, crop)
    return bar_chart(bars, look, unit, width_mm, level=shown(stated), words=words)


def _look(book: Book, crop: str) -> Look:
    """Give how a crop is shown; one that stands in a mixture alone has no look of its own."""
    return book.looks.get(crop, PLAIN)


def _at(plan: Plan, crop: str) -> str:
    """Say at which moisture a crop's yield is told."""
    base = base_moisture(plan, crop)
    return " as weighed" if base is None else f" at {trim(100 * base, 2)} % moisture"


def _rows(book: Book, season: Season) -> Story:
    """Draw what rows yielded by their place from the edge, in per cent of those inside."""
    edges = {} if season.findings is None else season.findings.edges
    width_mm = (book.inner_mm - GAP_MM) / 2
    charts = [
        [heading(f"Rows of {crop} by place"), _row_chart(book, crop, gains, width_mm)]
        for crop, gains in edges.items()
    ]
    return _paired(charts, width_mm)


def _row_chart(book: Book, crop: str, gains: Sequence[EdgeGain], width_mm: float) -> Flowable:
    """Draw a crop's rows."""
    bars = [
        Bar(
            f"{one.side} {one.row}".strip(),
            100 * (1 + one.gain.value),
            ends=Interval(
                *(100 * (1 + each) for each in (one.gain.value, one.gain.low, one.gain.high))
            ),
        )
        for one in gains
    ]
    bars.append(Bar("inside", 100.0))
    return bar_chart(
        bars, _look(book, crop), "% of rows inside, by row", width_mm, level=100.0,
        words="lines: true value, 19 times out of 20",
    )  # fmt: skip


def _tells(plan: Plan, season: Season) -> Story:
    """Say what the season's figures tell, what they can't, and what they speak for."""
    found = season.findings
    lines = [season.untold] if found is None else list(sentences(found, plan))
    story: Story = [
        heading("What it tells"),
        *(paragraph(line, TEXT_PT, below_mm=0.8) for line in lines if line),
    ]
    for title, told in (
        ("What it speaks for next season, not put into any plan", season.proposals),
        ("What it can't tell of next season", season.not_proposed),
    ):
        if told:
            paragraphs = (paragraph(f"{one}.", TEXT_PT, below_mm=0.8) for one in told)
            story += [heading(title), *paragraphs]
    return story


def _strip_table(
    book: Book, plan: Plan, strips: Sequence[CropInStrip], checks: frozenset[int]
) -> Flowable:
    """Set each crop of each strip as planned beside what is recorded."""
    area_m2, area = (ACRE_M2, "ac") if plan.units == "us" else (HECTARE_M2, "ha")
    thousand = f"1000/{area}"
    widths = (11.0, 33.0, 19.0, 19.0, 17.0, 17.0, 25.0, 14.0, 3.0)
    columns = [
        Column("strip", widths[0], right=True),
        Column("crop", widths[1]),
        Column("planted", widths[2]),
        Column("lot", widths[3]),
        Column(f"plants\nplanned\n{thousand}", widths[4], right=True),
        Column(f"plants\ncounted\n{thousand}", widths[5], right=True),
        Column("yield", widths[6], right=True),
        Column("of alone,\nstated", widths[7], right=True),
        Column("", widths[8]),
        Column("seen", book.inner_mm - sum(widths)),
    ]

    def plants(per_m2: float | None) -> str:
        return NOTHING if per_m2 is None else f"{per_m2 * area_m2 / 1000:,.1f}"

    def row(one: CropInStrip) -> list[str]:
        grown = NOTHING
        if one.kg_per_m2 is not None:
            grown = format_yield(one.kg_per_m2, bushel_kg(plan, one.crop), plan.units)
        of = NOTHING
        if one.kg_per_m2 is not None and one.stated_kg_per_m2:
            of = f"{100 * one.kg_per_m2 / one.stated_kg_per_m2:.0f} %"
        letter = _look(book, one.crop).letter
        check = ", check" if one.strip in checks else ""
        return [
            str(one.strip),
            f"{letter} {one.crop}{check}".strip(),
            _day(one.planted),
            ", ".join(one.lots) or NOTHING,
            plants(one.planned_per_m2),
            plants(one.plants_per_m2),
            grown,
            of,
            "",
            "; ".join(f"{day:%m-%d} {what}" for day, what in one.events),
        ]

    return table(columns, [row(one) for one in strips])
