"""One piano made known: how it answers touch, from two minutes of a teacher's playing."""

from __future__ import annotations

from keysense.survey.applying import as_known, by_survey, touch_level
from keysense.survey.curve import TouchCurve, on_touch_scale
from keysense.survey.hearing import Survey, hear_survey, moved

__all__ = ["Survey", "TouchCurve", "as_known", "by_survey", "hear_survey", "moved", "on_touch_scale", "touch_level"]
