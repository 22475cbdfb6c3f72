"""Pictures of cutting."""

from django.utils.safestring import SafeString

from shop import picture
from shop.cutting.queries import Outlook

#: How many steps the curve is drawn with, and how many its table has.
_STEPS = 120
_ROWS = 10


def _longest(outlook: Outlook) -> float:
    """Hours up to which the curve is drawn: until about one edge in fifty is left, and a little past now."""
    return max(outlook.posterior.remaining(0.0, 0.98), 1.15 * outlook.hours, 1.0)


def curve_points(outlook: Outlook) -> list[tuple[float, float]]:
    """The curve as its table has it: (hours, share of edges still good then)."""
    longest = _longest(outlook)
    step = max(round(longest / _ROWS, 0 if longest > 15 else 1), 0.1)
    hours = [place * step for place in range(int(longest / step) + 1)]
    return [(at, outlook.posterior.survival(at)) for at in hours]


def life_picture(outlook: Outlook) -> SafeString:
    """How many edges of a kind are still good after so many hours, with a band for what is not known, and this one."""
    longest = _longest(outlook)
    hours = [longest * place / _STEPS for place in range(_STEPS + 1)]
    bands = [outlook.posterior.survival_band(at, 0.8) for at in hours]
    figure = picture.new_figure(110, 64)
    axes = figure.add_subplot()
    axes.fill_between(
        hours, [100 * band.low for band in bands], [100 * band.high for band in bands], color=picture.WASH
    )
    axes.plot(hours, [100 * band.middle for band in bands], color=picture.INK)
    now = 100 * outlook.posterior.survival(outlook.hours)
    axes.plot([outlook.hours, outlook.hours], [0, now], color=picture.RUBY, linestyle="--", linewidth=1.4)
    axes.plot([outlook.hours], [now], marker="o", color=picture.RUBY, markersize=6)
    axes.annotate(
        f"now, {outlook.hours:.1f} h",
        (outlook.hours, now),
        xytext=(7, 5),
        textcoords="offset points",
        color=picture.RUBY,
        fontweight="bold",
    )
    axes.set_xlim(0, longest)
    axes.set_ylim(0, 104)
    axes.set_xlabel("hours of cutting")
    axes.set_ylabel("edges still good, %")
    return picture.svg(figure, title=f"How long a {outlook.kind} lasts", describes=describe(outlook))


def describe(outlook: Outlook) -> str:
    """The curve in words."""
    half = outlook.posterior.remaining(0.0, 0.5)
    if outlook.hours <= 0:
        now = "; this one has not cut yet"
    elif outlook.hours < 0.05:  # would be said as 0.0 h
        now = "; this one has hardly cut yet"
    else:
        at_now = outlook.posterior.survival(outlook.hours)
        now = f", and about {100 * at_now:.0f} in 100 after the {outlook.hours:.1f} h that this one has cut"
    return (
        f"Of fresh edges of this kind about half are still good after {half:.1f} h of cutting{now}. The band holds the "
        "curve with 80\u00a0% confidence."
    )
