"""The order of notices, and how many of a kind are told."""

import random

from traveler.trace.watching.notice import LEVELS, MOST, SUBJECTS, Level, Notice, grouped, in_order


def notice(level, subject, urgency=0.0, what="x"):
    return Notice(level, subject, what, "traveler watch", urgency)


def test_what_is_pressing_comes_first_then_by_subject_then_by_urgency():
    ordered = [
        notice(Level.ACT, "gauge", 3), notice(Level.ACT, "gauge", 1), notice(Level.ACT, "drift"),
        notice(Level.LOOK, "gauge"), notice(Level.LOOK, "waiting"), notice(Level.KNOW, "concession"),
    ]  # fmt: skip
    mixed = ordered[:]
    random.Random(1).shuffle(mixed)
    assert list(in_order(mixed)) == ordered


def test_every_level_and_subject_has_its_place():
    every = [notice(level, subject) for level in LEVELS for subject in SUBJECTS]
    assert list(in_order(reversed(every))) == every


def test_of_many_alike_the_first_few_are_told():
    alike = [notice(Level.LOOK, "waiting", what=str(at)) for at in range(MOST + 5)]
    (group,) = grouped(alike)
    assert (len(group.notices), group.more) == (MOST, 5)
    (few,) = grouped(alike[:MOST])
    assert few.more == 0
    assert grouped([]) == ()
