"""Who often logs only some of a child's first turns: each boundary (numbers are our own choice)."""

from readiness.engine.statistics.first_turns import Evening, FewTurns, who_logs_few_turns


def evenings(author, *turns, ended=False):
    return [Evening(frozenset({author}), number, ended) for number in turns]


def test_mostly_short_evenings_among_full_ones_are_told():
    told = who_logs_few_turns([*evenings(1, *[2] * 11, *[3] * 9), *evenings(2, *[3] * 9, 1)])
    assert told == [FewTurns(1, 20, 11, 10, 1)]


def test_half_of_them_is_not_yet_told():
    assert who_logs_few_turns([*evenings(1, *[2] * 10, *[3] * 10), *evenings(2, 3)]) == []


def test_nineteen_evenings_tell_nothing():
    assert who_logs_few_turns([*evenings(1, *[1] * 19), *evenings(2, 3)]) == []


def test_where_the_others_are_as_short_nobody_is_told():
    assert who_logs_few_turns([*evenings(1, *[2] * 20), *evenings(2, 2, 2, 3)]) == []
    told = who_logs_few_turns([*evenings(1, *[2] * 20), *evenings(2, 2, 3)])
    assert [each.author for each in told] == [1]


def test_with_nobody_else_short_evenings_are_told():
    assert who_logs_few_turns(evenings(1, *[2] * 20)) == [FewTurns(1, 20, 20, 0, 0)]


def test_an_evening_that_a_stop_sign_ended_says_nothing():
    assert who_logs_few_turns(evenings(1, *[1] * 30, ended=True)) == []


def test_an_evening_of_two_authors_is_both_s():
    shared = [Evening(frozenset({1, 2}), 2, ended=False)] * 20
    assert who_logs_few_turns(shared) == [FewTurns(1, 20, 20, 0, 0), FewTurns(2, 20, 20, 0, 0)]


def test_nothing_logged_is_nothing_told():
    assert who_logs_few_turns([]) == []
