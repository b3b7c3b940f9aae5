"""How the jobs of one piece hang together: who follows whom, what nobody waits for, what is tied by a window, and what
only has to come before another one. Sets of jobs are bits of a number: a piece has many, and they are asked often."""

from collections.abc import Sequence

from curetrack.timeline.planning.job import Job

__all__ = ["ancestors", "closers", "followers", "mark_just_in_time", "passed", "tied"]


def closers(job: Job, number: dict[str, int]) -> tuple[int, ...]:
    """A row that another step ends is placed after that one."""
    closer = number.get(job.node.closes_with) if job.node.closes_with else None
    return () if closer is None else (closer,)


def followers(jobs: Sequence[Job], number: dict[str, int]) -> list[list[int]]:
    """Of each job those that wait for it, in order."""
    found: list[list[int]] = [[] for _ in jobs]
    for job in jobs:
        before = job.after
        if job.leads or job.node.closes_with or len(before) > 1:
            before = tuple({*before, *(lead for lead, _ in job.leads), *closers(job, number)})
        for other in before:
            found[other].append(job.index)
    return found


def passed(jobs: Sequence[Job], row: Sequence[int]) -> list[Job]:
    """Of a step's followers, those that are optional."""
    return [jobs[number] for number in row if jobs[number].through and not jobs[number].closed]


def tied(jobs: Sequence[Job], successors: Sequence[Sequence[int]], row: Sequence[int]) -> list[Job]:
    """Of a step's followers, those whose window hangs on it; also those behind steps that nobody waits for."""
    found: list[Job] = []
    todo = list(row)
    for number in todo:  # grows
        job = jobs[number]
        if job.through:
            todo += successors[number]
        elif job.is_tied and job not in found:
            found.append(job)
    return found


def ancestors(before: Sequence[int], job: Job) -> int:
    """All that comes before a job, leads included; `before`: the same of each job that stands before it."""
    bits = 0
    for other in job.after:
        bits |= before[other] | 1 << other
    for other, _ in job.leads:
        bits |= before[other] | 1 << other
    return bits


def mark_just_in_time(jobs: Sequence[Job], before: Sequence[int]) -> None:
    """A step with a lead waits for its follower, unless the follower's other predecessors wait for it."""
    for job in jobs:
        for lead, lead_h in job.leads:
            pred = jobs[lead]
            if job.closed or lead_h <= 0.0 or pred.closed or pred.through:
                continue
            reached = 0
            for other in job.after:
                if other != lead:
                    reached |= before[other] | 1 << other
            if not reached >> lead & 1:
                pred.just_in_time = job.pulls = True
