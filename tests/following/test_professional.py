"""A professional take that a registry package ships, followed as its own alignment tells.

Source: parangonar 3.4.0, ``assets/mozart_k265_var1.match``: 218 written notes, 219 key presses, read through partitura.
"""

from __future__ import annotations

from keysense.following import follow
from tests.findings.test_professional import shipped


def test_every_note_is_paired_as_the_alignment_that_ships_with_it_says() -> None:
    take = shipped()
    following = follow(take.target, take.take)
    true = {(int(r["played"]), int(r["target"])) for r in take.following.pairs if r["target"] >= 0}
    got = {(int(r["played"]), int(r["target"])) for r in following.pairs if r["kind"] == "match"}
    assert len(true) == 218
    assert len(true & got) >= 217
    assert len(got) <= 219
    assert len(following.passes) == 1
    assert following.confidence > 0.9
