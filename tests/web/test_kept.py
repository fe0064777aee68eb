"""What a guardian is promised: everything of a pupil is seen, copied and erased, by the presses of a page."""

from __future__ import annotations

import io
import json
import zipfile
from typing import TYPE_CHECKING

from keysense.dashboards import kept

from fixtures.studio_for_pages import PagesStudio
from keysense.papers import desk, keep
from keysense.smf import smf_to_take
from keysense.studio.tables import Base

if TYPE_CHECKING:
    import httpx

    from keysense.studio.studio import Studio


def furnish_more(studio: Studio, there: PagesStudio) -> None:
    """Something of every kind that can be kept of Pip; and a remark of Odile's, which is nobody else's business."""
    studio.remark(there.sleepy, "like my cat in the sun", by="pupil")
    studio.guess(there.proud, "grow", "end")
    studio.draw_wish(there.pip, there.cat, [0.2, 0.8], span=(0.0, 32.0), character="sleepy")
    studio.set_own_word(there.pip, "sleepy", word="like snow")
    keep(studio, desk(studio, "slip", there.pip), {"wish": "Sing it under the apple tree."})
    (warm, *_) = studio.takes(pupil=there.odile)
    studio.remark(warm.id, "my stairs are yellow", by="pupil")


def test_all_that_is_kept_is_seen_and_reached_from_the_pupils(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    furnish_more(studio, furnished)
    assert f"/kept/{furnished.pip}" in client.get("/studio").text
    text = client.get(f"/kept/{furnished.pip}").text
    for said in (
        "2 takes.",
        "One paper.",
        "like my cat in the sun",
        "like snow",
        "mother agreed on",
        "The Miller’s Cat",
    ):
        assert said in text, said
    assert f"/take/{furnished.sleepy[:12]}" in text and "yellow" not in text
    assert client.get("/kept/ffffffff").status_code == 404


def test_what_the_teacher_wrote_stands_behind_the_fold(studio: Studio, furnished: PagesStudio) -> None:
    studio.remark(furnished.sleepy, "like my cat in the sun", by="pupil")
    studio.remark(furnished.sleepy, "shorter lessons help", by="teacher")
    page = kept.page(studio, furnished.pip)
    seen, folded = (str([panel.content for panel in some]) for some in (page.open_panels(), page.folded_panels()))
    assert "cat in the sun" in seen and "shorter lessons" not in seen and "shorter lessons" in folded
    assert not any(figure in seen for figure in ("2 takes", "things heard"))


def test_the_copy_holds_every_row_of_the_pupil_and_none_of_another(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    furnish_more(studio, furnished)
    answer = client.get(f"/kept/{furnished.pip}/copy.zip")
    assert answer.headers["content-type"] == "application/zip" and "pip" not in answer.headers["content-disposition"]
    file = zipfile.ZipFile(io.BytesIO(answer.content))
    music = [name for name in file.namelist() if name.endswith(".mid")]
    played = {len(smf_to_take(file.read(name), name=name).notes) for name in music}
    assert played == {len(studio.take_notes(take).notes) for take in (furnished.sleepy, furnished.proud)}
    told = json.loads(file.read("kept.json"))
    whole = json.dumps(told, ensure_ascii=False)
    for said in ("like my cat in the sun", "like snow", "apple tree", "mother", "0.8"):
        assert said in whole, said
    assert "yellow" not in whole and "Odile" not in whole and furnished.odile not in whole
    of_a_pupil = {name for name, table in Base.metadata.tables.items() if {"pupil_id", "take_id"} & set(table.c.keys())}
    assert of_a_pupil - set(told) <= {"origin", "doubt", "again"}  # nothing of these was made here


def test_nothing_is_erased_before_it_is_said_twice_and_then_nothing_is_left(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    furnish_more(studio, furnished)
    asked = client.post(f"/kept/{furnished.pip}/erase")
    assert 'role="alert"' in asked.text and "Nothing was erased." in asked.text
    assert studio.pupil(furnished.pip).nickname == "Pip"
    done = client.post(f"/kept/{furnished.pip}/erase", data={"sure": "yes"})
    assert done.url.path == "/studio" and "It is erased." in done.text and "Pip" not in done.text
    assert "nothing of it is left" in client.get(f"/take/{furnished.sleepy}").text
    assert client.get(f"/kept/{furnished.pip}").status_code == 404
    assert studio.takes(pupil=furnished.odile)


def test_a_pupil_is_added_on_the_page_of_the_pupils(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    before = studio.context.pupil_id
    fields = {"nickname": "Juno", "agreed_by": "aunt", "back": "/studio"}
    faulty = client.post("/pupil", data=fields)
    assert 'role="alert"' in faulty.text and 'value="Juno"' in faulty.text and "Pupils" in faulty.text
    added = client.post("/pupil", data={**fields, "agreed": "yes"})
    assert added.url.path == "/studio" and "Juno" in added.text
    assert studio.context.pupil_id == before


def test_an_agreement_is_renewed_and_taken_back_and_a_nickname_mended(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    path = f"/kept/{furnished.pip}"
    faulty = client.post(f"{path}/agree", data={"agreed_by": "grandmother"})
    assert 'role="alert"' in faulty.text and 'value="grandmother"' in faulty.text
    assert [one.agreed_by for one in studio.pupil(furnished.pip).agreements] == ["mother"]
    client.post(f"{path}/agree", data={"agreed_by": "grandmother", "agreed": "yes", "until": "2027-08-31"})
    renewed = studio.pupil(furnished.pip).agreements[-1]
    assert (renewed.agreed_by, renewed.agreed_on, str(renewed.until)) == ("grandmother", studio.today(), "2027-08-31")
    taken = client.post(f"{path}/nickname", data={"nickname": "Odile"})
    assert 'role="alert"' in taken.text and studio.pupil(furnished.pip).nickname == "Pip"
    client.post(f"{path}/nickname", data={"nickname": "Pippa"})
    assert studio.pupil(furnished.pip).nickname == "Pippa" and "Pippa" in client.get("/studio").text
    back = client.post(f"{path}/withdraw")
    assert back.url.path == path and not studio.pupil(furnished.pip).may_keep
    to_see_to = client.get("/studio").text
    assert f"{path}?open=1#agreed" in to_see_to
    client.post(f"{path}/agree", data={"agreed_by": "grandmother", "agreed": "yes"})
    assert studio.pupil(furnished.pip).may_keep
