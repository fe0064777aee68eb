"""Where a take was played: how far from the page, and what else on the page it may as well have been."""

from __future__ import annotations

from keysense.following.following import Following
from keysense.words.catalogue import counted, word
from keysense.words.figures import listed

__all__ = ["say_lost", "say_shift", "say_ties"]


# played quarters a minute over those on the page
_PACES = {"half": (0.45, 0.55), "double": (1.8, 2.2)}


def say_shift(following: Following) -> list[str]:
    """How far from the page it was played, in keys and in pace, and whose keys were set aside; nothing where none."""
    said = [counted("following.aside", following.set_aside)] if following.set_aside else []
    ratio = following.tempo_ratio
    said += [] if ratio is None else [word(f"following.pace.{name}") for name, (slowest, fastest) in _PACES.items()
                                      if slowest <= ratio <= fastest]  # fmt: skip
    for hand, shift in following.shift_semitones.items():
        if shift == 0:
            continue
        octaves, rest = divmod(abs(shift), 12)
        way_up = "higher" if shift > 0 else "lower"
        how = counted(way_up, abs(shift)) if rest else counted(f"octaves.{way_up}", octaves)
        if hand:
            said.append(word("following.shift.hand", hand=word(f"place.hand.{hand}"), how=how))
        else:
            said.append(word("following.shift", how=how))
    return said


def say_lost(why: str, after_bar: int | None) -> str:
    """Why nothing is said of a take: the key of the word, and the bar up to which it was followed, if any."""
    return word(why) if after_bar is None or why != "following.lost" else word("following.lost.after", bar=after_bar)


def say_ties(following: Following) -> list[str]:
    """A sentence for each stretch that other bars of the page may as well be: they are alike, so nobody can know."""
    said = []
    for number, bars in following.ties:
        heard = following.passes[number]
        others = [word("following.tie.start", bar=bar) for bar in bars if bar != heard["first_bar"]]
        key = "following.tie.bar" if heard["first_bar"] == heard["last_bar"] else "following.tie"
        said.append(word(key, first=heard["first_bar"], last=heard["last_bar"], others=listed(others)))
    return said
