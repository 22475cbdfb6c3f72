"""Pictures of silent-groove noise: where it is going, and whether it jumped."""

from django.utils.safestring import SafeString

from shop import picture
from shop.cutting.noise import LEVEL, Noise
from shop.cutting.wording import level_words

_STEPS = 60


def trend_picture(noise: Noise, mark: str) -> SafeString:
    """Each level over the hours cut, the line through them with what one more may be, and the shop's limit."""
    figure = picture.new_figure(110, 62)
    axes = figure.add_subplot()
    hours, heard = [one.hours for one in noise.levels], [one.db for one in noise.levels]
    longest = max(hours[-1], noise.hours, 1.0)
    if noise.crossing is not None:
        ahead = [when for when in (noise.crossing.expected, noise.crossing.soonest) if when is not None]
        longest = max(longest * 1.25, min(noise.hours + max(ahead, default=0.0) * 1.1, 3 * longest))
        places = [hours[0] + (longest - hours[0]) * place / _STEPS for place in range(_STEPS + 1)]
        bands = [noise.crossing.line.prediction(place, LEVEL) for place in places]
        axes.fill_between(places, [band.low for band in bands], [band.high for band in bands], color=picture.WASH)
        axes.plot(places, [band.middle for band in bands], color=picture.INK, linestyle="-", linewidth=1.4)
    axes.plot(hours, heard, color=picture.INK, linestyle="", marker="o", markersize=4)
    if noise.limit_db is not None:
        picture.line_across(axes, noise.limit_db, "the shop's limit", at_left=True)
    axes.set_xlim(0, longest)
    axes.set_xlabel("hours of cutting")
    axes.set_ylabel("silent groove, dB")
    return picture.svg(figure, title=f"Silent-groove noise of {mark}", describes=trend_words(noise))


def trend_words(noise: Noise) -> str:
    """Where the levels are going, in words."""
    last = noise.levels[-1]
    count = len(noise.levels)
    words = f"{count} level{'' if count == 1 else 's'}; the last is {level_words(last.db)}, after {last.hours:.1f} h."
    if noise.limit_db is None:
        return f"{words} The shop has set no limit to hold them against."
    if noise.is_over:
        return f"{words} That is above the shop's own limit of {level_words(noise.limit_db)}."
    if noise.crossing is None:
        return f"{words} Too few yet to say where they are going."
    found = noise.crossing
    if found.soonest is None:
        return f"{words} By their trend they do not reach the shop's own limit of {level_words(noise.limit_db)}."
    expected = "not soon" if found.expected is None else f"in about {found.expected:.1f} h of cutting"
    return (
        f"{words} By their trend they reach the shop's own limit of {level_words(noise.limit_db)} {expected}; one "
        f"groove in ten may lie above it {'now' if found.soonest < 0.05 else f'in {found.soonest:.1f} h'}."
    )


def chart_picture(noise: Noise, mark: str) -> SafeString:
    """The EWMA chart: smoothed, how far each level lay from the trend of those before it, with its limits."""
    figure = picture.new_figure(110, 50)
    axes = figure.add_subplot()
    hours = [one.hours for one in noise.levels[noise.first :]]
    places = list(range(len(hours)))
    axes.plot(places, [point.high for point in noise.chart], color=picture.EDGE, linestyle="--", linewidth=1)
    axes.plot(places, [point.low for point in noise.chart], color=picture.EDGE, linestyle="--", linewidth=1)
    axes.plot(
        places, [point.ewma for point in noise.chart], color=picture.INK, linestyle="-", marker="o", markersize=3.4
    )
    out = [(place, point.ewma) for place, point in enumerate(noise.chart) if point.out]
    axes.plot(
        [place for place, _ in out],
        [value for _, value in out],
        color=picture.RUBY,
        linestyle="",
        marker="s",
        markersize=6,
    )
    every = max(1, -(-len(hours) // 6))
    axes.set_xticks(places[::every], [f"{at:.1f} h" for at in hours[::every]])
    axes.grid(visible=False, axis="x")
    axes.set_ylabel("sd from the trend")
    return picture.svg(figure, title=f"Sudden changes in the noise of {mark}", describes=chart_words(noise))


def chart_words(noise: Noise) -> str:
    """Whether the chart shows a sudden change, in words."""
    outside = [noise.levels[noise.first + place] for place, point in enumerate(noise.chart) if point.out]
    if not outside:
        return "No level strays from the trend of those before it by more than chance would have it."
    if noise.has_jumped:
        return f"The last level, after {noise.levels[-1].hours:.1f} h, is out: the groove grew noisier all at once."
    return f"{len(outside)} of {len(noise.chart)} points are out, the last of them after {outside[-1].hours:.1f} h."
