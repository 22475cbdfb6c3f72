"""The nine pictograms. UN GHS, annex 1 and section 1.4.10.4; CLP, annex V. Their drawings are shop/static/shop/ghs/."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Pictogram:
    """code: "GHS02"; symbol: what the GHS calls what is on it; means: what it stands for, in our words."""

    code: str
    symbol: str
    means: str


PICTOGRAMS: dict[str, Pictogram] = {
    one.code: one
    for one in (
        Pictogram("GHS01", "Exploding bomb", "may explode"),
        Pictogram("GHS02", "Flame", "catches fire"),
        Pictogram("GHS03", "Flame over circle", "feeds a fire"),
        Pictogram("GHS04", "Gas cylinder", "gas under pressure"),
        Pictogram("GHS05", "Corrosion", "eats skin, eyes or metal"),
        Pictogram("GHS06", "Skull and crossbones", "poisonous"),
        Pictogram("GHS07", "Exclamation mark", "irritates or harms"),
        Pictogram("GHS08", "Health hazard", "lasting harm to health"),
        Pictogram("GHS09", "Environment", "harms life in water"),
    )
}
