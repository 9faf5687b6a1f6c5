"""How likely a kit at the open doors is found, kept before it is asked for, and whether it was.

Said afterwards it would know the answers that it foretells; so it is said when the sheet is opened,
as the model thinks it, not set right by past calls; and however wide its interval is, though no
page would say it then: kept of narrow ones alone, which are those of nearly sure chances, past
calls would set right what they never were about. On screen a kit is chosen from lists, where a
search finds what nobody knows the place of: that asks something else and foretells nothing.
"""

from collections.abc import Collection
from datetime import datetime

from drills.competency.reports import fetching_of
from drills.engine.observing import BROUGHT, SheetLine
from drills.engine.readying import DrawnKit, Kits, chances_of
from drills.engine.readying.known import Kit
from drills.engine.readying.musts import limit_of, musts_of
from drills.runs.models import Sheet
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import wanted_in


def foretell(sheet: Sheet, *, now: datetime) -> None:
    """Keep on a sheet what is thought of its kit now, where there are first answers enough."""
    if sheet.person is None:
        return
    prompt = sheet.drill.prompts.get(position=0)
    musts = musts_of(layout_asked(sheet.drill), wanted_in(prompt.answer))
    if not musts:
        return
    thought = fetching_of(
        [sheet.person], revision=sheet.drill.revision, facts=Kit(musts).facts, now=now
    )[sheet.person.pk]
    kits = Kits([[DrawnKit(musts, limit_of(len(musts)))]])
    told = chances_of(thought.now, kits)
    if told.is_answered[0]:
        sheet.thought, sheet.thought_by = float(told.chance[0]), thought.thought_by


def came_off(sheet: Sheet, lines: Collection[SheetLine]) -> bool | None:
    """Whether every must-have was brought, alone and within the time to search for them beside the
    quickest way to walk, open and take; None where that cannot be said.

    What a contest took out leaves a kit that nobody was foretold.
    """
    if sheet.voided or sheet.seconds is None or not sheet.parts:
        return None
    asked = [number for number, line in enumerate(lines) if line.is_must]
    is_found = all(sheet.seen.get(str(number)) == BROUGHT for number in asked)
    limit = limit_of(len(asked), moving=sum(sheet.parts.values()))
    return is_found and sheet.seconds <= limit.seconds
