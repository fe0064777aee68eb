"""What was heard, kept: readings, followings and findings, and one finding over the weeks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, tzinfo
from statistics import median
from typing import TYPE_CHECKING, NamedTuple
from weakref import WeakKeyDictionary, ref

from sqlalchemy import delete, func, select

from keysense.studio.pianos import Pianos
from keysense.studio.rows import StoredReading
from keysense.studio.tables import FindingRow, FollowingRow, ReadingRow, TakeRow, TargetRow

if TYPE_CHECKING:
    from keysense.comparing.weeks import WeekPoint
    from keysense.finding import Finding
    from keysense.findings import Reading
    from keysense.survey import TouchCurve

__all__ = ["Readings", "place_word"]


# By studio and by take, music and recipe: which reading was kept last, and with which character.
_KEPT: WeakKeyDictionary[Readings, dict[tuple[str, str, int], tuple[ref[Reading], str]]] = WeakKeyDictionary()


class _Point(NamedTuple):
    """One kept finding at one place, and when and on which piano it was played."""

    started_utc: datetime
    instrument: str
    unit: str
    value: float
    low: float | None
    high: float | None


class Readings(Pianos):
    """The readings of a studio."""

    def keep_reading(self, reading: Reading, take_id: str, target_id: str, *, character: str = "") -> None:
        """Keep what was heard. The same take, target and recipe once more replaces; another recipe stands beside."""
        kept, which = _KEPT.setdefault(self, {}), (take_id, target_id, reading.recipe)
        last = kept.get(which)
        if last is not None and last[0]() is reading and last[1] == character:
            return  # the very reading that this studio kept last
        kept[which] = ref(reading), character
        body = reading.to_json(take_id=take_id, target_id=target_id)
        before = self.reading(take_id, recipe=reading.recipe)
        if before and (before.target_id, before.character, before.body) == (target_id, character, body):
            return  # a page that is opened again writes nothing
        key = {"take_id": take_id, "target_id": target_id, "recipe": reading.recipe}
        rows: dict[tuple[str, str], FindingRow] = {}
        for finding in reading.findings:
            place = place_word(finding)
            while (finding.name, place) in rows:
                place += "+"
            rows[finding.name, place] = _finding_row(finding, place, key)
        with self._store.write() as session:
            for table in (FindingRow, FollowingRow, ReadingRow):
                session.execute(delete(table).filter_by(**key))
            session.add(
                ReadingRow(**key, character=character, lost=reading.following.lost, read_utc=self.now(), body=body)
            )
            session.add(FollowingRow(**key, body=reading.following.to_json()))
            session.add_all(rows.values())

    def reading(self, take_id: str, *, recipe: int | None = None) -> StoredReading | None:
        """The newest reading of a take (newest target version, then recipe), or of one recipe; None without one."""
        return self.readings([take_id], recipe=recipe).get(take_id)

    def readings(self, take_ids: Sequence[str], *, recipe: int | None = None) -> dict[str, StoredReading]:
        """The newest reading of each of these takes that has one, as `reading`, in one question to the database."""
        query = (
            select(ReadingRow, FollowingRow)
            .join(TargetRow, TargetRow.id == ReadingRow.target_id)
            .join(
                FollowingRow,
                (FollowingRow.take_id == ReadingRow.take_id)
                & (FollowingRow.target_id == ReadingRow.target_id)
                & (FollowingRow.recipe == ReadingRow.recipe),
            )
            .join(TakeRow, TakeRow.id == ReadingRow.take_id)
            .where(ReadingRow.take_id.in_(take_ids))
            # a take that was given another name keeps what was heard under the old one, but is not known by it
            .where(TakeRow.piece_id.is_(None) | (TargetRow.piece_id == TakeRow.piece_id))
            .order_by(TargetRow.version.desc(), ReadingRow.recipe.desc())
        )
        if recipe is not None:
            query = query.where(ReadingRow.recipe == recipe)
        newest: dict[str, tuple[ReadingRow, FollowingRow]] = {}
        with self._store.read() as session:
            for row, following in session.execute(query):
                newest.setdefault(row.take_id, (row, following))
        return {take_id: _stored_reading(*rows) for take_id, rows in newest.items()}

    def unread(self, *, recipe: int, pupil_id: str | None = None, piece_id: str | None = None) -> list[str]:
        """Kept takes of pieces with music that no reading by this recipe against the newest music is kept of."""
        newest = (
            select(TargetRow.piece_id, func.max(TargetRow.version).label("version"))
            .group_by(TargetRow.piece_id)
            .subquery()
        )
        query = (
            select(TakeRow.id)
            .join(newest, newest.c.piece_id == TakeRow.piece_id)
            .join(TargetRow, (TargetRow.piece_id == newest.c.piece_id) & (TargetRow.version == newest.c.version))
            .outerjoin(
                ReadingRow,
                (ReadingRow.take_id == TakeRow.id)
                & (ReadingRow.target_id == TargetRow.id)
                & (ReadingRow.recipe == recipe),
            )
            .where(TakeRow.state == "kept", ReadingRow.take_id.is_(None))
            .order_by(TakeRow.started_utc, TakeRow.id)
        )
        if pupil_id is not None:
            query = query.where(TakeRow.pupil_id == pupil_id)
        if piece_id is not None:
            query = query.where(TakeRow.piece_id == piece_id)
        with self._store.read() as session:
            return list(session.scalars(query))

    def weeks_of(
        self, pupil_id: str, piece_id: str, finding: str, hand: str | None = None, *, character: str | None = None
    ) -> list[WeekPoint]:
        """One point a take for one finding of one hand, the oldest first, dated in the studio's time zone.

        Only kept takes count, each by its newest target version and recipe; figures that could not be known are no
        points. hand: "R", "L", or None for a finding that is of no hand. character: only takes asked for in it. On
        pianos known by a survey, figures of touch are on the scale that they share where more than one was played.
        """
        query = (
            select(
                TakeRow.id,
                TargetRow.version,
                FindingRow.recipe,
                TakeRow.started_utc,
                TakeRow.instrument,
                FindingRow.unit,
                FindingRow.value,
                FindingRow.low,
                FindingRow.high,
            )
            .join(FindingRow, FindingRow.take_id == TakeRow.id)
            .join(TargetRow, TargetRow.id == FindingRow.target_id)
            .where(TakeRow.pupil_id == pupil_id, TakeRow.piece_id == piece_id, TakeRow.state == "kept")
            .where(TargetRow.piece_id == piece_id)
            .where(FindingRow.name == finding, FindingRow.hand == (hand or ""), FindingRow.value.is_not(None))
            .order_by(TakeRow.started_utc, TakeRow.id, FindingRow.place)
        )
        if character is not None:
            query = query.where(TakeRow.character == character)
        by_take: dict[str, dict[tuple[int, int], list[_Point]]] = {}
        with self._store.read() as session:
            for row in session.execute(query):
                point = _Point._make(row[3:])
                by_take.setdefault(row[0], {}).setdefault((row[1], row[2]), []).append(point)
        zone = self.settings.zone
        points = [_week_point(ways[max(ways)], zone) for ways in by_take.values()]
        units = {row.unit for ways in by_take.values() for rows in ways.values() for row in rows}
        return self._on_known_pianos(points, of_touch="velocity" in units)

    def _on_known_pianos(self, points: list[WeekPoint], *, of_touch: bool) -> list[WeekPoint]:
        """The points of known pianos said to be so, where several pianos were played."""
        if len({point.instrument for point in points}) < 2:
            return points
        curves = self.touch_curves()
        return [_known(point, curves.get(point.instrument), of_touch=of_touch) for point in points]


def _week_point(rows: list[_Point], zone: tzinfo) -> WeekPoint:
    """The figure of one take; where it was found at several places, their median, without an interval."""
    from keysense.comparing.weeks import WeekPoint

    one = rows[0]
    day = one.started_utc.astimezone(zone).date()
    if len(rows) == 1:
        return WeekPoint(day, one.value, one.low, one.high, one.instrument)
    return WeekPoint(day, median(row.value for row in rows), instrument=one.instrument)


def _stored_reading(row: ReadingRow, following: FollowingRow) -> StoredReading:
    from keysense.findings import finding_from_json
    from keysense.following.following import Following

    return StoredReading(
        take_id=row.take_id,
        target_id=row.target_id,
        recipe=row.recipe,
        character=row.character,
        read_utc=row.read_utc,
        lost=row.lost,
        findings=tuple(finding_from_json(kept) for kept in row.body["findings"]),
        following=Following.from_json(following.body),
        body=row.body,
    )


def _known(point: WeekPoint, curve: TouchCurve | None, *, of_touch: bool) -> WeekPoint:
    if curve is None:
        return point
    if not of_touch:
        return replace(point, surveyed=True)
    value, low, high = curve.on_scale(point.value, point.low, point.high)
    return replace(point, value=value, low=low, high=high, surveyed=True)


def place_word(finding: Finding) -> str:
    """The place of a finding as one word: ``3-4|R|m7``."""
    place = finding.place
    bars = "" if place.bars is None else f"{place.bars[0]}-{place.bars[1]}"
    return f"{bars}|{place.hand or ''}|{place.mark or ''}"


def _finding_row(finding: Finding, place: str, key: dict[str, object]) -> FindingRow:
    return FindingRow(
        **key,
        name=finding.name,
        place=place,
        hand=finding.place.hand or "",
        value=finding.value,
        low=finding.low,
        high=finding.high,
        n=finding.n,
        unit=finding.unit,
    )
