"""A newcomer's path: from the first page to two characters side by side, every word on the way said in other words."""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser

import httpx
import pytest

from fixtures.serving import served
from keysense.demo.telling import tell
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from keysense.words import word
from keysense.words.choosing import OUTCOMES

# words of every day, and names given by the teacher: nobody asks what they mean
EVERY_DAY = set(
    """|now|still open|and next|just played|for home|music|the register|your line|over the weeks|hear it again|your
ears first|one thing to try|in other words|how long each took|how they moved|the lesson|what you say|keeping
the place|how it moved|the rest|over many takes|another name|your remarks|your pianos|while it is played|to
pass on|split or join|where it was played|asked on the page|what was played|the pace in
words|play the tune in yourself|on the shelf|nothing is waiting|a lesson elsewhere|a question is open|while it was
played|what we listened for|to enjoy at home|signed|what we made|where|one way to work|a wish|a question|The
weeks|two minutes|others today|where the tune waited|the cards|over all pupils|caught again and again|bring it
home|how it may be played|the file|what is wished|growing and fading|kept|agreed|how much|copy and erase|what was
said|papers|one pupil|found|what you wrote|and now|further|nickname""".replace("\n", " ").split("|")
)
TITLES, PUPILS = ("Up and Down the Stairs", "The Miller’s Cat", "Three Doors"), ("Juno", "Marek", "Odile", "Pip")
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
    known = EVERY_DAY | NAMES | set(page.told) | {f"{term}s" for term in page.told}
    named = (*TITLES, *(f"{pupil} writes" for pupil in PUPILS))
    return {said for said in page.met if said not in known and said[-1] not in ".?" and not said.startswith(named)}


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    """The pages of the very studio that the demo makes; it takes seconds, since every lesson is played and heard."""
    with Studio.open(tmp_path_factory.mktemp("demo") / "studio") as studio:
        tell(studio, lambda line: None)
        studio.remember("demo", {"alone": True})
        with served(create_app(studio)) as address, httpx.Client(base_url=address, follow_redirects=True) as client:
            yield client


def test_from_the_first_page_to_two_characters_every_word_is_explained_where_it_stands(demo: httpx.Client) -> None:
    first = Words(demo.get("/").text)
    assert unexplained(first) == set()
    for said, href in first.links:  # the names of the pages themselves
        if href in ("/beside", "/weeks", "/studio", "/pieces"):
            assert said in first.told, said
    (asking,) = [href for said, href in first.links if href.startswith("/beside/")]
    question = demo.get(asking)
    assert word("pair.ask") in question.text
    assert unexplained(Words(question.text)) == set()
    answer = demo.post(f"{asking}/guess", data={"guess": "second"})
    page = Words(answer.text)
    assert unexplained(page) == set()
    # the signs and the outcome words behind the fold, the two things that are drawn, and the table's own words
    outcomes = [said for said in page.met if said in {word(f"outcome.{one}") for one in OUTCOMES}]
    assert len(set(outcomes)) >= 2 and all(page.told[said].endswith((".", "?")) for said in outcomes)
    assert word("beside.paper") in answer.text and word("beside.scale") in answer.text
    assert {"spindle", "likely between", "phrase", "take", "two characters"} <= set(page.told)


def test_every_take_of_the_demo_is_explained_on_its_page(demo: httpx.Client) -> None:
    takes = sorted({href for _, href in Words(demo.get("/").text).links if href.startswith("/take/")})
    assert len(takes) >= 8
    for take in takes:
        for way in ("", "?guess=end"):
            page = Words(demo.get(take + way).text)
            assert unexplained(page) == set(), take
            assert "for the teacher" in page.told, take


@pytest.mark.parametrize("start", ["/weeks", "/studio", "/pieces"])
def test_every_page_that_the_demo_leads_to_opens_and_explains_its_words(demo: httpx.Client, start: str) -> None:
    roads = {href for _, href in Words(demo.get(start).text).links if href.startswith("/")} - {start}
    for road in sorted(roads - {"/", "/beside", "/weeks", "/studio", "/pieces"}):
        answer = demo.get(road)
        assert answer.status_code == 200 and "made up" in answer.text, road
        assert unexplained(Words(answer.text)) == set(), road
