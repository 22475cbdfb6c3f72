"""Reads made once while one looks."""

from shop.recall import looking, recalled


def counted():
    calls = []

    @recalled
    def read(day, *, of="all"):
        calls.append((day, of))
        return [day, of]

    return read, calls


def test_outside_a_look_every_read_is_made():
    read, calls = counted()
    assert read(1) == read(1)
    assert len(calls) == 2


def test_within_a_look_the_same_read_is_made_once():
    read, calls = counted()
    with looking():
        assert read(1) is read(1)
        read(2)
        read(1, of="blanks")
    assert calls == [(1, "all"), (2, "all"), (1, "blanks")]


def test_the_next_look_reads_afresh():
    read, calls = counted()
    for _ in range(2):
        with looking():
            read(1)
    assert len(calls) == 2


def test_a_look_within_a_look_shares_its_reads():
    read, calls = counted()
    with looking():
        read(1)
        with looking():
            read(1)
        read(1)
    assert len(calls) == 1


def test_two_reads_are_not_mixed_up():
    one, _ = counted()
    other, calls = counted()
    with looking():
        one(1)
        other(1)
    assert len(calls) == 1
