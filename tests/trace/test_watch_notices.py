"""The order of notices, and how many of a kind are listed."""

import random

from traveler.trace.watch import LEVELS, MOST, SUBJECTS, Notice, Urgency, by_urgency, grouped


def notice(level, subject, urgency=0.0, what="x"):
    return Notice(level, subject, what, "traveler shop watch", urgency)


def test_what_is_pressing_comes_first_then_by_subject_then_by_urgency():
    ordered = [
        notice(Urgency.ACT, "gauge", 3), notice(Urgency.ACT, "gauge", 1), notice(Urgency.ACT, "drift"),
        notice(Urgency.LOOK, "gauge"), notice(Urgency.LOOK, "waiting"), notice(Urgency.KNOW, "concession"),
    ]  # fmt: skip
    mixed = ordered[:]
    random.Random(1).shuffle(mixed)
    assert list(by_urgency(mixed)) == ordered


def test_every_level_and_subject_has_its_place():
    every = [notice(level, subject) for level in LEVELS for subject in SUBJECTS]
    assert list(by_urgency(reversed(every))) == every


def test_of_many_alike_the_first_few_are_told():
    alike = [notice(Urgency.LOOK, "waiting", what=str(at)) for at in range(MOST + 5)]
    (group,) = grouped(alike)
    assert (len(group.notices), group.more) == (MOST, 5)
    (few,) = grouped(alike[:MOST])
    assert few.more == 0
    assert grouped([]) == ()
