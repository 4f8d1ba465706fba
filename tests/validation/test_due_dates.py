"""Fewest late jobs on one head, held to worked examples.

Source: M. L. Pinedo, Scheduling: Theory, Algorithms, and Systems, example 3.3.3 (data from memory;
answers checked by trying every order): 2 late against 3 by due time alone; least worst lateness 10.
"""

from __future__ import annotations

from itertools import permutations

from firstpiece.scheduling.due_dates import fewest_late, latest_lateness

MINUTES = (7, 8, 4, 6, 6)
DUE = (9, 17, 18, 19, 21)


def count_late(order, minutes, due):
    clock, late = 0, 0
    for job in order:
        clock += minutes[job]
        late += clock > due[job]
    return late


def test_pinedo_example_has_two_late_jobs():
    answer = fewest_late(MINUTES, DUE)
    assert len(answer.late) == 2
    assert count_late(answer.on_time, MINUTES, DUE) == 0
    assert count_late(range(5), MINUTES, DUE) == 3
    assert min(count_late(p, MINUTES, DUE) for p in permutations(range(5))) == 2


def test_due_order_makes_the_worst_lateness_ten():
    assert latest_lateness(MINUTES, DUE, range(5)) == 10
    assert min(latest_lateness(MINUTES, DUE, p) for p in permutations(range(5))) == 10


def test_course_exercise_has_two_late_jobs():
    """Ten jobs of a published course exercise: 2 late at best, 4 by due time alone."""
    minutes = (19, 23, 5, 31, 17, 8, 32, 41, 26, 18)
    due = (48, 75, 170, 215, 205, 240, 85, 67, 100, 95)
    answer = fewest_late(minutes, due)
    assert len(answer.late) == 2
    by_due = sorted(range(10), key=lambda i: due[i])
    assert count_late(by_due, minutes, due) == 4
