"""Every word that people read, in one table: what was heard, what children are told, what pages say."""

from __future__ import annotations

from keysense.words.table_between import BETWEEN
from keysense.words.table_child import CHILD
from keysense.words.table_first_minute import FIRST_MINUTE
from keysense.words.table_heard import HEARD, HEARD_COUNTED
from keysense.words.table_kept import KEPT, KEPT_COUNTED
from keysense.words.table_lesson import LESSON
from keysense.words.table_many import MANY, MANY_COUNTED
from keysense.words.table_meaning import MEANING
from keysense.words.table_pages import PAGES, PAGES_COUNTED
from keysense.words.table_papers import PAPERS
from keysense.words.table_pianos import PIANOS, PIANOS_COUNTED
from keysense.words.table_pieces import PIECES, PIECES_COUNTED
from keysense.words.table_sound import SOUND
from keysense.words.table_take import TAKE
from keysense.words.table_touch import TOUCH, TOUCH_COUNTED
from keysense.words.table_touch_child import TOUCH_CHILD
from keysense.words.table_views import VIEWS

__all__ = ["PLURALS", "TABLE"]

TABLE: dict[str, str] = {
    **HEARD, **CHILD, **TOUCH, **TOUCH_CHILD, **PAGES, **VIEWS, **MANY, **PAPERS, **SOUND, **LESSON, **TAKE, **BETWEEN,
    **PIECES, **MEANING, **PIANOS, **KEPT, **FIRST_MINUTE,
}  # fmt: skip
PLURALS: dict[str, tuple[str, str]] = {
    **HEARD_COUNTED, **TOUCH_COUNTED, **PAGES_COUNTED, **MANY_COUNTED, **PIECES_COUNTED, **PIANOS_COUNTED,
    **KEPT_COUNTED,
}  # fmt: skip
