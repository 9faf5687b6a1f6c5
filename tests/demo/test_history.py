"""When the demonstration's half year is told."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from django.test import override_settings
from django.utils import timezone

from drills.demo.history import latest_dawn


@pytest.mark.parametrize(
    ("now", "dawn"),
    [
        ("2031-03-04T05:00", "2031-03-04T05:00"),
        ("2031-03-04T14:07", "2031-03-04T05:00"),
        ("2031-03-04T23:59", "2031-03-04T05:00"),
        ("2031-03-04T04:59", "2031-03-03T05:00"),
        ("2031-03-01T00:00", "2031-02-28T05:00"),
    ],
)
@pytest.mark.parametrize("zone", ["UTC", "America/Denver"])
def test_it_is_the_same_at_whatever_hour_of_a_day(zone: str, now: str, dawn: str) -> None:
    there = ZoneInfo(zone)
    with override_settings(TIME_ZONE=zone), timezone.override(there):
        told = latest_dawn(datetime.fromisoformat(now).replace(tzinfo=there).astimezone(UTC))

    assert told == datetime.fromisoformat(dawn).replace(tzinfo=there)
