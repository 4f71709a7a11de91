"""How the turns of a day came in: on the floor, from paper or a file, sent by whom, how late."""

from collections import defaultdict
from collections.abc import Sequence

from progression.models import Attempt
from readiness.engine.tallies import Tally
from readiness.evidence.words import way_text
from readiness.record.standings import Reading
from studio.models import Staff
from studio.people.today import zone_of


def ways_in(reading: Reading, tallies: Sequence[Tally]) -> dict[tuple[object, ...], list[str]]:
    """By the five values that begin a tally: each way in which some of its turns came."""
    zone = zone_of(reading.child)
    rows = (
        Attempt.objects.filter(
            child__in=reading.record.keys,
            day__in={tally.day for tally in tallies},
            drill__key__in={tally.drill for tally in tallies},
        )
        .unstruck()
        .order_by("received_at", "pk")
        .values_list(
            "drill__key", "surface__key", "support", "author_id", "day",
            "source", "sender_id", "received_at",
        )
    )  # fmt: skip
    found: dict[tuple[object, ...], dict[str, None]] = defaultdict(dict)
    senders = Staff.objects.in_bulk({row[6] for row in rows})
    for drill, surface, support, author, day, source, sender, received_at in rows:
        place = drill, surface, support, author, day
        brought_by = "" if sender == author else senders[sender].called
        late = (received_at.astimezone(zone).date() - day).days
        text = way_text(Attempt.Source(source).label, brought_by, late)
        found[place][text] = None
    return defaultdict(list, {place: list(texts) for place, texts in found.items()})
