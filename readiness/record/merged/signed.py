"""What two people have opened for a child, which no merge opens for another one."""

import datetime

from readiness.record.standings import read
from studio.models import Child
from studio.people.today import local_today


def signed_stages(child: Child, now: datetime.datetime) -> frozenset[str]:
    """The codes of the stages that are open to this child by a signature."""
    opened = read(child, local_today([child], now)[child.pk]).read.state.opened
    return frozenset(code for code, opening in opened.items() if opening.how == "signature")
