"""Instants and days as text: ISO 8601, instants in UTC to the microsecond, so that they sort as they happened."""

from __future__ import annotations

from datetime import UTC, datetime


def instant(moment: datetime) -> str:
    """Return an aware instant as text, for example 2026-03-01T16:05:00.000000Z."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def moment(text: str) -> datetime:
    """Read an instant that `instant` wrote."""
    return datetime.strptime(text, "%Y-%m-%dT%H:%M:%S.%fZ").replace(tzinfo=UTC)
