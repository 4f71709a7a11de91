"""What holds the whole child now: a pause, or what hurts today.

Shared: used by the child's page and the evidence page.
"""

from readiness.child.lookup import names_of
from readiness.models import Pain, Pause
from readiness.record.decisions import lift_under_way
from readiness.record.standings import Reading
from readiness.words.pauses import pain_text, pain_today_sentence


def why_paused(reading: Reading) -> str:
    """What somebody wrote when they paused the child; else what hurt; empty if not paused."""
    since = reading.read.state.paused_since
    if since is None:
        return ""
    pause = Pause.objects.filter(child=reading.child, day__gte=since).order_by("-at", "-pk").first()
    if pause is not None:
        return pause.reason
    pain = Pain.objects.filter(child=reading.child).order_by("-at", "-pk").first()
    return pain_text(names_of(reading), pain.place) if pain is not None else ""


def hurts_today(reading: Reading) -> str:
    """What hurts today, with what comes of it; empty if nothing does."""
    day = reading.read.day
    places = [place for then, place in reading.read.state.pains if then == day]
    return pain_today_sentence(names_of(reading), places)


def standing_now(reading: Reading) -> dict[str, object]:
    """What holds the whole child, whatever the stage: a pause, or what hurts today."""
    since = reading.read.state.paused_since
    return {
        "paused_since": since,
        "why_paused": why_paused(reading),
        "lifted": lift_under_way(reading),
        "hurts_today": "" if since else hurts_today(reading),
    }
