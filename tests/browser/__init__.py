"""The program as a person meets it: a real server, a real browser, a short demo room.

Nothing here uses the test database. The room stands at one fixed morning (WHEN), whatever the day of the run.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

ZONE = "Europe/London"
#: The morning on which the rooms of these tests stand: a Tuesday, after the story's own preparations at 7:20.
WHEN = datetime(2027, 3, 9, 8, 5, tzinfo=ZoneInfo(ZONE))
