import pytest

from shop.calc.due import in_words, read_rule


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("FREQ=DAILY", "every day"),
        ("FREQ=DAILY;INTERVAL=10", "every 10 days"),
        ("FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR", "Monday to Friday"),
        ("FREQ=WEEKLY;BYDAY=MO", "every week on Monday"),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,WE,FR", "every 2 weeks on Monday, Wednesday and Friday"),
        ("FREQ=MONTHLY;BYDAY=1MO", "every month on the first Monday"),
        ("FREQ=MONTHLY;INTERVAL=3;BYDAY=-1FR", "every 3 months on the last Friday"),
        ("FREQ=MONTHLY;BYMONTHDAY=1,-1", "every month on day 1 and the last day"),
        ("FREQ=YEARLY;BYMONTH=1,7;BYDAY=2TU", "every year on the second Tuesday in January and July"),
        ("FREQ=YEARLY;BYDAY=20MO", "every year on the 20. Monday"),
        ("FREQ=YEARLY;UNTIL=20261231", "every year, until 31 December 2026"),
        ("FREQ=WEEKLY;COUNT=4", "every week, 4 times in all"),
        ("FREQ=WEEKLY;COUNT=1", "every week, once"),
        ("FREQ=MONTHLY;BYDAY=MO,TU;BYSETPOS=-1", "by its own rule, FREQ=MONTHLY;BYDAY=MO,TU;BYSETPOS=-1"),
    ],
)
def test_a_rule_in_words(rule, words):
    assert in_words(read_rule(rule)) == words


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("FREQ=DAILY;INTERVAL=90", "90 days after it was last done"),
        ("FREQ=MONTHLY", "a month after it was last done"),
        ("FREQ=MONTHLY;BYDAY=1MO", "every month on the first Monday, counted from the last entry"),
    ],
)
def test_counted_from_the_last_entry(rule, words):
    assert in_words(read_rule(rule), from_entry=True) == words
