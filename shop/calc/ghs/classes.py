"""Hazard classes and their categories, each with its H statements, signal word and pictograms.

Source: UN GHS, revision 8 (2019), annex 1; CLP, annex I, parts 2 to 5. Categories that the UN has and CLP has not are
marked `un_only`. Explosives are as both had them up to then: revision 9 of the UN GHS orders them anew.
"""

from dataclasses import dataclass

from shop.calc.ghs.signal import DANGER, WARNING


@dataclass(frozen=True)
class Category:
    """One category of a class. h_codes: the statements a line of it may carry; signal: "" for none."""

    name: str
    h_codes: tuple[str, ...]
    signal: str
    pictograms: tuple[str, ...]
    un_only: bool = False


@dataclass(frozen=True)
class HazardClass:
    """kind: "physical", "health" or "environment"; categories: the gravest first."""

    slug: str
    name: str
    kind: str
    categories: tuple[Category, ...]


def _c(name: str, codes: str, signal: str, pictograms: str = "", *, un_only: bool = False) -> Category:
    return Category(name, tuple(codes.split()), signal, tuple(f"GHS{one}" for one in pictograms.split()), un_only)


def _same(names: str, codes: str, signal: str, pictograms: str, *, un_only: bool = False) -> tuple[Category, ...]:
    """Several categories that are labelled alike."""
    return tuple(_c(name, codes, signal, pictograms, un_only=un_only) for name in names.split())


_TYPES = (
    _c("Type A", "H240", DANGER, "01"),
    _c("Type B", "H241", DANGER, "01 02"),
    _c("Type C", "H242", DANGER, "02"),
    _c("Type D", "H242", DANGER, "02"),
    _c("Type E", "H242", WARNING, "02"),
    _c("Type F", "H242", WARNING, "02"),
    _c("Type G", "", ""),
)
_OXIDISING = (
    _c("1", "H271", DANGER, "03"),
    _c("2", "H272", DANGER, "03"),
    _c("3", "H272", WARNING, "03"),
)
_PYROPHORIC = (_c("1", "H250", DANGER, "02"),)


def _acute(fatal: str, toxic: str, harmful: str, maybe: str) -> tuple[Category, ...]:
    return (
        *_same("1 2", fatal, DANGER, "06"),
        _c("3", toxic, DANGER, "06"),
        _c("4", harmful, WARNING, "07"),
        _c("5", maybe, WARNING, un_only=True),
    )


