"""The pages as they are read without a script: what stands on them, and what must not."""

from __future__ import annotations

import re
import threading
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser
from itertools import pairwise

import httpx
import pytest
from sqlalchemy import event

from fixtures.studio_for_pages import PagesStudio, play_take
from keysense.demo.performer import Playing
from keysense.studio.studio import Studio
from keysense.words import word
from keysense.words.table_child import FORBIDDEN


class Reader(HTMLParser):
    """The words of a page as a child sees it: nothing behind the fold, nothing under the music, no tables."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self._hidden: list[str] = []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        cls = dict(attributes).get("class") or ""
        behind = tag in ("details", "style", "script", "nav", "head") or "under" in cls.split()
        if tag in ("br", "input", "meta", "link", "path", "circle", "rect"):
            return
        if self._hidden or behind:
            self._hidden.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self._hidden and tag in self._hidden:
            while self._hidden.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        if not self._hidden and data.strip():
            self.words.append(data.strip())


def child_view(html: str) -> str:
    reader = Reader()
    reader.feed(html)
    return " ".join(reader.words)


def paths(furnished: PagesStudio) -> list[str]:
    pair = f"/beside/{furnished.sleepy}/{furnished.proud}"
    takes = [f"/take/{furnished.sleepy}", f"/take/{furnished.sleepy}?guess=end", f"/take/{furnished.proud}?guess=skip"]
    rest = ["/beside", "/weeks", f"/weeks/{furnished.odile}", "/pieces", f"/piece/{furnished.cat}"]
    rest += [f"/piece/{furnished.cat}/mark", "/character/sleepy", "/character", "/demo"]
    rest += [f"/{page}/{furnished.pip}" for page in ("overnight", "sight", "manners")]
    return ["/", *takes, f"/take/{furnished.unnamed}", pair, f"{pair}?guess=alike", *rest]


def test_a_child_reads_no_forbidden_word_on_any_page(client: httpx.Client, furnished: PagesStudio) -> None:
    for path in paths(furnished):
        seen = child_view(client.get(path).text).lower()
        assert len(seen) > 40, path
        for forbidden in FORBIDDEN:
            assert not re.search(rf"(?<![a-z]){re.escape(forbidden)}(?![a-z])", seen), (path, forbidden)


def test_a_child_reads_no_figure_of_what_was_heard(client: httpx.Client, furnished: PagesStudio) -> None:
    for path in paths(furnished)[1:8]:
        seen = child_view(client.get(path).text)
        for known in (r"= ?\d+", r"today, [\d.]+", r"bars? \d+( (and|to) \d+)?", r"(?<=[a-z]) \d \d+ ?(?=[a-z♩])"):
            seen = re.sub(known, "", seen)
        figures = [figure for figure in re.findall(r"\d+", seen) if int(figure) > 8]
        assert not figures, (path, figures)


def test_the_teacher_reads_the_findings_without_a_script(client: httpx.Client, furnished: PagesStudio) -> None:
    text = client.get(f"/take/{furnished.sleepy}?open=1").text
    assert '<details class="teacher" id="teacher" open>' in text
    assert "asked and heard" in text and "grew by" in text and "likely between" in text
    assert "The tune waited in bar" in text
    assert text.count('<div class="out">') + text.count("keeping the place") >= 3


def test_at_most_five_sentences_stand_before_more(client: httpx.Client, furnished: PagesStudio) -> None:
    for take in (furnished.sleepy, furnished.proud):
        folded = client.get(f"/take/{take}").text.split('id="teacher"')[1]
        assert 1 <= folded.split('id="name')[0].count('<div class="sign">') <= 5


def test_every_graph_has_words_and_every_finding_a_row(client: httpx.Client, furnished: PagesStudio) -> None:
    text = client.get(f"/take/{furnished.sleepy}?guess=skip").text
    drawn = re.findall(r"<svg[^>]*>", text)
    pictures = [tag for tag in drawn if 'aria-hidden="true"' not in tag and "definition-scale" not in tag]
    named = [tag for tag in pictures if 'role="img"' in tag and 'aria-label="' in tag]
    assert len(named) >= 8
    assert "<caption" in text and text.count("<tr>") > 10


def test_the_question_hides_the_shape_until_it_is_answered_or_skipped(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    asked = client.get(f"/take/{furnished.sleepy}").text
    answered = client.get(f"/take/{furnished.sleepy}?guess=end").text
    assert "Where did the tune grow?" in asked and 'class="shape"' not in asked
    assert 'class="sheet guessing"' in asked and "guessing" not in answered
    assert "You heard it grow towards the end." in answered and 'class="shape"' in answered
    assert "You heard" not in client.get(f"/take/{furnished.sleepy}?guess=skip").text
    assert "You heard" not in client.get(f"/take/{furnished.sleepy}?guess=<script>").text


def test_a_mark_stands_in_the_lane_and_the_engraving_is_untouched(client: httpx.Client, furnished: PagesStudio) -> None:
    text = client.get(f"/take/{furnished.sleepy}").text
    assert "another note sounded" in text and "the tune waited before this note" in text
    engraved = re.findall(r'<div class="engraved".*?</svg>\s*</div>', text, re.S)
    assert len(engraved) >= 6
    assert not [part for part in engraved if "thread" in part or "paper" in part]


def test_ids_are_unique_on_every_page(client: httpx.Client, furnished: PagesStudio) -> None:
    for path in paths(furnished):
        ids = re.findall(r'\sid="([^"]+)"', client.get(path).text)
        assert len(ids) == len(set(ids)), path


def test_two_characters_stand_side_by_side_with_outcome_words(client: httpx.Client, furnished: PagesStudio) -> None:
    text = client.get(f"/beside/{furnished.sleepy}/{furnished.proud}?guess=skip").text
    assert "<em>sleepy</em> and <em>proud</em>" in text
    assert "Proud was the quicker one" in text and "asked and heard" in text
    heights = set(re.findall(r'viewBox="0 0 1000 (\d+)" role="img" aria-label="(?:sleepy|proud): loudness', text))
    assert len(heights) == 1


def test_paper_under_two_characters_says_who_asked_and_what_came_in_each(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    pair = f"/beside/{furnished.sleepy}/{furnished.proud}?guess=skip"
    text = client.get(pair).text
    assert word("beside.paper.page") in text
    papers = text.split(word("beside.papers.open"))[1].split("</details>")[0]
    of_each = [part.split("</ul>")[0] for part in papers.split("<h3")[1:]]
    assert ["sleepy" in of_each[0], "proud" in of_each[1]] == [True, True]
    assert [part.count("<p>Bars 5 and 6, right hand") for part in of_each] == [1, 1]
    assert "asked and heard" in of_each[0] and "can’t tell" in of_each[1]


def test_what_one_character_alone_is_asked_lies_under_no_other(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    music = studio.target_of(furnished.cat).target
    own = [replace(mark, layer="sleepy") for mark in music.marks if mark.kind in ("crescendo", "diminuendo")]
    rest = [mark for mark in music.marks if mark.kind not in ("crescendo", "diminuendo")]
    studio.add_target(furnished.cat, replace(music, marks=(*rest, *own)))
    text = client.get(f"/beside/{furnished.sleepy}/{furnished.proud}?guess=skip").text
    sleepy, proud = (part.split("</section>")[0] for part in text.split('class="coatname')[1:])
    assert sleepy.count('class="paper"') == 4 and "paper" not in proud  # two hairpins, at two widths
    assert word("beside.paper") in text


@pytest.mark.parametrize(
    ("guess", "said"),
    [
        ("second", "You heard <em>proud</em>. I heard <em>proud</em> too."),
        ("first", "You heard <em>sleepy</em>. I heard <em>proud</em>. Shall we listen again?"),
        ("alike", "You heard them alike. I heard <em>proud</em>. Shall we listen again?"),
        ("skip", ""),
    ],
)
def test_the_guess_is_said_back_in_one_line_beside_what_was_heard(
    client: httpx.Client, furnished: PagesStudio, guess: str, said: str
) -> None:
    pair = f"/beside/{furnished.sleepy}/{furnished.proud}"
    asked = client.get(pair).text
    assert "Which one was louder?" in asked and 'class="row coat"' not in asked
    text = client.get(f"{pair}?guess={guess}").text
    assert said in text and 'class="row coat"' in text
    assert ("You heard" in text) == bool(said)


def test_the_latest_pair_is_found_by_itself(client: httpx.Client, furnished: PagesStudio) -> None:
    answer = client.get("/beside", follow_redirects=False)
    assert answer.headers["location"] == f"/beside/{furnished.sleepy[:12]}/{furnished.proud[:12]}"


def test_weeks_say_more_even_and_show_the_week_without_a_lesson(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    text = client.get(f"/weeks/{furnished.odile}").text
    assert re.search(r"<h2>(More even than in|About as before|Now here)", text)
    assert "likely between" in text and "Spread of the steps" in text
    lost = studio.takes(pupil=furnished.odile)[4]
    studio.drop_take(lost.id)
    text = client.get(f"/weeks/{furnished.odile}").text
    monday = lost.started_utc.date() - timedelta(days=lost.started_utc.weekday())
    day = f"{monday.day} {word(f'month.{monday.month}')}"
    assert f"A dash: not played, or no lesson, in the week of {day}." in text
    assert f"week of {day}: not played, or no lesson" in text and text.count("not played, or no lesson") >= 5


def test_the_weeks_can_be_looked_into_as_a_figure(client: httpx.Client, furnished: PagesStudio) -> None:
    figures = re.findall(r'data-figure="([^"]+)"', client.get(f"/weeks/{furnished.odile}").text)
    drawn = client.get(figures[0]).json()
    assert len(drawn["data"][0]["x"]) == 8 and drawn["data"][0]["error_y"]["array"]
    assert "plotly-basic" not in client.get(f"/weeks/{furnished.odile}").text
    assert client.get(f"/part/weeks/{furnished.odile}/99").status_code == 404


def test_a_pupil_without_weeks_is_told_what_to_follow(client: httpx.Client, studio: Studio) -> None:
    juno = studio.add_pupil("Juno", agreed_by="mother", on="2026-09-01")
    assert "warm-up" in client.get(f"/weeks/{juno.id}").text


def test_the_first_minute_of_an_empty_studio(client: httpx.Client) -> None:
    text = client.get("/").text
    assert "Plug the piano in." in text and "Refusing changes nothing in the lessons." in text
    done = client.post("/pupil", data={"nickname": "Juno", "agreed_by": "her mother", "agreed": "yes"})
    assert done.status_code == 200 and "Juno" in done.text and "Just play." in done.text


def test_without_agreement_nobody_is_added(client: httpx.Client, studio: Studio) -> None:
    answer = client.post("/pupil", data={"nickname": "Juno", "agreed_by": "her mother"})
    assert answer.status_code == 200 and "agreement" in answer.text
    assert studio.pupils() == []


def test_a_take_that_is_not_there_is_one_plain_sentence(client: httpx.Client, furnished: PagesStudio) -> None:
    answer = client.get("/take/ffffffff")
    assert answer.status_code == 404 and "no such take" in answer.text and "Traceback" not in answer.text
    assert client.get("/nowhere").status_code == 404


def test_names_from_people_are_only_text(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    piece = studio.add_piece('<img src=x onerror="alert(1)">')
    studio.name_take(furnished.unnamed, pupil=furnished.pip, piece=piece.id, character="<b>&")
    for path in ("/", f"/take/{furnished.unnamed}"):
        text = client.get(path).text
        assert "<img" not in text and "<b>" not in text


def test_a_lost_place_draws_the_thread_and_claims_nothing(client: httpx.Client, studio: Studio) -> None:
    furnished = furnish_lost(studio)
    text = client.get(f"/take/{furnished}?open=1").text
    assert "I lost the place" in text and "thread drawing" not in text and 'class="pic drawing"' in text
    assert "asked and heard" not in text and "grew by" not in text


def furnish_lost(studio: Studio) -> str:
    """A take named as a tune that it is not."""
    from fixtures.studio_for_pages import SCORES
    from keysense.targets import read_target

    pupil = studio.add_pupil("Wren", agreed_by="mother", on="2026-09-01")
    piece = studio.add_piece("Gate Posts")
    studio.add_target(piece.id, read_target(SCORES / "gate_posts.musicxml"))
    other = read_target(SCORES / "up_and_down_the_stairs.musicxml")
    take = play_take(studio, other, Playing(140, [(0, 60), (40, 60)], up=5), seed=2)
    studio.name_take(take, pupil=pupil.id, piece=piece.id)
    return take


@pytest.mark.parametrize("path", ["/", "/weeks", "/beside"])
def test_pages_of_an_empty_studio_open(client: httpx.Client, path: str) -> None:
    assert client.get(path).status_code == 200


@pytest.mark.parametrize("path", ["/", "/take/{}?guess=skip", "/studio", "/pieces"])
def test_a_page_is_read_as_one_moment(client: httpx.Client, studio: Studio, furnished: PagesStudio, path: str) -> None:
    client.get(path.format(furnished.sleepy))  # what was heard is kept at the first visit
    began: list[str] = []
    event.listen(studio._store.engine, "begin", lambda _: began.append(threading.current_thread().name))
    client.get(path.format(furnished.sleepy))
    assert len([name for name in began if "AnyIO" in name]) == 1  # the watcher, in a thread of its own, looks too


@pytest.mark.parametrize(
    "path", ["/take/{}", "/take/{}?guess=skip", "/shape/{}", "/beside/{}/{}", "/beside/{}/{}?guess=skip"]
)
def test_there_is_something_to_jump_to_under_the_title_and_no_level_is_left_out(
    client: httpx.Client, furnished: PagesStudio, path: str
) -> None:
    text = client.get(path.format(furnished.sleepy, furnished.proud)).text
    levels = [int(level) for level in re.findall(r"<h([1-6])\b", text)]
    assert levels[0] == 1 and levels.count(1) == 1 and 2 in levels
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert not re.search(r"<h[1-6][^>]*>\s*</h", text)
