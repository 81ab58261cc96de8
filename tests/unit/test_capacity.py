"""Capacity: when jobs are done, and the hours machines are asked for week by week."""

from datetime import date

import pytest
from routed import job_of, plan_with, section_with

from striplay.operations.capacity import days_of, spans_of, week_hours
from striplay.operations.jobs import Job

HOUR_S = 3600.0


def spans(plan, *timed):
    return spans_of(plan, section_with(plan), [(job, hours * HOUR_S) for job, hours in timed])


def day(text):
    return date.fromisoformat(text)


def test_days_by_hours_a_day(tmp_path):
    plan = plan_with(tmp_path, planter="hours_a_day = 12")
    (span,) = spans(plan, (job_of("plant", "corn", day="2026-05-04"), 30))
    assert span.days == pytest.approx(2.5)
    assert (span.last, span.late_days, span.waits_for) == (day("2026-05-06"), 0, None)


def test_work_that_just_fills_its_days_takes_no_more(tmp_path):
    plan = plan_with(tmp_path)
    (span,) = spans(plan, (job_of("plant", "corn", day="2026-05-04"), 30 + 0.01 / HOUR_S))
    assert span.last == day("2026-05-06")


def test_two_jobs_of_one_machine_go_one_after_the_other(tmp_path):
    plan = plan_with(tmp_path)
    first = job_of("plant", "corn", day="2026-05-04")
    second = job_of("plant", "soybean", day="2026-05-05")
    third = job_of("plant", "corn", day="2026-05-20")
    _, late, last = spans(plan, (first, 25), (second, 8), (third, 8))
    assert (last.start, last.waits_for) == (day("2026-05-20").toordinal(), None)
    assert late.start == day("2026-05-04").toordinal() + 2.5
    assert (late.last, late.last_alone) == (day("2026-05-07"), day("2026-05-05"))
    assert (late.late_days, late.waits_for, late.shares) == (2, first, "machine")


def test_two_jobs_that_fit_into_one_day(tmp_path):
    plan = plan_with(tmp_path)
    first = job_of("plant", "corn", day="2026-05-04")
    second = job_of("plant", "soybean", day="2026-05-04")
    assert [span.late_days for span in spans(plan, (first, 4), (second, 6))] == [0, 0]
    assert [span.late_days for span in spans(plan, (first, 4), (second, 6.1))] == [0, 1]


def test_ground_is_free_when_the_job_before_is_done(tmp_path):
    plan = plan_with(tmp_path)
    plant = job_of("plant", "corn", day="2026-05-04")
    spray = job_of("spray", "corn", day="2026-05-05")
    other = job_of("spray", "soybean", day="2026-05-05", machine="head")
    found = spans(plan, (plant, 35), (spray, 2), (other, 2))
    assert [(span.late_days, span.shares) for span in found] == [(0, ""), (2, "ground"), (0, "")]


def test_what_follows_in_a_strip_waits_for_its_harvest(tmp_path):
    strips = (
        '[[strips]]\ncrop = "corn"\nrows = 12\n'
        '[[relay]]\ncrop = "soybean"\ninto = "corn"\nseeder = "planter"\n'
    )
    plan = plan_with(tmp_path, strips=strips)
    harvest = job_of("harvest", "corn", day="2026-07-01")
    sown = job_of("plant", "soybean", day="2026-07-03")
    assert [span.late_days for span in spans(plan, (harvest, 40), (sown, 5))] == [0, 2]
    # nor does what is done to the crop sown between wait for what is done to its host
    spray = job_of("spray", "soybean", day="2026-07-03")
    assert [span.late_days for span in spans(plan, (harvest, 40), (spray, 5))] == [0, 0]
    # in strips side by side neither follows the other
    plan = plan_with(tmp_path)
    assert [span.late_days for span in spans(plan, (harvest, 40), (sown, 5))] == [0, 0]


def test_jobs_without_a_day_have_no_span(tmp_path):
    plan = plan_with(tmp_path)
    assert spans(plan, (job_of("plant", "corn"), 40)) == ()


def test_weeks_of_the_calendar(tmp_path):
    plan = plan_with(tmp_path, sprayer="hours_a_day = 8")
    # Saturday 2 May 2026 is in week 18; Monday begins the next
    timed = [
        (job_of("plant", "corn", day="2026-05-02"), 25 * HOUR_S),
        (job_of("plant", "soybean", day="2026-05-06"), 10 * HOUR_S),
        (job_of("spray", "corn"), 3 * HOUR_S),
    ]
    found = [(one.machine, one.week, one.asked_s / HOUR_S, one.most_s) for one in
             week_hours(plan, timed)]  # fmt: skip
    assert found == [
        ("planter", (2026, 18), pytest.approx(20), 70 * HOUR_S),
        ("planter", (2026, 19), pytest.approx(15), 70 * HOUR_S),
        ("sprayer", None, pytest.approx(3), None),
    ]


def test_more_than_a_week_holds_is_seen(tmp_path):
    plan = plan_with(tmp_path)
    timed = [(job_of("plant", name, day="2026-05-04"), 40 * HOUR_S) for name in ("corn", "soybean")]
    (week,) = week_hours(plan, timed)
    assert week.asked_s > week.most_s


def test_a_slip_in_a_speed_ends_within_the_calendar(tmp_path):
    plan = plan_with(tmp_path, planter="hours_a_day = 0.001")
    job = job_of("plant", "corn", day="2026-05-04")
    assert days_of(plan, job, 1e12) == 366
    (span,) = spans(plan, (job, 1e12))
    assert span.last == day("2027-05-04")
    assert len(week_hours(plan, [(job, 1e12)])) == 53
    late = [(Job(str(n), "plant", "planter", ("corn",), day("2090-01-01")), 1e12) for n in range(9)]
    assert spans(plan, *late)[-1].last.year > 2098
