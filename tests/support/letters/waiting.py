"""Children whose letters a director reads first."""

import uuid

from readiness.models import Pain, Pause
from studio.models import Child
from tests.support.cast import NOW, TODAY, Cast


def hurts(cast: Cast, child: Child) -> None:
    Pain.objects.create(
        id=uuid.uuid4(), child=child, place="wrist", meeting=cast.meeting, day=TODAY, at=NOW,
        by=cast.omar, received_at=NOW, digest="0",
    )  # fmt: skip


def paused(cast: Cast, child: Child) -> None:
    Pause.objects.create(child=child, reason="Fever", by=cast.omar, at=NOW, day=TODAY)