CLASSES: dict[str, HazardClass] = {
    one.slug: one
    for one in (
        HazardClass(
            "explosive",
            "Explosive",
            "physical",
            (
                _c("Unstable", "H200", DANGER, "01"),
                _c("Div 1.1", "H201", DANGER, "01"),
                _c("Div 1.2", "H202", DANGER, "01"),
                _c("Div 1.3", "H203", DANGER, "01"),
                _c("Div 1.5", "H205", DANGER),
                _c("Div 1.4", "H204", WARNING, "01"),
                _c("Div 1.6", "", ""),
            ),
        ),
        HazardClass(
            "flammable-gas",
            "Flammable gas",
            "physical",
            (
                _c("1A", "H220", DANGER, "02"),
                _c("1A pyrophoric", "H220 H232", DANGER, "02"),
                _c("1A unstable A", "H220 H230", DANGER, "02"),
                _c("1A unstable B", "H220 H231", DANGER, "02"),
                _c("1B", "H221", DANGER, "02"),
                _c("2", "H221", WARNING),
            ),
        ),
        HazardClass(
            "aerosol",
            "Aerosol",
            "physical",
            (
                _c("1", "H222 H229", DANGER, "02"),
                _c("2", "H223 H229", WARNING, "02"),
                _c("3", "H229", WARNING),
            ),
        ),
        HazardClass(
            "chemical-under-pressure",
            "Chemical under pressure",
            "physical",
            (
                _c("1", "H282", DANGER, "02 04", un_only=True),
                _c("2", "H283", WARNING, "02 04", un_only=True),
                _c("3", "H284", WARNING, "04", un_only=True),
            ),
        ),
        HazardClass("oxidising-gas", "Oxidising gas", "physical", (_c("1", "H270", DANGER, "03"),)),
        HazardClass(
            "gas-under-pressure",
            "Gas under pressure",
            "physical",
            (
                _c("Compressed gas", "H280", WARNING, "04"),
                _c("Liquefied gas", "H280", WARNING, "04"),
                _c("Dissolved gas", "H280", WARNING, "04"),
                _c("Refrigerated liquefied gas", "H281", WARNING, "04"),
            ),
        ),
        HazardClass(
            "flammable-liquid",
            "Flammable liquid",
            "physical",
            (
                _c("1", "H224", DANGER, "02"),
                _c("2", "H225", DANGER, "02"),
                _c("3", "H226", WARNING, "02"),
                _c("4", "H227", WARNING, un_only=True),
            ),
        ),
        HazardClass(
            "flammable-solid",
            "Flammable solid",
            "physical",
            (_c("1", "H228", DANGER, "02"), _c("2", "H228", WARNING, "02")),
        ),
        HazardClass("self-reactive", "Self-reactive", "physical", _TYPES),
        HazardClass("pyrophoric-liquid", "Pyrophoric liquid", "physical", _PYROPHORIC),
        HazardClass("pyrophoric-solid", "Pyrophoric solid", "physical", _PYROPHORIC),
        HazardClass(
            "self-heating",
            "Self-heating",
            "physical",
            (_c("1", "H251", DANGER, "02"), _c("2", "H252", WARNING, "02")),
        ),
        HazardClass(
            "water-reactive",
            "In contact with water emits flammable gas",
            "physical",
            (
                _c("1", "H260", DANGER, "02"),
                _c("2", "H261", DANGER, "02"),
                _c("3", "H261", WARNING, "02"),
            ),
        ),
        HazardClass("oxidising-liquid", "Oxidising liquid", "physical", _OXIDISING),
        HazardClass("oxidising-solid", "Oxidising solid", "physical", _OXIDISING),
        HazardClass("organic-peroxide", "Organic peroxide", "physical", _TYPES),
        HazardClass("corrosive-to-metals", "Corrosive to metals", "physical", (_c("1", "H290", WARNING, "05"),)),
        HazardClass(
            "desensitised-explosive",
            "Desensitised explosive",
            "physical",
            (
                _c("1", "H206", DANGER, "02"),
                _c("2", "H207", DANGER, "02"),
                _c("3", "H207", WARNING, "02"),
                _c("4", "H208", WARNING, "02"),
            ),
        ),
        HazardClass("acute-oral", "Acute toxicity, swallowed", "health", _acute("H300", "H301", "H302", "H303")),
        HazardClass("acute-skin", "Acute toxicity, through the skin", "health", _acute("H310", "H311", "H312", "H313")),
        HazardClass("acute-inhaled", "Acute toxicity, inhaled", "health", _acute("H330", "H331", "H332", "H333")),
        HazardClass(
            "skin",
            "Skin corrosion or irritation",
            "health",
            (
                *_same("1 1A 1B 1C", "H314", DANGER, "05"),
                _c("2", "H315", WARNING, "07"),
                _c("3", "H316", WARNING, un_only=True),
            ),
        ),
        HazardClass(
            "eyes",
            "Serious eye damage or eye irritation",
            "health",
            (
                _c("1", "H318", DANGER, "05"),
                _c("2", "H319", WARNING, "07"),
                _c("2A", "H319", WARNING, "07", un_only=True),
                _c("2B", "H320", WARNING, un_only=True),
            ),
        ),
        HazardClass(
            "respiratory-sensitiser", "Respiratory sensitiser", "health", _same("1 1A 1B", "H334", DANGER, "08")
        ),
        HazardClass("skin-sensitiser", "Skin sensitiser", "health", _same("1 1A 1B", "H317", WARNING, "07")),
        HazardClass(
            "mutagen",
            "Germ cell mutagen",
            "health",
            (*_same("1A 1B 1", "H340", DANGER, "08"), _c("2", "H341", WARNING, "08")),
        ),
        HazardClass(
            "carcinogen",
            "Carcinogen",
            "health",
            (*_same("1A 1B 1", "H350 H350i", DANGER, "08"), _c("2", "H351", WARNING, "08")),
        ),
        HazardClass(
            "reproductive",
            "Toxic to reproduction",
            "health",
            (
                *_same("1A 1B 1", "H360 H360F H360D H360FD H360Fd H360Df", DANGER, "08"),
                _c("2", "H361 H361f H361d H361fd", WARNING, "08"),
            ),
        ),
        HazardClass("lactation", "Effects on or through breast milk", "health", (_c("", "H362", ""),)),
        HazardClass(
            "target-organ-once",
            "Specific target organs, single exposure (STOT SE)",
            "health",
            (
                _c("1", "H370", DANGER, "08"),
                _c("2", "H371", WARNING, "08"),
                _c("3", "H335 H336", WARNING, "07"),
            ),
        ),
        HazardClass(
            "target-organ-repeated",
            "Specific target organs, repeated exposure (STOT RE)",
            "health",
            (_c("1", "H372", DANGER, "08"), _c("2", "H373", WARNING, "08")),
        ),
        HazardClass(
            "aspiration",
            "Aspiration hazard",
            "health",
            (_c("1", "H304", DANGER, "08"), _c("2", "H305", WARNING, "08", un_only=True)),
        ),
        HazardClass(
            "aquatic-acute",
            "Hazardous to water life, short-term",
            "environment",
            (
                _c("1", "H400", WARNING, "09"),
                _c("2", "H401", "", un_only=True),
                _c("3", "H402", "", un_only=True),
            ),
        ),
        HazardClass(
            "aquatic-chronic",
            "Hazardous to water life, long-term",
            "environment",
            (
                _c("1", "H410", WARNING, "09"),
                _c("2", "H411", "", "09"),
                _c("3", "H412", ""),
                _c("4", "H413", ""),
            ),
        ),
        HazardClass("ozone", "Hazardous to the ozone layer", "environment", (_c("1", "H420", WARNING, "07"),)),
    )
}


def category(hazard_class: str, name: str) -> Category:
    """A category of a class by its slug and name. ValueError for a class or category that the GHS does not have."""
    if hazard_class not in CLASSES:
        raise ValueError(f"hazard_class must be a class of the GHS, not {hazard_class[:40]!r}.")
    for one in CLASSES[hazard_class].categories:
        if one.name.casefold() == name.strip().casefold():
            return one
    names = ", ".join(one.name for one in CLASSES[hazard_class].categories if one.name)
    raise ValueError(f"category of {CLASSES[hazard_class].name} must be one of {names}, not {name[:24]!r}.")


def classes_of(h_code: str) -> list[tuple[HazardClass, Category]]:
    """Every class and category that has this H statement."""
    return [(one, each) for one in CLASSES.values() for each in one.categories if h_code in each.h_codes]
