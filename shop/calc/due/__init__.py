"""When care falls due. Rules by RFC 5545 (python-dateutil), the wall clock by zone, meters by recent use.

Dates and times are what is calculated with here; which time it is now, nothing in here asks.
"""

from shop.calc.due.meters import Reach, day_open_for, days_open, reach
from shop.calc.due.moments import day_in, end_of, moment_of, zone_of
from shop.calc.due.plan import (
    Calendar,
    Due,
    by_meter,
    by_rule,
    check,
    last_day,
    next_day,
    planned_days,
    put_off,
    soonest,
)
from shop.calc.due.rules import BadRule, Rule, days_between, first_day, read_rule
from shop.calc.due.words import in_words

__all__ = [
    "BadRule",
    "Calendar",
    "Due",
    "Reach",
    "Rule",
    "by_meter",
    "by_rule",
    "check",
    "day_in",
    "day_open_for",
    "days_between",
    "days_open",
    "end_of",
    "first_day",
    "in_words",
    "last_day",
    "moment_of",
    "next_day",
    "planned_days",
    "put_off",
    "reach",
    "read_rule",
    "soonest",
    "zone_of",
]
