"""Pictures follow the page's themes, obey the content policy, and say what they show."""

import re
from concurrent.futures import ThreadPoolExecutor
from xml.etree import ElementTree

import pytest

from shop import picture


def drawn(shift: float = 0.0, title: str = "Chance to finish") -> str:
    figure = picture.new_figure(80, 50)
    axes = figure.add_subplot()
    axes.fill_between([0, 10, 20], [1, 0.5, 0.1], [1, 0.7, 0.2], color=picture.WASH)
    axes.plot([0, 10, 20], [1 + shift, 0.6, 0.15], label="new <edge>")
    axes.scatter([5, 6], [0.5, 0.6], color=picture.RUBY)
    axes.set_xlabel("hours cut")
    axes.text(2, 0.2, "costs $5 and $6", weight="bold")
    return picture.svg(figure, title=title, describes="It falls from 100 % to 15 % at 20 hours.")


def test_has_no_style_and_colours_by_class() -> None:
    text = drawn()
    assert "style=" not in text
    assert "<style" not in text
    assert 'class="p-ink"' in text
    assert "f-wash" in text
    # the attribute stays beside the class, for paper
    assert re.search(r'stroke="#17120f"[^>]*class="p-ink"', text)


def test_every_colour_is_one_of_the_house() -> None:
    found = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]+)"', drawn()))
    assert found
    assert found <= {
        picture.INK,
        picture.QUIET,
        picture.EDGE,
        picture.RULE,
        picture.RUBY,
        picture.WASH,
        picture.SHEET,
    }


def test_is_named_and_described() -> None:
    root = ElementTree.fromstring(drawn(title="A <b> & c"))
    assert root.get("role") == "img"
    spoken = {e.get("id"): e.text for e in root if e.tag.endswith(("title", "desc"))}
    assert spoken[root.get("aria-labelledby")] == "A <b> & c"
    assert spoken[root.get("aria-describedby")] == "It falls from 100 % to 15 % at 20 hours."


def test_words_stay_words() -> None:
    texts = [e.text for e in ElementTree.fromstring(drawn()).iter() if e.tag.endswith("}text")]
    assert "hours cut" in texts
    assert "costs $5 and $6" in texts


def test_ids_are_its_own_and_all_references_resolve() -> None:
    one, other = drawn(), drawn(shift=-0.1)
    ids, others = (set(re.findall(r' id="([^"]+)"', text)) for text in (one, other))
    assert ids.isdisjoint(others)
    for text, known in ((one, ids), (other, others)):
        named = set(re.findall(r"url\(#([^)]+)\)", text)) | set(re.findall(r'href="#([^"]+)"', text))
        assert named
        assert named <= known


def test_same_picture_is_same_text_from_many_threads() -> None:
    with ThreadPoolExecutor(4) as threads:
        texts = list(threads.map(lambda _: drawn(), range(12)))
    assert len(set(texts)) == 1


def test_keeps_the_size_asked_for() -> None:
    root = ElementTree.fromstring(drawn())
    assert (root.get("width"), root.get("height")) == ("80mm", "50mm")


@pytest.mark.parametrize("size", [(0, 50), (100, 5000), (float("nan"), 50)])
def test_refuses_a_senseless_size(size: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="must be between 10 and 1000"):
        picture.new_figure(*size)


def test_refuses_a_picture_without_words() -> None:
    with pytest.raises(ValueError, match="what the picture shows"):
        picture.svg(picture.new_figure(), title="Gauge", describes=" ")
