"""What is stamped on a cylinder's shoulder about its last test."""

import re
from dataclasses import dataclass
from datetime import date

from shop.calc.bounds import whole

#: The intervals of requalification in 49 CFR 180.209(a), table 1, for steel and aluminium cylinders, in years. The star
#: after the date is what gives 10 (180.209(b), from memory). Other countries have others.
INTERVALS = (5, 10, 12)

#: Two digits of a year that is to come within so many years are more likely the day of the next test than a test of a
#: century ago: such a stamp is not guessed at. Our own choice.
_NEXT_TEST = 30

_STAMP = re.compile(
    r"(?P<month>\d{1,2})\s*[-/. ]\s*(?:[A-Z0-9]{1,6}\s*[-/. ]\s*)?(?P<year>\d{4}|\d{2})\s*(?P<star>[*★☆])?"
)
_ISO = re.compile(r"(?P<year>\d{4})\s*[-/.]\s*(?P<month>\d{1,2})\s*(?P<star>[*★☆])?")


@dataclass(frozen=True)
class TestStamp:
    """month: the first day of the month of the last test; has_star: whether a star stands after it."""

    __test__ = False  # not one of pytest's

    month: date
    has_star: bool


def read_stamp(text: str, today: date) -> TestStamp:
    """The date of the last test as stamped ("06-19", "6 19", "06-A123-19", with "*" for the star), or as 2019-06.

    Two digits of a year are the latest such year that is not to come. ValueError for what is no such date, for a month
    that is still to come, and for two digits of a year that is to come soon, for that is when the next test is due.
    """
    typed = " ".join(text.upper().split())
    found = _ISO.fullmatch(typed) or _STAMP.fullmatch(typed)
    if found is None:
        raise ValueError("Write the month and year of the last test as stamped, like 06-19, a star as *.")
    month, year = int(found["month"]), int(found["year"])
    if not 1 <= month <= 12:
        raise ValueError(f"There is no month {month}. It is stamped month first, then the year.")
    if len(found["year"]) == 2:
        year += today.year // 100 * 100
        if (year, month) > (today.year, today.month):
            if year <= today.year + _NEXT_TEST:
                raise ValueError(
                    f"That would be {date(year, month, 1):%B %Y}, which is still to come. The stamp tells when it was "
                    f"last tested, not when the next test is due. If it is from {year - 100}, write the year in full."
                )
            year -= 100
    if (year, month) > (today.year, today.month):
        raise ValueError("That month is still to come. Give the last test that was made.")
    if year < 1900:
        raise ValueError("That is before 1900: look at the year again.")
    return TestStamp(date(year, month, 1), found["star"] is not None)


def requalify_by(month: date, years: int) -> date:
    """The first day of the month in which so many years have gone by since the test: from then on it is due."""
    return month.replace(year=month.year + whole("years", years, at_least=1, at_most=30), day=1)
