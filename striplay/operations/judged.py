"""Say of each operation whether it can be done: yes, at a cost, or no, and why."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from striplay.notices import Notice, gravest_first
from striplay.operations.jobs import Job

Answer = Literal["yes", "at a cost", "no"]
ANSWERS: dict[str, Answer] = {"stop": "no", "mind": "at a cost", "know": "yes"}
"""What the gravest notice of an operation comes to."""


@dataclass(frozen=True)
class Verdict:
    """Whether an operation can be done.

    Attributes:
        job: the operation.
        notices: what was found of it, the gravest first.
    """

    job: Job
    notices: tuple[Notice, ...]

    @property
    def answer(self) -> Answer:
        """Yes, at a cost, or no."""
        return ANSWERS[self.notices[0].severity] if self.notices else "yes"

    @property
    def reason(self) -> str:
        """The gravest of what was found; empty where it can be done without more."""
        return "" if self.answer == "yes" else self.notices[0].text


def verdicts_of(jobs: Sequence[Job], told: Iterable[Notice]) -> list[Verdict]:
    """Gather what was found by operation.

    Args:
        jobs: in the order done.
        told: notices; those that judge no operation are left aside.
    """
    by_job: dict[str, list[Notice]] = {job.name: [] for job in jobs}
    for notice in told:
        if notice.job in by_job:
            by_job[notice.job].append(notice)
    return [Verdict(job, tuple(gravest_first(by_job[job.name]))) for job in jobs]
