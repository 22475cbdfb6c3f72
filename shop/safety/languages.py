"""Languages of sheets, by their tags."""

import re

from django.utils.translation import get_language_info

from shop.refusal import Refused

#: What sheets need of BCP 47 (RFC 5646, 2.1): language, script, region.
_TAG = re.compile(r"(?P<language>[a-z]{2,3})(?:-(?P<script>[a-z]{4}))?(?:-(?P<region>[a-z]{2}|\d{3}))?", re.IGNORECASE)


def checked_language(tag: str) -> str:
    """A tag in its usual letters (RFC 5646, 2.1.1): "pt-br" gives "pt-BR". Refused for what is none."""
    found = _TAG.fullmatch(tag.strip().replace("_", "-"))
    if found is None:
        raise Refused("Give the language by its tag, such as en, de, pt-BR or zh-Hant.", field="language")
    parts = [found["language"].lower(), (found["script"] or "").capitalize(), (found["region"] or "").upper()]
    return "-".join(part for part in parts if part)


def language_name(tag: str) -> str:
    """What a language is called in English; its tag, where no name is known."""
    try:
        return str(get_language_info(tag.lower())["name"])
    except KeyError:
        return tag
