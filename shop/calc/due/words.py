"""Rules in words: "every 2 weeks on Monday and Thursday"."""

from datetime import date, datetime

from shop.calc.due.rules import WEEKDAYS, Rule

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
_PLACES = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth", -1: "last", -2: "last but one"}
_UNITS = {"DAILY": "day", "WEEKLY": "week", "MONTHLY": "month", "YEARLY": "year"}


def in_words(rule: Rule, *, from_entry: bool = False) -> str:
    """How often, in words; a rule that has no plain ones says its text."""
    if rule.has("BYSETPOS", "BYYEARDAY", "BYWEEKNO") or (rule.has("BYMONTHDAY") and rule.has("BYDAY")):
        return f"by its own rule, {rule.text}"
    if from_entry and rule.is_plain:
        return f"{_several(rule)} after it was last done{_end(rule)}"
    if rule.freq == "WEEKLY" and rule.interval == 1 and rule.part("BYDAY") == "MO,TU,WE,TH,FR":
        said = "Monday to Friday"
    else:
        said = _every(rule)
        on = _days(rule)
        said += f" on {on}" if on else ""
    if rule.has("BYMONTH"):
        said += f" in {_listed([_MONTHS[int(month) - 1] for month in rule.part('BYMONTH').split(',')])}"
    if from_entry:
        said += ", counted from the last entry"
    return said + _end(rule)


def _every(rule: Rule) -> str:
    unit = _UNITS[rule.freq]
    return f"every {unit}" if rule.interval == 1 else f"every {rule.interval} {unit}s"


def _several(rule: Rule) -> str:
    unit = _UNITS[rule.freq]
    return f"a {unit}" if rule.interval == 1 else f"{rule.interval} {unit}s"


def _days(rule: Rule) -> str:
    if rule.has("BYDAY"):
        found = []
        for one in rule.part("BYDAY").split(","):
            name = _DAYS[WEEKDAYS.index(one[-2:])]
            place = int(one[:-2]) if one[:-2] else 0
            if place and place not in _PLACES:
                name = f"the {place}. {name}" if place > 0 else f"the {name} number {-place} from the end"
            found.append(f"the {_PLACES[place]} {name}" if place in _PLACES else name)
        return _listed(found)
    if rule.has("BYMONTHDAY"):
        numbers = [int(one) for one in rule.part("BYMONTHDAY").split(",")]
        return _listed(["the last day" if one == -1 else f"day {one}" for one in numbers])
    return ""


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _end(rule: Rule) -> str:
    if rule.count is not None:
        return f", {rule.count} times in all" if rule.count > 1 else ", once"
    if rule.until is None:
        return ""
    last: date = rule.until.date() if isinstance(rule.until, datetime) else rule.until
    return f", until {in_full(last)}"


def in_full(day: date) -> str:
    """A day for a sentence: "3 March 2025"."""
    return f"{day.day} {day:%B %Y}"
