"""Where a wrong password or a wrong PIN counts: it makes the next try wait.

They are counted by account and by tablet, never by network address: behind one router a
whole studio has the same address, and the headers that claim another can be forged. The
counts are in the database, so that they hold over all processes.

A try is stored as wrong before it is checked, and no longer counts if it was right: of many
guesses sent at the same moment every one counts.
Shared: used by the tablets' pages, which show who waits.
"""

import datetime

from django.db import transaction
from django.db.models import Count, Max, QuerySet

from studio.models import SignInTry, Staff, Tablet

# So many wrong tries in a row are free; then the wait doubles with each, up to the longest.
FREE = 5
# The same for all tries on one tablet within the hour, at anybody's PIN.
FREE_AT_A_TABLET = 20
WITHIN = datetime.timedelta(hours=1)
FIRST_WAIT = datetime.timedelta(seconds=30)
LONGEST_WAIT = datetime.timedelta(hours=1)


def wait_after(wrong: int, free: int = FREE) -> datetime.timedelta:
    """How long after the last of so many wrong tries the next one has to wait."""
    if wrong < free:
        return datetime.timedelta()
    # The exponent is cut where the wait has long reached its longest.
    return min(FIRST_WAIT * 2 ** min(wrong - free, 16), LONGEST_WAIT)


def begin(staff: Staff, tablet: Tablet | None, now: datetime.datetime) -> bool:
    """Store a try, as wrong; False if it has to wait and must not be checked.

    ``tablet`` is None for a try at a password. A try that has to wait is not counted, so that
    tapping on does not lengthen the wait.
    """
    with transaction.atomic():
        _queue(staff, tablet)
        if now < may_try_at(staff, tablet, now):
            return False
        SignInTry.objects.create(staff=staff, tablet=tablet, at=now)
        return True


def _queue(staff: Staff, tablet: Tablet | None) -> None:
    """Tries that are counted together come one after the other."""
    rows: QuerySet[Tablet] | QuerySet[Staff]
    if tablet is None:
        rows = Staff.objects.filter(pk=staff.pk)
    else:
        rows = Tablet.objects.filter(pk=tablet.pk)
    # no_key: rows that only refer to this one need not wait.
    rows.select_for_update(no_key=True).values_list("pk").get()


def may_try_at(staff: Staff, tablet: Tablet | None, now: datetime.datetime) -> datetime.datetime:
    """The moment from which the next try is checked; ``now`` or before: at once."""
    counted = SignInTry.objects.filter(tablet=tablet, counts=True)
    at = _free_from(counted.filter(staff=staff), FREE, now)
    if tablet is None:
        return at
    return max(at, _free_from(counted.filter(at__gt=now - WITHIN), FREE_AT_A_TABLET, now))


def _free_from(tries: QuerySet[SignInTry], free: int, now: datetime.datetime) -> datetime.datetime:
    counted = tries.aggregate(wrong=Count("pk"), last=Max("at"))
    return now if counted["last"] is None else counted["last"] + wait_after(counted["wrong"], free)


def forget(staff: Staff, tablet: Tablet | None) -> None:
    """After a right one: wrong tries of the same person there no longer count."""
    SignInTry.objects.filter(staff=staff, tablet=tablet, counts=True).update(counts=False)


def unlock(tablet: Tablet) -> None:
    """Wrong tries on this tablet no longer count."""
    SignInTry.objects.filter(tablet=tablet, counts=True).update(counts=False)


def waiting(tablet: Tablet, now: datetime.datetime) -> list[Staff]:
    """The staff whose next try on this tablet has to wait."""
    counted = SignInTry.objects.filter(tablet=tablet, counts=True).values("staff")
    mistyped = Staff.objects.filter(pk__in=counted).order_by("first_name", "last_name", "pk")
    return [staff for staff in mistyped if now < may_try_at(staff, tablet, now)]
