"""Pure calculations: plain numbers and frozen dataclasses in and out. No Django, no clock, no files.

Units are in the names (`gauge_bar`, `width_um`). Bad input raises ValueError naming the argument and the range it
may have; nothing returns NaN. NumPy, SciPy, CoolProp and pint load inside the function that first needs them.
"""
