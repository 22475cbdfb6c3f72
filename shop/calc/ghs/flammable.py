"""The category of a flammable liquid, from its flash and boiling points."""

from shop.calc.bounds import number


def flammable_liquid_category(flash_c: float, boiling_c: float) -> str:
    """ "1" to "4", or "" for a liquid that is none. °C; the flash point by a closed cup test.

    1: flash below 23 and boiling at 35 or below; 2: flash below 23, boiling above 35; 3: flash 23 to 60; 4: above 60 to
    93. Source: UN GHS, table 2.6.1; 29 CFR 1910.1200, appendix B.6. CLP has no category 4. ValueError outside -273.15
    to 1000 °C.
    """
    flash = number("flash_c", flash_c, at_least=-273.15, at_most=1000.0)
    boiling = number("boiling_c", boiling_c, at_least=-273.15, at_most=1000.0)
    if flash < 23.0:
        return "1" if boiling <= 35.0 else "2"
    return "3" if flash <= 60.0 else "4" if flash <= 93.0 else ""
