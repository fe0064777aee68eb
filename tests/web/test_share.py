"""The child's share on the pages: guesses kept and drawn, lines drawn before playing, remarks, words of their own."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import httpx
import pytest

from fixtures.studio_for_pages import PROUD, SCORES, SLEEPY, PagesStudio, play_take
from keysense.demo.performer import Playing, perform
from keysense.messages import normalise
from keysense.notes import TakeMeta
from keysense.smf import take_to_smf
from keysense.studio.studio import Studio
from keysense.targets import read_target
from keysense.words import word
from tests.web.test_pages import child_view

HILL = [8, 8, 8, 8, 8, 8, 8, 8, 10, 12, 16, 20, 16, 12, 8, 6]


def draw(client: httpx.Client, there: PagesStudio, heights: list[int], character: str = "sleepy") -> httpx.Response:
    fields = {"pupil": there.pip, "piece": there.cat, "character": character, "part": "0", "h": heights}
    return client.post("/draw", data=fields)


def again(studio: Studio, there: PagesStudio) -> str:
    """Pip plays the sleepy cat once more, after everything else."""
    music = read_target(SCORES / "millers_cat_marked.musicxml")
    take = play_take(studio, music, SLEEPY, seed=77, ago=-timedelta(minutes=1))
    studio.name_take(take, pupil=there.pip, piece=there.cat, character="sleepy")
    return take


def test_a_guess_is_kept_and_the_picture_opens(client: httpx.Client, furnished: PagesStudio, studio: Studio) -> None:
    opened = client.post(f"/take/{furnished.sleepy}/guess", data={"guess": "end"})
    assert opened.url.path == f"/take/{furnished.sleepy}" and 'class="shape"' in opened.text
    assert studio.guessed(furnished.sleepy, "grow") == "end"
    assert "Where did the tune grow?" not in client.get(f"/take/{furnished.sleepy}").text  # asked once
    assert "You heard it grow towards the end. I heard that too." in opened.text
    assert 'class="ears"' not in opened.text  # nothing to lay beside


def test_a_guess_that_differs_is_drawn_beside_what_was_heard_and_nothing_counts(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    text = client.get(f"/take/{furnished.sleepy}?guess=same").text
    assert "You heard it stay the same. I heard it grow in the middle. Shall we listen again?" in text
    pictures = re.search(r'<div class="ears">.*?</div>', text, re.S)
    assert pictures and pictures[0].count("<figure>") == 2 and "what you heard" in pictures[0]
    assert not re.search(r"\d", re.sub(r"<[^>]*>", "", pictures[0]))


def test_a_pair_keeps_its_own_guess(client: httpx.Client, furnished: PagesStudio, studio: Studio) -> None:
    pair = f"/beside/{furnished.sleepy}/{furnished.proud}"
    text = client.post(f"{pair}/guess", data={"guess": "first"}).text
    assert "Shall we listen again?" in text and text.count("<figure>") == 2
    assert studio.guessed(furnished.sleepy, "louder", beside=furnished.proud) == "first"
    assert "Which one was louder?" not in client.get(pair).text


def test_another_take_of_the_lesson_is_not_asked_about_again(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    client.post(f"/take/{furnished.sleepy}/guess", data={"guess": "end"})
    other = again(studio, furnished)
    assert "Where did the tune grow?" not in client.get(f"/take/{other}").text


@pytest.mark.parametrize("choice", ["", "skip", "<script>", "first"])
def test_what_is_no_guess_is_not_kept(
    client: httpx.Client, furnished: PagesStudio, studio: Studio, choice: str
) -> None:
    assert client.post(f"/take/{furnished.sleepy}/guess", data={"guess": choice}).status_code == 200
    assert studio.guessed(furnished.sleepy, "grow") is None


def test_a_line_is_drawn_then_played_and_laid_under_the_thread(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    room = client.get(f"/draw/{furnished.pip}/{furnished.cat}?character=sleepy").text
    assert room.count('type="range"') == 16 and room.count('class="engraved"') >= 6
    assert room.count('aria-valuetext="between soft and loud"') == 16
    kept = draw(client, furnished, HILL)
    assert "Your line is kept. Now play it." in kept.text
    assert 'class="paper"' in client.get(f"/draw/{furnished.pip}/{furnished.cat}?character=sleepy").text
    take = again(studio, furnished)
    text = client.get(f"/take/{take}?guess=skip").text
    shape = re.search(r'<section class="shape".*?</section>', text, re.S)
    assert shape and shape[0].count('class="drawnline"') >= 2
    assert "It grew where you drew it growing: bars" in text and "The paper is the line you drew." in text
    assert "Your line and what was played, bar by bar" in text
    before = client.get(f"/take/{furnished.sleepy}?guess=skip").text
    assert "drawnline" not in before  # it was played before the line was drawn
    shown = client.get(f"/shape/{take}").text
    assert "drawnline" in shown


def test_a_drawn_line_is_taken_away(client: httpx.Client, furnished: PagesStudio, studio: Studio) -> None:
    draw(client, furnished, HILL)
    take = again(studio, furnished)
    wish = studio.drawn_wish(studio.take(take))
    assert wish is not None
    text = client.post(f"/draw/{wish.id}/rub", data={"back": f"/take/{take}"}).text
    assert "The line is taken away." in text and "drawnline" not in text


@pytest.mark.parametrize("heights", [[], [3], [3, 99], ["x", "y"], [3, -1]])
def test_a_line_that_is_none_is_refused_in_words(
    client: httpx.Client, furnished: PagesStudio, heights: list[object]
) -> None:
    answer = draw(client, furnished, heights)  # type: ignore[arg-type]
    assert answer.status_code == 200 and "draw it once more" in answer.text


def test_a_piece_without_music_says_so(client: httpx.Client, furnished: PagesStudio, studio: Studio) -> None:
    bare = studio.add_piece("Snail at the Gate").id
    assert "There is no music of this piece to draw on yet." in client.get(f"/draw/{furnished.pip}/{bare}").text
    assert client.get("/draw/nobody/nothing").status_code == 404


def test_remarks_of_both_are_kept_changed_and_taken_away(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    at = f"/take/{furnished.sleepy}"
    client.post(f"{at}/remark", data={"by": "pupil", "said": "The cat fell asleep in bar 8."})
    hers = {"by": "teacher", "said": "shoulder rises <b>", "guess": "skip"}
    text = client.post(f"{at}/remark", data=hers).text
    open_view, folded = text.split('id="teacher"')
    assert "The cat fell asleep in bar 8." in open_view and "shoulder rises &lt;b&gt;" in folded
    assert open_view.count(word("remark.more")) == folded.count(word("remark.more")) == 1  # a second one is folded
    assert "shoulder" not in open_view and "write what helps, not the diagnosis" in folded
    assert "local safeguarding rules" in folded
    [kept] = studio.remarks(furnished.sleepy, by="pupil")
    client.post(f"{at}/remark", data={"by": "pupil", "remark": kept.id, "said": "It woke up."})
    assert "It woke up." in client.get(f"{at}?guess=skip").text
    client.post(f"{at}/remark", data={"by": "pupil", "remark": kept.id, "said": "It woke up.", "away": "1"})
    assert studio.remarks(furnished.sleepy, by="pupil") == []


def test_what_is_kept_leaves_the_page_as_it_was(client: httpx.Client, furnished: PagesStudio) -> None:
    at = f"/take/{furnished.sleepy}"
    asked = client.post(f"{at}/remark", data={"by": "teacher", "said": "sing first"}).text
    assert "Where did the tune grow?" in asked and "sing first" in asked.split('id="teacher"')[1]
    opened = client.get(f"{at}?guess=skip").text
    assert opened.count('name="guess" value="skip"') == opened.count('name="by"') > 1
    opened = client.post(f"{at}/guess", data={"guess": "end"}).text
    said = re.search(r'name="guess" value="(\w+)"', opened)
    text = client.post(
        f"{at}/remark", data={"by": "pupil", "said": "It fell asleep.", "guess": said[1] if said else ""}
    )
    assert "You heard it grow towards the end." in text.text and "It fell asleep." in text.text
    pair = f"/beside/{furnished.sleepy}/{furnished.proud}"
    client.post(f"{pair}/guess", data={"guess": "first"})
    fields = {"pupil": furnished.pip, "character": "sleepy", "word": "like snow", "back": pair, "guess": "first"}
    text = client.post("/own-word", data=fields)
    assert "Shall we listen again?" in text.text and "<q>like snow</q>" in text.text


def test_a_word_of_their_own_stands_on_two_characters(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    pair = f"/beside/{furnished.sleepy}/{furnished.proud}"
    fields = {"pupil": furnished.pip, "character": "sleepy", "word": "like snow", "wish": "even slower", "back": pair}
    fields["guess"] = "skip"
    text = client.post("/own-word", data=fields).text
    assert "<q>like snow</q>" in text and "even slower" in text and "Your word is kept." in text
    assert studio.own_word(furnished.pip, "sleepy").wish == "even slower"


def test_the_tempo_line_is_there_on_demand_with_its_words(client: httpx.Client, furnished: PagesStudio) -> None:
    text = client.get(f"/take/{furnished.sleepy}?guess=skip").text
    assert 'type="checkbox" id="pace"' in text
    assert text.count("lane under pacelane") == text.count("lane under loudness") >= 6
    assert "The pace, bar by bar" in text and "beside this take’s own pace" in text
    assert 'id="pace"' not in client.get(f"/take/{furnished.sleepy}").text  # not before the guess


def test_where_touch_is_off_it_is_said_and_no_line_is_offered(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    flat = replace(PROUD, one_loudness=True)
    take = play_take(studio, studio.target_of(furnished.cat).target, flat, seed=12)
    studio.name_take(take, pupil=furnished.pip, piece=furnished.cat, character="proud")
    seen = child_view(client.get(f"/take/{take}?guess=skip").text)
    assert word("child.level") in seen and word("draw.level") in seen and word("draw.link") not in seen
    assert word("child.level") in client.get(f"/shape/{take}").text
    draw_page = client.get(f"/draw/{furnished.pip}/{furnished.cat}").text
    assert word("draw.level") in draw_page and word("draw.keys") in draw_page


def test_a_question_without_slips_has_its_room_to_answer_under_it(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    music = studio.target_of(furnished.stairs).target
    take = play_take(studio, music, Playing(100, [(0, 60), (32, 64)], hold=0.9), seed=21)
    studio.name_take(take, pupil=furnished.pip, piece=furnished.stairs)
    text = client.get(f"/take/{take}?guess=skip").text
    asked = text.split(word("child.other"))[1]
    assert asked.index('id="says-pupil"') < asked.index(word("press.again.plain"))
    assert text.count('id="says-pupil"') == 1
    played = normalise(perform(music, Playing(100, [(0, 60)], stops_after=16), 8), TakeMeta(flags=("cut",)))
    cut = studio.add_take(played, take_to_smf(played), started_utc=studio.now())
    studio.name_take(cut, pupil=furnished.pip, piece=furnished.stairs)
    text = client.get(f"/take/{cut}?guess=skip").text
    assert word("child.broken_off") in text and word("child.other") not in text


def test_a_finding_leads_to_its_line_of_music(client: httpx.Client, furnished: PagesStudio) -> None:
    text = client.get(f"/take/{furnished.sleepy}?open=1").text
    links = re.findall(r'<a class="small inmusic noprint" href="#music" data-bar="(\d+)" data-last="\d+"', text)
    assert {"5", "7"} <= set(links) and 'id="music"' in text
    assert text.count('data-bars="5 6 7 8"') == 2 and text.count('data-bars="5 6"') == 1  # wide and mid; tight


def test_of_a_long_piece_only_the_lines_asked_about_stand_under_the_question(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    music = read_target(SCORES / "millers_cat_marked.musicxml")
    page = music.source.musicxml
    bars = re.findall(r"<measure number=.*?</measure>", page, re.S)
    longer = "".join(
        re.sub(r'number="\d+"', f'number="{8 + k}"', re.sub(r"<direction .*?</direction>|<attributes>.*?</attributes>|"
               r'<barline.*?</barline>|\sid="[^"]*"', "", bar, flags=re.S), count=1)
        for k, bar in enumerate((bars * 4)[1:25], 1)
    )  # fmt: skip
    path = studio.folder.root / "long.musicxml"
    path.write_text(page.replace("</part>", f"{longer}</part>", 1), "utf-8")
    long = read_target(path)
    assert len(long.bars) > 24
    piece = studio.add_piece("The Long Cat").id
    studio.add_target(piece, long)
    take = play_take(studio, long, SLEEPY, seed=5)
    studio.name_take(take, pupil=furnished.pip, piece=piece, character="sleepy")
    asked, opened = client.get(f"/take/{take}").text, client.get(f"/take/{take}?guess=skip").text
    assert "Where did the tune grow?" in asked
    assert 'data-bars="5 6 7 8"' in asked and 'data-bars="9 10 11 12"' not in asked
    assert 'data-bars="9 10 11 12"' in opened


def test_a_child_reads_neither_figure_nor_verdict_in_their_share(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    draw(client, furnished, HILL)
    seen = child_view(client.get(f"/take/{again(studio, furnished)}?guess=same").text)
    assert "Draw the line first, then play" in seen and "what you say" in seen
    figures = [int(one) for one in re.findall(r"\d+", re.sub(r"today, [\d.]+|= \d+", "", seen))]
    assert all(figure <= 8 for figure in figures), figures  # bars, and nothing else
