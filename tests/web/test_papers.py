"""Papers as pages: changed where they stand, signed by one press, and nothing of a draft gets out."""

from __future__ import annotations

import re
import sys

import httpx
import pypdfium2
import pytest

from fixtures.studio_for_pages import PagesStudio
from keysense.papers import as_text, desk
from keysense.studio.studio import Studio

DAY = "2026-11-24"


def sign(client: httpx.Client, kind: str, pupil: str, **words: str) -> httpx.Response:
    return client.post(f"/{kind}/{pupil}/{DAY}", data={"act": "sign", "by": "Ann Teacher", **words})


@pytest.mark.parametrize("kind", ["note", "slip", "card"])
def test_a_draft_is_marked_as_one_and_every_part_can_be_changed(
    client: httpx.Client, furnished: PagesStudio, studio: Studio, kind: str
) -> None:
    page = client.get(f"/{kind}/{furnished.pip}").text
    assert "A draft." in page and 'class="draft"' in page
    on = desk(studio, kind, furnished.pip)  # type: ignore[arg-type]
    assert set(re.findall(r'<textarea[^>]* name="(\w+)"', page)) == set(on.text)
    assert studio.papers(furnished.pip) == []  # looking writes nothing


def test_the_lesson_page_leads_to_the_papers_of_whom_something_was_kept(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    page = client.get("/").text
    for kind in ("note", "slip", "card"):
        assert f'href="/{kind}/{furnished.pip}"' in page
    assert "Pip: lesson note" in page and f'href="/note/{furnished.odile}"' not in page


def test_cautions_stand_where_something_is_written(client: httpx.Client, furnished: PagesStudio) -> None:
    page = client.get(f"/note/{furnished.pip}").text
    assert "write what helps, not the diagnosis" in page
    assert "Not a safe place to ask for help" in page and "local safeguarding rules" in page


def test_one_press_keeps_the_words_and_signs_them(client: httpx.Client, furnished: PagesStudio, studio: Studio) -> None:
    page = sign(client, "note", furnished.pip, made="We made two <cats>.", says="It slept.").text
    assert 'class="signed"' in page and "Ann Teacher" in page and "<textarea" not in page
    assert "We made two &lt;cats&gt;." in page and "It slept." in page
    assert studio.paper("note", furnished.pip, desk(studio, "note", furnished.pip).lesson.day).signed_by  # type: ignore[union-attr]
    assert 'value="Ann Teacher"' in client.get(f"/slip/{furnished.pip}").text  # asked for once


def test_a_paper_without_a_name_is_not_signed_and_the_field_says_so(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    page = client.post(
        f"/note/{furnished.pip}/{DAY}", data={"act": "sign", "by": " ", "made": "We made two cats."}
    ).text
    assert 'class="draft"' in page and "We made two cats." in page and 'role="alert" id="sign-fault"' in page
    field = page.split('<input name="by"')[1].split(">")[0]
    assert 'aria-invalid="true"' in field and "autofocus" in field and 'aria-describedby="sign-fault"' in field


def test_a_signed_paper_is_a_draft_again_when_it_is_changed(client: httpx.Client, furnished: PagesStudio) -> None:
    sign(client, "slip", furnished.pip, wish="Sing it.")
    page = client.post(f"/slip/{furnished.pip}/{DAY}", data={"act": "change"}).text
    assert 'class="draft"' in page and "Sing it.</textarea>" in page
    kept = client.post(f"/slip/{furnished.pip}/{DAY}", data={"act": "keep", "wish": "Hum it."}).text
    assert "Kept as a draft." in kept and "Hum it.</textarea>" in kept


def test_a_kept_draft_is_made_afresh_from_what_is_kept_by_now(client: httpx.Client, furnished: PagesStudio) -> None:
    address = f"/note/{furnished.pip}/{DAY}"
    assert "draft it afresh" not in client.get(address).text
    assert "draft it afresh" in client.post(address, data={"act": "keep", "made": "So far."}).text
    again = client.post(address, data={"act": "afresh"}).text
    assert "So far." not in again and "Pip played The Miller’s Cat" in again


def test_the_studio_s_name_stands_on_every_paper_once_it_is_given(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    assert "called" not in client.get(f"/note/{furnished.pip}").text
    named = client.post("/studio/called", data={"said": "  Tallow Bridge   Music Room "}).text
    assert "The papers carry this name now." in named and 'value="Tallow Bridge Music Room"' in named
    for kind in ("note", "slip", "card"):
        assert '<span class="called">Tallow Bridge Music Room</span>' in client.get(f"/{kind}/{furnished.pip}").text
    assert as_text(desk(studio, "note", furnished.pip)).startswith("Tallow Bridge Music Room\n")
    client.post("/studio/called", data={"said": ""})
    assert "called" not in client.get(f"/note/{furnished.pip}").text


@pytest.mark.parametrize("kind", ["note", "slip", "card"])
def test_a_draft_leaves_neither_as_text_nor_as_pdf_and_a_signed_paper_does(
    client: httpx.Client, furnished: PagesStudio, kind: str
) -> None:
    for way in ("text", "pdf"):
        refused = client.get(f"/{kind}/{furnished.pip}/{DAY}/{way}")
        assert refused.status_code == 200 and "sign it first" in refused.text
    sign(client, kind, furnished.pip)
    said = client.get(f"/{kind}/{furnished.pip}/{DAY}/text")
    assert said.headers["content-type"].startswith("text/plain") and "Signed: Ann Teacher" in said.text
    assert "Tuesday 24 November" in said.text


def test_without_a_name_or_with_too_many_words_nothing_is_signed(
    client: httpx.Client, furnished: PagesStudio, studio: Studio
) -> None:
    nobody = client.post(f"/note/{furnished.pip}/{DAY}", data={"act": "sign", "by": " ", "made": "Two cats."})
    assert nobody.status_code == 200 and "write your name" in nobody.text
    long = sign(client, "note", furnished.pip, made="word " * 121)
    assert long.status_code == 200 and "at most 120" in long.text
    assert "Two cats.</textarea>" in nobody.text and "word word" in long.text  # what was written is not lost
    assert not any(paper.is_signed for paper in studio.papers(furnished.pip))


def test_words_that_judge_are_remarked_on_before_signing(client: httpx.Client, furnished: PagesStudio) -> None:
    page = client.post(f"/slip/{furnished.pip}/{DAY}", data={"act": "keep", "wish": "Get bar 3 perfect."}).text
    assert "“perfect”" in page and "perhaps without figures" in page


def test_no_card_today_is_one_press_and_can_be_thought_over(client: httpx.Client, furnished: PagesStudio) -> None:
    none = client.post(f"/card/{furnished.pip}/{DAY}", data={"act": "none"}).text
    assert "No card today." in none and "<article" not in none
    again = client.post(f"/card/{furnished.pip}/{DAY}", data={"act": "change"}).text
    assert "You wanted it to grow, and it grew." in again


def test_the_card_has_one_picture_in_outline_and_no_figure(client: httpx.Client, furnished: PagesStudio) -> None:
    page = sign(client, "card", furnished.pip).text
    card = page[page.index("<article") : page.index("</article>")]
    assert card.count("<svg") == 1 and 'class="colourin"' in card and 'class="thread' not in card
    words = re.sub(r"<svg.*?</svg>|<[^>]+>", " ", card, flags=re.S)
    assert not re.search(r"\d", words), words
    assert card.index("You wanted it to grow, and it grew.") < card.index("<svg")


@pytest.mark.parametrize("kind", ["note", "slip", "card"])
def test_the_pdf_of_a_signed_paper_is_one_page_with_ink(
    client: httpx.Client, furnished: PagesStudio, kind: str
) -> None:
    sign(client, kind, furnished.pip)
    answer = client.get(f"/{kind}/{furnished.pip}/{DAY}/pdf")
    assert answer.status_code == 200 and answer.headers["content-type"] == "application/pdf"
    with pypdfium2.PdfDocument(answer.content) as paper:
        assert len(paper) == 1
        width, height = paper[0].get_size()
        grey = paper[0].render(scale=1).to_numpy().min(axis=2)
        assert "Pip" in paper[0].get_textpage().get_text_range()
    assert (width > height) == (kind == "card")
    assert 0.003 < (grey < 128).mean() < 0.3
    if kind == "note":  # the thread of the picture has its colour
        with pypdfium2.PdfDocument(answer.content) as paper:
            pixels = paper[0].render(scale=1).to_numpy()[:, :, :3].astype(int)
        blue = (abs(pixels - pixels[..., ::-1]).max(axis=2) > 60).mean()
        assert blue > 0.002


def test_where_the_extra_is_missing_it_is_said_what_to_install(
    client: httpx.Client, furnished: PagesStudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    sign(client, "note", furnished.pip)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    refused = client.get(f"/note/{furnished.pip}/{DAY}/pdf")
    assert refused.status_code == 200 and "keysense[pdf]" in refused.text


def test_a_lesson_that_never_was_has_an_empty_paper_and_nonsense_is_not_found(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    empty = client.get(f"/note/{furnished.pip}/2026-01-05").text
    assert "Nothing has been kept from a lesson on this day" in empty
    assert client.get(f"/note/{furnished.pip}/yesterday").status_code == 404
    assert client.get("/note/ffffffff").status_code == 404
    assert client.get(f"/slip/{furnished.odile}").status_code == 200


def test_a_press_from_elsewhere_signs_nothing(client: httpx.Client, furnished: PagesStudio) -> None:
    data, headers = {"act": "sign", "by": "x"}, {"origin": "http://elsewhere.example"}
    assert client.post(f"/note/{furnished.pip}/{DAY}", data=data, headers=headers).status_code == 403
