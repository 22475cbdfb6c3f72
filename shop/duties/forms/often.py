"""How often: boxes for the rules that shops have, and one for a rule of its own."""

from datetime import date, datetime
from typing import Any

from django import forms

from shop import clock
from shop.calc import due as calc
from shop.duties.models import CountsFrom, Duty
from shop.press.fields import DayField, NumberField
from shop.press.forms import PressForm
from shop.wording import in_full

DAYS, WEEKS, MONTHS, YEARS, OWN, METER = "days", "weeks", "months", "years", "own", "meter"
_FREQ = {DAYS: "DAILY", WEEKS: "WEEKLY", MONTHS: "MONTHLY", YEARS: "YEARLY"}
_OFTEN = {freq: often for often, freq in _FREQ.items()}

OFTEN = [
    (DAYS, "Every so many days"),
    (WEEKS, "Every so many weeks"),
    (MONTHS, "Every so many months"),
    (YEARS, "Every so many years"),
    (METER, "By a meter alone"),
    (OWN, "By a rule of its own"),
]
WEEKDAYS = [
    ("MO", "Monday"),
    ("TU", "Tuesday"),
    ("WE", "Wednesday"),
    ("TH", "Thursday"),
    ("FR", "Friday"),
    ("SA", "Saturday"),
    ("SU", "Sunday"),
]
#: Which of a month's Mondays; "" for its day of the month.
WHICH = [("", "The day of the month it starts on"), ("1", "The first"), ("2", "The second"), ("3", "The third"),
         ("4", "The fourth"), ("-1", "The last")]  # fmt: skip

OFTEN_FIELDS = ("often", "every", "weekdays", "which", "rule", "starts_on", "at", "until", "counts_from")


class OftenForm(PressForm):
    """The boxes; `rule_of` makes a rule of what they hold."""

    often = forms.ChoiceField(label="How often", choices=OFTEN, widget=forms.RadioSelect, initial=WEEKS)
    every = NumberField(label="Every", low=1, high=1000, whole=True, required=False, initial=1)
    weekdays = forms.MultipleChoiceField(
        label="On which days",
        choices=WEEKDAYS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None for the weekday it starts on.",
    )
    which = forms.ChoiceField(label="Which day of the month", choices=WHICH, required=False)
    rule = forms.CharField(
        label="Rule",
        max_length=300,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "autocapitalize": "characters"}),
        help_text="As RFC 5545 writes it: FREQ=MONTHLY;BYDAY=-1FR is the last Friday of each month.",
    )
    starts_on = DayField(label="First day", required=False, help_text="Empty for today.")
    at = forms.TimeField(
        label="Due from",
        initial="08:00",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        input_formats=["%H:%M", "%H.%M", "%H:%M:%S"],
        error_messages={"invalid": "That is not an hour of the day. Write it as 08:00."},
    )
    until = DayField(label="Last day", required=False, help_text="Empty for no end.")
    counts_from = forms.ChoiceField(
        label="The next day is counted from",
        choices=CountsFrom.choices,
        widget=forms.RadioSelect,
        initial=CountsFrom.PLAN,
    )

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        often, until, start = said.get("often"), said.get("until"), said.get("starts_on")
        if often == OWN and not said.get("rule") and "rule" not in self.errors:
            self.add_error("rule", "Write the rule, or choose how often above.")
        if often in _FREQ and said.get("every") is None and "every" not in self.errors:
            self.add_error("every", "Fill this in.")
        if until and start and until < start:
            self.add_error("until", f"That is before its first day, {in_full(start)}.")
        if often in (MONTHS, YEARS) and said.get("which") and not said.get("weekdays"):
            self.add_error("weekdays", "Choose the weekday that is meant.")
        return said


def rule_of(said: dict[str, Any]) -> str:
    """The rule that the boxes say; "" for none. What boxes of another choice hold is let be."""
    often = said["often"]
    if often == METER:
        return ""
    if often == OWN:
        return str(said["rule"])
    parts = [f"FREQ={_FREQ[often]}", f"INTERVAL={said['every']}"]
    days, which = said["weekdays"], said["which"]
    if often == WEEKS and days:
        parts.append(f"BYDAY={','.join(days)}")
    if often in (MONTHS, YEARS) and which:
        parts.append("BYDAY=" + ",".join(f"{which}{day}" for day in days))
        if often == YEARS:
            parts.append(f"BYMONTH={(said['starts_on'] or clock.today()).month}")
    if said["until"]:
        parts.append(f"UNTIL={said['until']:%Y%m%d}")
    return ";".join(parts)


def often_of(duty: Duty) -> dict[str, Any]:
    """What the boxes show of a kept duty: the plain ones where they can say its rule, else the rule itself."""
    told: dict[str, Any] = {"often": METER, "every": 1, "weekdays": [], "which": "", "rule": "", "until": None}
    if not duty.rule:
        return told
    rule = calc.read_rule(duty.rule)
    return told | (_plainly(rule, duty.starts_on) or {"often": OWN, "rule": duty.rule})


def _plainly(rule: calc.Rule, starts_on: date | None) -> dict[str, Any] | None:
    if rule.count is not None or rule.wkst or isinstance(rule.until, datetime):
        return None
    told: dict[str, Any] = {"often": _OFTEN[rule.freq], "every": rule.interval, "until": rule.until}
    if not rule.parts:
        return told
    days = [one for one in rule.part("BYDAY").split(",") if one]
    names, places = [one[-2:] for one in days], {one[:-2].lstrip("+") for one in days}
    by_year = rule.freq == "YEARLY"
    whole = by_year and starts_on is not None and rule.part("BYMONTH") == str(starts_on.month)
    if {name for name, _ in rule.parts} != ({"BYDAY", "BYMONTH"} if by_year else {"BYDAY"}) or (by_year and not whole):
        return None
    if rule.freq == "WEEKLY":
        return told | {"weekdays": names}
    if len(places) == 1 and rule.freq != "DAILY" and (place := places.pop()) in dict(WHICH) and place:
        return told | {"weekdays": names, "which": place}
    return None
