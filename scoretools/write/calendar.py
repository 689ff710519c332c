"""A plan as iCalendar (RFC 5545): one event for each day with practice."""

from collections.abc import Sequence
from datetime import UTC, datetime

from icalendar import Calendar, Event

from scoretools.model import Analysis
from scoretools.model.plan import Plan, PracticeDay
from scoretools.write.plan_words import block_words

__all__ = ["plan_calendar"]


def plan_calendar(plan: Plan, pieces: Sequence[Analysis], name: str = "") -> bytes:
    """Write the days of a plan as events that last all day.

    Parameters
    ----------
    pieces
        What was planned, in the same order.
    name
        The player's name, or empty.

    Returns
    -------
    bytes
        An ``.ics`` file; the same plan always gives the same bytes.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//scoretools//practice plan//EN")
    calendar.add("version", "2.0")
    calendar.add("description", "\n".join(plan.cautions))  # of the whole calendar: RFC 7986, 5.2
    for day in plan.days:
        calendar.add_component(_event(plan, pieces, day, name))
    return bytes(calendar.to_ical())


def _event(plan: Plan, pieces: Sequence[Analysis], day: PracticeDay, name: str) -> Event:
    event = Event()
    of = f", {name}" if name else ""
    lines = [f"{block.minutes} min  {block_words(plan, pieces, block)}" for block in day.blocks]
    event.add("uid", f"{day.day.isoformat()}-{plan.lesson.isoformat()}@scoretools")
    event.add("dtstamp", datetime(day.day.year, day.day.month, day.day.day, tzinfo=UTC))
    event.add("dtstart", day.day)
    event.add("summary", f"Practice, {day.minutes} minutes{of}")
    event.add("description", "\n".join([*lines, "", *plan.cautions]))
    return event
