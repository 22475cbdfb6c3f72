"""Running a tool the way a person would, and failing with what it said."""

from tests.processes import environment, run_here


def passes(*words: str, **variables: str) -> None:
    """`python -m <words>` in the project's folder ends well."""
    run_here(["-m", *words], environment(**variables))
