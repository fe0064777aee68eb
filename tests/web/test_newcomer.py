"""A newcomer's path: from the first page to two characters side by side, every word on the way said in other words."""

from __future__ import annotations

from html.parser import HTMLParser

import httpx

from fixtures.studio_for_pages import PagesStudio
from keysense.words import word
from keysense.words.choosing import OUTCOMES

# words of every day, and names given by the teacher: nobody asks what they mean
EVERY_DAY = set(
    """|now|still open|and next|just played|for home|music|the register|your line|over the weeks|hear it again|your
ears first|one thing to try|in other words|how long each took|how they moved|the lesson|what you say|keeping
the place|how it moved|the rest|over many takes|another name|your remarks|your pianos|while it is played|to
pass on|split or join|where it was played|asked on the page|what was played|the pace in
words""".replace("\n", " ").split("|")
)
NAMES = {"sleepy", "proud", "sleepy beside proud", "asked: sleepy"}


class Words(HTMLParser):
    """What a reader meets first: names beside the rows, links, outcome words, leads; and what is told of them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.met: list[str] = []
        self.told: dict[str, str] = {}
        self.links: list[tuple[str, str]] = []
        self._in: list[tuple[str, str]] = []
        self._said = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        cls = given.get("class") or ""
        kind = "met" if cls.split()[:1] in (["name"], ["out"]) or tag == "strong" else tag
        if kind in ("met", "dt", "dd", "a"):
            self._in.append((tag, kind))
            self._said = ""
            self._href = given.get("href") or ""

    def handle_data(self, data: str) -> None:
        self._said += data

    def handle_endtag(self, tag: str) -> None:
        if not self._in or self._in[-1][0] != tag:
            return
        _, kind = self._in.pop()
        said = " ".join(self._said.split())
        if kind == "met":
            self.met.append(said.rstrip(":"))
        elif kind == "dt":
            self._term = said
        elif kind == "dd":
            self.told[self._term] = said
        elif kind == "a":
            self.links.append((said, self._href))


def unexplained(page: Words) -> set[str]:
    """Words met on a page that it does not explain."""
    return {
        said for said in page.met if said not in EVERY_DAY | NAMES and said not in page.told and said[-1] not in ".?"
    }


def test_from_the_first_page_to_two_characters_every_word_is_explained_where_it_stands(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    first = Words(client.get("/").text)
    assert unexplained(first) == set()
    for said, href in first.links:  # the names of the pages themselves
        if href in ("/beside", "/weeks", "/studio", "/pieces"):
            assert said in first.told, said
    (asking,) = [href for said, href in first.links if href.startswith("/beside/")]
    question = client.get(asking)
    assert word("pair.ask") in question.text
    assert unexplained(Words(question.text)) == set()
    answer = client.post(f"{asking}/guess", data={"guess": "second"})
    page = Words(answer.text)
    assert unexplained(page) == set()
    # the signs and the outcome words behind the fold, the two things that are drawn, and the table's own words
    outcomes = [said for said in page.met if said in {word(f"outcome.{one}") for one in OUTCOMES}]
    assert len(set(outcomes)) >= 2 and all(page.told[said].endswith((".", "?")) for said in outcomes)
    assert word("beside.paper") in answer.text and word("beside.scale") in answer.text
    assert {"spindle", "likely between", "phrase", "take", "two characters"} <= set(page.told)


def test_the_words_of_a_take_are_explained_on_its_page(client: httpx.Client, furnished: PagesStudio) -> None:
    for way in ("", "?guess=end"):
        page = Words(client.get(f"/take/{furnished.sleepy}{way}").text)
        assert unexplained(page) == set() and {"take", "shape", "wish", "for the teacher"} <= set(page.told)
