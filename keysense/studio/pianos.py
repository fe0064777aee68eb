"""Pianos of a studio, as far as a survey has made them known."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import select

from keysense.studio.base import StudioBase
from keysense.studio.tables import SurveyRow

if TYPE_CHECKING:
    from keysense.survey import Survey, TouchCurve

__all__ = ["Pianos", "StoredSurvey"]


@dataclass(frozen=True)
class StoredSurvey:
    """A survey as kept. instrument: the name the piano's takes carry; touch_setting: as it was set on the piano."""

    id: str
    instrument: str
    done_utc: datetime
    touch_setting: str
    survey: Survey


class Pianos(StudioBase):
    """The pianos of a studio."""

    def keep_survey(self, instrument: str, survey: Survey, *, touch_setting: str = "") -> StoredSurvey:
        """Keep what was learnt of a piano; from now on this is what is known of it, and the older ones stay."""
        row = SurveyRow(
            instrument=instrument, done_utc=self.now(), touch_setting=touch_setting.strip(), body=survey.to_json()
        )
        with self._store.write() as session:
            session.add(row)
        self._log.info("a piano was surveyed")
        return _stored(row)

    def survey_of(self, instrument: str) -> StoredSurvey | None:
        """The newest survey of a piano; None where it has none."""
        return next(iter(self.surveys(instrument)), None)

    def surveys(self, instrument: str | None = None) -> list[StoredSurvey]:
        """All surveys, or those of one piano, the newest first."""
        query = select(SurveyRow).order_by(SurveyRow.done_utc.desc(), SurveyRow.id)
        if instrument is not None:
            query = query.where(SurveyRow.instrument == instrument)
        with self._store.read() as session:
            return [_stored(row) for row in session.scalars(query)]

    def touch_curves(self) -> dict[str, TouchCurve]:
        """By piano, how it answers touch, of those that are known and do not send one loudness."""
        curves: dict[str, TouchCurve] = {}
        known: set[str] = set()
        for stored in self.surveys():
            if stored.instrument not in known and stored.survey.curve is not None:
                curves[stored.instrument] = stored.survey.curve
            known.add(stored.instrument)
        return curves

    def survey_moved(self, after: StoredSurvey, before: StoredSurvey) -> dict[str, float]:
        """By how much soft, middle and loud moved between two surveys of one piano, where by more than is allowed."""
        from keysense.practice import read_practice
        from keysense.survey import moved

        return moved(before.survey, after.survey, practice=read_practice(self.folder.own_practice))


def _stored(row: SurveyRow) -> StoredSurvey:
    from keysense.survey import Survey

    return StoredSurvey(row.id, row.instrument, row.done_utc, row.touch_setting, Survey.from_json(row.body))
